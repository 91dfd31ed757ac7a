"""Where curves cross: exact to rounding, found by flattening and polished by Newton's method.

Both paths are flattened with their parameters kept; an R-tree finds the chords that come near each other; from each
such pair Newton's method solves a(s) = b(t) on the curves themselves. So a crossing is good to about 1e-13 of the
paths' size wherever the curves really cross, and to about 1e-7 where they only touch.

Positions along a path are pairs (segment, t). A crossing at the joint of two segments is given as the start of the
later one, and on a closed path the very end is given as (0, 0.0), so that one place has one name.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from mockup.geometry import cubics as curves
from mockup.geometry import path as paths
from mockup.geometry.cubics import Complexes, as_complex, complex_of, horner, powers, slope, values
from mockup.geometry.path import Flat, Floats, Path
from mockup.geometry.ruler import flat_of

Position = tuple[int, float]
Crossing = tuple[Position, Position]

_COARSE = 2e-4  # of the size: flattening for the search; the answer does not depend on it
_SAME = 1e-7  # of the size: two roots nearer than this, with parameters as near, are one
_REACHED = 1e-10  # of the size: a residual below this is a root
_BEYOND = 1e-9  # a parameter this far outside 0..1 still counts as the end
_FEW_PAIRS = 20_000  # of chords: so many are held against each other sooner than a tree is planted
_FIRST_ROUNDS, _MORE_ROUNDS = 10, 50  # crossings take five or six; only slow touches go on
_PROMISING = 1e-5  # of the size: what a slow root's residual is at most after the first rounds


def intersections(a: Path, b: Path) -> list[Crossing]:
    """Find every place where two paths meet, crossings and touches alike.

    Stretches along which the paths coincide have no single place; use :func:`shared_length` to find those first.

    Args:
        a: first path.
        b: second path.

    Returns:
        Pairs ((segment, t) on ``a``, (segment, t) on ``b``), sorted along ``a``.
    """
    return list(_intersections(a, b))


@lru_cache(maxsize=64)  # a cut asks for the same line and outline when it snaps, breaks and checks
def _intersections(a: Path, b: Path) -> tuple[Crossing, ...]:
    """As :func:`intersections`, remembered."""
    size = _size(a, b)
    flat_a, flat_b = flat_of(a, _COARSE * size), flat_of(b, _COARSE * size)
    i, j = _near_chords(flat_a, flat_b, 2 * _COARSE * size)
    sa, ta, sb, tb = _solve(a, b, flat_a, flat_b, i, j, size)
    # An end that lies on the other path is a meeting whatever the angle, and Newton's method may slide off it.
    ends = [(p, q) for p, q in _ends_on(a, b, size)] + [(q, p) for p, q in _ends_on(b, a, size)]
    if ends:
        sa, ta = np.r_[sa, [p[0] for p, _ in ends]].astype(np.intp), np.r_[ta, [p[1] for p, _ in ends]]
        sb, tb = np.r_[sb, [q[0] for _, q in ends]].astype(np.intp), np.r_[tb, [q[1] for _, q in ends]]
    return tuple(_unique(a, b, sa, ta, sb, tb, size))


def self_intersections(path: Path) -> list[Crossing]:
    """Find every place where a path meets itself, joints of consecutive segments and the closing point left out.

    Returns:
        Pairs of (segment, t), the earlier first, sorted.
    """
    size = _size(path, path)
    flat = flat_of(path, _COARSE * size)
    i, j = _near_chords(flat, flat, 2 * _COARSE * size)
    keep = j > i + 1
    if path.closed:
        keep &= (j - i) < len(flat.points) - 2
    sa, ta, sb, tb = _solve(path, path, flat, flat, i[keep], j[keep], size)
    apart = np.abs((sb + tb) - (sa + ta))
    if path.closed:
        apart = np.minimum(apart, len(path) - apart)
    # A root that slid to the joint between neighbours, or onto itself, is no crossing.
    way = np.abs(apart) > 1e-4
    found = _unique(path, path, sa[way], ta[way], sb[way], tb[way], size)
    return sorted({(p, q) if p <= q else (q, p) for p, q in found if p != q})


def shared_length(a: Path, b: Path, tolerance: float) -> float:
    """Length of the part of ``a`` that runs within ``tolerance`` of ``b``; long when they lie along each other."""
    line = shapely.LineString(flat_of(a, tolerance / 2).points)
    band = shapely.buffer(shapely.LineString(flat_of(b, tolerance / 2).points), tolerance, quad_segs=4)
    return float(shapely.length(shapely.intersection(line, band)))


def shared_at_most(a: Path, b: Path, tolerance: float) -> float:
    """More than :func:`shared_length`, in less time: what of ``a`` is near ``b`` by the angles at which they meet."""
    flat_a, flat_b = flat_of(a, tolerance), flat_of(b, tolerance)
    reach = 3 * tolerance  # of the chords: the tolerance asked for, and that of either flattening
    i, j = _near_chords(flat_a, flat_b, reach)
    za, zb = as_complex(flat_a.points), as_complex(flat_b.points)
    u, v = za[i + 1] - za[i], zb[j + 1] - zb[j]
    sizes, cross = np.abs(u), np.abs((u.conj() * v).imag)
    sine = cross / np.maximum(sizes * np.abs(v), 1e-300)
    return float(np.minimum(sizes, 2 * reach / np.maximum(sine, 1e-300)).sum())


def nearest_position(path: Path, point: Floats, tolerance: float) -> tuple[Position, float]:
    """Find the place of a path nearest to a point, and its distance; good to rounding where the curve is smooth."""
    flat = flat_of(path, tolerance)
    at = complex_of(point)
    starts = as_complex(flat.points)
    chords = starts[1:] - starts[:-1]
    shares = ((at - starts[:-1]) * chords.conj()).real / np.maximum(np.abs(chords) ** 2, 1e-300)
    shares = np.minimum(np.maximum(shares, 0.0), 1.0)
    gaps = np.abs(starts[:-1] + shares * chords - at)
    k = int(np.argmin(gaps))
    i, t0 = int(flat.segment[k]), float(flat.t[k])
    t1 = float(flat.t[k + 1]) if flat.segment[k + 1] == i else 1.0
    guess = t0 + float(shares[k]) * (t1 - t0)
    t, found = _foot(path.z[i].tolist(), at, guess)
    if found > float(gaps[k]) + 2 * tolerance:  # Newton left the basin: the chord's own answer is right to that.
        t, found = guess, abs(curves.point(path.z[i], guess) - at)
    return (i, t), found


def _foot(cubic: list[complex], at: complex, t: float) -> tuple[float, float]:
    """Newton's method for the place of a cubic nearest to a point; gives the parameter and the distance."""
    a, b, c, d = cubic
    p, q, r = 3 * (b - a), 3 * (c - 2 * b + a), d - 3 * (c - b) - a
    for _ in range(12):
        away, way = ((r * t + q) * t + p) * t + a - at, (3 * r * t + 2 * q) * t + p
        bend = abs(way) ** 2 + (away.conjugate() * (6 * r * t + 2 * q)).real
        step = (away.conjugate() * way).real / bend if bend > 0 else 0.0
        t = min(max(t - step, 0.0), 1.0)
        if abs(step) < 1e-15:
            break
    return t, abs(((r * t + q) * t + p) * t + a - at)


