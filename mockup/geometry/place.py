"""Carry a drawing from one outline to another.

Mean value coordinates (Floater, Mean value coordinates, CAGD 20, 2003; for any simple polygon: Hormann & Floater,
ACM TOG 25, 2006) write a point as a weighted mean of a polygon's corners. The same weights on the matching corners of
another polygon give the matching point. The map is linear along every side, so boundaries are densified first,
edge by edge and by arc length, and an outline goes exactly onto the other outline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from swatches.errors import GeometryError

_ON = 1e-12  # of the polygon's size: nearer than this to a corner or side counts as on it
_CHUNK = 400_000  # points × corners worked on at once, to bound memory
_CHECKED = np.linspace(0, 1, 9)[1:-1]
_STEP = 1e-3
_DEEPEST = 12


class PointMap(Protocol):
    """A map of the plane."""

    def apply(self, points: ArrayLike) -> Floats:
        """Map points, shape (m, 2), to shape (m, 2)."""


@dataclass(frozen=True, slots=True, eq=False)
class MeanValueMap:
    """Map of the plane that takes polygon ``source`` to polygon ``target``, corner to corner.

    Attributes:
        source: corners of a simple polygon, shape (n, 2), n ≥ 3, read-only, first corner not repeated.
        target: matching corners, shape (n, 2), read-only.
    """

    source: Floats
    target: Floats

    def __post_init__(self) -> None:
        for name in ("source", "target"):
            points = np.array(getattr(self, name), dtype=np.float64)
            if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3 or not np.isfinite(points).all():
                raise GeometryError(
                    f"{name} polygon",
                    expected="at least three corners of two finite numbers",
                    got=f"shape {points.shape}",
                    next_step="Give the whole outline",
                )
            points.flags.writeable = False
            object.__setattr__(self, name, points)
        if self.source.shape != self.target.shape:
            raise GeometryError(
                "polygons",
                expected="the same number of corners in both",
                got=f"{len(self.source)} and {len(self.target)}",
                next_step="Match the outlines corner by corner",
            )

    def apply(self, points: ArrayLike) -> Floats:
        """Map points, shape (m, 2), to shape (m, 2). Exact on corners and linear along sides of the source."""
        p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        step = max(1, _CHUNK // len(self.source))
        return np.concatenate([weights(self.source, p[k : k + step]) @ self.target for k in range(0, len(p), step)])


def weights(polygon: Floats, points: Floats) -> Floats:
    """Mean value coordinates of points for a polygon's corners, shape (m, n); every row sums to 1.

    Args:
        polygon: corners, shape (n, 2), either way round.
        points: shape (m, 2), inside, outside or on the polygon.
    """
    away = polygon[None] - points[:, None]
    after = np.roll(away, -1, axis=1)
    r = np.hypot(away[..., 0], away[..., 1])
    r_after = np.roll(r, -1, axis=1)
    cross = away[..., 0] * after[..., 1] - away[..., 1] * after[..., 0]
    dot = away[..., 0] * after[..., 0] + away[..., 1] * after[..., 1]
    size = float(np.ptp(polygon, axis=0).max())
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # tan(α/2), by the form that does not cancel
        half = np.where(dot > 0, cross / (r * r_after + dot), (r * r_after - dot) / cross)
        w = (np.roll(half, 1, axis=1) + half) / r
        w = w / w.sum(axis=1, keepdims=True)
    side = np.hypot(*(np.roll(polygon, -1, axis=0) - polygon).T)
    on_side = (np.abs(cross) <= _ON * size * side) & (dot <= 0)
    for k in np.flatnonzero(on_side.any(axis=1)):
        i = int(np.argmax(on_side[k]))
        j = (i + 1) % len(polygon)
        w[k] = 0.0
        share = r[k, i] / (r[k, i] + r[k, j]) if side[i] > 0 else 0.0
        w[k, i], w[k, j] = 1 - share, share
    near = np.argmin(r, axis=1)
    for k in np.flatnonzero(r.min(axis=1) <= _ON * size):
        w[k] = 0.0
        w[k, near[k]] = 1.0
    return np.asarray(w)


def matched(source: Sequence[Path], target: Sequence[Path], step: float) -> tuple[Floats, Floats]:
    """Densify two outlines edge by edge: corners at the same share of the arc length of every edge.

    Args:
        source: the outline's edges, end to start, closed.
        target: the matching edges of the other outline, the same way round.
        step: longest distance between two corners, in the unit of ``source``.

    Returns:
        Corners of the two polygons, shape (n, 2) each.

    Raises:
        GeometryError: the outlines have different numbers of edges.
    """
    if len(source) != len(target) or not source:
        raise GeometryError(
            "outlines",
            expected="the same edges in both",
            got=f"{len(source)} and {len(target)} edges",
            next_step="Match the outlines edge by edge",
        )
    found: tuple[list[Floats], list[Floats]] = ([], [])
    for a, b in zip(source, target, strict=True):
        sizes = paths.length(a), paths.length(b)
        n = max(1, math.ceil(sizes[0] / step))
        shares = np.arange(n) / n
        for edge, size, into in zip((a, b), sizes, found, strict=True):
            points = curve.points_along(edge, shares * size)
            points[0] = edge.start
            into.append(points)
    return np.concatenate(found[0]), np.concatenate(found[1])


def carry_path(
    path: Path, mapped: PointMap, start: ArrayLike | None = None, end: ArrayLike | None = None, *, tolerance: float
) -> Path:
    """Map a path and fit cubics to what comes out.

    Every segment of the path is fitted on its own, so its corners stay corners. A span is halved until the cubic
    through the mapped ends, with the mapped tangents, is within ``tolerance`` of the mapped curve at seven points.

    Args:
        path: the path in source coordinates.
        mapped: the map.
        start: where the mapped path must start exactly, shape (2,); the correction fades along its length.
        end: where it must end exactly.
        tolerance: largest distance from the mapped curve, in the target's unit, above 0.
    """
    ends = mapped.apply(np.stack([path.start, path.end]))
    fix = [
        np.zeros(2) if p is None else np.asarray(p, dtype=np.float64) - q
        for p, q in zip((start, end), ends, strict=True)
    ]
    whole = paths.length(path)

    def at(segment: Floats, t: Floats) -> Floats:
        shape = t.shape
        index, flat = np.broadcast_to(segment, shape).ravel().astype(np.intp), t.ravel()
        there = mapped.apply(paths.points_at(path, index, flat))
        if np.any(fix):
            share = curve.distances_at(path, index, flat)[:, None] / whole
            there = there + (1 - share) * fix[0] + share * fix[1]
        return there.reshape(*shape, 2)

    spans = [(i, 0.0, 1.0) for i in range(len(path))]
    done: list[tuple[int, float, Floats]] = []
    for depth in range(_DEEPEST + 1):
        index, low, high = (np.array(column) for column in zip(*spans, strict=True))
        size = (high - low)[:, None]
        ask = np.r_[0.0, _STEP, 2 * _STEP, _CHECKED, 1 - 2 * _STEP, 1 - _STEP, 1.0]
        q = at(index[:, None], low[:, None] + size * ask)
        leave = (-3 * q[:, 0] + 4 * q[:, 1] - q[:, 2]) / (2 * _STEP)
        arrive = (3 * q[:, -1] - 4 * q[:, -2] + q[:, -3]) / (2 * _STEP)
        cubics = np.stack([q[:, 0], q[:, 0] + leave / 3, q[:, -1] - arrive / 3, q[:, -1]], axis=1)
        fitted = paths.evaluate(cubics[:, None], np.broadcast_to(_CHECKED, (len(cubics), len(_CHECKED))))
        miss = np.linalg.norm(fitted - q[:, 3:-3], axis=2).max(axis=1)
        good = (miss <= tolerance) | (depth == _DEEPEST)
        done += [(int(i), float(a), c) for i, a, c, g in zip(index, low, cubics, good, strict=True) if g]
        spans = [
            half
            for i, a, b, g in zip(index, low, high, good, strict=True)
            if not g
            for half in ((int(i), float(a), float(a + b) / 2), (int(i), float(a + b) / 2, float(b)))
        ]
        if not spans:
            break
    done.sort(key=lambda d: d[:2])
    cubics = np.stack([c for _, _, c in done])
    cubics[0, 0] = ends[0] + fix[0] if start is None else np.asarray(start)
    cubics[-1, 3] = ends[1] + fix[1] if end is None else np.asarray(end)
    return Path(cubics)
