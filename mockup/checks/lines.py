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

_JUNCTIONS = ("underarm", "shoulder", "neck")


def bulk(scene: Scene) -> list[Finding]:
    """Judge how near each end lies to a place where seams meet already."""
    margin = scene.limits["bulk-margin"]
    limit_mm = 2 * scene.allowance_mm + margin.value
    found = []
    for view, line, _ in scene.placed:
        for end in (line.start, line.end):
            if end.edge in edges.CENTRES:
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
        point = view.path_to_px(path).cubics[segment]
        x, y = paths.evaluate(point, np.float64(t))
        found.append(
            Finding(
                "tight-curve",
                Grade.STOP if too_tight else Grade.WARN,
                Place(f"line '{line.name}', {view.side}", view.name, (float(x), float(y))),
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
        half = line_half_end(path)
        angle = 2 * abs(math.degrees(math.atan2(half[1], abs(half[0]))))
        if angle <= limit.value:
            continue
        found.append(
            Finding(
                "kink",
                Grade.NOTE,
                _at_end(view, line.name, line.end),
                f"{angle:.1f}° at the middle",
                f"{limit}",
                limit.source,
                "Make the line square to the fold, or sew it as a point: mark, clip and pivot.",
            )
        )
    return found


def line_half_end(path: paths.Path) -> paths.Floats:
    """Direction of a mirrored line just before its middle, shape (2,)."""
    segment, t = paths.locate(path, paths.length(path) / 2 * (1 - 1e-9))
    return paths.tangent(path, segment, min(t, 1.0))


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
    x, y = paths.point_at_distance(view.path_to_px(edge.path), along / view.mm_per_px)
    where = end.edge if end.side is None else f"{end.edge}, wearer's {end.side}"
    return Place(f"line '{name}' at the {where}, {view.side}", view.name, (float(x), float(y)))
