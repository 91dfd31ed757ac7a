"""Lay on a width without the solver: greedily, on cells, the same every time; on folded cloth, and with matched prints.

The cloth's length runs along +y and its width along x, from 0 to the width; of folded cloth, from the fold at 0 to half
the width.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from mockup.lay.exact import faults
from mockup.lay.greedy import Copy, Spots, by_size, density_of, lay_in_order, needed, placed, shuffled
from mockup.lay.lay import (
    Answer,
    Lay,
    LayPiece,
    Placement,
    Scrap,
    all_lie,
    allowed_turns,
    angle_of,
    laid,
    missing,
    points_placed,
)
from mockup.lay.raster import Raster
from mockup.lay.untangle import Untangler
from swatches.job import QUIET, Job, check

CLOTH = "cloth"
"""Name of the cloth in placements on a width."""

_CELLS = 160_000
_SHORTER = 0.985  # how much shorter the cloth is made before pieces that then overlap are pulled apart
_GREEDY = 0.5  # of the time
_SLOT_S = 4.0  # how long one start is untangled


def cloth_of(
    width_mm: float,
    length_mm: float,
    *,
    nap: bool = False,
    repeat_mm: tuple[float, float] | None = None,
    folded: bool = False,
    name: str = CLOTH,
) -> Scrap:
    """Give the cloth of a width as a scrap: its lower left corner at (0, 0), its length upward."""
    corners = ((0.0, 0.0), (width_mm, 0.0), (width_mm, length_mm), (0.0, length_mm))
    return Scrap(name, corners, nap=nap, repeat_mm=repeat_mm, folded=folded)


def simple_lay(
    pieces: Sequence[LayPiece],
    width_mm: float,
    *,
    clearance_mm: float = 0.0,
    border_mm: float = 0.0,
    nap: bool = False,
    repeat_mm: tuple[float, float] | None = None,
    folded: bool = False,
    seed: int = 0,
    tries: int = 24,
    time_s: float = 0.0,
    job: Job = QUIET,
) -> Lay | None:
    """Give the shortest greedy lay found, on cells; the same every time unless more time is given. None: there is none.

    Args:
        pieces: what to lay.
        width_mm: usable width; of folded cloth, from the fold to the selvedge.
        clearance_mm: least distance between pieces.
        border_mm: least distance to the selvedges and both ends.
        nap: whether all pieces must point one way.
        repeat_mm: repeat of a stripe or check, across and along; pieces with a match then meet in it.
        folded: whether the cloth lies double, the fold at x = 0.
        seed: of the random choices.
        tries: how many lays are made.
        time_s: keep trying, and shorten what was found, for so long.
        job: progress and cancellation.
    """
    search = _Search(pieces, width_mm, clearance_mm, border_mm, nap, repeat_mm, folded, seed, job)
    begin = time.monotonic()
    search.greedy(tries, begin + _GREEDY * time_s)
    search.shorten(begin + time_s)
    return search.best


def verified(
    pieces: Sequence[LayPiece],
    placements: tuple[Placement, ...],
    width_mm: float,
    clearance_mm: float,
    border_mm: float,
    nap: bool,
    *,
    repeat_mm: tuple[float, float] | None = None,
    folded: bool = False,
) -> Lay | None:
    """Give the lay if the exact check finds no fault; moved so that it starts at the border."""
    by_name = {p.name: p for p in pieces}
    bottom = min(laid(by_name[p.piece], p).bounds[1] for p in placements)
    placements = tuple(replace(p, y=p.y - bottom + border_mm) for p in placements)
    length = length_of(pieces, placements, border_mm)
    cloth = cloth_of(width_mm, length, nap=nap, repeat_mm=repeat_mm, folded=folded)
    if missing(pieces, placements) or faults(
        by_name, {CLOTH: cloth}, placements, clearance_mm=clearance_mm, border_mm=border_mm
    ):
        return None
    kept = ", apart and matched" if repeat_mm is not None and any(p.match for p in pieces) else " and apart"
    lay = Lay(
        Answer.YES,
        f"{all_lie(len(placements))} inside, on the grain{kept}, checked exactly.",
        placements,
        length_mm=length,
    )
    return replace(lay, density=density_of(pieces, lay, width_mm * length))


def length_of(pieces: Sequence[LayPiece], placements: Sequence[Placement], border_mm: float) -> float:
    """Length of cloth that placements take, with the border at both ends, mm."""
    by_name = {p.name: p for p in pieces}
    boxes = [laid(by_name[p.piece], p).bounds for p in placements]
    return float(max(b[3] for b in boxes) - min(b[1] for b in boxes) + 2 * border_mm)


class _Search:
    """Greedy lays, the shortest kept; ``best`` is None as long as there is none."""

    def __init__(
        self,
        pieces: Sequence[LayPiece],
        width_mm: float,
        clearance_mm: float,
        border_mm: float,
        nap: bool,
        repeat_mm: tuple[float, float] | None,
        folded: bool,
        seed: int,
        job: Job,
    ) -> None:
        self.pieces, self.width, self.clearance, self.border = tuple(pieces), width_mm, clearance_mm, border_mm
        self.nap, self.folded, self.job = nap, folded, job
        matched = repeat_mm is not None and max(repeat_mm) > 0 and any(p.match for p in pieces)
        self.repeat = repeat_mm if matched else None
        self.wanted = needed(pieces)
        self.best: Lay | None = None
        self._random = np.random.default_rng(seed)
        self._groups = sorted({p.match.group for p in pieces if p.match}) if matched else []

    def greedy(self, tries: int, until: float) -> None:
        """Lay in many orders; the first is by size."""
        if not self.folded and self.repeat is None:
            rows = _in_rows(self.pieces, self.width, self.clearance, self.border, self.nap)
            if rows is not None:
                self._take(rows)
        raster = self._raster(min(self._ample(), self._shortest()))
        order = by_size(self.pieces, self.wanted)
        attempt = 0
        while attempt < tries or time.monotonic() < until:
            check(self.job)
            self.job.step(f"Laying {len(self.wanted)} pieces", min(attempt / tries, 0.99))
            if self.repeat is not None:
                raster.rephase(self._phases())
            spots = lay_in_order(
                raster, self.wanted, order if attempt == 0 else shuffled(order, self._random, 0.4), np.pi / 2
            )
            if len(spots) == len(self.wanted):
                self._take(placed(raster, spots))
            attempt += 1

    def shorten(self, until: float) -> None:
        """Make the cloth shorter and pull apart what then overlaps, while there is time."""
        while self.best is not None and time.monotonic() < until:
            check(self.job)
            length = _SHORTER * self._shortest()
            raster = self._raster(length)
            if self.repeat is not None:
                raster.rephase(self._phases())
            if not all(self._fits(raster, copy) for copy in set(self.wanted)):
                return
            self.job.step(f"Laying {len(self.wanted)} pieces, {self._shortest():.0f} mm so far", None)
            untangler = Untangler(raster, self.wanted, self._random)
            order = shuffled(by_size(self.pieces, self.wanted), self._random, 0.4)
            spots: Spots = lay_in_order(raster, self.wanted, order, np.pi / 2)
            untangler.start(spots)
            if untangler.run(min(until, time.monotonic() + _SLOT_S), self.job):
                self._take(placed(raster, untangler.spots))

    def _take(self, placements: tuple[Placement, ...]) -> None:
        if length_of(self.pieces, placements, self.border) >= self._shortest():
            return
        lay = verified(
            self.pieces,
            placements,
            self.width,
            self.clearance,
            self.border,
            self.nap,
            repeat_mm=self.repeat,
            folded=self.folded,
        )
        self.best = lay or self.best

    def _shortest(self) -> float:
        return float("inf") if self.best is None or self.best.length_mm is None else self.best.length_mm

    def _ample(self) -> float:
        """A length on which any greedy lay finds room."""
        area = sum(Polygon(p.outline).area * p.count for p in self.pieces)
        longest = max(_height(p) for p in self.pieces)
        stacked = sum(_height(p) * p.count for p in self.pieces if p.fold is not None)
        apart = len(self.wanted) * (self.repeat[1] if self.repeat is not None else 0.0)
        return float(2.0 * area / self.width + 2 * longest + 2 * self.border + stacked + apart)

    def _raster(self, length: float) -> Raster:
        cell = max(1e-3 * self.width, float(np.sqrt(self.width * length / _CELLS)))
        cloth = cloth_of(self.width, length, nap=self.nap, repeat_mm=self.repeat, folded=self.folded)
        phases = None if self.repeat is None else self._phases()
        return Raster(self.pieces, [cloth], cell, self.clearance, self.border, phases=phases)

    def _phases(self) -> dict[str, tuple[float, float]]:
        wide, high = self.repeat or (0.0, 0.0)
        return {g: (self._random.uniform(0, 1) * wide, self._random.uniform(0, 1) * high) for g in self._groups}

    @staticmethod
    def _fits(raster: Raster, copy: Copy) -> bool:
        return any(raster.fits(0, k).any() for k in raster.of.get((0, copy.piece, copy.mirrored), ()))


def _in_rows(
    pieces: Sequence[LayPiece], width_mm: float, clearance_mm: float, border_mm: float, nap: bool
) -> tuple[Placement, ...] | None:
    """Lay the pieces' boxes in rows, the longest first; exact, so that what just fits the width finds a place."""
    boxes = []
    for copy in needed(pieces):
        piece = pieces[copy.piece]
        angle = angle_of(piece, 0.0, allowed_turns(piece, nap=nap)[0], mirrored=copy.mirrored)
        p = points_placed(piece.outline, mirrored=copy.mirrored, angle=angle, x=0.0, y=0.0)
        boxes.append((piece.name, copy.mirrored, angle, p.min(axis=0), np.ptp(p, axis=0)))
    x, y, row = border_mm, border_mm, 0.0
    placements = []
    for name, mirrored, angle, corner, size in sorted(boxes, key=lambda b: -b[4][1]):
        if x > border_mm and x + size[0] > width_mm - border_mm:
            x, y, row = border_mm, y + row + clearance_mm, 0.0
        if x + size[0] > width_mm - border_mm + 1e-9:
            return None  # only at another of its turns
        placements.append(Placement(name, CLOTH, mirrored, angle, float(x - corner[0]), float(y - corner[1])))
        x, row = x + size[0] + clearance_mm, max(row, size[1])
    return tuple(placements)


def _height(piece: LayPiece) -> float:
    p = points_placed(piece.outline, mirrored=False, angle=angle_of(piece, 0.0, 0.0, mirrored=False), x=0.0, y=0.0)
    return float(np.ptp(p, axis=0).max())
