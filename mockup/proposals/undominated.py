"""Which of many are good in different ways: none of them is at least as good in every figure and better in one."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.int32]
Ranks = NDArray[Any]  # int16 where that is wide enough, for speed
_BLOCK = 512
_NEAR = 0.2  # two choices nearer than this look much the same (our own choice)
_EQUAL = 1e-12
_MUST, _MAY = 0, 1
_FIRST = 64  # the all-rounders beat most of the others, so those are asked first


def undominated(codes: Codes) -> NDArray[np.bool_]:
    """Find what nothing else beats (the Pareto set), exactly.

    A beats B when it is nowhere less and somewhere more. Equals do not beat each other, so all of them stay.

    Args:
        codes: shape (n, d), more is better in every column.

    Returns:
        Shape (n,), True for those that stay.

    Complexity: n log n, and n times the size of the set; the latter in blocks, column by column.
    """
    if len(codes) == 0:
        return np.zeros(0, dtype=bool)
    unique, back = np.unique(codes, axis=0, return_inverse=True)
    ranks = np.stack([np.unique(column, return_inverse=True)[1] for column in unique.T])
    # whoever beats another has the larger sum of ranks, so it comes first and is never turned out later
    order = np.argsort(-ranks.sum(axis=0), kind="stable")
    sorted_ranks: Ranks = np.ascontiguousarray(ranks[:, order], dtype=np.int16 if ranks.max() < 2**15 else np.int32)
    kept = np.zeros(len(order), dtype=bool)
    front = sorted_ranks[:, :0]
    for start in range(0, len(order), _BLOCK):
        block = sorted_ranks[:, start : start + _BLOCK]
        open_ = np.flatnonzero(~_beaten(block, front[:, :_FIRST]))
        open_ = open_[~_beaten(block[:, open_], front[:, _FIRST:])]
        among = block[:, open_]
        open_ = open_[~_beaten(among, among)]
        kept[start + open_] = True
        front = np.concatenate([front, block[:, open_]], axis=1)
    stays = np.empty(len(order), dtype=bool)
    stays[order] = kept
    return np.asarray(stays[back.reshape(-1)])


def _beaten(candidates: Ranks, front: Ranks) -> NDArray[np.bool_]:
    """Which candidates (d, m) any member of the front (d, n) beats; no candidate may equal a member."""
    at_least = np.ones((front.shape[1], candidates.shape[1]), dtype=bool)
    for mine, theirs in zip(front, candidates, strict=True):
        at_least &= mine[:, None] >= theirs[None, :]
    if front is candidates:
        np.fill_diagonal(at_least, False)
    return np.asarray(at_least.any(axis=0))


def diverse(codes: Codes, kinds: NDArray[np.integer[Any]], other: NDArray[np.float64], most: int) -> list[int]:
    """Pick a few that differ.

    First the best in each figure, of all and of each kind; a best of its kind is passed over when it is much like one
    that was picked. Then always the one farthest from those picked.

    Args:
        codes: shape (n, d), more is better.
        kinds: shape (n,), a small number: what is only compared among itself.
        other: shape (n, m): what else should differ, scaled so that a distance of 1 (sum of differences) is large.
        most: how many at most.

    Returns:
        Indices in the order in which they were picked; the same for the same input.
    """
    if len(codes) == 0 or most < 1:
        return []
    share = shares(codes, kinds)
    weakest_first = np.sort(share, axis=1).T[::-1]
    steps = []
    for k, kind in enumerate(np.unique(kinds)):
        mine = np.flatnonzero(kinds == kind)
        for column in np.flatnonzero(np.ptp(codes[mine], axis=0) > 0):
            # among equals in this figure the one whose weakest other figure is strongest
            keys = (*(row[mine] for row in weakest_first), codes[mine, column])
            index = int(mine[np.lexsort(keys)[-1]])
            must = _MUST if codes[index, column] == codes[:, column].max() else _MAY
            steps.append((int(column) + k, k, must, index))
    place = np.concatenate([share / codes.shape[1], other], axis=1)
    nearest = np.full(len(codes), np.inf)
    picked: list[int] = []

    def take(index: int) -> None:
        picked.append(index)
        nearest[:] = np.minimum(nearest, np.abs(place - place[index]).sum(axis=1))

    for _, _, must, index in sorted(steps):
        if len(picked) < most and nearest[index] > (0.0 if must == _MUST else _NEAR):
            take(index)
    while len(picked) < min(most, len(codes)) and nearest.max() > _EQUAL:
        take(int(np.argmax(nearest)))
    return picked


def shares(codes: Codes, kinds: NDArray[np.integer[Any]]) -> NDArray[np.float64]:
    """Where each figure lies between the worst (0) and the best (1) of its kind; 1 where all are equal."""
    found = np.ones(codes.shape)
    for kind in np.unique(kinds):
        mine = codes[kinds == kind]
        span = np.ptp(mine, axis=0)
        mine_share = np.divide(mine - mine.min(axis=0), span, out=np.ones(mine.shape), where=span > 0)
        found[kinds == kind] = mine_share
    return found
