"""Cut a piece along lines: crossing, branching, enclosed, over darts; let in or sewn on top; proven.

The cut of a flat piece is in :mod:`mockup.pattern.flat_cut`, darts that a line meets in :mod:`mockup.pattern.dart_cut`,
shapes that are sewn on top in :mod:`mockup.pattern.applied`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mockup.geometry.ruler import length_of
from mockup.pattern.applied import shape_on_top, with_place
from mockup.pattern.dart_cut import cut_over_darts, tips_met
from mockup.pattern.dart_notches import as_notch, dart_of_leg, gathered
from mockup.pattern.flat_cut import CutResult, cut_flat
from mockup.pattern.inherit import Origin
from mockup.pattern.piece import Dart, Piece, counter_clockwise
from mockup.pattern.proof import Proof, containment, together
from mockup.pattern.snap import CutLine
from swatches.errors import GeometryError

__all__ = ["CutLine", "CutResult", "cut_piece"]


def cut_piece(
    piece: Piece, lines: Sequence[CutLine], allowance_mm: float = 15.0, *, allowance_text: str = "", number: int = 0
) -> CutResult:
    """Cut a piece along lines that may cross and branch.

    Inherited edges keep kind, name, allowance and mate, and their curves are exact parts of the parent's. A new edge is
    a seam named after its line, with the allowance given, its mate the sibling's edge. An end that was not typed and
    comes within 2 mm of a corner is moved into the corner; a typed distance never moves.

    A closed line inside the piece makes a shape of its own and a hole in the piece round it, each with its allowance;
    with ``on_top`` the piece stays whole, is marked where the shape lies, and the shape has the allowance to turn
    under. A line over a dart is cut with the dart folded; one that ends in a dart's tip takes the dart's legs for its
    continuation.

    Args:
        piece: the parent.
        lines: at least one.
        allowance_mm: of the new edges, ≥ 0.
        allowance_text: the allowance as typed, for labels.
        number: number of the first child; the others follow. 0 leaves them unnumbered.

    Raises:
        GeometryError: see :func:`mockup.geometry.faces.faces`; also a negative allowance, a fragment narrower than
            5 mm, a line within the depth of a hem that it does not cross, or one that ends in a dart's opening.
    """
    if not allowance_mm >= 0:
        raise GeometryError(
            "allowance", expected="0 mm or more", got=f"{allowance_mm:g} mm", next_step="Type 15mm, for example"
        )
    piece = gathered(counter_clockwise(piece))
    through = [line for line in lines if not line.on_top]
    applied = [line for line in lines if line.on_top]
    base = piece
    for line in applied:
        base = with_place(base, line)
    result = _let_in(base, through, allowance_mm, allowance_text)
    shapes: list[Piece] = []
    proofs, origins = [result.proof], list(result.origins)
    for line in applied:
        shape, cut = shape_on_top(piece, line, allowance_mm, allowance_text)
        mine = [o for o in cut.origins if o.child == shape.name or o.child == _name_of(shape, cut)]
        origins += [replace(o, child=line.name) for o in mine]
        proofs.append(cut.proof)
        shapes.append(shape)
    children = (*result.children, *shapes)
    if number:
        children = tuple(child.with_(number=number + k) for k, child in enumerate(children))
    return CutResult(children, together(proofs), result.notes, tuple(origins))


def _name_of(shape: Piece, cut: CutResult) -> str:
    """The name that a shape had among the parts it was cut with."""
    return next((c.name for c in cut.children if c.edges[0].path is shape.edges[0].path), "")


def _let_in(piece: Piece, lines: Sequence[CutLine], allowance_mm: float, allowance_text: str) -> CutResult:
    if not lines:
        return untouched(piece)
    if not piece.darts:
        return cut_flat(piece, lines, allowance_mm, allowance_text)
    notches: list[tuple[Piece, Dart, Piece]] = []
    for line in lines:
        for dart in tips_met(piece, line):
            before, piece = piece, as_notch(piece, dart, allowance_mm, allowance_text)
            notches.append((before, dart, piece))
    result = cut_over_darts(piece, lines, allowance_mm, allowance_text)
    return _with_legs(result, notches) if notches else result


def _with_legs(result: CutResult, notches: Sequence[tuple[Piece, Dart, Piece]]) -> CutResult:
    """Say of the parts of darts that a line ran into whose edges they were, and which leg is sewn to which.

    Args:
        result: of the cut.
        notches: (piece, its dart, the piece with that dart's legs as edges), in the order in which they were opened.
    """
    homes = {e.name: c.name for c in result.children for e in c.all_edges if dart_of_leg(e)}
    children = []
    for child in result.children:
        rings = [
            tuple(
                replace(e, mate=f"{homes[twin]}:{twin}")
                if dart_of_leg(e) and (twin := e.mate.rpartition(":")[2]) in homes
                else e
                for e in ring
            )
            for ring in child.rings
        ]
        children.append(replace(child, edges=rings[0], holes=tuple(rings[1:])))
    origins = [o for o in result.origins if o.edge not in homes]
    for before, dart, after in reversed(notches):
        known = {e.name for e in before.all_edges}
        (rest,) = (e.name for e in after.all_edges if e.name not in known and not dart_of_leg(e))
        origins = [
            replace(o, edge=dart.edge, from_mm=o.from_mm + dart.to_mm, to_mm=o.to_mm + dart.to_mm)
            if o.edge == rest
            else o
            for o in origins
        ]
    return replace(result, children=tuple(children), origins=tuple(origins))


def untouched(piece: Piece) -> CutResult:
    """The result for a piece that no line crosses: itself, with the proof of its cut outline."""
    whole = tuple(Origin(piece.name, e.name, e.name, 0.0, length_of(e.path)) for e in piece.all_edges)
    return CutResult((piece,), Proof(0.0, 0.0, 0.0, (containment(piece),)), (), whole)
