"""A garment's own edge that style lines cut into parts: which parts there are, in their order, and where they begin.

The parts are found by the style seams between them, never by the names of the lines: a line of the front and another of
the back may be called alike and still end at different places of the side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from mockup.pattern.darts import sewn_length
from mockup.pattern.join_ring import plain
from mockup.pattern.piece import Edge, Piece

Edges = Mapping[str, tuple[Piece, Edge]]


@dataclass(frozen=True, slots=True)
class SeamParts:
    """All parts of one edge of the uncut pattern, in the direction in which the pieces run it.

    Attributes:
        keys: 'piece:edge' of every part.
        ends_mm: for every part how far its end is from the first part's start, darts closed.
        start_name: landmark where the first part starts, or empty.
        end_name: landmark where the last part ends, or empty.
    """

    keys: tuple[str, ...]
    ends_mm: tuple[float, ...]
    start_name: str
    end_name: str

    @property
    def cuts_mm(self) -> tuple[float, ...]:
        """Where lines cut it, from the first part's start."""
        return self.ends_mm[:-1]


def edges_of(pieces: Sequence[Piece]) -> dict[str, tuple[Piece, Edge]]:
    """Give every edge of the pieces by its name 'piece:edge'."""
    return {f"{p.name}:{e.name}": (p, e) for p in pieces for e in p.all_edges}


def seam_parts(edges: Edges) -> dict[str, SeamParts]:
    """Give for every edge that no style line made all the parts of the edge that it once belonged to."""
    after = {key: _next_part(key, edges) for key, (_, e) in edges.items() if not e.line_id}
    has_before = {n for n in after.values() if n}
    found: dict[str, SeamParts] = {}
    firsts = [k for k in after if k not in has_before]
    for key in (*firsts, *after):  # a closed edge cut in two has no first part: any will do
        row: list[str] = []
        at = key
        while at and at not in found and at not in row:
            row.append(at)
            at = after[at]
        sizes = [sewn_length(edges[k][0], edges[k][1].name) for k in row]
        if row:
            names = edges[row[0]][1].start_name, edges[row[-1]][1].end_name
            found |= dict.fromkeys(row, SeamParts(tuple(row), tuple(accumulate(sizes)), *names))
    return found


def run_alike(a: SeamParts, b: SeamParts) -> bool | None:
    """Whether two edges that are sewn together run from the same landmark to the same; None where nothing tells."""
    return same_landmarks((a.start_name, a.end_name), (b.start_name, b.end_name))


def same_landmarks(a: tuple[str, str], b: tuple[str, str]) -> bool | None:
    """Whether two (start, end) pairs of landmarks run alike; None where they tell nothing or contradict each other."""
    if a[0] == a[1] or b[0] == b[1]:
        return None
    alike = (a[0] == b[0] != "") or (a[1] == b[1] != "")
    turned = (a[0] == b[1] != "") or (a[1] == b[0] != "")
    return alike if alike != turned else None


def _next_part(key: str, edges: Edges) -> str:
    """The part beyond the style seam at an edge's end, or '' where the edge ends there for good."""
    piece, edge = edges[key]
    here, at = piece, edge
    for _ in range(len(edges)):  # at a crossing several seams are hopped over, one after the other
        ring = next(ring for ring in here.rings if at in ring)
        follower = ring[(ring.index(at) + 1) % len(ring)]
        if not follower.line_id:
            other = f"{here.name}:{follower.name}"
            one = (piece.parent, plain(edge.name), edge.kind) == (here.parent, plain(follower.name), follower.kind)
            return other if one and at is not edge and other != key else ""
        if follower.mate not in edges:
            return ""
        here, at = edges[follower.mate]
    return ""
