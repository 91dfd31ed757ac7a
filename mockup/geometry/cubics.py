"""Arithmetic on cubic Bézier curves as arrays: places, derivatives, parts and arc lengths of many at once.

Many curves are float64 of shape (n, 4, 2), or complex x + iy of shape (n, 4). What is asked of one curve at one place
is answered in plain numbers: an array of two numbers costs more to make than to add.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2
_EXACT = 1e-10  # of the length: two halves of a segment that agree so well with the whole are not halved again
_DEEPEST = 12  # halvings at most
_POWERS = np.array([[1, 0, 0, 0], [-3, 3, 0, 0], [3, -6, 3, 0], [-1, 3, -3, 1]], dtype=np.complex128)


def as_complex(points: Floats) -> Complexes:
    """The same points as complex numbers: shape s + (2,) becomes s."""
    return np.asarray(points, order="C").view(np.complex128)[..., 0]


def as_points(z: Complexes) -> Floats:
    """The same complex numbers as points: shape s becomes s + (2,)."""
    return np.asarray(z, order="C")[..., None].view(np.float64)


def complex_of(point: Floats) -> complex:
    """One point, shape (2,), as a complex number."""
    return complex(*point.tolist())


def evaluate(cubics: Floats, t: Floats | np.float64) -> Floats:
    """Evaluate cubics, shape s + (4, 2), at t, shape s."""
    return as_points(values(as_complex(cubics), np.asarray(t)))


def values(z: Complexes, t: Floats) -> Complexes:
    """Evaluate cubics of complex control points, shape s + (4,), at t, shape s; the very ends at 0 and 1."""
    u = 1 - t
    tt = t * t
    return np.asarray(((z[..., 0] * u + z[..., 1] * (3 * t)) * u + z[..., 2] * (3 * tt)) * u + z[..., 3] * (tt * t))


def derivative(cubics: Floats, t: Floats | np.float64) -> Floats:
    """First derivative of cubics, shape s + (4, 2), at t, shape s."""
    t = np.asarray(t)[..., None]
    u = 1 - t
    d = (cubics[..., 1:, :] - cubics[..., :-1, :]) * 3
    return u * u * d[..., 0, :] + 2 * u * t * d[..., 1, :] + t * t * d[..., 2, :]


def second_derivative(cubics: Floats, t: Floats | np.float64) -> Floats:
    """Second derivative of cubics, shape s + (4, 2), at t, shape s."""
    d = (cubics[..., 2:, :] - 2 * cubics[..., 1:-1, :] + cubics[..., :-2, :]) * 6
    t = np.asarray(t)[..., None]
    return (1 - t) * d[..., 0, :] + t * d[..., 1, :]


def powers(z: Complexes) -> Complexes:
    """Coefficients of 1, t, t², t³, shape (4, m), of cubics of complex control points, shape (m, 4)."""
    return np.asarray(_POWERS @ z.T)


def horner(p: Complexes, t: Floats) -> Complexes:
    """Values at t, shape (m,), of what :func:`powers` gives."""
    return np.asarray(((p[3] * t + p[2]) * t + p[1]) * t + p[0])


def slope(p: Complexes, t: Floats) -> Complexes:
    """First derivatives at t, shape (m,), of what :func:`powers` gives."""
    return np.asarray((3 * p[3] * t + 2 * p[2]) * t + p[1])


def bend(p: Complexes, t: Floats) -> Complexes:
    """Second derivatives at t, shape (m,), of what :func:`powers` gives."""
    return np.asarray(6 * p[3] * t + 2 * p[2])


def point(z: Complexes, t: float) -> complex:
    """One point of one cubic of complex control points, shape (4,); the very end at 0 and 1."""
    a, b, c, d = z.tolist()
    u = 1 - t
    return complex(u * u * u * a + 3 * u * u * t * b + 3 * u * t * t * c + t * t * t * d)


def part(cubic: Floats, s: float, t: float) -> Floats:
    """Exact part of one cubic, shape (4, 2), from s to t, by de Casteljau; the very ends at 0 and 1."""
    points = [complex(x, y) for x, y in cubic.tolist()]
    if t < 1:
        points = _left(points, t)
        s = s / t
    if s > 0:
        points = _left(points[::-1], 1 - s)[::-1]
    return np.array(points).view(np.float64).reshape(4, 2)


def _left(points: list[complex], t: float) -> list[complex]:
    p, q, r, s = points
    a, b, c = p + (q - p) * t, q + (r - q) * t, r + (s - r) * t
    d, e = a + (b - a) * t, b + (c - b) * t
    return [p, a, d, d + (e - d) * t]


def roots(p0: float, p1: float, p2: float, p3: float) -> list[float]:
    """Where in 0..1 a cubic with these control values is 0, in any order."""
    a, b, c = p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0)
    signs = [p > 0 for p in (p0, p1, p2, p3) if p]
    changes = sum(one != other for one, other in itertools.pairwise(signs))
    # There are at most as many roots inside as the control values change their sign (Descartes, in Bernstein's form).
    if signs and changes == 0:
        return [t for t, p in ((0.0, p0), (1.0, p3)) if p == 0]
    if changes == 1 and p0 * p3 < 0:
        return [_only_root(a, b, c, p0)]
    found = np.roots([a, b, c, p0])
    real = found.real[np.abs(found.imag) < 1e-9].tolist()
    return [min(max(t, 0.0), 1.0) for t in real if -1e-12 <= t <= 1 + 1e-12]


def _only_root(a: float, b: float, c: float, d: float) -> float:
    """The root of ((a t + b) t + c) t + d between 0 and 1, where the signs differ, by Newton's method kept inside."""
    low, high, t = 0.0, 1.0, 0.5
    for _ in range(60):
        value = ((a * t + b) * t + c) * t + d
        if (value > 0) == (d > 0):
            low = t
        else:
            high = t
        rate = (3 * a * t + 2 * b) * t + c
        step = t - value / rate if rate else -1.0
        step = step if low < step < high else (low + high) / 2
        if abs(step - t) <= 1e-16:
            break
        t = step
    return t


