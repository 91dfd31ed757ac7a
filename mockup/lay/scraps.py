"""Lay pieces on scraps with holes, grain and nap: yes with the lay, no with the proof, or not found.

First the proofs that it cannot be (:mod:`mockup.lay.proofs`), then the search: greedy lays in many orders, then pieces
that overlap are pulled apart (:mod:`mockup.lay.untangle`), on finer and finer cells. The cells err on the safe side,
and every answer is checked again, exactly, on the full outlines.

Where prints are matched, every start of the search gives each group of pieces another place in the repeat, at random;
such a lay is never settled, which would move the prints apart.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.lay.exact import faults
from mockup.lay.greedy import Copy, Spots, by_size, density_of, lay_in_order, needed, placed, shuffled
from mockup.lay.lay import Answer, Lay, LayPiece, Placement, Scrap, all_lie, free_area, laid, missing
from mockup.lay.matching import any_matched, checked_prints, turned_back, upright
from mockup.lay.proofs import fits_nowhere, too_little
from mockup.lay.raster import Raster
from mockup.lay.settle import settle
from mockup.lay.untangle import Untangler
from mockup.lay.valid import checked, checked_distances
from swatches.errors import InputError
from swatches.job import QUIET, Job, Part, check

_ROUNDS = ((25_000, 1.0, 0.12), (60_000, 0.0, 0.4), (90_000, 1.0, 0.65), (160_000, 0.0, 1.0))
"""Rounds of the search: cells of all scraps' boxes together, the raster's slack, and the share of the time at the end.

