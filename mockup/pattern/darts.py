"""Darts: where they are, how long an edge is with them closed, and the cap across their opening.

A dart is a wedge between two legs of one length that meet in its tip. Sewn, its second leg lies on its first, and the
cloth between them is folded in half and pressed onto one leg's side; so the cap, the edge across the opening, is the
edge beside that leg mirrored about it as far as the fold, and from there its own mirror image about the fold (derived:
folded, every point of the cap then lies on the edge). Which leg it is: :mod:`mockup.pattern.dart_pressing`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.intersect import intersections, nearest_position
from mockup.geometry.offset import turn
from mockup.geometry.path import XY, Floats, Path
from mockup.geometry.ruler import Ruler, length_of
from mockup.pattern.dart_pressing import pressed_leg
from mockup.pattern.piece import Dart, Edge, Piece
from mockup.split.words import edge_said, tenths
from swatches.errors import GeometryError

LEGS_MM = 0.5  # our own choice: legs that differ by less are sewn as one length
_JOINT_MM = 1e-6
_BESIDE_MM = 0.01  # of the opening, where the edge's way is not the cap's
_INSIDE_MM = 3.0
_FLATTEST = 0.3  # a leg that meets its edge flatter than this is notched within its allowance
TIP_MM = 2.0  # radius of the mark at a dart's point
_PEAK = 3.0  # of a leg: a cap that reaches farther from the tip is drawn straight across


def sewn_length(piece: Piece, edge: str) -> float:
    """Length of an edge's stitch line with its darts closed, mm."""
    return length_of(piece.edge(edge).path) - sum(d.to_mm - d.from_mm for d in piece.darts if d.edge == edge)


def drawn_at(piece: Piece, edge: str, sewn_mm: float) -> float:
    """Distance along an edge as drawn, openings and all, of a place that is so far along it with the darts closed.

    A place where a dart is closed is put at its first leg.
    """
    at = sewn_mm
    for dart in _on(piece, edge):
        if at > dart.from_mm + 1e-9:
            at += dart.to_mm - dart.from_mm
    return at


def sewn_at(piece: Piece, edge: str, drawn_mm: float) -> float:
    """The reverse of :func:`drawn_at`; a place on a cap counts as its dart's first leg."""
    return drawn_mm - sum(
        min(max(drawn_mm - dart.from_mm, 0.0), dart.to_mm - dart.from_mm) for dart in _on(piece, edge)
    )


def sewn_path(piece: Piece, edge: str) -> Path:
    """The stitch line of an edge as it lies when its darts are sewn: all behind a dart turned about its tip."""
    path = piece.edge(edge).path
    ruler = Ruler(path)
    parts, at, back = [], 0.0, np.eye(3)
    for dart in _on(piece, edge):
        if dart.from_mm > at + 1e-9:
            part = paths.sub_path(path, located(ruler, at), located(ruler, dart.from_mm))
            parts.append(paths.transformed(part, back))
        first, second = openings(piece, dart)
        back = back @ _square(turned_about(np.array(dart.tip), second, first))
        at = dart.to_mm
    if at < ruler.total - 1e-9:
        rest = paths.sub_path(path, located(ruler, at), end_of(path))
        parts.append(paths.transformed(rest, back))
    return paths.joined(parts)


def openings(piece: Piece, dart: Dart) -> tuple[Floats, Floats]:
    """The ends of both legs on the dart's edge, shape (2,) each, the one that comes first along the edge first."""
    ruler = Ruler(piece.edge(dart.edge).path)
    return ruler.point(dart.from_mm), ruler.point(dart.to_mm)


def leg_lines(piece: Piece, dart: Dart) -> Path:
    """The dart as it is drawn: from its first leg's end to its tip and to its second leg's end."""
    first, second = openings(piece, dart)
    return paths.polyline([first, np.array(dart.tip), second])


def leg_notches(piece: Piece, *, inside_mm: float = _INSIDE_MM, bare_mm: float = 0.0) -> tuple[Path, ...]:
    """Strokes that notch the cut edge at the ends of both legs of each dart (common practice, no source).

    Each runs on from its leg to the cut line, which has its corner there: folded, both lie on each other.

    Args:
        piece: on its stitch line, mm.
        inside_mm: how far inside the stitch line they begin.
        bare_mm: how far they run out over an edge without an allowance.

    Returns:
        Two for each dart, straight, from inside outward, mm.
    """
    strokes = []
    for dart in piece.darts:
        edge = piece.edge(dart.edge)
        ruler = Ruler(edge.path)
        tip = np.array(dart.tip)
        for end, at in zip(openings(piece, dart), (dart.from_mm - _BESIDE_MM, dart.to_mm + _BESIDE_MM), strict=True):
            i, t = ruler.locate(min(max(at, 0.0), ruler.total))
            out, along = _unit(end - tip), _unit(paths.tangent(edge.path, i, t))
            steep = max(abs(float(out[0] * along[1] - out[1] * along[0])), _FLATTEST)
            reach = edge.allowance_mm / steep or bare_mm
            strokes.append(paths.polyline([end - inside_mm * out, end + reach * out]))
    return tuple(strokes)


