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
from scipy import ndimage

from swatches.fabric import Kind
from swatches.kind import Look

Floats = NDArray[np.float64]
Linear = NDArray[np.float32]
Mask = NDArray[np.bool_]

FREE_MM = {Kind.SOLID: 26.0, Kind.MELANGE: 44.0, Kind.STRIPE: 30.0, Kind.CHECK: 44.0, Kind.PRINT: 80.0}
"""Side of the tile in a direction without a repeat."""
EVEN_MM = {Kind.SOLID: 3.0, Kind.MELANGE: 6.0}
"""Shade wider than this is taken out, or it would show as a grid of tiles."""
MAX_SIDE_PX = 2400
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
    free = _free_size(inside, look.kind, step)
    wide = size[0] or free[0]
    high = size[1] or free[1]
    if min(wide, high) < 8 or max(wide, high) > MAX_SIDE_PX:
        return None
    found = _cut(canvas, inside, size, (wide, high), step)
    if found is None:
        middle = ((inside.shape[1] - wide) // 2, (inside.shape[0] - high) // 2)
        shade = _shade(canvas, inside, size, (wide, high), lattice, look.kind, middle) if all(size) else None
        if shade is None:
            return None
        return Tile(np.maximum(shade, 0), step, (shade.shape[1] * step, shade.shape[0] * step), "median")
    cut, place = found
    shade = _shade(canvas, inside, size, (cut.shape[1], cut.shape[0]), lattice, look.kind, place)
    reach = EVEN_MM.get(look.kind, 4.0) / step
    goal = cut.mean(axis=(0, 1), keepdims=True) if shade is None else _low(shade, reach)
    tile = cut * np.clip(goal / np.maximum(_low(cut, reach), 1e-4), 0.6, 1.6)
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
    side = int(min(FREE_MM[kind] / step, room * 0.6))
    return side, side


def _cut(
    canvas: Linear, inside: Mask, size: tuple[int, int], goal: tuple[int, int], step: float
) -> tuple[Linear, tuple[int, int]] | None:
    """Cut one patch of the wanted size from the cloth and join its ends; the best of several places, and where."""
    best: tuple[float, Linear, tuple[int, int]] | None = None
    coded = np.sqrt(canvas)
    for lap_share in (0.25, 0.12):
        lap = (_lap(goal[0], step, lap_share), _lap(goal[1], step, lap_share))
        spare = tuple(0 if s else g // 5 for s, g in zip(size, goal, strict=True))
        for x, y in _places(inside, (goal[0] + lap[0] + spare[0], goal[1] + lap[1] + spare[1])):
            width = size[0] or _best_period(coded, x, y, goal, lap, 0)
            height = size[1] or _best_period(coded, x, y, (width, goal[1]), lap, 1)
            patch = coded[y : y + height + lap[1], x : x + width + lap[0]]
            wrapped, cost_x = _joined(patch, width, lap[0], closed=False)
            turned, cost_y = _joined(wrapped.transpose(1, 0, 2), height, lap[1], closed=True)
            tile = np.ascontiguousarray(turned.transpose(1, 0, 2)) ** 2
            cost = cost_x + cost_y
            if best is None or cost < best[0]:
                best = (cost, tile, (x, y))
        if best is not None:
            return best[1], best[2]
    return None


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


def _best_period(coded: Linear, x: int, y: int, goal: tuple[int, int], lap: tuple[int, int], axis: int) -> int:
    """The size near the wanted one at which the far end looks most like the near end, so that threads go on."""
    long = goal[axis]
    if axis == 0:
        strip = coded[y : y + goal[1], x : x + lap[0]]
        there = coded[y : y + goal[1], x + long - long // 6 : x + long + long // 6 + lap[0]]
    else:
        strip = coded[y : y + lap[1], x : x + goal[0]]
        there = coded[y + long - long // 6 : y + long + long // 6 + lap[1], x : x + goal[0]]
    if any(a > b for a, b in zip(strip.shape[:2], there.shape[:2], strict=True)):
        return long
    off = cv2.matchTemplate(np.ascontiguousarray(there), np.ascontiguousarray(strip), cv2.TM_SQDIFF)
    return long - long // 6 + int(off.ravel().argmin())


def _joined(patch: Linear, width: int, lap: int, *, closed: bool) -> tuple[Linear, float]:
    """Join the right end of a patch to its left end; the result is ``width`` wide and wraps round.

    Args:
        patch: shape (rows, width + lap, 3).
        width: period.
        lap: overlap in which the seam runs.
        closed: whether the rows wrap round too, so that the seam must meet itself.

    Returns:
        the joined picture and the seam's mean cost.
    """
    left, right = patch[:, :lap], patch[:, width : width + lap]
    cost = ((left - right) ** 2).sum(axis=2)
    seam = _seam(cost, closed)
    column = np.arange(lap)[None, :]
    share = np.clip((column - seam[:, None]) / 2 + 0.5, 0, 1)[..., None].astype(np.float32)  # 0: still the right end
    out = patch[:, :width].copy()
    out[:, :lap] = right * (1 - share) + left * share
    return out, float(cost[np.arange(len(seam)), seam].mean())


def _seam(cost: NDArray[np.float32], closed: bool) -> NDArray[np.intp]:
    """The path of least cost from the first to the last row, at most one column aside a row."""
    rows, columns = cost.shape
    inner = cost.astype(np.float64).copy()
    inner[:, 0] += inner.max() + 1e-9
    inner[:, -1] += inner[:, 0].max()
    shift = 0
    total = inner.copy()
    if closed:  # start where it is cheapest to cross, and come back to there
        shift = int(inner.min(axis=1).argmin())
        inner = np.roll(inner, -shift, axis=0)
        start = int(inner[0].argmin())
        total = inner.copy()
        total[0] = np.inf
        total[0, start] = inner[0, start]
    before = np.full(columns + 2, np.inf)
    for row in range(1, rows):
        before[1:-1] = total[row - 1]
        total[row] += np.minimum(np.minimum(before[:-2], before[1:-1]), before[2:])
    last = total[-1]
    if closed:
        last = np.full(columns, np.inf)
        near = slice(max(0, start - 1), start + 2)
        last[near] = total[-1, near]
        if not np.isfinite(last).any():
            last = total[-1]
    path = np.empty(rows, np.intp)
    path[-1] = int(last.argmin())
    for row in range(rows - 2, -1, -1):
        low = max(0, path[row + 1] - 1)
        path[row] = low + int(total[row, low : path[row + 1] + 2].argmin())
    return np.roll(path, shift)


def _shade(
    canvas: Linear,
    inside: Mask,
    size: tuple[int, int],
    goal: tuple[int, int],
    lattice: Floats,
    kind: Kind,
    place: tuple[int, int],
) -> Linear | None:
    """The median of all repeats in view for a tile of size ``goal`` cut at ``place``; None without a repeat."""
    if kind in (Kind.SOLID, Kind.MELANGE) or len(lattice) == 0 or not any(size):
        return None
    if len(lattice) == 1:  # a stripe: the profile, all the way along
        axis = 0 if size[0] else 1
        period = size[axis]
        picture, where = (canvas, inside) if axis == 0 else (canvas.transpose(1, 0, 2), inside.T)
        columns = (np.arange(picture.shape[1]) - place[axis]) % period
        values = np.zeros((period, 3))
        for c in range(period):
            part = picture[:, columns == c][where[:, columns == c]]
            values[c] = np.median(part, axis=0) if len(part) else np.nan
        if np.isnan(values).any():
            return None
        line = np.repeat(values[None].astype(np.float32), goal[1 - axis], axis=0)
        return line if axis == 0 else np.ascontiguousarray(line.transpose(1, 0, 2))
    return _median(canvas, inside, goal, lattice, place)


def _median(
    canvas: Linear, inside: Mask, size: tuple[int, int], lattice: Floats, place: tuple[int, int], most: int = 9
) -> Linear | None:
    rows, columns = inside.shape
    width, height = size
    reach = int(np.ceil(max(rows, columns) / max(float(np.linalg.norm(lattice, axis=1).min()), 1.0))) + 2
    reach = min(reach, 14)
    moves = np.array([(i, j) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]) @ lattice
    moves = moves[np.argsort(np.linalg.norm(moves, axis=1), kind="stable")]
    copies: list[Linear] = []
    seen = np.zeros((height, width), np.int32)
    cover = inside.astype(np.float32)
    for move in moves:
        x, y = np.array(place) + move
        if x + width <= 0 or y + height <= 0 or x >= columns or y >= rows:
            continue
        warp = np.array([[1, 0, x], [0, 1, y]])
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        there = cv2.warpAffine(cover, warp, size, flags=flags) > 0.999
        if there.mean() < 0.02:
            continue
        copy = np.asarray(cv2.warpAffine(canvas, warp, size, flags=flags), np.float32)
        copy[~there] = np.nan
        copies.append(copy)
        seen += there
        if (len(copies) >= most and seen.min() >= 3) or len(copies) >= 4 * most:
            break
    if not copies or seen.min() < 1:
        return None
    stack = np.sort(np.stack(copies), axis=0)  # what is not seen is NaN and sorts to the end
    count = np.broadcast_to(seen[None, ..., None], (1, *stack.shape[1:]))
    low, high = (np.take_along_axis(stack, index, axis=0)[0] for index in ((count - 1) // 2, count // 2))
    return np.asarray((low + high) / 2, np.float32)


def _low(picture: Linear, reach: float) -> Linear:
    """A periodic low-pass of a tile."""
    sigma = max(1.0, min(reach, min(picture.shape[:2]) / 3))
    return np.stack(
        [ndimage.gaussian_filter(picture[..., c], sigma, mode="wrap", truncate=3) for c in range(3)], axis=-1
    )
