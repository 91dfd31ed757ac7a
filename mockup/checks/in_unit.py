"""Lengths in sentences, in the unit that the person chose; findings and ``--json`` stay in mm."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from swatches.units import MM_PER_INCH, Length

_PARTS = 16  # an inch is said in sixteenths, as on a tape
_NUMBER = r"\d+(?:\.\d+)?"
_MM = re.compile(
    rf"(?P<least>at least )?(?P<first>{_NUMBER})?(?P<joint>(?<=\d)(?: to | and | × ))?"
    rf"(?<![\d.])(?P<last>{_NUMBER}) mm\b(?!²)(?! \([^()]* in\))"
)


def in_unit(text: str, unit: str) -> str:
    """Say the lengths of a sentence in another unit.

    '26 mm', 'at least 35 mm', '0 to 797 mm' and '120 × 80 mm' are found; a length that stands in inches beside its mm
    already, as '1.6 mm (1/16 in)', stays. What must be reached ('at least') is rounded up, the far end of '0 to'
    down, so that who types what is said is not refused.

    Args:
        text: sentences with lengths in mm.
        unit: 'mm', 'cm' or 'in'; 'mm' and anything else give the text as it is.
    """
    if unit not in ("cm", "in"):
        return text

    def said(match: re.Match[str]) -> str:
        first, joint, last = match["first"], match["joint"] or "", float(match["last"])
        way = 1 if match["least"] else -1 if first == "0" and joint == " to " else 0
        before = "" if first is None else f"{_bare(length_said(float(first), unit))}{joint}"
        return f"{match['least'] or ''}{before}{length_said(last, unit, way)}"

    return _MM.sub(said, text)


def length_said(mm: float, unit: str, way: int = 0) -> str:
    """A length as a sentence says it: tenths of a cm, sixteenths of an inch; what is smaller with two digits.

    Args:
        mm: the length, ≥ 0.
        unit: 'mm', 'cm' or 'in'.
        way: 1 rounds up, −1 down, 0 to the nearest.
    """
    if unit == "in":
        parts = mm / MM_PER_INCH * _PARTS
        if way == 0 and mm < 3 and abs(parts - round(parts)) > 0.06:
            return f"{mm / MM_PER_INCH:.2g} in"
        return str(Length(Fraction(_rounded(parts, way), _PARTS), "in"))
    if unit == "cm":
        return f"{mm / 10:.2g} cm" if way == 0 and mm < 10 else f"{_rounded(mm, way) / 10:g} cm"
    return f"{mm:g} mm"


def _rounded(value: float, way: int) -> int:
    if way:
        return math.ceil(value - 1e-9) if way > 0 else math.floor(value + 1e-9)
    return round(value)


def _bare(said: str) -> str:
    return said.rsplit(" ", 1)[0]
