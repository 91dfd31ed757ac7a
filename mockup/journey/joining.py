"""Seams that go after the cut: two pieces become one, and what was sewn to either is sewn to the joined piece."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from mockup.pattern.apply_split import CutSet
from mockup.pattern.join import SILENT_MM, join
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from mockup.pattern.proof import Proof, together
from swatches.errors import GeometryError, InputError

OPENINGS = ("", "first", "second")
DIFFERED = "had different cloth"
"""What the note of a join says where its two pieces were to be cut from two cloths."""


@dataclass(frozen=True, slots=True)
class Join:
    """A seam that goes.

    Attributes:
        one: 'piece:edge'; this piece stays where it is.
        other: 'piece:edge'.
        allow_mm: gap or overlap that may be evened out; above 0.5 mm the person has said so.
        name: of the joined piece; empty: both names.
        grain_of: whose grainline it has, 'first' or 'second'.
        sew_fold_of: where both lie on the fold and the folds do not come onto one line, whose centre is sewn instead:
            'first', 'second', or empty for neither.
        allowance_mm: of that centre seam.
        allowance_text: the same as typed.
        cloth_of: whose cloth it is cut from, 'first' or 'second', where the two had different cloth.
    """

    one: str
    other: str
    allow_mm: float = SILENT_MM
    name: str = ""
    grain_of: str = "first"
    sew_fold_of: str = ""
    allowance_mm: float = 15.0
    allowance_text: str = ""
    cloth_of: str = "first"


def with_joins(made: CutSet, joins: Sequence[Join]) -> CutSet:
    """Remove seams from a cut garment, one after the other.

    Args:
        made: the pieces.
        joins: the seams; a later one may name a piece that an earlier one made.

    Returns:
        The pieces with their proofs together; a join whose piece or edge is no longer there is left out with a warning.

    Raises:
        GeometryError: two stitch lines do not lie on each other; see :func:`mockup.pattern.join.join`.
        InputError: a word for the fold or the cloth that is none.
    """
    pieces, proofs, warnings = tuple(made.pieces), [made.proof], list(made.warnings)
    for wanted in joins:
        first, second = _place(pieces, wanted.one), _place(pieces, wanted.other)
        if first is None or second is None or first[0] is second[0]:
            warnings.append(f"The seam {wanted.one} to {wanted.other} is not there any more, so nothing was joined.")
            continue
        pieces, proof, said = one_join(pieces, first, second, wanted)
        proofs.append(proof)
        warnings += said
    return CutSet(pieces, together(proofs), tuple(dict.fromkeys(warnings)))


def one_join(
    pieces: Sequence[Piece], first: tuple[Piece, str], second: tuple[Piece, str], wanted: Join
) -> tuple[tuple[Piece, ...], Proof, list[str]]:
    """Remove one seam: gives all pieces with the joined one in the first's place, its proof, and what to know.

    Raises:
        GeometryError: the stitch lines do not lie on each other, or both pieces have a fold.
    """
    (a, edge_a), (b, edge_b) = first, second
    if wanted.cloth_of not in OPENINGS[1:]:
        raise InputError("cloth", expected="first or second", got=repr(wanted.cloth_of), next_step="Choose one of them")
    if wanted.sew_fold_of not in OPENINGS:
        raise InputError(
            "fold to sew", expected="first or second", got=repr(wanted.sew_fold_of), next_step="Choose one of the two"
        )
    one = sewn_fold(a, wanted.allowance_mm, wanted.allowance_text) if wanted.sew_fold_of == "first" else a
    other = sewn_fold(b, wanted.allowance_mm, wanted.allowance_text) if wanted.sew_fold_of == "second" else b
    try:
        found = join(one, edge_a, other, edge_b, allow_mm=wanted.allow_mm, name=wanted.name, grain_of=wanted.grain_of)
    except GeometryError as error:
        if "one fold" not in error.expected:
            raise
        raise GeometryError(
            error.what,
            expected=error.expected,
            got=error.got,
            next_step="Sew the centre of one of them instead of folding the cloth there",
        ) from error
    piece = found.piece
    if piece.fold is not None:  # one fold is left: the joined piece lies on it, whatever the first was
        piece = replace(piece, how=HowToCut.ON_FOLD)
    if wanted.cloth_of == "second" and b.fabric:
        piece = replace(piece, fabric=b.fabric)
    out, said = _replaced(pieces, (a, b), piece, found.renamed)
    notes = [*found.notes, *said]
    for piece, side in ((a, "first"), (b, "second")):
        if wanted.sew_fold_of == side and piece.fold is not None:
            centre = piece.fold.name.replace("-", " ")
            notes.append(f"The {centre} is a seam now, not a fold: sew it first, while the piece is flat.")
    if a.fabric != b.fabric and a.fabric and b.fabric:
        chosen = b if wanted.cloth_of == "second" else a
        notes.append(f"{a.name} and {b.name} {DIFFERED}; the joined piece is cut from that of {chosen.name}.")
    return tuple(out), found.proof, notes


def _replaced(
    pieces: Sequence[Piece], gone: tuple[Piece, Piece], new: Piece, renamed: Mapping[str, str]
) -> tuple[list[Piece], list[str]]:
    """Put a joined piece in the place of its two, and let every mate name its edges as they are called now.

    Returns:
        The pieces in their order, and a sentence for every edge whose mate went with the seam.
    """
    names = {p.name for p in gone}
    warnings: list[str] = []

    def told(piece: Piece) -> Piece:
        def ring_of(edges: tuple[Edge, ...]) -> tuple[Edge, ...]:
            return tuple(replace(e, mate=mate_of(e)) for e in edges)

        def mate_of(edge: Edge) -> str:
            if edge.mate.rpartition(":")[0] not in names:
                return edge.mate
            if edge.mate not in renamed:
                warnings.append(f"{edge.name} of {piece.name} was sewn to {edge.mate}, which is gone.")
            return renamed.get(edge.mate, "")

        return replace(piece, edges=ring_of(piece.edges), holes=tuple(ring_of(h) for h in piece.holes))

    return [told(new if p is gone[0] else p) for p in pieces if p is not gone[1]], warnings


def sewn_fold(piece: Piece, allowance_mm: float, allowance_text: str = "") -> Piece:
    """Sew a piece's fold instead of folding the cloth there: the edge becomes a seam, sewn to its own mirror image."""
    edges = tuple(
        replace(e, kind=EdgeKind.SEAM, allowance_mm=allowance_mm, allowance_text=allowance_text)
        if e.kind is EdgeKind.FOLD
        else e
        for e in piece.edges
    )
    return replace(piece, edges=edges, how=HowToCut.PAIR if piece.fold is not None else piece.how)


def _place(pieces: Sequence[Piece], text: str) -> tuple[Piece, str] | None:
    name, _, edge = text.rpartition(":")
    return next(((p, edge) for p in pieces if p.name == name and any(e.name == edge for e in p.edges)), None)
