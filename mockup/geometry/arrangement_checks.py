"""What an outline and the lines that cut it are refused for, before and after they are broken at their meetings."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from mockup.geometry import path as paths
from mockup.geometry.intersect import (
    Position,
    boxes_meet,
    hull_box,
    self_intersections,
    shared_at_most,
    shared_length,
)
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler, flat_of, polygon_of
from swatches.errors import GeometryError


def check_outline(outline: Path, holes: Sequence[Path], tolerance: float) -> shapely.Polygon:
    """Check the outline and give it with its holes as a prepared polygon.

    Raises:
        GeometryError: it is open, or crosses itself.
    """
    if not outline.closed:
        start, end = outline.ends
        raise GeometryError(
            "outline",
            expected="a closed outline",
            got=f"an open one, {abs(end - start):.3g} between its ends",
            next_step="Close the outline",
            place=xy(outline.end),
        )
    inside = polygon_of((outline, *holes), tolerance)
    # Only a flattening that crosses itself is worth the exact search: smaller loops than its tolerance do no harm.
    crossings = [] if shapely.is_valid(inside) else self_intersections(outline)
    if crossings:
        raise GeometryError(
            "outline",
            expected="an outline that does not cross itself",
            got="one that does",
            next_step="Untangle the outline at the place shown",
            place=xy(paths.points_at(outline, *crossings[0][0])),
        )
    shapely.prepare(inside)
    return inside


def check_cut(path: Path, name: str, tolerance: float) -> None:
    """Refuse a line that crosses itself."""
    simple = shapely.is_simple(shapely.linestrings(flat_of(path, tolerance).points))
    crossings = [] if simple else self_intersections(path)
    if crossings:
        raise GeometryError(
            name,
            expected="a line that does not cross itself",
            got="one that does",
            next_step="Take the loop out of the line",
            place=xy(paths.points_at(path, *crossings[0][0])),
        )


def check_overlaps(
    outline: Path, holes: Sequence[Path], cuts: Sequence[Path], names: Sequence[str], tolerance: float
) -> None:
    """Refuse a line that runs along an edge or along another line."""
    others = [*(("an edge of the piece", path) for path in (outline, *holes))]
    first = len(others)
    others += [(f"line '{n}'", c) for n, c in zip(names, cuts, strict=True)]
    boxes = [hull_box(path) for _, path in others]
    for k, name in enumerate(names):
        for m, (what, other) in enumerate(others[: first + k]):
            if boxes_meet(boxes[first + k], boxes[m], tolerance) and _runs_along(cuts[k], other, tolerance):
                raise along(name, what, cuts[k].start)


def along(name: str, what: str, place: Floats) -> GeometryError:
    """The error for a line that runs along something."""
    return GeometryError(
        name,
        expected="a line that crosses the piece",
        got=f"a line that runs along {what}",
        next_step="Move the line away from it",
        place=xy(place),
    )


def _runs_along(cut: Path, other: Path, tolerance: float) -> bool:
    """Whether two curves lie on each other; a branch that leaves another line at a tangent does not."""
    if shared_at_most(cut, other, tolerance) <= 100 * tolerance:
        return False
    if shared_length(cut, other, tolerance) <= 100 * tolerance:
        return False
    return shared_length(cut, other, tolerance) > 1000 * tolerance or (
        shared_length(cut, other, tolerance / 50) > 400 * tolerance
    )


def check_tails(
    cuts: Sequence[Path], names: Sequence[str], stops: Sequence[Sequence[Position]], inside: shapely.Polygon,
    tolerance: float,
) -> None:  # fmt: skip
    """Refuse an end that stops inside the piece, farther than a stub from everything that it could meet.

    Args:
        cuts: the lines.
        names: what they are called.
        stops: where each meets anything.
        inside: the piece.
        tolerance: as of :func:`mockup.geometry.faces.faces`.
    """
    for cut, name, met in zip(cuts, names, stops, strict=True):
        if cut.closed:
            continue
        ends = [shapely.contains_xy(inside, *at) for at in (cut.start, cut.end)]
        if not any(ends):
            continue
        ruler = Ruler(cut)
        where = sorted(ruler.at(position) for position in met)
        tails = (where[0] if where else ruler.total, ruler.total - where[-1] if where else 0.0)
        for at, tail, within in zip((cut.start, cut.end), tails, ends, strict=True):
            if within and tail > 50 * tolerance:
                raise stops_inside(name, tail, at)


def stops_inside(name: str, size: float, place: Floats) -> GeometryError:
    """The error for a line with an end inside the piece."""
    return GeometryError(
        name,
        expected="a line that runs right across, or ends on an edge or on another line",
        got=f"an end {size:.3g} inside the piece",
        next_step="Draw the line on until it meets an edge or another line",
        place=xy(place),
    )


def xy(point: Floats) -> tuple[float, float]:
    """One point as a pair of numbers."""
    return float(point[0]), float(point[1])
