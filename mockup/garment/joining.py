"""Which found areas belong together: corners the ball could not reach, areas parted by dashes, crumbs.

Labels are int32 pictures; a *border* is where two labels meet, *open* where no ink lies between them.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.ink import Bools

Ints = NDArray[np.int32]

OPEN_SHARE = 0.12  # of a border: more, in many places, is a dashed line
OPEN_GAPS = 2.2  # in gap sizes: total open length of a dashed line
OPEN_PLACES = 5  # a dashed line is open in at least as many places
NO_LINE_SHARE = 0.6  # of a border: more, and nobody drew a line there


@dataclass(frozen=True, slots=True, eq=False)
class Borders:
    """Where labels meet: one row a pair of neighbouring pixels with different labels.

    Attributes:
        low: smaller label, shape (n,).
        high: larger label.
        open: whether neither pixel is ink.
        at: flat index of the first pixel.
    """

    low: NDArray[np.intp]
    high: NDArray[np.intp]
    open: Bools
    at: NDArray[np.intp]


def nearest_label(labels: Ints, known: Bools) -> tuple[NDArray[np.float32], Ints]:
    """Give every pixel the label of the nearest known pixel.

    Args:
        labels: int32, shape (h, w), valid where ``known``.
        known: shape (h, w), at least one True.

    Returns:
        Distance in px, and the labels everywhere.
    """
    away, index = cv2.distanceTransformWithLabels(
        (~known).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    table = np.zeros(int(index.max()) + 1, np.int32)
    table[index[known]] = labels[known]
    return away, table[index]


def border_table(labels: Ints, free: Bools) -> Borders:
    """List all pairs of neighbouring pixels (4-neighbourhood) whose labels differ."""
    width = labels.shape[1]
    low, high, is_open, at = [], [], [], []
    for a, b in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        y, x = np.nonzero(labels[a] != labels[b])
        first, second = labels[a][y, x], labels[b][y, x]
        low.append(np.minimum(first, second))
        high.append(np.maximum(first, second))
        is_open.append(free[a][y, x] & free[b][y, x])
        at.append(y * width + x)
    return Borders(
        np.concatenate(low).astype(np.intp),
        np.concatenate(high).astype(np.intp),
        np.concatenate(is_open),
        np.concatenate(at),
    )


def join_leftovers(swept: Ints, free: Bools, gap: float) -> Ints:
    """Give the free pixels that the ball did not reach to the label they are most open to.

    A leftover with no open contact, or a large one that opens only in narrow places (a band narrower than the ball), is
    an area of its own for now; :func:`join_unparted` looks at it again.

    Args:
        swept: int32 labels, 0 where unknown.
        free: True where there is no ink.
        gap: width of the ball, px.
    """
    left = np.asarray(free & (swept == 0))
    count, part, stats, _ = cv2.connectedComponentsWithStats(left.view(np.uint8), connectivity=4)
    if count < 2:
        return swept
    both = np.where(left, -part, swept)
    pairs = border_table(both, free)
    touching = pairs.open & (pairs.low < 0) & (pairs.high > 0)
    piece, label = -pairs.low[touching], pairs.high[touching]
    most = int(swept.max()) + 1
    keys, contact = np.unique(piece * most + label, return_counts=True)
    order = np.lexsort((keys, -contact))
    keys, contact = keys[order], contact[order]
    owner, first = np.unique(keys // most, return_index=True)
    target = np.zeros(count, np.int32)
    longest = np.zeros(count)
    target[owner] = keys[first] % most
    longest[owner] = contact[first]
    area = stats[:, cv2.CC_STAT_AREA]
    # a closed sliver is left to the ink's rule unless it is large enough to be meant
    alone = (area > gap * gap) & (longest == 0) | (area > 4 * gap * gap) & (longest < gap)
    alone[0] = False
    target[alone] = most + np.arange(int(alone.sum()), dtype=np.int32)
    return np.where(left, target[part], swept).astype(np.int32)


def join_unparted(borders: Borders, labels: Ints, gap: float, outside: set[int], found: int) -> NDArray[np.intp]:
    """Join what no line parts: the ball was only stopped by a narrow place between two lines.

    Args:
        borders: of ``labels``.
        labels: int32.
        gap: width of the ball, px.
        outside: labels round the garment; only leftovers may join them.
        found: labels above it are leftovers, not found by the ball.

    Returns:
        For every label the label it joins, itself where none.
    """
    target = np.arange(int(labels.max()) + 1)
    pairs, total, opened, _ = _by_pair(borders)
    for (low, high), whole, part in zip(pairs.tolist(), total, opened, strict=True):
        at_rim = bool({low, high} & outside) and high <= found
        if not at_rim and part > NO_LINE_SHARE * whole and part > gap / 3:
            _union(target, low, high)
    return _resolved(target)


def join_dashed(
    borders: Borders, labels: Ints, gap: float, outside: set[int]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Find areas that only a dashed line parts.

    Returns:
        For every label the label it joins (itself where none), and the labels that dashes run through.
    """
    target = np.arange(int(labels.max()) + 1)
    stitched = []
    pairs, total, open_length, index = _by_pair(borders)
    likely = (open_length > OPEN_SHARE * total) & (open_length > OPEN_GAPS * gap)
    for i in np.nonzero(likely)[0]:
        low, high = int(pairs[i, 0]), int(pairs[i, 1])
        if {low, high} & outside:
            continue
        at = borders.at[(index == i) & borders.open]
        if _places(at, labels.shape) >= OPEN_PLACES:
            _union(target, low, high)
            stitched.append(low)
    return _resolved(target), np.array(stitched, np.intp)


