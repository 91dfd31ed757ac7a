"""Lines that run across a pocket or a closure: both must meet again on the other side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.places import px_of
from mockup.checks.scene import Scene
from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.project import Closure, Project
from mockup.split.words import tenths
from mockup.stylelines import edges
from mockup.stylelines.panels import polygon
from mockup.stylelines.styleline import StyleLine

_MEETS_MM = 1.0


def pocket(scene: Scene) -> list[Finding]:
    """Find lines that run under a pocket, or so near its edge that the seams pile up."""
    margin = scene.limits["bulk-margin"]
    found = []
    for view, line, path in scene.placed:
        px = view.path_to_px(path)
        drawn = shapely.LineString(paths.flatten(px, 0.5).points)
        for area in view.areas:
            if area.part != "pocket":
                continue
            under = drawn.intersection(polygon(area.outline, ()))
            length = float(under.length) * view.mm_per_px
            if length < _MEETS_MM:
                continue
            at = under.interpolate(0.5, normalized=True) if under.geom_type == "LineString" else under.centroid
            name = area.name or "pocket"
            found.append(
                Finding(
                    "pocket",
                    Grade.NOTE,
                    Place(f"line '{line.name}' under the {name}, {view.side}", view.name, (at.x, at.y)),
                    f"{length:.0f} mm of it run under the pocket",
                    f"none, or beside its edge by {scene.allowance_mm + margin.value:g} mm",
                    f"the allowance and {margin}: {margin.source}",
                    "Sew and press this seam first and set the pocket on it; or move the line off the pocket. Mark the "
                    "pocket's place again on the panels after they are cut.",
                    line=line.id,
                )
            )
    return found


def closure(scene: Scene) -> list[Finding]:
    """Find lines that meet a closure, and hold both sides of it against each other."""
    known = scene.project.closures
    if known is None:
        if not scene.placed:
            return []
        return [
            Finding(
                "closure",
                Grade.CANNOT_TELL,
                Place("the whole garment"),
                "not known whether it has a zip, buttons or a slit",
                "known, so that lines on both sides of it can be matched",
                "common practice, no source",
                "Say where it opens, or that it is pulled on.",
                about="the garment",
                missing="how it opens",
            )
        ]
    return [finding for one in known for finding in _of(scene, one)]


@dataclass(frozen=True, slots=True, eq=False)
class _Meeting:
    """A line at a closure: how far down the edge, where, and whether it runs across it from one half to the other."""

    at_mm: float
    view: View
    line: StyleLine
    point: paths.Floats
    across: bool


def _of(scene: Scene, one: Closure) -> list[Finding]:
    limit = scene.limits["walk-warn"]
    found = []
    meetings = _meetings(scene, one)
    for m in meetings:
        others = [abs(o.at_mm - m.at_mm) for o in meetings if o is not m and not o.across and o.line.id != m.line.id]
        nearest = min(others, default=None)
        grade, advice = Grade.NOTE, f"Baste the {one.kind} and check that both sides meet before you sew it."
        if m.across:
            figure = f"{m.at_mm:.0f} mm down, on both sides of the {one.kind}"
        elif nearest is not None and nearest <= limit.value:
            figure = f"{m.at_mm:.0f} mm down; the other side meets it within {tenths(nearest)}"
        else:
            grade = Grade.WARN
            off = "nothing meets it on the other side" if nearest is None else f"the other side is {nearest:.0f} mm off"
            figure = f"{m.at_mm:.0f} mm down; {off}"
            advice = f"Carry the line on at the same distance on the other side of the {one.kind}, or end it elsewhere."
        place = Place(f"line '{m.line.name}' at the {one.kind}, {m.view.side}", m.view.name, px_of(m.view, m.point))
        found.append(Finding("closure", grade, place, figure, f"{limit}", limit.source, advice, line=m.line.id))
    return found


def _meetings(scene: Scene, one: Closure) -> list[_Meeting]:
    """Where lines meet a closure: in the middle of a view, or at a side seam, which front and back share."""
    base, side = edges.without_side(one.edge)
    found = []
    for view in scene.views:
        if not _has(view, base, side):
            continue
        stretch = _stretch(edges.find_edge(view, base, side), one)
        for v, line, path in scene.placed:
            if v.name != view.name:
                continue
            for point in _meets(stretch, path):
                segment, t, _ = curve.nearest(stretch, point)
                at = one.start_mm + paths.distance_at(stretch, segment, t)
                across = base in edges.CENTRES and min(_gap(path, 0, point), _gap(path, -1, point)) > 2 * _MEETS_MM
                found.append(_Meeting(at, view, line, point, across))
    return found


def openings(project: Project, view: View) -> list[shapely.LineString]:
    """The closures that lie in edges which a view shows, view mm: from their upper ends down."""
    found = []
    for one in project.closures or ():
        base, side = edges.without_side(one.edge)
        if _has(view, base, side):
            stretch = _stretch(edges.find_edge(view, base, side), one)
            found.append(shapely.LineString(paths.flatten(stretch, 0.2).points))
    return found


def _has(view: View, edge: str, side: str | None) -> bool:
    """Whether a view shows an edge."""
    if edge in edges.CENTRES:
        return edge == edges.centre_name(view) and view.mirror_x is not None
    return any(e.name == edge and e.side == side for e in edges.edges_of(view))


def _stretch(edge: edges.MmEdge, one: Closure) -> Path:
    """The part of an edge that opens, from its upper end down."""
    down = edge.path if edge.start != "hem" else paths.reversed_path(edge.path)
    start, end = min(one.start_mm, edge.length), min(one.end_mm, edge.length)
    return paths.between(down, start, max(end, min(start + 1.0, edge.length)))


def _meets(stretch: Path, path: Path) -> list[paths.Floats]:
    """Places where a line meets the opening: it ends there, or runs across."""
    drawn = shapely.LineString(paths.flatten(path, 0.2).points)
    near = drawn.intersection(shapely.LineString(paths.flatten(stretch, 0.2).points).buffer(_MEETS_MM))
    parts = [g for g in getattr(near, "geoms", [near]) if g.geom_type == "LineString" and not g.is_empty]
    points = []
    for part in parts:
        ends = [e for e in (path.cubics[0, 0], path.cubics[-1, 3]) if part.distance(shapely.Point(e)) < 1e-6]
        points.append(ends[0] if ends else np.array(part.interpolate(0.5, normalized=True).coords[0]))
    return points


def _gap(path: Path, which: int, point: paths.Floats) -> float:
    end = path.cubics[0, 0] if which == 0 else path.cubics[-1, 3]
    return float(np.hypot(*(end - point)))
