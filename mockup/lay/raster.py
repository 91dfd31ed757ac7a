"""Pieces and scraps as cells, so that 'where may this piece lie?' is answered for all places at once.

The raster errs on the safe side. A *body* holds every cell whose centre is within r/√2 of the piece (r: side of a
cell), so every point of the piece is within r/√2 of a centre in it; a *halo* does the same for the piece grown by the
clearance and another r/√2; a cell of a scrap is *free* when its centre lies deeper than border + r/√2 inside. Bodies on
free cells and off all halos therefore keep border and clearance exactly. ``slack`` scales r/√2: with −1 the
question is the opposite one, what is refused then fits in no way at all; with 0 a lay is nearly good.

Positions are pairs (row, column): the lower left corner of the placed piece's box lies ``row`` and ``column`` cells
above and right of the lower left corner of the scrap's cells.

A piece on the fold may only lie in the one column where its fold edge is the cloth's fold; the cells of a folded cloth
begin a little beyond the fold, so that the safe side does not forbid that. A piece whose print is matched may lie
where its point is within half a cell of the place in the repeat that its group has been given, and is then moved there
exactly; its body is grown by as much.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import fft
from shapely.geometry import Polygon

from mockup.lay.lay import LayPiece, Placement, Scrap, angle_of, free_area, points_placed, turns_on

Bools = NDArray[np.bool_]
Singles = NDArray[np.float32]
Floats = NDArray[np.float64]

_HALF = 0.7072  # half a cell's diagonal in sides, rounded up


@dataclass(frozen=True, slots=True, eq=False)
class Stance:
    """One piece, mirrored or not, at one angle, as cells.

    Attributes:
        piece: index of the piece.
        mirrored: whether it is mirrored.
        angle: angle of the placement, degrees.
        corner: lower left corner of the turned piece's box, mm: subtract it to bring the corner to (0, 0).
        size: height and width of that box in cells, not rounded.
        body: cells of the piece, row 0 at ``-pad`` cells.
        pad: cells that the body reaches below and left of the corner.
        halo: cells within the clearance, row 0 at ``-halo_pad`` cells.
        halo_pad: the same for the halo.
    """

    piece: int
    mirrored: bool
    angle: float
    corner: tuple[float, float]
    size: tuple[float, float]
    body: Bools
    pad: int
    halo: Bools
    halo_pad: int


@dataclass(frozen=True, slots=True, eq=False)
class Barrier:
    """Where a stance must not lie, seen from another that lies already: cells of (row, column) differences.

    Attributes:
        depth: 0 where they keep apart, else how far, in cells, the one would have to move; float32.
        blocked: where ``depth`` is not 0.
        row: difference of rows that ``depth[0]`` stands for.
        column: difference of columns that ``depth[:, 0]`` stands for.
    """

    depth: Singles
    blocked: Bools
    row: int
    column: int


@dataclass(eq=False)
class Raster:
    """Pieces and scraps at one size of cells; barriers are made when first asked for, and kept.

    Attributes:
        pieces: what is laid.
        scraps: what it is laid on.
        cell_mm: side of a cell.
        clearance_mm: between pieces.
        border_mm: to the scraps' edges.
        slack: 1 for the safe side, −1 for the opposite question, 0 between.
        phases: group → place in the repeat, mm across and along, for prints that are matched; None: they are not. The
            scraps' grain must then be upright.
    """

    pieces: Sequence[LayPiece]
    scraps: Sequence[Scrap]
    cell_mm: float
    clearance_mm: float = 0.0
    border_mm: float = 0.0
    slack: float = 1.0
    phases: Mapping[str, tuple[float, float]] | None = None
    _barriers: dict[tuple[int, int], Barrier] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.stances: list[Stance] = []
        self.of: dict[tuple[int, int, bool], list[int]] = {}
        """(scrap, piece, mirrored) → indices into ``stances``."""
        known: dict[tuple[int, bool, float], int] = {}
        for k, piece in enumerate(self.pieces):
            for s, scrap in enumerate(self.scraps):
                both = piece.mirror or piece.either or piece.fold is not None
                for mirrored in (False, True) if both else (False,):
                    for turn in turns_on(piece, scrap):
                        key = (k, mirrored, round(angle_of(piece, scrap.grain_deg, turn, mirrored=mirrored), 9))
                        if scrap.folded and not _fold_on_the_left(piece, mirrored, key[2]):
                            continue
                        if key not in known:
                            known[key] = len(self.stances)
                            self.stances.append(self._stance(*key))
                        either = piece.either or piece.fold is not None
                        for copy in (False, True) if either and piece.mirror else (False,) if either else (mirrored,):
                            self.of.setdefault((s, k, copy), []).append(known[key])
        self._lead = [self._cells_before_fold(scrap) for scrap in self.scraps]
        self._free = [self._cells_of(scrap, lead) for scrap, lead in zip(self.scraps, self._lead, strict=True)]
        self._fits: dict[tuple[int, int], Bools] = {}
        self._fits_in_phase: dict[tuple[int, int], Bools] = {}

    def fits(self, scrap: int, stance: int) -> Bools:
        """Say for every position on an empty scrap, shape as its cells, whether the stance may lie there."""
        key = (scrap, stance)
        if key not in self._fits:
            free = self._all_free(self._free[scrap], self.stances[stance])
            if self.scraps[scrap].folded:
                fold = np.arange(free.shape[1])
                piece = self.pieces[self.stances[stance].piece]
                free &= fold == self._lead[scrap] if piece.fold is not None else fold >= self._lead[scrap]
            elif self.pieces[self.stances[stance].piece].fold is not None:
                free = np.zeros_like(free)
            self._fits[key] = free
        if self.phases is None or not self._matched(scrap, stance):
            return self._fits[key]
        if key not in self._fits_in_phase:
            rows, columns = self._off_phase(scrap, stance)
            half = self.cell_mm / 2 + 1e-9
            near = (np.abs(rows) <= half)[:, None] & (np.abs(columns) <= half)[None, :]
            self._fits_in_phase[key] = self._fits[key] & near
        return self._fits_in_phase[key]

    def rephase(self, phases: Mapping[str, tuple[float, float]]) -> None:
        """Give the groups other places in the repeat."""
        self.phases = phases
        self._fits_in_phase.clear()

    def barrier(self, lies: int, comes: int) -> Barrier:
        """Give the barrier that the stance ``lies`` is to the stance ``comes``; the same seen from either."""
        key = (lies, comes)
        if key not in self._barriers:
            if lies > comes:
                self._barriers[key] = _turned_round(self.barrier(comes, lies))
            else:
                self._barriers[key] = _barrier(self.stances[lies], self.stances[comes])
        return self._barriers[key]

    def placement(self, scrap: int, stance: int, row: int, column: int) -> Placement:
        """Give a position as a placement in mm."""
        found, cloth = self.stances[stance], self.scraps[scrap]
        x0, y0 = self._corner(scrap)
        x, y = x0 + column * self.cell_mm - found.corner[0], y0 + row * self.cell_mm - found.corner[1]
        if self.phases is not None and self._matched(scrap, stance):
            rows, columns = self._off_phase(scrap, stance)
            x, y = x - columns[column], y - rows[row]
        return Placement(self.pieces[found.piece].name, cloth.name, found.mirrored, found.angle, float(x), float(y))

    def _corner(self, scrap: int) -> tuple[float, float]:
        """Lower left corner of a scrap's cells, mm."""
        x, y = np.min(np.asarray(self.scraps[scrap].outline), axis=0)
        return float(x) - self._lead[scrap] * self.cell_mm, float(y)

    def _matched(self, scrap: int, stance: int) -> bool:
        repeat, match = self.scraps[scrap].repeat_mm, self.pieces[self.stances[stance].piece].match
        return match is not None and repeat is not None and max(repeat) > 0

    def _off_phase(self, scrap: int, stance: int) -> tuple[Floats, Floats]:
        """For every row and column: how far the matched point lies beyond its place in the repeat, mm; 0: no repeat."""
        found, cloth = self.stances[stance], self.scraps[scrap]
        match, repeat = self.pieces[found.piece].match, cloth.repeat_mm
        assert match is not None and repeat is not None and self.phases is not None  # noqa: S101, PT018
        at = points_placed([match.at], mirrored=found.mirrored, angle=found.angle, x=0.0, y=0.0)[0]
        begin, place = cloth.print_at or (0.0, 0.0), self.phases[match.group]
        off = []
        for axis, count in ((1, self._free[scrap].shape[0]), (0, self._free[scrap].shape[1])):
            where = self._corner(scrap)[axis] - found.corner[axis] + np.arange(count) * self.cell_mm + at[axis]
            r = repeat[axis]
            off.append((where - begin[axis] - place[axis] + r / 2) % r - r / 2 if r > 0 else np.zeros(count))
        return off[0], off[1]

    def _cells_before_fold(self, scrap: Scrap) -> int:
        """How many cells a folded cloth gets beyond its fold: more than any body is grown by."""
        if not scrap.folded:
            return 0
        return 3 + int(np.ceil((self.clearance_mm + self.border_mm) / self.cell_mm))

    def _stance(self, k: int, mirrored: bool, angle: float) -> Stance:
        points = points_placed(self.pieces[k].outline, mirrored=mirrored, angle=angle, x=0.0, y=0.0)
        corner = points.min(axis=0)
        shape = Polygon(points - corner)
        height, width = (points.max(axis=0) - corner)[::-1] / self.cell_mm
        half = _HALF * self.cell_mm * self.slack
        if self.phases is not None and self.pieces[k].match is not None:
            half += _HALF * self.cell_mm  # it is moved to its place in the repeat
        body, pad = _cells(shape, half, self.cell_mm)
        halo, halo_pad = _cells(shape, half + self.clearance_mm, self.cell_mm)
        return Stance(
            k,
            mirrored,
            angle,
            (float(corner[0]), float(corner[1])),
            (float(height), float(width)),
            body,
            pad,
            halo,
            halo_pad,
        )

    def _cells_of(self, scrap: Scrap, lead: int) -> Bools:
        area = free_area(scrap)
        x0, y0 = np.min(np.asarray(scrap.outline), axis=0)
        x1, y1 = np.max(np.asarray(scrap.outline), axis=0)
        if lead:
            area = area.union(shapely.box(x0 - 2 * lead * self.cell_mm, y0, x0, y1))
            x0 -= lead * self.cell_mm
        inset = self.border_mm + max(self.slack, 0) * _HALF * self.cell_mm
        area = area.buffer(-inset, quad_segs=16) if inset > 0 else area
        rows, columns = (max(1, int(np.ceil((d) / self.cell_mm))) for d in (y1 - y0, x1 - x0))
        return _centres_in(area, (float(x0), float(y0)), (rows, columns), self.cell_mm)

    def _all_free(self, free: Bools, stance: Stance) -> Bools:
        """Correlate the blocked cells with the body; a position is good where nothing blocked is met."""
        rows, columns = stance.body.shape
        pad = stance.pad
        top, right = max(rows - pad, 0), max(columns - pad, 0)
        blocked = np.pad(~free, ((pad, top), (pad, right)), constant_values=True).astype(np.float32)
        met = _correlate(blocked, stance.body.astype(np.float32))
        return np.asarray(met[: free.shape[0], : free.shape[1]] < 0.5)