def boxes_meet(a: Sequence[float], b: Sequence[float], reach: float) -> bool:
    """Whether two boxes, each (min x, min y, max x, max y), come as near as that to each other."""
    return a[0] <= b[2] + reach and b[0] <= a[2] + reach and a[1] <= b[3] + reach and b[1] <= a[3] + reach


@lru_cache(maxsize=256)  # whoever asks for two paths' meeting asks for their boxes first
def hull_box(path: Path) -> tuple[float, float, float, float]:
    """A box (min x, min y, max x, max y) round the control points: quick, and never smaller than the path."""
    z = path.z
    return float(z.real.min()), float(z.imag.min()), float(z.real.max()), float(z.imag.max())


def _ends_on(a: Path, b: Path, size: float) -> list[Crossing]:
    """Ends of ``a`` that lie on ``b``."""
    if a.closed:
        return []
    x0, y0, x1, y1 = hull_box(b)
    reach, found = 10 * _REACHED * size, []
    for position, at in (((0, 0.0), a.start), ((len(a) - 1, 1.0), a.end)):
        if x0 - reach <= at[0] <= x1 + reach and y0 - reach <= at[1] <= y1 + reach:
            on_b, gap = nearest_position(b, at, _COARSE * size)
            if gap <= reach:
                found.append((position, on_b))
    return found


