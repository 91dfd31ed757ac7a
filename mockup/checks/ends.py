"""Ends of lines where seams meet already: at the underarm, the shoulder and the neck, and at the tip of a V neck."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.places import px_of
from mockup.checks.scene import Scene
from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.split.layers import Pressed, layers, reach_mm
from mockup.split.words import edge_said
from mockup.stylelines import edges
from mockup.stylelines.styleline import FREE, End, StyleLine

_JUNCTIONS = ("underarm", "shoulder", "neck")
_V_DEG = 20.0  # a neck that turns by less than this in its middle is round, not a V


@dataclass(frozen=True, slots=True)
class Crowded:
    """An end that lies where seams meet already.

    Attributes:
        view: the view.
        line: the line.
        which: 'start' or 'end'.
        end: that end.
        junction: 'underarm', 'shoulder' or 'neck'.
        away_mm: how far from it the end lies, along the stitch line.
        better_mm: a distance for the end, counted as it is now, that lies far enough away; None where the edge has
            no such place.
    """

    view: View
    line: StyleLine
    which: str
    end: End
    junction: str
    away_mm: float
    better_mm: float | None


def crowded_ends(scene: Scene) -> Iterator[Crowded]:
    """Find the ends that lie nearer to a junction than the allowances and the margin allow."""
    limit_mm = _limit(scene)
    line_ids = {line.id for _, line, _ in scene.placed}  # an end on another line makes a junction of its own
    for view, line, _ in scene.placed:
        for which, end in (("start", line.start), ("end", line.end)):
            if end.edge in (*edges.CENTRES, FREE) or end.edge in line_ids:
                continue
            edge, along = edges.along_edge(end, view)
            for name, at in ((edge.start, 0.0), (edge.end, edge.length)):
                away = abs(along - at)
                if name in _JUNCTIONS and away < limit_mm:
                    better = _better(end, name, away, limit_mm, edge)
                    yield Crowded(view, line, which, end, name, away, better)


def _better(end: End, junction: str, away: float, limit: float, edge: edges.MmEdge) -> float | None:
    """Move the end off the junction; the other end of the edge may be a junction too."""
    other = edge.end if junction == edge.start else edge.start
    room = edge.length - (limit if other in _JUNCTIONS and other != junction else 0.0)
    if room < limit:
        return None
    wanted = math.ceil(limit)
    if edges.without_side(end.landmark)[0] == junction:
        return float(wanted)
    moved = math.floor(end.distance_mm - (limit - away))
    return float(moved) if moved >= 0 else None


def bulk(scene: Scene) -> list[Finding]:
    """Judge how near each end lies to a place where seams meet already, and what that does to the layers there."""
    margin, limit_mm = scene.limits["bulk-margin"], _limit(scene)
    found = []
    for one in crowded_ends(scene):
        advice = f"End the line at least {limit_mm:g} mm from the {one.junction}."
        if one.better_mm is not None:
            advice = f"End the line {one.better_mm:g} mm {_from(one.end)}."
        found.append(
            Finding(
                "bulk",
                Grade.WARN,
                _at_end(one.view, one.line.name, one.end),
                f"{one.away_mm:.0f} mm from the {one.junction}, where seams meet",
                f"{limit_mm:g} mm",
                f"the two facing allowances and {margin}: {margin.source}",
                f"{advice} {_layers_said(scene, one)}",
                line=one.line.id,
                end=one.which,
                better_mm=one.better_mm,
            )
        )
    return found


def _layers_said(scene: Scene, one: Crowded) -> str:
    """Count the layers at the junction with the new seam; pressed open it reaches farther than pressed one way."""
    parts = {p.part for p in scene.panels.values()}
    facing = int({"underarm": "sleeve", "neck": "neck-facing"}.get(one.junction, "") in parts)  # has a seam there too
    counts = {}
    for pressed in (Pressed.OPEN, Pressed.ONE_WAY):
        near = one.away_mm < reach_mm(scene.allowance_mm, scene.allowance_mm, pressed)
        counts[pressed] = layers(2 if near else 1, facing, pressed)
    return (
        f"Here up to {counts[Pressed.OPEN]} layers lie on each other with seams pressed open, "
        f"{counts[Pressed.ONE_WAY]} with all pressed one way."
    )


def v_tip(scene: Scene) -> list[Finding]:
    """Judge lines that run into the tip of a V neck, where the neck edge is clipped up to the stitch line."""
    limit_mm = _limit(scene)
    margin = scene.limits["bulk-margin"]
    found = []
    for view, line, path in scene.placed:
        tip = tip_of_v(view)
        if tip is None:
            continue
        away = curve.nearest(path, tip)[2]
        if away >= limit_mm:
            continue
        found.append(
            Finding(
                "bulk",
                Grade.WARN,
                Place(f"line '{line.name}' at the tip of the V neck, {view.side}", view.name, px_of(view, tip)),
                f"{away:.0f} mm from the tip of the V",
                f"{limit_mm:g} mm",
                f"the two facing allowances and {margin}: {margin.source}",
                f"Keep the line at least {limit_mm:g} mm from the tip, or sew it before the neck, pressed open: "
                "the tip is clipped to the stitch line and has no room for more seams.",
                line=line.id,
            )
        )
    return found


def tip_of_v(view: View) -> paths.Floats | None:
    """The lowest point of a V neck in view mm, shape (2,); None where the neck is round or not known."""
    if "neck-centre" not in view.landmarks:
        return None
    neck = [e for e in edges.edges_of(view) if e.name == "neck"]
    px = np.array([view.landmarks["neck-centre"]], dtype=np.float64)
    tip = (px - view.origin_px)[0] * (view.mm_per_px, -view.mm_per_px)
    for edge in neck:
        segment, t, away = curve.nearest(edge.path, tip)
        if away > 5.0:
            continue
        at = paths.distance_at(edge.path, segment, t)
        step = min(12.0, edge.length / 8)  # a traced corner is a little round
        if not step < at < edge.length - step:
            continue
        before = tip - paths.point_at_distance(edge.path, at - step)
        after = paths.point_at_distance(edge.path, at + step) - tip
        if abs(math.degrees(math.atan2(_cross(before, after), float(before @ after)))) > _V_DEG:
            return np.asarray(tip, dtype=np.float64)
    return None


def _cross(a: paths.Floats, b: paths.Floats) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _limit(scene: Scene) -> float:
    return 2 * scene.allowance_mm + scene.limits["bulk-margin"].value


def _from(end: End) -> str:
    return f"from the {edges.without_side(end.landmark)[0]}"


def _at_end(view: View, name: str, end: End) -> Place:
    edge, along = edges.along_edge(end, view)
    said = edge_said(end.edge)
    where = said if end.side is None else f"{said}, wearer's {end.side}"
    return Place(
        f"line '{name}' at the {where}, {view.side}", view.name, px_of(view, paths.point_at_distance(edge.path, along))
    )
