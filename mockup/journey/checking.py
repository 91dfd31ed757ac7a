"""Will it sew? All checks on one choice, with the areas of the cut pieces where there are pieces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from mockup.checks.finding import Finding
from mockup.checks.limits import limits
from mockup.checks.run import check
from mockup.checks.scene import scene
from mockup.geometry import path as paths
from mockup.journey.cutting import cut
from mockup.journey.known import find
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import HowToCut, Piece
from mockup.project import Project
from swatches.job import QUIET, Job
from swatches.units import Length, length


def findings(
    project: Project,
    folder: Path,
    letter: str = "A",
    *,
    allowance: Length | float | str = 15.0,
    changed: Mapping[str, float] | None = None,
    job: Job = QUIET,
) -> tuple[Finding, ...]:
    """Judge one choice.

    Args:
        project: the project.
        folder: its folder, for the pieces.
        letter: the choice.
        allowance: of the style lines.
        changed: limits that the person set, by name.
        job: progress and cancellation.

    Raises:
        InputError: no such choice, or a limit that does not exist.
    """
    table = limits(changed)
    choice = find(project, "colourway", letter)
    width = length(allowance, what="allowance", minimum_mm=0.0).mm
    measured = all(v.scale_measured for v in project.views if v.kind == "drawing")
    areas: dict[str, float] = {}
    if project.pieces and measured:
        areas = cut_areas(cut(project, folder, letter, allowance=allowance, job=job).pieces)
    return check(scene(project, choice, allowance_mm=width, cut_mm2=areas, table=table))


def cut_areas(pieces: Sequence[Piece]) -> dict[str, float]:
    """Cloth that the cut pieces take, mm² by fabric id: opened out, and as often as they are cut."""
    areas: dict[str, float] = {}
    for piece in pieces:
        times = piece.count * (2 if piece.how in (HowToCut.PAIR, HowToCut.ON_FOLD) else 1)
        areas[piece.fabric] = areas.get(piece.fabric, 0.0) + times * abs(paths.signed_area(cut_line(piece)))
    return areas
