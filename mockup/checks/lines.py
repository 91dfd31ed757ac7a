"""The lines themselves: ends where seams crowd, tight curves, kinks at the fold, slivers."""

from __future__ import annotations

import math

import numpy as np
import shapely

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.scene import Scene
from mockup.checks.words import panel_words
from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.stylelines import edges
from mockup.stylelines.panels import polygon
from mockup.stylelines.styleline import End
from swatches.units import MmPoints

_JUNCTIONS = ("underarm", "shoulder", "neck")


def bulk(scene: Scene) -> list[Finding]:
    """Judge how near each end lies to a place where seams meet already."""
    margin = scene.limits["bulk-margin"]
    limit_mm = 2 * scene.allowance_mm + margin.value
    line_ids = {line.id for _, line, _ in scene.placed}  # an end on another line makes a junction of its own
    found = []
    for view, line, _ in scene.placed:
        for end in (line.start, line.end):
            if end.edge in edges.CENTRES or end.edge in line_ids:
                continue
            edge, along = edges.along_edge(end, view)
            for name, at in ((edge.start, 0.0), (edge.end, edge.length)):
                distance = abs(along - at)
                if name not in _JUNCTIONS or distance >= limit_mm:
                    continue
                found.append(
                    Finding(
                        "bulk",
                        Grade.WARN,
                        _at_end(view, line.name, end),
                        f"{distance:.0f} mm from the {name}, where seams meet",
                        f"{limit_mm:g} mm",
                        f"the two facing allowances and {margin}: {margin.source}",
                        f"End the line at least {limit_mm:g} mm from the {name}.",
                    )
                )
    return found


def tight_curve(scene: Scene) -> list[Finding]:
    """Judge each line's smallest radius against the allowance."""
    warn, stop = scene.limits["radius-warn"], scene.limits["radius-stop"]
    found = []
    for view, line, path in scene.placed:
        bent = [k for k, straight in enumerate(paths.is_straight(path)) if not straight]
        if not bent:
            continue
        radius, segment, t = curve.min_radius(path)
        radius = abs(radius)
        if not math.isfinite(radius) or radius >= warn.value * scene.allowance_mm:
            continue
        too_tight = radius <= stop.value * scene.allowance_mm
        limit = stop if too_tight else warn
        tightest = paths.evaluate(path.cubics[segment], np.float64(t))
        found.append(
            Finding(
                "tight-curve",
                Grade.STOP if too_tight else Grade.WARN,
                Place(f"line '{line.name}', {view.side}", view.name, _px(view, tightest)),
                f"radius {radius:.0f} mm",
                f"{limit.value * scene.allowance_mm:g} mm ({limit})",
                limit.source,
                "Make the curve wider, or the allowance narrower."
                if too_tight
                else "Staystitch, clip the hollow side every 6 to 12 mm, and sew slowly; or make the curve wider.",
            )
        )
    return found


def kink(scene: Scene) -> list[Finding]:
    """Judge the angle at which a mirrored line meets itself at the fold."""
    limit = scene.limits["kink"]
    found = []
    for view, line, path in scene.placed:
        if not line.symmetric:
            continue
        half, middle = line_middle(path)
        angle = 2 * abs(math.degrees(math.atan2(half[1], abs(half[0]))))
        if angle <= limit.value:
            continue
        found.append(
            Finding(
                "kink",
                Grade.NOTE,
                Place(f"line '{line.name}' at the middle, {view.side}", view.name, _px(view, middle)),
                f"{angle:.1f}°",
                f"{limit}",
                limit.source,
                "Make the line square to the fold, or sew it as a point: mark, clip and pivot.",
            )
        )
    return found


def line_middle(path: paths.Path) -> tuple[paths.Floats, paths.Floats]:
    """Direction of a mirrored line just before its middle, shape (2,), and the middle itself."""
    if len(path) % 2 == 0:  # two halves of as many segments each, which may differ in length on a traced drawing
        segment, t = len(path) // 2 - 1, 1.0
    else:
        segment, t = paths.locate(path, paths.length(path) / 2 * (1 - 1e-9))
    return paths.tangent(path, segment, t), paths.evaluate(path.cubics[segment], np.float64(t))


def sliver(scene: Scene) -> list[Finding]:
    """Judge how wide each panel is at its widest."""
    limit = scene.limits["sliver"]
    scale = {v.name: v.mm_per_px for v in scene.views}
    found = []
    for panel in scene.panels.values():
        shape = polygon(panel.outline, panel.holes)
        circle = shapely.maximum_inscribed_circle(shape, tolerance=1.0)
        width = 2 * float(circle.length) * scale[panel.view]
        if width >= limit.value:
            continue
        middle = shapely.get_coordinates(circle)[0]
        found.append(
            Finding(
                "sliver",
                Grade.WARN,
                Place(panel_words(scene, panel.id), panel.view, (float(middle[0]), float(middle[1]))),
                f"{width:.0f} mm at its widest",
                f"{limit}",
                limit.source,
                "Move the line: so narrow a panel is mostly allowance.",
            )
        )
    return found


def _at_end(view: View, name: str, end: End) -> Place:
    edge, along = edges.along_edge(end, view)
    where = end.edge if end.side is None else f"{end.edge}, wearer's {end.side}"
    point = _px(view, paths.point_at_distance(edge.path, along))
    return Place(f"line '{name}' at the {where}, {view.side}", view.name, point)


def _px(view: View, point: paths.Floats) -> tuple[float, float]:
    x, y = view.points_to_px(MmPoints(point[None]))[0]
    return float(x), float(y)