def _fold_on_the_left(piece: LayPiece, mirrored: bool, angle: float) -> bool:
    """Whether a stance has the fold edge upright on the left of its box; True for pieces without a fold."""
    if piece.fold is None:
        return True
    ends = points_placed(piece.fold, mirrored=mirrored, angle=angle, x=0.0, y=0.0)
    left = points_placed(piece.outline, mirrored=mirrored, angle=angle, x=0.0, y=0.0)[:, 0].min()
    return bool(np.abs(ends[:, 0] - left).max() < 1e-3)


def _barrier(lies: Stance, comes: Stance) -> Barrier:
    rows, columns = comes.body.shape
    halo = np.pad(lies.halo, ((rows - 1, rows - 1), (columns - 1, columns - 1))).astype(np.float32)
    met = _correlate(halo, comes.body.astype(np.float32)) > 0.5
    depth = cv2.distanceTransform(np.pad(met, 1).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)[1:-1, 1:-1]
    # row k of `met`: the body starts at row k − (rows − 1) of the halo
    offset = comes.pad - lies.halo_pad
    return Barrier(np.ascontiguousarray(depth), met, offset - (rows - 1), offset - (columns - 1))


def _turned_round(barrier: Barrier) -> Barrier:
    rows, columns = barrier.depth.shape
    depth = np.ascontiguousarray(barrier.depth[::-1, ::-1])
    return Barrier(depth, depth > 0, -(barrier.row + rows - 1), -(barrier.column + columns - 1))


