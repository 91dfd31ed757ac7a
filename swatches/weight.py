"""A cloth's weight and price in the units of shops, and from a kitchen scale.

Weight is g/m² inside. Shops also sell by ounces per square yard, or by ounces per *linear* yard: a yard of the length
at the full width, which says nothing without the width. So a bare 'oz' or 'oz/yd' is not guessed at: it is asked about.
1 oz = 28.349523125 g and 1 yd = 914.4 mm exactly (international yard and pound, 1959).
"""

from __future__ import annotations

import re

from swatches.errors import UnitError
from swatches.fabric import Known, Origin
from swatches.units import GSM_PER_OZ_YD2

GRAM_PER_OZ = 28.349523125
MM_PER_YARD = 914.4
_UNITS = {
    "g/m2": "gsm", "gsm": "gsm", "g/sqm": "gsm", "gramspersquaremetre": "gsm", "g": "gsm?",
    "oz/yd2": "oz", "oz/sqyd": "oz", "ozpersquareyard": "oz", "osy": "oz",
    "oz/linyd": "linear", "ozperlinearyard": "linear", "oz/linearyd": "linear", "oz/linearyard": "linear",
    "oz": "oz?", "oz/yd": "oz?", "oz/yard": "oz?",
}  # fmt: skip
_NUMBER = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(.*)")


def weight(text: str, *, width_mm: float | None = None, origin: Origin = Origin.LABEL) -> Known[float]:
    """Read a weight as it stands on a label: '210 g/m²', '6 oz/yd²', '9 oz per linear yard' (with the width).

    Args:
        text: what was typed.
        width_mm: full width of the cloth, needed for a linear yard.
        origin: where it comes from.

    Returns:
        g/m².

    Raises:
        UnitError: no weight, an unclear unit, or a linear yard without a width.
    """
    match = _NUMBER.fullmatch(text.strip().lower().replace("²", "2"))
    unit = _UNITS.get(re.sub(r"[\s.]|\^", "", match[2])) if match and len(text) < 60 else None
    if match is None or unit is None:
        raise UnitError(
            "weight", expected="g/m², oz/yd² or oz per linear yard", got=repr(text), next_step="Type it like 210 g/m²"
        )
    value = float(match[1].replace(",", "."))
    if unit == "oz?":
        raise UnitError(
            "weight", expected="oz/yd² (a square yard) or oz per linear yard", got=repr(text),
            next_step="Ask which of the two is meant: a linear yard of cloth 60 in wide is 1⅔ square yards",
        )  # fmt: skip
    if unit == "gsm?":
        raise UnitError(
            "weight", expected="g/m², or the weight of a rectangle from a scale", got=repr(text),
            next_step="Type it like 210 g/m², or weigh a rectangle and type its sides too",
        )  # fmt: skip
    if unit == "oz":
        value *= GSM_PER_OZ_YD2
    elif unit == "linear":
        if width_mm is None or not 100 <= width_mm <= 5000:
            raise UnitError(
                "width of the cloth", expected="its full width, since a linear yard is a yard at that width",
                got="none" if width_mm is None else f"{width_mm:g} mm", next_step="Type the width too",
            )  # fmt: skip
        value *= GRAM_PER_OZ / (MM_PER_YARD * width_mm) * 1e6
    return _checked(value, origin)


def weighed(grams: float, side_mm: float, other_side_mm: float) -> Known[float]:
    """Weight from a kitchen scale: a rectangle of cloth and its two sides. Gives g/m².

    Raises:
        UnitError: nothing was weighed, or the rectangle has no area.
    """
    if not (grams > 0 and side_mm > 0 and other_side_mm > 0):
        raise UnitError(
            "weighed cloth", expected="a weight and two sides above 0",
            got=f"{grams} g, {side_mm} × {other_side_mm} mm",
            next_step="Weigh a large rectangle, at least 20 × 20 cm",
        )  # fmt: skip
    return _checked(grams / (side_mm * other_side_mm) * 1e6, Origin.MEASURED)


def weighed_error_percent(grams: float, step_grams: float = 1.0) -> float:
    """How far a weighed cloth may be off by the scale's own step alone, in percent: by half a step either way."""
    return 100 * step_grams / 2 / grams if grams > 0 else float("inf")


def price_per_metre(price: float, per: str = "m") -> Known[float]:
    """Price per metre of length, from a price per metre ('m') or yard ('yd').

    Raises:
        UnitError: another unit, or no price.
    """
    if per not in ("m", "yd") or not 0 <= price < 1e6:
        raise UnitError(
            "price", expected="a price per m or yd", got=f"{price:g} per {per}", next_step="Type it per m or per yd"
        )
    return Known(price if per == "m" else price / MM_PER_YARD * 1000, "per m", Origin.LABEL)


def _checked(value: float, origin: Origin) -> Known[float]:
    if not 5 <= value <= 3000:
        raise UnitError(
            "weight", expected="5 to 3000 g/m²", got=f"{value:.0f} g/m²", next_step="Check the number and its unit"
        )
    return Known(value, "g/m²", origin)
