"""The named edges of a view in mm, and distances along them from landmarks.

An edge is asked for by its name without a side ('side', 'armhole', 'hem') and the wearer's side where there are two.
'centre-front' and 'centre-back' are edges too: the part of the mirror line that lies in the body, from 'neck' to 'hem'.
In a front view the picture's left is the wearer's right; in a back view it is the wearer's left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from mockup.garment.landmarks import WORDS
from mockup.garment.view import PathXY, View, ViewEdge
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.split.words import edge_said, room_said
from mockup.stylelines.styleline import End
from swatches.errors import GeometryError
from swatches.units import PxPoints

CENTRES = ("centre-front", "centre-back")
_SIDES = ("left", "right")
_MIDDLES = ("neck-centre", "waist-centre", "hem-centre", "middle")  # counted from towards either side


@dataclass(frozen=True, slots=True, eq=False)
class MmEdge:
    """An edge of a view in view mm.

    Attributes:
        name: without side.
        side: 'left', 'right' (the wearer's), or None where there is one such edge.
        path: as the view runs it.
        start: landmark at its first point, without side.
        end: landmark at its last point, without side.
        length: arc length, mm.
        shown: what the person calls it, where that is not its name.
    """

    name: str
    side: str | None
    path: Path
    start: str
    end: str
    length: float
    shown: str = ""

    @property
    def word(self) -> str:
        """What the person calls it."""
        return self.shown or edge_said(self.name)


def without_side(name: str) -> tuple[str, str | None]:
    """Split 'underarm-left' into ('underarm', 'left'); a name without a side gives (name, None)."""
    base, _, last = name.rpartition("-")
    return (base, last) if base and last in _SIDES else (name, None)


def left_sign(view: View) -> float:
    """Sign of x (view mm) of the wearer's left: +1 in a front view, −1 in a back view."""
    return -1.0 if view.side == "back" else 1.0


def centre_name(view: View) -> str:
    """Name of the view's mirror line as an edge."""
    return "centre-back" if view.side == "back" else "centre-front"


def body_outline(view: View) -> Path:
    """Outline of the body in view mm, counter-clockwise."""
    return _outline(view.body.outline, view.mm_per_px, view.origin_px)[0]


@lru_cache(maxsize=64)
def _outline(px: PathXY, mm_per_px: float, origin: XY) -> tuple[Path, tuple[float, float, float, float]]:
    """Outline and its bounds; kept, since a drag asks for the same ones again and again."""
    found = _to_mm(px, mm_per_px, origin)
    found = found if paths.signed_area(found) > 0 else paths.reversed_path(found)
    return found, paths.bounds(found)


def _to_mm(px: PathXY, mm_per_px: float, origin: XY) -> Path:
    cubics = paths.from_tuples(px).cubics
    return Path((cubics - origin) * (mm_per_px, -mm_per_px))


def mirror_x_mm(view: View) -> float | None:
    """The mirror line's x in view mm, or None."""
    return None if view.mirror_x is None else (view.mirror_x - view.origin_px[0]) * view.mm_per_px


def centre_line(view: View) -> Path:
    """The part of the mirror line that lies in the body, from the neck down to the hem, view mm.

    Raises:
        GeometryError: the view has no mirror line, or it misses the body.
    """
    x = mirror_x_mm(view)
    if x is None:
        raise GeometryError(
            f"centre line of the {view.name}",
            expected="a mirror line",
            got="none",
            next_step="Set the middle of the garment first, or draw a line that is not symmetrical",
        )
    found = _crossings(view.body.outline, view.mm_per_px, view.origin_px, x)
    if not found or max(found) - min(found) < 1e-6:
        raise GeometryError(
            f"centre line of the {view.name}",
            expected="a mirror line through the body",
            got="one that misses it",
            next_step="Move the middle of the garment",
        )
    return paths.polyline([(x, max(found)), (x, min(found))])


@lru_cache(maxsize=64)
def _crossings(px: PathXY, mm_per_px: float, origin: XY, x: float) -> tuple[float, ...]:
    """Heights at which the outline crosses the upright at x, mm."""
    outline = _outline(px, mm_per_px, origin)[0].cubics
    found: list[float] = []
    for cubic in outline[(outline[..., 0].min(axis=1) <= x) & (outline[..., 0].max(axis=1) >= x)]:
        p0, p1, p2, p3 = cubic[:, 0] - x
        roots = np.roots([p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0), p0])
        real = roots.real[(np.abs(roots.imag) < 1e-9) & (roots.real > -1e-9) & (roots.real < 1 + 1e-9)]
        ends = [t for t, gap in ((0.0, p0), (1.0, p3)) if gap == 0]
        for t in np.r_[np.clip(real, 0, 1), ends]:
            found.append(float(paths.evaluate(cubic, np.float64(t))[1]))
    return tuple(found)


