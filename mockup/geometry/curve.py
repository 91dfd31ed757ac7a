"""Curves as a person gives them: an arc through three points, a smooth curve through many; and what a curve is like.

Everything comes back as a :class:`~mockup.geometry.path.Path` of cubic Bézier segments in the caller's unit.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline

from mockup.geometry import cubics as curves
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from swatches.errors import GeometryError

_ARC_STEP = math.radians(30)  # a cubic per 30° keeps the radial error at 3.7e-7 of the radius
_FLAT = 1e-9  # of the chord: three points with less sagitta than this are on a straight line
_GRID = np.linspace(0.0, 1.0, 33)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2


def circular_arc(centre: ArrayLike, radius: float, start_deg: float, end_deg: float) -> Path:
    """Make a circular arc, counter-clockwise (y up) when ``end_deg`` is above ``start_deg``.

    Control points lie at 4/3·tan(θ/4) of the radius along the end tangents (Goldapp, CAGD 1991), with θ ≤ 30°, so
    that no point is farther than 4e-7 of the radius from the circle.

    Args:
        centre: shape (2,).
        radius: above 0.
        start_deg: angle of the first point.
        end_deg: angle of the last point, different from ``start_deg``.

    Raises:
        GeometryError: radius not above 0, or no turn between the angles.
    """
    c, turn = np.asarray(centre, dtype=np.float64), math.radians(end_deg - start_deg)
    if not (radius > 0 and math.isfinite(radius)) or turn == 0 or not math.isfinite(turn):
        raise GeometryError(
            "arc",
            expected="a radius above 0 and two different angles",
            got=f"radius {radius:g}, {start_deg:g}° to {end_deg:g}°",
            next_step="Give another radius or angle",
        )
    n = max(1, math.ceil(abs(turn) / _ARC_STEP - 1e-9))
    angles = math.radians(start_deg) + turn * np.arange(n + 1) / n
    out = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    along = np.stack([-out[:, 1], out[:, 0]], axis=1) * (4 / 3 * math.tan(turn / n / 4))
    a, b = out[:-1], out[1:]
    return Path(c + radius * np.stack([a, a + along[:-1], b - along[1:], b], axis=1))


def arc_through(a: ArrayLike, b: ArrayLike, c: ArrayLike) -> Path:
    """Make the circular arc from ``a`` through ``b`` to ``c``; a straight line where ``b`` lies on the chord.

    The three points are met exactly and are ends of segments; the error to the circle is ≤ 1e-6 of its radius.

    Args:
        a: first point, shape (2,).
        b: a point between.
        c: last point.

    Raises:
        GeometryError: two of the points are equal, or ``b`` is on the chord's line but outside the chord.
    """
    pa, pb, pc = (np.asarray(p, dtype=np.float64) for p in (a, b, c))
    chord = pc - pa
    size = float(np.hypot(*chord))
    if size == 0 or np.array_equal(pa, pb) or np.array_equal(pb, pc):
        raise GeometryError(
            "arc", expected="three different points", got="two equal ones", next_step="Move one of the points"
        )
    u, v = pb - pa, pc - pa
    double_area = float(u[0] * v[1] - u[1] * v[0])
    if abs(double_area) <= _FLAT * size**2:
        if not 0 < float(u @ chord) < size**2:
            raise GeometryError(
                "arc",
                expected="the middle point between the two ends",
                got="a middle point on the line outside them",
                next_step="Move the middle point",
                place=(float(pb[0]), float(pb[1])),
            )
        return paths.polyline([pa, pb, pc])
    uu, vv = float(u @ u), float(v @ v)
    centre = pa + np.array([v[1] * uu - u[1] * vv, u[0] * vv - v[0] * uu]) / (2 * double_area)
    radius = float(np.hypot(*(pa - centre)))
    way = 1.0 if double_area > 0 else -1.0  # which way it turns
    angle = [math.degrees(math.atan2(p[1] - centre[1], p[0] - centre[0])) for p in (pa, pb, pc)]
    parts = []
    for start, end, first, last in ((angle[0], angle[1], pa, pb), (angle[1], angle[2], pb, pc)):
        turn = (way * (end - start)) % 360.0
        cubics = circular_arc(centre, radius, start, start + way * turn).cubics.copy()
        cubics[0, 0], cubics[-1, 3] = first, last
        parts.append(cubics)
    return Path(np.concatenate(parts))


def smooth_through(
    points: ArrayLike, *, start_tangent: ArrayLike | None = None, end_tangent: ArrayLike | None = None
) -> Path:
    """Make the C2 cubic spline through points, by chord length; its second derivative is 0 at an end without a tangent.

    Method: interpolating cubic spline (de Boor, A Practical Guide to Splines, 1978, chapter IV), each span turned
    into its Bézier form.

    Args:
        points: shape (n, 2), n ≥ 2; equal neighbours are dropped.
        start_tangent: direction in which it leaves the first point, any length above 0.
        end_tangent: direction in which it arrives at the last point.

    Raises:
        GeometryError: fewer than two different points, a number that is not finite, or a tangent of no length.
    """
    p = np.asarray(points, dtype=np.float64)
    if p.ndim != 2 or p.shape[1] != 2 or not np.isfinite(p).all():
        raise GeometryError(
            "curve", expected="points of two finite numbers", got=f"shape {p.shape}", next_step="Check the points"
        )
    p = p[np.r_[True, np.any(np.diff(p, axis=0) != 0, axis=1)]]
    if len(p) < 2:
        raise GeometryError("curve", expected="at least two different points", got=f"{len(p)}", next_step="Add a point")
    if len(p) == 2 and start_tangent is None and end_tangent is None:
        return paths.polyline(p)
    knots = np.r_[0.0, np.cumsum(np.hypot(*np.diff(p, axis=0).T))]
    ends = tuple((2, np.zeros(2)) if t is None else (1, _direction(t)) for t in (start_tangent, end_tangent))
    spline = CubicSpline(knots, p, bc_type=ends)
    slope, span = spline(knots, 1), np.diff(knots)[:, None] / 3
    a, b = p[:-1], p[1:]
    return Path(np.stack([a, a + slope[:-1] * span, b - slope[1:] * span, b], axis=1))


def smooth_round(points: ArrayLike) -> Path:
    """Make the closed C2 cubic spline through points and back to the first one, by chord length.

    Method: periodic cubic spline (de Boor, as :func:`smooth_through`): it has no end, so no point is a corner.

    Args:
        points: shape (n, 2), n ≥ 3 different ones; equal neighbours are dropped, a repeated first point too.

    Raises:
        GeometryError: fewer than three different points, or a number that is not finite.
    """
    p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(p).all():
        raise GeometryError(
            "curve", expected="points of two finite numbers", got="others", next_step="Check the points"
        )
    p = p[np.any(p != np.roll(p, 1, axis=0), axis=1)]
    if len(p) < 3:
        raise GeometryError("closed curve", expected="at least three points", got=f"{len(p)}", next_step="Add a point")
    p = np.vstack([p, p[:1]])
    knots = np.r_[0.0, np.cumsum(np.hypot(*np.diff(p, axis=0).T))]
    spline = CubicSpline(knots, p, bc_type="periodic")
    slope, span = spline(knots, 1), np.diff(knots)[:, None] / 3
    a, b = p[:-1], p[1:]
    return Path(np.stack([a, a + slope[:-1] * span, b - slope[1:] * span, b], axis=1))


def curvature(path: Path, segment: ArrayLike, t: ArrayLike) -> Floats:
    """Signed curvature at (segment, t) pairs of equal shape; positive where it turns left, infinite at a cusp."""
    c = path.cubics[np.asarray(segment, dtype=np.intp)]
    at = np.asarray(t, dtype=np.float64)
    d, dd = paths.derivative(c, at), paths.second_derivative(c, at)
    cross = d[..., 0] * dd[..., 1] - d[..., 1] * dd[..., 0]
    speed = np.hypot(d[..., 0], d[..., 1])
    scale = np.abs(c - c[..., :1, :]).max(axis=(-2, -1))
    still = speed <= 1e-9 * scale
    arms = c[..., 1:, :] - c[..., :1, :]
    off = arms[..., 0] * np.roll(arms[..., 1], 1, axis=-1) - arms[..., 1] * np.roll(arms[..., 0], 1, axis=-1)
    bent = np.abs(off).max(axis=-1) > 1e-12 * scale**2
    with np.errstate(divide="ignore", invalid="ignore"):
        value = np.where(still, np.where(bent, np.inf, 0.0), cross / speed**3)
    return np.asarray(value, dtype=np.float64)


@lru_cache(maxsize=256)  # lines that did not move are asked again
def min_radius(path: Path) -> tuple[float, int, float]:
    """Find where the path bends most inside its segments: (signed radius, segment, t).

    The radius is positive where the path turns left (y up), and infinite for a straight path. Corners between
    segments are not bends: see :func:`corners`. Found on a grid of 33 parameters a segment, each peak then refined
    to 1e-7 of the parameter.
    """
    n = len(path)
    segment = np.repeat(np.arange(n), len(_GRID))
    bend = np.abs(curvature(path, segment, np.tile(_GRID, n))).reshape(n, -1)
    bend[paths.is_straight(path)] = 0.0
    best = (0.0, 0, 0.0)
    for i in range(n):
        k = int(np.argmax(bend[i]))
        lo, hi = _GRID[max(k - 1, 0)], _GRID[min(k + 1, len(_GRID) - 1)]
        t, value = float(_GRID[k]), float(bend[i, k])
        if value <= 0.5 * best[0]:
            continue
        while hi - lo > 1e-7 and math.isfinite(value):
            grid = np.linspace(lo, hi, 9)
            here = np.abs(curvature(path, np.full(9, i), grid))
            k = int(np.argmax(here))
            t, value = float(grid[k]), float(here[k])
            lo, hi = grid[max(k - 1, 0)], grid[min(k + 1, 8)]
        if value > best[0]:
            best = (value, i, t)
    value, i, t = best
    if value == 0.0:
        return math.inf, 0, 0.0
    if math.isinf(value):
        return 0.0, i, t
    return math.copysign(1 / value, float(curvature(path, i, t))), i, t


def corners(path: Path, *, least_deg: float = 1.0) -> list[tuple[int, float]]:
    """Find corners between segments: (index of the segment that starts there, signed turn in degrees, left positive).

    Args:
        path: open or closed; a closed path's first point counts too, as index 0.
        least_deg: smaller turns are no corners.
    """
    found = []
    for i in range(0 if path.closed else 1, len(path)):
        a, b = paths.tangent(path, (i - 1) % len(path), 1.0), paths.tangent(path, i, 0.0)
        turn = math.degrees(math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b)))
        if abs(turn) >= least_deg:
            found.append((i, turn))
    return found


def nearest(path: Path, point: ArrayLike) -> tuple[int, float, float]:
    """Find the point of the path nearest to ``point``: (segment, t, distance).

    Exact: the stationary points of the squared distance are the roots of a polynomial of degree 5. Segments whose
    control points' box is farther than the nearest sample are left out.

    Args:
        path: the path.
        point: shape (2,).
    """
    p = np.asarray(point, dtype=np.float64)
    n, grid = len(path), _GRID[::4]
    samples = paths.points_at(path, np.repeat(np.arange(n), len(grid)), np.tile(grid, n))
    away = np.hypot(*(samples - p).T)
    k = int(np.argmin(away))
    best = (k // len(grid), float(grid[k % len(grid)]), float(away[k]))
    low, high = path.cubics.min(axis=1), path.cubics.max(axis=1)
    box = np.hypot(*np.maximum(np.maximum(low - p, p - high), 0).T)
    for i in np.flatnonzero(box < best[2]):
        p0, p1, p2, p3 = path.cubics[i] - p
        power = np.stack([p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0), p0])
        rate = power[:3] * [[3], [2], [1]]
        roots = np.roots(np.convolve(power[:, 0], rate[:, 0]) + np.convolve(power[:, 1], rate[:, 1]))
        real = roots.real[(np.abs(roots.imag) < 1e-6) & (roots.real > 0) & (roots.real < 1)]
        for t in np.r_[real, 0.0, 1.0]:
            away_here = float(np.hypot(*(paths.evaluate(path.cubics[i], np.float64(t)) - p)))
            if away_here < best[2]:
                best = (int(i), float(t), away_here)
    return best


def distances_at(path: Path, segment: ArrayLike, t: ArrayLike) -> Floats:
    """Arc length from the start to (segment, t) pairs, shape (m,) each; 16-point Gauss–Legendre on halved spans."""
    at, index = np.asarray(t, dtype=np.float64), np.asarray(segment, dtype=np.intp)
    before = np.r_[0.0, np.cumsum(paths.segment_lengths(path))][index]
    z, part = path.z[index], np.zeros(at.shape)
    for half in (0.0, 0.5):
        part += at / 2 * (curves.speeds(z, at[:, None] * (half + _NODES / 2)) @ _WEIGHTS)
    return np.asarray(before + part)


def points_along(path: Path, distances: ArrayLike) -> Floats:
    """Points at many distances along a path, shape (m, 2).

    For placing and drawing, where m is large: linear in arc length between 65 parameters a segment and one Newton
    step, good to about 1e-6 of the length; use ``path.point_at_distance`` where one point must be exact.

    Args:
        path: the path.
        distances: arc lengths from the start, shape (m,), clamped to 0 .. length.
    """
    n, grid = len(path), np.linspace(0, 1, 65)
    segment, t = np.repeat(np.arange(n), len(grid)), np.tile(grid, n)
    table = distances_at(path, segment, t)
    want = np.clip(np.asarray(distances, dtype=np.float64), 0.0, table[-1])
    k = np.clip(np.searchsorted(table, want, side="right") - 1, 0, len(table) - 2)
    k = np.where(t[k] == 1.0, np.minimum(k + 1, len(table) - 2), k)
    span = table[k + 1] - table[k]
    share = np.divide(want - table[k], span, out=np.zeros_like(want), where=span > 0)
    i, at = segment[k], np.clip(t[k] + share * (grid[1] - grid[0]), 0.0, 1.0)
    speed = np.linalg.norm(paths.derivative(path.cubics[i], at), axis=1)
    miss = distances_at(path, i, at) - want
    at = np.clip(at - np.divide(miss, speed, out=np.zeros_like(miss), where=speed > 1e-12), 0.0, 1.0)
    at = np.where(want >= table[-1], 1.0, at)
    return paths.points_at(path, i, at)


def _direction(vector: ArrayLike) -> Floats:
    v = np.asarray(vector, dtype=np.float64)
    size = float(np.hypot(*v))
    if not (size > 0 and math.isfinite(size)):
        raise GeometryError(
            "tangent", expected="a direction", got="a vector of no length", next_step="Give another direction"
        )
    return np.asarray(v / size)
