"""From a pattern that is drawn on its cut line to the stitch line: the allowances taken off.

The inverse of :mod:`mockup.pattern.allowance` where corners are mitred: each edge's inner parallel by its allowance,
and neighbours shortened or run on until they meet. An edge on the fold stays where it is. Straight edges come back
exactly when the allowances are put on again; of a curved edge the last stretch at a corner comes back as its
tangent.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.intersect import Position, intersections, nearest_position
from mockup.geometry.offset import offset_path, smooth_runs, turn
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler
from mockup.pattern.allowance import TOLERANCE
from mockup.pattern.corners import SMOOTH, shortened
from mockup.pattern.darts import leg_lines
from mockup.pattern.piece import Dart, Edge, EdgeKind, Notch, Piece, counter_clockwise
from swatches.errors import GeometryError


@dataclass(slots=True)
class _Inner:
    """An inner parallel, with what becomes of its two ends."""

    edge: int
    drawn: Path
    path: Path
    width: float
    start: Position | None = None
    end: Position | None = None
    before: Floats | None = None  # where it begins, run on backwards
    after: Floats | None = None


def take_off(piece: Piece) -> Piece:
    """Give a piece that was drawn on its cut line on its stitch line instead.

    Args:
        piece: its edges lie on the cut line, each with its allowance.

    Returns:
        The same piece with its edges moved inwards by their allowances; notches stay at their places square inside.

    Raises:
        GeometryError: a bend that is tighter than the allowance inside it, an edge that is too short for its corners,
            or a piece of which nothing is left.
    """
    piece = counter_clockwise(piece)
    rings = [_inside_of(ring) for ring in piece.rings]
    shaped = replace(piece, edges=rings[0], holes=tuple(rings[1:]))
    shell, *holes = (paths.flatten(outline, 0.02).points for outline in shaped.outlines)
    if paths.signed_area(shaped.outline) <= 0 or not shapely.is_valid(shapely.Polygon(shell, holes)):
        raise GeometryError(
            f"allowances of {piece.name}",
            expected="a piece that is wider than its allowances",
            got="one of which nothing is left",
            next_step="Say whether the outline is the cut line, and check the unit",
        )
    return replace(
        shaped,
        notches=tuple(_notch_moved(n, piece, shaped) for n in piece.notches),
        darts=tuple(_dart_moved(d, piece, shaped) for d in piece.darts),
    )


def _inside_of(ring: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """One ring of edges with the allowances taken off."""
    runs: list[_Inner] = []
    for k, edge in enumerate(ring):
        width = 0.0 if edge.kind is EdgeKind.FOLD else edge.allowance_mm
        if not width >= 0:
            raise _error(edge, "an allowance of 0 mm or more", f"{width:g} mm")
        for drawn in smooth_runs(edge.path):
            try:
                path = offset_path(drawn, -width, TOLERANCE)
            except GeometryError as error:
                raise GeometryError(
                    f"allowance of {edge.name}",
                    expected=error.expected,
                    got=error.got,
                    next_step="Make the allowance smaller there",
                    place=error.place,
                ) from None
            runs.append(_Inner(k, drawn, path, width))
    for a, b in zip(runs, runs[1:] + runs[:1], strict=True):
        _meet(a, b, ring)
    edges = [replace(e, path=_along([r for r in runs if r.edge == k], e)) for k, e in enumerate(ring)]
    return tuple(_closed(e, edges[k - 1]) for k, e in enumerate(edges))


def _meet(a: _Inner, b: _Inner, ring: tuple[Edge, ...]) -> None:
    """Shorten two inner parallels to where they cross, or run them on to where their tangents do."""
    ta = paths.tangent(a.drawn, len(a.drawn) - 1, 1.0)
    tb = paths.tangent(b.drawn, 0, 0.0)
    angle = float(turn(ta, tb))
    if abs(angle) < SMOOTH:
        middle = (a.path.end + b.path.start) / 2
        a.after, b.before = middle, middle
        return
    on_a = (a.width * np.cos(angle) - b.width) / np.sin(angle)
    on_b = (b.width * np.cos(angle) - a.width) / np.sin(angle)
    if on_a >= 0 and on_b >= 0:
        a.after = b.before = a.path.end + on_a * ta
        return
    if on_a <= 0 and on_b <= 0:
        a.end, b.start = shortened(a.path, -on_a, at_end=True), shortened(b.path, -on_b, at_end=False)
        if a.end is not None and b.start is not None:
            return
    reach = 4 * max(a.width, b.width, 1.0)
    long_a = paths.joined([a.path, paths.polyline([a.path.end, a.path.end + reach * ta])])
    long_b = paths.joined([paths.polyline([b.path.start - reach * tb, b.path.start]), b.path])
    found = intersections(long_a, long_b)
    if not found:
        raise _error(ring[b.edge], "an edge that is longer than its corners", "one that is too short")
    corner = a.drawn.end
    (i, s), (j, t) = min(found, key=lambda f: float(np.linalg.norm(paths.points_at(long_a, *f[0]) - corner)))
    point = paths.points_at(long_a, i, s)
    a.end, b.start = None, None
    if i < len(a.path):
        a.end = (i, s)
    else:
        a.after = point
    if j >= 1:
        b.start = (j - 1, t)
    else:
        b.before = point


def _along(runs: list[_Inner], edge: Edge) -> Path:
    parts: list[Path] = []
    for run in runs:
        start, end = run.start or (0, 0.0), run.end or (len(run.path) - 1, 1.0)
        if start >= end:
            raise _error(edge, "an edge that is longer than its corners", "one that is too short")
        part = paths.sub_path(run.path, start, end)
        if run.before is not None and np.linalg.norm(run.before - part.start) > 1e-9:
            parts.append(paths.polyline([run.before, part.start]))
        parts.append(part)
        if run.after is not None and np.linalg.norm(run.after - part.end) > 1e-9:
            parts.append(paths.polyline([part.end, run.after]))
    return paths.joined(parts)


def _closed(edge: Edge, before: Edge) -> Edge:
    """Start an edge in the very point in which the one before it ends."""
    cubics = edge.path.cubics.copy()
    cubics[0, 0] = before.path.end
    return replace(edge, path=Path(cubics))


def _notch_moved(notch: Notch, before: Piece, after: Piece) -> Notch:
    """Put a notch where it stands square inside its place on the cut line."""
    old, new = before.edge(notch.edge), after.edge(notch.edge)
    ruler = Ruler(new.path)
    point = Ruler(old.path).point(notch.distance_mm)
    position, _ = nearest_position(new.path, point, 0.01)
    return replace(notch, distance_mm=ruler.at(position))


def _dart_moved(dart: Dart, before: Piece, after: Piece) -> Dart:
    """Open a dart where its legs, as they were drawn up to the cut line, meet the stitch line.

    Raises:
        GeometryError: a dart that is not deeper than the allowance.
    """
    edge = after.edge(dart.edge)
    ruler = Ruler(edge.path)
    met = sorted(ruler.at(position) for position, _ in intersections(edge.path, leg_lines(before, dart)))
    if len(met) != 2:
        raise _error(edge, f"the {dart.name} deeper than the allowance", "one that ends within it")
    return replace(dart, from_mm=met[0], to_mm=met[1])


def _error(edge: Edge, expected: str, got: str) -> GeometryError:
    x, y = edge.path.start
    return GeometryError(
        f"edge {edge.name}",
        expected=expected,
        got=got,
        next_step="Change its allowance, or join it to its neighbour",
        place=(float(x), float(y)),
    )
