"""Seams that go after the cut: two pieces become one, and what was sewn to either is sewn to the joined piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mockup.pattern.apply_split import CutSet
from mockup.pattern.join import SILENT_MM, join
from mockup.pattern.piece import Edge, Piece
from mockup.pattern.proof import together


@dataclass(frozen=True, slots=True)
class Join:
    """A seam that goes.

    Attributes:
        one: 'piece:edge'; this piece stays where it is.
        other: 'piece:edge'.
        allow_mm: gap or overlap that may be evened out; above 0.5 mm the person has said so.
        name: of the joined piece; empty: both names.
        grain_of: whose grainline it has, 'first' or 'second'.
    """

    one: str
    other: str
    allow_mm: float = SILENT_MM
    name: str = ""
    grain_of: str = "first"


def with_joins(made: CutSet, joins: Sequence[Join]) -> CutSet:
    """Remove seams from a cut garment, one after the other.

    Args:
        made: the pieces.
        joins: the seams; a later one may name a piece that an earlier one made.

    Returns:
        The pieces with their proofs together; a join whose piece or edge is no longer there is left out with a warning.

    Raises:
        GeometryError: two stitch lines do not lie on each other; see :func:`mockup.pattern.join.join`.
    """
    pieces, proofs, warnings = list(made.pieces), [made.proof], list(made.warnings)
    for wanted in joins:
        first, second = _place(pieces, wanted.one), _place(pieces, wanted.other)
        if first is None or second is None or first[0] is second[0]:
            warnings.append(f"The seam {wanted.one} to {wanted.other} is not there any more, so nothing was joined.")
            continue
        (a, edge_a), (b, edge_b) = first, second
        found = join(a, edge_a, b, edge_b, allow_mm=wanted.allow_mm, name=wanted.name, grain_of=wanted.grain_of)
        pieces, said = replaced(pieces, (a, b), found.piece)
        proofs.append(found.proof)
        warnings += [*found.notes, *said, *_two_cloths(a, b)]
    return CutSet(tuple(pieces), together(proofs), tuple(dict.fromkeys(warnings)))


def replaced(pieces: Sequence[Piece], gone: tuple[Piece, Piece], new: Piece) -> tuple[list[Piece], list[str]]:
    """Put a joined piece in the place of its two, and let every mate name its edges.

    Returns:
        The pieces in their order, and a sentence for every mate that has no edge any more.
    """
    names = {p.name for p in gone}
    warnings: list[str] = []
    new = replace(new, edges=tuple(_own_mate(e, new, names) for e in new.edges))
    out = []
    for piece in pieces:
        if piece is gone[0]:
            out.append(new)
        elif piece is not gone[1]:
            out.append(replace(piece, edges=tuple(_mate(e, piece, new, names, warnings) for e in piece.edges)))
    return out, warnings


def _mate(edge: Edge, piece: Piece, new: Piece, gone: set[str], warnings: list[str]) -> Edge:
    """An edge of another piece that was sewn to one of the two: to the edge of the new piece that names it back."""
    name, _, mate = edge.mate.rpartition(":")
    if name not in gone:
        return edge
    back = [e for e in new.edges if e.mate == f"{piece.name}:{edge.name}"]
    same = [e for e in new.edges if e.name == mate]
    found = next(iter([*(e for e in back if e.name.startswith(mate)), *back, *same]), None)
    if found is None:
        warnings.append(f"{edge.name} of {piece.name} was sewn to {edge.mate}, which is gone.")
        return replace(edge, mate="")
    return replace(edge, mate=f"{new.name}:{found.name}")


def _own_mate(edge: Edge, new: Piece, gone: set[str]) -> Edge:
    """An edge of the joined piece that was sewn to the other half of it: now to an edge of its own piece."""
    name, _, mate = edge.mate.rpartition(":")
    if name not in gone:
        return edge
    known = [e.name for e in new.edges if e is not edge]
    found = next((n for n in known if n == mate), next((n for n in known if n.startswith(mate)), ""))
    return replace(edge, mate=f"{new.name}:{found}" if found else "")


def _place(pieces: Sequence[Piece], text: str) -> tuple[Piece, str] | None:
    name, _, edge = text.rpartition(":")
    return next(((p, edge) for p in pieces if p.name == name and any(e.name == edge for e in p.edges)), None)


def _two_cloths(a: Piece, b: Piece) -> list[str]:
    if a.fabric == b.fabric or not (a.fabric and b.fabric):
        return []
    return [f"{a.name} and {b.name} had different cloth; the joined piece has that of {a.name}."]
