"""Paths of cubic Bézier segments: the truth about every outline and line.

A straight segment is a cubic whose control points lie at its thirds, so that there is one kind of segment and
every operation is one array expression. A path knows no unit; its callers do.

Lengths are by adaptive Gauss–Legendre quadrature, good to 1e-9 of the length; a path is flattened only to ask a
polygon library a question, and then every vertex knows the parameter it came from.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockup.geometry import cubics as curves
from mockup.geometry.cubics import Complexes, as_complex
from mockup.geometry.cubics import Floats as Floats
from mockup.geometry.cubics import derivative as derivative
from mockup.geometry.cubics import evaluate as evaluate
from mockup.geometry.cubics import second_derivative as second_derivative

XY = tuple[float, float]
CubicXY = tuple[XY, XY, XY, XY]

_REMEMBERED = 2000  # segments
_STRAIGHT = 1e-9  # of the chord: a control point nearer to it than this lies on it


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Connected cubic Bézier segments.

    Attributes:
        cubics: float64, shape (n, 4, 2), n ≥ 1, read-only; ``cubics[i, 3] == cubics[i + 1, 0]``.
        z: the same control points as complex numbers x + iy, shape (n, 4).
    """

    cubics: Floats
    z: Complexes = field(init=False, repr=False)

    def __post_init__(self) -> None:
        cubics = np.array(self.cubics, dtype=np.float64, order="C")
        if cubics.ndim != 3 or cubics.shape[1:] != (4, 2) or not len(cubics):
            raise ValueError(f"cubics: expected shape (n, 4, 2) with n ≥ 1, got {cubics.shape}")
        if not np.isfinite(cubics).all():
            raise ValueError("cubics: expected finite numbers, got NaN or infinity")
        cubics[1:, 0] = cubics[:-1, 3]
        cubics.flags.writeable = False
        object.__setattr__(self, "cubics", cubics)
        object.__setattr__(self, "z", as_complex(cubics))

    def __len__(self) -> int:
        return len(self.cubics)

    @property
    def start(self) -> Floats:
        """First point, shape (2,)."""
        return np.asarray(self.cubics[0, 0])

    @property
    def end(self) -> Floats:
        """Last point, shape (2,)."""
        return np.asarray(self.cubics[-1, 3])

    @property
    def ends(self) -> tuple[complex, complex]:
        """First and last point as complex numbers x + iy."""
        return self.z.item(0), self.z.item(-1)

    @property
    def closed(self) -> bool:
        """Whether the last point is the first."""
        gap: complex = self.z.item(0) - self.z.item(-1)
        return abs(gap.real) <= 1e-9 and abs(gap.imag) <= 1e-9

    def to_tuples(self) -> tuple[CubicXY, ...]:
        """Give the segments as nested tuples, for frozen records and JSON."""
        return tuple(tuple((float(x), float(y)) for x, y in cubic) for cubic in self.cubics)  # type: ignore[misc]


def made(cubics: Floats) -> Path:
    """Make a path of a fresh array of cubics, shape (n, 4, 2), known to be finite and connected: nothing is checked."""
    cubics.flags.writeable = False
    path = object.__new__(Path)
    object.__setattr__(path, "cubics", cubics)
    object.__setattr__(path, "z", as_complex(cubics))
    return path


def connected(cubics: Floats) -> Path:
    """Make a path of a fresh array as :func:`made` does, gaps closed by moving the later start."""
    cubics[1:, 0] = cubics[:-1, 3]
    return made(cubics)


def from_tuples(cubics: Iterable[Iterable[Iterable[float]]]) -> Path:
    """Make a path of nested tuples or lists of four points a segment."""
    return Path(np.array([[list(p) for p in cubic] for cubic in cubics], dtype=np.float64))


def polyline(points: ArrayLike, *, close: bool = False) -> Path:
    """Make a path of straight segments through ``points``, shape (n, 2), n ≥ 2. Repeated points are dropped."""
    p = np.asarray(points, dtype=np.float64)
    if close and not np.array_equal(p[0], p[-1]):
        p = np.vstack([p, p[:1]])
    moves = (p[1:] != p[:-1]).any(axis=1)
    if not moves.all():
        p = p[np.append(True, moves)]
    if len(p) < 2:
        raise ValueError("points: expected at least 2 different points")
    a, b = p[:-1], p[1:]
    cubics = np.empty((len(a), 4, 2))
    cubics[:, 0], cubics[:, 3] = a, b
    cubics[:, 1], cubics[:, 2] = a + (b - a) / 3, a + (b - a) * 2 / 3
    return Path(cubics)


def straight(points: Sequence[complex]) -> Path:
    """Make a path of straight segments through complex numbers x + iy, each different from the one before."""
    steps = [(a, a + (b - a) / 3, a + (b - a) * 2 / 3, b) for a, b in itertools.pairwise(points)]
    return made(np.array(steps).view(np.float64).reshape(-1, 4, 2))


