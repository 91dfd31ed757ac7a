"""Families of lines: presets, or the person's own lines, with one length that may change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mockup.project import Project
from mockup.proposals.line_range import moved_up
from mockup.stylelines import presets
from mockup.stylelines.carry import carry
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import StyleLine
from swatches.errors import InputError


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """Lines with a position.

    Attributes:
        name: the person's word: 'yoke'.
        positions_mm: the positions that are tried, in the order in which they are.
        lines_at: gives the lines at a position; raises GeometryError where they cannot run.
    """

    name: str
    positions_mm: tuple[float, ...]
    lines_at: Callable[[float], tuple[StyleLine, ...]]


OWN = "your lines"
"""Name of the family of lines that the person drew: its position says how far they are moved up."""


def position_words(family: str, position_mm: float) -> str:
    """Say where the lines of a family run: 'yoke, 90 mm', 'your lines, as they are', 'your lines, 30 mm higher'."""
    if family != OWN:
        return f"{family}, {position_mm:g} mm"
    way = "higher" if position_mm > 0 else "lower"
    return f"{OWN}, {abs(position_mm):g} mm {way}" if position_mm else f"{OWN}, as they are"


def own_lines(project: Project, positions_mm: Sequence[float] = (0.0, -30.0, 30.0, -60.0, 60.0)) -> Family:
    """The project's lines, all moved up by the position."""
    ids = [line.id for line in project.lines]
    return Family(OWN, tuple(positions_mm), lambda up: moved_up(project.lines, ids, up, project.views))


def yokes(project: Project, positions_mm: Sequence[float] = (90.0, 60.0, 120.0, 150.0)) -> Family:
    """A level yoke, the position down the armhole from the shoulder tip."""
    return Family("yoke", tuple(positions_mm), lambda d: _both(project, lambda v, n: presets.yoke(v, d, first=n)))


def hem_bands(project: Project, positions_mm: Sequence[float] = (120.0, 80.0, 160.0, 200.0)) -> Family:
    """A band along the hem, the position its height."""
    return Family(
        "hem band", tuple(positions_mm), lambda d: _both(project, lambda v, n: presets.hem_band(v, d, first=n))
    )


def bands(project: Project, positions_mm: Sequence[float] = (120.0, 180.0, 60.0, 220.0)) -> Family:
    """A level band of 120 mm, the position down the side seam from the underarm."""
    return Family(
        "band", tuple(positions_mm), lambda d: _both(project, lambda v, n: presets.band(v, d, 120.0, first=n))
    )


def usual(project: Project) -> tuple[Family, ...]:
    """The person's own lines, where there are some, and three presets."""
    families = (yokes(project), hem_bands(project), bands(project))
    return (own_lines(project), *families) if project.lines else families


KINDS: dict[str, tuple[Callable[[Project], Family], float]] = {
    "own": (own_lines, -1000.0), "yoke": (yokes, 0.0), "hem band": (hem_bands, 0.0), "band": (bands, 0.0),
}  # fmt: skip
"""Families by the word that asks for them, each with the least position that it can have, mm."""

_MANY = 5  # positions of a range, besides the ends no more than are told apart by eye


def ranged(project: Project, kind: str, low_mm: float | None = None, high_mm: float | None = None) -> Family:
    """A family of :data:`KINDS`, with its positions spread over a range, from the middle outwards.

    Args:
        project: the project.
        kind: which family.
        low_mm: the least position; None: as usual.
        high_mm: the greatest; None: as usual.

    Raises:
        InputError: no such family, or a range that runs backwards or past a metre.
    """
    if kind not in KINDS:
        raise InputError("lines", expected=f"one of: {', '.join(KINDS)}", got=kind, next_step="Choose one of them")
    make, least = KINDS[kind]
    family = make(project)
    low = min(family.positions_mm) if low_mm is None else low_mm
    high = max(family.positions_mm) if high_mm is None else high_mm
    if not least <= low <= high <= 1000.0:
        raise InputError(
            f"range of the {family.name}", expected="its smaller length first, and none beyond 1000 mm",
            got=f"{low:g} mm to {high:g} mm", next_step="Type the two lengths anew",
        )  # fmt: skip
    if low_mm is None and high_mm is None:
        return family
    spread = sorted({round(float(x), 1) for x in np.linspace(low, high, _MANY)})
    middle = (low + high) / 2
    return replace(family, positions_mm=tuple(sorted(spread, key=lambda x: (abs(x - middle), -x))))


def _both(project: Project, preset: Callable[..., tuple[StyleLine, ...]]) -> tuple[StyleLine, ...]:
    """A preset on the front (or the only view), carried over to the other side."""
    first, *others = primary_views(project.views)
    lines = preset(first, 1)
    for view in others:
        for line in preset(first, 1):
            lines = (*lines, carry(line, lines, view.side, project.views))
    return lines