def turned_about(tip: Floats, start: Floats, target: Floats) -> Floats:
    """The rotation about ``tip``, shape (2, 3), that brings the direction of ``start`` onto that of ``target``."""
    angle = float(turn(start - tip, target - tip))
    c, s = np.cos(angle), np.sin(angle)
    matrix = np.array([[c, -s], [s, c]])
    return np.asarray(np.c_[matrix, tip - matrix @ tip])


def cap(before: Path, tip: Floats, second: Floats) -> Path:
    """The edge across a dart's opening, from the end of ``before``, where the first leg is, to the second leg's end.

    Args:
        before: the edge, or the new line, on the first leg's side, run up to that leg.
        tip: of the dart.
        second: end of the second leg.
    """
    first = before.end
    leg = float(np.linalg.norm(first - tip))
    middle = _unit(_unit(first - tip) + _unit(second - tip))
    out = paths.reversed_path(paths.transformed(before, _mirror(tip, _unit(first - tip))))
    ray = paths.polyline([tip + 0.01 * leg * middle, tip + _PEAK * leg * middle])
    # Where the edge ends before the fold does, it is run straight on.
    way = paths.tangent(out, len(out) - 1, 1.0)
    long = paths.joined([out, paths.polyline([out.end, out.end + _PEAK * leg * way])])
    met = intersections(long, ray)
    if not met or met[0][0] == (0, 0.0):
        return paths.polyline([first, second])
    half = paths.sub_path(long, (0, 0.0), met[0][0])
    cubics = paths.reversed_path(paths.transformed(half, _mirror(tip, middle))).cubics.copy()
    cubics[-1, 3] = second
    return paths.joined([half, Path(cubics)])


def cap_over(before: Path, after: Path, tip: Floats, onto: int) -> Path:
    """The edge across a dart's opening, for cloth that is pressed onto one leg's side.

    Args:
        before: the edge up to the leg that comes first.
        after: the edge from the other leg on.
        tip: of the dart.
        onto: 0 where the cloth lies on the side of ``before``, 1 on that of ``after``.
    """
    if onto == 0:
        return cap(before, tip, after.start)
    return paths.reversed_path(cap(paths.reversed_path(after), tip, before.end))


def with_dart(
    piece: Piece, name: str, edge: str, from_mm: float, width_mm: float, tip: XY | float, *, redraw: bool = True
) -> Piece:
    """Say that a piece has a dart.

    Args:
        piece: the piece, counter-clockwise.
        name: what it is called.
        edge: the edge that it opens on.
        from_mm: where the opening begins, along the edge with the darts before it closed.
        width_mm: how wide it opens, along the edge as it is drawn.
        tip: inside the piece; or how deep it is, mm, straight in from the middle of its opening.
        redraw: draw the cap anew; otherwise the edge is taken to run along it already.

    Raises:
        GeometryError: no such edge, an opening that does not fit on it, or legs that differ by more than 0.5 mm.
    """
    try:
        target = piece.edge(edge)
    except KeyError:
        known = ", ".join(e.name for e in piece.all_edges)
        raise GeometryError(
            f"dart {name}", expected=f"an edge of {piece.name}: {known}", got=edge, next_step="Choose one of these"
        ) from None
    ruler = Ruler(target.path)
    start = drawn_at(piece, edge, from_mm)
    taken = any(d.edge == edge and start < d.to_mm and d.from_mm < start + width_mm for d in piece.darts)
    if taken or not 0 < start < start + width_mm < ruler.total or not width_mm > 0:
        raise GeometryError(
            f"dart {name}",
            expected=f"an opening within the {edge_said(edge)}, {tenths(ruler.total)}, that is wider than 0 mm and "
            "beside other darts",
            got=f"{width_mm:g} mm from {from_mm:g} mm on",
            next_step="Measure where its legs meet the stitch line",
        )
    first, second = ruler.locate(start), ruler.locate(start + width_mm)
    ends = paths.points_at(target.path, *first), paths.points_at(target.path, *second)
    if isinstance(tip, float | int):
        across = _unit(ends[1] - ends[0])
        x, y = (ends[0] + ends[1]) / 2 + tip * np.array([-across[1], across[0]])
        tip = (float(x), float(y))
    _check_legs(name, np.array(tip), *ends)
    made = Dart(name, edge, start, start + width_mm, tip)
    if not redraw:
        return piece.with_(darts=(*piece.darts, made))
    before, after = (
        paths.sub_path(target.path, (0, 0.0), first),
        paths.sub_path(target.path, second, end_of(target.path)),
    )
    bridge = cap_over(before, after, np.array(tip), pressed_leg(piece, np.array(tip), ends))
    grown = length_of(bridge) - width_mm
    made = replace(made, to_mm=made.to_mm + grown)
    path = paths.joined([before, bridge, after])
    return _with_edge(
        piece,
        replace(target, path=path),
        lambda d: d if d <= start else d + grown,
        made,
    )


