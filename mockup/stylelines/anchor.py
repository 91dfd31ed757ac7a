"""Place a style line on a view: from distances along edges and shares of the body to one path in view mm."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from mockup.stylelines import edges
from mockup.stylelines.edges import MmEdge, end_point
from mockup.stylelines.shapes import ring
from mockup.stylelines.styleline import End, LineKind, StyleLine, is_free
from swatches.errors import GeometryError

KINK_DEG = 0.1  # a symmetrical line that meets its mirror line squarer than this has no kink
_OUTSIDE_MM = 0.25  # a line may touch the outline; farther out than this it leaves the garment
_ALONG_MM = 0.5
_SHORTEST_MM = 5.0


def place_line(line: StyleLine, view: View, others: Sequence[StyleLine] = ()) -> Path:
    """Place a line on a view of its side: the whole visible line in view mm.

    A symmetrical line is placed twice, once from each side of the wearer, and joined at the mirror line: it runs from
    the wearer's left to the right, meets both edges exactly, and is the mirror image of itself as far as the view is.
    Unless ``kinked`` it meets the mirror line at a right angle: a curve and an arc by their nature, a straight last
    leg by bending it where its ends are not level. What was placed last is kept: a moved line asks for all lines some
    ten times.

    Args:
        line: the line.
        view: a view of the same side of the garment.
        others: lines on which this one may end: then ``End.edge`` is the other line's id, and ``End.landmark`` its
            'start' or 'end'; of a symmetrical one its 'start' on one side of the wearer, or its 'middle'.

    Raises:
        GeometryError: an end cannot be placed; the ends are the same point; a symmetrical line does not end on the
            mirror line; the line leaves the garment, runs along an edge or crosses itself; lines end on each other
            in a ring.
    """
    return _kept(line, _Where(view, lines_under(line, others)))


@dataclass(frozen=True, slots=True)
class _Where:
    """All that places a line, beside itself: the view, and the lines under it."""

    view: View
    under: tuple[StyleLine, ...]

    def __hash__(self) -> int:
        return hash((self.view.name, self.view.mm_per_px, self.under))  # the rest of a view is long, and only compared


@lru_cache(maxsize=512)
def _kept(line: StyleLine, where: _Where) -> Path:
    return _place(line, where.view, {other.id: other for other in where.under}, ())


def lines_under(line: StyleLine, others: Sequence[StyleLine]) -> tuple[StyleLine, ...]:
    """The lines on which a line ends, and those on which these end, and so on; in the order given."""
    by_id = {other.id: other for other in others}
    found: set[str] = set()
    todo = [line]
    while todo:
        each = todo.pop()
        new = {each.start.edge, each.end.edge} & by_id.keys() - found
        found |= new
        todo += [by_id[name] for name in new]
    return tuple(other for other in others if other.id in found)


def placed_ends(line: StyleLine, view: View, others: Sequence[StyleLine] = ()) -> tuple[XY, XY]:
    """Where a line starts and ends, view mm; of a symmetrical one the half on the wearer's left.

    A closed shape that ends on no edge starts and ends at its first point.

    What lies between is not looked at: the line need not lie inside the garment. See :func:`place_line`.

    Raises:
        GeometryError: an end cannot be placed, or lines end on each other in a ring.
    """
    what = f"line {line.name!r}"
    if is_free(line):
        x, y = ring(line, view).start
        return (float(x), float(y)), (float(x), float(y))
    drawn = _drawn(line, view, {other.id: other for other in others}, (), what)
    said = not line.symmetric
    return (
        end_point(line.start, view, what=f"start of {what}", drawn=drawn, side_said=said),
        end_point(line.end, view, what=f"end of {what}", drawn=drawn, side_said=said),
    )


def line_as_edge(line: StyleLine, path: Path) -> MmEdge:
    """A placed line as an edge on which other lines may end; see :func:`place_line`."""
    return MmEdge(
        line.id, None, path, "start", "start" if line.symmetric else "end", paths.length(path), f"line {line.name!r}"
    )


def _place(line: StyleLine, view: View, others: Mapping[str, StyleLine], above: tuple[str, ...]) -> Path:
    what = f"line {line.name!r}"
    if line.side != view.side:
        raise GeometryError(
            what,
            expected=f"a line of the {view.side}",
            got=f"one of the {line.side}",
            next_step="Carry the line to the other side first",
        )
    if is_free(line):
        path = ring(line, view)
        _stays_inside(path, view, what)
        return path
    drawn = _drawn(line, view, others, above, what)
    if line.symmetric:
        _symmetric_can_be(line, view, what)
        left = _one(line, view, "left", what, drawn)
        right = _one(line, view, "right", what, drawn)
        path = paths.joined([left, paths.reversed_path(right)])
    else:
        path = _one(line, view, None, what, drawn)
    _stays_inside(path, view, what)
    return path


def _drawn(
    line: StyleLine, view: View, others: Mapping[str, StyleLine], above: tuple[str, ...], what: str
) -> dict[str, MmEdge]:
    """The lines on which a line ends, placed, as edges by line id."""
    drawn = {}
    for end in (line.start, line.end):
        if end.edge in others:
            if end.edge in (line.id, *above):
                raise GeometryError(
                    what,
                    expected="an end on an edge or on a line drawn before",
                    got="lines that end on each other in a ring",
                    next_step="Let one of them end on an edge",
                )
            other = others[end.edge]
            drawn[other.id] = line_as_edge(other, _place(other, view, others, (line.id, *above)))
    return drawn


def _symmetric_can_be(line: StyleLine, view: View, what: str) -> None:
    if line.end.edge != edges.centre_name(view):
        raise GeometryError(
            what,
            expected=f"a symmetrical line that ends on the {edges.centre_name(view)}",
            got=f"an end on the {line.end.edge}",
            next_step="End it at the middle, or draw one line for each side",
        )
    if any(x < -1e-9 for x, _ in line.through):
        raise GeometryError(
            what,
            expected="the points of a symmetrical line on the wearer's left half",
            got="a point past the middle",
            next_step="Move the point back, or draw a line that is not symmetrical",
        )


def _one(line: StyleLine, view: View, half: str | None, what: str, drawn: Mapping[str, MmEdge]) -> Path:
    """Place a line that is not symmetrical, or one half of a symmetrical one, from its start to its end."""
    start, end = line.start, line.end
    through = [edges.shares_to_mm(view, share) for share in line.through]
    if half is not None:
        start = replace(start, side=None if start.edge in edges.CENTRES else half)
        if half == "right":
            through = [edges.shares_to_mm(view, (-x, y)) for x, y in line.through]
    said = half is None
    a = end_point(start, view, what=f"start of {what}", drawn=drawn, side_said=said)
    b = end_point(end, view, what=f"end of {what}", drawn=drawn, side_said=said)
    if line.kind is LineKind.STRAIGHT:
        through = []
    if np.hypot(b[0] - a[0], b[1] - a[1]) < 1e-6 and not through:
        raise GeometryError(
            what,
            expected="two different ends",
            got="both at the same point",
            next_step="Move one of the ends",
            place=a,
        )
    square = None
    if half is not None and not line.kinked:
        square = np.array([-edges.left_sign(view) if half == "left" else edges.left_sign(view), 0.0])
    return _joined_by(line.kind, [a, *through, b], square, what)


def _joined_by(kind: LineKind, points: list[XY], square: Floats | None, what: str) -> Path:
    """Join points by a kind of line; ``square``: unit direction in which it must arrive at the last point."""
    if kind is LineKind.CURVE:
        return curve.smooth_through(points, end_tangent=square)
    if kind is LineKind.ARC and square is not None:
        return _square_arc(points[0], points[-1])
    if kind is LineKind.ARC:
        if len(points) != 3:
            raise GeometryError(
                what,
                expected="an arc with one point between its ends",
                got=f"{len(points) - 2} points",
                next_step="Give one point, or make it a curve",
            )
        return curve.arc_through(*points)
    path = paths.polyline(points)
    if square is None:
        return path
    a, b = path.cubics[-1, 0], path.cubics[-1, 3]
    chord = b - a
    turn = np.degrees(np.arctan2(abs(chord[0] * square[1] - chord[1] * square[0]), chord @ square))
    if turn <= KINK_DEG / 2:  # both halves turn
        return path
    last = np.stack([a, a + chord / 3, b - square * (np.hypot(*chord) / 3), b])
    return Path(np.concatenate([path.cubics[:-1], last[None]]))


def _square_arc(a: XY, b: XY) -> Path:
    """The part from ``a`` to ``b`` of the circle through a, b and a's mirror image in the upright line at b."""
    if abs(a[1] - b[1]) < 1e-9 * abs(a[0] - b[0]):
        return paths.polyline([a, b])
    across, up = a[0] - b[0], a[1] - b[1]
    centre_y = b[1] + (across**2 + up**2) / (2 * up)
    radius = abs(centre_y - b[1])
    start = np.degrees(np.arctan2(a[1] - centre_y, across))
    stop = -90.0 if up > 0 else 90.0
    turn = (stop - start + 180.0) % 360.0 - 180.0
    cubics = curve.circular_arc((b[0], centre_y), radius, start, start + turn).cubics.copy()
    cubics[0, 0], cubics[-1, 3] = a, b
    cubics[-1, 2, 1] = b[1]
    return Path(cubics)


