"""Letters for seam pairs on paper and screen: those of :func:`mockup.pattern.walk.seam_letters`, by place.

All edges that meet in one seam carry one letter, also where a sleeve meets two parts of an armhole; so the order of
construction can name a seam by it.
"""

from __future__ import annotations

from collections.abc import Sequence

from mockup.pattern import walk
from mockup.pattern.piece import EdgeKind, Piece

SeamKey = tuple[int, int]  # index of the piece, index of its edge


def seam_letters(pieces: Sequence[Piece]) -> dict[SeamKey, str]:
    """Give every edge with a mate among the pieces its seam's lower-case letter; a fold has none."""
    by_name = walk.seam_letters(pieces)
    return {
        (i, k): by_name[f"{piece.name}:{edge.name}"]
        for i, piece in enumerate(pieces)
        for k, edge in enumerate(piece.all_edges)
        if edge.kind is not EdgeKind.FOLD and f"{piece.name}:{edge.name}" in by_name
    }
