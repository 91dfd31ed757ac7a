"""Proofs that no lay exists: by area, or because one piece fits on no scrap by itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon

from mockup.lay.lay import LayPiece, Scrap, angle_of, free_area, points_placed, turns_on
from mockup.lay.raster import Raster

_CELLS = (12_000, 60_000)  # a coarse look first, then a finer one at what is not decided
_ROUND = 1.002  # buffers are polygons: this much is granted to the cloth


def fits_nowhere(
    pieces: Sequence[LayPiece], scraps: Sequence[Scrap], *, border_mm: float
) -> tuple[str, dict[str, tuple[str, ...]]]:
    """Look for a piece that fits on no scrap, alone.

    Returns:
        The sentence that proves it, or an empty text; and for every piece the scraps on which it may fit.
    """
    may: dict[str, tuple[str, ...]] = {}
    for piece in pieces:
        may[piece.name] = tuple(s.name for s in scraps if _may_fit(piece, s, border_mm))
        if not may[piece.name]:
            where = f"on '{scraps[0].name}'" if len(scraps) == 1 else f"on any of the {len(scraps)} scraps"
            return f"'{piece.name}' fits nowhere {where}, at no turn that is allowed.", may
    return "", may


def too_little(
    pieces: Sequence[LayPiece],
    scraps: Sequence[Scrap],
    may: dict[str, tuple[str, ...]],
    *,
    clearance_mm: float,
    border_mm: float,
) -> str:
    """Compare areas; gives the sentence that proves that the cloth is too little, or an empty text.

    Pieces grown by half the clearance do not overlap, and all lie within their scraps grown by as much. A scrap counts
    only where some piece may fit on it.
    """
    half = clearance_mm / 2
    need = sum(Polygon(p.outline).buffer(half, quad_segs=8).area * p.count for p in pieces)
    used = {name for names in may.values() for name in names}
    have = 0.0
    for scrap in scraps:
        if scrap.name in used:
            area = free_area(scrap, border_mm=border_mm)
            have += area.buffer(half, quad_segs=8).area
    if need <= have * _ROUND:
        return ""
    plain_need = sum(Polygon(p.outline).area * p.count for p in pieces)
    plain_have = sum(free_area(s, border_mm=border_mm).area for s in scraps if s.name in used)
    keep = " with their clearance" if clearance_mm > 0 else ""
    return (
        f"The pieces{keep} need {need / 100:.0f} cm² and the cloth has {have / 100:.0f} cm²"
        f" (plain areas: {plain_need / 100:.0f} and {plain_have / 100:.0f} cm²)."
    )


def _may_fit(piece: LayPiece, scrap: Scrap, border_mm: float) -> bool:
    outline = np.asarray(scrap.outline)
    room = np.ptp(outline, axis=0) - 2 * border_mm
    area = free_area(scrap, border_mm=border_mm)
    if area.is_empty or Polygon(piece.outline).area > area.area * _ROUND:
        return False
    turns = []
    for turn in turns_on(piece, scrap):
        angle = angle_of(piece, scrap.grain_deg, turn, mirrored=False)
        size = np.ptp(points_placed(piece.outline, mirrored=False, angle=angle, x=0, y=0), axis=0)
        if (size <= room + 1e-6).all():
            turns.append(turn)
    if not turns and not (piece.mirror or piece.either or piece.fold):
        return False
    box = float(np.prod(np.ptp(outline, axis=0)))
    for cells in _CELLS:
        cell = float(np.sqrt(box / cells))
        if _any(Raster([piece], [scrap], cell, 0.0, border_mm, slack=1)):
            return True
        if not _any(Raster([piece], [scrap], cell, 0.0, border_mm, slack=-1)):
            return False
    return True  # too near to say: the search will tell


def _any(raster: Raster) -> bool:
    return any(raster.fits(s, k).any() for (s, _, _), ks in raster.of.items() for k in ks)
