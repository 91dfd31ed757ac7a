"""Care treatments on the axes of ISO 3758, from a person's words, and what a mix of cloths can bear.

ISO 3758:2023: a symbol states the most severe treatment that does no lasting damage; so a garment of several cloths
takes the least severe of each axis. The steps of each axis are the standard's, from memory. Goods for sale have
labelling rules of their own; nothing here is a label.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

AXES = ("wash", "bleach", "dry", "iron", "professional")
AXIS_WORDS = dict(zip(AXES, ("washing", "bleaching", "drying", "ironing", "dry-cleaning"), strict=True))
"""The axes as a person says them."""

_STEPS: dict[str, tuple[str, ...]] = {
    "wash": (
        "do not wash", "hand wash",
        "30 °C, very mild", "30 °C, mild", "30 °C",
        "40 °C, very mild", "40 °C, mild", "40 °C",
        "50 °C, mild", "50 °C", "60 °C, mild", "60 °C", "70 °C", "95 °C",
    ),
    "bleach": ("do not bleach", "oxygen bleach only", "any bleach"),
    "dry": ("dry flat", "line dry", "tumble dry, low", "tumble dry"),
    "iron": ("do not iron", "cool iron, 110 °C", "warm iron, 150 °C", "hot iron, 200 °C"),
    "professional": ("do not dry-clean", "dry-clean, very mild", "dry-clean, mild", "dry-clean"),
}  # fmt: skip

_NOT = re.compile(r"\b(do not|don't|not|never|no)\b")
_VERY_MILD = re.compile(r"very (mild|gentle)")
_MILD = re.compile(r"mild|gentle|delicate|wool")


@dataclass(frozen=True, slots=True)
class Treatment:
    """One step of one axis. A lower rank is gentler; rank 0 of wash, bleach, iron and professional is 'do not'."""

    axis: str
    rank: int

    @property
    def words(self) -> str:
        """The step in plain words."""
        return _STEPS[self.axis][self.rank]

    @property
    def forbidden(self) -> bool:
        """Whether the step says 'do not'."""
        return self.rank == 0 and self.axis != "dry"


def treatment(axis: str, text: str) -> Treatment | None:
    """Read a person's words for one axis ('60 °C', 'hand wash, 30 °C', 'warm', 'flat'); None when nothing is said.

    A temperature between two steps counts as the lower one.
    """
    words = text.lower().strip()
    rank = _READERS[axis](words) if axis in _READERS and words else None
    return None if rank is None else Treatment(axis, rank)


def mildest(axis: str, cares: Sequence[Mapping[str, str]]) -> tuple[Treatment, int] | None:
    """Least severe treatment of one axis, and the index of the cloth that asks for it.

    None when any cloth does not say: a mix cannot be promised on a guess.
    """
    read = [treatment(axis, care.get(axis, "")) for care in cares]
    if not read or any(t is None for t in read):
        return None
    return min(((t, k) for k, t in enumerate(read) if t is not None), key=lambda pair: (pair[0].rank, pair[1]))


def care_line(cares: Sequence[Mapping[str, str]]) -> str:
    """The mix in one line; an axis that a cloth does not say is named as not known."""
    found = {axis: mildest(axis, cares) for axis in AXES}
    said = [pair[0].words for pair in found.values() if pair]
    unknown = [AXIS_WORDS[axis] for axis, pair in found.items() if not pair]
    line = "; ".join(said) if said else "nothing can be promised"
    return line + (f" (not known: {', '.join(unknown)})" if unknown else "")


def harmed_by_both(cares: Sequence[Mapping[str, str]]) -> bool:
    """Whether the mix bears neither washing nor dry cleaning (the case of 16 CFR 423.6(b))."""
    wash, clean = mildest("wash", cares), mildest("professional", cares)
    return bool(wash and clean and wash[0].forbidden and clean[0].forbidden)


def _wash(words: str) -> int | None:
    if _NOT.search(words):
        return 0
    if "hand" in words:
        return 1
    match = re.search(r"\d+", words)
    if not match:
        return None
    degrees = max((t for t in (30, 40, 50, 60, 70, 95) if t <= int(match[0])), default=None)
    if degrees is None:
        return 1  # cooler than the coolest programme: by hand
    grades = [f"{degrees} °C, very mild"] if _VERY_MILD.search(words) else []
    grades += [f"{degrees} °C, mild"] if _MILD.search(words) else []
    return next(_STEPS["wash"].index(g) for g in (*grades, f"{degrees} °C") if g in _STEPS["wash"])


def _bleach(words: str) -> int | None:
    if "chlorine" in words and re.search(r"non|no ", words):
        return 1
    if _NOT.search(words):
        return 0
    if "oxygen" in words:
        return 1
    return 2 if re.search(r"any|yes|chlorine", words) else None


def _dry(words: str) -> int | None:
    tumble = "tumble" in words
    if "flat" in words:
        return 0
    if re.search(r"line|drip|hang|shade|air", words) or (tumble and _NOT.search(words)):
        return 1
    return (2 if re.search(r"low|cool|60", words) or _MILD.search(words) else 3) if tumble else None


def _iron(words: str) -> int | None:
    if _NOT.search(words):
        return 0
    for rank, pattern in (
        (1, r"cool|low|110|one dot|·\b"),
        (2, r"warm|medium|150|two dot"),
        (3, r"hot|high|200|three dot"),
    ):
        if re.search(pattern, words):
            return rank
    return None


def _professional(words: str) -> int | None:
    if _NOT.search(words):
        return 0
    if _VERY_MILD.search(words):
        return 1
    if _MILD.search(words):
        return 2
    return 3 if re.search(r"dry|clean|yes|normal|any|p\b|f\b", words) else None


_READERS = {"wash": _wash, "bleach": _bleach, "dry": _dry, "iron": _iron, "professional": _professional}
