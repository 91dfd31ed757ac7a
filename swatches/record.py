"""The fabric record field by field: read what a person writes down, and show what is known.

One table says what can be written down and how it is read; the command line and the page both go by it. Every value
has an origin: measured, label or guess. An empty text means 'not known', which is a proper answer for every field.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from swatches.care import AXES, treatment
from swatches.errors import InputError
from swatches.fabric import Fabric, Known, Origin
from swatches.units import Length, length
from swatches.weight import price_per_metre, weighed, weighed_error_percent, weight

MAX_TEXT = 200
SHARES_OVER_PERCENT = 100.5
"""Shares of fibres may add up to a little more than 100 by rounding."""

_SCALE = re.compile(r"([\d.,]+)\s*g\s+(?:for|on|of)\s+(.+?)\s*(?:×|x|\bby\b)\s*(.+)", re.IGNORECASE)
_SHARE = re.compile(r"(?:(\d+(?:[.,]\d+)?)\s*%?\s+)?([^\d%,;+]{2,40}?)(?:\s+(\d+(?:[.,]\d+)?)\s*%)?")
_PRICE = re.compile(r"\D{0,3}?\s*(\d+(?:[.,]\d{1,4})?)\s*(?:\D{0,3}?)\s*(?:(?:per|/|a)\s*(m|metre|meter|yd|yard))?")


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that can be written down of a cloth.

    Attributes:
        key: name of the field of :class:`~swatches.fabric.Fabric`; 'care.wash' and so on for the axes of care.
        kind: 'length', 'percent', 'yes', 'choice', 'weight', 'price', 'fibre' or 'care'.
        what: the field in plain words.
        choices: for 'choice'.
    """

    key: str
    kind: str
    what: str
    choices: tuple[str, ...] = ()


FIELDS: dict[str, Field] = {
    f.key: f
    for f in (
        Field("usable_width", "length", "usable width"),
        Field("listed_width", "length", "width on the label"),
        Field("length_left", "length", "length left"),
        Field("price_per_metre", "price", "price"),
        Field("fibre", "fibre", "fibre"),
        Field("weight", "weight", "weight"),
        Field("thickness", "length", "thickness"),
        Field("structure", "choice", "how it is made", ("woven", "knit", "felt")),
        Field("face_photographed", "choice", "side in the photo", ("right side", "wrong side")),
        Field("faces_alike", "yes", "both sides look alike"),
        Field("show_through", "yes", "shows through"),
        Field("nap", "yes", "one-way cloth"),
        Field("stretch_width", "percent", "stretch across"),
        Field("stretch_length", "percent", "stretch along"),
        Field("prewashed", "yes", "washed already"),
        Field("shrinkage_width", "percent", "shrinks across"),
        Field("shrinkage_length", "percent", "shrinks along"),
        Field("bleeds", "yes", "colour bleeds"),
        *(Field(f"care.{axis}", "care", f"care, {axis}") for axis in AXES),
    )
}
"""What can be written down, in the order in which it is asked."""


def written(fabric: Fabric, key: str, text: str, origin: Origin = Origin.LABEL) -> Fabric:
    """Give the fabric with one field written down; an empty text: not known.

    Args:
        fabric: as it is.
        key: of :data:`FIELDS`, or 'name' or 'note'.
        text: what was typed.
        origin: where the person has it from; a weight from a scale is measured whatever is said here.

    Raises:
        InputError: no such field, or a value that it cannot have.
    """
    plain = " ".join("".join(c for c in text if c.isprintable()).split())[:MAX_TEXT]
    if key == "name":
        if not plain:
            raise InputError("name", expected="a name", got="nothing", next_step="Say what you call the cloth")
        return replace(fabric, name=plain)
    if key == "note":
        return replace(fabric, note=plain)
    if key == "owned":
        return replace(fabric, owned=_yes("owned", plain))
    field = FIELDS.get(key)
    if field is None:
        names = ", ".join(sorted((*FIELDS, "name", "note", "owned")))
        raise InputError("field", expected=f"one of {names}", got=key, next_step="Choose one of them")
    if field.kind == "care":
        return replace(fabric, care=_care(fabric.care, key.partition(".")[2], plain, origin))
    known: dict[str, Any] = {key: _READERS[field.kind](field, plain, fabric, origin) if plain else Known()}
    return replace(fabric, **known)


