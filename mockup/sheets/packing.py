"""Pieces placed on the plane of the print so that few sheets come out.

The pieces stay upright, since grainlines are compared with the cloth's edge by eye. It is a first fit on a raster of
5 mm: every piece, largest first, goes where it touches the fewest sheets that are not used yet, then as high and as far
left as it can. Several widths and orders are tried, and the fewest sheets win. It is paper, not cloth: the lay of
:mod:`mockup.lay` is another matter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft
from shapely import Geometry, Polygon, box, union_all
from shapely.affinity import translate

from mockup.sheets.papers import Grid, Paper, Tile
from swatches.errors import GeometryError
from swatches.job import QUIET, Job, check

GAP_MM = 6.0
INSET_MM = 3.0  # mm between the first sheet's frame and the pieces, so that no cut line lies on a frame
_RASTER = 5.0  # mm
_MOST_COLUMNS = 6
_LOOK_BACK = 400  # raster rows above the lowest piece in which a place is looked for: time grows with the pieces only
_MANY = 30  # pieces: from here on one order is tried, and from four times as many one width
_WIDEST_MM = 2000.0  # a plane wider than a table helps nobody, and larger rasters cost time
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """Where the pieces lie.

    Attributes:
        grid: the sheets.
        moves: for every piece how far it is moved, (x, y) in mm, y down.
        tiles: the sheets with something on them, in reading order.
        on_tile: for every such sheet the indices of the pieces that its window shows.
    """

    grid: Grid
    moves: tuple[tuple[float, float], ...]
    tiles: tuple[Tile, ...]
    on_tile: tuple[tuple[int, ...], ...]


def plan(outlines: Sequence[Floats], paper: Paper, *, job: Job = QUIET) -> Plan:
    """Place outlines on sheets of a paper.

    Args:
        outlines: closed polygons in mm, y down, shape (n, 2) each; at least one.
        paper: A4, Letter, A0, a roll (height 0), or a projector's page (no size of its own).
        job: progress.

    Raises:
        GeometryError: on a roll, a piece is wider than the paper.
    """
    polygons = [Polygon(o) for o in outlines]
    if paper.width == 0:
        return _on_screen(polygons, job)
    if paper.height == 0:
        return _on_roll(polygons, paper, job)
    widest = max(p.bounds[2] - p.bounds[0] for p in polygons)
    one = Grid(paper.frame, 1, 1)
    least = max(1, math.ceil((widest + 2 * (_RASTER + INSET_MM) - one.overlap) / one.step[0]))
    best: Plan | None = None
    most = max(least, min(_MOST_COLUMNS, int(_WIDEST_MM / one.step[0])))
    many = len(polygons) > _MANY
    for columns in range(most if len(polygons) > 4 * _MANY else least, most + 1):
        for order, whole in product(_orders(polygons)[: 1 if many else 2], (False,) if many else (False, True)):
            check(job)
            job.step("Placing the pieces on paper", (columns - least) / (_MOST_COLUMNS + 1))
            found = _placed(polygons, order, Grid(paper.frame, columns, 1), whole=whole)
            if best is None or _worth(found, paper) < _worth(best, paper):
                best = found
    assert best is not None  # noqa: S101  the loop above runs at least once
    return best


def _worth(found: Plan, paper: Paper) -> tuple[int, int, float]:
    """Few sheets first; on large ones then few pieces over a join; then a plane that is near to square, for a table."""
    across, down = found.grid.size
    shown = 0 if paper.has_first_page else sum(len(pieces) for pieces in found.on_tile)
    return len(found.tiles), shown, max(across / down, down / across)


def _orders(polygons: Sequence[Polygon]) -> list[list[int]]:
    by_area = sorted(range(len(polygons)), key=lambda i: (-polygons[i].area, i))
    by_height = sorted(range(len(polygons)), key=lambda i: (polygons[i].bounds[1] - polygons[i].bounds[3], i))
    return [by_area] if by_area == by_height else [by_area, by_height]


def _on_roll(polygons: Sequence[Polygon], paper: Paper, job: Job) -> Plan:
    width = paper.width - 2 * paper.margin
    widest, most = max(p.bounds[2] - p.bounds[0] for p in polygons), width - 2 * (_RASTER + INSET_MM)
    if widest > most:
        raise GeometryError(
            "roll",
            expected=f"pieces of at most {most:.0f} mm across",
            got=f"one of {widest:.0f} mm",
            next_step="Print on A4 or A0 sheets, which are joined",
        )
    check(job)
    job.step("Placing the pieces on the roll")
    return min((_on_one(polygons, order, width) for order in _orders(polygons)), key=lambda p: p.grid.frame[1])


def _on_screen(polygons: Sequence[Polygon], job: Job) -> Plan:
    """One page, nearly as wide as 16 to 10: what a projector shows."""
    widest = max(p.bounds[2] - p.bounds[0] for p in polygons) + 2 * (_RASTER + INSET_MM)
    area = sum(p.area for p in polygons)
    found = []
    for factor in (1.0, 1.25, 1.5, 1.75, 2.0):
        check(job)
        job.step("Placing the pieces on one page")
        width = max(widest, factor * math.sqrt(area))
        found += [_on_one(polygons, order, math.ceil(width / 100) * 100.0) for order in _orders(polygons)]
    return min(found, key=lambda p: (abs(math.log(p.grid.frame[0] / p.grid.frame[1] / 1.6)), p.grid.frame))


def _on_one(polygons: Sequence[Polygon], order: Sequence[int], width: float) -> Plan:
    """All pieces on one sheet of a width."""
    moves = _first_fit(polygons, order, Grid((width, 1e9), 1, 1, 0.0))
    length = max(y + p.bounds[3] for (_, y), p in zip(moves, polygons, strict=True))
    grid = Grid((width, float(math.ceil(length + INSET_MM))), 1, 1, 0.0)
    return Plan(grid, tuple(moves), (grid.tile(0, 0),), (tuple(range(len(polygons))),))


def _placed(polygons: Sequence[Polygon], order: Sequence[int], grid: Grid, *, whole: bool) -> Plan:
    moves = _first_fit(polygons, order, grid, whole=whole)
    lying = [translate(p, *move) for p, move in zip(polygons, moves, strict=True)]
    bottom = max(p.bounds[3] for p in lying) + INSET_MM
    rows = max(1, math.ceil((bottom - grid.overlap) / grid.step[1]))
    grid = Grid(grid.frame, grid.columns, rows, grid.overlap)
    shown = union_all(lying)
    parts = {}
    for row in range(rows):
        for column in range(grid.columns):
            part = shown.intersection(box(*grid.cell(row, column)))
            if not part.is_empty:
                parts[row, column] = part
    tiles = [grid.tile(*place) for place in _needed(parts, grid)]
    on_tile = tuple(tuple(i for i, p in enumerate(lying) if p.intersects(_window(t, grid))) for t in tiles)
    return Plan(grid, tuple(moves), tuple(tiles), on_tile)


def _needed(parts: dict[tuple[int, int], Geometry], grid: Grid) -> list[tuple[int, int]]:
    """Drop sheets, last first, whose part of the drawing is in the overlaps that their neighbours show anyway."""
    kept = sorted(parts)
    for place in reversed(kept.copy()):
        row, column = place
        around = [k for k in kept if k != place and abs(k[0] - row) <= 1 and abs(k[1] - column) <= 1]
        windows = union_all([_window(grid.tile(*k), grid) for k in around])
        if windows.buffer(1e-6).covers(parts[place]):
            kept.remove(place)
            for k in around:  # what they now answer for must not be dropped with them
                parts[k] = parts[k].union(parts[place].intersection(_window(grid.tile(*k), grid)))
    return kept


def _overlap(taken: NDArray[np.float32], mask: NDArray[np.float32]) -> NDArray[np.float32]:
    """How much of the mask lies on what is taken, at every place where all of it lies inside."""
    (rows, columns), (h, w) = taken.shape, mask.shape
    # what wraps round at the end falls on places where a part of the mask would lie outside
    size = [fft.next_fast_len(n, real=True) for n in taken.shape]
    whole = fft.irfft2(fft.rfft2(taken, size) * fft.rfft2(mask[::-1, ::-1], size), size)
    return np.asarray(whole[h - 1 : rows, w - 1 : columns], np.float32)


def _window(tile: Tile, grid: Grid) -> Polygon:
    return box(tile.x, tile.y, tile.x + grid.frame[0], tile.y + grid.frame[1])


def _first_fit(
    polygons: Sequence[Polygon], order: Sequence[int], grid: Grid, *, whole: bool = False
) -> list[tuple[float, float]]:
    masks = [_mask(p) for p in polygons]
    across = int((grid.size[0] - 2 * INSET_MM + 2 * GAP_MM) / _RASTER)
    spare = min(math.ceil(grid.step[1] / _RASTER), max(m.shape[0] for m in masks)) if whole else 0
    rows = sum(m.shape[0] for m in masks) + spare * len(masks)  # each may lie lower by that much, to stay whole
    taken = np.zeros((rows, across), dtype=np.float32)
    row_of = _cells(len(taken), grid.step[1], grid.overlap, 10**6)
    column_of = _cells(across, grid.step[0], grid.overlap, grid.columns)
    used = np.zeros((int(row_of.max()) + 1, grid.columns), dtype=np.int64)
    moves: list[tuple[float, float]] = [(0.0, 0.0)] * len(polygons)
    bottom = 0  # below it nothing lies, so that there is always room
    for i in order:
        mask = masks[i]
        h, w = mask.shape
        top = max(0, bottom - _LOOK_BACK) if len(masks) > _MANY else 0
        room = _overlap(taken[top : bottom + h + spare], mask) < 0.5
        y, x = _best_place(room, h, w, row_of[top:], column_of, used, whole=whole)
        y += top
        taken[y : y + h, x : x + w] += mask
        bottom = max(bottom, y + h)
        used[row_of[y] : row_of[y + h - 1] + 1, column_of[x] : column_of[x + w - 1] + 1] = 1
        left, upper, _, _ = polygons[i].bounds
        moves[i] = (x * _RASTER - left + INSET_MM, y * _RASTER - upper + INSET_MM)
    return moves


def _mask(polygon: Polygon) -> NDArray[np.float32]:
    """The cells that a piece with half its gap touches; its first cell starts a gap before its bounding box."""
    left, top, right, bottom = polygon.bounds
    grown = polygon.buffer(GAP_MM / 2 + _RASTER / 2, quad_segs=2)
    shape = (math.ceil((bottom - top + 2 * GAP_MM) / _RASTER), math.ceil((right - left + 2 * GAP_MM) / _RASTER))
    points = (np.asarray(grown.exterior.coords) - (left - GAP_MM, top - GAP_MM)) / _RASTER - 0.5
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.round(points * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(np.float32)


def _cells(count: int, step: float, overlap: float, last: int) -> NDArray[np.int64]:
    """For every raster line the row (or column) of sheets that answers for it."""
    middle = (np.arange(count) + 0.5) * _RASTER - GAP_MM + INSET_MM
    cells = np.floor((middle - overlap / 2) / step).astype(np.int64)
    return np.asarray(np.clip(cells, 0, last - 1), dtype=np.int64)


def _best_place(
    room: NDArray[np.bool_],
    h: int,
    w: int,
    row_of: NDArray[np.int64],
    column_of: NDArray[np.int64],
    used: NDArray[np.int64],
    *,
    whole: bool,
) -> tuple[int, int]:
    """Of all places with room: fewest new sheets under the bounding box, then highest and leftmost.

    With ``whole``, the piece rather goes lower down than across one sheet more.
    """
    free = np.zeros((used.shape[0] + 1, used.shape[1] + 1), dtype=np.int64)
    free[1:, 1:] = np.cumsum(np.cumsum(1 - used, axis=0), axis=1)
    ys, xs = np.nonzero(room)
    r0, r1 = row_of[ys], row_of[ys + h - 1] + 1
    c0, c1 = column_of[xs], column_of[xs + w - 1] + 1
    new = free[r1, c1] - free[r0, c1] - free[r1, c0] + free[r0, c0]
    touched = (r1 - r0) * (c1 - c0) if whole else np.zeros_like(new)
    among = np.flatnonzero(new == new.min())  # places come row by row, so the first is the highest and leftmost
    best = among[int(touched[among].argmin())]
    return int(ys[best]), int(xs[best])
