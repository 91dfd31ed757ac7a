"""Parallel curves, from the curve's own normals and not from the chords of a flattening.

The parallel of a smooth curve has the curve's tangent and its speed times 1 + κd (κ the curvature, d the distance to
the right; do Carmo, *Differential Geometry of Curves and Surfaces*, section 1-5, exercise on parallel curves), so each
stretch is refitted by the cubic that has the exact ends and end derivatives, and is halved until it lies within the
tolerance.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from mockup.geometry import path as paths
from mockup.geometry.cubics import Complexes, as_complex, as_points, horner, powers, slope
from mockup.geometry.path import XY, Floats, Path
from swatches.errors import GeometryError

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
    todo, away, of = as_complex(cubics), distances, np.arange(len(cubics))
    place, width = of.astype(np.float64), np.ones(len(cubics))  # place in the result; how much of it a part takes
    done: list[tuple[Complexes, NDArray[np.intp], Floats]] = []
    while True:
        fitted, errors = _fit(todo, away)
        bad = (errors > tolerance) & (width > _SMALLEST)
        if not bad.any():
            done.append((fitted, of, place))
            break
        good = ~bad
        done.append((fitted[good], of[good], place[good]))
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
    z, of, place = (np.concatenate(kind) for kind in zip(*done, strict=True))
    order = np.argsort(place, kind="stable")
    return as_points(z[order]), of[order]


def _parts(z: Complexes, start: Floats, end: Floats) -> Complexes:
    """The exact part of every cubic from one parameter to another."""
    p, arm = powers(z), (end - start) / 3
    a, b = horner(p, start), horner(p, end)
    return np.array([a, a + arm * slope(p, start), b - arm * slope(p, end), b]).T


def smooth_runs(path: Path, angle: float = 1e-3) -> list[Path]:
    """Cut a path at its corners, where its direction changes by more than ``angle`` radians."""
    cubics = path.cubics
    turns = np.abs(turn(end_tangents(cubics[:-1]), start_tangents(cubics[1:])))
    stops = [0, *(np.flatnonzero(turns > angle) + 1), len(cubics)]
    return [Path(cubics[a:b]) for a, b in itertools.pairwise(stops)]


def turn(before: Floats, after: Floats) -> Floats:
    """Angle from one direction to another, shape (..., 2) each; radians, positive to the left."""
    return np.asarray(np.angle(as_complex(after) * as_complex(before).conj()))


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
    # Only a cubic whose control polygon turns towards the parallel can bend to it.
    z = as_complex(cubics)
    legs = z[:, 1:] - z[:, :-1]
    turns = (legs[:, :-1].conj() * legs[:, 1:]).imag
    bending = np.flatnonzero((turns * np.sign(distances)[:, None] < 0).any(axis=1))
    if not len(bending):
        return None
    room = 1 + distances[bending][:, None] * _ROUGH.look(z[bending])[2]
    k, m = divmod(int(np.argmin(room)), len(_ROUGH.t))
    distance = float(distances[bending[k]])
    places, _, bends = (found[0] for found in _round_about(m).look(z[bending[k]][None]))
    best = int(np.argmin(1 + distance * bends))
    if 1 + distance * bends[best] > 1e-6:
        return None
    at = places[best]
    return Tight(int(bending[k]), (float(at.real), float(at.imag)), abs(1 / float(bends[best])), abs(distance))


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
    d, dd = paths.derivative(cubics, t), paths.second_derivative(cubics, t)
    return _bend(as_complex(d), as_complex(dd), np.abs(cubics - cubics[..., :1, :]).max(axis=(-1, -2)))


def _bend(d: Complexes, dd: Complexes, size: Floats) -> Floats:
    """Curvature by the first and second derivative; ``size`` of the cubic tells a derivative that vanishes."""
    speed = np.abs(d)
    moving = speed > 1e-6 * size
    return np.where(moving, (d.conj() * dd).imag / np.where(moving, speed, 1.0) ** 3, 0.0)


class Nodes:
    """Fixed parameters at which many cubics are looked at by one product of matrices each."""

    def __init__(self, t: Floats) -> None:
        u = 1 - t
        self.t = t
        self._place = np.stack([u**3, 3 * u * u * t, 3 * u * t * t, t**3])
        self._slope = 3 * np.stack([u * u, 2 * u * t, t * t])
        self._bend = 6 * np.stack([u, t])

    def places(self, z: Complexes) -> Complexes:
        """Points of cubics of complex control points, shape (n, 4), at every node, shape (n, m)."""
        return np.asarray(z @ self._place)

    def look(self, z: Complexes) -> tuple[Complexes, Complexes, Floats]:
        """Points, first derivatives and curvature, shape (n, m) each."""
        legs = z[:, 1:] - z[:, :-1]
        d, dd = legs @ self._slope, (legs[:, 1:] - legs[:, :-1]) @ self._bend
        return self.places(z), d, _bend(d, dd, np.abs(z - z[:, :1]).max(axis=1)[:, None])


_ROUGH = Nodes(np.linspace(0, 1, 17))
_CHECKED = Nodes(np.linspace(0, 1, 9))  # both ends, and where a fit is held against the true parallel


@cache
def _round_about(m: int) -> Nodes:
    """Close nodes between the neighbours of one of the rough ones."""
    return Nodes(np.linspace(_ROUGH.t[max(m - 1, 0)], _ROUGH.t[min(m + 1, len(_ROUGH.t) - 1)], 65))


def start_tangents(cubics: Floats) -> Floats:
    """Unit tangents at the starts of cubics, shape (n, 2)."""
    return as_points(start_ways(as_complex(cubics)))


def end_tangents(cubics: Floats) -> Floats:
    """Unit tangents at the ends of cubics, shape (n, 2)."""
    return as_points(end_ways(as_complex(cubics)))


def start_ways(z: Complexes) -> Complexes:
    """The same of complex control points, shape (n, 4): towards the first control point that is not on the start."""
    steps = z[:, 1:] - z[:, :1]
    sizes = np.abs(steps)
    away = sizes > 1e-9 * sizes.max(axis=1, keepdims=True)
    if away[:, 0].all():
        return np.asarray(steps[:, 0] / sizes[:, 0])
    rows = np.arange(len(z))
    first = away.argmax(axis=1)
    return np.asarray(steps[rows, first] / np.maximum(sizes[rows, first], 1e-300))


def end_ways(z: Complexes) -> Complexes:
    """Unit tangents at the ends of cubics of complex control points, shape (n, 4)."""
    return -start_ways(z[:, ::-1])


def _fit(z: Complexes, distances: Floats) -> tuple[Complexes, Floats]:
    """A cubic for every parallel, with its exact ends and end derivatives; and how far it is from the true parallel."""
    at, d, bends = _CHECKED.look(z)
    speed = np.abs(d)
    ways = d / np.maximum(speed, 1e-300)
    ways[:, 0], ways[:, -1] = start_ways(z), end_ways(z)  # also where the derivative vanishes
    exact = at - 1j * distances[:, None] * ways
    arms = ways * speed * (1 + distances[:, None] * bends) / 3
    a, b = exact[:, 0], exact[:, -1]
    fitted = np.array([a, a + arms[:, 0], b - arms[:, -1], b]).T
    miss = (_CHECKED.places(fitted) - exact) * ways.conj()
    # A parameter that lags along the curve is no error in itself, but bends away with the curve: second order.
    error = np.abs(miss.imag) + miss.real**2 * np.abs(bends)
    return fitted, np.asarray(error.max(axis=1))


ROUNDING = 1e-5
"""A joint that turns by 1e-6° leaves a gap, or on its inner side an overlap, of this size."""


def bridged(cubics: Floats) -> Floats:
    """Close gaps between consecutive segments: exactly where they are rounding, by a straight segment where real.

    On the hollow side of a joint that turns a little the segments overlap instead, as along a curve that was drawn in
    many straight steps; there both are brought to the middle between their ends, where their parallels meet to the
    second order of the turn.
    """
    gaps = np.abs(as_complex(cubics[1:, 0]) - as_complex(cubics[:-1, 3]))
    if not len(gaps) or gaps.max() <= ROUNDING:
        return cubics
    real = np.flatnonzero(gaps > ROUNDING)
    steps = cubics[real + 1, 0] - cubics[real, 3]
    back = (steps * end_tangents(cubics[real])).sum(axis=1) < 0
    if back.any():
        cubics, k = cubics.copy(), real[back]
        shift = steps[back][:, None] / 2
        cubics[k, 2:] += shift
        cubics[k + 1, :2] -= shift
    real = real[~back]
    if not len(real):
        return cubics
    a, b = cubics[real, 3], cubics[real + 1, 0]
    bridges = np.stack([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b], axis=1)
    return np.insert(cubics, real + 1, bridges, axis=0)
