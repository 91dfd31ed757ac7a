"""Masks → smooth outlines: the half level of a lightly smoothed mask, then least-squares cubics between kept corners.

The contour is sub-pixel (marching squares on a Gaussian-smoothed mask, which moves a straight border by nothing and a
corner by less than a pixel; corners are put back where their two sides meet). Cubics are fitted after Schneider, *An
algorithm for automatically fitting digitized curves*, Graphics Gems, 1990: chord-length parameters, least squares for
the inner control points (free at corners, along a shared tangent where cubics join), Newton steps, splitting where it
is farthest off.

Pixel coordinates: (0, 0) is the outer corner of the first pixel.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import gaussian_filter1d
from skimage.measure import find_contours

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path

TOLERANCE_PX = 0.75
_SIGMA = 1.2
_STEP = 1.0  # px between samples of a contour
_REACH = 9.0  # px on either side that a corner is judged by
_CORNER_DEG = 38.0
_NEWTON = 4
_HALF_WINDOW = 8  # samples on either side that a tangent is taken from
_ANY_WAY = np.eye(2)  # the directions in which a free control point may lie
Outline = tuple[Path, list[Path]]


def trace_mask(
    mask: NDArray[np.bool_],
    *,
    tolerance: float = TOLERANCE_PX,
    minimum_area: float = 16.0,
    smooth_px: float = 0.0,
) -> list[Outline]:
    """Trace a mask into closed outlines with their holes.

    Args:
        mask: True inside, shape (h, w).
        tolerance: largest distance, px, of the fitted curve from the smoothed contour's samples.
        minimum_area: smaller parts and holes are left out, px².
        smooth_px: the contour is first evened out along itself, between corners, by a Gaussian of this width; a bend of
            radius r moves by about smooth_px² / 2r.

    Returns:
        (outer, holes) for every part, the largest first. Outer outlines have a positive signed area in the picture's
        own axes (x right, y down), holes a negative one; so a person sees outer outlines run clockwise.
    """
    if not mask.any():
        return []
    y, x = np.nonzero(mask.any(1))[0], np.nonzero(mask.any(0))[0]
    top, left = max(0, int(y[0]) - 1), max(0, int(x[0]) - 1)
    cut = mask[top : int(y[-1]) + 2, left : int(x[-1]) + 2].astype(np.float32)
    pad = 6
    soft = cv2.GaussianBlur(cv2.copyMakeBorder(cut, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=0), (0, 0), _SIGMA)
    outer: list[tuple[float, Path, Floats]] = []
    inner: list[tuple[Path, Floats]] = []
    for contour in find_contours(soft, 0.5):
        points = contour[:, ::-1] + 0.5 + [left - pad, top - pad]
        if len(points) < 8 or not np.allclose(points[0], points[-1]):
            continue
        area = _area(points)
        if abs(area) < minimum_area:
            continue
        # find_contours leaves high values to the left as seen in (row, column): outer contours have one sign
        path = fit_closed(points[:-1], tolerance, smooth_px=smooth_px)
        if area > 0:
            outer.append((area, path, points))
        else:
            inner.append((path, points))
    if outer and max(a for a, _, _ in outer) <= 0:
        return []
    outer.sort(key=lambda o: -o[0])
    holes: list[list[Path]] = [[] for _ in outer]
    for path, points in inner:
        owner = _smallest_around(points[0], outer)
        if owner is not None:
            holes[owner].append(path)
    return [(path, holes[i]) for i, (_, path, _) in enumerate(outer)]


def _smallest_around(point: Floats, outer: list[tuple[float, Path, Floats]]) -> int | None:
    found = None
    for i, (_, _, ring) in enumerate(outer):  # largest first: the last that holds the point is the smallest
        if cv2.pointPolygonTest(ring.astype(np.float32)[:, None], (float(point[0]), float(point[1])), False) >= 0:
            found = i
    return found


def _area(points: Floats) -> float:
    x, y = points[:, 0] - points[0, 0], points[:, 1] - points[0, 1]
    return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2)


def fit_closed(points: ArrayLike, tolerance: float = TOLERANCE_PX, *, smooth_px: float = 0.0) -> Path:
    """Fit a closed path of cubics to a dense ring of points, corners found and kept.

    Args:
        points: shape (n, 2), the first not repeated, roughly evenly spaced.
        tolerance: see :func:`trace_mask`.
        smooth_px: the same.
    """
    ring = _resampled(np.asarray(points, np.float64))
    corners = find_corners(ring)
    ring = _evened(_sharpened(ring, corners), corners, smooth_px)
    if not len(corners):
        # smooth all round: start where it bends least, with one tangent for both ends
        start = int(np.argmin(np.abs(_turning(ring, _REACH))))
        ring = np.roll(ring, -start, axis=0)
        loop = np.vstack([ring, ring[:1]])
        tangent = _direction(np.vstack([ring[-_HALF_WINDOW:], ring[: _HALF_WINDOW + 1]]))
        return _closed(_fit(loop, tangent, -tangent, tolerance))
    ring = np.roll(ring, -int(corners[0]), axis=0)
    ends = np.r_[corners - corners[0], len(ring)]
    loop = np.vstack([ring, ring[:1]])
    parts = [fit_cubics(loop[a : b + 1], tolerance).cubics for a, b in pairwise(ends)]
    return _closed(np.concatenate(parts))


def fit_cubics(points: ArrayLike, tolerance: float = TOLERANCE_PX, corners: Sequence[int] = ()) -> Path:
    """Fit an open path of cubics through a dense row of points by least squares (Schneider 1990).

    Args:
        points: shape (n, 2), n ≥ 2; the first and last are met exactly.
        tolerance: largest distance of the curve from the points, at the fitted parameters.
        corners: indices of points where the curve may bend sharply; it passes through them exactly.
    """
    p = np.asarray(points, np.float64)
    ends = [0, *sorted(int(c) for c in corners if 0 < c < len(p) - 1), len(p) - 1]
    parts = []
    for a, b in pairwise(ends):
        part = p[a : b + 1]
        part = part[np.r_[True, np.any(np.diff(part, axis=0) != 0, axis=1)]]
        if len(part) > 1:
            parts.append(_fit(part, None, None, tolerance))
    return Path(np.concatenate(parts))


def _closed(cubics: Floats) -> Path:
    cubics = cubics.copy()
    cubics[-1, 3] = cubics[0, 0]
    return Path(cubics)


def _resampled(ring: Floats) -> Floats:
    loop = np.vstack([ring, ring[:1]])
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(loop, axis=0), axis=1))]
    n = max(12, round(along[-1] / _STEP))
    s = np.arange(n) * along[-1] / n
    return np.stack([np.interp(s, along, loop[:, k]) for k in (0, 1)], axis=1)


def _turning(ring: Floats, reach: float) -> Floats:
    """Turning angle at every point, radians, between the chords ``reach`` px back and forth; positive where convex."""
    k = max(2, min(round(reach / _STEP), len(ring) // 4))
    back, forth = ring - np.roll(ring, k, axis=0), np.roll(ring, -k, axis=0) - ring
    cross = back[:, 0] * forth[:, 1] - back[:, 1] * forth[:, 0]
    return np.asarray(np.arctan2(cross, np.einsum("ij,ij->i", back, forth)))


def find_corners(ring: ArrayLike, *, reach: float = _REACH, least_deg: float = _CORNER_DEG) -> NDArray[np.intp]:
    """Find the corners of a closed ring of points 1 px apart.

    A corner turns by ``least_deg`` within ``reach`` px, more than anything near it, and turns sharply: half the reach
    shows most of the angle too, which a round bend does not.

    Returns:
        Indices, ascending.
    """
    p = np.asarray(ring, np.float64)
    turn = np.abs(_turning(p, reach))
    near = np.abs(_turning(p, reach * 0.45))
    k = max(2, round(reach / _STEP))
    highest = turn.copy()
    for shift in range(1, k + 1):
        highest = np.maximum(highest, np.maximum(np.roll(turn, shift), np.roll(turn, -shift)))
    sharp = near > 0.62 * turn
    for shift in (1, 2, 3):
        sharp |= np.roll(near > 0.62 * turn, shift) | np.roll(near > 0.62 * turn, -shift)
    peak = (turn >= highest) & (turn > np.deg2rad(least_deg)) & sharp
    found = np.nonzero(peak)[0]
    if len(found) < 2:
        return found
    # equal neighbours: keep the first of a run
    keep = np.r_[np.diff(found) > k, found[0] + len(p) - found[-1] > k]
    return found[np.roll(keep, 1)] if keep.any() else found[:1]


def _sharpened(ring: Floats, corners: NDArray[np.intp]) -> Floats:
    """Put corners, which smoothing rounds, back to where their two sides meet."""
    ring = ring.copy()
    n = len(ring)
    for i in corners:
        before, after = ring[(i - np.arange(3, 9)) % n], ring[(i + np.arange(3, 9)) % n]
        a, u = before.mean(0), _direction(before)
        b, v = after.mean(0), _direction(after)
        cross = u[0] * v[1] - u[1] * v[0]
        if abs(cross) < 0.3:
            continue
        s = ((b[0] - a[0]) * v[1] - (b[1] - a[1]) * v[0]) / cross
        meet = a + s * u
        if np.linalg.norm(meet - ring[i]) <= 3.0:
            ring[i] = meet
            for k in (1, 2):  # its neighbours lie on the straight sides
                ring[(i - k) % n] = meet + (ring[(i - 3) % n] - meet) * k / 3
                ring[(i + k) % n] = meet + (ring[(i + 3) % n] - meet) * k / 3
    return ring


def _evened(ring: Floats, corners: NDArray[np.intp], sigma: float) -> Floats:
    """Smooth a ring along itself; corners stay where they are, and nothing is smoothed across one."""
    if sigma < 0.5:
        return ring
    if not len(corners):
        return np.asarray(gaussian_filter1d(ring, sigma / _STEP, axis=0, mode="wrap"))
    start = int(corners[0])
    turned = np.roll(ring, -start, axis=0)
    ends = np.r_[corners - start, len(ring)]
    loop = np.vstack([turned, turned[:1]])
    for a, b in pairwise(ends):
        part = loop[a : b + 1]
        if len(part) < 4:
            continue
        # turned about its ends by half a turn, the row goes on smoothly and its ends stay
        k = min(len(part) - 1, int(4 * sigma / _STEP) + 1)
        before, after = 2 * part[0] - part[k:0:-1], 2 * part[-1] - part[-2 : -k - 2 : -1]
        soft = gaussian_filter1d(np.vstack([before, part, after]), sigma / _STEP, axis=0, mode="nearest")
        loop[a : b + 1] = soft[k : k + len(part)]
    return np.roll(loop[:-1], start, axis=0)


def _direction(points: Floats) -> Floats:
    """Unit direction of a short row of points, first to last, by least squares."""
    centred = points - points.mean(0)
    chord = points[-1] - points[0]
    if len(points) < 3:
        axis = chord
    else:
        axis = np.linalg.svd(centred, full_matrices=False)[2][0]
        axis = axis if axis @ chord >= 0 else -axis
    size = float(np.linalg.norm(axis))
    return np.asarray(axis / size if size > 0 else np.array([1.0, 0.0]))


def _fit(p: Floats, first: Floats | None, last: Floats | None, tolerance: float, depth: int = 0) -> Floats:
    """Fit cubics to points. ``first`` and ``last`` are unit tangents that point into the curve, None where free."""
    if len(p) < 4:
        return paths.polyline(p).cubics
    steps = np.diff(p, axis=0)
    t = np.r_[0, np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))]
    length = float(t[-1])
    t /= length
    for _ in range(_NEWTON + 1):
        weights = _weights(t)
        cubic = _least_squares(p, weights, first, last, length)
        miss = weights @ cubic - p
        away = np.einsum("ij,ij->i", miss, miss)
        where = int(away.argmax())
        worst = float(np.sqrt(away[where]))
        if worst <= tolerance:
            return cubic[None]
        if worst > 8 * tolerance:
            break
        t = _closer(cubic, t, miss)
    if depth >= 40:
        return cubic[None]
    where = min(max(where, len(p) // 6, 3), len(p) - 1 - max(len(p) // 6, 3))
    where = where if 0 < where < len(p) - 1 else len(p) // 2
    k = min(_HALF_WINDOW, where, len(p) - 1 - where)
    middle = _direction(p[where - k : where + k + 1])
    return np.concatenate(
        [
            _fit(p[: where + 1], first, -middle, tolerance, depth + 1),
            _fit(p[where:], middle, last, tolerance, depth + 1),
        ]
    )


def _weights(t: Floats) -> Floats:
    """How much each control point of a cubic counts at parameters, shape (n, 4)."""
    u = 1 - t
    uu, tt = u * u, t * t
    return np.stack([uu * u, 3 * uu * t, 3 * u * tt, tt * t], axis=1)


def _least_squares(p: Floats, weights: Floats, first: Floats | None, last: Floats | None, length: float) -> Floats:
    """Fit the two inner control points, each along its tangent or, where that is free, anywhere.

    By normal equations: four unknowns at most, with weights that are far from alike, lose no figure that counts.
    """
    rest = p - (weights[:, :2].sum(axis=1)[:, None] * p[0] + weights[:, 2:].sum(axis=1)[:, None] * p[-1])
    inner = weights[:, 1:3]
    square, goal = inner.T @ inner, inner.T @ rest
    one_way, other_way = (_ANY_WAY if d is None else d[None] for d in (first, last))
    cross = square[0, 1] * (one_way @ other_way.T)
    matrix = np.vstack(
        [
            np.hstack([square[0, 0] * (one_way @ one_way.T), cross]),
            np.hstack([cross.T, square[1, 1] * (other_way @ other_way.T)]),
        ]
    )
    found = np.linalg.lstsq(matrix, np.r_[one_way @ goal[0], other_way @ goal[1]], rcond=None)[0]
    k = len(one_way)
    one, two = found[:k] @ one_way, found[k:] @ other_way
    size = float(np.hypot(*(p[-1] - p[0])))
    if first is not None and not 1e-3 * size < found[0] < length:
        one = first * size / 3  # Wu and Barsky's rule, as in Schneider
    if last is not None and not 1e-3 * size < found[-1] < length:
        two = last * size / 3
    return np.stack([p[0], p[0] + one, p[-1] + two, p[-1]])


def _closer(cubic: Floats, t: Floats, miss: Floats) -> Floats:
    """One Newton step of every point's parameter towards the nearest point of the cubic."""
    u = 1 - t
    d = np.stack([u * u, 2 * u * t, t * t], axis=1) @ (3 * np.diff(cubic, axis=0))
    dd = np.stack([u, t], axis=1) @ (6 * np.diff(cubic, 2, axis=0))
    top = np.einsum("ij,ij->i", miss, d)
    bottom = np.einsum("ij,ij->i", d, d) + np.einsum("ij,ij->i", miss, dd)
    step = np.where(np.abs(bottom) > 1e-12, top / np.where(bottom == 0, 1, bottom), 0)
    new = np.clip(t - step, 0, 1)
    new[0], new[-1] = 0.0, 1.0
    return np.maximum.accumulate(new)