def joined(paths: Sequence[Path]) -> Path:
    """Join paths end to start. Gaps are closed by moving the later start; the caller keeps them negligible."""
    return connected(np.concatenate([p.cubics for p in paths]))


def reversed_path(path: Path) -> Path:
    """Give the same curve run the other way."""
    return made(np.ascontiguousarray(path.cubics[::-1, ::-1]))


def with_ends(path: Path, start: Floats | None, end: Floats | None) -> Path:
    """Set the very ends of a path, shape (2,) each, where they are given; the path itself where they are so already."""
    first, last = path.cubics[0, 0], path.cubics[-1, 3]
    a = first if start is None else start
    b = last if end is None else end
    if a.tolist() == first.tolist() and b.tolist() == last.tolist():
        return path
    cubics = path.cubics.copy()
    cubics[0, 0], cubics[-1, 3] = a, b
    return made(cubics)


def transformed(path: Path, matrix: ArrayLike) -> Path:
    """Apply an affine map, shape (2, 3) or (3, 3), to every control point."""
    m = np.asarray(matrix, dtype=np.float64)
    return Path(path.cubics @ m[:2, :2].T + m[:2, 2])


def is_straight(path: Path) -> NDArray[np.bool_]:
    """Say for every segment whether it is a straight line run once, shape (n,)."""
    c = path.cubics
    chord = c[:, 3] - c[:, 0]
    size = np.linalg.norm(chord, axis=1)
    inner = c[:, 1:3] - c[:, :1]
    cross = np.abs(chord[:, None, 0] * inner[..., 1] - chord[:, None, 1] * inner[..., 0])
    along = np.einsum("nk,nik->ni", chord, inner)
    square = (size**2)[:, None]
    flat = (cross <= _STRAIGHT * np.maximum(square, 1e-300)).all(axis=1)
    inside = ((along >= -_STRAIGHT * square) & (along <= (1 + _STRAIGHT) * square)).all(axis=1)
    return np.asarray(flat & inside & (size > 0))


def point_at(path: Path, position: tuple[int, float]) -> complex:
    """One point, at (segment, t), as a complex number x + iy."""
    return curves.point(path.z[position[0]], position[1])


def points_at(path: Path, segment: ArrayLike, t: ArrayLike) -> Floats:
    """Evaluate at (segment index, t in 0..1) pairs of equal shape s; gives shape s + (2,)."""
    c = path.cubics[np.asarray(segment, dtype=np.intp)]
    return evaluate(c, np.asarray(t, dtype=np.float64))


def tangent(path: Path, segment: int, t: float) -> Floats:
    """Unit tangent, shape (2,); where the derivative vanishes, the direction of approach."""
    way = way_at(path, segment, t)
    return np.array((way.real, way.imag))


def way_at(path: Path, segment: int, t: float) -> complex:
    """Unit tangent as a complex number; where the derivative vanishes, the direction of approach."""
    a, b, c, d = path.z[segment].tolist()
    u = 1 - t
    slope = 3 * (u * u * (b - a) + 2 * u * t * (c - b) + t * t * (d - c))
    if abs(slope) <= 1e-9 * max(abs(b - a), abs(c - a), abs(d - a)):
        step = 1e-4 if t < 0.5 else -1e-4
        there, here = (curves.point(path.z[segment], at) for at in (t + step, t))
        slope = (there - here) * (1 if step > 0 else -1)
    return complex(slope / abs(slope))


def segment_lengths(path: Path) -> Floats:
    """Arc length of every segment, shape (n,), read-only; remembered of paths that are not long."""
    return _segment_lengths(path) if len(path) <= _REMEMBERED else _measured(path)


def _measured(path: Path) -> Floats:
    found = curves.lengths(path.cubics, np.zeros(len(path)), np.ones(len(path)))
    found.flags.writeable = False
    return found


_segment_lengths = lru_cache(maxsize=512)(_measured)


def length(path: Path) -> float:
    """Arc length of the whole path."""
    return float(segment_lengths(path).sum())


def _arc(cubic: Floats, a: float, b: float) -> float:
    return float(curves.lengths(cubic[None], np.array([a]), np.array([b]))[0])


def locate(path: Path, distance: float) -> tuple[int, float]:
    """Find (segment, t) at ``distance`` along the path from its start.

    Args:
        path: the path.
        distance: arc length, clamped to 0 .. length.

    Returns:
        Segment index and parameter, to 1e-10 of the segment's length.
    """
    lengths = segment_lengths(path)
    ends = np.cumsum(lengths)
    distance = min(max(distance, 0.0), float(ends[-1]))
    i = min(int(np.searchsorted(ends, distance, side="left")), len(lengths) - 1)
    target = distance - (ends[i] - lengths[i])
    cubic, size = path.cubics[i], lengths[i]
    lo, hi, t = 0.0, 1.0, target / size if size > 0 else 0.0
    for _ in range(60):
        miss = _arc(cubic, 0.0, t) - target if t > 0 else -target
        if abs(miss) <= 1e-10 * max(size, 1e-12):
            break
        lo, hi = (lo, t) if miss > 0 else (t, hi)
        speed = float(np.linalg.norm(derivative(cubic, np.float64(t))))
        step = t - miss / speed if speed > 0 else -1.0
        t = step if lo < step < hi else (lo + hi) / 2
    return i, float(t)


