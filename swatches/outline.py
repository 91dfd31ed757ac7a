"""Outlines of cloth in mm: the measured one, and a safe one a little inside it that a lay may use."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from skimage import measure

from swatches.cloth_shape import ClothPlace
from swatches.fabric import XY

SIMPLIFIED_MM = 0.25
SAFE_MM = 0.75
LEAST_HOLE_MM2 = 20.0
LEAST_PIECE_MM2 = 400.0


@dataclass(frozen=True, slots=True)
class Outline:
    """One piece of cloth.

    Attributes:
        points: measured outline, mm, y up, counter-clockwise, first point not repeated.
        holes: in it, mm, clockwise.
        safe: outline a little inside, mm; empty when the piece is too narrow for one.
        safe_holes: holes a little larger.
    """

    points: tuple[XY, ...]
    holes: tuple[tuple[XY, ...], ...]
    safe: tuple[XY, ...]
    safe_holes: tuple[tuple[XY, ...], ...]

    @property
    def area_mm2(self) -> float:
        """Area without the holes."""
        return float(Polygon(self.points, self.holes).area)

    @property
    def safe_area_mm2(self) -> float:
        """Area of the safe outline without its holes."""
        return float(Polygon(self.safe, self.safe_holes).area) if self.safe else 0.0


def trace_outlines(place: ClothPlace) -> tuple[Outline, ...]:
    """Trace every piece of cloth, largest first."""
    safe = SAFE_MM + place.inset_mm
    return outlines_of(place.value.astype(np.float64), 0.5, place.origin_mm, place.step_mm, safe_mm=safe)


def outlines_of(
    value: NDArray[np.float64],
    level: float,
    origin_mm: NDArray[np.float64],
    step_mm: float,
    *,
    safe_mm: float = SAFE_MM,
) -> tuple[Outline, ...]:
    """Outlines of where ``value`` is above ``level``, to a fraction of a pixel; mm, y turned up."""
    padded = np.pad(value, 1, constant_values=0.0)
    rings = []
    for line in measure.find_contours(padded, level):
        mm = (line[:, ::-1] - 0.5) * step_mm + origin_mm
        rings.append(np.column_stack([mm[:, 0], -mm[:, 1]]))
    shells = [Polygon(r) for r in rings if len(r) >= 4]
    shells = [p if p.is_valid else p.buffer(0) for p in shells]
    shells = [p for p in shells if p.area >= LEAST_HOLE_MM2]
    shells.sort(key=lambda p: -p.area)
    found: list[Outline] = []
    for i, shell in enumerate(shells):
        depth = sum(1 for other in shells[:i] if other.contains(shell.representative_point()))
        if depth % 2 == 1 or shell.area < LEAST_PIECE_MM2:
            continue
        inside = [
            p
            for p in shells[i + 1 :]
            if shell.contains(p.representative_point())
            and sum(1 for o in shells if o.area > p.area and o.contains(p.representative_point())) == depth + 1
        ]
        piece = shell.difference(MultiPolygon([h for h in inside if isinstance(h, Polygon)])) if inside else shell
        made = outline_from(piece, safe_mm=safe_mm)
        if made is not None:
            found.append(made)
    return tuple(found)


def outline_from(piece: BaseGeometry, *, safe_mm: float = SAFE_MM) -> Outline | None:
    """Make an outline of a polygon in mm, simplified, with its safe outline; None when nothing is left of it."""
    piece = _largest(piece.simplify(SIMPLIFIED_MM))
    if piece is None:
        return None
    safe = _largest(piece.buffer(-safe_mm, join_style="mitre", mitre_limit=2.0).simplify(SIMPLIFIED_MM / 3))
    return Outline(
        _ring(piece.exterior.coords, True),
        tuple(_ring(h.coords, False) for h in piece.interiors),
        () if safe is None else _ring(safe.exterior.coords, True),
        () if safe is None else tuple(_ring(h.coords, False) for h in safe.interiors),
    )


def _largest(shape: BaseGeometry) -> Polygon | None:
    parts = [p for p in getattr(shape, "geoms", [shape]) if isinstance(p, Polygon) and not p.is_empty]
    return max(parts, key=lambda p: p.area, default=None)


def _ring(coords: object, counter_clockwise: bool) -> tuple[XY, ...]:
    points = [(round(float(x), 3), round(float(y), 3)) for x, y in list(coords)[:-1]]  # type: ignore[call-overload]
    turn = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True))
    return tuple(points if (turn > 0) == counter_clockwise else points[::-1])
