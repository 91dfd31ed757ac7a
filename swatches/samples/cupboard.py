"""The choir's store cupboard: eight swatches with what is known of them, and four remnants. All of it is invented.

A sample's ``properties`` are fields of :class:`~swatches.fabric.Fabric`, so ``dataclasses.replace(fabric,
**sample.properties)`` completes what the photo tells. Some are unknown on purpose: a real cupboard is like that.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from shapely.geometry import Polygon

from swatches.fabric import XY, Fabric, Known, Origin, Remnant

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class SwatchSample:
    """One swatch.

    Attributes:
        id: id of the fabric that it becomes.
        name: the choir's word for it.
        photo: the photo with the A4 reference sheet in view.
        properties: fields of :class:`~swatches.fabric.Fabric` that a photo cannot tell.
    """

    id: str
    name: str
    photo: Path
    properties: dict[str, object] = field(default_factory=dict)

    def complete(self, fabric: Fabric) -> Fabric:
        """Give the fabric that was read from the photo, with the properties that the choir knows."""
        return replace(fabric, **self.properties)  # type: ignore[arg-type]


def _mm(value: float, origin: Origin = Origin.MEASURED) -> Known[float]:
    return Known(value, "mm", origin)


def _gsm(value: float, origin: Origin = Origin.MEASURED) -> Known[float]:
    return Known(value, "g/m²", origin)


def _percent(value: float, origin: Origin) -> Known[float]:
    return Known(value, "%", origin)


def _fibre(origin: Origin, **shares: float) -> Known[dict[str, float]]:
    return Known(dict(shares), "%", origin)


def _care(origin: Origin, **axes: str) -> Known[dict[str, str]]:
    return Known(dict(axes), "", origin)


_WOVEN = Known("woven", "", Origin.MEASURED)
_YES, _NO = Known(True, "", Origin.MEASURED), Known(False, "", Origin.MEASURED)
_RIGHT = Known("right side", "", Origin.MEASURED)


def _cut_round(points: tuple[XY, ...], step_mm: float = 22.0) -> tuple[XY, ...]:
    """Cut smoothly through points, as scissors do, but turn sharply where the way turns by more than 55°."""
    p = np.array(points)
    before, after = p - np.roll(p, 1, axis=0), np.roll(p, -1, axis=0) - p
    turn = np.angle((after[:, 0] + 1j * after[:, 1]) / (before[:, 0] + 1j * before[:, 1]), deg=True)
    sharp = np.flatnonzero(np.abs(turn) > 55)
    runs = [np.arange(len(p) + 1)] if len(sharp) < 2 else [
        np.arange(i, j + 1) for i, j in itertools.pairwise([*sharp, sharp[0] + len(p)])
    ]  # fmt: skip
    cut: list[NDArray[np.float64]] = []
    for run in runs:
        q = p[run % len(p)]
        way = np.r_[0, np.cumsum(np.linalg.norm(np.diff(q, axis=0), axis=1))]
        spline = CubicSpline(way, q, bc_type="periodic" if len(sharp) < 2 else "natural")
        cut.append(spline(np.linspace(0, way[-1], max(2, round(way[-1] / step_mm)) + 1))[:-1])
    return tuple((round(float(x), 1), round(float(y), 1)) for x, y in np.concatenate(cut))


def _remnant(name: str, points: tuple[XY, ...], grain_deg: float | None, hole: tuple[XY, ...] = ()) -> Remnant:
    """A remnant whose safe outline lies 0.75 mm inside the measured one."""
    outline = _cut_round(points)
    inside = Polygon(outline).buffer(-0.75, join_style="mitre")
    safe = tuple((round(float(x), 2), round(float(y), 2)) for x, y in inside.exterior.coords[:-1])
    return Remnant(name, outline, safe, (_cut_round(hole, 12.0),) if hole else (), grain_deg)


def _seen(cloth: str, remnant: Remnant) -> Remnant:
    """The remnant with its picture from above; see :mod:`swatches.samples.remnant_views`."""
    x0, y1 = min(x for x, _ in remnant.outline), max(y for _, y in remnant.outline)
    corner = (x0 - VIEW_AROUND_MM, y1 + VIEW_AROUND_MM)
    return replace(remnant, photo=f"remnant-{cloth}.jpg", photo_mm_per_px=VIEW_MM_PER_PX, photo_corner_mm=corner)


VIEW_MM_PER_PX, VIEW_AROUND_MM = 0.9, 4.0
"""Scale of the remnants' pictures, and how much of the ground they show."""
REMNANT_PHOTO = HERE / "remnants.jpg"
"""The trouser leg and the scarf end between four loose marker cards; see :mod:`swatches.samples.laid_out`."""
CARD_DISTANCE_MM = 1084.0
"""What a tape tells between the middles of cards 1 and 2 in that photo."""

