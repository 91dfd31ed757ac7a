"""Join the ends of a patch so that it repeats without a seam: the path of least difference through their overlap.

Minimum error boundary cut after Efros and Freeman, "Image quilting", SIGGRAPH 2001, closed round the tile.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Linear = NDArray[np.float32]


def best_period(coded: Linear, x: int, y: int, goal: tuple[int, int], lap: tuple[int, int], axis: int) -> int:
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


def joined(patch: Linear, width: int, lap: int, *, closed: bool) -> tuple[Linear, float]:
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


def wrap_visibility(tile: Linear) -> float:
    """Gradient across the wrap (mean of the five lines there) over that inside; the worse of the two directions."""
    worst = 0.0
    for axis in (0, 1):
        step = np.abs(np.diff(np.concatenate([tile, np.take(tile, [0], axis)], axis=axis), axis=axis))
        lines = step.mean(axis=(1 - axis, 2))
        worst = max(worst, float(np.r_[lines[-3:], lines[:2]].mean() / max(float(lines.mean()), 1e-9)))
    return worst
