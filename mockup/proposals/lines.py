"""Where lines could run: presets at usual proportions that pass the checks of lines, 'no new seam' first.

Each says its reason, the shares of its panels and what it costs. Those that a check warns of are left out; the usual
advice of a check for a line that is meant as it is (the point of a chevron) is given along.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mockup.checks.corners import kink
from mockup.checks.ends import bulk
from mockup.checks.finding import Finding, Grade
from mockup.checks.limits import limits
from mockup.checks.lines import sliver, tight_curve
from mockup.checks.scene import Scene
from mockup.colourways.colourway import Colourway
from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.project import Project
from mockup.proposals.proportions import Design, designs
from mockup.stylelines import edges
from mockup.stylelines.carry import carry
from mockup.stylelines.cost import NO_SEAM, Cost, cost
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel, garment_panels, primary_views
from mockup.stylelines.styleline import StyleLine
from swatches.errors import GeometryError, InputError
from swatches.job import QUIET, Job, check

MOST = 12
"""Candidates that are shown unless more are asked for."""
_MOVES_MM = (15.0, -15.0, 30.0, -30.0, 45.0, -45.0)
_OF_LINES = (bulk, tight_curve, kink)


@dataclass(frozen=True, slots=True)
class LineProposal:
    """One design of lines.

    Attributes:
        kind: the kind of line: 'yoke', 'band', …; 'no new seam'.
        name: the person's words.
        reason: why the lines run where they run.
        lines: all lines of the garment in this design, those that were kept among them.
        new: ids of those that are new.
        panels: all panels, with their shares of the visible cloth.
        cost: seams, cm of seam and cm² of cloth that the new lines take.
        advice: what the checks say of it besides, one sentence each.
        moved_mm: by how much it lies higher than its proportion, so that it passes the checks.
    """

    kind: str
    name: str
    reason: str
    lines: tuple[StyleLine, ...]
    new: tuple[str, ...]
    panels: tuple[Panel, ...]
    cost: Cost
    advice: tuple[str, ...] = ()
    moved_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class LineProposals:
    """Designs of lines, different kinds first.

    Attributes:
        found: the designs; the first has no new seam.
        tried: how many were tried.
        left_out: name and reason of a design → what stands against it.
    """

    found: tuple[LineProposal, ...]
    tried: int
    left_out: dict[str, str]


def propose_lines(
    project: Project, *, keep_lines: bool = False, allowance_mm: float = 15.0, most: int = MOST, job: Job = QUIET
) -> LineProposals:
    """Propose lines for front and back together.

    Args:
        project: the garment.
        keep_lines: whether new lines are added to those that are there; else they stand in their place.
        allowance_mm: seam allowance of the lines.
        most: how many designs are wanted, that without a new seam among them.
        job: progress and cancellation.

    Raises:
        InputError: the project has no view.
    """
    views = primary_views(project.views)
    if not views:
        raise InputError(
            "project", expected="a drawing or a photo", got="none", next_step="Add the front of the garment first"
        )
    base = project.lines if keep_lines else ()
    nothing = LineProposal(
        "no new seam",
        "no new seam",
        "The panels that are there already are given cloth; nothing new is sewn.",
        base,
        (),
        _panels(views, base),
        NO_SEAM,
    )
    ideas = list(_ideas(views))
    passed: dict[str, list[LineProposal]] = {}
    left_out: dict[str, str] = {}
    for k, design in enumerate(ideas):
        check(job)
        job.step(f"Trying: {design.name}", k / len(ideas))
        tried = _moved_until_it_passes(project, views, base, design, allowance_mm)
        if isinstance(tried, str):
            left_out[f"{design.name}: {design.reason}"] = tried
        else:
            passed.setdefault(design.kind, []).append(tried)
    for same in passed.values():
        same.sort(key=lambda one: one.moved_mm != 0.0)  # those that are where they were meant to be come first
    rounds = max((len(same) for same in passed.values()), default=0)
    in_turn = [same[k] for k in range(rounds) for same in passed.values() if k < len(same)]
    return LineProposals((nothing, *in_turn[: max(0, most - 1)]), len(ideas), left_out)


def _ideas(views: Sequence[View]) -> list[Design]:
    view, measured = views[0], views[-1]
    try:
        whole = paths.length(edges.centre_line(measured))
        return list(designs(view, whole, f"the length of the centre {measured.side}"))
    except GeometryError:
        return []  # without a middle and a hem no proportion can be measured


def _moved_until_it_passes(
    project: Project, views: Sequence[View], base: tuple[StyleLine, ...], design: Design, allowance_mm: float
) -> LineProposal | str:
    """The proposal as meant or, where it passes only a little higher or lower, moved; else what stands against it."""
    meant = _tried(project, views, base, design, 0.0, allowance_mm)
    if isinstance(meant, LineProposal) or not design.movable:
        return meant
    for up in _MOVES_MM:
        moved = _tried(project, views, base, design, up, allowance_mm)
        if isinstance(moved, LineProposal):
            where = f"{abs(up):g} mm {'higher' if up > 0 else 'lower'}"
            return replace(moved, reason=f"{moved.reason} Moved {where}, because of {meant}", moved_mm=up)
    return meant


def _tried(
    project: Project,
    views: Sequence[View],
    base: tuple[StyleLine, ...],
    design: Design,
    up: float,
    allowance_mm: float,
) -> LineProposal | str:
    """The proposal, or what stands against it."""
    try:
        made = design.make(_first_free(base), up)
        lines = (*base, *made)
        if len(views) == 2:
            for line in made:
                lines = (*lines, carry(line, lines, views[1].side, views))
        placed = tuple((v, line, path) for v in views for line, path in placed_lines(v, lines, views))
        seen = Scene(
            replace(project, lines=lines), Colourway(""), tuple(views), {}, (), placed, allowance_mm, {}, limits()
        )
        found = [finding for judge in _OF_LINES for finding in judge(seen)]
        if not _against(found):  # cutting into panels takes longest, so it comes last
            panels = _panels(views, lines)
            found += sliver(replace(seen, panels={p.id: p for p in panels}))
    except GeometryError as error:
        return str(error)
    against = _against(found)
    if against:
        return f"{against[0].place.words}: {against[0].figure} (limit {against[0].limit})."
    new = tuple(line.id for line in lines[len(base) :])
    price = NO_SEAM
    for _, line, path in placed:
        if line.id in new:
            price += cost(path, allowance_mm)
    return LineProposal(
        design.kind, design.name, design.reason, lines, new, panels, price,
        tuple(dict.fromkeys(f.advice for f in found if f.code != "kink" or any(line.kinked for line in made))),
    )  # fmt: skip


def _panels(views: Sequence[View], lines: Sequence[StyleLine]) -> tuple[Panel, ...]:
    """All panels once, by number: what both views show, as the first view shows it."""
    by_view = garment_panels(views, lines)
    once = {p.id: p for view in reversed(views) for p in by_view[view.name]}
    return tuple(sorted(once.values(), key=lambda p: (p.number, p.id)))


def _first_free(lines: Sequence[StyleLine]) -> int:
    """A number from which on no line's id is taken."""
    taken = [int(line.id.rpartition("-")[2]) for line in lines if line.id.rpartition("-")[2].isdigit()]
    return max(taken, default=0) + 1


def _against(found: Sequence[Finding]) -> list[Finding]:
    return [f for f in found if f.grade in (Grade.STOP, Grade.WARN)]
