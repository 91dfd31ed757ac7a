"""One piece after another, each as far to one side as it will go: fast, the same every time, never wrong.

It is the simple lay behind 'how much cloth', what is left when a solver fails, and the start of the search on scraps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mockup.lay.lay import Lay, LayPiece, Placement, copies
from mockup.lay.raster import Bools, Raster


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of a piece that is needed: index of the piece, and whether it is mirrored."""

    piece: int
    mirrored: bool


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a copy lies: scrap, stance, row and column of the raster."""

    scrap: int
    stance: int
    row: int
    column: int


Spots = dict[int, Spot]
"""Index of the copy → its spot; a copy that found no place is not in it."""


def needed(pieces: Sequence[LayPiece]) -> tuple[Copy, ...]:
    """List every copy that is needed, pieces in their order."""
    return tuple(Copy(k, m) for k, piece in enumerate(pieces) for m in copies(piece))


def lay_in_order(raster: Raster, wanted: Sequence[Copy], order: Sequence[int], direction: float) -> Spots:
    """Lay copies in ``order``, each at the free position that lies farthest against ``direction``.

    Args:
        raster: pieces and scraps.
        wanted: all copies.
        order: indices into ``wanted``.
        direction: angle in radians from the scrap's columns (+x) towards its rows (+y); π/2 fills from the bottom up.

    Returns:
        The spots found. Scraps are tried in their order; the best position on the first scrap that has one is taken.
    """
    open_: dict[tuple[int, int], Bools] = {}
    spots: Spots = {}
    for index in order:
        copy = wanted[index]
        best: tuple[float, Spot] | None = None
        for scrap in range(len(raster.scraps)):
            for stance in raster.of.get((scrap, copy.piece, copy.mirrored), ()):
                if (scrap, stance) not in open_:
                    open_[scrap, stance] = _open_now(raster, spots, scrap, stance)
                found = _farthest(open_[scrap, stance], raster.stances[stance].size, direction)
                if found is not None and (best is None or found[0] < best[0] - 1e-9):
                    best = found[0], Spot(scrap, stance, found[1], found[2])
            if best is not None:
                break
        if best is None:
            continue
        spots[index] = best[1]
        for (scrap, stance), free in open_.items():
            if scrap == best[1].scrap:
                _block(raster, free, best[1], stance)
    return spots


def placed(raster: Raster, spots: Spots) -> tuple[Placement, ...]:
    """Give spots as placements, in the order of the copies."""
    return tuple(raster.placement(spot.scrap, spot.stance, spot.row, spot.column) for _, spot in sorted(spots.items()))


def by_size(pieces: Sequence[LayPiece], wanted: Sequence[Copy]) -> list[int]:
    """Order of the copies, the largest box first, ties in the pieces' order."""

    def box(piece: LayPiece) -> float:
        p = np.asarray(piece.outline)
        return float(np.prod(p.max(axis=0) - p.min(axis=0)))

    return sorted(range(len(wanted)), key=lambda i: (-box(pieces[wanted[i].piece]), i))


def shuffled(order: Sequence[int], random: np.random.Generator, strength: float) -> list[int]:
    """Give the order with neighbours exchanged at random; 0 leaves it, 1 loses it."""
    keys = np.arange(len(order)) / max(len(order) - 1, 1) + strength * random.uniform(-1, 1, len(order))
    return [order[k] for k in np.argsort(keys, kind="stable")]


def _open_now(raster: Raster, spots: Spots, scrap: int, stance: int) -> Bools:
    free = raster.fits(scrap, stance).copy()
    for spot in spots.values():
        if spot.scrap == scrap:
            _block(raster, free, spot, stance)
    return free


def _block(raster: Raster, free: Bools, spot: Spot, stance: int) -> None:
    barrier = raster.barrier(spot.stance, stance)
    mine, theirs = overlap(free.shape, barrier.blocked.shape, spot.row + barrier.row, spot.column + barrier.column)
    if mine:
        free[mine] &= ~barrier.blocked[theirs]


def overlap(
    size: tuple[int, ...], window: tuple[int, ...], row: int, column: int
) -> tuple[tuple[slice, slice], tuple[slice, slice]] | tuple[None, None]:
    """Where a window laid at (row, column) covers an array: slices of the array, and of the window."""
    r0, r1 = max(row, 0), min(row + window[0], size[0])
    c0, c1 = max(column, 0), min(column + window[1], size[1])
    if r0 >= r1 or c0 >= c1:
        return None, None
    return (slice(r0, r1), slice(c0, c1)), (slice(r0 - row, r1 - row), slice(c0 - column, c1 - column))


def _farthest(free: Bools, size: tuple[float, float], direction: float) -> tuple[float, int, int] | None:
    rows = np.flatnonzero(free.any(axis=1))
    if not len(rows):
        return None
    dx, dy = math.cos(direction), math.sin(direction)
    # in a row the farthest is its first or its last free place
    to_right = dx + 1e-4 * dy if abs(dy) > abs(dx) else dx
    part = free[rows]
    columns = part.argmax(axis=1) if to_right >= 0 else free.shape[1] - 1 - part[:, ::-1].argmax(axis=1)
    # the middle of the piece decides, and where that is even, the side across
    along = (columns + size[1] / 2) * dx + (rows + size[0] / 2) * dy
    value = along + 1e-4 * (columns * dy - rows * dx if abs(dy) > abs(dx) else rows * dx)
    best = int(np.argmin(value))
    return float(value[best]), int(rows[best]), int(columns[best])


def density_of(pieces: Sequence[LayPiece], lay: Lay, cloth_mm2: float) -> float:
    """Area of the laid pieces over ``cloth_mm2``."""
    from shapely.geometry import Polygon

    area = {piece.name: Polygon(piece.outline).area for piece in pieces}
    return float(sum(area[p.piece] for p in lay.placements) / cloth_mm2)
