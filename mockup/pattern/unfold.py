"""Unfold a piece that is cut on the fold, for lines that are not the same on both sides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.pattern.piece import Edge, HowToCut, Mark, Notch, Piece, counter_clockwise
from swatches.errors import GeometryError

STRAIGHT_MM = 0.05
SQUARE_DEG = 0.5  # our own choice: a hem or neck this far from square gets a visible point when it is unfolded


def unfold(piece: Piece) -> Piece:
    """Unfold a piece about its fold; see :func:`unfolded`."""
    return unfolded(piece)[0]


def unfolded(piece: Piece, half: str | None = None) -> tuple[Piece, tuple[str, ...]]:
    """Unfold a piece about its fold.

    Edges that meet the fold (neck, hem) become one with their mirror image and keep their name; every other edge is
    there twice, named after the wearer's side: 'side-left', 'side-right'.

    Args:
        piece: with a fold edge.
        half: the wearer's side that the drawn half is, 'left' or 'right', of the piece seen from its right side; None:
            of a front whose fold runs down into its hem counter-clockwise it is the left, of a back the right.

    Returns:
        The whole piece, single; and warnings, one sentence each.

    Raises:
        GeometryError: no fold, or a fold that is not straight to 0.05 mm.
    """
    piece = counter_clockwise(piece)
    fold = piece.fold
    if fold is None:
        raise GeometryError(
            piece.name, expected="a piece with a fold", got="none of its edges is one", next_step="Choose another piece"
        )
    start, way = fold.path.start, _unit(fold.path.end - fold.path.start)
    away = (paths.flatten(fold.path, STRAIGHT_MM / 10).points - start) @ np.array([-way[1], way[0]])
    if np.abs(away).max() > STRAIGHT_MM:
        raise GeometryError(
            f"fold of {piece.name}",
            expected=f"a fold that is straight to {STRAIGHT_MM} mm",
            got=f"one that bends by {np.abs(away).max():.2g} mm",
            next_step="Straighten the fold, or cut the piece with a seam there",
        )
    half = half or default_half(piece)
    other = "right" if half == "left" else "left"
    k = piece.edges.index(fold)
    row = [*piece.edges[k + 1 :], *piece.edges[:k]]
    matrix = reflection(fold.path)
    twin = [_mirrored(e, matrix) for e in reversed(row)]
    warnings = tuple(
        f"{edge.name} meets the fold {_off_square(tangent, way):.1f}° from square, so the unfolded {piece.name} has a "
        "point there."
        for edge, tangent in (
            (row[0], paths.tangent(row[0].path, 0, 0.0)),
            (row[-1], paths.tangent(row[-1].path, len(row[-1].path) - 1, 1.0)),
        )
        if _off_square(tangent, way) > SQUARE_DEG
    )
    if len(row) == 1:
        whole = replace(row[0], path=paths.joined([row[0].path, twin[0].path]))
        edges = [replace(whole, start_name="", end_name="")]
    else:
        first = replace(row[0], path=paths.joined([twin[-1].path, row[0].path]), start_name=row[0].end_name)
        last = replace(row[-1], path=paths.joined([row[-1].path, twin[0].path]), end_name=row[-1].start_name)
        middle = [replace(e, name=f"{e.name}-{half}") for e in row[1:-1]]
        mirror = [replace(e, name=f"{e.name}-{other}") for e in twin[1:-1]]
        # A corner belongs to the edge that starts there: the one at the twin's end is the joined edge's.
        edges = [replace(first, corner=twin[-1].corner), *middle, last, *mirror]
    return (
        replace(
            piece,
            edges=tuple(edges),
            notches=_notches(piece, row, half, other),
            marks=_marks(piece.marks, matrix),
            how=HowToCut.SINGLE,
        ),
        warnings,
    )


def default_half(piece: Piece) -> str:
    """The wearer's side of the drawn half, for a piece seen from its right side.

    Looking at a front, the wearer's left is on the looker's right, and at a back on the looker's left. A half on whose
    outline, run counter-clockwise, the fold leads from neck to hem lies on the looker's right.
    """
    fold = piece.fold
    downwards = fold is None or fold.start_name != "hem"
    back = (piece.view or piece.name).lower().startswith("back")
    return "left" if downwards != back else "right"


def reflection(fold: Path) -> Floats:
    """Affine map that mirrors about a straight fold, shape (2, 3)."""
    way = _unit(fold.end - fold.start)
    flip = 2 * np.outer(way, way) - np.eye(2)
    return np.asarray(np.c_[flip, fold.start - flip @ fold.start])


def _unit(v: Floats) -> Floats:
    return np.asarray(v / np.linalg.norm(v))


def _off_square(tangent: Floats, way: Floats) -> float:
    return float(np.degrees(np.arcsin(min(1.0, abs(float(tangent @ way))))))


def _mirrored(edge: Edge, matrix: Floats) -> Edge:
    path = paths.reversed_path(paths.transformed(edge.path, matrix))
    return replace(edge, path=path, start_name=edge.end_name, end_name=edge.start_name)


def _notches(piece: Piece, row: list[Edge], half: str, other: str) -> tuple[Notch, ...]:
    sizes = {e.name: length_of(e.path) for e in row}
    first, last = row[0].name, row[-1].name
    out = []
    for notch in piece.notches:
        if notch.edge not in sizes:
            continue
        size = sizes[notch.edge]
        if notch.edge == first:
            pair = [(first, size + notch.distance_mm), (first, size - notch.distance_mm)]
        elif notch.edge == last:
            pair = [(last, notch.distance_mm), (last, 2 * size - notch.distance_mm)]
        else:
            pair = [
                (f"{notch.edge}-{half}", notch.distance_mm),
                (f"{notch.edge}-{other}", size - notch.distance_mm),
            ]
        out += [Notch(name, distance, notch.count) for name, distance in pair]
    kept: list[Notch] = []
    for n in out:  # a notch on the fold itself is its own mirror image
        if not any(m.edge == n.edge and abs(m.distance_mm - n.distance_mm) < 1e-6 for m in kept):
            kept.append(n)
    return tuple(kept)


def _marks(marks: tuple[Mark, ...], matrix: Floats) -> tuple[Mark, ...]:
    out = []
    for mark in marks:
        twin = paths.transformed(mark.path, matrix)
        ends = np.array([mark.path.start, mark.path.end])
        on_fold = np.linalg.norm(np.array([twin.start, twin.end]) - ends, axis=1) < 1e-6
        if on_fold.all():
            out.append(mark)
        elif on_fold[1]:
            out.append(replace(mark, path=paths.joined([mark.path, paths.reversed_path(twin)])))
        elif on_fold[0]:
            out.append(replace(mark, path=paths.joined([paths.reversed_path(twin), mark.path])))
        else:
            out += [mark, replace(mark, path=twin)]
    return tuple(out)
