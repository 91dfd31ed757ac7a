"""The lines themselves: tight curves, and panels that are slivers."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.places import px_of
from mockup.checks.scene import Scene
from mockup.checks.words import panel_words
from mockup.garment.view import PathXY
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import XY
from mockup.stylelines.panels import polygon
from swatches.units import PxPoints


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
                Place(f"line '{line.name}', {view.side}", view.name, px_of(view, tightest)),
                f"radius {radius:.0f} mm",
                f"{limit.value * scene.allowance_mm:g} mm ({limit})",
                limit.source,
                "Make the curve wider, or the allowance narrower."
                if too_tight
                else "Staystitch, clip the hollow side every 6 to 12 mm, and sew slowly; or make the curve wider.",
                line=line.id,
            )
        )
    return found


@lru_cache(maxsize=256)  # panels that did not change are asked again
def _widest(outline: PathXY, holes: tuple[PathXY, ...]) -> tuple[XY, float]:
    """Middle and radius of the largest circle in a panel, px."""
    circle = shapely.maximum_inscribed_circle(polygon(outline, holes), tolerance=1.0)
    x, y = shapely.get_coordinates(circle)[0]
    return (float(x), float(y)), float(circle.length)


def _nearest_line(scene: Scene, view_name: str, point: XY) -> str:
    """Id of the line that runs nearest to a place of a view's picture, or empty."""
    near = [
        (curve.nearest(path, view.points_to_mm(PxPoints(np.array([point])))[0])[2], line.id)
        for view, line, path in scene.placed
        if view.name == view_name
    ]
    return min(near)[1] if near else ""


def sliver(scene: Scene) -> list[Finding]:
    """Judge how wide each panel is at its widest."""
    limit = scene.limits["sliver"]
    scale = {v.name: v.mm_per_px for v in scene.views}
    found = []
    for panel in scene.panels.values():
        middle, radius = _widest(panel.outline, panel.holes)
        width = 2 * radius * scale[panel.view]
        if width >= limit.value:
            continue
        found.append(
            Finding(
                "sliver",
                Grade.WARN,
                Place(panel_words(scene, panel.id), panel.view, middle),
                f"{width:.0f} mm at its widest",
                f"{limit}",
                limit.source,
                "Move the line: so narrow a panel is mostly allowance.",
                line=_nearest_line(scene, panel.view, middle),
            )
        )
    return found
