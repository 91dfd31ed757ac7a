"""How a tile should be shaded: the median of all repeats in view."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from swatches.fabric import Kind

Floats = NDArray[np.float64]
Linear = NDArray[np.float32]
Mask = NDArray[np.bool_]


def shade(
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


def low(picture: Linear, reach: float) -> Linear:
    """A periodic low-pass of a tile."""
    sigma = max(1.0, min(reach, min(picture.shape[:2]) / 3))
    return np.stack(
        [ndimage.gaussian_filter(picture[..., c], sigma, mode="wrap", truncate=3) for c in range(3)], axis=-1
    )


def without_bands(tile: Linear, reach: float) -> Linear:
    """Make all rows, and all columns, of a tile equally light at a width of ``reach`` px; single threads stay."""
    for axis in (0, 1):
        line = tile.mean(axis=1 - axis, keepdims=True)
        slow = ndimage.gaussian_filter1d(line, max(reach, 0.8), axis=axis, mode="wrap")
        tile = tile * (line.mean(axis=axis, keepdims=True) / np.maximum(slow, 1e-4)).astype(np.float32)
    return tile
