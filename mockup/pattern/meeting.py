"""Where style seams of two pieces meet across another seam: do they run on into each other, or is there a point?

On a flared side two lines that are square to their folds meet in a shallow V at the side seam (facts.md). This measures
the angle on the stitch lines; what is too much is judged where the checks are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.offset import turn
from mockup.pattern.piece import Edge, Piece
from mockup.pattern.walk import same_way


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two style seams that end at the same place of a seam between two pieces.

    Attributes:
        one: the first, as 'piece:edge'.
        other: the second.
        across: the seam that they meet at, as 'piece:edge' of the first piece.
        angle_deg: by how much they miss running straight on; positive where the point is hollow on the first piece's
            side of the style seams, 0 where they make one line.
    """

    one: str
    other: str
    across: str
    angle_deg: float


def meetings(pieces: Sequence[Piece]) -> tuple[Meeting, ...]:
    """Measure every place where style seams meet across a seam, each once, in the order of the pieces."""
    edges: dict[str, tuple[Piece, Edge]] = {f"{p.name}:{e.name}": (p, e) for p in pieces for e in p.all_edges}
    found = []
    for key, (piece, edge) in edges.items():
        if edge.line_id or edge.mate not in edges or edge.mate <= key:
            continue
        other_piece, other = edges[edge.mate]
        way = same_way(edge, other)
        for at_end in (False, True):
            mine = _seam_at(piece, edge, at_end=at_end)
            theirs = _seam_at(other_piece, other, at_end=at_end if way else not at_end)
            if mine is None or theirs is None:
                continue
            (seam, inner), (twin, inner_there) = mine, theirs
            names = f"{piece.name}:{seam.name}", f"{other_piece.name}:{twin.name}"
            found.append(Meeting(*names, key, inner + inner_there - 180.0))
    return tuple(found)


def _seam_at(piece: Piece, edge: Edge, *, at_end: bool) -> tuple[Edge, float] | None:
    """The style seam at one end of an edge, and the inner angle between the two in degrees, where there is one."""
    ring = next(ring for ring in piece.rings if edge in ring)
    k = ring.index(edge)
    before, after = (edge, ring[(k + 1) % len(ring)]) if at_end else (ring[k - 1], edge)
    seam = after if at_end else before
    if not seam.line_id:
        return None
    ta = paths.tangent(before.path, len(before.path) - 1, 1.0)
    return seam, 180.0 - float(np.degrees(turn(ta, paths.tangent(after.path, 0, 0.0))))
