"""Parallel curves, from the curve's own normals and not from the chords of a flattening.

The parallel of a smooth curve has the curve's tangent and its speed times 1 + κd (κ the curvature, d the distance to
the right; do Carmo, *Differential Geometry of Curves and Surfaces*, section 1-5, exercise on parallel curves), so each
stretch is refitted by the cubic that has the exact ends and end derivatives, and is halved until it lies within the
tolerance.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from swatches.errors import GeometryError

_CHECK_AT = np.array([0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875])
_SMALLEST = 2.0**-14  # of a cubic: a part of it that is not halved again
_PARTS = 16


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
    distances = np.full(len(path), float(distance))
    tight = too_tight(path.cubics, distances)
    if tight is not None:
        raise too_tight_error("allowance", tight)
    cubics, _ = parallels(path.cubics, distances, tolerance)
    return Path(bridged(cubics))


def parallels(cubics: Floats, distances: Floats, tolerance: float) -> tuple[Floats, NDArray[np.intp]]:
    """Offset many cubics at once, each by its own distance to the right.

    Args:
        cubics: shape (n, 4, 2).
        distances: shape (n,).
        tolerance: as in :func:`offset_path`.

    Returns:
        Parallel cubics in order, shape (m, 4, 2), m ≥ n, and the index of the cubic that each belongs to, shape (m,).
    """
    todo, away, of = cubics, distances, np.arange(len(cubics))
    place, width = of.astype(np.float64), np.ones(len(cubics))  # place in the result; how much of it a part takes
    done: list[tuple[Floats, NDArray[np.intp], Floats]] = []
    while True:
        fitted = _fit(todo, away)
        errors = _error(todo, fitted, away)
        bad = (errors > tolerance) & (width > _SMALLEST)
        good = ~bad
        done.append((fitted[good], of[good], place[good]))
        if not bad.any():
            break
        # The error of such a fit falls with the fourth power of its length: so many parts as that asks for at once.
        ask = np.ceil((errors[bad] / tolerance) ** 0.25)
        parts = np.clip(2 ** np.ceil(np.log2(np.maximum(ask, 2))), 2, _PARTS).astype(np.intp)
        source = np.repeat(np.flatnonzero(bad), parts)
        step = np.repeat(width[bad] / parts, parts)
        n = np.arange(len(source)) - np.repeat(np.cumsum(parts) - parts, parts)
        m = np.repeat(parts, parts)
        todo = _parts(todo[source], n / m, (n + 1) / m)
        away, of = away[source], of[source]
        place, width = place[source] + n * step, step
    if len(done) == 1:
        return done[0][0], done[0][1]
    order = np.argsort(np.concatenate([d[2] for d in done]), kind="stable")
    return np.concatenate([d[0] for d in done])[order], np.concatenate([d[1] for d in done])[order]


def _parts(cubics: Floats, start: Floats, end: Floats) -> Floats:
    """The exact part of every cubic from one parameter to another."""
    arm = ((end - start) / 3)[:, None]
    a, b = paths.evaluate(cubics, start), paths.evaluate(cubics, end)
    return np.stack([a, a + arm * paths.derivative(cubics, start), b - arm * paths.derivative(cubics, end), b], axis=1)


def smooth_runs(path: Path, angle: float = 1e-3) -> list[Path]:
    """Cut a path at its corners, where its direction changes by more than ``angle`` radians."""
    cubics = path.cubics
    turns = np.abs(turn(end_tangents(cubics[:-1]), start_tangents(cubics[1:])))
    stops = [0, *(np.flatnonzero(turns > angle) + 1), len(cubics)]
    return [Path(cubics[a:b]) for a, b in itertools.pairwise(stops)]


def turn(before: Floats, after: Floats) -> Floats:
    """Angle from one direction to another, shape (..., 2) each; radians, positive to the left."""
    cross = before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0]
    return np.asarray(np.arctan2(cross, (before * after).sum(axis=-1)))


def right_normal(tangent: Floats) -> Floats:
    """Unit normal to the right of a unit tangent, shape (..., 2)."""
    normal = np.empty_like(tangent)
    normal[..., 0], normal[..., 1] = tangent[..., 1], -tangent[..., 0]
    return normal


@dataclass(frozen=True, slots=True)
class Tight:
    """Where a curve bends too tightly: which cubic, the place, the radius there, and the distance asked for."""

    cubic: int
    place: XY
    radius: float
    distance: float


def too_tight(cubics: Floats, distances: Floats) -> Tight | None:
    """Find where a parallel to the right would fold over: the radius on that side is not above the distance."""
    t = np.linspace(0, 1, 17)
    # Only a cubic whose control polygon turns towards the parallel can bend to it.
    legs = np.diff(cubics, axis=1)
    turns = legs[:, :-1, 0] * legs[:, 1:, 1] - legs[:, :-1, 1] * legs[:, 1:, 0]
    bending = np.flatnonzero(((turns * np.sign(distances)[:, None]) < 0).any(axis=1))
    if not len(bending):
        return None
    wide = np.repeat(cubics[bending][:, None], len(t), axis=1)
    room = 1 + distances[bending][:, None] * curvature(wide, np.broadcast_to(t, wide.shape[:2]))
    k, m = divmod(int(np.argmin(room)), len(t))
    cubic, distance = cubics[bending[k]], float(distances[bending[k]])
    fine = np.linspace(t[max(m - 1, 0)], t[min(m + 1, len(t) - 1)], 65)
    bend = curvature(np.repeat(cubic[None], len(fine), axis=0), fine)
    best = int(np.argmin(1 + distance * bend))
    if 1 + distance * bend[best] > 1e-6:
        return None
    x, y = paths.evaluate(cubic, fine[best])
    return Tight(int(bending[k]), (float(x), float(y)), abs(1 / float(bend[best])), abs(distance))


def too_tight_error(what: str, tight: Tight) -> GeometryError:
    """The error for a bend that is too tight, with its place and radius."""
    return GeometryError(
        what,
        expected=f"less than the curve's radius of {tight.radius:.3g} mm",
        got=f"{tight.distance:.4g} mm",
        next_step="Make the allowance smaller there, or the curve wider",
        place=tight.place,
    )


def curvature(cubics: Floats, t: Floats | np.float64) -> Floats:
    """Signed curvature, positive where it turns left; 0 where the derivative vanishes."""
    return _curvature(cubics, paths.derivative(cubics, t), t)


def _curvature(cubics: Floats, d: Floats, t: Floats | np.float64) -> Floats:
    """The same, with the first derivative known."""
    dd = paths.second_derivative(cubics, t)
    speed = np.sqrt((d * d).sum(axis=-1))
    cross = d[..., 0] * dd[..., 1] - d[..., 1] * dd[..., 0]
    size = np.abs(cubics - cubics[..., :1, :]).max(axis=(-1, -2))
    moving = speed > 1e-6 * size
    return np.where(moving, cross / np.where(moving, speed, 1.0) ** 3, 0.0)


def start_tangents(cubics: Floats) -> Floats:
    """Unit tangents at the starts of cubics, shape (n, 2)."""
    return _unit(_first_step(cubics))


def end_tangents(cubics: Floats) -> Floats:
    """Unit tangents at the ends of cubics, shape (n, 2)."""
    return -_unit(_first_step(cubics[:, ::-1]))


def _first_step(cubics: Floats) -> Floats:
    """Vector from the first point to the first control point that is not on it, shape (n, 2)."""
    steps = cubics[:, 1:] - cubics[:, :1]
    size = np.abs(steps).max(axis=(1, 2), keepdims=True)
    away = np.linalg.norm(steps, axis=2) > 1e-9 * size[..., 0]
    return np.asarray(steps[np.arange(len(cubics)), np.argmax(away, axis=1)])


def _unit(v: Floats) -> Floats:
    return np.asarray(v / np.maximum(np.linalg.norm(v, axis=-1, keepdims=True), 1e-300))


def _fit(cubics: Floats, distances: Floats) -> Floats:
    ta, tb = start_tangents(cubics), end_tangents(cubics)
    a = cubics[:, 0] + distances[:, None] * right_normal(ta)
    b = cubics[:, 3] + distances[:, None] * right_normal(tb)
    wide, ends = cubics[:, None], np.array([0.0, 1.0])
    d = paths.derivative(wide, ends)
    speed = np.sqrt((d * d).sum(axis=-1))
    arms = (speed * (1 + distances[:, None] * _curvature(wide, d, ends)))[..., None] / 3
    return np.stack([a, a + ta * arms[:, 0], b - tb * arms[:, 1], b], axis=1)


def _error(cubics: Floats, fitted: Floats, distances: Floats) -> Floats:
    wide, t = cubics[:, None], _CHECK_AT
    d = paths.derivative(wide, t)
    speed = np.sqrt((d * d).sum(axis=-1))
    tangents = d / np.maximum(speed, 1e-300)[..., None]
    normals = right_normal(tangents)
    exact = paths.evaluate(wide, t) + distances[:, None, None] * normals
    away = paths.evaluate(fitted[:, None], t) - exact
    across = np.abs((away * normals).sum(axis=-1))
    # A parameter that lags along the curve is no error in itself, but bends away with the curve: second order.
    along = (away * tangents).sum(axis=-1)
    lag = along**2 * np.abs(_curvature(wide, d, t))
    return np.asarray((across + lag).max(axis=1))


ROUNDING = 1e-5
"""A joint that turns by 1e-6° leaves a gap, or on its inner side an overlap, of this size."""


def bridged(cubics: Floats) -> Floats:
    """Close gaps between consecutive segments: exactly where they are rounding, by a straight segment where real.

    On the hollow side of a joint that turns a little the segments overlap instead, as along a curve that was drawn in
    many straight steps; there both are brought to the middle between their ends, where their parallels meet to the
    second order of the turn.
    """
    gaps = cubics[1:, 0] - cubics[:-1, 3]
    real = np.flatnonzero((gaps * gaps).sum(axis=1) > ROUNDING**2)
    if not len(real):
        return cubics
    back = (gaps[real] * end_tangents(cubics[real])).sum(axis=1) < 0
    if back.any():
        cubics, k = cubics.copy(), real[back]
        shift = gaps[k][:, None] / 2
        cubics[k, 2:] += shift
        cubics[k + 1, :2] -= shift
    real = real[~back]
    if not len(real):
        return cubics
    a, b = cubics[real, 3], cubics[real + 1, 0]
    bridges = np.stack([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b], axis=1)
    return np.insert(cubics, real + 1, bridges, axis=0)
