"""Walk the seams: compare the stitch lines of all edges that are sewn together, and the notches on them.

Stitch lines are compared, never cut edges, and with their darts closed. An edge may be sewn to several (a whole front
side to the sides of two back panels): edges that name each other as mates are gathered, and the two sides' lengths are
added up. An edge of a pair, or of a piece on the fold, is there twice on the garment: it counts twice where it meets
edges of single pieces. Where lines end at different places of the two sides, a part of one side is sewn to more than
one of the other; then the parts do not match one by one, and the whole seam is compared.

This measures only; what difference is too much is judged where the checks are (1.6 and 3.2 mm by Threads magazine 200).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from mockup.pattern.darts import sewn_at, sewn_length
from mockup.pattern.piece import Edge, HowToCut, Piece
from mockup.pattern.seam_parts import Edges, SeamParts, edges_of, run_alike, same_landmarks, seam_parts

MEET_MM = 3.2
"""Lines that end farther apart on the two sides of a seam do not meet: 1/8 in works for many (Threads magazine 200)."""
_Sides = tuple[set[str], set[str]]


@dataclass(frozen=True, slots=True)
class WalkRow:
    """One seam.

    Attributes:
        one: its edges on one side, as 'piece:edge'.
        other: its edges on the other side.
        one_mm: length of the stitch lines of ``one``; of both sides of the wearer where a single piece is among them.
        other_mm: length of the stitch lines of ``other``.
        ease_mm: length that is meant to be eased in, declared by the person: added to the shorter side.
        notches_apart_mm: greatest distance between notches that should meet; None where their numbers differ, or where
            the seam has several edges on a side or none has a landmark to count from.
    """

    one: tuple[str, ...]
    other: tuple[str, ...]
    one_mm: float
    other_mm: float
    ease_mm: float = 0.0
    notches_apart_mm: float | None = None

    @property
    def difference_mm(self) -> float:
        """By how much the two sides differ beyond the declared ease; never negative."""
        return max(0.0, abs(self.one_mm - self.other_mm) - self.ease_mm)


@dataclass(frozen=True, slots=True)
class Walk:
    """All seams of a set of pieces, and mates that are not among them."""

    rows: tuple[WalkRow, ...]
    unmatched: tuple[str, ...]

    @property
    def worst_mm(self) -> float:
        """Greatest difference of a seam's two sides beyond the declared ease."""
        return max((row.difference_mm for row in self.rows), default=0.0)


def walk(pieces: Sequence[Piece], ease: Mapping[str, float] | None = None) -> Walk:
    """Compare all matching seams.

    Args:
        pieces: their edges' mates tell what is sewn to what.
        ease: 'piece:edge' → mm that are eased in at that edge, for edges where that is meant.

    Returns:
        One row a seam, in the order of the pieces; an edge that is sewn to itself (a cuff) is left out.
    """
    edges = edges_of(pieces)
    links: dict[str, set[str]] = {key: set() for key in edges}
    unmatched = []
    for key, (_, edge) in edges.items():
        if not edge.mate:
            continue
        if edge.mate in edges:
            links[key].add(edge.mate)
            links[edge.mate].add(key)
        else:
            unmatched.append(f"{key} is sewn to {edge.mate}, which is not among the pieces.")
    found: list[_Sides] = []
    seen: set[str] = set()
    for key in edges:
        if key in seen or not links[key] - {key}:
            continue
        found.append(_sides(key, links))
        seen |= found[-1][0] | found[-1][1]
    parts = seam_parts(edges)
    order = {key: n for n, key in enumerate(edges)}
    seams = sorted(_gathered(found, edges, parts), key=lambda sides: min(order[k] for side in sides for k in side))
    return Walk(tuple(_row(sides, edges, parts, order, ease or {}) for sides in seams), tuple(unmatched))


