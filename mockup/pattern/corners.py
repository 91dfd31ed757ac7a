"""How two cut edges meet at a corner of the stitch line.

Every function takes the two runs that meet and gives a :class:`Join`: where the first parallel ends, what comes
between, and where the second begins. With exterior turn τ and allowances a, b the tangent lines of the parallels meet
(b − a cos τ)/sin τ beyond the first's end and (a − b cos τ)/sin τ before the second's start (derived). A negative
figure means that the parallel is shortened there. Points and directions are complex numbers x + iy.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np

from mockup.geometry import cubics as curves
from mockup.geometry import path as paths
from mockup.geometry.intersect import Position, intersections
from mockup.geometry.offset import ROUNDING
from mockup.geometry.path import Path
from mockup.pattern.piece import Corner, Edge, EdgeKind

MITRE_LIMIT = 2.5  # of the larger allowance: a mitre that reaches farther from the corner is bevelled
SMOOTH = 1e-3  # radians


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A stretch of one edge without corners.

    Attributes:
        edge: the edge that it belongs to.
        stitch: the stitch line.
        cut: its parallel, the edge's allowance to the outside.
        first: whether it is the first run of its edge.
    """

    edge: Edge
    stitch: Path
    cut: Path
    first: bool

    @property
    def allowance(self) -> float:
        """Allowance in mm."""
        return 0.0 if self.edge.kind is EdgeKind.FOLD else self.edge.allowance_mm

    @property
    def last(self) -> complex:
        """Last point of the parallel."""
        return self.cut.ends[1]

    @property
    def begin(self) -> complex:
        """First point of the parallel."""
        return self.cut.ends[0]


@dataclass(frozen=True, slots=True, eq=False)
class Join:
    """How one corner is closed.

    Attributes:
        a_end: position on the first parallel where it ends, or None for its own end.
        middle: the path from there to ``b_start``; None when the two parallels meet.
        b_start: position on the second parallel where it begins, or None for its own start.
        note: a sentence where the corner was not made as asked.
    """

    a_end: Position | None = None
    middle: Path | None = None
    b_start: Position | None = None
    note: str = ""


def join(a: Run, b: Run, limit: float = MITRE_LIMIT) -> Join:
    """Close the corner between two consecutive runs, as the edge that starts there asks."""
    wa, wb = a.allowance, b.allowance
    if wa == wb == 0:
        return Join()
    ta, tb = paths.way_at(a.stitch, len(a.stitch) - 1, 1.0), paths.way_at(b.stitch, 0, 0.0)
    angle = cmath.phase(tb * ta.conjugate())
    if abs(angle) < SMOOTH:
        # Nearer than rounding the parallels are one; a segment between them might run backwards.
        if abs(b.begin - a.last) <= ROUNDING:
            return Join()
        if angle > 0 or wa != wb:
            return Join(middle=_line(a.last, b.begin))
    if angle < 0:
        return _concave(a, b, angle)
    # At the fold the allowance must be clipped on the fold's own line, however sharp the corner.
    at_fold = EdgeKind.FOLD in (a.edge.kind, b.edge.kind)
    shape = b.edge.corner if b.first and not at_fold else Corner.MITRE
    if shape is Corner.BEVEL:
        return Join(middle=_line(a.last, b.begin))
    if shape is Corner.SQUARED:
        return _squared(a, b, ta, tb, angle)
    if shape is Corner.MIRRORED:
        return _mirrored(a, b, ta, tb, angle)
    return _mitre(a, b, ta, tb, angle, math.inf if at_fold else limit)


