"""Parallel curves, from the curve's own normals and not from the chords of a flattening.

The parallel of a smooth curve has the curve's tangent and its speed times 1 + κd (κ the curvature, d the distance to
the right; do Carmo, *Differential Geometry of Curves and Surfaces*, section 1-5, exercise on parallel curves), so each
stretch is refitted by the cubic that has the exact ends and end derivatives, and is halved until it lies within the
tolerance.
"""

from __future__ import annotations

import itertools

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import halves
from swatches.errors import GeometryError

_CHECK_AT = np.array([0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875])
_DEEPEST = 14


def offset_path(path: Path, distance: float, tolerance: float = 0.001) -> Path:
    """Give the parallel curve ``distance`` to the right of a smooth path (the outside of a counter-clockwise one).

    Where two segments meet at an angle the parallel has a gap, which is bridged by a straight segment: cut the path at
    its corners first (:func:`smooth_runs`) and join the parallels as the corner needs.

    Args:
        path: the curve.
        distance: to the right, or to the left where negative.
        tolerance: greatest distance of the result from the exact parallel curve, in the path's unit.

    Returns:
        The parallel, run the same way; its ends are exact.

    Raises:
        GeometryError: the curve bends towards the parallel more tightly than the distance; ``place`` is where.
    """
    if distance == 0:
        return path
    check_bend(path, distance)
    todo = path.cubics
    key = np.arange(len(todo), dtype=np.float64)  # place in the result, halved with each split
    width = 1.0
    done: list[Floats] = []
    keys: list[Floats] = []
    for _ in range(_DEEPEST):
        fitted = _fit(todo, distance)
        bad = _error(todo, fitted, distance) > tolerance
        done.append(fitted[~bad])
        keys.append(key[~bad])
        if not bad.any():
            break
        width /= 2
        left, right = halves(todo[bad])
        todo, key = np.concatenate([left, right]), np.concatenate([key[bad], key[bad] + width])
    else:
        done.append(_fit(todo, distance))
        keys.append(key)
    cubics = np.concatenate(done)[np.argsort(np.concatenate(keys))]
    return Path(_bridged(cubics))


def smooth_runs(path: Path, angle: float = 1e-3) -> list[Path]:
    """Cut a path at its corners, where its direction changes by more than ``angle`` radians."""
    cubics = path.cubics
    turns = np.abs(turn(_end_tangent(cubics[:-1]), _start_tangent(cubics[1:])))
    stops = [0, *(np.flatnonzero(turns > angle) + 1), len(cubics)]
    return [Path(cubics[a:b]) for a, b in itertools.pairwise(stops)]


def turn(before: Floats, after: Floats) -> Floats:
    """Angle from one direction to another, shape (..., 2) each; radians, positive to the left."""
    cross = before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0]
    return np.asarray(np.arctan2(cross, (before * after).sum(axis=-1)))


def right_normal(tangent: Floats) -> Floats:
    """Unit normal to the right of a unit tangent, shape (..., 2)."""
    return np.stack([tangent[..., 1], -tangent[..., 0]], axis=-1)


def check_bend(path: Path, distance: float) -> None:
    """Refuse a curve whose parallel to the right would fold over: radius on that side not above the distance.

    Raises:
        GeometryError: with the place of the tightest bend, and its radius.
    """
    t = np.linspace(0, 1, 33)
    curved = np.flatnonzero(~paths.is_straight(path))
    if not len(curved):
        return
    cubics = np.repeat(path.cubics[curved][:, None], len(t), axis=1)
    at = np.broadcast_to(t, cubics.shape[:2])
    room = 1 + distance * curvature(cubics, at)
    k, m = divmod(int(np.argmin(room)), len(t))
    low, high = t[max(m - 1, 0)], t[min(m + 1, len(t) - 1)]
    fine = np.linspace(low, high, 65)
    values = 1 + distance * curvature(np.repeat(cubics[k, :1], 65, axis=0), fine)
    best = int(np.argmin(values))
    if values[best] <= 1e-6:
        bend = float(curvature(cubics[k, 0], fine[best]))
        place = paths.evaluate(cubics[k, 0], fine[best])
        raise GeometryError(
            "allowance",
            expected=f"less than the curve's radius of {abs(1 / bend):.3g} mm",
            got=f"{abs(distance):.4g} mm",
            next_step="Make the allowance smaller there, or the curve wider",
            place=(float(place[0]), float(place[1])),
        )


