"""The pattern engine: pieces in mm, cut by a split, with allowances, notches and a proof."""
