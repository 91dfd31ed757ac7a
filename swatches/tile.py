"""A seamless tile of real cloth at true scale.

A patch of one repeat (or, without a repeat, a few centimetres) is taken as it is, so that it keeps its thread. Its
ends are joined along the path of least difference (minimum error boundary cut: Efros and Freeman, "Image quilting",
SIGGRAPH 2001), closed round the tile so that all four sides fit. Where several repeats are in view their median says
how the tile should be shaded; where no whole repeat is, the median is the tile.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.fabric import Kind
from swatches.kind import Look
from swatches.tile_join import best_period, joined, wrap_visibility
from swatches.tile_shade import low, shade, without_bands

Floats = NDArray[np.float64]
Linear = NDArray[np.float32]
Mask = NDArray[np.bool_]

FREE_MM = {Kind.SOLID: 26.0, Kind.MELANGE: 90.0, Kind.STRIPE: 30.0, Kind.CHECK: 44.0, Kind.PRINT: 80.0}
"""Side of the tile in a direction without a repeat."""
EVEN_MM = {Kind.SOLID: 3.0, Kind.MELANGE: 6.0}
"""Shade wider than this is taken out, or it would show as a grid of tiles."""
FREE_SHARES = (1.0, 0.8, 0.6, 0.45)
"""Where no patch of the wanted size lies wholly on the cloth, a smaller one is tried."""
BAND_MM = 0.3
"""A row or column of the tile as a whole is made as light as the others at this width: a slub that runs right across is
no fault of the cloth, but in a tile it comes again and again, as a line over the whole garment."""
MAX_SIDE_PX = 2400
LEAST_FREE_PX = 40
"""At least so wide, where there is so much cloth: of a coarse photo a smaller patch shows the grid of its tiles."""
_Y = np.array([0.2126, 0.7152, 0.0722], np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A seamless tile.

    Attributes:
        linear: linear light, float32, shape (h, w, 3).
        mm_per_px: scale, the same both ways.
        size_mm: width and height that it covers.
        how: 'cut' from one patch, or 'median' of several repeats.
    """

    linear: Linear
    mm_per_px: float
    size_mm: tuple[float, float]
    how: str


