"""What the checks look at: one choice of a project, its panels, and the seams between them."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from threading import Lock

import numpy as np
import shapely
from pydantic import TypeAdapter

from mockup.checks.limits import Limit, limits
from mockup.colourways.colourway import Colourway
from mockup.garment.view import PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.lay.need import Need
from mockup.pattern.one_piece import OnePiece
from mockup.pattern.walk import Walk
from mockup.project import Project
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel, garment_panels, polygon, primary_views
from mockup.stylelines.styleline import StyleLine
from swatches.fabric import Fabric

_TOUCH_PX = 3.0  # outlines of neighbouring areas were traced apart, each to within a pixel of the line's middle
_SHARED_EDGES = ("side-left", "side-right", "shoulder-left", "shoulder-right")
_STEP_MM = 4.0

_FRAMES_KEPT = 32
_lock = Lock()

_views = TypeAdapter(tuple[View, ...])
_lines = TypeAdapter(tuple[StyleLine, ...])


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two panels meet.

    Attributes:
        a: panel id.
        b: panel id.
        length_mm: along the stitch line.
        upright: whether it runs up and down rather than across.
        upper: id of the panel that the other hangs from, or None when they lie side by side.
        view: view that shows it.
        point: middle of it, px of that view.
    """

    a: str
    b: str
    length_mm: float
    upright: bool
    upper: str | None
    view: str
    point: XY


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """One choice, ready to be judged.

    Attributes:
        project: the project.
        colourway: the choice.
        views: the view of each side that lines are drawn on.
        panels: id → panel, as its first view shows it.
        seams: all seams between panels.
        placed: (view, line, its path in view mm).
        allowance_mm: of style lines.
        cut_mm2: fabric id → area of its cut pieces, where pieces are known.
        limits: the table.
        walked: the seams of the cut pieces, compared; None where there are no pieces or they were not cut.
        lays: fabric id → its cut pieces as they lie on its width, where that was tried.
        shared: cut pieces that show more than one panel, where they were cut.
    """

    project: Project
    colourway: Colourway
    views: tuple[View, ...]
    panels: dict[str, Panel]
    seams: tuple[Seam, ...]
    placed: tuple[tuple[View, StyleLine, Path], ...]
    allowance_mm: float = 15.0
    cut_mm2: Mapping[str, float] = field(default_factory=dict)
    limits: Mapping[str, Limit] = field(default_factory=limits)
    walked: Walk | None = None
    lays: Mapping[str, Need] = field(default_factory=dict)
    shared: tuple[OnePiece, ...] = ()

    def fabric(self, panel_id: str) -> Fabric | None:
        """The cloth of a panel, or None when it has none yet."""
        fabric_id = self.colourway.fabrics.get(panel_id)
        return next((f for f in self.project.fabrics if f.id == fabric_id), None)

    def pairs(self) -> list[tuple[Seam, Fabric, Fabric]]:
        """Seams between two different cloths, the one of ``a`` first; the longest seam first."""
        found = []
        for seam in sorted(self.seams, key=lambda s: -s.length_mm):
            one, other = self.fabric(seam.a), self.fabric(seam.b)
            if one and other and one.id != other.id:
                found.append((seam, one, other))
        return found

    def pairs_once(self) -> list[tuple[Seam, Fabric, Fabric]]:
        """Every two cloths that meet, once: at the first of their seams in :meth:`pairs`."""
        first: dict[frozenset[str], tuple[Seam, Fabric, Fabric]] = {}
        for seam, a, b in self.pairs():
            first.setdefault(frozenset((a.id, b.id)), (seam, a, b))
        return list(first.values())

    def used(self) -> tuple[Fabric, ...]:
        """The cloths of this choice."""
        ids = set(self.colourway.fabrics.values())
        return tuple(f for f in self.project.fabrics if f.id in ids)


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """What a scene has apart from cloth: the same for every choice of one garment with the same lines."""

    views: tuple[View, ...]
    panels: dict[str, Panel]
    seams: tuple[Seam, ...]
    placed: tuple[tuple[View, StyleLine, Path], ...]