def edges_of(view: View, *, centre: bool = False) -> tuple[MmEdge, ...]:
    """All named edges in view mm; with ``centre``, the mirror line as the last one where there is one."""
    made = list(named_edges(view.edges, view.mm_per_px, view.origin_px))
    if centre and view.mirror_x is not None:
        path = centre_line(view)
        made.append(MmEdge(centre_name(view), None, path, "neck", "hem", paths.length(path)))
    return tuple(made)


@lru_cache(maxsize=64)
def named_edges(named: tuple[ViewEdge, ...], mm_per_px: float, origin: XY) -> tuple[MmEdge, ...]:
    """Edges of a view (px) with its scale and origin, in mm; kept, since a drag asks for the same ones again."""
    made = []
    for e in named:
        name, side = without_side(e.name)
        path = _to_mm(e.path, mm_per_px, origin)
        made.append(MmEdge(name, side, path, without_side(e.start)[0], without_side(e.end)[0], paths.length(path)))
    return tuple(made)


def find_edge(view: View, edge: str, side: str | None = None, *, what: str = "line end") -> MmEdge:
    """Find one edge.

    Args:
        view: the view.
        edge: name, with or without side, or 'centre-front' / 'centre-back'.
        side: 'left' or 'right' (the wearer's), needed where there are two.
        what: what asks, for the error message.

    Raises:
        GeometryError: no such edge, or its side is not said.
    """
    base, named = without_side(edge)
    if base in CENTRES:
        if base != centre_name(view):
            raise GeometryError(
                what,
                expected=f"an edge of the {view.side}",
                got=base,
                next_step=f"Use {centre_name(view)} on this side of the garment",
            )
        path = centre_line(view)
        return MmEdge(base, None, path, "neck", "hem", paths.length(path))
    side = named or side
    same = [e for e in edges_of(view) if e.name == base]
    if not same:
        there = sorted({e.name for e in edges_of(view)} | {centre_name(view)})
        raise GeometryError(
            what,
            expected=f"an edge of the {view.name} ({', '.join(there)})",
            got=repr(edge),
            next_step="Choose one of these edges",
        )
    if len(same) > 1 or same[0].side is not None:
        same = [e for e in same if e.side == side]
    if not same:
        raise GeometryError(
            what,
            expected="'left' or 'right', the wearer's" if side is None else f"a {base} edge on the {side}",
            got=f"no side for the edge {base!r}" if side is None else "none there",
            next_step="Say on which side the line ends",
        )
    return same[0]


def edge_length(view: View, edge: str, side: str | None = None) -> float:
    """An edge's length along the stitch line, mm; errors as :func:`find_edge`."""
    return find_edge(view, edge, side).length


def landmarks_on(view: View, edge: MmEdge) -> dict[tuple[str, str | None], float]:
    """Places from which distances along an edge are counted.

    Returns:
        (name without side, side or None) → distance along ``edge.path`` from its first point, mm. An edge whose
        ends have the same name (neck, waist, hem) gives each with the wearer's side that it lies on. 'neck-centre',
        'waist-centre' and 'hem-centre' are where the mirror line meets them, 'middle' where a symmetrical line does.
    """
    ends = {(edge.start, edge.side): 0.0, (edge.end, edge.side): edge.length}
    if edge.start == edge.end and not edge.path.closed:
        first_is_left = (edge.path.start[0] - edge.path.end[0]) * left_sign(view) > 0
        sides = ("left", "right") if first_is_left else ("right", "left")
        ends = {(edge.start, sides[0]): 0.0, (edge.end, sides[1]): edge.length}
    if edge.name in ("neck", "waist", "hem") and view.mirror_x is not None:
        centre = centre_line(view)
        point = centre.end if edge.name == "hem" else centre.start
        segment, t, away = curve.nearest(edge.path, point)
        if away < 1e-3:
            ends[(f"{edge.name}-centre", None)] = paths.distance_at(edge.path, segment, t)
    if edge.start == edge.end == "start":  # a symmetrical line
        middle = mirror_x_mm(view)
        for k, x in enumerate(edge.path.cubics[:, 0, 0]):
            if middle is not None and abs(x - middle) < 1e-6:
                ends[("middle", None)] = paths.distance_at(edge.path, k, 0.0)
    return ends


