"""The page, one file a heading."""
