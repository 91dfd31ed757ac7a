"""Lay by letting pieces overlap and pulling them apart: guided local search on cells.

All pieces lie somewhere on the cloth from the start. The one that overlaps goes where the weighted sum of its overlaps
is least, anywhere on any scrap and at any turn that is allowed; pairs that stay entangled weigh more from sweep to
sweep, until somebody gives way (after Egeblad, Nielsen & Odgaard, Eur. J. Oper. Res. 2007, with the penetration depth
of each pair looked up in its barrier).
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np

from mockup.lay.greedy import Copy, Spot, Spots, overlap
from mockup.lay.raster import Barrier, Raster, Singles
from swatches.job import Job, check

_NEVER = np.float32(1e9)
_GROW = 0.6  # how fast the weight of an entangled pair grows, a sweep
_STALE = 60  # sweeps without a better state before the lay is shaken


class Untangler:
    """The state of one search on one raster.

    Args:
        raster: pieces and scraps.
        wanted: the copies to lay; each must fit on some scrap alone.
        random: source of the random choices.
    """

    def __init__(self, raster: Raster, wanted: Sequence[Copy], random: np.random.Generator) -> None:
        self._raster, self._wanted, self._random = raster, wanted, random
        self._weights = np.ones((len(wanted), len(wanted)), dtype=np.float32)
        self._base: dict[tuple[int, int], tuple[Singles, int, int]] = {}
        self.spots: dict[int, Spot] = {}
        self.best: dict[int, Spot] = {}
        self.best_overlap = np.inf

    def start(self, spots: Spots) -> None:
        """Begin from a partial lay; what is left out goes to where it overlaps least."""
        self.spots = dict(spots)
        self._weights[:] = 1.0
        for index in range(len(self._wanted)):
            if index not in self.spots:
                self.spots[index] = self._least(index)
        self.best, self.best_overlap = dict(self.spots), self._total()

    def run(self, until: float, job: Job) -> bool:
        """Sweep until nothing overlaps (True) or the clock (``time.monotonic``) reaches ``until`` (False)."""
        stale = 0
        while time.monotonic() < until:
            check(job)
            depths = self._depths()
            total = float(depths.sum()) / 2
            if total < self.best_overlap - 1e-6:
                self.best, self.best_overlap, stale = dict(self.spots), total, 0
            if total == 0:
                return True
            stale += 1
            if stale > _STALE:
                self._shake()
                stale = 0
                continue
            self._weights *= 1 + _GROW * depths / depths.max()
            self._weights /= self._weights.mean()
            tangled = np.flatnonzero(depths.any(axis=1))
            for index in self._random.permutation(tangled):
                if self._overlaps(int(index)).any():
                    self.spots[int(index)] = self._least(int(index))
                if time.monotonic() >= until:
                    break
        return False

    def _least(self, index: int) -> Spot:
        """The spot where a copy's weighted overlap is least."""
        copy = self._wanted[index]
        best_cost, best = np.inf, None
        for scrap in range(len(self._raster.scraps)):
            for stance in self._raster.of.get((scrap, copy.piece, copy.mirrored), ()):
                base, row0, column0 = self._room(scrap, stance)
                if not base.size:
                    continue
                cost = base.copy()
                for other, spot in self.spots.items():
                    if other == index or spot.scrap != scrap:
                        continue
                    barrier = self._raster.barrier(spot.stance, stance)
                    mine, theirs = overlap(
                        cost.shape,
                        barrier.depth.shape,
                        spot.row + barrier.row - row0,
                        spot.column + barrier.column - column0,
                    )
                    if mine and theirs:
                        cost[mine] += self._weights[index, other] * barrier.depth[theirs]
                at = int(np.argmin(cost))
                row, column = divmod(at, cost.shape[1])
                if cost[row, column] < best_cost:
                    best_cost = float(cost[row, column])
                    best = Spot(scrap, stance, row + row0, column + column0)
        assert best is not None  # noqa: S101 - every copy fits alone, the caller saw to it
        return best

    def _room(self, scrap: int, stance: int) -> tuple[Singles, int, int]:
        """Where the stance fits on the empty scrap: 0 there, else a cost that nothing outweighs, cropped to the box."""
        key = (scrap, stance)
        if key not in self._base:
            fits = self._raster.fits(scrap, stance)
            rows, columns = np.flatnonzero(fits.any(axis=1)), np.flatnonzero(fits.any(axis=0))
            if not len(rows):
                self._base[key] = np.empty((0, 0), dtype=np.float32), 0, 0
            else:
                part = fits[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
                base = np.where(part, np.float32(0), _NEVER).astype(np.float32)
                self._base[key] = base, int(rows[0]), int(columns[0])
        return self._base[key]

    def _overlaps(self, index: int) -> Singles:
        spot = self.spots[index]
        out = np.zeros(len(self._wanted), dtype=np.float32)
        for other, there in self.spots.items():
            if other != index and there.scrap == spot.scrap:
                out[other] = depth_between(self._raster.barrier(there.stance, spot.stance), there, spot)
        return out

    def _depths(self) -> Singles:
        out = np.zeros_like(self._weights)
        for index in self.spots:
            spot = self.spots[index]
            for other in range(index):
                there = self.spots[other]
                if there.scrap == spot.scrap:
                    depth = depth_between(self._raster.barrier(there.stance, spot.stance), there, spot)
                    out[index, other] = out[other, index] = depth
        return out

    def _total(self) -> float:
        return float(self._depths().sum()) / 2

    def _shake(self) -> None:
        """Exchange the places of some pieces at random and forget the weights."""
        self._weights[:] = 1.0
        n = len(self._wanted)
        for index in self._random.choice(n, size=min(n, max(2, n // 4)), replace=False):
            copy = self._wanted[int(index)]
            keys = [
                (s, k)
                for s in range(len(self._raster.scraps))
                for k in self._raster.of.get((s, copy.piece, copy.mirrored), ())
                if self._room(s, k)[0].size
            ]
            scrap, stance = keys[int(self._random.integers(len(keys)))]
            base, row0, column0 = self._room(scrap, stance)
            rows, columns = np.nonzero(base == 0)
            at = int(self._random.integers(len(rows)))
            self.spots[int(index)] = Spot(scrap, stance, int(rows[at]) + row0, int(columns[at]) + column0)


def depth_between(barrier: Barrier, lies: Spot, comes: Spot) -> float:
    """How far two spots on one scrap overlap, in cells; 0 when they keep apart."""
    row, column = comes.row - lies.row - barrier.row, comes.column - lies.column - barrier.column
    if 0 <= row < barrier.depth.shape[0] and 0 <= column < barrier.depth.shape[1]:
        return float(barrier.depth[row, column])
    return 0.0
