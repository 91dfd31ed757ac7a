"""The plain figures that choices of cloth are compared by, for many assignments at once.

Every figure stands alone: nothing is added up to one score. Figures are compared as they are shown, in steps: a
difference that is not shown is no advantage.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from mockup.checks.bleed import bleed
from mockup.checks.contrast import luminance_ratio
from mockup.checks.finding import Grade
from mockup.checks.scene import Scene, Seam
from mockup.checks.shrinkage import shrinkage
from mockup.checks.stretch import stretch
from mockup.checks.weight import weight
from mockup.colourways.colour_vision import COLOUR_BLIND, linear_as_seen
from mockup.colourways.colourway import Colourway
from mockup.project import Project
from mockup.proposals.groups import Group, Meeting
from swatches.care import treatment
from swatches.colour import delta_e_2000, lab_to_linear, linear_to_lab
from swatches.fabric import Fabric

Assignments = NDArray[np.int16]
"""Shape (n, groups): index of the fabric of each group."""
Floats = NDArray[np.float64]
USUAL_WIDTH_MM = 1400.0
"""Taken for the price where a width is not known; 140 cm is a width that is sold (common practice)."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure.

    Attributes:
        key: its name in files.
        words: what it is good for, in the person's words.
        sign: 1 where more is better, −1 where less is.
        step: smallest difference that is shown, and that counts.
    """

    key: str
    words: str
    sign: int
    step: float


FIGURES = (
    Figure("contrast_delta_e", "lines that show", 1, 1.0),
    Figure("luminance_ratio", "light against dark", 1, 0.1),
    Figure("told_apart_delta_e", "colour-blind viewers", 1, 1.0),
    Figure("used_up_share", "using up what is left", 1, 0.01),
    Figure("weight_clashes", "cloths of like weight", -1, 1.0),
    Figure("wash_rank", "easy washing", 1, 1.0),
    Figure("to_buy", "buying little", -1, 0.01),
)
CONTRAST, LIGHT, TOLD_APART, USED_UP, CLASHES, WASH, TO_BUY = range(len(FIGURES))
_AT_A_SEAM = (weight, stretch, shrinkage, bleed)
_PAIRWISE = 4  # contrast, luminance ratio, told apart, weight clashes
NOT_SAID = -1.0
"""Wash rank of a mix in which a cloth does not say how it is washed."""


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """All that is needed to judge assignments; arrays are read-only.

    Attributes:
        fabrics: n cloths.
        groups: k groups.
        meetings: which groups are sewn to each other.
        allowed: shape (k, n): which cloth each group may have.
        tables: shape (meetings, n · n, 4): smallest difference, luminance ratio, smallest difference to colour-blind
            viewers (infinite for equal cloth), and seams at which weights clash or are not known.
        apart: shape (meetings, n · n): pairs that may not meet there.
        areas: shape (k,), mm², or None where they are not known.
        left: shape (n,), mm² of cloth that is left; infinite where it is not known or still to be bought.
        prices: shape (n,): what a mm² (without areas: the whole garment) of a cloth counts; 0 where it is owned.
        to_buy: what the last figure is: 'price' in the money of the cloths' prices, 'm²', or 'share' of the garment.
        wash: shape (n,), rank of ISO 3758's wash axis, −1 where not said.
        clean: shape (n,), rank of professional care, −1 where not said.
        cloths: fewest and most different cloths.
    """

    fabrics: tuple[Fabric, ...]
    groups: tuple[Group, ...]
    meetings: tuple[Meeting, ...]
    allowed: NDArray[np.bool_]
    tables: NDArray[np.float32]
    apart: NDArray[np.bool_]
    areas: Floats | None
    left: Floats
    prices: Floats
    to_buy: str
    wash: NDArray[np.int16]
    clean: NDArray[np.int16]
    cloths: tuple[int, int] = (1, 99)

    @property
    def possible(self) -> int:
        """How many assignments there are before any constraint, of the groups that are open."""
        return math.prod(len(self.fabrics) for group in self.groups if not group.given)


def problem(
    scene: Scene,
    groups: Sequence[Group],
    meetings: Sequence[Meeting],
    *,
    fabrics: Sequence[Fabric],
    areas: Sequence[float] | None,
    lines_show: bool = True,
    with_stops: bool = False,
    cloths: tuple[int, int] = (1, 99),
) -> Problem:
    """Measure every cloth, and every pair of cloths at every meeting, once.

    Args:
        scene: the garment, with its table of limits.
        groups: what gets cloth.
        meetings: their seams.
        fabrics: cloths to choose from.
        areas: cloth that each group takes, mm², or None.
        lines_show: whether two different cloths must meet at every style line.
        with_stops: whether pairs that a check would stop are allowed.
        cloths: fewest and most different cloths of a choice.
    """
    n = len(fabrics)
    index = {f.id: i for i, f in enumerate(fabrics)}
    allowed = np.ones((len(groups), n), dtype=bool)
    for k, group in enumerate(groups):
        if group.given:
            allowed[k] = np.arange(n) == index[group.given]
    left = np.array([cloth_left(f) or np.inf for f in fabrics])
    sizes = None if areas is None else np.asarray(areas, dtype=np.float64)
    if sizes is not None:
        allowed &= sizes[:, None] <= left[None, :]
    prices, to_buy = _prices(fabrics, known=sizes is not None)
    looks = _looks(fabrics)
    tables = np.empty((len(meetings), n * n, _PAIRWISE), dtype=np.float32)
    apart = np.zeros((len(meetings), n, n), dtype=bool)
    judged: dict[tuple[object, ...], tuple[NDArray[np.bool_], Floats]] = {}
    for m, meeting in enumerate(meetings):
        tables[m, :, :3] = looks
        clashes = np.zeros((n, n))
        for seam in meeting.seams:
            stops, clash = _judged(scene, seam, fabrics, judged)
            clashes += clash
            if not with_stops:
                apart[m] |= stops
        tables[m, :, 3] = clashes.reshape(-1)
        if lines_show and meeting.drawn and not (groups[meeting.a].given and groups[meeting.b].given):
            apart[m] |= np.eye(n, dtype=bool)
    wash, clean = (np.array([_rank(axis, f) for f in fabrics], dtype=np.int16) for axis in ("wash", "professional"))
    arrays = (allowed, tables, apart, left, prices, wash, clean, *(() if sizes is None else (sizes,)))
    for array in arrays:
        array.flags.writeable = False
    return Problem(
        tuple(fabrics), tuple(groups), tuple(meetings), allowed, tables, apart.reshape(len(meetings), n * n), sizes,
        left, prices, to_buy, wash, clean, cloths,
    )  # fmt: skip


def figures(p: Problem, chosen: Assignments) -> Floats:
    """Give the figures of assignments, shape (n, 7), in the order of :data:`FIGURES`."""
    n = len(p.fabrics)
    worst = np.full((len(chosen), 3), np.inf, dtype=np.float32)
    clashes = np.zeros(len(chosen), dtype=np.float32)
    for m, meeting in enumerate(p.meetings):
        pair = chosen[:, meeting.a].astype(np.intp) * n + chosen[:, meeting.b]
        row = p.tables[m][pair]
        np.minimum(worst, row[:, :3], out=worst)
        clashes += row[:, 3]
    worst[~np.isfinite(worst)] = 0.0  # one cloth all over: no line shows
    found = np.zeros((len(chosen), len(FIGURES)))
    found[:, [CONTRAST, LIGHT, TOLD_APART]] = worst
    found[:, CLASHES] = clashes
    found[:, WASH] = p.wash[chosen].min(axis=1)
    sizes = np.array([g.share for g in p.groups]) if p.areas is None else p.areas
    found[:, TO_BUY] = p.prices[chosen] @ sizes
    if p.areas is not None:
        found[:, USED_UP] = _used_up(p, chosen, p.areas)
    return found


def codes(found: Floats) -> NDArray[np.int32]:
    """Figures in whole steps, more is better in every column."""
    steps = np.array([f.step for f in FIGURES])
    signs = np.array([f.sign for f in FIGURES])
    return np.asarray(np.rint(found / steps) * signs, dtype=np.int32)


def cloths(chosen: Assignments) -> NDArray[np.int16]:
    """How many different cloths each assignment has, shape (n,)."""
    ordered = np.sort(chosen, axis=1)
    return np.asarray((np.diff(ordered, axis=1) != 0).sum(axis=1) + 1, dtype=np.int16)


def compared(found: Floats, chosen: Assignments) -> NDArray[np.int32]:
    """Codes with two columns more, by which only choices of as many cloths can beat each other."""
    count = cloths(chosen).astype(np.int32)[:, None]
    return np.concatenate([codes(found), count, -count], axis=1)


def cloth_left(fabric: Fabric) -> float | None:
    """Area of an owned cloth, mm²: width times length, else its remnants; None where not known or not owned."""
    if not fabric.owned:
        return None
    if fabric.usable_width.value and fabric.length_left.value:
        return fabric.usable_width.value * fabric.length_left.value
    if fabric.remnants:
        return float(sum(shapely.Polygon(r.safe_outline, r.holes).area for r in fabric.remnants))
    return None


def _used_up(p: Problem, chosen: Assignments, areas: Floats) -> Floats:
    """Share of the cloth taken out of the cupboard that ends in the garment; unknown amounts count as not used up."""
    known = np.isfinite(p.left)
    owned = np.array([f.owned for f in p.fabrics])
    taken = np.zeros(len(chosen))
    opened = np.zeros(len(chosen))
    for f in np.flatnonzero(owned):
        used = (chosen == f) @ areas
        taken += used if known[f] else 0.0
        opened += np.where(used > 0, p.left[f], 0.0) if known[f] else used
    return np.divide(taken, opened, out=np.zeros_like(taken), where=opened > 0)


def _looks(fabrics: Sequence[Fabric]) -> NDArray[np.float32]:
    """Difference, luminance ratio and difference to colour-blind viewers of all pairs, shape (n · n, 3)."""
    lab = np.array([f.colour.lab for f in fabrics])
    linear = np.clip(lab_to_linear(lab), 0, 1)
    seen = [lab, *(linear_to_lab(linear_as_seen(linear, sight)) for sight in COLOUR_BLIND)]
    apart = [delta_e_2000(one[:, None], one[None]) for one in seen]
    ratio = np.array([[luminance_ratio(f.colour.lab, g.colour.lab) for g in fabrics] for f in fabrics])
    found = np.stack([apart[0], ratio, np.minimum.reduce(apart[1:])], axis=-1)
    found[np.eye(len(fabrics), dtype=bool)] = np.inf
    return found.reshape(-1, 3).astype(np.float32)


def _judged(
    scene: Scene,
    seam: Seam,
    fabrics: Sequence[Fabric],
    judged: dict[tuple[object, ...], tuple[NDArray[np.bool_], Floats]],
) -> tuple[NDArray[np.bool_], Floats]:
    """What the checks say of all pairs at one seam: which are stopped, and where weights clash or are not known."""
    upper = None if seam.upper is None else seam.upper == seam.a
    key = (upper, seam.upright, round(seam.length_mm))
    if key not in judged:
        n = len(fabrics)
        stops, clash = np.zeros((n, n), dtype=bool), np.zeros((n, n))
        for i, f in enumerate(fabrics):
            for j, g in enumerate(fabrics):
                if i == j:
                    continue
                pair = Project("", fabrics=(f, g))
                one = replace(
                    scene, project=pair, colourway=Colourway("", "", {seam.a: f.id, seam.b: g.id}), seams=(seam,)
                )
                for judge in _AT_A_SEAM:
                    for finding in judge(one):
                        stops[i, j] |= finding.grade is Grade.STOP
                        serious = finding.code == "weight" and finding.grade in (Grade.WARN, Grade.CANNOT_TELL)
                        clash[i, j] = max(clash[i, j], float(serious))
        judged[key] = stops, clash
    return judged[key]


def _prices(fabrics: Sequence[Fabric], *, known: bool) -> tuple[Floats, str]:
    """What a mm² of every cloth that is not owned counts: money where all have a price, else m², else a share."""
    wanted = [f for f in fabrics if not f.owned]
    if known and wanted and all(f.price_per_metre.value is not None for f in wanted):
        unit, each = "price", [_price_of_mm2(f) for f in fabrics]
    else:
        unit, each = ("m²", [1e-6] * len(fabrics)) if known else ("share", [1.0] * len(fabrics))
    return np.array([0.0 if f.owned else price for f, price in zip(fabrics, each, strict=True)]), unit


def _price_of_mm2(fabric: Fabric) -> float:
    return (fabric.price_per_metre.value or 0.0) / 1000 / (fabric.usable_width.value or USUAL_WIDTH_MM)


def _rank(axis: str, fabric: Fabric) -> int:
    found = treatment(axis, (fabric.care.value or {}).get(axis, ""))
    return int(NOT_SAID) if found is None else found.rank
