"""A line moved off what it meets: off a dart, a pleat, a pocket, an opening or the tip of a V, by as little as will do.

The line is moved up, down and to both sides. A seam needs room for its allowance beside what is sewn in, and the
margin that the checks ask for; where there is no such place, the margin alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.checks.crossings import openings
from mockup.checks.ends import tip_of_v
from mockup.checks.limits import limits
from mockup.checks.lines import sliver
from mockup.checks.scene import Scene
from mockup.checks.sewn_in import detail_lines
from mockup.colourways.colourway import Colourway
from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import XY
from mockup.project import Project
from mockup.proposals.line_range import moved_up
from mockup.stylelines import edges
from mockup.stylelines.along import points_along
from mockup.stylelines.anchor import end_at, place_line
from mockup.stylelines.panels import garment_panels, polygon, primary_views
from mockup.stylelines.styleline import End, StyleLine, is_free
from swatches.errors import GeometryError
from swatches.units import PxPoints

_COARSE_MM = 5.0
_FINE_MM = 1.0
_REACH_MM = 150.0
WAYS = ("above", "below", "left", "right")
"""Left and right are the wearer's."""


@dataclass(frozen=True, slots=True)
class _Spot:
    """What a line keeps clear of, view mm: by ``least_mm`` or the check warns, by ``good_mm`` with its allowance."""

    shape: shapely.Geometry
    least_mm: float
    good_mm: float


def off_the_spot(
    project: Project, view: View, line: StyleLine, code: str, allowance_mm: float
) -> Iterator[tuple[str, StyleLine]]:
    """Give places of a line that lie clear of everything a check of this code warns of: way and line, nearest first.

    Args:
        project: with its lines, closures and details.
        view: the drawing of the line's side.
        line: the line.
        code: 'dart', 'pleat', 'pocket', 'closure', or 'bulk' for the tip of a V.
        allowance_mm: seam allowance of the line.
    """
    spots = _spots(project, view, code, allowance_mm)
    if not spots:
        return
    for good in (True, False):
        for way in WAYS:
            yield from ((way, new) for new in _clear(project, view, line, way, spots, good))


def widened(project: Project, view: View, line: StyleLine, sliver_px: XY) -> Iterator[tuple[str, StyleLine]]:
    """Give places of a line farther from the middle of a sliver beside it, px: way and line, nearest first."""
    x, y = view.points_to_mm(PxPoints(np.array([sliver_px])))[0]
    path = place_line(line, view, [other for other in project.lines if other.side == line.side])
    segment, t, _ = curve.nearest(path, (x, y))
    nearest = paths.evaluate(path.cubics[segment], np.float64(t))
    across, up = float(nearest[0] - x) * edges.left_sign(view), float(nearest[1] - y)
    way = ("above" if up > 0 else "below") if abs(up) > abs(across) else ("left" if across > 0 else "right")
    narrow = limits(project.limits)["sliver"].value
    for by in np.arange(_COARSE_MM, 2 * narrow + _COARSE_MM, _COARSE_MM):
        moved = _moved(project, view, line, way, float(by))
        if moved is None:
            return
        yield way, moved


def slivers(project: Project, view_name: str) -> int:
    """How many panels of a view are slivers."""
    views = primary_views(project.views)
    panels = {p.id: p for p in garment_panels(views, project.lines)[view_name]}
    seen = Scene(project, Colourway(""), tuple(views), panels, (), (), limits=limits(project.limits))
    return len(sliver(seen))


def _spots(project: Project, view: View, code: str, allowance_mm: float) -> list[_Spot]:
    margin = limits(project.limits)["bulk-margin"].value
    if code == "bulk":
        tip = tip_of_v(view)
        need = 2 * allowance_mm + margin
        return [] if tip is None else [_Spot(shapely.Point(tip), need, need)]
    found: list[shapely.Geometry] = [
        detail_lines(view, d) for d in project.details if d.kind == code and d.side == view.side
    ]
    if code == "pocket":
        for area in view.areas:
            if area.part == "pocket":
                shape = polygon(area.outline, ())
                found.append(shapely.transform(shape, lambda px: view.points_to_mm(px)))
    if code == "closure":
        found += openings(project, view)
    return [_Spot(shape, margin + 0.5, allowance_mm + margin) for shape in found]