def along_edge(
    end: End,
    view: View,
    *,
    what: str = "line end",
    drawn: Mapping[str, MmEdge] | None = None,
    side_said: bool = False,
) -> tuple[MmEdge, float]:
    """Find the edge of an end and its distance along the edge's path from the path's first point, mm.

    Args:
        end: the end.
        view: the view.
        what: what asks, for the error message.
        drawn: lines on which the end may be, as edges by line id.
        side_said: whether an end without a side is refused where there are two; else it is taken on the wearer's
            left, the half of a symmetrical line that is drawn.

    Raises:
        GeometryError: unknown edge or landmark, side not said, or a distance that is negative or past the edge.
    """
    name, side = without_side(end.landmark)
    side = side or end.side or (None if side_said else "left")
    edge = (drawn or {}).get(end.edge) or find_edge(view, end.edge, end.side or side, what=what)
    marks = landmarks_on(view, edge)
    same = {key: at for key, at in marks.items() if key[0] == name}
    if not same and name in WORDS and not any(key.rpartition("-")[0] == name for key in view.landmarks):
        raise GeometryError(
            what,
            expected=f"a picture with the garment's {WORDS[name]}, from which this is counted",
            got="a picture where it was not found",
            next_step="Place it under 'What garment?', 'The points of the garment', or with 'mockup landmark move'",
        )
    if not same:
        hangs = edge.name in CENTRES and not any(e.name == "neck" for e in view.edges)
        names = sorted({"waist" if hangs and key[0] == "neck" else key[0] for key in marks})
        raise GeometryError(
            what,
            expected=f"a landmark on the {edge.word} ({', '.join(names)})",
            got=repr(end.landmark),
            next_step="Count the distance from one of these",
        )
    if len(same) > 1:
        same = {key: at for key, at in same.items() if key[1] == side}
    if not same or (name in _MIDDLES and side is None and end.distance_mm > 0):
        raise GeometryError(
            what,
            expected="'left' or 'right', the wearer's",
            got=f"no side for the landmark {name!r} of the {edge.word}",
            next_step="Say on which side the line ends",
        )
    at = next(iter(same.values()))
    forward = at < edge.length / 2
    if name in _MIDDLES:
        first_is_left = (edge.path.start[0] - edge.path.end[0]) * left_sign(view) > 0
        forward = (side == "right") == first_is_left
    room = edge.length - at if forward else at
    if not (math.isfinite(end.distance_mm) and -1e-9 <= end.distance_mm <= room + 1e-6):
        raise GeometryError(
            what,
            expected=f"{room_said(room)} along the {edge.word} from the {name}",
            got=end.text or f"{end.distance_mm:g} mm",
            next_step="Type a shorter distance" if end.distance_mm > 0 else "Type a distance of 0 or more",
        )
    step = min(max(end.distance_mm, 0.0), room)
    return edge, at + step if forward else at - step


def end_point(
    end: End,
    view: View,
    *,
    what: str = "line end",
    drawn: Mapping[str, MmEdge] | None = None,
    side_said: bool = False,
) -> XY:
    """The point of an end in view mm, exact to 1e-9 mm along the stitch line; see :func:`along_edge`."""
    edge, distance = along_edge(end, view, what=what, drawn=drawn, side_said=side_said)
    x, y = paths.point_at_distance(edge.path, distance)
    return float(x), float(y)


def body_box(view: View) -> tuple[float, float, float, float]:
    """Where shares of the body are counted from: (middle x, foot y, half width, height), view mm."""
    x0, y0, x1, y1 = _outline(view.body.outline, view.mm_per_px, view.origin_px)[1]
    middle = mirror_x_mm(view)
    return ((x0 + x1) / 2 if middle is None else middle), y0, (x1 - x0) / 2, y1 - y0


def shares_to_mm(view: View, share: XY) -> XY:
    """A point in shares of the body's box to view mm; see ``StyleLine.through``."""
    x, y, half, height = body_box(view)
    return x + left_sign(view) * share[0] * half, y + share[1] * height


def mm_to_shares(view: View, point: XY) -> XY:
    """View mm to shares of the body's box; the inverse of :func:`shares_to_mm`."""
    x, y, half, height = body_box(view)
    return (point[0] - x) * left_sign(view) / half, (point[1] - y) / height


def area_there(view: View, point: XY) -> str:
    """Name of the area beside the body that a place lies in, view mm, or empty."""
    for area in view.areas:
        if area.part not in ("body", "pocket"):
            flat = paths.flatten(paths.from_tuples(area.outline), 1.0).points
            shape = shapely.Polygon(view.points_to_mm(PxPoints(flat)))
            if shapely.make_valid(shape).contains(shapely.Point(point)):
                return area.name
    return ""