_frames: OrderedDict[bytes, Frame] = OrderedDict()


def scene(
    project: Project,
    colourway: Colourway,
    *,
    allowance_mm: float = 15.0,
    cut_mm2: Mapping[str, float] | None = None,
    table: Mapping[str, Limit] | None = None,
    walked: Walk | None = None,
    lays: Mapping[str, Need] | None = None,
    shared: tuple[OnePiece, ...] = (),
) -> Scene:
    """Measure what the checks need; panels and seams are measured once for the same views and lines.

    Raises:
        GeometryError: a line cannot be placed or cut.
    """
    frame = frame_of(project)
    return Scene(
        project, colourway, frame.views, frame.panels, frame.seams, frame.placed, allowance_mm, dict(cut_mm2 or {}),
        table or limits(project.limits), walked, dict(lays or {}),
        shared,
    )  # fmt: skip


def frame_of(project: Project) -> Frame:
    """Measure the panels and the seams between them, or remember them from the last time.

    Raises:
        GeometryError: a line cannot be placed or cut.
    """
    key = _frame_key(project)
    with _lock:
        if key in _frames:
            _frames.move_to_end(key)
            return _frames[key]
    found = _measured(project)
    with _lock:
        found = _frames.setdefault(key, found)
        while len(_frames) > _FRAMES_KEPT:
            _frames.popitem(last=False)
    return found


def frame_is_known(project: Project) -> bool:
    """Whether :func:`frame_of` would answer at once."""
    with _lock:
        return _frame_key(project) in _frames


def _frame_key(project: Project) -> bytes:
    return hashlib.sha256(_views.dump_json(project.views) + _lines.dump_json(project.lines)).digest()


def _measured(project: Project) -> Frame:
    views = primary_views(project.views)
    by_view = garment_panels(views, project.lines)
    panels: dict[str, Panel] = {}
    for view in views:
        for panel in by_view[view.name]:
            panels.setdefault(panel.id, panel)
    seams = [s for view in views for s in _seams_in(view, by_view[view.name])]
    if len(views) == 2:
        seams += _seams_between(views[0], views[1], by_view)
    placed = tuple((v, line, path) for v in views for line, path in placed_lines(v, project.lines, views))
    return Frame(tuple(views), panels, _merged(seams), placed)


def _seams_in(view: View, panels: tuple[Panel, ...]) -> list[Seam]:
    shapes = [polygon(p.outline, p.holes) for p in panels]
    near = [shape.boundary.buffer(_TOUCH_PX) for shape in shapes]
    found = []
    for i, a in enumerate(panels):
        for j in range(i + 1, len(panels)):
            shared = shapes[i].boundary.intersection(near[j])
            for over, under in ((i, j), (j, i)):  # a pocket lies on the body, whose panel runs on behind it
                if panels[over].part == "pocket" and panels[under].part == "body":
                    shared = shapes[over].boundary.intersection(shapes[under])
            # a corner that two panels merely share leaves a crumb as long as the tolerance on either side
            if shared.is_empty or shared.length < 6 * _TOUCH_PX:
                continue
            lines = shapely.line_merge(shared) if shared.geom_type == "MultiLineString" else shared
            longest = max(getattr(lines, "geoms", [lines]), key=lambda g: float(g.length))
            middle = longest.interpolate(0.5, normalized=True)
            points = np.asarray(shapely.get_coordinates(longest))
            across, up = np.ptp(points, axis=0)
            upright = bool(up > across)
            upper = _upper(a, panels[j], shapes[i], shapes[j], middle, upright)
            length = float(shared.length) * view.mm_per_px
            found.append(Seam(a.id, panels[j].id, length, upright, upper, view.name, (middle.x, middle.y)))
    return found