def _size(a: Path, b: Path) -> float:
    ax, ay, cx, cy = hull_box(a)
    bx, by, dx, dy = hull_box(b)
    return max(max(cx, dx) - min(ax, bx), max(cy, dy) - min(ay, by), 1e-12)


def _near_chords(a: Flat, b: Flat, reach: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of chords whose boxes come as near as that to each other."""
    if (len(a.points) - 1) * (len(b.points) - 1) <= _FEW_PAIRS:
        ax, ay, cx, cy = (side[:, None] for side in _chord_boxes(a, reach))
        bx, by, dx, dy = _chord_boxes(b)
        near = (ax <= dx) & (bx <= cx) & (ay <= dy) & (by <= cy)
        return np.divmod(near.ravel().nonzero()[0], len(bx))
    chords_a = shapely.linestrings(np.stack([a.points[:-1], a.points[1:]], axis=1))
    chords_b = shapely.linestrings(np.stack([b.points[:-1], b.points[1:]], axis=1))
    pairs = STRtree(chords_b).query(chords_a, predicate="dwithin", distance=reach)
    return pairs[0].astype(np.intp), pairs[1].astype(np.intp)


def _chord_boxes(flat: Flat, reach: float = 0.0) -> tuple[Floats, Floats, Floats, Floats]:
    """Least x and y, greatest x and y of every chord, shape (n,) each, grown by ``reach``."""
    a, b = flat.points[:-1], flat.points[1:]
    low, high = np.minimum(a, b) - reach, np.maximum(a, b) + reach
    return low[:, 0], low[:, 1], high[:, 0], high[:, 1]


def _ends(flat: Flat, chord: NDArray[np.intp]) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Segment of each chord, with its first and last parameter there."""
    segment = flat.segment[chord]
    last = flat.t[chord + 1]
    return segment, flat.t[chord], np.where(flat.segment[chord + 1] == segment, last, 1.0)


def _solve(
    a: Path, b: Path, flat_a: Flat, flat_b: Flat, i: NDArray[np.intp], j: NDArray[np.intp], size: float
) -> tuple[NDArray[np.intp], Floats, NDArray[np.intp], Floats]:
    """Polish each pair of near chords to a root; pairs without one fall away."""
    sa, a0, a1 = _ends(flat_a, i)
    sb, b0, b1 = _ends(flat_b, j)
    if not len(i):
        return sa, a0, sb, b0
    # From the chords' middles and from both ends: two crossings close together are then both found.
    share = (0.5, 0.0, 1.0)
    s = np.concatenate([a0 + (a1 - a0) * k for k in share for _ in share])
    t = np.concatenate([b0 + (b1 - b0) * k for _ in share for k in share])
    sa, sb = np.tile(sa, 9), np.tile(sb, 9)
    ca, cb = a.z[sa], b.z[sb]
    pa, pb = powers(ca), powers(cb)
    s, t = _newton(pa, pb, s, t, _FIRST_ROUNDS)
    miss = np.abs(horner(pa, s) - horner(pb, t))
    slow = (miss > 1e-14 * size) & (miss < _PROMISING * size)
    if slow.any():
        s[slow], t[slow] = _newton(pa[:, slow], pb[:, slow], s[slow], t[slow], _MORE_ROUNDS)
    s, t = _to_end(s), _to_end(t)
    miss = np.abs(values(ca, s) - values(cb, t))
    good = (miss <= _REACHED * size) & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    return sa[good], s[good], sb[good], t[good]


def _newton(pa: Complexes, pb: Complexes, s: Floats, t: Floats, rounds: int) -> tuple[Floats, Floats]:
    """Newton's method on a(s) = b(t) for many pairs; where they are parallel, the shortest least-squares step."""
    for _ in range(rounds):
        miss = horner(pb, t) - horner(pa, s)
        u, v = slope(pa, s), -slope(pb, t)
        along = u.conj()
        det, uu, vv = (along * v).imag, np.abs(u) ** 2, np.abs(v) ** 2
        parallel = np.abs(det) <= 1e-9 * np.sqrt(uu * vv)
        ds, dt = (miss.conj() * v).imag, (along * miss).imag
        if parallel.any():
            whole = np.maximum(uu + vv, 1e-300)
            det = np.where(parallel, whole, det)
            ds = np.where(parallel, (along * miss).real, ds)
            dt = np.where(parallel, (v.conj() * miss).real, dt)
        ds, dt = ds / det, dt / det
        s, t = np.minimum(np.maximum(s + ds, -0.05), 1.05), np.minimum(np.maximum(t + dt, -0.05), 1.05)
        if max(np.abs(ds).max(), np.abs(dt).max()) <= 1e-15:
            break
    return s, t


def _to_end(t: Floats) -> Floats:
    """Put a parameter that misses an end by rounding onto it."""
    t = np.where(np.abs(t) <= _BEYOND, 0.0, t)
    return np.where(np.abs(t - 1) <= _BEYOND, 1.0, t)


def _unique(
    a: Path, b: Path, sa: NDArray[np.intp], ta: Floats, sb: NDArray[np.intp], tb: Floats, size: float
) -> list[Crossing]:
    """Name every root once, sorted along ``a``; of roots along one contact, an end is kept before others."""
    (sa, ta), (sb, tb) = _named(a, sa, ta), _named(b, sb, tb)
    points = values(a.z[sa], ta)
    at_end = (sa + ta == 0) | (sa + ta == len(a)) | (sb + tb == 0) | (sb + tb == len(b))
    close = (_gaps(a, sa + ta) < 0.05) & (_gaps(b, sb + tb) < 0.05)
    apart = np.abs(points[:, None] - points)
    same = close & (apart <= _SAME * size)
    maybe = close & ~same & (apart <= 2e-3 * size) & (sa[:, None] == sa) & (sb[:, None] == sb)
    kept: list[int] = []
    for k in np.lexsort((sb + tb, sa + ta)):
        for n, m in reversed(list(enumerate(kept))):
            one = bool(same[k, m])
            if maybe[k, m]:
                middle = float(ta[k] + ta[m]) / 2, float(tb[k] + tb[m]) / 2
                one = _in_contact(a.cubics[sa[k]], b.cubics[sb[k]], *middle, size)
            if one:
                if at_end[k] and not at_end[m]:
                    kept[n] = int(k)
                break
        else:
            kept.append(int(k))
    return [((int(sa[k]), float(ta[k])), (int(sb[k]), float(tb[k]))) for k in kept]


def _in_contact(ca: Floats, cb: Floats, s: float, t: float, size: float) -> bool:
    """Whether two curves are still one, to ten roots' precision, between two roots found: a contact of higher order."""
    miss = paths.evaluate(cb, np.float64(t)) - paths.evaluate(ca, np.float64(s))
    way = paths.derivative(ca, np.float64(s))
    return abs(float(way[0] * miss[1] - way[1] * miss[0])) <= 10 * _REACHED * size * float(np.linalg.norm(way))


def _named(path: Path, segment: NDArray[np.intp], t: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Name a joint as the start of the later segment, and a closed path's end as its start."""
    over = t == 1
    if not over.any():
        return segment, t
    over &= (segment + 1 < len(path)) | path.closed
    return np.where(over, (segment + 1) % len(path), segment), np.where(over, 0.0, t)


def _gaps(path: Path, places: Floats) -> Floats:
    """How far places lie from each other along a path, counted in segments, shape (n, n)."""
    gaps = np.abs(places[:, None] - places)
    return np.minimum(gaps, len(path) - gaps) if path.closed else gaps