def _stays_inside(path: Path, view: View, what: str) -> None:
    outline = edges.body_outline(view)
    flat = shapely.LineString(paths.flatten(path, 0.05).points)
    body = shapely.Polygon(paths.flatten(outline, 0.05).points)
    if not body.is_valid:
        body = shapely.make_valid(body)
    outside = flat.difference(body.buffer(_OUTSIDE_MM))
    if not outside.is_empty:
        x, y = outside.interpolate(0.5, normalized=True).coords[0]
        over = edges.area_there(view, (float(x), float(y)))
        if over:
            raise GeometryError(
                what,
                expected="a line that stays on the body",
                got=f"one that runs over a seam onto the {over}",
                next_step="Keep it on one side of that seam, or end it there",
                place=(float(x), float(y)),
            )
        way = "below" if y <= 0 else "above"  # view mm are counted from the middle of the neck, or of a skirt's waist
        raise GeometryError(
            what,
            expected="a line inside the garment",
            got=f"one that leaves the garment {abs(x):.0f} mm from the middle, {abs(y):.0f} mm {way} its top",
            next_step="Move its points or its ends",
            place=(float(x), float(y)),
        )
    if flat.difference(body.boundary.buffer(_ALONG_MM)).length < _SHORTEST_MM:
        raise GeometryError(
            what,
            expected="a line across the garment",
            got="one that runs along its edge",
            next_step="Move its points or its ends away from the edge",
            place=(float(path.start[0]), float(path.start[1])),
        )
    if not flat.is_simple:
        raise GeometryError(
            what,
            expected="a line that does not cross itself",
            got="one that crosses itself",
            next_step="Move its points apart",
            place=(float(path.start[0]), float(path.start[1])),
        )