def lengths(cubics: Floats, lo: Floats, hi: Floats) -> Floats:
    """Arc length of each cubic from lo to hi, all shape (n,), by adaptive Gauss–Legendre quadrature.

    All at once, and halved again where two halves differ from the whole.
    """
    z, of = as_complex(cubics), np.arange(len(cubics))
    mid = (lo + hi) / 2
    whole, left, right = _rule(z, np.stack([lo, lo, mid]), np.stack([hi, mid, hi]))
    total = np.asarray(left + right)
    for _ in range(_DEEPEST):
        again = np.abs(whole - left - right) > _EXACT * np.maximum(left + right, 1e-12)
        if not again.any():
            break
        of, whole = np.r_[of[again], of[again]], np.r_[left[again], right[again]]
        lo, hi = np.r_[lo[again], mid[again]], np.r_[mid[again], hi[again]]
        mid = (lo + hi) / 2
        left, right = _rule(z[of], np.stack([lo, mid]), np.stack([mid, hi]))
        np.add.at(total, of, left + right - whole)
    return total


def _rule(z: Complexes, lo: Floats, hi: Floats) -> Floats:
    """Arc length of each cubic, shape (n, 4), from lo to hi, shape (k, n), by one Gauss–Legendre rule."""
    span = hi - lo
    t = lo[..., None] + span[..., None] * _NODES
    return np.asarray(span * (speeds(z, t) @ _WEIGHTS))


def speeds(z: Complexes, t: Floats) -> Floats:
    """Size of the first derivative of cubics, shape s + (4,), at parameters of their own, shape s + (k,)."""
    d = 3 * (z[..., 1:] - z[..., :-1])
    first, second, third = d[..., :1], d[..., 1:2], d[..., 2:]
    return np.asarray(np.abs(((first - 2 * second + third) * t + 2 * (second - first)) * t + first))
