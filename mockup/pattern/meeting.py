"""Where style seams of two pieces meet across another seam: do they run on into each other, or is there a point?

On a flared side two lines that are square to their folds meet in a shallow V at the side seam. This measures
the angle on the stitch lines; what is too much is judged where the checks are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.offset import turn
from mockup.pattern.piece import Edge, Piece
from mockup.pattern.seam_parts import Edges, SeamParts, edges_of, run_alike, seam_parts
from mockup.pattern.walk import MEET_MM


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
    """Measure every place where style seams meet across a seam, each once, in the order of the pieces.

    Two lines meet where they cut the two sides of a seam at one distance from a landmark that both sides have, to
    3.2 mm, darts closed. Where no end has a name, the way round counts in which every cut of one side meets one of the
    other; a seam for which neither or both do, or whose names contradict each other, is left out.
    """
    edges = edges_of(pieces)
    parts = seam_parts(edges)
    pairs: dict[tuple[SeamParts, SeamParts], None] = {}
    for key, one in parts.items():
        other = parts.get(edges[key][1].mate)
        if other is not None and other is not one and (other, one) not in pairs:
            pairs[one, other] = None
    return tuple(m for one, other in pairs for m in _across(one, other, edges))


def _across(one: SeamParts, other: SeamParts, edges: Edges) -> Iterator[Meeting]:
    """What meets across one seam: at every cut the seams before it, then those after it."""
    if not one.cuts_mm or not other.cuts_mm:
        return
    alike = run_alike(one, other)
    if alike is None and not any((one.start_name, one.end_name, other.start_name, other.end_name)):
        alike = _way_round(one, other)
    if alike is None:
        return
    for k, (m, gap) in enumerate(_nearest(one, other, alike=alike)):
        if gap > MEET_MM:
            continue
        for above in (False, True):
            mine, theirs = one.keys[k + above], other.keys[m + (above if alike else not above)]
            found = _seam_at(*edges[mine], at_end=not above)
            found_there = _seam_at(*edges[theirs], at_end=above is not alike)
            if found is None or found_there is None:
                continue
            (seam, inner), (twin, inner_there) = found, found_there
            names = f"{edges[mine][0].name}:{seam.name}", f"{edges[theirs][0].name}:{twin.name}"
            yield Meeting(*names, mine, inner + inner_there - 180.0)


def _nearest(one: SeamParts, other: SeamParts, *, alike: bool) -> list[tuple[int, float]]:
    """For every cut of one side the nearest of the other, and how far apart they are in mm."""
    size, size_there = one.ends_mm[-1], other.ends_mm[-1]
    there = [c if alike else size_there - c for c in other.cuts_mm]
    found = []
    for cut in one.cuts_mm:
        # With a seam that is eased, either of its ends may be the one that the lines were measured from.
        gaps = [min(abs(cut - c), abs((size - cut) - (size_there - c))) for c in there]
        m = min(range(len(gaps)), key=gaps.__getitem__)
        found.append((m, gaps[m]))
    return found


def _way_round(one: SeamParts, other: SeamParts) -> bool | None:
    """Whether two sides without names run alike, by their cuts; None where that does not tell."""
    if len(one.cuts_mm) != len(other.cuts_mm):
        return None
    fits = [all(gap <= MEET_MM for _, gap in _nearest(one, other, alike=way)) for way in (True, False)]
    return None if fits[0] == fits[1] else fits[0]


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