def dart_on(edge: Edge, name: str, line: Path) -> Dart:
    """Make a dart of three drawn points: a leg's end on an edge, the tip, the other leg's end on that edge.

    Raises:
        GeometryError: the ends do not lie on that edge to 0.5 mm, or the legs differ.
    """
    path = edge.path
    ruler = Ruler(path)
    tip = line.cubics[0, 3] if len(line) > 1 else line.end
    found = [nearest_position(path, end, 0.01) for end in (line.start, line.end)]
    worst = max(gap for _, gap in found)
    if worst > LEGS_MM:
        raise GeometryError(
            f"dart {name}",
            expected=f"legs that begin on {edge.name}",
            got=f"one that begins {worst:.2g} mm from it",
            next_step="Draw it as leg end, tip, leg end",
        )
    low, high = sorted(ruler.at(position) for position, _ in found)
    _check_legs(name, tip, ruler.point(low), ruler.point(high))
    return Dart(name, edge.name, low, high, (float(tip[0]), float(tip[1])))


def _check_legs(name: str, tip: Floats, first: Floats, second: Floats) -> None:
    a, b = (float(np.linalg.norm(end - tip)) for end in (first, second))
    if abs(a - b) > LEGS_MM or min(a, b) < LEGS_MM:
        raise GeometryError(
            f"dart {name}",
            expected=f"two legs of one length, to {LEGS_MM:g} mm",
            got=f"{a:.2f} and {b:.2f} mm",
            next_step="Measure both legs from the tip",
            place=(float(tip[0]), float(tip[1])),
        )


def _on(piece: Piece, edge: str) -> list[Dart]:
    return sorted((d for d in piece.darts if d.edge == edge), key=lambda d: d.from_mm)


def _with_edge(piece: Piece, edge: Edge, shift: Callable[[float], float], made: Dart) -> Piece:
    def new(ring: Sequence[Edge]) -> tuple[Edge, ...]:
        return tuple(edge if e.name == edge.name else e for e in ring)

    return piece.with_(
        edges=new(piece.edges),
        holes=tuple(new(ring) for ring in piece.holes),
        notches=tuple(
            replace(n, distance_mm=shift(n.distance_mm)) if n.edge == edge.name else n for n in piece.notches
        ),
        darts=(
            *(
                replace(d, from_mm=shift(d.from_mm), to_mm=shift(d.to_mm)) if d.edge == edge.name else d
                for d in piece.darts
            ),
            made,
        ),
    )


def located(ruler: Ruler, distance: float) -> tuple[int, float]:
    """Position at a distance along a path; a joint nearer than a millionth of a mm is taken instead."""
    i, t = ruler.locate(distance)
    before, here = (float(ruler.ends[i - 1]) if i else 0.0), float(ruler.ends[i])
    if distance - before < _JOINT_MM:
        return i, 0.0
    if here - distance < _JOINT_MM:
        return (i + 1, 0.0) if i + 1 < len(ruler.path) else (i, 1.0)
    return i, t


def end_of(path: Path) -> tuple[int, float]:
    """Position of a path's last point."""
    return len(path) - 1, 1.0


def _unit(v: Floats) -> Floats:
    return np.asarray(v / np.linalg.norm(v))


def _square(matrix: Floats) -> Floats:
    return np.vstack([matrix, [0.0, 0.0, 1.0]])


def _mirror(point: Floats, way: Floats) -> Floats:
    """Affine map that mirrors about the straight line through a point, shape (2, 3)."""
    flip = 2 * np.outer(way, way) - np.eye(2)
    return np.asarray(np.c_[flip, point - flip @ point])
