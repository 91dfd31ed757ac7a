"""Composed documents: the compare sheet, printed pieces, cutting list."""
