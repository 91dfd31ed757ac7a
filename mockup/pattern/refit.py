"""The same split on a refitted or other-size pattern: what moved.

A split holds distances from landmarks, so it can be applied again to any pattern whose edges have the same names. This
lists what came out differently, so that nobody sews two sizes together unawares.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mockup.pattern.darts import sewn_length
from mockup.pattern.piece import Piece
from mockup.split.words import edge_said, tenths

NOTICED_MM = 0.05


@dataclass(frozen=True, slots=True)
class Moved:
    """One edge whose length is not what it was.

    Attributes:
        piece: number and name.
        edge: its edge.
        before_mm: stitch line's length on the former pattern; 0 where the edge is new.
        after_mm: on the new one; 0 where the edge is gone.
    """

    piece: str
    edge: str
    before_mm: float
    after_mm: float

    @property
    def sentence(self) -> str:
        """The change in one sentence."""
        if not self.before_mm:
            return f"{self.piece} has a new edge {edge_said(self.edge)}, {tenths(self.after_mm)}."
        if not self.after_mm:
            return f"{self.piece} has no edge {edge_said(self.edge)} any more."
        change = self.after_mm - self.before_mm
        way = "longer" if change > 0 else "shorter"
        return f"{edge_said(self.edge)} of {self.piece} is {tenths(abs(change))} {way}."


def what_moved(before: Sequence[Piece], after: Sequence[Piece]) -> tuple[Moved, ...]:
    """Compare two sets of pieces that one split made, edge by edge.

    Args:
        before: pieces cut from the former pattern.
        after: pieces cut from the new one; matched by number, side and name.

    Returns:
        Edges that differ by more than 0.05 mm, in the order of ``after``, then those that are gone.
    """
    old = {(p.number, p.side, p.name, e.name): sewn_length(p, e.name) for p in before for e in p.all_edges}
    new = {(p.number, p.side, p.name, e.name): sewn_length(p, e.name) for p in after for e in p.all_edges}
    found = []
    for key in [*new, *(k for k in old if k not in new)]:
        number, _, name, edge = key
        was, is_now = old.get(key, 0.0), new.get(key, 0.0)
        if abs(was - is_now) > NOTICED_MM:
            found.append(Moved(f"{number}. {name}" if number else name, edge, was, is_now))
    return tuple(found)