Without slack a lay is nearly good and has to be settled; with it, it is good as it is."""
_FINE = 200_000  # cells, to measure what is missing
_NEARLY = 1.0  # overlap a piece, in cells, from which settling is tried
_GREEDY = 0.25  # of each round's time
_RESTART = 0.34  # of a round's time: how long one start is untangled


def lay_on_scraps(
    pieces: Sequence[LayPiece],
    scraps: Sequence[Scrap],
    *,
    clearance_mm: float = 0.0,
    border_mm: float = 0.0,
    time_s: float = 10.0,
    seed: int = 0,
    measure: bool = True,
    job: Job = QUIET,
) -> Lay:
    """Find a lay of all pieces on the scraps.

    Args:
        pieces: what to lay; each on any scrap.
        scraps: each in a frame of its own, so outlines may lie over one another in the file.
        clearance_mm: least distance between pieces.
        border_mm: least distance to the scraps' edges and holes.
        time_s: time for the search, seconds.
        seed: of the random choices. A found lay is the same for the same seed unless the clock decides between rounds.
        measure: whether ``short_mm`` is worked out where no lay is found, which takes a second or so.
        job: progress and cancellation.

    Returns:
        Yes with the lay; no with the proof; or not found, with the best partial lay and ``short_mm``: by how much the
        outlines of the pieces left out would have to move inward for each to fit, alone, on what is left.

    Raises:
        InputError: a piece or scrap that cannot be used, or distances that make no sense.
        Cancelled: the job was cancelled.
    """
    checked(pieces, scraps)
    checked_distances(pieces, clearance_mm, border_mm)
    if not scraps:
        raise InputError("scraps", expected="at least one scrap", got="none", next_step="Add a scrap, or give a width")
    checked_prints(pieces, scraps)
    straight = tuple(upright(scrap) for scrap in scraps) if any_matched(pieces, scraps) else tuple(scraps)
    lay = _laid(pieces, straight, clearance_mm, border_mm, time_s, seed, measure, job)
    degrees = {a.name: a.grain_deg - b.grain_deg for a, b in zip(scraps, straight, strict=True)}
    return replace(lay, placements=tuple(turned_back(p, degrees[p.remnant]) for p in lay.placements))


def _laid(
    pieces: Sequence[LayPiece],
    scraps: Sequence[Scrap],
    clearance_mm: float,
    border_mm: float,
    time_s: float,
    seed: int,
    measure: bool,
    job: Job,
) -> Lay:
    job.step("Looking whether each piece fits", 0.0)
    proof, may = fits_nowhere(pieces, scraps, border_mm=border_mm)
    proof = proof or too_little(pieces, scraps, may, clearance_mm=clearance_mm, border_mm=border_mm)
    if proof:
        return Lay(Answer.NO, proof)
    search = _Search(pieces, scraps, clearance_mm, border_mm, seed, job)
    placements = search.run(time_s)
    cloth = sum(free_area(s).area for s in scraps)
    if placements is not None:
        lay = Lay(
            Answer.YES,
            f"{all_lie(len(placements))} inside, on the grain and apart, checked exactly.",
            placements,
        )
        return replace(lay, density=density_of(pieces, lay, cloth))
    left = missing(pieces, search.partial)
    lay = Lay(
        Answer.NOT_FOUND,
        f"No lay was found in {time_s:g} s, and no proof that there is none; {len(search.partial)} of"
        f" {len(search.wanted)} pieces are laid, left out: {', '.join(left[:6])}{'…' if len(left) > 6 else ''}.",
        search.partial,
        short_mm=search.short_mm() if measure else None,
    )
    return replace(lay, density=density_of(pieces, lay, cloth))


class _Search:
    """One search; ``partial`` is the best lay so far, by area."""

    def __init__(
        self,
        pieces: Sequence[LayPiece],
        scraps: Sequence[Scrap],
        clearance_mm: float,
        border_mm: float,
        seed: int,
        job: Job,
    ) -> None:
        self.pieces, self.scraps, self.job = tuple(pieces), tuple(scraps), job
        self.clearance, self.border = clearance_mm, border_mm
        self.wanted = needed(pieces)
        self.partial: tuple[Placement, ...] = ()
        self._random = np.random.default_rng(seed)
        self._area = [Polygon(p.outline).area for p in pieces]
        self._most = -1.0
        self._groups = sorted({p.match.group for p in pieces if p.match}) if any_matched(pieces, scraps) else []
        self._boxes = float(sum(np.prod(np.ptp(np.asarray(s.outline), axis=0)) for s in scraps))

    def run(self, time_s: float) -> tuple[Placement, ...] | None:
        """Search until all pieces lie, or the time is over."""
        begin = time.monotonic()
        for cells, slack, share in _ROUNDS:
            start, end = time.monotonic(), begin + share * time_s
            slack = 1.0 if self._groups else slack
            raster = self.raster(cells, slack)
            job = Part(self.job, (start - begin) / max(time_s, 1e-9), share)
            if self._all_fit(raster):
                found = self._round(raster, start, end, job)
            else:  # some piece just fits, or just does not: no place for it on the safe side
                found = self._greedy(raster, self.wanted, start, start + _GREEDY * (end - start), end)[1]
            if found is not None:
                return found
        return None

    def raster(self, cells: int, slack: float) -> Raster:
        """Cells of the scraps at about ``cells`` in all."""
        cell = float(np.sqrt(self._boxes / cells))
        phases = self._phases() if self._groups else None
        return Raster(self.pieces, self.scraps, cell, self.clearance, self.border, slack, phases)

    def _phases(self) -> dict[str, tuple[float, float]]:
        """A place in the repeat for every group, at random."""
        wide, high = np.max([s.repeat_mm for s in self.scraps if s.repeat_mm], axis=0)
        return {g: (self._random.uniform(0, 1) * wide, self._random.uniform(0, 1) * high) for g in self._groups}

    def _rephase(self, raster: Raster) -> bool:
        """Give the groups other places; False where some piece then fits nowhere. True where nothing is matched."""
        if not self._groups:
            return True
        raster.rephase(self._phases())
        return self._all_fit(raster)

    def short_mm(self) -> float | None:
        """By how much the outlines of the pieces left out must move inward, so that each fits on what is left."""
        left = set(missing(self.pieces, self.partial))
        shorts = [self._short(p) for p in self.pieces if p.name in left]
        return max((s for s in shorts if s is not None), default=None)

    def _round(self, raster: Raster, start: float, end: float, job: Job) -> tuple[Placement, ...] | None:
        until = start + _GREEDY * (end - start)
        spots, done = self._greedy(raster, self.wanted, start, until, end)
        if done is not None:
            return done
        untangler = Untangler(raster, self.wanted, self._random)
        slot = _RESTART * (end - start)
        while time.monotonic() < end:
            check(self.job)
            self._tell(start, end)
            if self._groups:
                if not self._rephase(raster):
                    continue
                spots = lay_in_order(raster, self.wanted, by_size(self.pieces, self.wanted), np.pi / 2)
                self._keep(raster, spots)
                untangler = Untangler(raster, self.wanted, self._random)
            untangler.start(spots)
            untangler.run(min(end, time.monotonic() + slot), self.job)
            if untangler.best_overlap <= _NEARLY * len(self.wanted):
                placements = self._exact(raster, untangler.best)
                if placements is not None:
                    return placements
            order = shuffled(by_size(self.pieces, self.wanted), self._random, 0.5)
            spots = lay_in_order(raster, self.wanted, order, float(self._random.uniform(0, 2 * np.pi)))
            self._keep(raster, spots)
        return None

    def _greedy(
        self, raster: Raster, wanted: Sequence[Copy], start: float, until: float, end: float
    ) -> tuple[Spots, tuple[Placement, ...] | None]:
        best: Spots = {}
        most = -1.0
        possible = sum(self._fits(raster, copy) for copy in wanted)
        order = by_size(self.pieces, wanted)
        attempt = 0
        while attempt == 0 or time.monotonic() < until:
            check(self.job)
            if attempt % 8 == 0:
                self._tell(start, end)
            self._rephase(raster)
            direction = (attempt % 8) * np.pi / 4 if attempt < 8 else float(self._random.uniform(0, 2 * np.pi))
            spots = lay_in_order(
                raster, wanted, order if attempt < 8 else shuffled(order, self._random, 0.5), direction
            )
            area = self._keep(raster, spots)
            if area > most:
                best, most = spots, area
            if len(spots) == len(wanted):
                placements = self._exact(raster, spots)
                if placements is not None:
                    return spots, placements
            elif len(spots) == possible and not self._groups:
                break  # the others fit nowhere on these cells: no order lays more
            attempt += 1
        return best, None

    def _keep(self, raster: Raster, spots: Spots) -> float:
        area = float(sum(self._area[self.wanted[i].piece] for i in spots))
        if area > self._most + 1e-6:
            placements = placed(raster, spots)
            if not self._faults(placements):
                self.partial, self._most = placements, area
        return area

    def _exact(self, raster: Raster, spots: Spots) -> tuple[Placement, ...] | None:
        """Give the placements if they are all there and pass the exact check, settled if need be."""
        placements = placed(raster, spots)
        if missing(self.pieces, placements):
            return None
        if not self._faults(placements):
            return placements
        if self._groups:
            return None
        return settle(
            self.pieces,
            self.scraps,
            placements,
            clearance_mm=self.clearance,
            border_mm=self.border,
            job=self.job,
        )

    def _faults(self, placements: Sequence[Placement]) -> list[str]:
        return faults(
            {p.name: p for p in self.pieces},
            {s.name: s for s in self.scraps},
            placements,
            clearance_mm=self.clearance,
            border_mm=self.border,
        )

    def _all_fit(self, raster: Raster) -> bool:
        return all(self._fits(raster, copy) for copy in set(self.wanted))

    def _fits(self, raster: Raster, copy: Copy) -> bool:
        return any(
            raster.fits(s, k).any()
            for s in range(len(self.scraps))
            for k in raster.of.get((s, copy.piece, copy.mirrored), ())
        )

    def _tell(self, start: float, end: float) -> None:
        share = min((time.monotonic() - start) / max(end - start, 1e-9), 1.0)
        self.job.step(f"Laying {len(self.wanted)} pieces on {len(self.scraps)} scraps", share)

    def _short(self, piece: LayPiece) -> float | None:
        """Bisect the inset at which the piece finds a place among what lies; mm, rounded up to 0.1."""
        rooms = self._left_over()
        low, high = 0.0, float(np.ptp(np.asarray(piece.outline), axis=0).min()) / 2
        if not rooms or not _fits_at(piece, rooms, 0.98 * high):
            return None
        for _ in range(9):
            middle = (low + high) / 2
            low, high = (low, middle) if _fits_at(piece, rooms, middle) else (middle, high)
        return float(np.ceil(high * 10) / 10)

    def _left_over(self) -> list[Scrap]:
        """What the partial lay leaves, each connected part a scrap; border and clearance are off already."""
        by_name = {p.name: p for p in self.pieces}
        rooms = []
        for scrap in self.scraps:
            lying = [laid(by_name[p.piece], p).buffer(self.clearance) for p in self.partial if p.remnant == scrap.name]
            free = free_area(scrap, border_mm=self.border).difference(shapely.union_all(lying))
            for number, part in enumerate(g for g in getattr(free, "geoms", [free]) if g.area > 1.0):
                holes = tuple(tuple(ring.coords[:-1]) for ring in part.interiors)
                name = f"{scrap.name}, part {number}"
                rooms.append(Scrap(name, tuple(part.exterior.coords[:-1]), holes, scrap.grain_deg, scrap.nap))
        return rooms


def _fits_at(piece: LayPiece, rooms: Sequence[Scrap], inset: float) -> bool:
    """Whether the piece, its outline moved inward, fits into one of the rooms."""
    body = Polygon(piece.outline).buffer(-inset, join_style="mitre")
    if body.is_empty:
        return True
    body = max(getattr(body, "geoms", [body]), key=lambda g: g.area)
    smaller = replace(piece, outline=tuple(body.exterior.coords[:-1]))
    box = float(sum(np.prod(np.ptp(np.asarray(r.outline), axis=0)) for r in rooms))
    raster = Raster([smaller], rooms, float(np.sqrt(box / _FINE)))
    return any(raster.fits(s, k).any() for (s, _, _), ks in raster.of.items() for k in ks)