def _gathered(found: Sequence[_Sides], edges: Edges, parts: Mapping[str, SeamParts]) -> list[_Sides]:
    """Make one seam of those whose edges were one on either side, where lines cut the two sides at different places."""
    families: dict[frozenset[SeamParts | str], list[_Sides]] = {}
    for one, other in found:
        wholes = ({parts.get(k, k) for k in side} for side in (one, other))
        key: frozenset[SeamParts | str] = frozenset().union(*wholes)
        families.setdefault(key, []).append((one, other))
    out: list[_Sides] = []
    for key, rows in families.items():
        apart = max(abs(a - b) for a, b in (_lengths(sides, edges) for sides in rows))
        if len(rows) == 1 or len(key) != 2 or apart <= MEET_MM:
            out += rows
            continue
        first = parts[min(rows[0][0])]
        whole: _Sides = (set(), set())
        for sides in rows:
            for side in sides:
                whole[0 if parts[min(side)] is first else 1].update(side)
        a, b = _lengths(whole, edges)
        out += [whole] if abs(a - b) < apart / 2 else rows
    return out


def _lengths(sides: _Sides, edges: Edges) -> tuple[float, float]:
    """Length of a seam's two sides, darts closed; both copies of an edge that is cut twice, beside a single one."""
    times = {k: 1 if edges[k][0].how is HowToCut.SINGLE else 2 for side in sides for k in side}
    fewest = min(times.values())
    one, other = (
        sum(sewn_length(edges[k][0], edges[k][1].name) * times[k] / fewest for k in sorted(side)) for side in sides
    )
    return one, other


def _row(
    sides: _Sides, edges: Edges, parts: Mapping[str, SeamParts], order: Mapping[str, int], eased: Mapping[str, float]
) -> WalkRow:
    one, other = (tuple(sorted(side, key=order.__getitem__)) for side in sides)
    apart = _notches_apart(one[0], other[0], edges, parts) if len(one) == len(other) == 1 else None
    return WalkRow(one, other, *_lengths(sides, edges), sum(eased.get(k, 0.0) for k in (*one, *other)), apart)


def _sides(start: str, links: Mapping[str, set[str]]) -> tuple[set[str], set[str]]:
    """Gather a seam's edges by walking from mate to mate, changing sides at each step."""
    side = {start: 0}
    todo = [start]
    while todo:
        key = todo.pop()
        for mate in sorted(links[key]):
            if mate not in side:
                side[mate] = 1 - side[key]
                todo.append(mate)
    return {k for k, s in side.items() if s == 0}, {k for k, s in side.items() if s == 1}


def same_way(a: Edge, b: Edge) -> bool | None:
    """Whether two edges that are sewn together run from the same landmark to the same; None where nothing tells.

    A new seam's two edges are one curve run both ways, so they run opposite ways.
    """
    if a.line_id and a.line_id == b.line_id:
        return False
    return same_landmarks((a.start_name, a.end_name), (b.start_name, b.end_name))


def _notches_apart(one: str, other: str, edges: Edges, parts: Mapping[str, SeamParts]) -> float | None:
    (piece, edge), (twin, there) = edges[one], edges[other]
    both = one in parts and other in parts
    way = run_alike(parts[one], parts[other]) if both else same_way(edge, there)
    ours = sorted(sewn_at(piece, n.edge, n.distance_mm) for n in piece.notches if n.edge == edge.name)
    size = sewn_length(twin, there.name)
    found = [sewn_at(twin, n.edge, n.distance_mm) for n in twin.notches if n.edge == there.name]
    theirs = sorted(d if way else size - d for d in found)
    if way is None or len(ours) != len(theirs):
        return None
    return max((abs(p - q) for p, q in zip(ours, theirs, strict=True)), default=0.0)


def seam_letters(pieces: Sequence[Piece]) -> dict[str, str]:
    """Give every seam a lower-case letter, which both its sides carry on print and screen.

    Returns:
        'piece:edge' → 'a', 'b', …, 'z', 'aa', …; edges without a mate among the pieces have none.
    """
    letters: dict[str, str] = {}
    for n, row in enumerate(walk(pieces).rows):
        for key in (*row.one, *row.other):
            letters[key] = _letter(n)
    return letters


def _letter(n: int) -> str:
    text = ""
    n += 1
    while n:
        n, rest = divmod(n - 1, 26)
        text = chr(ord("a") + rest) + text
    return text
