"""A fabric: what a cloth looks like and what is known of it. Unknown is a proper value everywhere."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

T = TypeVar("T")
XY = tuple[float, float]
Lab = tuple[float, float, float]


class Origin(StrEnum):
    """Where a value comes from."""

    MEASURED = "measured"
    LABEL = "label"
    GUESS = "guess"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Known(Generic[T]):
    """A value with its unit and origin. ``value`` is None exactly when the origin is unknown."""

    value: T | None = None
    unit: str = ""
    origin: Origin = Origin.UNKNOWN

    def __post_init__(self) -> None:
        if (self.value is None) != (self.origin is Origin.UNKNOWN):
            raise ValueError(f"a value needs an origin and an unknown has none: {self.value!r}, {self.origin}")

    def __bool__(self) -> bool:
        """Whether the value is known."""
        return self.value is not None


class Kind(StrEnum):
    """What the surface shows."""

    SOLID = "solid"
    MELANGE = "melange"
    STRIPE = "stripe"
    CHECK = "check"
    PRINT = "print"


@dataclass(frozen=True, slots=True)
class Colour:
    """The colour of a cloth with its expected error.

    Attributes:
        lab: CIELAB, D65, L 0..100.
        expected_delta_e: expected CIEDE2000 difference from the real cloth.
        reason: why, in plain words ('daylight, grey ramp on the sheet').
        palette: the main colours as (lab, share), shares sum to 1, largest first.
        word: a basic colour word with light/dark/greyish ('dark greyish blue').
    """

    lab: Lab
    expected_delta_e: float
    reason: str
    palette: tuple[tuple[Lab, float], ...] = ()
    word: str = ""


@dataclass(frozen=True, slots=True)
class Texture:
    """A seamless tile of the cloth.

    Attributes:
        file: name of the tile picture (sRGB PNG) in the fabric's folder, or empty: paint the plain colour.
        mm_per_px: scale of the tile.
        scale_error_percent: expected error of that scale; None when the scale is a guess.
        repeat_mm: (along the width, along the length) repeat vectors' lengths, 0 where there is none.
        one_way: whether the print has an up and a down; None when not known.
    """

    file: str
    mm_per_px: float
    scale_error_percent: float | None = None
    repeat_mm: tuple[float, float] | None = None
    one_way: bool | None = None


@dataclass(frozen=True, slots=True)
class Remnant:
    """A piece of the cloth that is left.

    Attributes:
        name: the person's word for it.
        outline: measured outline, closed (first point not repeated), mm, y up.
        safe_outline: a little inside the measured one; what the lay uses.
        holes: outlines of holes and of flaws that are no-go, mm.
        grain_deg: direction of the lengthwise grain, counter-clockwise from +y; None when not known.
        photo: picture's content hash or file name, or empty.
        photo_mm_per_px: scale of that picture, which sees the cloth from straight above; None when not known.
        photo_corner_mm: where the picture's upper left corner lies, in the outline's mm; None when not known.
    """

    name: str
    outline: tuple[XY, ...]
    safe_outline: tuple[XY, ...]
    holes: tuple[tuple[XY, ...], ...] = ()
    grain_deg: float | None = None
    photo: str = ""
    photo_mm_per_px: float | None = None
    photo_corner_mm: XY | None = None


@dataclass(frozen=True, slots=True)
class Fabric:
    """One cloth in the stash.

    Every :class:`Known` says its unit. ``weight`` is in g/m²; ``thickness`` mm; widths and lengths mm; ``stretch`` and
    ``shrinkage`` in percent along the width (weft, course) and the length (warp, wale); ``fibre`` maps fibre names to
    percent; ``care`` maps the ISO 3758 axes (wash, bleach, dry, iron, professional) to the person's words. ``reading``
    names what was kept of the photo it was read from (:mod:`swatches.kept`), or is empty.
    """

    id: str
    name: str
    colour: Colour
    kind: Kind = Kind.SOLID
    texture: Texture | None = None
    owned: bool = True
    fibre: Known[dict[str, float]] = Known()
    weight: Known[float] = Known()
    thickness: Known[float] = Known()
    structure: Known[str] = Known()  # woven, knit, felt
    stretch_width: Known[float] = Known()
    stretch_length: Known[float] = Known()
    faces_alike: Known[bool] = Known()
    face_photographed: Known[str] = Known()  # right side, wrong side
    show_through: Known[bool] = Known()
    listed_width: Known[float] = Known()
    usable_width: Known[float] = Known()
    length_left: Known[float] = Known()
    nap: Known[bool] = Known()
    prewashed: Known[bool] = Known()
    shrinkage_width: Known[float] = Known()
    shrinkage_length: Known[float] = Known()
    bleeds: Known[bool] = Known()
    care: Known[dict[str, str]] = Known()
    price_per_metre: Known[float] = Known()
    remnants: tuple[Remnant, ...] = ()
    warnings: tuple[str, ...] = ()
    note: str = ""
    reading: str = ""
