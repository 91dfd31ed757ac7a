"""Settle a lay that is nearly good: pieces that overlap, or reach over the edge, by about a cell push one another.

Positions are exact here, no cells: the deepest corner that is where it must not be, or a sliver's width, gives the
shortest way out, and the two pieces share it (position-based dynamics: Müller et al., J. Vis. Commun. Image R. 2007).
So a piece that just fits is found, too, where the safe side of the cells has no place for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.geometry.path import Floats
from mockup.lay.exact import faults
from mockup.lay.lay import TOUCH_MM, LayPiece, Placement, Scrap, free_area, laid, missing
from swatches.job import QUIET, Job, check

_RIGHT_MM = 1e-9  # nothing is asked of what overlaps by less
_GOOD_MM = 0.2 * TOUCH_MM  # what is left at the end
_POLISH = 8  # rounds without getting nearer, when it is good already
_ROUNDS = 240
_SLIVER = 0.6  # an overlap that fills this much of its box, turned as it lies, has one short way out
_GIVE_UP = 40  # rounds without getting nearer
_TRIES = ((1.0005, 1e-3), (1.0, 0.0), (1.0005, 0.0))
"""(share of the clearance, more distance in mm) of each try: first with a hair to spare, then exactly; corners grown
round are polygons inside the arc, so that the clearance needs a little more where corners meet."""


def settle(
    pieces: Sequence[LayPiece],
    scraps: Sequence[Scrap],
    placements: Sequence[Placement],
    *,
    clearance_mm: float = 0.0,
    border_mm: float = 0.0,
    job: Job = QUIET,
) -> tuple[Placement, ...] | None:
    """Push pieces apart and inside; gives the lay if it passes the exact check, else None.

    Args:
        pieces: what is laid.
        scraps: what it is laid on.
        placements: all copies, nearly right.
        clearance_mm: least distance between pieces.
        border_mm: least distance to edges and holes.
        job: cancellation.
    """
    if missing(pieces, placements):
        return None
    by_name, cloth = {p.name: p for p in pieces}, {s.name: s for s in scraps}
    for share, more in _TRIES:
        rooms = {s.name: free_area(s, border_mm=border_mm + more) for s in scraps}
        for room in rooms.values():
            shapely.prepare(room)
        bodies = [_Body(by_name[p.piece], p, clearance_mm * share + more) for p in placements]
        if not _pushed(bodies, rooms, job):
            continue
        settled = tuple(body.settled() for body in bodies)
        if not faults(by_name, cloth, settled, clearance_mm=clearance_mm, border_mm=border_mm):
            return settled
    return None


def _pushed(bodies: Sequence[_Body], rooms: Mapping[str, Polygon], job: Job) -> bool:
    """Push until nothing is where it must not be (True), or until it does not get better."""
    best, stale, worst = np.inf, 0, np.inf
    for _ in range(_ROUNDS):
        check(job)
        worst = 0.0
        for i, body in enumerate(bodies):
            worst = max(worst, _inward(body, rooms[body.placement.remnant]))
            for other in bodies[:i]:
                if other.placement.remnant == body.placement.remnant:
                    worst = max(worst, _apart(body, other))
        if worst <= _RIGHT_MM:
            return True
        best, stale = (worst, 0) if worst < 0.98 * best else (best, stale + 1)
        if stale > (_POLISH if worst <= _GOOD_MM else _GIVE_UP):
            break
    return worst <= _GOOD_MM


class _Body:
    """A piece at its place, and how far it was pushed."""

    def __init__(self, piece: LayPiece, placement: Placement, clearance_mm: float) -> None:
        self.placement = placement
        self._shape = laid(piece, placement)
        self._wide = self._shape.buffer(clearance_mm, quad_segs=32) if clearance_mm > 0 else self._shape
        self.move = np.zeros(2)
        self._made: tuple[Polygon, Polygon] | None = None

    def push(self, by: Floats) -> None:
        self.move = self.move + by
        self._made = None

    def shapes(self) -> tuple[Polygon, Polygon]:
        """The piece, and the piece grown by the clearance, where they are now."""
        if self._made is None:
            shape = _moved(self._shape, self.move)
            wide = shape if self._wide is self._shape else _moved(self._wide, self.move)
            self._made = shape, wide
        return self._made

    def settled(self) -> Placement:
        p = self.placement
        return replace(p, x=float(p.x + self.move[0]), y=float(p.y + self.move[1]))


def _inward(body: _Body, room: Polygon) -> float:
    """Move a body inside its room by the corner that is farthest where it must not be; gives how far that was."""
    shape = body.shapes()[0]
    if room.is_empty:
        return np.inf
    way = _farthest(_out_of(shape, room, inside=False), _turned(_out_of(room, shape, inside=True)))
    if way is None:
        way, _ = _across(shape.difference(room))
        if way is None:
            return 0.0
        way = min((way, -way), key=lambda w: _moved(shape, w).difference(room).area)
    body.push(way)
    return float(np.hypot(*way))


def _apart(a: _Body, b: _Body) -> float:
    """Move two bodies apart, each by half of the way out of their overlap; gives how deep that was."""
    (shape_a, wide_a), (shape_b, wide_b) = a.shapes(), b.shapes()
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = shape_a.bounds, wide_b.bounds
    if ax1 <= bx0 or bx1 <= ax0 or ay1 <= by0 or by1 <= ay0:
        return 0.0
    way, full = _across(shape_a.intersection(wide_b))
    if way is None:
        return 0.0
    corner = _farthest(_out_of(shape_a, wide_b, inside=True), _turned(_out_of(shape_b, wide_a, inside=True)))
    if full < _SLIVER and corner is not None:
        way = corner
    else:
        way = min((way, -way), key=lambda w: _moved(shape_a, w).intersection(wide_b).area)
    a.push(way / 2)
    b.push(-way / 2)
    return float(np.hypot(*way))


def _out_of(shape: Polygon, area: Polygon, *, inside: bool) -> Floats | None:
    """Vector from the corner of a shape that lies deepest inside (or outside) an area to the area's boundary."""
    points = shapely.get_coordinates(shape)
    held = shapely.contains_xy(area, points[:, 0], points[:, 1])
    wrong = points[held] if inside else points[~held]
    if not len(wrong):
        return None
    boundary = area.boundary
    spots = shapely.points(wrong)
    depth = shapely.distance(boundary, spots)
    deepest = int(np.argmax(depth))
    if depth[deepest] <= 0.1 * _RIGHT_MM:
        return None
    nearest = boundary.interpolate(boundary.project(spots[deepest]))
    way: Floats = np.array([nearest.x, nearest.y]) - wrong[deepest]
    return way