def _clear(
    project: Project, view: View, line: StyleLine, way: str, spots: list[_Spot], good: bool
) -> Iterator[StyleLine]:
    """Places one way that lie clear: the nearest to a mm, then farther ones, since other checks may ask for that."""
    near = True
    by = _COARSE_MM
    while by <= _REACH_MM:
        moved = _moved(project, view, line, way, by)
        if moved is None:
            return  # the edge ends, or the garment
        if _keeps_clear(project, view, moved, spots, good):
            if near:
                near = False
                for less in np.arange(by - _COARSE_MM + _FINE_MM, by, _FINE_MM):
                    closer = _moved(project, view, line, way, float(less))
                    if closer is not None and _keeps_clear(project, view, closer, spots, good):
                        yield closer
            yield moved
        by += _COARSE_MM


def _keeps_clear(project: Project, view: View, line: StyleLine, spots: list[_Spot], good: bool) -> bool:
    try:
        path = place_line(line, view, [x for x in project.lines if x.side == line.side and x.id != line.id])
    except GeometryError:
        return False
    drawn = shapely.LineString(paths.flatten(path, 0.2).points)
    return all(drawn.distance(s.shape) >= (s.good_mm if good else s.least_mm) for s in spots)


def _moved(project: Project, view: View, line: StyleLine, way: str, by_mm: float) -> StyleLine | None:
    """The line moved one way, its ends along their edges; None where it cannot go there."""
    try:
        if way in ("above", "below"):
            up = by_mm if way == "above" else -by_mm
            new = next(x for x in moved_up(project.lines, [line.id], up, project.views) if x.id == line.id)
            rises = is_free(line) or (_rises(view, line.start, new.start, up) and _rises(view, line.end, new.end, up))
            return new if rises else None
        across = by_mm if way == "left" else -by_mm
        if is_free(line):
            share = across / edges.body_box(view)[2]
            return replace(line, through=tuple((x + share, y) for x, y in line.through))
        return _sideways(project, view, line, across)
    except GeometryError:
        return None


def _sideways(project: Project, view: View, line: StyleLine, across_mm: float) -> StyleLine | None:
    """Both ends as far across as their edges let them; None where neither really goes there."""
    ends = [_across(view, end, across_mm, line.symmetric) for end in (line.start, line.end)]
    if max(went for _, went in ends) < 0.5:
        return None
    new = replace(line, start=ends[0][0], end=ends[1][0])
    return points_along(line, new, [view], project.lines)


def _across(view: View, end: End, across_mm: float, symmetric: bool) -> tuple[End, float]:
    """An end moved toward the wearer's left along its edge, and what share of the way it went."""
    sided = symmetric and end.side is None and end.edge not in edges.CENTRES
    here = replace(end, side="left") if sided else end
    if end.edge in edges.CENTRES or not any(e.name == end.edge for e in edges.edges_of(view)):
        return end, 0.0  # the middle stays where it is; so does an end on another line
    x, y = edges.end_point(here, view)
    dx = edges.left_sign(view) * across_mm
    new = end_at(view, (x + dx, y), among=[end.edge], landmark=end.landmark, symmetric=sided, snap_mm=0.0)
    there = edges.end_point(replace(new, side="left") if sided else new, view)
    return new, float((there[0] - x) / dx)


def _rises(view: View, end: End, moved: End, up_mm: float) -> bool:
    """Whether an end really went up or down by about as much as asked: along a hem or a neck it would not."""
    here, there = edges.end_point(end, view)[1], edges.end_point(moved, view)[1]
    return (there - here) * up_mm > 0 and abs(there - here) > 0.5 * abs(up_mm)
