"""Many lengths along one path, measured once.

The same figures as :func:`mockup.geometry.path.distance_at` and :func:`~mockup.geometry.path.locate`, for callers that
ask often: segment lengths are found in one array expression and kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from mockup.geometry import path as paths
from mockup.geometry.cubics import as_complex
from mockup.geometry.path import Flat, Floats, Path

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2
# At the nodes of the whole, of its first and of its second half: what each control leg adds to the derivative there.
_AT = np.concatenate([_NODES, _NODES / 2, (1 + _NODES) / 2])
_SPEED = np.stack([(1 - _AT) ** 2, 2 * (1 - _AT) * _AT, _AT**2], axis=1)
_ONLY = np.zeros_like(_WEIGHTS)
_WEIGHTS2 = np.stack([np.r_[_WEIGHTS, _ONLY, _ONLY], np.r_[_ONLY, _WEIGHTS / 2, _WEIGHTS / 2]])
_CLOSE = 1e-10
_REMEMBERED = 2000  # segments: flattenings of longer paths are not kept, for the memory that they would take


class Ruler:
    """Arc lengths along a path.

    Attributes:
        path: what is measured.
        ends: length from the start to the end of every segment, shape (n,).
        total: length of the whole path.
    """

    __slots__ = ("_even", "_known", "_lengths", "ends", "path", "total")

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lengths = lengths_of(path)
        self._even = _evenly_straight(path.cubics)
        self._known: dict[tuple[int, float], float] = {}
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
        if self._even[i]:
            return before + t * float(self._lengths[i])
        if position not in self._known:
            part = paths.sub_path(self.path, (i, 0.0), (i, t))
            self._known[position] = before + float(fast_lengths(part.cubics).sum())
        return self._known[position]

    def locate(self, distance: float) -> tuple[int, float]:
        """Find (segment, t) at ``distance`` from the start, clamped to the path, good to 1e-10 of the segment."""
        distance = min(max(distance, 0.0), self.total)
        i = min(int(np.searchsorted(self.ends, distance, side="left")), len(self.ends) - 1)
        rest = distance - float(self.ends[i] - self._lengths[i])
        if rest >= self._lengths[i]:
            return i, 1.0
        if self._even[i]:
            return i, max(0.0, rest / float(self._lengths[i]))
        return i, paths.locate(Path(self.path.cubics[i : i + 1]), rest)[1]

    def point(self, distance: float) -> Floats:
        """Point at ``distance`` from the start, shape (2,)."""
        i, t = self.locate(distance)
        return paths.evaluate(self.path.cubics[i], np.float64(t))


@lru_cache(maxsize=4096)  # paths are immutable, and a pattern asks for the same edges' lengths again and again
def length_of(path: Path) -> float:
    """Arc length of a path, remembered; as :func:`mockup.geometry.path.length`."""
    return float(lengths_of(path).sum())


@lru_cache(maxsize=1024)
def lengths_of(path: Path) -> Floats:
    """Arc length of every segment, shape (n,), read-only, remembered."""
    lengths = fast_lengths(path.cubics)
    lengths.flags.writeable = False
    return lengths


def flat_of(path: Path, tolerance: float) -> Flat:
    """A path flattened, remembered; as :func:`mockup.geometry.path.flatten`, with read-only arrays."""
    return _flat_of(path, tolerance) if len(path) <= _REMEMBERED else paths.flatten(path, tolerance)


@lru_cache(maxsize=256)
def _flat_of(path: Path, tolerance: float) -> Flat:
    flat = paths.flatten(path, tolerance)
    for array in (flat.points, flat.segment, flat.t):
        array.flags.writeable = False
    return flat


def polygon_of(outlines: Sequence[Path], tolerance: float) -> shapely.Polygon:
    """An outline and its holes, flattened, as a polygon; remembered."""
    rings = tuple(outlines)
    few = sum(len(ring) for ring in rings) <= _REMEMBERED
    return _polygon_of(rings, tolerance) if few else _polygon(rings, tolerance)


def _polygon(outlines: tuple[Path, ...], tolerance: float) -> shapely.Polygon:
    shell, *holes = (flat_of(outline, tolerance).points for outline in outlines)
    return shapely.Polygon(shell, holes)


_polygon_of = lru_cache(maxsize=128)(_polygon)


def _evenly_straight(cubics: Floats) -> NDArray[np.bool_]:
    """Which cubics are straight lines run at an even speed, so that length is in proportion to t."""
    z = as_complex(cubics)
    second = np.abs(z[:, 2:] - 2 * z[:, 1:-1] + z[:, :-2]).max(axis=1)
    return np.asarray(second <= 1e-13 * np.maximum(np.abs(z[:, 3] - z[:, 0]), 1e-300))


def fast_lengths(cubics: Floats) -> Floats:
    """Arc length of every cubic, shape (n,): 24-point Gauss–Legendre on halves, refined where the whole disagrees."""
    z = as_complex(cubics)
    d = 3 * (z[:, 1:] - z[:, :-1]).T
    whole, both = _WEIGHTS2 @ np.abs(_SPEED @ d)
    for k in np.flatnonzero(np.abs(whole - both) > _CLOSE * np.maximum(both, 1e-12)):
        both[k] = paths.length(Path(cubics[k : k + 1]))
    return np.asarray(both)