def distance_at(path: Path, segment: int, t: float) -> float:
    """Arc length from the start to (segment, t)."""
    whole = np.zeros(segment), np.ones(segment)
    before = float(curves.lengths(path.cubics[:segment], *whole).sum())
    return before + (_arc(path.cubics[segment], 0.0, t) if t > 0 else 0.0)


def point_at_distance(path: Path, distance: float) -> Floats:
    """Point at ``distance`` along the path, shape (2,)."""
    i, t = locate(path, distance)
    return evaluate(path.cubics[i], np.float64(t))


def sub_path(path: Path, a: tuple[int, float], b: tuple[int, float]) -> Path:
    """Give the exact part of the path from (segment, t) ``a`` to ``b``, with a before b."""
    if a == (0, 0.0) and b == (len(path) - 1, 1.0):
        return path
    (i, s), (j, t) = a, b
    if (i, s) >= (j, t):
        raise ValueError(f"expected a before b, got {a} and {b}")
    if i == j:
        return made(curves.part(path.cubics[i], s, t)[None])
    parts = []
    if s < 1:
        parts.append(curves.part(path.cubics[i], s, 1.0)[None])
    parts.append(path.cubics[i + 1 : j])
    if t > 0:
        parts.append(curves.part(path.cubics[j], 0.0, t)[None])
    return made(np.concatenate(parts))


def between(path: Path, from_distance: float, to_distance: float) -> Path:
    """Give the exact part of the path between two distances along it."""
    return sub_path(path, locate(path, from_distance), locate(path, to_distance))


@lru_cache(maxsize=256)  # which way round, and how large, is asked of one outline again and again
def signed_area(path: Path) -> float:
    """Area inside a closed path by Green's theorem on the cubics, exact; positive when counter-clockwise (y up).

    An open path is closed by its chord.
    """
    z = path.z - path.z[0, 0]
    p0, p1, p2, p3 = z.T
    parts = (6 * p1 + 3 * p2 + p3) * p0.conj() + 3 * (p2 + p3) * p1.conj() + 6 * p3 * p2.conj()
    return float(parts.imag.sum() / 20)


def bounds(path: Path) -> tuple[float, float, float, float]:
    """Exact bounding box (min x, min y, max x, max y) from the curves' extrema."""
    found = [path.cubics[:, 0], path.cubics[:, 3]]
    d = np.diff(path.cubics, axis=1)
    a, b, c = d[:, 0] - 2 * d[:, 1] + d[:, 2], d[:, 1] - d[:, 0], d[:, 0]  # the derivative is a t² + 2 b t + c
    q = -(b + np.copysign(np.sqrt(np.maximum(b * b - a * c, 0.0)), b))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for t in (q / a, c / q):  # the form that does not cancel; a root that is not there lands at a harmless t
            inside = np.where(np.isfinite(t), np.clip(t, 0.0, 1.0), 0.0)
            found += [evaluate(path.cubics, inside[:, axis]) for axis in (0, 1)]
    p = np.vstack(found)
    return float(p[:, 0].min()), float(p[:, 1].min()), float(p[:, 0].max()), float(p[:, 1].max())


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """A path as a polyline whose every vertex knows where it came from.

    Attributes:
        points: shape (m, 2).
        segment: index of the segment of each vertex, shape (m,).
        t: parameter of each vertex in its segment, shape (m,).
    """

    points: Floats
    segment: NDArray[np.intp]
    t: Floats


def flatten(path: Path, tolerance: float) -> Flat:
    """Flatten a path; no point of the curve is farther than ``tolerance`` from the polyline.

    The number of equal parameter steps of a segment follows Wang's bound: n² ≥ 6·max‖Δ²‖ / (8·tolerance)
    (Goldman, IBM J. Res. Dev. 1985, as used by most renderers; from memory). So a straight segment that is run evenly
    is one step, and one that is run unevenly may be several, all on it.
    """
    z = path.z
    bend = np.abs(z[:, 2:] - 2 * z[:, 1:-1] + z[:, :-2]).max(axis=1)
    steps = np.maximum(1.0, np.ceil(np.sqrt(0.75 / tolerance * bend))).astype(np.intp)
    counts = steps.copy()
    counts[-1] += 1  # the very end
    segment = np.arange(len(z)).repeat(counts)
    t = (np.arange(len(segment)) - (steps.cumsum() - steps)[segment]) / steps[segment]
    return Flat(curves.as_points(curves.values(z[segment], t)), segment, t)