def _across(wrong: shapely.Geometry) -> tuple[Floats | None, float]:
    """Vector across the deepest part of what is wrong, and how much of its box that fills; (None, 0) if nothing is.

    An overlap that is nearly settled is a sliver; across it is the shortest way out, also where no corner is inside.
    """
    deepest: Floats | None = None
    full = 0.0
    for part in getattr(wrong, "geoms", [wrong]):
        box = shapely.get_coordinates(shapely.oriented_envelope(part)) if part.area > 0 else np.empty((0, 2))
        if len(box) < 5:
            continue
        sides = (box[1] - box[0], box[2] - box[1])
        short, long = sorted(sides, key=lambda v: float(np.hypot(*v)))
        if np.hypot(*short) > 0.1 * _RIGHT_MM and (deepest is None or np.hypot(*short) > np.hypot(*deepest)):
            deepest, full = short, float(part.area / (np.hypot(*short) * np.hypot(*long)))
    return deepest, full


def _farthest(a: Floats | None, b: Floats | None) -> Floats | None:
    found = [v for v in (a, b) if v is not None]
    return max(found, key=lambda v: float(np.hypot(*v)), default=None)


def _turned(way: Floats | None) -> Floats | None:
    return None if way is None else -way


def _moved(shape: Polygon, by: Floats) -> Polygon:
    return shapely.transform(shape, lambda p: p + by)
