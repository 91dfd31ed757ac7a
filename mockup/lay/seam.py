"""Piece a panel: divide a piece that is laid by a straight seam, with an allowance on both sides of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.lay.lay import LayPiece, points_placed

_LEAST_MM = 40.0  # a strip that is narrower, without its allowance, is not worth sewing on (our own choice)


@dataclass(frozen=True, slots=True)
class Pieced:
    """A piece in two parts.

    Attributes:
        parts: the upper or left part, and the lower or right one, each with the allowance at the seam.
        across: whether the seam runs across the grain, else along it.
        at_mm: distance of the seam from the upper end, or from the left side, of the cut outline.
    """

    parts: tuple[LayPiece, LayPiece]
    across: bool
    at_mm: float


def pieced(piece: LayPiece, share: float, *, across: bool, allowance_mm: float) -> Pieced | None:
    """Divide a piece; None where that gives no two whole, useful parts, or the piece is matched or on the fold.

    Args:
        piece: with its allowances, as cut.
        share: where the seam runs, 0 to 1 from the upper end (from the left side where it runs along the grain).
        across: whether it runs across the grain.
        allowance_mm: at the seam, on both parts.
    """
    if piece.fold is not None or piece.match is not None:
        return None
    upright = points_placed(piece.outline, mirrored=False, angle=-piece.grain_deg, x=0.0, y=0.0)
    shape = Polygon(upright)
    x0, y0, x1, y1 = shape.bounds
    far = 2.0 * max(x1 - x0, y1 - y0) + allowance_mm
    size = (y1 - y0) if across else (x1 - x0)
    at = share * size
    if min(at, size - at) < _LEAST_MM:
        return None
    if across:
        seam = y1 - at
        windows = (
            shapely.box(x0 - far, seam - allowance_mm, x1 + far, y1 + far),
            shapely.box(x0 - far, y0 - far, x1 + far, seam + allowance_mm),
        )
        names = "upper part", "lower part"
    else:
        seam = x0 + at
        windows = (
            shapely.box(x0 - far, y0 - far, seam + allowance_mm, y1 + far),
            shapely.box(seam - allowance_mm, y0 - far, x1 + far, y1 + far),
        )
        names = "left part", "right part"
    parts = []
    for window, name in zip(windows, names, strict=True):
        part = shape.intersection(window)
        if part.geom_type != "Polygon" or part.interiors:
            return None
        ring = points_placed(np.asarray(part.exterior.coords)[:-1], mirrored=False, angle=piece.grain_deg, x=0.0, y=0.0)
        outline = tuple((float(x), float(y)) for x, y in ring)
        parts.append(replace(piece, name=f"{piece.name}, {name}", outline=outline))
    return Pieced((parts[0], parts[1]), across, at)