def shown(fabric: Fabric, key: str, unit: str = "mm") -> str:
    """Show one field as it would be typed, lengths in 'mm', 'cm' or 'in'; empty when it is not known."""
    field = FIELDS[key]
    if field.kind == "care":
        return (fabric.care.value or {}).get(key.partition(".")[2], "")
    value = getattr(fabric, key).value
    return "" if value is None else _SHOWERS[field.kind](value, "mm" if key == "thickness" else unit)


def origin_of(fabric: Fabric, key: str) -> Origin:
    """Where a field's value comes from."""
    if FIELDS[key].kind == "care":
        said = key.partition(".")[2] in (fabric.care.value or {})
        return fabric.care.origin if said else Origin.UNKNOWN
    origin: Origin = getattr(fabric, key).origin
    return origin


_WORTH_SAYING = 2.0  # percent of the weight; less does not change which cloth goes with which (our own choice)
_LONGEST_MM = 1_000_000.0  # a kilometre of cloth is a slip of the unit


def _length(field: Field, text: str, _: Fabric, origin: Origin) -> Known[float]:
    return Known(length(text, what=field.what, minimum_mm=0.0, maximum_mm=_LONGEST_MM).mm, "mm", origin)


def _percent(field: Field, text: str, _: Fabric, origin: Origin) -> Known[float]:
    try:
        number = float(text.removesuffix("%").strip().replace(",", "."))
    except ValueError:
        number = -1.0
    if not 0 <= number <= 400:
        raise InputError(
            field.what,
            expected="a share from 0 to 400 %",
            got=repr(text),
            next_step="Type it like 3 %, or leave it empty",
        )
    return Known(number, "%", origin)


def _yes(what: str, text: str) -> bool:
    if text.lower() not in ("yes", "no"):
        raise InputError(
            what, expected="yes or no", got=text or "nothing", next_step="Leave it empty where you do not know"
        )
    return text.lower() == "yes"


def _choice(field: Field, text: str, _: Fabric, origin: Origin) -> Known[str]:
    if text not in field.choices:
        raise InputError(field.what, expected=" or ".join(field.choices), got=text, next_step="Choose one of them")
    return Known(text, "", origin)


def _weight(_: Field, text: str, fabric: Fabric, origin: Origin) -> Known[float]:
    scale = _SCALE.fullmatch(text)
    if scale:
        grams = _grams(scale[1])
        other = length(scale[3], what="second side of the rectangle", minimum_mm=1.0)
        side = scale[2]
        if re.fullmatch(r"\s*[\d.,]+\s*", side):  # '20 × 30 cm': the first side has the second's unit
            side = f"{side} {other.unit}"
        return weighed(grams, length(side, what="first side of the rectangle", minimum_mm=1.0).mm, other.mm)
    if re.fullmatch(r"\d+(?:[.,]\d+)?", text):
        text = f"{text} g/m²"
    width = fabric.listed_width.value or fabric.usable_width.value
    return weight(text, width_mm=width, origin=origin)


def _grams(text: str) -> float:
    return float(text.replace(",", ".")) if re.fullmatch(r"\d+(?:[.,]\d+)?", text) else 0.0


