"""Which cloth goes where, and where could the lines run: suggestions for a project."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from mockup.checks.scene import Scene, scene
from mockup.colourways.colourway import Colourway
from mockup.journey.checking import cut_areas
from mockup.journey.cutting import cut
from mockup.journey.known import find
from mockup.journey.painting import paint_view
from mockup.project import Project
from mockup.proposals.groups import front_with_back, groups_of
from mockup.proposals.lines import MOST as MOST_DESIGNS
from mockup.proposals.lines import LineProposal, LineProposals, propose_lines
from mockup.proposals.pairings import MOST, Pairings, pairings
from swatches.errors import Cancelled, MockupError
from swatches.job import QUIET, Job, Part
from swatches.photo import Picture
from swatches.units import Length, length

_FEW, _USUAL = 8, 3  # suggestions looked at for a picture, and how many cloths it shows at most where it can
_LOOK = 20_000
_TRIAL = "?"  # no choice has this letter


def suggest(
    project: Project,
    folder: Path,
    *,
    pairs: Sequence[Sequence[str]] | None = None,
    keep: Mapping[str, str] | None = None,
    leave: Collection[str] = (),
    fabrics: Sequence[str] | None = None,
    allowance: Length | float | str = 15.0,
    lines_show: bool = True,
    with_stops: bool = False,
    cloths: tuple[int, int] = (1, 99),
    most: int = MOST,
    seed: int = 0,
    job: Job = QUIET,
) -> Pairings:
    """Suggest cloth for the panels; see :func:`mockup.proposals.pairings.pairings`.

    Args:
        project: the project.
        folder: its folder, for the pieces: with them, what each panel takes is their area as cut.
        pairs: panels that follow each other; None: front and back of the same name.
        keep: panel id → fabric that it keeps.
        leave: panels that are left as they are.
        fabrics: fabrics to choose from; None: all.
        allowance: of the style lines.
        lines_show: whether two different cloths must meet at every style line.
        with_stops: whether pairs that a check stops are allowed.
        cloths: fewest and most different cloths.
        most: how many choices are wanted.
        seed: where not all can be looked at.
        job: progress and cancellation.
    """
    width = length(allowance, what="allowance", minimum_mm=0.0)
    job.step("Looking at the panels", 0.0)
    seen = scene(project, Colourway(""), allowance_mm=width.mm)
    paired = front_with_back(seen) if pairs is None else pairs
    areas = _areas_of_pieces(project, folder, seen, paired, width, Part(job, 0.1, 0.4))
    return pairings(
        seen,
        pairs=paired,
        keep=keep,
        leave=leave,
        fabrics=fabrics,
        areas_mm2=areas,
        lines_show=lines_show,
        with_stops=with_stops,
        cloths=cloths,
        most=most,
        seed=seed,
        job=Part(job, 0.4, 1.0),
    )


def _areas_of_pieces(
    project: Project, folder: Path, seen: Scene, pairs: Sequence[Sequence[str]], allowance: Length, job: Job
) -> dict[str, float] | None:
    """Area of the cut pieces of every panel, mm²: the first panel of a group carries that of all its panels.

    None where there are no pieces or no scale, or the lines cannot be cut into the pieces: then the pictures judge.
    """
    if not project.pieces or not all(v.scale_measured for v in project.views if v.kind == "drawing"):
        return None
    groups = groups_of(seen, pairs=pairs)
    marked = Colourway(_TRIAL, "", {panel: group.id for group in groups for panel in group.panels})
    try:
        made = cut(replace(project, colourways=(marked,)), folder, _TRIAL, allowance=allowance, job=job)
    except Cancelled:
        raise
    except MockupError:
        job.step("The lines do not fit the pieces; the pictures judge", 1.0)
        return None
    found = cut_areas(made.pieces)
    if any(group.id not in found for group in groups):
        return None
    return {panel: found[group.id] if panel == group.id else 0.0 for group in groups for panel in group.panels}


def paint_suggestion(
    project: Project, folder: Path, fabrics: Mapping[str, str], *, long_side: int, job: Job = QUIET
) -> dict[str, Picture]:
    """Paint the drawings (else the photos) of a garment in these cloths, without making a choice of it.

    Returns:
        View name → sRGB, uint8, shape (h, w, 3).
    """
    trial = project.put_colourway(Colourway(_TRIAL, "", dict(fabrics)))
    views = [v.name for v in project.views if v.kind == "drawing"] or [v.name for v in project.views]
    return {view: paint_view(trial, folder, _TRIAL, view, long_side=long_side, job=job) for view in views}


def propose(
    project: Project,
    *,
    keep_lines: bool = False,
    allowance: Length | float | str = 15.0,
    most: int = MOST_DESIGNS,
    job: Job = QUIET,
) -> LineProposals:
    """Propose lines; see :func:`mockup.proposals.lines.propose_lines`."""
    width = length(allowance, what="allowance", minimum_mm=0.0)
    return propose_lines(project, keep_lines=keep_lines, allowance_mm=width.mm, most=most, job=job)


def cloth_for(project: Project, design: LineProposal, letter: str = "") -> dict[str, str]:
    """Cloth in which a design of lines can be looked at: of the cloths of a choice, or of all, the first suggestion.

    Returns:
        Panel id → fabric id; empty where the project has no cloth.
    """
    fabrics = [f.id for f in project.fabrics]
    if letter:
        chosen = set(find(project, "colourway", letter).fabrics.values())
        fabrics = [f for f in fabrics if f in chosen]
    if not fabrics:
        return {}
    drawn = replace(project, lines=design.lines)
    seen = scene(drawn, Colourway(""))
    for lines_show in (True, False):  # where there are too few cloths for all lines to show
        found = pairings(seen, fabrics=fabrics, lines_show=lines_show, with_stops=True, most=_FEW, exact_up_to=_LOOK)
        if found.found:
            best = max(found.found, key=lambda one: (one.cloths <= _USUAL, one.cloths, one.contrast_delta_e))
            return dict(best.fabrics)
    return {}


def paint_design(
    project: Project, folder: Path, design: LineProposal, *, letter: str = "", long_side: int, job: Job = QUIET
) -> dict[str, Picture]:
    """Paint a design of lines in the cloths of a choice: view name → sRGB, uint8, shape (h, w, 3)."""
    drawn = replace(project, lines=design.lines, colourways=())
    return paint_suggestion(drawn, folder, cloth_for(project, design, letter), long_side=long_side, job=job)
