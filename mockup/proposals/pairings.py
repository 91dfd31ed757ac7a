"""Which cloth goes where: choices that are good in different ways, each with its figures and its reason.

All assignments of the cloths to the groups of panels are counted; what cannot be (too little cloth, no way to clean, a
pair that a check stops) is left out first. Of the others those stay that no other one beats: that is, is nowhere less
and somewhere better. How many different cloths a garment has is taste and no figure, so a choice is compared with those
of as many cloths only. There is no score that adds figures up, and no measure of colour harmony: none is known to hold
for cloth beside cloth.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mockup.checks.scene import Scene
from mockup.proposals import figures as fig
from mockup.proposals.groups import front_with_back, groups_of, meetings_of, seen_areas
from mockup.proposals.search import EXACT_UP_TO, Found, search
from mockup.proposals.undominated import diverse, shares
from mockup.proposals.why import best_for, gives_up, not_known, reasons
from swatches.errors import InputError
from swatches.job import QUIET, Job

MOST = 24
"""Most choices that are given."""
_OTHER_CLOTH = 2.0  # how far apart two choices are that share no cloth anywhere; figures alone reach 1
_ONE_MORE = 0.3  # how far apart a choice is from one with one cloth more
_MOST_FABRICS = 200


@dataclass(frozen=True, slots=True)
class Pairing:
    """One choice of cloth.

    Attributes:
        fabrics: panel id → fabric id.
        cloths: how many different ones.
        contrast_delta_e: smallest CIEDE2000 difference of two different cloths that meet; 0 where none do.
        luminance_ratio: smallest WCAG 2.2 contrast ratio of these, 1 to 21.
        told_apart_delta_e: smallest CIEDE2000 difference as seen without red, green or blue cones.
        used_up_share: of the cloth taken out of the cupboard, the share that ends in the garment; None where no areas
            are known.
        weight_clashes: seams at which a heavier cloth hangs from a lighter one, or a weight is not known.
        wash_rank: severity of the wash that the mix bears (ISO 3758), −1 where a cloth does not say.
        to_buy: cloth that is not owned yet, in ``Pairings.to_buy_unit``; at least, since a lay takes more.
        best_for: the figures in which no other one of as many cloths is better, and which are not poor for all that,
            in plain words.
        why: sentences.
        gives_up: the figures in which others are much better, unless this one is good enough, in plain words.
    """

    fabrics: dict[str, str]
    cloths: int
    contrast_delta_e: float
    luminance_ratio: float
    told_apart_delta_e: float
    used_up_share: float | None
    weight_clashes: int
    wash_rank: int
    to_buy: float
    best_for: tuple[str, ...]
    why: tuple[str, ...]
    gives_up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pairings:
    """Choices of cloth that are good in different ways.

    Attributes:
        found: the choices, at most as many as were asked for.
        possible: how many assignments there are of the open groups.
        allowed: how many of them can be made; None where not all were looked at.
        looked_at: how many were compared.
        share: of the possible ones, how much is settled, 0 to 1.
        exact: whether all were.
        good_in_different_ways: how many there are that no other one beats, of those that were looked at.
        to_buy_unit: 'price', 'm²' or 'share'.
        notes: what is not known, and what was looked at, one sentence each.
    """

    found: tuple[Pairing, ...]
    possible: int
    allowed: int | None
    looked_at: int
    share: float
    exact: bool
    good_in_different_ways: int
    to_buy_unit: str
    notes: tuple[str, ...]


def pairings(
    scene: Scene,
    *,
    pairs: Sequence[Sequence[str]] | None = None,
    keep: Mapping[str, str] | None = None,
    leave: Collection[str] = (),
    fabrics: Sequence[str] | None = None,
    areas_mm2: Mapping[str, float] | None = None,
    lines_show: bool = True,
    with_stops: bool = False,
    cloths: tuple[int, int] = (1, 99),
    most: int = MOST,
    seed: int = 0,
    exact_up_to: int = EXACT_UP_TO,
    job: Job = QUIET,
) -> Pairings:
    """Suggest cloth for the panels.

    Args:
        scene: the garment; its own choice of cloth does not matter.
        pairs: lists of panels that follow each other, besides twins; None: front and back of the same name.
        keep: panel id → fabric that it keeps.
        leave: panels that are left as they are.
        fabrics: ids to choose from; None: all of the project.
        areas_mm2: panel id → cloth that it takes, with allowances, from the pattern pieces; None: by the pictures.
        lines_show: whether two different cloths must meet at every style line.
        with_stops: whether pairs that a check stops are allowed.
        cloths: fewest and most different cloths.
        most: how many choices are wanted, 1 to 24.
        seed: where not all assignments can be looked at.
        exact_up_to: how many are looked at one by one.
        job: progress and cancellation.

    Raises:
        InputError: no panels or cloth to choose from, or one that does not exist.
    """
    groups = groups_of(scene, pairs=front_with_back(scene) if pairs is None else pairs, keep=keep, leave=leave)
    chosen_from = _fabrics(scene, fabrics, [g.given for g in groups if g.given])
    if all(g.given for g in groups):
        raise InputError(
            "panels", expected="at least one whose cloth is open", got="none", next_step="Keep or leave fewer panels"
        )
    if areas_mm2 is not None and all(p in areas_mm2 for g in groups for p in g.panels):
        areas: Sequence[float] | None = [sum(areas_mm2[p] for p in g.panels) for g in groups]
        by = "comes from the pattern pieces"
    else:
        areas, by = seen_areas(scene, groups), "is judged by the pictures"
    job.step("Measuring the cloths against each other", 0.0)
    p = fig.problem(
        scene, groups, meetings_of(scene, groups), fabrics=chosen_from, areas=areas, lines_show=lines_show,
        with_stops=with_stops, cloths=cloths,
    )  # fmt: skip
    result = search(p, seed=seed, exact_up_to=exact_up_to, job=job)
    kinds, code = fig.cloths(result.chosen), fig.codes(result.figures)
    picked = diverse(code, kinds, _where(p, result), min(most, MOST))
    standing = shares(code, kinds)
    found = tuple(
        _pairing(scene, p, result, k, standing[k], np.ptp(code[kinds == kinds[k]], axis=0) > 0) for k in picked
    )
    notes = [
        _said(result),
        "A choice is compared with those of as many cloths only.",
        *not_known(p, by if areas is not None else ""),
    ]
    return Pairings(
        found,
        result.possible,
        result.allowed,
        result.looked_at,
        result.share,
        result.exact,
        len(result.chosen),
        p.to_buy,
        tuple(notes),
    )


def _fabrics(scene: Scene, ids: Sequence[str] | None, given: Sequence[str]) -> list[Any]:
    known = {f.id: f for f in scene.project.fabrics}
    wanted = list(dict.fromkeys([*(known if ids is None else ids), *given]))
    for fabric in wanted:
        if fabric not in known:
            raise InputError(
                "cloth", expected="a cloth of the project", got=repr(fabric), next_step="Add the cloth first"
            )
    if not 1 <= len(wanted) <= _MOST_FABRICS:
        raise InputError(
            "cloths to choose from",
            expected=f"1 to {_MOST_FABRICS}",
            got=str(len(wanted)),
            next_step="Add cloth to the project" if not wanted else "Name the cloths that come into question",
        )
    return [known[i] for i in wanted]


def _where(p: fig.Problem, result: Found) -> NDArray[np.float64]:
    """Which cloth lies where, and how many there are, so that distances are shares of the garment that differ."""
    n = len(p.fabrics)
    flat = np.zeros((len(result.chosen), len(p.groups) * n + 1))
    flat[:, -1] = fig.cloths(result.chosen) * _ONE_MORE
    total = sum(g.share for g in p.groups) or 1.0
    for g, group in enumerate(p.groups):
        flat[np.arange(len(flat)), g * n + result.chosen[:, g]] = _OTHER_CLOTH / 2 * group.share / total
    return flat


def _pairing(
    scene: Scene, p: fig.Problem, result: Found, k: int, standing: NDArray[np.float64], varies: NDArray[np.bool_]
) -> Pairing:
    row, values = result.chosen[k], result.figures[k]
    fabrics = {panel: p.fabrics[f].id for g, f in zip(p.groups, row, strict=True) for panel in g.panels}
    return Pairing(
        dict(sorted(fabrics.items())),
        len(set(fabrics.values())),
        float(values[fig.CONTRAST]),
        float(values[fig.LIGHT]),
        float(values[fig.TOLD_APART]),
        None if p.areas is None else float(values[fig.USED_UP]),
        int(values[fig.CLASHES]),
        int(values[fig.WASH]),
        float(values[fig.TO_BUY]),
        best_for(scene, standing, varies, values),
        reasons(scene, p, row, values),
        gives_up(scene, standing, values),
    )


def _said(result: Found) -> str:
    if result.exact:
        kept = "" if result.allowed == result.possible else f"; {result.allowed:,} of them pass all that was asked for"
        return f"All {result.possible:,} choices were counted{kept}.".replace(",", " ")
    share = 100 * result.share
    part = f"{share:.0f} %" if share >= 1 else f"{share:.2g} %"
    return (
        f"There are too many choices to look at each: {result.looked_at:,} of {result.possible:,} were compared "
        f"({part}), so a better one may exist."
    ).replace(",", " ")