def _correlate(field_: Singles, mask: Singles) -> Singles:
    """Sum of ``field_`` under ``mask`` at every position where the mask lies wholly on the field."""
    rows, columns = (a - b + 1 for a, b in zip(field_.shape, mask.shape, strict=True))
    size = [fft.next_fast_len(n, real=True) for n in field_.shape]
    spectrum = fft.rfft2(field_, s=size) * np.conj(fft.rfft2(mask, s=size))
    return np.asarray(fft.irfft2(spectrum, s=size)[:rows, :columns])


def _cells(shape: Polygon, grow: float, cell: float) -> tuple[Bools, int]:
    """Cells whose centre is inside the grown shape; its box's corner is at (0, 0), and the cells start at ``-pad``."""
    grown = shape.buffer(grow, quad_segs=8) if grow != 0 else shape
    if grow > 0:  # a buffer's arcs are polygons inside the true arc: make up for it
        grown = shape.buffer(grow / np.cos(np.pi / 32), quad_segs=8)
    pad = max(0, int(np.ceil(grow / cell)))
    x1, y1 = shape.bounds[2:]
    rows, columns = (int(np.ceil(d / cell)) + 2 * pad for d in (y1, x1))
    return _centres_in(grown, (-pad * cell, -pad * cell), (max(rows, 1), max(columns, 1)), cell), pad


def _centres_in(area: Polygon, origin: tuple[float, float], size: tuple[int, int], cell: float) -> Bools:
    rows, columns = size
    x = origin[0] + (np.arange(columns) + 0.5) * cell
    y = origin[1] + (np.arange(rows) + 0.5) * cell
    if area.is_empty:
        return np.zeros(size, dtype=np.bool_)
    shapely.prepare(area)
    return np.asarray(shapely.contains_xy(area, *np.meshgrid(x, y)))