def curvature(cubics: Floats, t: Floats | np.float64) -> Floats:
    """Signed curvature, positive where it turns left; 0 where the derivative vanishes."""
    d, dd = paths.derivative(cubics, t), paths.second_derivative(cubics, t)
    speed = np.linalg.norm(d, axis=-1)
    cross = d[..., 0] * dd[..., 1] - d[..., 1] * dd[..., 0]
    size = np.abs(cubics - cubics[..., :1, :]).max(axis=(-1, -2))
    moving = speed > 1e-6 * size
    return np.where(moving, cross / np.where(moving, speed, 1.0) ** 3, 0.0)


def _start_tangent(cubics: Floats) -> Floats:
    return _unit(_first_step(cubics))


def _end_tangent(cubics: Floats) -> Floats:
    return -_unit(_first_step(cubics[:, ::-1]))


def _first_step(cubics: Floats) -> Floats:
    """Vector from the first point to the first control point that is not on it, shape (n, 2)."""
    steps = cubics[:, 1:] - cubics[:, :1]
    size = np.abs(steps).max(axis=(1, 2), keepdims=True)
    away = np.linalg.norm(steps, axis=2) > 1e-9 * size[..., 0]
    return np.asarray(steps[np.arange(len(cubics)), np.argmax(away, axis=1)])


def _unit(v: Floats) -> Floats:
    return np.asarray(v / np.maximum(np.linalg.norm(v, axis=-1, keepdims=True), 1e-300))


def _fit(cubics: Floats, distance: float) -> Floats:
    zero, one = np.zeros(len(cubics)), np.ones(len(cubics))
    ta, tb = _start_tangent(cubics), _end_tangent(cubics)
    a = cubics[:, 0] + distance * right_normal(ta)
    b = cubics[:, 3] + distance * right_normal(tb)
    speed_a = np.linalg.norm(paths.derivative(cubics, zero), axis=1) * (1 + distance * curvature(cubics, zero))
    speed_b = np.linalg.norm(paths.derivative(cubics, one), axis=1) * (1 + distance * curvature(cubics, one))
    return np.stack([a, a + ta * speed_a[:, None] / 3, b - tb * speed_b[:, None] / 3, b], axis=1)


def _error(cubics: Floats, fitted: Floats, distance: float) -> Floats:
    n, m = len(cubics), len(_CHECK_AT)
    t = np.broadcast_to(_CHECK_AT, (n, m))
    wide = np.repeat(cubics[:, None], m, axis=1)
    d = paths.derivative(wide, t)
    speed = np.linalg.norm(d, axis=-1)
    tangents = d / np.maximum(speed, 1e-300)[..., None]
    normals = right_normal(tangents)
    exact = paths.evaluate(wide, t) + distance * normals
    away = paths.evaluate(np.repeat(fitted[:, None], m, axis=1), t) - exact
    across = np.abs((away * normals).sum(axis=-1))
    # A parameter that lags along the curve is no error in itself, but bends away with the curve: second order.
    along = (away * tangents).sum(axis=-1)
    lag = along**2 * np.abs(curvature(wide, t))
    return np.asarray((across + lag).max(axis=1))


def _bridged(cubics: Floats) -> Floats:
    """Close gaps between consecutive segments: exactly where they are rounding, by a straight segment where real."""
    gaps = np.linalg.norm(cubics[1:, 0] - cubics[:-1, 3], axis=1)
    real = np.flatnonzero(gaps > 1e-9)
    if not len(real):
        return cubics
    a, b = cubics[real, 3], cubics[real + 1, 0]
    bridges = np.stack([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b], axis=1)
    return np.insert(cubics, real + 1, bridges, axis=0)
