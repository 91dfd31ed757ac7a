"""Where the usual lines start: on armhole and shoulder of a top, on waist and side seam of a skirt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scipy.optimize import brentq

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.stylelines import edges
from mockup.stylelines.styleline import End
from swatches.errors import GeometryError
from swatches.units import Length, length

Distance = str | float | Length
_Where = tuple[str, str]


def is_waisted(view: View) -> bool:
    """Whether a view shows a garment that hangs from the waist: a skirt, trousers."""
    names = {e.name for e in edges.edges_of(view)}
    return "waist" in names and "armhole" not in names


def from_waist(end: End, views: Sequence[View]) -> End:
    """What is counted from the waist along a centre, on a garment that hangs from it: its top end is called neck."""
    view = next((v for v in views if end.edge == edges.centre_name(v)), None)
    if end.landmark == "waist" and view is not None and is_waisted(view):
        return replace(end, landmark="neck")
    return end


def start_from(view: View, name: str, asked: _Where, usual: _Where, waisted: _Where | None, distance: Distance) -> End:
    """An end at a distance where it was asked for; else where such a line usually starts, of a skirt from its waist.

    Raises:
        GeometryError: the garment has no such edge or point.
    """
    edge, landmark = asked if all(asked) else waisted if waisted and is_waisted(view) else usual
    if not all(asked):
        mine = [e for e in edges.edges_of(view) if e.name == edge]
        if not any(key[0] == landmark for e in mine for key in edges.landmarks_on(view, e)):
            what = edge if landmark == edge else f"{edge} and {landmark.replace('-', ' ')} point"
            raise GeometryError(
                name, expected=f"a {view.side} with {what}", got="one where that was not found",
                next_step="Choose another line" if is_waisted(view) else "Place the point, or choose another line",
            )  # fmt: skip
    return end_on(edge, landmark, distance)


def end_on(edge: str, landmark: str, distance: Distance) -> End:
    """An end at a distance along an edge from a landmark; the unit typed is kept."""
    typed = length(distance, what=f"distance along the {edge}", minimum_mm=0.0)
    return End(edge, landmark, typed.mm, text="" if isinstance(distance, int | float) else str(typed))


def where_level(edge: edges.MmEdge, y: float) -> float | None:
    """Distance along an edge, mm, from its first point where it is at height y (mm), or None."""

    def above(distance: float) -> float:
        return float(paths.point_at_distance(edge.path, distance)[1]) - y

    if above(0.0) * above(edge.length) > 0:
        return None
    return float(brentq(above, 0.0, edge.length, xtol=1e-10))


_INSIDE = 0.6  # of the half width at its height, where a point would lie too near the side seam


def well_inside(view: View, share: tuple[float, float]) -> tuple[float, float]:
    """The point, or one nearer to the middle where the body is narrow at its height."""
    y = edges.shares_to_mm(view, share)[1]
    for side in (e for e in edges.edges_of(view) if e.name == "side" and e.side == "left"):
        at = where_level(side, y)
        if at is not None:
            x = abs(edges.mm_to_shares(view, tuple(paths.point_at_distance(side.path, at)))[0])
            return (min(share[0], _INSIDE * x) if share[0] > 0.75 * x else share[0]), share[1]
    return share