def make_tile(linear: Linear, mask: Mask, look: Look, mm_per_px: float) -> Tile | None:
    """Make a tile of the cloth in ``mask``; None when too little of it is in view.

    Args:
        linear: the cloth from above, its length upright, shape (h, w, 3).
        mask: where it is, shape (h, w).
        look: what it shows.
        mm_per_px: scale.
    """
    even = _evened(linear, mask)
    across, along = tile_vectors(look.vectors)
    step = _step(across, along, mm_per_px)
    canvas, inside, size, lattice = _straight(even, mask, across, along, look.vectors, mm_per_px, step)
    found = None
    for share in (1.0,) if all(size) else FREE_SHARES:
        free = _free_size(inside, look.kind, step)
        wide = size[0] or round(free[0] * share)
        high = size[1] or round(free[1] * share)
        if min(wide, high) < 8 or max(wide, high) > MAX_SIDE_PX:
            return None
        found = _cut(canvas, inside, size, (wide, high), step)
        if found is not None:
            break
    if found is None:
        middle = ((inside.shape[1] - wide) // 2, (inside.shape[0] - high) // 2)
        tone = shade(canvas, inside, size, (wide, high), lattice, look.kind, middle) if all(size) else None
        if tone is None:
            return None
        return Tile(np.maximum(tone, 0), step, (tone.shape[1] * step, tone.shape[0] * step), "median")
    cut, place = found
    tone = shade(canvas, inside, size, (cut.shape[1], cut.shape[0]), lattice, look.kind, place)
    reach = EVEN_MM.get(look.kind, 4.0) / step
    goal = cut.mean(axis=(0, 1), keepdims=True) if tone is None else low(tone, reach)
    tile = cut * np.clip(goal / np.maximum(low(cut, reach), 1e-4), 0.6, 1.6)
    if look.kind in EVEN_MM:
        tile = without_bands(tile, BAND_MM / step)
    return Tile(np.maximum(tile, 0).astype(np.float32), step, (tile.shape[1] * step, tile.shape[0] * step), "cut")


def tile_vectors(vectors: Floats, *, most: int = 4) -> tuple[Floats | None, Floats | None]:
    """Whole combinations of the repeat's vectors that lie across (near x) and along (near y) the cloth.

    Of the pairs within 12° of square, the one with the smallest area; none in a direction without a repeat.
    """
    if len(vectors) == 0:
        return None, None
    if len(vectors) == 1:
        v = vectors[0]
        return (v * np.sign(v[0]), None) if abs(v[0]) >= abs(v[1]) else (None, v * np.sign(v[1]))
    counts = np.array([(i, j) for i in range(-most, most + 1) for j in range(-most, most + 1) if (i, j) != (0, 0)])
    reach = counts @ vectors
    size = np.linalg.norm(reach, axis=1)
    slope = np.sin(np.radians(12))
    across = reach[(np.abs(reach[:, 1]) < slope * size) & (reach[:, 0] > 0)]
    along = reach[(np.abs(reach[:, 0]) < slope * size) & (reach[:, 1] > 0)]
    if len(across) == 0 or len(along) == 0:
        return None, None

    def cost(v: Floats, tilt: int) -> float:  # a nearly square lattice point is preferred to a shorter slanting one
        return float(np.linalg.norm(v) * (1 + 4 * abs(v[tilt]) / np.linalg.norm(v)))

    return min(across, key=lambda v: cost(v, 1)), min(along, key=lambda v: cost(v, 0))


def _evened(linear: Linear, mask: Mask) -> Linear:
    """Take the slow change of lightness over the cloth out: a quadratic of the logarithm of its luminance."""
    rows, columns = mask.shape
    small = (max(8, columns // 8), max(8, rows // 8))
    weight = cv2.resize(mask.astype(np.float32), small, interpolation=cv2.INTER_AREA)
    tone = cv2.resize(linear @ _Y * mask, small, interpolation=cv2.INTER_AREA) / np.maximum(weight, 1e-3)
    y, x = np.mgrid[-1 : 1 : small[1] * 1j, -1 : 1 : small[0] * 1j]
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    use = weight > 0.95
    if use.sum() < 30:
        return linear
    fit = np.linalg.lstsq(terms[use], np.log(np.maximum(tone[use], 1e-3)).astype(np.float64), rcond=None)[0]
    slow = terms @ fit
    gain = np.exp(np.clip(slow[use].mean() - slow, -0.5, 0.5)).astype(np.float32)
    return np.asarray(linear * cv2.resize(gain, (columns, rows), interpolation=cv2.INTER_CUBIC)[..., None], np.float32)


def _step(across: Floats | None, along: Floats | None, mm_per_px: float) -> float:
    """A scale near the photo's at which both repeats are whole numbers of px, as nearly as can be."""
    lengths = [float(np.linalg.norm(v)) for v in (across, along) if v is not None]
    if not lengths:
        return mm_per_px
    low = max(mm_per_px * 0.85, max(lengths) / MAX_SIDE_PX)
    tries = low * np.linspace(1, 1.25, 400)
    counts = np.array(lengths)[:, None] / tries
    off = (np.abs(counts - np.rint(counts)) / counts).max(axis=0)
    return float(tries[int(off.argmin())])


def _straight(
    linear: Linear,
    mask: Mask,
    across: Floats | None,
    along: Floats | None,
    vectors: Floats,
    mm_per_px: float,
    step: float,
) -> tuple[Linear, Mask, tuple[int, int], Floats]:
    """Lay the repeat square: warp so that its vectors are whole px along x and y.

    Returns:
        picture, mask, the repeat in px (0 in a direction without one), and the lattice's own vectors in px.
    """
    width = 0 if across is None else round(float(np.linalg.norm(across)) / step)
    height = 0 if along is None else round(float(np.linalg.norm(along)) / step)
    x_axis = np.array([step, 0.0]) if across is None else across / width
    y_axis = np.array([0.0, step]) if along is None else along / height
    if across is None and along is not None:
        x_axis = np.array([y_axis[1], -y_axis[0]])
    if along is None and across is not None:
        y_axis = np.array([-x_axis[1], x_axis[0]])
    to_px = np.column_stack([x_axis, y_axis]) / mm_per_px
    rows, columns = mask.shape
    corners = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float64) @ np.linalg.inv(to_px).T
    low = np.floor(corners.min(axis=0))
    shape = np.ceil(corners.max(axis=0) - low).astype(int)
    shift = to_px @ (low + 0.5) - 0.5
    warp = np.column_stack([to_px, shift])
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    canvas = cv2.warpAffine(linear, warp, tuple(shape.tolist()), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    inside = cv2.warpAffine(
        mask.astype(np.uint8), warp, tuple(shape.tolist()), flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    )
    lattice = (vectors / mm_per_px) @ np.linalg.inv(to_px).T if len(vectors) else np.zeros((0, 2))
    return np.asarray(np.maximum(canvas, 0), np.float32), inside.astype(np.bool_), (width, height), lattice


def _free_size(inside: Mask, kind: Kind, step: float) -> tuple[int, int]:
    """Size in a direction without a repeat: what the kind asks for, or what there is."""
    room = np.sqrt(float(inside.sum()))
    side = int(min(max(FREE_MM[kind] / step, LEAST_FREE_PX), room * 0.6))
    return side, side


def _cut(
    canvas: Linear, inside: Mask, size: tuple[int, int], goal: tuple[int, int], step: float
) -> tuple[Linear, tuple[int, int]] | None:
    """Cut one patch of the wanted size from the cloth and join its ends; the best of several places, and where."""
    found: list[tuple[float, Linear, tuple[int, int]]] = []
    coded = np.sqrt(canvas)
    for lap_share in (0.25, 0.12):
        lap = (_lap(goal[0], step, lap_share), _lap(goal[1], step, lap_share))
        spare = tuple(0 if s else g // 5 for s, g in zip(size, goal, strict=True))
        for x, y in _places(inside, (goal[0] + lap[0] + spare[0], goal[1] + lap[1] + spare[1])):
            width = size[0] or best_period(coded, x, y, goal, lap, 0)
            height = size[1] or best_period(coded, x, y, (width, goal[1]), lap, 1)
            patch = coded[y : y + height + lap[1], x : x + width + lap[0]]
            wrapped, cost_x = joined(patch, width, lap[0], closed=False)
            turned, cost_y = joined(wrapped.transpose(1, 0, 2), height, lap[1], closed=True)
            found.append((cost_x + cost_y, np.ascontiguousarray(turned.transpose(1, 0, 2)), (x, y)))
        if found:
            break
    if not found:
        return None
    cheapest = min(cost for cost, _, _ in found)
    if any(size):  # a pattern has edges of its own at the wrap, the same at every place
        _, tile, place = next(f for f in found if f[0] == cheapest)
    else:
        _, tile, place = min((f for f in found if f[0] <= 1.6 * cheapest), key=lambda f: wrap_visibility(f[1]))
    return tile**2, place


def _lap(side: int, step: float, share: float) -> int:
    return int(np.clip(min(side * share, 12 / step), 6, side // 2))


def _places(inside: Mask, size: tuple[int, int]) -> list[tuple[int, int]]:
    """Up to five spread-out top left corners (x, y) at which a box lies wholly on the cloth."""
    width, height = size
    rows, columns = inside.shape
    if width > columns or height > rows:
        return []
    total = cv2.integral((~inside).astype(np.uint8))
    step = max(1, min(rows, columns) // 150)
    across, down = np.arange(0, columns - width + 1, step), np.arange(0, rows - height + 1, step)
    top, bottom = total[down], total[down + height]
    bad = bottom[:, across + width] - top[:, across + width] - bottom[:, across] + top[:, across]
    y, x = np.nonzero(bad <= 0.001 * width * height)
    x, y = across[x], down[y]
    if len(x) == 0:
        return []
    wanted = [(0.5, 0.5), (0.15, 0.15), (0.85, 0.85), (0.15, 0.85), (0.85, 0.15)]
    found = []
    for a, b in wanted:
        gx, gy = np.quantile(x, a), np.quantile(y, b)
        i = int(np.argmin((x - gx) ** 2 + (y - gy) ** 2))
        if (int(x[i]), int(y[i])) not in found:
            found.append((int(x[i]), int(y[i])))
    return found
