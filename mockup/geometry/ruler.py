"""Many lengths along one path, measured once.

The same figures as :func:`mockup.geometry.path.distance_at` and :func:`~mockup.geometry.path.locate`, for callers that
ask often: segment lengths are found in one array expression and kept.
"""

from __future__ import annotations

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2
_CLOSE = 1e-10


class Ruler:
    """Arc lengths along a path.

    Attributes:
        path: what is measured.
        ends: length from the start to the end of every segment, shape (n,).
        total: length of the whole path.
    """

    __slots__ = ("_lengths", "ends", "path", "total")

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lengths = fast_lengths(path.cubics)
        self.ends = np.cumsum(self._lengths)
        self.total = float(self.ends[-1])

    def at(self, position: tuple[int, float]) -> float:
        """Length from the start to (segment, t)."""
        i, t = position
        before = float(self.ends[i] - self._lengths[i])
        if t <= 0:
            return before
        if t >= 1:
            return float(self.ends[i])
        return before + float(fast_lengths(paths.sub_path(self.path, (i, 0.0), (i, t)).cubics).sum())

    def locate(self, distance: float) -> tuple[int, float]:
        """Find (segment, t) at ``distance`` from the start, clamped to the path, good to 1e-10 of the segment."""
        distance = min(max(distance, 0.0), self.total)
        i = min(int(np.searchsorted(self.ends, distance, side="left")), len(self.ends) - 1)
        rest = distance - float(self.ends[i] - self._lengths[i])
        if rest >= self._lengths[i]:
            return i, 1.0
        one = Path(self.path.cubics[i : i + 1])
        if paths.is_straight(one)[0] and np.allclose(np.diff(one.cubics[0], n=2, axis=0), 0, atol=1e-12, rtol=0):
            return i, max(0.0, rest / float(self._lengths[i]))
        return i, paths.locate(one, rest)[1]

    def point(self, distance: float) -> Floats:
        """Point at ``distance`` from the start, shape (2,)."""
        i, t = self.locate(distance)
        return paths.evaluate(self.path.cubics[i], np.float64(t))


def fast_lengths(cubics: Floats) -> Floats:
    """Arc length of every cubic, shape (n,): 24-point Gauss–Legendre on halves, refined where the whole disagrees."""
    whole = _quadrature(cubics)
    left, right = halves(cubics)
    both = _quadrature(left) + _quadrature(right)
    rough = np.abs(whole - both) > _CLOSE * np.maximum(both, 1e-12)
    for k in np.flatnonzero(rough):
        both[k] = paths.length(Path(cubics[k : k + 1]))
    return both


def halves(cubics: Floats) -> tuple[Floats, Floats]:
    """Cut every cubic in its middle; gives two arrays of the shape given."""
    a, b, c, d = (cubics[:, k] for k in range(4))
    ab, bc, cd = (a + b) / 2, (b + c) / 2, (c + d) / 2
    abc, bcd = (ab + bc) / 2, (bc + cd) / 2
    mid = (abc + bcd) / 2
    return np.stack([a, ab, abc, mid], axis=1), np.stack([mid, bcd, cd, d], axis=1)


def _quadrature(cubics: Floats) -> Floats:
    d = np.diff(cubics, axis=1) * 3
    t = _NODES[:, None, None]
    u = 1 - t
    speed = u * u * d[None, :, 0] + 2 * u * t * d[None, :, 1] + t * t * d[None, :, 2]
    return np.asarray(_WEIGHTS @ np.linalg.norm(speed, axis=2))
