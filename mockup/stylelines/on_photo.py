"""The lines of a drawing on a photo of the same side of the garment.

Lines are drawn on the drawing; a photo shows the same garment in another shape. The body's outline in the drawing is
matched to that in the photo edge by edge, and the lines are carried over by mean value coordinates
(:mod:`mockup.geometry.place`). Every end keeps its share of its edge.

On a dress form the cloth turns away from the camera: what lies a share s of the half width from the middle is seen at
sin(s·turn) / sin(turn), as on a cylinder. The drawing is rounded so before it is matched.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import ArrayLike

from mockup.garment.view import Area, PathXY, View, ViewEdge
from mockup.geometry import curve, place
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from mockup.stylelines import edges
from mockup.stylelines.anchor import lines_under, place_line
from mockup.stylelines.styleline import StyleLine

_STEP_MM = 8.0
_TOLERANCE_MM = 0.05
_ON_BODY = 0.8  # of an area's size that must lie on the body
_ENOUGH = 4  # landmarks in common from which outlines are matched between them


def placed_lines(view: View, lines: Sequence[StyleLine], views: Sequence[View]) -> tuple[tuple[StyleLine, Path], ...]:
    """Place all lines of a view's side on it, in view mm.

    On a photo they are carried over from the drawing of the same side, where ``views`` has one. What was placed last is
    kept: a picture, its panels and its seams ask for the same.

    Raises:
        GeometryError: a line cannot be placed.
    """
    return _placed(OneSide.of(view, lines, views))


@dataclass(frozen=True, slots=True)
class OneSide:
    """A view with the lines of its side and the drawing on which they were drawn: all that places them on it."""

    view: View
    lines: tuple[StyleLine, ...]
    drawing: View | None

    @classmethod
    def of(cls, view: View, lines: Sequence[StyleLine], views: Sequence[View]) -> OneSide:
        """Pick what concerns a view."""
        return cls(view, tuple(line for line in lines if line.side == view.side), drawing_of(view, views))

    def __hash__(self) -> int:
        return hash((self.view.name, self.view.mm_per_px, self.lines))


@lru_cache(maxsize=64)
def _placed(on: OneSide) -> tuple[tuple[StyleLine, Path], ...]:
    view, mine, drawing = on.view, on.lines, on.drawing
    if drawing is None:
        return tuple((line, place_line(line, view, mine)) for line in mine)
    if not mine:
        return ()
    for line in mine:  # lines that end on each other in a ring are refused here
        place_line(line, drawing, mine)
    return tuple((line, _carried(line, lines_under(line, mine), _Pair(drawing, view))) for line in mine)


@dataclass(frozen=True, slots=True)
class _Pair:
    """A drawing and a photo of the same side; compared whole, and hashed by little, since views are long."""

    drawing: View
    photo: View

    def __hash__(self) -> int:
        return hash((self.drawing.mm_per_px, self.photo.name, self.photo.mm_per_px))


@lru_cache(maxsize=256)
def _carried(line: StyleLine, under: tuple[StyleLine, ...], views: _Pair) -> Path:
    """One line carried onto a photo, with the lines under it. Kept, since others move without it."""
    drawing, photo = views.drawing, views.photo
    pairs = [(edges.body_outline(drawing), edges.body_outline(photo))]
    for other in under:
        if other.id in (line.start.edge, line.end.edge):
            its = lines_under(other, under)
            pairs.append((place_line(other, drawing, its), _carried(other, its, views)))
    return carry_line(place_line(line, drawing, under), drawing_to_photo(drawing, photo), pairs)


def drawing_of(view: View, views: Sequence[View]) -> View | None:
    """The drawing of the side that a photo shows; None for a drawing, and where there is none."""
    if view.kind != "photo":
        return None
    return next((v for v in views if v.side == view.side and v.kind == "drawing"), None)


def carry_line(path: Path, mapped: place.PointMap, pairs: Sequence[tuple[Path, Path]]) -> Path:
    """Carry a placed line over.

    Args:
        path: the line on the drawing, mm.
        mapped: the map.
        pairs: what it may end on, as it is on the drawing and on the photo; such an end comes onto it exactly.
    """
    ends: list[Floats | None] = []
    for point in (path.start, path.end):
        on = [target for source, target in pairs if curve.nearest(source, point)[2] <= _TOLERANCE_MM]
        if not on:
            ends.append(None)
            continue
        segment, t, _ = curve.nearest(on[0], mapped.apply(point)[0])
        ends.append(paths.points_at(on[0], segment, t))
    return place.carry_path(path, mapped, ends[0], ends[1], tolerance=_TOLERANCE_MM)


@dataclass(frozen=True, slots=True, eq=False)
class Rounded:
    """A map that rounds the drawing about its middle, and then matches outlines.

    Attributes:
        matched: from the rounded drawing to the photo, mm.
        middle: x of the drawing's middle, mm.
        half: half width of its body, mm.
        turn: angle at which that half width is seen, radians, above 0.
    """

    matched: place.MeanValueMap
    middle: float
    half: float
    turn: float

    def apply(self, points: ArrayLike) -> Floats:
        """Map points of the drawing, shape (m, 2), to the photo."""
        return self.matched.apply(rounded(points, self.middle, self.half, self.turn))


def rounded(points: ArrayLike, middle: float, half: float, turn: float) -> Floats:
    """See a flat drawing bent round an upright cylinder, shape (m, 2); beyond the half width it goes on straight."""
    p = np.array(points, dtype=np.float64).reshape(-1, 2)
    share = (p[:, 0] - middle) / half
    inside = np.clip(share, -1.0, 1.0)
    beyond = (share - inside) * turn / math.tan(turn)
    p[:, 0] = middle + half * (np.sin(turn * inside) / math.sin(turn) + beyond)
    return p


def drawing_to_photo(drawing: View, photo: View) -> place.PointMap:
    """Match two body outlines, both in their view's mm.

    Edge by edge where both views name the same edges; else between the landmarks that both have on their outline; else,
    with fewer than four of those, by the boxes round them.
    """
    x, _, half, _ = edges.body_box(drawing)
    bend = (x, half, math.radians(photo.turn_deg)) if photo.turn_deg > 0 else None
    by_edges = _by_edges(
        drawing.edges, drawing.mm_per_px, drawing.origin_px, photo.edges, photo.mm_per_px, photo.origin_px, bend
    )
    if by_edges is not None:
        return by_edges
    parts = _between_landmarks(drawing, photo)
    if parts is not None:
        return place.MeanValueMap(*place.matched(*parts, _STEP_MM))
    outline = edges.body_outline(drawing)
    count = max(24, int(paths.length(outline) / _STEP_MM))
    corners = curve.points_along(outline, np.arange(count) * paths.length(outline) / count)
    x, y, half, high = edges.body_box(drawing)
    x2, y2, half2, high2 = edges.body_box(photo)
    return place.MeanValueMap(corners, (corners - (x, y)) * (half2 / half, high2 / high) + (x2, y2))


@lru_cache(maxsize=16)
def _by_edges(
    drawn: tuple[ViewEdge, ...],
    mm_a: float,
    origin_a: XY,
    seen: tuple[ViewEdge, ...],
    mm_b: float,
    origin_b: XY,
    bend: tuple[float, float, float] | None,
) -> place.PointMap | None:
    """Match named edges; kept, since a drag asks for the same map again and again. None where they differ."""
    a, b = edges.named_edges(drawn, mm_a, origin_a), edges.named_edges(seen, mm_b, origin_b)
    names = [(e.name, e.side) for e in a]
    other = {(e.name, e.side): e.path for e in b}
    if not a or set(names) != set(other) or len(a) != len(b) or not _close(a) or not _close(b):
        return None
    targets = [other[n] for n in names]
    if bend is None:
        return place.MeanValueMap(*place.matched([e.path for e in a], targets, _STEP_MM))
    bent = [paths.polyline(rounded(paths.flatten(e.path, _TOLERANCE_MM).points, *bend)) for e in a]
    return Rounded(place.MeanValueMap(*place.matched(bent, targets, _STEP_MM)), *bend)


def areas_on_photo(drawing: View, photo: View) -> tuple[Area, ...]:
    """What lies on the body in the drawing, such as pockets, as it lies on the photo.

    Only parts of which the photo has no area of its own. Their ids are the drawing's, their label is 0. They are kept,
    since no line changes them.
    """
    return _areas(OneSide(photo, (), drawing))


@lru_cache(maxsize=16)
def _areas(on: OneSide) -> tuple[Area, ...]:
    drawing, photo = on.drawing, on.view
    if drawing is None:
        return ()
    own = {a.part for a in photo.areas}
    body = _polygon(drawing.body.outline)
    found = []
    for area in drawing.areas:
        if area.part in own or area.id == drawing.body.id:
            continue
        shape = _polygon(area.outline)
        if shapely.area(shapely.intersection(shape, body)) < _ON_BODY * shapely.area(shape):
            continue
        mapped = drawing_to_photo(drawing, photo)
        outlines = [
            photo.path_to_px(place.carry_path(drawing.path_to_mm(ring), mapped, tolerance=_TOLERANCE_MM)).to_tuples()
            for ring in (area.outline, *area.holes)
        ]
        found.append(replace(area, label=0, outline=outlines[0], holes=tuple(outlines[1:])))
    return tuple(found)


def _polygon(outline: PathXY) -> shapely.Geometry:
    return shapely.make_valid(shapely.Polygon(paths.flatten(paths.from_tuples(outline), 0.5).points))


def _close(named: Sequence[edges.MmEdge]) -> bool:
    return all(
        np.allclose(p.path.end, q.path.start, rtol=0, atol=1e-3)
        for p, q in zip(named, (*named[1:], named[0]), strict=True)
    )


def _between_landmarks(drawing: View, photo: View) -> tuple[list[Path], list[Path]] | None:
    """Both outlines cut at the landmarks that both have, in the same order; None where there are too few."""
    outlines = edges.body_outline(drawing), edges.body_outline(photo)
    whole = [paths.length(o) for o in outlines]
    found: list[tuple[float, float]] = []
    for name in sorted(set(drawing.landmarks) & set(photo.landmarks)):
        at = []
        for view, outline in zip((drawing, photo), outlines, strict=True):
            point = paths.transformed(paths.polyline([view.landmarks[name], (0, 0)]), view.px_to_mm).start
            segment, t, away = curve.nearest(outline, point)
            at.append(paths.distance_at(outline, segment, t) if away < 0.02 * edges.body_box(view)[3] else -1.0)
        if min(at) >= 0:
            found.append((at[0] % whole[0], at[1] % whole[1]))
    found.sort()
    if len(found) < _ENOUGH:
        return None
    turn = min(range(len(found)), key=lambda k: found[k][1])
    second = [f[1] for f in found[turn:] + found[:turn]]
    firsts = [f[0] for f in found]
    if np.any(np.diff(second) < 1) or np.any(np.diff(firsts) < 1):
        return None
    cut: tuple[list[Path], list[Path]] = ([], [])
    for k, (a, b) in enumerate(found):
        c, d = found[(k + 1) % len(found)]
        for into, outline, size, lo, hi in (
            (cut[0], outlines[0], whole[0], a, c),
            (cut[1], outlines[1], whole[1], b, d),
        ):
            if hi > lo:
                into.append(paths.between(outline, lo, hi))
            else:
                parts = [paths.between(outline, lo, size)] if size - lo > 1e-6 else []
                parts += [paths.between(outline, 0.0, hi)] if hi > 1e-6 else []
                into.append(paths.joined(parts))
    return cut