def _by_pair(
    borders: Borders,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64], NDArray[np.intp]]:
    """Sum borders up by pair of labels: the pairs (n, 2), whole length, open length, and each row's pair."""
    both = np.stack([borders.low, borders.high], axis=1)
    if not len(both):
        return both, np.zeros(0, np.intp), np.zeros(0), np.zeros(0, np.intp)
    most = int(both.max()) + 1
    key, index, total = np.unique(both[:, 0] * most + both[:, 1], return_inverse=True, return_counts=True)
    opened = np.bincount(index, weights=borders.open, minlength=len(key))
    return np.stack(np.divmod(key, most), axis=1), total, np.asarray(opened), np.asarray(index)


def join_crumbs(borders: Borders, labels: Ints, least_area: float, outside: set[int]) -> NDArray[np.intp]:
    """Join areas under ``least_area`` px to the neighbour they are most open to, else share the longest border with.

    Smallest first, so that crumbs side by side can add up. Returns for every label the label it joins.
    """
    area = np.bincount(labels.ravel()).astype(np.int64)
    target = np.arange(len(area))
    small = [int(i) for i in np.argsort(area, kind="stable") if 0 < area[i] < least_area and int(i) not in outside]
    for crumb in small:
        if area[crumb] >= least_area:
            continue
        low, high = _find_all(target, borders.low), _find_all(target, borders.high)
        mine = ((low == crumb) | (high == crumb)) & (low != high)
        if not mine.any():
            continue
        other = np.where(low[mine] == crumb, high[mine], low[mine])
        score = np.bincount(other, weights=1 + 1000.0 * borders.open[mine])
        best = int(score.argmax())
        target[crumb] = best
        area[best] += area[crumb]
    return _resolved(target)


def merged(labels: Ints, borders: Borders, target: NDArray[np.intp]) -> tuple[Ints, Borders]:
    """Apply a joining to labels and borders."""
    if (target == np.arange(len(target))).all():
        return labels, borders
    low, high = target[borders.low], target[borders.high]
    keep = low != high
    low, high = np.minimum(low, high)[keep], np.maximum(low, high)[keep]
    return target.astype(np.int32)[labels], Borders(low, high, borders.open[keep], borders.at[keep])


def _places(at: NDArray[np.intp], shape: tuple[int, ...]) -> int:
    """Count clusters of pixels, given by flat index."""
    y, x = np.divmod(at, shape[1])
    x, y = x - x.min() + 2, y - y.min() + 2
    spot = np.zeros((int(y.max()) + 3, int(x.max()) + 3), np.uint8)
    spot[y, x] = 1
    spot = cv2.dilate(spot, np.ones((3, 3), np.uint8))
    return int(cv2.connectedComponents(spot, connectivity=8)[0]) - 1


def _union(target: NDArray[np.intp], a: int, b: int) -> None:
    while target[a] != a:
        a = int(target[a])
    while target[b] != b:
        b = int(target[b])
    target[max(a, b)] = min(a, b)


def _find_all(target: NDArray[np.intp], labels: NDArray[np.intp]) -> NDArray[np.intp]:
    return _resolved(target)[labels]


def _resolved(target: NDArray[np.intp]) -> NDArray[np.intp]:
    """Follow every chain of joins to its end."""
    while True:
        further = target[target]
        if (further == target).all():
            return target
        target = further