REMNANTS: dict[str, tuple[Remnant, ...]] = {
    "spruce": (
        _remnant(
            "curtain corner",
            (
                (0, 0), (406, 9), (812, 14), (808, 150), (806, 302), (752, 306), (700, 318), (664, 336), (634, 362),
                (610, 396), (596, 436), (590, 478), (592, 520), (596, 556), (430, 553), (268, 548), (228, 528),
                (190, 500), (142, 503), (96, 512), (50, 489), (8, 470), (5, 236),
            ),
            0.0,
        ),
        _remnant(
            "curtain heading",
            (
                (0, 0), (620, -6), (1236, 4), (1241, 96), (1232, 204), (1100, 214), (958, 206), (842, 228), (706, 232),
                (540, 212), (388, 224), (216, 236), (92, 222), (6, 230), (-4, 110),
            ),
            90.0,
        ),
    ),
    "cord": (
        _remnant(
            "trouser leg",
            (
                (0, 0), (166, -8), (330, -12), (344, 110), (352, 240), (362, 388), (366, 520), (360, 618), (348, 700),
                (284, 712), (212, 672), (124, 706), (38, 726), (44, 580), (40, 420), (16, 206),
            ),
            2.0,
            ((138, 318), (172, 302), (206, 312), (220, 346), (204, 382), (168, 392), (138, 374), (128, 346)),
        ),
    ),
    "check": (
        _remnant(
            "scarf end",
            (
                (0, 0), (208, 4), (414, 2), (612, 8), (616, 108), (610, 216), (524, 222), (446, 226), (440, 318),
                (444, 418), (300, 424), (154, 416), (86, 380), (10, 330), (-2, 168),
            ),
            0.0,
        ),
    ),
}  # fmt: skip
"""The four remnants, by the id of their cloth. The trouser leg is worn through at the knee."""
SEEN_REMNANTS: dict[str, tuple[Remnant, ...]] = {
    cloth: tuple(_seen(cloth, r) if cloth in ("cord", "check") else r for r in remnants)
    for cloth, remnants in REMNANTS.items()
}
"""The same, two of them with their pictures from above, which lie beside this file."""


def _sample(sample_id: str, name: str, **properties: object) -> SwatchSample:
    if sample_id in REMNANTS:
        properties["remnants"] = REMNANTS[sample_id]
    return SwatchSample(sample_id, name, HERE / f"{sample_id}.jpg", properties)


SWATCHES: tuple[SwatchSample, ...] = (
    _sample(
        "spruce",
        "spruce wool-mix, from the stage curtain",
        weight=_gsm(310),
        fibre=_fibre(Origin.GUESS, wool=60, polyester=40),
        structure=_WOVEN,
        faces_alike=_YES,
        usable_width=_mm(1360),
        length_left=_mm(2300),
        nap=_NO,
        note="Faded along one edge; cut away from it.",
    ),
    _sample(
        "ochre",
        "mustard linen, from the parish tablecloths",
        weight=_gsm(215),
        fibre=_fibre(Origin.LABEL, linen=100),
        structure=_WOVEN,
        faces_alike=_YES,
        usable_width=_mm(1380),
        length_left=_mm(1250),
        nap=_NO,
        prewashed=_YES,
        shrinkage_width=_percent(2, Origin.GUESS),
        shrinkage_length=_percent(3, Origin.GUESS),
        bleeds=_NO,
        care=_care(Origin.LABEL, wash="60 °C", iron="hot", dry="line"),
    ),
    _sample(
        "oat",
        "undyed wool, a gift from the hill farm",
        weight=_gsm(285),
        fibre=_fibre(Origin.LABEL, wool=100),
        structure=_WOVEN,
        faces_alike=_YES,
        usable_width=_mm(1420),
        length_left=_mm(1700),
        nap=_NO,
        prewashed=_NO,
        shrinkage_width=_percent(4, Origin.GUESS),
        shrinkage_length=_percent(6, Origin.GUESS),
        bleeds=_NO,
        care=_care(Origin.LABEL, wash="hand wash, 30 °C", iron="warm", dry="flat", professional="gentle"),
    ),
    _sample(
        "ticking",
        "midnight ticking, from mattress covers",
        weight=_gsm(235),
        fibre=_fibre(Origin.GUESS, cotton=100),
        structure=_WOVEN,
        usable_width=_mm(870),
        length_left=_mm(1900),
        nap=_NO,
        prewashed=_YES,
        bleeds=_NO,
        care=_care(Origin.GUESS, wash="60 °C", iron="hot"),
    ),
    _sample(
        "check",
        "winter check, left from the scarves",
        fibre=Known(),
        structure=_WOVEN,
        faces_alike=_YES,
        usable_width=_mm(900),
        length_left=_mm(720),
        note="Nobody remembers what it is made of.",
    ),
    _sample(
        "stars",
        "midnight star cotton, in the shop",
        owned=False,
        weight=_gsm(135, Origin.LABEL),
        fibre=_fibre(Origin.LABEL, cotton=100),
        structure=_WOVEN,
        face_photographed=_RIGHT,
        listed_width=_mm(1120, Origin.LABEL),
        nap=_NO,
        price_per_metre=Known(8.5, "per metre", Origin.LABEL),
        care=_care(Origin.LABEL, wash="40 °C", iron="warm"),
    ),
    _sample(
        "sprig",
        "fir sprig cotton, end of the bolt",
        weight=_gsm(145),
        fibre=_fibre(Origin.LABEL, cotton=100),
        structure=_WOVEN,
        face_photographed=_RIGHT,
        usable_width=_mm(1080),
        length_left=_mm(1450),
        nap=_YES,
        shrinkage_width=_percent(3, Origin.GUESS),
        shrinkage_length=_percent(4, Origin.GUESS),
        care=_care(Origin.LABEL, wash="40 °C", iron="warm"),
    ),
    _sample(
        "cord",
        "madder corduroy, from outgrown trousers",
        weight=_gsm(305),
        fibre=_fibre(Origin.LABEL, cotton=98, elastane=2),
        structure=_WOVEN,
        face_photographed=_RIGHT,
        usable_width=_mm(1440),
        length_left=_mm(1150),
        nap=_YES,
        bleeds=_YES,
        care=_care(Origin.LABEL, wash="30 °C", iron="cool, from the back"),
    ),
)
"""The eight swatches; 'not bought yet' is one of them, and of the check not even the fibre is known."""
