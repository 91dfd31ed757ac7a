"""What would put a line right where a check warns of it: an end moved, a curve widened, a corner rounded.

Every suggestion is tried: it is given only where the checks of lines do not warn of that place any more, and of
nothing else at the lines near it that they did not warn of before.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from mockup.checks.finding import ORDER, Finding, Grade
from mockup.checks.limits import limits
from mockup.checks.of_lines import line_findings
from mockup.garment.view import View
from mockup.project import Project
from mockup.proposals.off_spots import off_the_spot, slivers, widened
from mockup.stylelines import edges, shapes
from mockup.stylelines.along import points_along, stay_together
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import End, LineKind, StyleLine, is_free, with_end
from mockup.stylelines.twins import mirror_image, mirror_partners
from swatches.errors import GeometryError

MENDABLE = ("bulk", "kink", "tight-curve", "inner-corner", "dart", "pleat", "pocket", "closure", "sliver")
"""Codes of findings that a suggestion may put right."""
_COUNTED = ("kink", "inner-corner", "pocket", "closure")  # notes that count as much as a warning
_LARGER = (1.2, 1.5, 2.0)
_PULLS = (0.75, 0.5, 0.25, 0.1, 0.0)


@dataclass(frozen=True, slots=True)
class Mend:
    """One way to put a line right.

    Attributes:
        way: what is done: 'above', 'below', 'left' or 'right' (the wearer's) for a line or an end that is moved,
            'match' for an end brought level with a line on the other side of an opening, 'square', 'wider', 'rounder'.
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
    near = project.lines if finding.code == "closure" else _near(project, line)  # who meets it there is not tied to it
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
        worse = any(rank < before.get(key, _FINE) for key, rank in after.items())
        still = after.get(_key(finding), _FINE)
        if finding.code == "sliver":
            where = finding.place.view
            if slivers(replace(project, lines=lines), where) >= slivers(project, where):
                continue
        met = way == "match" and still > ORDER.index(finding.grade)  # at an opening it stays something to look at
        if not worse and (still == _FINE or met):
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
            yield from _with_its_end(project, view, line, finding.end, way, end)
    elif finding.code in ("bulk", "dart", "pleat", "pocket", "closure"):
        if finding.code == "closure":
            for name, level in _level_with_others(project, view, line):
                yield from _with_its_end(project, view, line, name, "match", level)
        for way, moved in off_the_spot(project, view, line, finding.code, allowance_mm):
            yield way, moved, _one_end(line, moved, way)
    elif finding.code == "sliver" and finding.place.point is not None:
        for way, moved in widened(project, view, line, finding.place.point):
            yield way, moved, _one_end(line, moved, way)
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


def _with_its_end(
    project: Project, view: View, line: StyleLine, which: str, way: str, end: End
) -> Iterator[tuple[str, StyleLine, End | None]]:
    try:
        yield way, points_along(line, with_end(line, which, end), [view], project.lines), end
    except GeometryError:
        return  # the edge has no such place


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


def _one_end(line: StyleLine, moved: StyleLine, way: str) -> End | None:
    """The end that says best where a moved line lies: of one that went up or down its start, if it has any."""
    if is_free(line) or way not in ("above", "below"):
        return None
    return moved.start


def _level_with_others(project: Project, view: View, line: StyleLine) -> Iterator[tuple[str, End]]:
    """Ends of a line at an opening, as far down it as the lines that end on its other side, the nearest first."""
    for closed in project.closures or ():
        base, side = edges.without_side(closed.edge)
        for name in ("start", "end"):
            end: End = getattr(line, name)
            if end.edge != base or (end.side or side) != side:
                continue
            others = [e for x in project.lines if x.id != line.id for e in (x.start, x.end)]
            level = [
                e.distance_mm
                for e in others
                if (e.edge, e.landmark) == (end.edge, end.landmark) and (e.side or side) == side
            ]
            for mm in sorted(level, key=lambda d: abs(d - end.distance_mm)):
                yield name, replace(end, distance_mm=mm, text="")


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


_FINE = len(ORDER)


def _warned(project: Project, allowance_mm: float) -> dict[tuple[str, str, str], int]:
    """What stands against the lines: how serious it is, as a place in :data:`~mockup.checks.finding.ORDER`."""
    found: dict[tuple[str, str, str], int] = {}
    for each in line_findings(project, allowance_mm=allowance_mm):
        f = each.finding
        if f.grade in (Grade.STOP, Grade.WARN) or f.code in _COUNTED:
            found[_key(f)] = min(found.get(_key(f), _FINE), ORDER.index(f.grade))
    return found
