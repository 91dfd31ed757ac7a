"""Unfold a piece that is cut on the fold, for lines that are not the same on both sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.pattern.piece import Dart, Edge, EdgeKind, HowToCut, Mark, Notch, Piece, counter_clockwise
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
            piece.name, expected="a piece with a fold", got="none among its edges", next_step="Choose another piece"
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
    _check_one_line(piece, start, way)
    half = half or default_half(piece)
    other = "right" if half == "left" else "left"
    matrix = reflection(fold.path)
    chains = _chains(piece)
    rings = [_opened_out(row, matrix, half, other) for row in chains]
    # Where a shape on the fold was cut out there is more than one stretch of fold, and the shape leaves a hole.
    order = sorted(range(len(rings)), key=lambda n: -paths.signed_area(paths.joined([e.path for e in rings[n]])))
    holes = [rings[n] for n in order[1:]]
    for hole in piece.holes:
        holes.append(tuple(replace(e, name=f"{e.name}-{half}") for e in hole))
        holes.append(tuple(replace(_mirrored(e, matrix), name=f"{e.name}-{other}") for e in reversed(hole)))
    warnings = tuple(
        f"{edge.name} meets the fold {_off_square(tangent, way):.1f}° from square, so the unfolded {piece.name} has a "
        "point there."
        for row in chains
        for edge, tangent in (
            (row[0], paths.tangent(row[0].path, 0, 0.0)),
            (row[-1], paths.tangent(row[-1].path, len(row[-1].path) - 1, 1.0)),
        )
        if _off_square(tangent, way) > SQUARE_DEG
    )
    places = [place for row in chains for place in _places(row, half, other)]
    places += [place for hole in piece.holes for place in _twice(hole, half, other)]
    return (
        replace(
            piece,
            edges=rings[order[0]],
            holes=tuple(holes),
            notches=_notches(piece, places),
            darts=_darts(piece, places, matrix),
            marks=_marks(piece.marks, matrix),
            how=HowToCut.SINGLE,
        ),
        tuple(dict.fromkeys(warnings)),
    )


def _check_one_line(piece: Piece, start: Floats, way: Floats) -> None:
    """Refuse a piece with folds on two lines: it cannot be unfolded about both."""
    for edge in piece.edges:
        if edge.kind is EdgeKind.FOLD:
            away = np.abs((np.array([edge.path.start, edge.path.end]) - start) @ np.array([-way[1], way[0]])).max()
            if away > STRAIGHT_MM:
                raise GeometryError(
                    f"fold of {piece.name}",
                    expected="one straight line",
                    got=f"a second fold, {edge.name}, {away:.3g} mm beside it",
                    next_step="Give one of the two edges another kind",
                )


def _chains(piece: Piece) -> list[list[Edge]]:
    """The edges from each stretch of fold to the next, counter-clockwise."""
    k = next(n for n, e in enumerate(piece.edges) if e.kind is EdgeKind.FOLD)
    chains: list[list[Edge]] = [[]]
    for edge in (*piece.edges[k + 1 :], *piece.edges[: k + 1]):
        if edge.kind is EdgeKind.FOLD:
            chains.append([])
        else:
            chains[-1].append(edge)
    return [row for row in chains if row]


def _opened_out(row: list[Edge], matrix: Floats, half: str, other: str) -> tuple[Edge, ...]:
    """A chain from fold to fold with its mirror image, as one closed ring."""
    twin = [_mirrored(e, matrix) for e in reversed(row)]
    if len(row) == 1:
        return (replace(row[0], path=paths.joined([row[0].path, twin[0].path]), start_name="", end_name=""),)
    first = replace(row[0], path=paths.joined([twin[-1].path, row[0].path]), start_name=row[0].end_name)
    last = replace(row[-1], path=paths.joined([row[-1].path, twin[0].path]), end_name=row[-1].start_name)
    middle = [replace(e, name=f"{e.name}-{half}") for e in row[1:-1]]
    mirror = [replace(e, name=f"{e.name}-{other}") for e in twin[1:-1]]
    # A corner belongs to the edge that starts there: the one at the twin's end is the joined edge's.
    return (replace(first, corner=twin[-1].corner), *middle, last, *mirror)


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


@dataclass(frozen=True, slots=True)
class _Place:
    """What becomes of distances along an edge: ``start + sign · distance`` along ``name``; ``twin``: mirrored there."""

    edge: str
    name: str
    start: float
    sign: int
    twin: bool

    def at(self, distance: float) -> float:
        return self.start + self.sign * distance


def _places(row: list[Edge], half: str, other: str) -> list[_Place]:
    """Both places of every edge of a chain in its ring."""
    out = []
    for k, edge in enumerate(row):
        size = length_of(edge.path)
        if k == len(row) - 1:
            out += [_Place(edge.name, edge.name, 0.0, 1, False), _Place(edge.name, edge.name, 2 * size, -1, True)]
        elif k == 0:
            out += [_Place(edge.name, edge.name, size, 1, False), _Place(edge.name, edge.name, size, -1, True)]
        else:
            out += _twice([edge], half, other)
    return out


def _twice(edges: Sequence[Edge], half: str, other: str) -> list[_Place]:
    """Places on edges that are there twice, each on its own."""
    return [
        place
        for e in edges
        for place in (
            _Place(e.name, f"{e.name}-{half}", 0.0, 1, False),
            _Place(e.name, f"{e.name}-{other}", length_of(e.path), -1, True),
        )
    ]


def _notches(piece: Piece, places: Sequence[_Place]) -> tuple[Notch, ...]:
    kept: list[Notch] = []
    for notch in piece.notches:
        for place in places:
            n = Notch(place.name, place.at(notch.distance_mm), notch.count)
            # A notch on the fold itself is its own mirror image.
            if place.edge == notch.edge and not any(
                m.edge == n.edge and abs(m.distance_mm - n.distance_mm) < 1e-6 for m in kept
            ):
                kept.append(n)
    return tuple(kept)


def _darts(piece: Piece, places: Sequence[_Place], matrix: Floats) -> tuple[Dart, ...]:
    made = []
    for dart in piece.darts:
        for place in places:
            if place.edge == dart.edge:
                low, high = sorted((place.at(dart.from_mm), place.at(dart.to_mm)))
                x, y = matrix[:, :2] @ np.array(dart.tip) + matrix[:, 2] if place.twin else dart.tip
                name = f"{dart.name}, 2" if place.twin else dart.name
                made.append(Dart(name, place.name, low, high, (float(x), float(y))))
    return tuple(made)


def _marks(marks: tuple[Mark, ...], matrix: Floats) -> tuple[Mark, ...]:
    out = []
    for mark in marks:
        twin = paths.transformed(mark.path, matrix)
        ends = np.array([mark.path.start, mark.path.end])
        on_fold = np.linalg.norm(np.array([twin.start, twin.end]) - ends, axis=1) < 1e-6
        if on_fold.all():
            along = np.abs(mark.path.cubics - twin.cubics).max() < 1e-6  # else it runs from the fold back to it
            out.append(mark if along else replace(mark, path=paths.joined([mark.path, paths.reversed_path(twin)])))
        elif on_fold[1]:
            out.append(replace(mark, path=paths.joined([mark.path, paths.reversed_path(twin)])))
        elif on_fold[0]:
            out.append(replace(mark, path=paths.joined([paths.reversed_path(twin), mark.path])))
        else:
            out += [mark, replace(mark, path=twin)]
    return tuple(out)
