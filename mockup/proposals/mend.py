"""What would put a line right where a check warns of it: an end moved, a curve widened, a corner rounded.

Every suggestion is tried: it is given only where the checks of lines do not warn of that place any more, and of
nothing else at the lines near it that they did not warn of before.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from mockup.checks.finding import Finding, Grade
from mockup.checks.limits import limits
from mockup.checks.of_lines import line_findings
from mockup.garment.view import View
from mockup.project import Project
from mockup.proposals.line_range import moved_up
from mockup.stylelines import edges, shapes
from mockup.stylelines.along import points_along, stay_together
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import End, LineKind, StyleLine, is_free, with_end
from mockup.stylelines.twins import mirror_image, mirror_partners
from swatches.errors import GeometryError

MENDABLE = ("bulk", "kink", "tight-curve", "inner-corner", "dart", "pleat", "pocket")
"""Codes of findings that a suggestion may put right."""
_STEP_MM = 10.0
_STEPS = 15
_LARGER = (1.2, 1.5, 2.0)
_PULLS = (0.75, 0.5, 0.25, 0.1, 0.0)


@dataclass(frozen=True, slots=True)
class Mend:
    """One way to put a line right.

    Attributes:
        way: what is done: 'above' or 'below' for an end that is moved, 'square', 'wider' or 'rounder'.
        line: the line as it would be; lines that belong to it follow.
        lines: all lines of the project then.
        end: the moved end as it would be; None where no end is moved.
    """

    way: str
    line: StyleLine
    lines: tuple[StyleLine, ...]
    end: End | None = None


def mends(project: Project, finding: Finding, *, allowance_mm: float = 15.0) -> tuple[Mend, ...]:
    """Give the ways that pass, the smallest change first; none where the finding is about no single line.

    Args:
        project: the project with its lines as they are.
        finding: one of :func:`mockup.checks.of_lines.line_findings` of it.
        allowance_mm: seam allowance of the lines.
    """
    line = next((x for x in project.lines if x.id == finding.line), None)
    view = next((v for v in primary_views(project.views) if line is not None and v.side == line.side), None)
    if line is None or view is None:
        return ()
    near = _near(project, line)
    before = _warned(replace(project, lines=near), allowance_mm)
    found: list[Mend] = []
    for way, new, end in _ideas(project, view, line, finding, allowance_mm):
        if any(f.way == way for f in found):
            continue
        ids = {x.id for x in near}
        try:
            lines = _with(project, line, new)
            tried = replace(project, lines=tuple(x for x in lines if x.id in ids))
            after = _warned(tried, allowance_mm)
        except GeometryError:
            continue
        if not after - before and _key(finding) not in after:
            found.append(Mend(way, new, lines, end))
    return tuple(found)


def _near(project: Project, line: StyleLine) -> tuple[StyleLine, ...]:
    """The line and those that a change of it can reach: its mirror image, what meets it at a seam, what ends on it."""
    found = {line.id, mirror_partners([x for x in project.lines if x.side == line.side]).get(line.id, line.id)}
    while True:
        more = {
            x.id
            for x in project.lines
            for y in project.lines
            if y.id in found and (x.carries == y.id or x.id in (y.carries, y.start.edge, y.end.edge))
        } | {x.id for x in project.lines if x.start.edge in found or x.end.edge in found}
        if more <= found:
            return tuple(x for x in project.lines if x.id in found)
        found |= more


def _ideas(
    project: Project, view: View, line: StyleLine, finding: Finding, allowance_mm: float
) -> Iterator[tuple[str, StyleLine, End | None]]:
    if finding.code == "bulk" and finding.end in ("start", "end"):
        for way, end in _off_the_junction(project, view, line, finding, allowance_mm):
            try:
                moved = points_along(line, with_end(line, finding.end, end), [view], project.lines)
            except GeometryError:
                continue  # the edge has no such place
            yield way, moved, end
    elif finding.code in ("dart", "pleat", "pocket"):
        yield from _off_the_spot(project, view, line)
    elif finding.code == "kink" and line.kinked:
        yield "square", replace(line, kinked=False), None
    elif finding.code == "tight-curve" and is_free(line):
        box = shapes.box_of(line, view)
        for more in _LARGER:
            yield "wider", shapes.boxed(line, view, wide_mm=more * box.wide_mm, high_mm=more * box.high_mm), None
    elif finding.code == "tight-curve" and line.through:
        for pull in _PULLS:
            yield "wider", replace(line, through=_pulled(view, line, pull)), None
    elif finding.code == "inner-corner" and line.kind is LineKind.POLYLINE:
        yield "rounder", replace(line, kind=LineKind.CURVE), None


def _off_the_junction(
    project: Project, view: View, line: StyleLine, finding: Finding, allowance_mm: float
) -> Iterator[tuple[str, End]]:
    """The end moved along its edge, away from the junction; and past it, onto the other edge that meets there."""
    end: End = getattr(line, finding.end)
    need = math.ceil(2 * allowance_mm + limits(project.limits)["bulk-margin"].value)
    here = edges.end_point(end, view)
    edge, along = edges.along_edge(end, view)
    if finding.better_mm is not None:
        moved = replace(end, distance_mm=finding.better_mm, text="")
        yield _way(view, here, moved), moved
    junction = edge.start if along < edge.length / 2 else edge.end
    for other in edges.edges_of(view):
        if other.name == edge.name or other.side != edge.side or junction not in (other.start, other.end):
            continue
        if need <= other.length:
            moved = End(other.name, junction, float(need), end.side)
            yield _way(view, here, moved), moved


def _off_the_spot(project: Project, view: View, line: StyleLine) -> Iterator[tuple[str, StyleLine, End | None]]:
    """The whole line moved up and down, step by step, till it is clear of what is sewn in and of pockets."""
    for way, sign in (("above", 1.0), ("below", -1.0)):
        for step in range(1, _STEPS + 1):
            up = sign * step * _STEP_MM
            try:
                lines = moved_up(project.lines, [line.id], up, project.views)
                moved = next(x for x in lines if x.id == line.id)
                if is_free(line):
                    yield way, moved, None
                elif _rises(view, line.start, moved.start, up) and _rises(view, line.end, moved.end, up):
                    yield way, moved, moved.start
            except GeometryError:
                break


def _rises(view: View, end: End, moved: End, up_mm: float) -> bool:
    """Whether an end really went up or down by about as much as asked: along a hem or a neck it would not."""
    here, there = edges.end_point(end, view)[1], edges.end_point(moved, view)[1]
    return (there - here) * up_mm > 0 and abs(there - here) > 0.5 * abs(up_mm)


def _way(view: View, here: tuple[float, float], end: End) -> str:
    return "above" if edges.end_point(end, view)[1] > here[1] else "below"


def _pulled(view: View, line: StyleLine, pull: float) -> tuple[tuple[float, float], ...]:
    """Points between, pulled toward the straight way from end to end."""
    a = np.array(edges.mm_to_shares(view, edges.end_point(line.start, view)))
    b = np.array(edges.mm_to_shares(view, edges.end_point(line.end, view)))
    points = np.array(line.through)
    shares = (np.arange(len(points)) + 1) / (len(points) + 1)
    straight = a + shares[:, None] * (b - a)
    new = straight + pull * (points - straight)
    return tuple((float(x), float(y)) for x, y in new)


def _with(project: Project, line: StyleLine, new: StyleLine) -> tuple[StyleLine, ...]:
    """The project's lines with one changed; its mirror image and the lines that meet it at a seam follow.

    Raises:
        GeometryError: an end of a line that follows cannot be placed.
    """
    lines = {x.id: x for x in project.lines}
    lines[line.id] = new
    twin = mirror_partners([x for x in project.lines if x.side == line.side]).get(line.id, line.id)
    if twin != line.id:
        image = mirror_image(new)
        lines[twin] = replace(lines[twin], kind=image.kind, start=image.start, end=image.end, through=image.through)
    found = tuple(lines.values())
    for each in (line.id, *([twin] if twin != line.id else [])):
        found = stay_together(found, each, primary_views(project.views))
    return found


def _key(finding: Finding) -> tuple[str, str, str]:
    return finding.code, finding.line, finding.end


def _warned(project: Project, allowance_mm: float) -> set[tuple[str, str, str]]:
    return {
        _key(each.finding)
        for each in line_findings(project, allowance_mm=allowance_mm)
        if each.finding.grade in (Grade.STOP, Grade.WARN) or each.finding.code in ("kink", "inner-corner", "pocket")
    }
