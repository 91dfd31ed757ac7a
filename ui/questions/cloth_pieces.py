"""Remnants on the page: pieces traced in a photo are kept, with their flaws and their grain."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from swatches.errors import InputError
from swatches.fabric import Fabric, Remnant
from swatches.kept import Kept, kept_photo, load_reading
from swatches.remnants import remnant_shape, remnants_of

_CM2, _M2 = 100.0, 1_000_000.0
_SAME = 0.05  # of the smaller piece: outlines of two readings differ by less along their edges
_NOISE = 3.0  # of 255: what writing a JPEG again changes is below 1, another photo is at 10 and more


def with_pieces(fabric: Fabric, kept: Kept, home: Path) -> tuple[Fabric, tuple[str, ...]]:
    """Keep the pieces of cloth that were traced in the photo as remnants.

    No cloth can be cut twice: a piece that lies over one kept from the same photo, however that was read then, is left
    out.

    Args:
        fabric: the cloth.
        kept: how its photo was read.
        home: the cloth's folder, with earlier readings.

    Returns:
        The cloth, and the names of remnants whose cloth was found again.

    Raises:
        InputError: there are no pieces, one is too narrow, or all are kept already.
    """
    found = kept.outlines if kept.scale_known else ()
    there = [(r.name, shape) for r in fabric.remnants if (shape := _in_photo(r, fabric, kept, home)) is not None]
    fresh, again = [], list[str]()
    for outline in found:
        shape = Polygon(kept.to_px(outline.points)).buffer(0)
        over = [name for name, s in there if shape.intersection(s).area > _SAME * min(shape.area, s.area)]
        again += over
        if not over:
            fresh.append(outline)
            there.append(("another piece of this photo", shape))
    names = tuple(dict.fromkeys(again))
    if found and not fresh:
        raise InputError(
            "pieces", expected="cloth that is not kept yet", got=f"the cloth of {', '.join(names)} again",
            next_step="No cloth can be cut twice: take that remnant off first if this outline is the better one",
        )  # fmt: skip
    made = remnants_of(fresh, taken=[r.name for r in fabric.remnants], photo=fabric.reading)
    return replace(fabric, remnants=(*fabric.remnants, *made)), names


def _in_photo(remnant: Remnant, fabric: Fabric, kept: Kept, home: Path) -> BaseGeometry | None:
    """Where a remnant lies in a photo, px; None where it was not traced in that photo."""
    before = kept if remnant.photo == fabric.reading else load_reading(home, replace(fabric, reading=remnant.photo))
    if before is None or not _same_photo(home, before, kept):
        return None
    return Polygon(before.to_px(remnant.outline)).buffer(0)


def _same_photo(home: Path, a: Kept, b: Kept) -> bool:
    """Whether two readings are of one photo: it is written anew with each, and a JPEG comes back a little changed."""
    if a.photo == b.photo or a.size != b.size:
        return a.photo == b.photo
    one, other = (kept_photo(home, k).rgb8[::8, ::8].astype(np.float32) for k in (a, b))
    return float(np.abs(one - other).mean()) < _NOISE


def with_flaw(fabric: Fabric, kept: Kept, points_px: tuple[tuple[float, float], ...]) -> Fabric:
    """Mark a stain, a hole or a worn place that was drawn round in the photo: no piece may lie there.

    Raises:
        InputError: it lies on no piece that is kept, or it has no area.
    """
    ring = Polygon(kept.to_mm(points_px)).buffer(0) if len(points_px) >= 3 else Polygon()
    for remnant in fabric.remnants:
        if remnant.photo == fabric.reading and ring.area > 1 and Polygon(remnant.outline).intersects(ring):
            inside = ring.intersection(Polygon(remnant.outline)).simplify(0.5)
            if isinstance(inside, Polygon) and inside.area > 1:
                hole = tuple((round(x, 2), round(y, 2)) for x, y in inside.exterior.coords[:-1])
                new = replace(remnant, holes=(*remnant.holes, hole))
                return replace(fabric, remnants=tuple(new if r is remnant else r for r in fabric.remnants))
    raise InputError(
        "flaw", expected="a ring drawn on a piece that is kept", got="a place beside it",
        next_step="Keep the pieces first, then draw round the flaw",
    )  # fmt: skip


def with_grain(fabric: Fabric, kept: Kept | None, name: str, way: str) -> Fabric:
    """Say how the lengthwise grain runs on a remnant: 'up' or 'across' as the photo shows it, or '': not known."""
    remnant = next((r for r in fabric.remnants if r.name == name), None)
    if remnant is None or way not in ("up", "across", ""):
        raise InputError("grain", expected="up, across or not known", got=way, next_step="Choose one of them")
    degrees = None
    if way:
        degrees = 0.0 if way == "up" else 90.0
        if kept is not None and remnant.photo == fabric.reading:  # the photo may lie turned against its own mm
            x, y = np.mean(kept.to_px(remnant.outline), axis=0)
            step = (0.0, -10.0) if way == "up" else (-10.0, 0.0)
            (x0, y0), (x1, y1) = kept.to_mm(((x, y), (x + step[0], y + step[1])))
            degrees = round(float(np.degrees(np.arctan2(-(x1 - x0), y1 - y0))), 1)
    new = replace(remnant, grain_deg=degrees)
    return replace(fabric, remnants=tuple(new if r is remnant else r for r in fabric.remnants))


def without_piece(fabric: Fabric, name: str) -> Fabric:
    """Take a remnant off the record."""
    return replace(fabric, remnants=tuple(r for r in fabric.remnants if r.name != name))


def piece_scene(remnant: Remnant, unit: str) -> dict[str, Any]:
    """A remnant as the page shows it: its outline, its size in words, its grain."""
    shape = remnant_shape(remnant)
    grain = remnant.grain_deg
    return {
        "name": remnant.name,
        "about": area_words(shape, unit),
        "grain": "" if grain is None else "up" if abs((grain + 45) % 180 - 45) < 45 else "across",
        "flaws": len(remnant.holes),
        "d": _outline_path(remnant),
    }


def _outline_path(remnant: Remnant) -> str:
    """The remnant as an SVG path in a box of 100 × 100, y down."""
    shape = Polygon(remnant.outline, remnant.holes)
    x0, y0, x1, y1 = shape.bounds
    k = 96 / max(x1 - x0, y1 - y0)
    placed = affinity.affine_transform(shape, [k, 0, 0, -k, 50 - k * (x0 + x1) / 2, 50 + k * (y0 + y1) / 2])
    rings = [placed.exterior, *placed.interiors]
    return "".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in list(r.coords)[:-1]) + "Z" for r in rings)


def area_words(shape: BaseGeometry, unit: str) -> str:
    """Size and area of a piece: '63 × 43 cm, 2162 cm²'."""
    x0, y0, x1, y1 = shape.bounds
    per = 25.4 if unit == "in" else 10.0
    name = "in" if unit == "in" else "cm"
    area = f"{shape.area / 645.16:.0f} square inches" if unit == "in" else f"{shape.area / _CM2:.0f} cm²"
    if unit != "in" and shape.area > _M2:
        area = f"{shape.area / _M2:.2f} m²"
    return f"{(x1 - x0) / per:.0f} × {(y1 - y0) / per:.0f} {name}, {area}"
