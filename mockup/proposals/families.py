"""Families of lines: presets, or the person's own lines, with one length that may change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from mockup.project import Project
from mockup.proposals.line_range import moved_up
from mockup.stylelines import presets
from mockup.stylelines.carry import carry
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import StyleLine


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


def own_lines(project: Project, positions_mm: Sequence[float] = (0.0, -30.0, 30.0, -60.0, 60.0)) -> Family:
    """The project's lines, all moved up by the position."""
    ids = [line.id for line in project.lines]
    return Family("your lines", tuple(positions_mm), lambda up: moved_up(project.lines, ids, up, project.views))


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


def _both(project: Project, preset: Callable[..., tuple[StyleLine, ...]]) -> tuple[StyleLine, ...]:
    """A preset on the front (or the only view), carried over to the other side."""
    first, *others = primary_views(project.views)
    lines = preset(first, 1)
    for view in others:
        for line in preset(first, 1):
            lines = (*lines, carry(line, lines, view.side, project.views))
    return lines
