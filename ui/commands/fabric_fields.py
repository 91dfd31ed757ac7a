"""What a person may write down of a cloth: FIELD=VALUE."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from swatches.errors import InputError
from swatches.fabric import Fabric, Known, Origin
from swatches.units import millimetres

LENGTHS = ("thickness", "listed_width", "usable_width", "length_left")
PERCENTS = ("stretch_width", "stretch_length", "shrinkage_width", "shrinkage_length")
YES_NO = ("faces_alike", "show_through", "nap", "prewashed", "bleeds")
WORDS = {"structure": ("woven", "knit", "felt"), "face_photographed": ("right side", "wrong side")}
NUMBERS = {"weight": "g/m²", "price_per_metre": ""}
PLAIN = ("name", "note", "owned")


def changed(fabric: Fabric, changes: Sequence[str]) -> Fabric:
    """Give the fabric with FIELD=VALUE applied; what was typed has the origin 'label'.

    Raises:
        InputError: no such field, or a value that it cannot have.
    """
    for text in changes:
        field, equals, value = text.partition("=")
        field, value = field.strip().replace("-", "_"), value.strip()
        if not equals or field not in _FIELDS:
            raise InputError(
                "FIELD=VALUE",
                expected=f"one of {', '.join(sorted(_FIELDS))}",
                got=text,
                next_step="Type it like weight=180",
            )
        fabric = replace(fabric, **{field: _FIELDS[field](field, value)})
    return fabric


def _known(unit: str, read: Callable[[str, str], Any]) -> Callable[[str, str], Known[Any]]:
    def one(field: str, value: str) -> Known[Any]:
        return Known() if not value else Known(read(field, value), unit, Origin.LABEL)

    return one


def _length(field: str, value: str) -> float:
    return millimetres(value, what=field, minimum_mm=0.0)


def _number(field: str, value: str) -> float:
    try:
        number = float(value.removesuffix("%").removesuffix("g/m²").strip().replace(",", "."))
    except ValueError:
        number = -1.0
    if not 0 <= number < 1e5:
        raise InputError(field, expected="a number of 0 or more", got=value, next_step="Type it like 180")
    return number


def _yes(field: str, value: str) -> bool:
    if value.lower() not in ("yes", "no"):
        raise InputError(field, expected="yes or no", got=value, next_step="Leave it empty where you do not know")
    return value.lower() == "yes"


def _one_of(words: Sequence[str]) -> Callable[[str, str], str]:
    def one(field: str, value: str) -> str:
        if value not in words:
            raise InputError(field, expected=" or ".join(words), got=value, next_step="Choose one of them")
        return value

    return one


def _text(field: str, value: str) -> str:
    plain = " ".join("".join(c for c in value if c.isprintable()).split())
    if field == "name" and not plain:
        raise InputError("name", expected="a name", got="nothing", next_step="Say what you call the cloth")
    return plain[:200]


_FIELDS: dict[str, Callable[[str, str], Any]] = {
    **{field: _known("mm", _length) for field in LENGTHS},
    **{field: _known("%", _number) for field in PERCENTS},
    **{field: _known("", _yes) for field in YES_NO},
    **{field: _known(unit, _number) for field, unit in NUMBERS.items()},
    **{field: _known("", _one_of(words)) for field, words in WORDS.items()},
    "name": _text,
    "note": _text,
    "owned": _yes,
}
