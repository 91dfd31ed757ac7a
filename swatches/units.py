"""Lengths as people type them, and the two kinds of points.

Inside, lengths are mm. A length keeps the unit that was typed, so that a pattern that says 5/8 in is never
silently made 15 mm. Definitions: 1 in = 25.4 mm exactly (International yard and pound agreement, 1959);
1 yd = 36 in; 1 oz = 28.349523125 g.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NewType

import numpy as np
from numpy.typing import NDArray

from swatches.errors import UnitError

MmPoints = NewType("MmPoints", NDArray[np.float64])
"""Points in mm, y up, shape (n, 2)."""
PxPoints = NewType("PxPoints", NDArray[np.float64])
"""Points in pixels of a picture, y down, shape (n, 2); (0, 0) is the outer corner of the first pixel."""

MM_PER_INCH = 25.4
GSM_PER_OZ_YD2 = 28.349523125 / 0.9144**2

_INCH = Fraction(254, 10)
_MM_PER = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": _INCH, "yd": 36 * _INCH}
_NAMES = {'"': "in", "″": "in", "inch": "in", "inches": "in", "yard": "yd", "yards": "yd"}
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8",
    "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_NUMBER = re.compile(
    r"(?P<sign>[-−+]?)\s*(?:(?P<whole>\d+)[\s-]+)?(?P<a>\d+)\s*/\s*(?P<b>\d+)|(?P<dec>[-−+]?(?:\d+(?:[.,]\d*)?|[.,]\d+))"
)


@dataclass(frozen=True, slots=True)
class Length:
    """A length as it was typed: an exact number and its unit.

    Attributes:
        number: exact value in ``unit``.
        unit: one of ``mm``, ``cm``, ``m``, ``in``, ``yd``.
    """

    number: Fraction
    unit: str = "mm"

    @property
    def mm(self) -> float:
        """The length in mm."""
        return float(self.number * _MM_PER[self.unit])

    def __str__(self) -> str:
        """Show the length in the unit that was typed, inches as fractions where they are eighths or sixteenths."""
        n = self.number
        if self.unit in ("in", "yd") and n.denominator in (2, 4, 8, 16):
            whole, rest = divmod(abs(n), 1)
            sign = "−" if n < 0 else ""
            return f"{sign}{int(whole)} {rest} {self.unit}" if whole else f"{sign}{rest} {self.unit}"
        return f"{float(n):.6g} {self.unit}"


def length(
    text: str | float | Length,
    *,
    what: str = "length",
    minimum_mm: float | None = None,
    maximum_mm: float | None = None,
    bare: str = "mm",
) -> Length:
    """Read a length: ``50mm``, ``1.5 cm``, ``1,5 cm``, ``2 in``, ``5/8"``, ``1 1/2 in``, ``½ in``.

    Args:
        text: what was typed, or a number of mm.
        what: the argument's name for the error message.
        minimum_mm: smallest allowed value in mm, inclusive.
        maximum_mm: largest allowed value in mm, inclusive.
        bare: unit of a typed number without one: 'mm', 'cm' or 'in'. A number that is no text is mm always.

    Raises:
        UnitError: the text is no length, the unit is unknown, or the value is outside the limits or not finite.
    """
    if isinstance(text, Length):
        found = text
    elif isinstance(text, int | float):
        if not np.isfinite(text):
            raise UnitError(what, expected="a finite length", got=str(text), next_step="Type a number such as 50mm")
        found = Length(Fraction(text).limit_denominator(10**9))
    else:
        found = _read(text, what, bare)
    if minimum_mm is not None and found.mm < minimum_mm:
        raise UnitError(
            what,
            expected=f"at least {minimum_mm:g} mm",
            got=str(text),
            next_step="Type a larger length, such as 15mm",
        )
    if maximum_mm is not None and found.mm > maximum_mm:
        raise UnitError(
            what,
            expected=f"at most {maximum_mm / 10:g} cm ({maximum_mm / MM_PER_INCH:.3g} in)",
            got=str(text),
            next_step="Look at the number and its unit; a number without one is mm",
        )
    return found


def millimetres(text: str | float | Length, *, what: str = "length", minimum_mm: float | None = None) -> float:
    """Read a length as :func:`length` does and give it in mm."""
    return length(text, what=what, minimum_mm=minimum_mm).mm


def _read(text: str, what: str, bare: str) -> Length:
    plain = text.strip().lower()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, " " + fraction)
    plain = plain.strip()
    match = _NUMBER.match(plain)
    unit = plain[match.end() :].strip() if match else ""
    unit = _NAMES.get(unit, unit) or bare
    if not match or unit not in _MM_PER or len(plain) > 40 or (match["b"] and int(match["b"]) == 0):
        raise UnitError(
            what,
            expected="a number with mm, cm, m, in or yd",
            got=repr(text),
            next_step='Type it like 50mm, 1.5 cm, 2 in or 5/8"',
        )
    if match["dec"]:
        number = Fraction(match["dec"].replace(",", ".").replace("−", "-").rstrip(".") or "0")
    else:
        number = int(match["whole"] or 0) + Fraction(int(match["a"]), int(match["b"]))
        number = -number if match["sign"] in ("-", "−") else number
    return Length(number, unit)
