"""The grainline of a pattern that has none: parallel to its centre line (common practice, no source)."""

from __future__ import annotations

import numpy as np

from mockup.geometry import path as paths
from mockup.pattern.anchors import ring_name
from mockup.pattern.inherit import grainline_in
from mockup.pattern.piece import Piece
from mockup.pattern.view_half import CENTRE

_LENGTH_MM = 400.0


def with_grain(piece: Piece) -> tuple[Piece, tuple[str, ...]]:
    """Give a piece without a grainline one that runs parallel to its centre line, from hem to neck.

    Args:
        piece: any piece.

    Returns:
        The piece, and a sentence that says what was assumed, or what could not be; the piece itself and nothing where
        it has a grainline.
    """
    if piece.grainline is not None:
        return piece, ()
    centre = next((e for e in piece.edges if ring_name(e) == CENTRE and paths.is_straight(e.path).all()), None)
    if centre is None:
        return piece, (
            f"{piece.name} has no grainline and no straight centre to take it from: draw one before cutting.",
        )
    start, end = centre.path.start, centre.path.end
    way = (end - start) / np.linalg.norm(end - start)
    downwards = centre.end_name.startswith("hem") or (centre.start_name == centre.end_name and way[1] < 0)
    if downwards or (not centre.start_name and way[1] < 0):
        way = -way
    x, y = _LENGTH_MM * way
    line = grainline_in(piece.outlines, ((0.0, 0.0), (float(x), float(y))))
    return (
        piece.with_(grainline=line),
        (f"{piece.name} has no grainline: it is taken parallel to its {centre.name}. Check it against the pattern.",),
    )
