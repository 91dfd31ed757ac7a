"""The record of a cloth as the page shows it: every field in words, with 'don't know yet' and where it is from."""

from __future__ import annotations

from typing import Any

from swatches.care import AXES
from swatches.errors import InputError
from swatches.fabric import Fabric, Origin
from swatches.record import FIELDS, origin_of, shown
from ui.parts.lengths import with_unit

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("How much, and what it costs", ("length_left", "usable_width", "listed_width", "price_per_metre")),
    ("What it is made of", ("fibre", "weight", "thickness", "structure")),
    (
        "How it behaves",
        (
            "nap", "faces_alike", "face_photographed", "show_through", "stretch_width", "stretch_length", "prewashed",
            "shrinkage_width", "shrinkage_length", "bleeds",
        ),
    ),
    ("Care", tuple(f"care.{axis}" for axis in AXES)),
)  # fmt: skip
LABELS = {
    "usable_width": "Usable width", "listed_width": "Width on the label", "length_left": "Length left",
    "price_per_metre": "Price", "fibre": "Fibre", "weight": "Weight", "thickness": "Thickness",
    "structure": "Woven or knit", "face_photographed": "Side in the photo", "faces_alike": "Both sides look alike",
    "show_through": "Shows through", "nap": "One-way (nap or print)", "stretch_width": "Stretches across",
    "stretch_length": "Stretches along", "prewashed": "Washed already", "shrinkage_width": "Shrinks across",
    "shrinkage_length": "Shrinks along", "bleeds": "Bled in a damp test", "care.wash": "Washing",
    "care.bleach": "Bleaching", "care.dry": "Drying", "care.iron": "Ironing",
    "care.professional": "Dry-cleaning",
}  # fmt: skip
HINTS = {
    "weight": "180 g/m², 6 oz/yd², 9 oz per linear yard, or from a scale: 42 g for 20 × 30 cm",
    "fibre": "80 % cotton, 20 % linen",
    "price_per_metre": "12.50, or 12.50 per yard",
    "care.wash": "40 °C, or hand wash", "care.bleach": "do not bleach", "care.dry": "line dry, or flat",
    "care.iron": "cool, warm or hot", "care.professional": "yes, gentle, or no",
    "bleeds": "Press it damp on white overnight",
}  # fmt: skip
HOW = (("label", "from its label"), ("measured", "measured"), ("guess", "my guess"))


def record_scene(fabric: Fabric, unit: str) -> list[dict[str, Any]]:
    """Every field that can be written down: what is known, and where from."""
    return [
        {
            "title": title,
            "fields": [
                {
                    "key": key,
                    "label": LABELS[key],
                    "choices": list(FIELDS[key].choices) or (["yes", "no"] if FIELDS[key].kind == "yes" else []),
                    "text": shown(fabric, key, unit),
                    "how": origin_of(fabric, key).value,
                    "hint": HINTS.get(key, ""),
                }
                for key in keys
            ],
        }
        for title, keys in GROUPS
    ]


def typed(key: str, text: str, unit: str) -> str:
    """What a field of the page means: a bare length is in the person's unit, but a thickness is always in mm."""
    return with_unit(text, unit) if text and FIELDS[key].kind == "length" and key != "thickness" else text


def origin(how: str) -> Origin:
    """Where a value comes from, as the page says it.

    Raises:
        InputError: it is none of those offered.
    """
    if how not in [value for value, _ in HOW]:
        raise InputError("where it is from", expected="one of those offered", got=how, next_step="Choose one of them")
    return Origin(how)
