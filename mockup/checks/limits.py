"""The limits that checks hold figures against; each says its source or 'our own choice', and each can be set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches

from swatches.errors import InputError

OWN = "our own choice"
PRACTICE = "common practice, no source"
YOURS = "yours"
"""Source of a limit that the person has set."""
THREADS_GOOD = "Threads 200, 2018, on walking seams: 1/16 in is good"
THREADS_WORKS = "Threads 200, 2018, on walking seams: 1/8 in works for many"
DERIVED = "derived: a tighter allowance folds over"
UNDERARM = "derived: what every set-in sleeve has at its underarm"
MOST = 100_000.0
"""Largest value that a limit may be set to."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit.

    Attributes:
        value: the number.
        unit: its unit, empty for a ratio.
        words: what it limits.
        source: where it comes from.
    """

    value: float
    unit: str
    words: str
    source: str

    def __str__(self) -> str:
        """Show the number with its unit."""
        return f"{self.value:g} {self.unit}".strip()


DEFAULTS: dict[str, Limit] = {
    "weight-ratio": Limit(1.5, "times", "a heavier cloth hanging from a lighter one", OWN),
    "weight-beside": Limit(2.5, "times", "cloths side by side", OWN),
    "thickness-ratio": Limit(2, "times", "thickness of the two cloths of a seam", OWN),
    "thickness-pile": Limit(6, "mm", "cloth on cloth under the presser foot", OWN),
    "stretch-need": Limit(1, "times", "stretch of the cloth to the stretch that the pattern needs", "derived"),
    "stretch-apart": Limit(10, "%", "stretch of the two sides of a seam, along it", OWN),
    "shrinkage-warn": Limit(1.6, "mm", "seam halves that shrink apart: take care above", THREADS_GOOD),
    "shrinkage-stop": Limit(3.2, "mm", "seam halves that shrink apart: stop above", THREADS_WORKS),
    "walk-warn": Limit(1.6, "mm", "difference of the two sides of a seam: take care above", THREADS_GOOD),
    "walk-stop": Limit(3.2, "mm", "difference of the two sides of a seam: stop above", THREADS_WORKS),
    "bleed-lightness": Limit(30, "L*", "a darker cloth beside a lighter one", OWN),
    "bleed-chroma": Limit(20, "C*", "a strong colour, or", OWN),
    "contrast": Limit(10, "ΔE00", "difference of neighbours that shows from a few steps away", OWN),
    "luminance-ratio": Limit(3, ": 1", "a cue that survives colour blindness", "WCAG 2.2, 1.4.11"),
    "show-through": Limit(25, "L*", "a darker allowance under pale cloth", OWN),
    "pale": Limit(75, "L*", "cloth that lets an allowance show", OWN),
    "bulk-margin": Limit(5, "mm", "beyond the two facing allowances of a junction", OWN),
    "layers": Limit(9, "layers", "cloth on cloth where seams meet, all pressed one way", UNDERARM),
    "radius-warn": Limit(4, "allowances", "radius of a curved seam: take care below", OWN),
    "radius-stop": Limit(1, "allowances", "radius of a curved seam: stop below", DERIVED),
    "sliver": Limit(30, "mm", "width of a panel at its widest", OWN),
    "kink": Limit(0.1, "°", "angle of a mirrored line at the fold", PRACTICE),
    "corner": Limit(15, "°", "turn of a line that is sewn as a point", OWN),
}  # fmt: skip


def limits(changed: Mapping[str, float] | None = None) -> dict[str, Limit]:
    """Give the table with some values set by the person; those say 'yours'.

    Raises:
        InputError: a limit that does not exist, or a value that is no positive number.
    """
    table = dict(DEFAULTS)
    for name, value in (changed or {}).items():
        if name not in table:
            near = get_close_matches(name, table, n=1, cutoff=0.5)
            raise InputError(
                "limit",
                expected="the name of one that there is" + (f", such as {near[0]}" if near else ""),
                got=repr(name),
                next_step="List them with mockup limits",
            )
        if not 0 < value <= MOST:
            raise InputError(
                f"limit {name}",
                expected=f"a number above 0, at most {MOST:.0f}",
                got=f"{value:g}",
                next_step=f"Type it like {name}={table[name].value:g}",
            )
        table[name] = replace(table[name], value=float(value), source=YOURS)
    return table
