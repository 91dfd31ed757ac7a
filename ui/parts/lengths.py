"""Fields that take a length: what stands in them follows the person's unit until something else was typed."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from swatches.errors import UnitError
from swatches.units import MM_PER_INCH, Length, length

USUAL_MM = (15.0, 40.0, 60.0, 80.0, 90.0, 100.0, 120.0, 150.0, 260.0, 330.0, 1400.0)
"""Every length that stands in a field before somebody types."""


@dataclass(frozen=True, slots=True)
class LengthField:
    """A text field of the page that takes a length.

    Attributes:
        field: the component.
        kept: name of the session's state in which its text is remembered, or empty.
    """

    field: Any
    kept: str = ""


def usual_text(mm: float, unit: str) -> str:
    """A usual length as somebody who thinks in that unit would say it: whole mm, half cm, quarters of an inch.

    Lengths under an inch go to eighths, so that 15 mm is 5/8 in, as it is printed on patterns (common practice, no
    source); widths of cloth are said in cm by those who use mm.
    """
    if unit == "in":
        parts = 8 if mm < MM_PER_INCH else 4 if mm < 500 else 1
        return str(Length(Fraction(round(mm / MM_PER_INCH * parts), parts), "in"))
    if unit == "cm" or mm >= 1000:
        return f"{mm / 10:g} cm"
    return f"{mm:g} mm"


def restated(text: object, old: str, new: str) -> str:
    """What a field says after the unit changed from ``old`` to ``new``.

    A usual length is said in the new unit; what somebody typed stays as long as it was, with its unit named.
    """
    plain = " ".join(str(text or "").split())
    for mm in USUAL_MM:
        if plain == usual_text(mm, old):
            return usual_text(mm, new)
    return with_unit(plain, old)


def with_unit(text: object, unit: str) -> str:
    """A typed length with its unit named, so that it means the same whatever unit is chosen later."""
    plain = " ".join(str(text or "").split())
    return f"{plain} {unit}" if has_no_unit(plain) else plain


def has_no_unit(text: object) -> bool:
    """Whether a text is a length without a unit, so that it means something else in another unit."""
    plain = str(text or "")
    try:
        return length(plain, bare="m").mm != length(plain, bare="mm").mm
    except UnitError:
        return False