def _upper(
    a: Panel, b: Panel, shape_a: shapely.Geometry, shape_b: shapely.Geometry, at: shapely.Point, upright: bool
) -> str | None:
    parts = {a.part: a, b.part: b}
    if len(parts) == 2 and "body" in parts:  # a sleeve or pocket hangs from the body, a facing does not
        return parts["body"].id if parts.keys() & {"sleeve", "pocket"} else None
    if upright:
        return None
    above = shapely.Point(at.x, at.y - 4 * _TOUCH_PX)
    return a.id if shape_a.distance(above) < shape_b.distance(above) else b.id


def _seams_between(front: View, back: View, by_view: dict[str, tuple[Panel, ...]]) -> list[Seam]:
    """Seams where front and back meet: both views' edges run from the same landmark, so equal distances meet."""
    found = []
    bodies = [_bodies(by_view[view.name]) for view in (front, back)]
    for name in _SHARED_EDGES:
        edges = [next((e for e in view.edges if e.name == name), None) for view in (front, back)]
        if edges[0] is None or edges[1] is None:
            continue
        turned = edges[0].start != edges[1].start
        here, there, whole = _meeting(edges[0].path, edges[1].path, turned, front.mm_per_px, back.mm_per_px)
        pairs = zip(_nearest(bodies[0], here), _nearest(bodies[1], there), strict=True)
        runs: dict[tuple[str, str], list[XY]] = {}
        for pair, (x, y) in zip(pairs, here, strict=True):
            runs.setdefault(pair, []).append((float(x), float(y)))
        for (a, b), points in runs.items():
            length = len(points) / len(here) * whole * front.mm_per_px
            upright = name.startswith("side")
            found.append(Seam(a, b, length, upright, None, front.name, points[len(points) // 2]))
    return found


@lru_cache(maxsize=32)
def _meeting(
    front: PathXY, back: PathXY, turned: bool, front_mm: float, back_mm: float
) -> tuple[paths.Floats, paths.Floats, float]:
    """Places along an edge of the front and where the back meets them, px of each, and the edge's length in px.

    Lines do not matter to it, so it is kept while they move.
    """
    px = [paths.from_tuples(front), paths.from_tuples(back)]
    if turned:
        px[1] = paths.reversed_path(px[1])
    lengths = [paths.length(p) for p in px]
    steps = max(2, int(lengths[0] * front_mm / _STEP_MM))
    shares = (np.arange(steps) + 0.5) / steps
    here = np.array([paths.point_at_distance(px[0], share * lengths[0]) for share in shares])
    away = [min(share * lengths[0] * front_mm / back_mm, lengths[1]) for share in shares]
    there = np.array([paths.point_at_distance(px[1], distance) for distance in away])
    return here, there, lengths[0]


def _bodies(panels: tuple[Panel, ...]) -> list[tuple[str, shapely.Geometry]]:
    """The body's panels, each with its shape: made once for all places that are held against it."""
    return [(p.id, polygon(p.outline, p.holes)) for p in panels if p.part == "body"]


def _nearest(bodies: list[tuple[str, shapely.Geometry]], points: paths.Floats) -> list[str]:
    """Which of the panels is nearest to each point, the first of several."""
    away = np.array([shapely.distance(shape, shapely.points(points)) for _, shape in bodies])
    return [bodies[i][0] for i in away.argmin(axis=0)]


def _merged(seams: list[Seam]) -> tuple[Seam, ...]:
    """One seam a pair: what front and back show of an armhole is one seam."""
    merged: dict[tuple[str, str], Seam] = {}
    for s in seams:
        key = (s.a, s.b) if s.a < s.b else (s.b, s.a)
        old = merged.get(key)
        length = s.length_mm + (old.length_mm if old else 0.0)
        first = old or s
        merged[key] = Seam(first.a, first.b, length, first.upright, first.upper, first.view, first.point)
    return tuple(merged.values())
