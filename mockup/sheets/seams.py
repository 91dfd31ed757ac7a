"""Letters for seam pairs: edges that are sewn together carry the same lower-case letter on paper."""

from __future__ import annotations

import string
from collections.abc import Sequence

from mockup.pattern.piece import EdgeKind, Piece

SeamKey = tuple[int, int]  # index of the piece, index of its edge


def seam_letters(pieces: Sequence[Piece]) -> dict[SeamKey, str]:
    """Give a letter to every edge whose mate is among the pieces; both sides of a pair have the same.

    A mate is named ``piece:edge``. Pairs are lettered in the order of the pieces and their edges: a, b, …, z, aa, ab, …
    """
    place = {f"{p.name}:{e.name}": (i, k) for i, p in enumerate(pieces) for k, e in reversed(list(enumerate(p.edges)))}
    letters: dict[SeamKey, str] = {}
    for i, piece in enumerate(pieces):
        for k, edge in enumerate(piece.edges):
            mate = place.get(edge.mate)
            if mate is None or edge.kind is EdgeKind.FOLD or (i, k) in letters:
                continue
            letters[(i, k)] = letters.get(mate) or _letter(len(set(letters.values())))
            letters.setdefault(mate, letters[(i, k)])
    return letters


def _letter(n: int) -> str:
    text, n = "", n + 1
    while n:
        n, k = divmod(n - 1, 26)
        text = string.ascii_lowercase[k] + text
    return text
