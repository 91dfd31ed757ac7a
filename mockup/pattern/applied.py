"""Shapes that are sewn on top: the piece under them stays whole and shows where they lie."""

from __future__ import annotations

from dataclasses import replace

import shapely

from mockup.geometry import path as paths
from mockup.geometry.ruler import polygon_of
from mockup.pattern.flat_cut import CutResult, cut_flat
from mockup.pattern.piece import Mark, Piece
from mockup.pattern.proof import containment
from mockup.pattern.snap import CutLine
from swatches.errors import GeometryError


def shape_on_top(piece: Piece, line: CutLine, allowance_mm: float, allowance_text: str) -> tuple[Piece, CutResult]:
    """Cut the shape that a line encloses out of a copy of the piece.

    Args:
        piece: what it is sewn onto.
        line: closed, or from edge to edge; then the smaller part is the shape.
        allowance_mm: turned under all round the line.
        allowance_text: the same as typed.

    Returns:
        The shape, named after the line, without mates, since it is sewn onto the piece and not to its edge; and the cut
        that it comes from, whose proof holds for it.

    Raises:
        GeometryError: see :func:`mockup.pattern.flat_cut.cut_flat`; or a line that encloses several parts.
    """
    bare = piece.with_(marks=(), darts=())
    # What is left of the copy is thrown away, so only the shape's own cut outline is asked for.
    cut = cut_flat(bare, [line], allowance_mm, allowance_text, contained=False)
    if line.path.closed:
        inside = shapely.Polygon(paths.flatten(line.path, 0.02).points)
        found = [
            c for c in cut.children if shapely.contains(inside, shapely.point_on_surface(polygon_of(c.outlines, 0.1)))
        ]
    else:
        found = sorted(cut.children, key=lambda c: c.finished_area_mm2)[:1]
    if len(found) != 1:
        raise GeometryError(
            f"line '{line.name}'",
            expected="a line that encloses one shape",
            got=f"one that encloses {len(found)} parts",
            next_step="Draw the shape as one closed line inside the piece",
        )
    shape = found[0]
    edges = tuple(replace(e, mate="") for e in shape.edges)
    finished = replace(shape, name=line.name, edges=edges)
    proof = replace(cut.proof, rows=(*cut.proof.rows, containment(finished)))
    return finished, replace(cut, proof=proof)


def with_place(piece: Piece, line: CutLine) -> Piece:
    """The piece with the line marked on it, where the shape is to be placed."""
    return piece.with_(marks=(*piece.marks, Mark(line.name, line.path, "placing")))
