"""Exact coverage of pixels by outlines, so that neighbouring panels share a border without gap or overlap.

Every edge of a flattened outline is cut at pixel rows and columns; each piece adds its signed area to its own pixel and
its height to all pixels right of it; a running sum along the row gives the covered share of every pixel. Areas are
exact for the polygon, so the coverages of two faces that share a border sum to that of both together.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path

_TOLERANCE_PX = 0.02
_NOISE = 1e-7
_LEVEL = 1e-9  # px: an edge that changes less than this in a coordinate is not cut across it


def coverage_part(outlines: list[Path], size: tuple[int, int]) -> tuple[int, int, NDArray[np.float32]]:
    """Share of every pixel that lies inside, of the part of a picture that is not empty.

    Args:
        outlines: closed, px, y down; holes run the other way round than what they are in.
        size: width and height of the picture in px.

    Returns:
        Left and top of the part, px, and the shares: float32, shape (height, width) of the part, 0 to 1 for one outline
        that does not cross itself.
    """
    points = [paths.flatten(o, _TOLERANCE_PX).points for o in outlines]
    corners = np.concatenate(points)
    x0, y0 = (int(v) for v in np.clip(np.floor(corners.min(axis=0)), 0, size))
    x1, y1 = (int(v) for v in np.clip(np.ceil(corners.max(axis=0)), 0, size))
    width, height = x1 - x0, y1 - y0
    if width < 1 or height < 1:
        return 0, 0, np.zeros((0, 0), dtype=np.float32)
    sums = np.zeros((height, width + 1))
    for ring in points:
        ring = np.vstack([ring, ring[:1]]) - (x0, y0)
        a, b = _cut(ring[:-1], ring[1:], axis=1, limit=height)
        inside = ((a[:, 1] + b[:, 1]) / 2 > 0) & ((a[:, 1] + b[:, 1]) / 2 < height)
        a, b = a[inside], b[inside]
        a[:, 0], b[:, 0] = np.clip(a[:, 0], 0, width), np.clip(b[:, 0], 0, width)
        a, b = _cut(a, b, axis=0, limit=width)
        middle = (a + b) / 2
        column = np.clip(np.floor(middle[:, 0]).astype(np.intp), 0, width)
        row = np.clip(np.floor(middle[:, 1]).astype(np.intp), 0, height - 1)
        rise = b[:, 1] - a[:, 1]
        here = rise * (1 - (middle[:, 0] - column))
        np.add.at(sums, (row, column), here)
        beside = column < width
        np.add.at(sums, (row[beside], column[beside] + 1), (rise - here)[beside])
    covered = np.abs(np.cumsum(sums[:, :width], axis=1))
    covered[covered < _NOISE] = 0.0  # the running sum's rounding must not look like cover
    return x0, y0, np.minimum(covered, 1.0).astype(np.float32)


def _cut(a: Floats, b: Floats, *, axis: int, limit: int) -> tuple[Floats, Floats]:
    """Cut edges a–b at the whole numbers of one coordinate between 0 and ``limit``."""
    low = np.clip(np.floor(np.minimum(a[:, axis], b[:, axis])), -1, limit)
    high = np.clip(np.ceil(np.maximum(a[:, axis], b[:, axis])), -1, limit + 1)
    flat = np.abs((b - a)[:, axis]) < _LEVEL
    count = np.where(flat, 1, np.maximum(high - low, 1)).astype(np.intp)
    edge = np.repeat(np.arange(len(a)), count)
    step = (np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)).astype(np.float64)
    run = (b - a)[:, axis]
    safe = np.where(flat, 1.0, run)[edge]

    def share(whole: Floats) -> Floats:
        return np.where(flat[edge], 0.0, np.clip((whole - a[edge, axis]) / safe, 0, 1))

    one, two = share(low[edge] + step), share(low[edge] + step + 1)
    first, last = np.minimum(one, two), np.maximum(one, two)
    first, last = np.where(flat[edge], 0.0, first), np.where(flat[edge], 1.0, last)
    ends = step == 0, step == count[edge] - 1
    # the outermost pieces reach to the ends, also past the limits
    upward = run[edge] >= 0
    first = np.where((ends[0] & upward) | (ends[1] & ~upward), 0.0, first)
    last = np.where((ends[1] & upward) | (ends[0] & ~upward), 1.0, last)
    start, way = a[edge], (b - a)[edge]
    return start + way * first[:, None], start + way * last[:, None]