def _mitre(a: Run, b: Run, ta: complex, tb: complex, angle: float, limit: float) -> Join:
    wa, wb = a.allowance, b.allowance
    ext_a = (wb - wa * math.cos(angle)) / math.sin(angle)
    ext_b = (wa - wb * math.cos(angle)) / math.sin(angle)
    last, begin = a.last, b.begin
    tip = last + ext_a * ta
    reach = abs(tip - a.stitch.ends[1])
    if reach > limit * max(wa, wb) * (1 + 1e-9):
        note = f"The corner between {a.edge.name} and {b.edge.name} is too sharp for a mitre and is cut off."
        return Join(middle=_line(last, begin), note=note)
    if ext_a >= 0 and ext_b >= 0:
        return Join(middle=_line(last, tip, begin))
    if ext_b < 0:
        b_start = shortened(b.cut, -ext_b, at_end=False)
        if b_start is None:
            b_start = _crossing(last, last + ta * max(2 * reach, 1.0), b.cut, first=True)
        if b_start is not None:
            return Join(middle=_line(last, paths.point_at(b.cut, b_start)), b_start=b_start)
    else:
        a_end = shortened(a.cut, -ext_a, at_end=True)
        if a_end is None:
            a_end = _crossing(begin, begin - tb * max(2 * reach, 1.0), a.cut, first=False)
        if a_end is not None:
            return Join(a_end, _line(paths.point_at(a.cut, a_end), begin))
    return Join(middle=_line(last, begin))


def _concave(a: Run, b: Run, angle: float) -> Join:
    """Let two parallels that run into each other end where they cross; unequal ones may leave a step instead."""
    wa, wb = a.allowance, b.allowance
    back_a = -(wb - wa * math.cos(angle)) / math.sin(angle)
    back_b = -(wa - wb * math.cos(angle)) / math.sin(angle)
    if back_a >= 0 and back_b >= 0:
        a_end, b_start = shortened(a.cut, back_a, at_end=True), shortened(b.cut, back_b, at_end=False)
        if a_end is not None and b_start is not None:
            return Join(a_end, None, b_start)
    corner, last, begin = a.stitch.ends[1], a.last, b.begin
    found = intersections(a.cut, b.cut)
    if found:
        best = min(found, key=lambda f: abs(paths.point_at(a.cut, f[0]) - corner))
        return Join(best[0], None, best[1])
    # The wider allowance ends square at the corner, and the narrower runs up to that end.
    if wb > wa:
        met = intersections(a.cut, paths.straight([corner, begin]))
        if met:
            return Join(met[-1][0], _line(paths.point_at(a.cut, met[-1][0]), begin))
    elif wa > wb:
        met = intersections(b.cut, paths.straight([last, b.stitch.ends[0]]))
        if met:
            return Join(None, _line(last, paths.point_at(b.cut, met[0][0])), met[0][0])
    return Join(middle=_line(last, corner, begin))


def _squared(a: Run, b: Run, ta: complex, tb: complex, angle: float) -> Join:
    """End the seam's allowance square to its stitch line, where that line, run on, meets the neighbour's cut edge.

    So the allowances lie on each other when the seam is pressed open. The seam is the one a style line made, else the
    second.
    """
    if a.edge.line_id and not b.edge.line_id:
        there = _squared(_backwards(b), _backwards(a), -tb, -ta, angle)
        middle = paths.reversed_path(there.middle) if there.middle else None
        return Join(_flip(there.b_start, a.cut), middle, _flip(there.a_end, b.cut), there.note)
    met = _meets_stitch(a, b, tb, angle)
    if met is None:
        return _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
    a_end, q = met
    r = q + _outside(b, tb) * b.allowance
    if abs(r - a.stitch.ends[1]) > MITRE_LIMIT * max(a.allowance, b.allowance) * (1 + 1e-9):
        return _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
    start = paths.point_at(a.cut, a_end) if a_end else a.last
    return Join(a_end, _line(start, q, r, b.begin))