def end_at(
    view: View,
    point: XY,
    *,
    among: Collection[str] | None = None,
    landmark: str = "",
    symmetric: bool = False,
    snap_mm: float = 5.0,
    step_mm: float = 0.0,
    lines: Sequence[tuple[StyleLine, Path]] = (),
) -> End:
    """Give the end nearest to a point, as when an end is dragged.

    Args:
        view: the view.
        point: view mm.
        among: edge names without side that may be chosen, the mirror line's too; None: every edge of the outline.
        landmark: keep counting from this landmark where the edge has it; else from the nearer one.
        symmetric: give no side: the line is mirrored.
        snap_mm: nearer than this to a landmark, along the edge, the end goes onto it.
        step_mm: distances are rounded to multiples of this; 0: not rounded.
        lines: other lines of this side, placed in view mm, on which it may end too (in ``among`` by their ids).

    Raises:
        GeometryError: the view has no edge of these names.
    """
    known = [*edges.edges_of(view, centre=among is not None), *(line_as_edge(*pair) for pair in lines)]
    found = [e for e in known if among is None or e.name in among]
    if not found:
        raise GeometryError(
            "line end",
            expected="an edge to end on",
            got=f"none on the {view.name} called {', '.join(sorted(among or ())) or 'anything'}",
            next_step="Set the points of the garment's outline first",
        )
    near = [(curve.nearest(e.path, point), e) for e in found]
    (segment, t, _), edge = min(near, key=lambda pair: pair[0][2])
    at = paths.distance_at(edge.path, segment, t)
    marks = edges.landmarks_on(view, edge)
    side = edge.side
    sided = edge.name not in edges.CENTRES and (edge.start == edge.end or edge.side is not None)
    if side is None and sided:
        side = "left" if (point[0] - edges.body_box(view)[0]) * edges.left_sign(view) >= 0 else "right"
    usable = {key: d for key, d in marks.items() if key[1] in (None, side)}
    kept = {key: d for key, d in usable.items() if key[0] == landmark}
    snapped = min(usable.items(), key=lambda item: abs(item[1] - at))
    if abs(snapped[1] - at) <= snap_mm:
        (name, _), distance = snapped[0], 0.0
        if kept and name != landmark:
            name, distance = landmark, abs(snapped[1] - next(iter(kept.values())))
    else:
        (name, _), start = min((kept or usable).items(), key=lambda item: abs(item[1] - at))
        distance = abs(at - start)
        if step_mm > 0:
            distance = min(round(distance / step_mm) * step_mm, max(edge.length - start, start))
    return End(edge.name, name, float(distance), side if sided and not symmetric else None)