def scale_note(key: str, text: str) -> str:
    """How far a weight from a scale may be off, where the piece is light for the scale's step; else an empty text.

    The step is that of the last digit typed: a kitchen scale shows whole grams.
    """
    scale = _SCALE.fullmatch(text.strip()) if key == "weight" else None
    grams = 0.0 if scale is None else _grams(scale[1])
    if scale is None or grams <= 0:
        return ""
    digits = len(re.split("[.,]", scale[1])[1]) if re.search("[.,]", scale[1]) else 0
    off = weighed_error_percent(grams, 10.0**-digits)
    if off < _WORTH_SAYING:
        return ""
    return f"So light a piece may be off by {off:.0f} % on a scale that shows {10.0**-digits:g} g: weigh a larger one."


def _price(field: Field, text: str, _: Fabric, origin: Origin) -> Known[float]:
    match = _PRICE.fullmatch(text.strip().lower())
    if match is None:
        raise InputError(
            field.what,
            expected="a number, per metre or per yard",
            got=repr(text),
            next_step="Type it like 12.50 per yard",
        )
    found = price_per_metre(float(match[1].replace(",", ".")), "yd" if (match[2] or "m")[0] == "y" else "m")
    return replace(found, origin=origin)


def _fibre(field: Field, text: str, _: Fabric, origin: Origin) -> Known[dict[str, float]]:
    parts = [p.strip() for p in re.split(r"[,;+]|\band\b", text) if p.strip()]
    found: dict[str, float] = {}
    for part in parts:
        match = _SHARE.fullmatch(part)
        share = None if match is None else match[1] or match[3]
        if match is None or (share is None and len(parts) > 1):
            raise InputError(
                field.what,
                expected="shares and fibres",
                got=repr(text),
                next_step="Type it like 80 % cotton, 20 % linen",
            )
        name = match[2].strip().lower()
        found[name] = found.get(name, 0.0) + (100.0 if share is None else float(share.replace(",", ".")))
    if not 0 < sum(found.values()) <= SHARES_OVER_PERCENT:
        raise InputError(
            field.what, expected="shares that add up to 100 % at most", got=f"{sum(found.values()):g} %",
            next_step="Type it like 80 % cotton, 20 % linen",
        )  # fmt: skip
    return Known(found, "%", origin)


def _care(now: Known[dict[str, str]], axis: str, text: str, origin: Origin) -> Known[dict[str, str]]:
    if text and treatment(axis, text) is None:
        raise InputError(
            f"care, {axis}", expected="words as on a label", got=repr(text),
            next_step="Type it like 40 °C, hand wash, warm iron, line dry or do not bleach",
        )  # fmt: skip
    left = {k: v for k, v in (now.value or {}).items() if k != axis} | ({axis: text} if text else {})
    ordered = {a: left[a] for a in AXES if a in left}
    return Known(ordered, "", origin if text or now.origin is Origin.UNKNOWN else now.origin) if ordered else Known()


def _shown_length(mm: float, unit: str) -> str:
    per = {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
    return str(Length(length(f"{mm / per:.2f}").number, unit)) if unit != "mm" else f"{mm:g} mm"


def _shown_shares(value: Mapping[str, float], _: str) -> str:
    return ", ".join(f"{share:g} % {name}" for name, share in sorted(value.items(), key=lambda p: (-p[1], p[0])))


_READERS: dict[str, Callable[[Field, str, Fabric, Origin], Known[Any]]] = {
    "length": _length,
    "percent": _percent,
    "yes": lambda field, text, _, origin: Known(_yes(field.what, text), "", origin),
    "choice": _choice,
    "weight": _weight,
    "price": _price,
    "fibre": _fibre,
}

_SHOWERS: dict[str, Callable[[Any, str], str]] = {
    "length": _shown_length,
    "percent": lambda value, _: f"{value:g} %",
    "yes": lambda value, _: "yes" if value else "no",
    "choice": lambda value, _: str(value),
    "weight": lambda value, _: f"{value:.3g} g/m²" if value < 1000 else f"{value:.0f} g/m²",
    "price": lambda value, _: f"{value:.2f} per metre",
    "fibre": _shown_shares,
}