def _mirrored(a: Run, b: Run, ta: complex, tb: complex, angle: float) -> Join:
    """Give an allowance ends that are the mirror image of what it is folded onto, so that it lies there exactly.

    Folded is the hem, where one of the two is; else a style line's seam that is pressed open; else the second edge.
    """
    hems = a.edge.kind is EdgeKind.HEM, b.edge.kind is EdgeKind.HEM
    if hems == (True, False) or (hems == (False, False) and a.edge.line_id and not b.edge.line_id):
        there = _mirrored(_backwards(b), _backwards(a), -tb, -ta, angle)
        middle = paths.reversed_path(there.middle) if there.middle else None
        return Join(_flip(there.b_start, a.cut), middle, _flip(there.a_end, b.cut), there.note)
    met = _meets_stitch(a, b, tb, angle)
    depth = b.allowance
    if met is None or depth == 0:
        return _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
    a_end, q = met
    upper = paths.sub_path(a.cut, (0, 0.0), a_end) if a_end else a.cut
    if a_end is None and abs(q - a.last) > 1e-12:
        upper = paths.joined([upper, paths.straight([a.last, q])])
    # Reflected about the hem line through the corner, and run outwards from q.
    way, at = np.array([tb.real, tb.imag]), np.array([q.real, q.imag])
    flip = 2 * np.outer(way, way) - np.eye(2)
    below = paths.reversed_path(paths.transformed(upper, np.c_[flip, at - flip @ at]))
    lower = paths.joined([paths.straight([b.begin - tb * 20 * depth, b.begin]), b.cut])
    found = intersections(below, lower)
    if not found:
        plain = _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
        note = f"The allowance of {b.edge.name} is deeper than {a.edge.name} is long, so its corner is not mirrored."
        return Join(plain.a_end, plain.middle, plain.b_start, note)
    on_below, on_lower = found[0]
    tail = paths.sub_path(below, (0, 0.0), on_below)
    parts = [tail]
    start = paths.point_at(a.cut, a_end) if a_end else a.last
    if abs(q - start) > 1e-12:
        parts.insert(0, paths.straight([start, q]))
    if on_lower[0] == 0:
        if abs(tail.ends[1] - b.begin) > 1e-12:
            parts.append(paths.straight([tail.ends[1], b.begin]))
        return Join(a_end, paths.joined(parts))
    return Join(a_end, paths.joined(parts), (on_lower[0] - 1, on_lower[1]))


def _meets_stitch(a: Run, b: Run, tb: complex, angle: float) -> tuple[Position | None, complex] | None:
    """Where the first's cut edge meets the second's stitch line, run on backwards past the corner."""
    corner = a.stitch.ends[1]
    beyond = a.allowance / math.sin(angle)
    along = -a.allowance / math.tan(angle)
    q = corner - tb * beyond
    if along >= -1e-12:
        return None, q
    a_end = shortened(a.cut, -along, at_end=True)
    if a_end is None:
        a_end = _crossing(corner, corner - tb * 4 * beyond, a.cut, first=False)
        if a_end is None:
            return None
    return a_end, paths.point_at(a.cut, a_end)


def _outside(run: Run, tangent: complex) -> complex:
    """Unit normal at the start of a run towards its cut edge (the run may be one that was turned round)."""
    normal = -1j * tangent
    return normal if ((run.begin - run.stitch.ends[0]) * normal.conjugate()).real >= 0 else -normal


def _backwards(run: Run) -> Run:
    return Run(run.edge, paths.reversed_path(run.stitch), paths.reversed_path(run.cut), run.first)


def _flip(position: Position | None, path: Path) -> Position | None:
    return None if position is None else (len(path) - 1 - position[0], 1 - position[1])


def shortened(path: Path, by: float, *, at_end: bool) -> Position | None:
    """Position ``by`` from an end, where the path is straight there; None where it is not, or too short."""
    k = len(path) - 1 if at_end else 0
    p, q, r, s = path.z[k].tolist()
    chord = abs(s - p)
    bend = max(abs(r - 2 * q + p), abs(s - 2 * r + q))
    if bend > 1e-9 * max(chord, 1e-9) or by > chord * (1 - 1e-12):
        return None
    return k, 1 - by / chord if at_end else by / chord


def _crossing(start: complex, end: complex, path: Path, *, first: bool) -> Position | None:
    """First or last place of a path that a straight ray meets: roots of the cubic's distance from the ray's line."""
    way = end - start
    on_ray = (path.z - start) / way  # the ray runs from 0 to 1
    across = on_ray.imag * abs(way)
    near = np.flatnonzero((across.min(axis=1) <= 1e-9) & (across.max(axis=1) >= -1e-9)).tolist()
    for k in near if first else reversed(near):
        p0, p1, p2, p3 = across[k].tolist()
        for t in sorted(curves.roots(p0, p1, p2, p3), reverse=not first):
            if -1e-9 <= ((paths.point_at(path, (k, t)) - start) / way).real <= 1 + 1e-9:
                return k, t
    return None


def _line(*points: complex) -> Path | None:
    kept = [points[0]]
    for p in points[1:]:
        if abs(p - kept[-1]) > 1e-12:
            kept.append(p)
    return paths.straight(kept) if len(kept) > 1 else None
