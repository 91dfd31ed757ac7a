"""Lines that meet what is sewn into the garment already: a dart, a pleat, a pocket, an opening inside a panel."""

from __future__ import annotations

import numpy as np
import shapely

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.places import px_of
from mockup.checks.scene import Scene
from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.project import Detail
from mockup.stylelines import edges

_ADVICE = {
    "dart": "End the line at the dart's tip or keep it clear; or sew the dart first, and match the line on both sides "
    "of it.",
    "pleat": "Fold the pleat in paper before the line is cut through it, so that both sides meet when it is pressed; "
    "or keep the line clear of it.",
    "pocket": "Sew and press this seam first and set the pocket on it; or keep the line clear of it.",
    "closure": "Baste both sides of the opening together and check that the line meets before you sew it; or end it "
    "elsewhere.",
}


def detail_lines(view: View, one: Detail) -> shapely.LineString:
    """A detail as it lies on a view of its side, view mm."""
    return shapely.LineString([edges.shares_to_mm(view, p) for p in one.points])


def sewn_in(scene: Scene) -> list[Finding]:
    """Find lines that run over what is sewn in, or nearer to it than the margin of a junction."""
    margin = scene.limits["bulk-margin"]
    found = []
    for view, line, path in scene.placed:
        mine = [d for d in scene.project.details if d.side == view.side]
        drawn = shapely.LineString(paths.flatten(path, 0.2).points) if mine else None
        for one in mine:
            what = detail_lines(view, one)
            gap = 0.0 if drawn is None else float(drawn.distance(what))
            if drawn is None or gap > margin.value:
                continue
            at = shapely.get_coordinates(shapely.shortest_line(drawn, what))[0]
            tip = _tip_mm(what, at)
            over = "runs over it" if gap < 1e-6 else f"passes {gap:.0f} mm from it"
            where = f", {tip:.0f} mm from its tip" if one.kind == "dart" and gap < 1e-6 else ""
            found.append(
                Finding(
                    one.kind,
                    Grade.WARN,
                    Place(f"line '{line.name}' at the {one.word}, {view.side}", view.name, px_of(view, at)),
                    f"{over}{where}",
                    f"clear of it by {margin}",
                    margin.source,
                    _ADVICE[one.kind],
                    line=line.id,
                    plain=f"The line {over.replace('it', f'the {one.word}', 1)}{where}",
                )
            )
    return found


def _tip_mm(what: shapely.LineString, at: paths.Floats) -> float:
    """How far a place on a dart is from its tip: the corner of one drawn by both legs, the last point of one stroke."""
    points = shapely.get_coordinates(what)
    tip = points[-1] if len(points) == 2 else points[len(points) // 2]
    return float(np.hypot(*(at - tip)))
