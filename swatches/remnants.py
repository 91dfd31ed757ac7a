"""What is left of a remnant when pieces were cut from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from shapely import make_valid
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from swatches.errors import InputError
from swatches.fabric import XY, Remnant
from swatches.outline import Outline, outline_from

LEAST_REMNANT_MM2 = 2500.0
"""A smaller piece of cloth (5 × 5 cm) is not worth keeping a record of; our own choice."""


def remnant_of(
    outline: Outline,
    name: str,
    *,
    grain_deg: float | None = None,
    flaws: Sequence[Sequence[XY]] = (),
    photo: str = "",
) -> Remnant:
    """Make a remnant of a traced outline.

    Args:
        outline: from a photo.
        name: the person's word.
        grain_deg: direction of the lengthwise grain, counter-clockwise from +y.
        flaws: stains, moth holes and the like, marked in the outline's coordinates, mm: no piece may lie there.
        photo: content hash or file name of the photo.

    Raises:
        InputError: the piece is too narrow for a safe outline, or a flaw has no area.
    """
    if not outline.safe:
        raise InputError(
            "remnant", expected="a piece of cloth wider than a few mm", got=f"{outline.area_mm2:.0f} mm²",
            next_step="Leave this piece out",
        )  # fmt: skip
    marked = []
    for flaw in flaws:
        _polygon(flaw)
        marked.append(tuple((float(x), float(y)) for x, y in flaw))
    return Remnant(name, outline.points, outline.safe, (*outline.holes, *marked), grain_deg, photo)


def remnants_of(outlines: Sequence[Outline], *, taken: Sequence[str] = (), photo: str = "") -> tuple[Remnant, ...]:
    """Make remnants of all pieces that were traced in a photo, called 'piece 1', 'piece 2', … past the names taken.

    Raises:
        InputError: there are none, or one is too narrow for a safe outline.
    """
    if not outlines:
        raise InputError(
            "pieces", expected="pieces of cloth that were measured in the photo", got="none",
            next_step="Lay it on a table of another colour beside something that tells the size, all of its edge in "
            "the photo; or go round it yourself",
        )  # fmt: skip
    made: list[Remnant] = []
    for outline in outlines:
        number = 1
        while f"piece {number}" in (*taken, *(r.name for r in made)):
            number += 1
        made.append(remnant_of(outline, f"piece {number}", flaws=outline.safe_holes, photo=photo))
    return tuple(made)


def use_up(remnants: Sequence[Remnant], name: str, cut: Sequence[Sequence[XY]]) -> tuple[Remnant, ...]:
    """Take cut pieces out of one of several remnants.

    Args:
        remnants: all remnants of a cloth.
        name: which one was cut.
        cut: outlines in mm, in the remnant's coordinates.

    Returns:
        all remnants; the one that was cut is smaller, in its place, or replaced by its parts ('name 1', 'name 2'), or
        gone.

    Raises:
        InputError: no remnant of this name, or an outline that is none.
    """
    if not any(r.name == name for r in remnants):
        known = ", ".join(r.name for r in remnants) or "none"
        raise InputError("remnant", expected=f"one of: {known}", got=repr(name), next_step="Choose one of them")
    gone = unary_union([_polygon(outline) for outline in cut]) if cut else Polygon()
    left: list[Remnant] = []
    for remnant in remnants:
        left += [remnant] if remnant.name != name else _parts(remnant, gone)
    return tuple(left)


def remnant_shape(remnant: Remnant) -> BaseGeometry:
    """The measured outline without its holes, as a polygon in mm."""
    shape = make_valid(Polygon(remnant.outline))
    for hole in remnant.holes:
        shape = shape.difference(make_valid(Polygon(hole)))
    return shape


def _parts(remnant: Remnant, gone: BaseGeometry) -> list[Remnant]:
    if gone.is_empty:
        return [remnant]
    rest = remnant_shape(remnant).difference(gone)
    pieces = [p for p in getattr(rest, "geoms", [rest]) if isinstance(p, Polygon) and p.area >= LEAST_REMNANT_MM2]
    pieces.sort(key=lambda p: (-p.area, p.bounds))
    parts = []
    for number, piece in enumerate(pieces, 1):
        outline = outline_from(piece)
        if outline is None or not outline.safe:
            continue
        name = remnant.name if len(pieces) == 1 else f"{remnant.name} {number}"
        parts.append(
            replace(remnant, name=name, outline=outline.points, safe_outline=outline.safe, holes=outline.holes)
        )
    return parts


def _polygon(outline: Sequence[XY]) -> BaseGeometry:
    finite = all(len(p) == 2 and math.isfinite(p[0]) and math.isfinite(p[1]) for p in outline)
    shape = make_valid(Polygon(outline)) if len(outline) >= 3 and finite else Polygon()
    if shape.area <= 0:
        raise InputError(
            "outline that was cut", expected="a closed outline in mm", got=f"{len(outline)} points without an area",
            next_step="Give the outline of the piece that was cut out",
        )  # fmt: skip
    return shape
