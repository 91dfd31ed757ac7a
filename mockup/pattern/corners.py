"""How two cut edges meet at a corner of the stitch line.

Every function takes the two runs that meet and gives a :class:`Join`: where the first parallel ends, what comes
between, and where the second begins. With exterior turn τ and allowances a, b the tangent lines of the parallels meet
(b − a cos τ)/sin τ beyond the first's end and (a − b cos τ)/sin τ before the second's start (derived). A negative
figure means that the parallel is shortened there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.intersect import Position, intersections
from mockup.geometry.offset import ROUNDING, right_normal, turn
from mockup.geometry.path import Floats, Path
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
    ta, tb = paths.tangent(a.stitch, len(a.stitch) - 1, 1.0), paths.tangent(b.stitch, 0, 0.0)
    angle = float(turn(ta, tb))
    wa, wb = a.allowance, b.allowance
    if wa == wb == 0:
        return Join()
    if abs(angle) < SMOOTH:
        # Nearer than rounding the parallels are one; a segment between them might run backwards.
        near = float(np.linalg.norm(b.cut.start - a.cut.end)) <= ROUNDING
        if near:
            return Join()
        if angle > 0 or wa != wb:
            return Join(middle=_line(a.cut.end, b.cut.start))
    if angle < 0:
        return _concave(a, b, ta, tb, angle)
    # At the fold the allowance must be clipped on the fold's own line, however sharp the corner.
    at_fold = EdgeKind.FOLD in (a.edge.kind, b.edge.kind)
    shape = b.edge.corner if b.first and not at_fold else Corner.MITRE
    if shape is Corner.BEVEL:
        return Join(middle=_line(a.cut.end, b.cut.start))
    if shape is Corner.SQUARED:
        return _squared(a, b, ta, tb, angle)
    if shape is Corner.MIRRORED:
        return _mirrored(a, b, ta, tb, angle)
    return _mitre(a, b, ta, tb, angle, np.inf if at_fold else limit)


def _mitre(a: Run, b: Run, ta: Floats, tb: Floats, angle: float, limit: float) -> Join:
    wa, wb = a.allowance, b.allowance
    ext_a = (wb - wa * np.cos(angle)) / np.sin(angle)
    ext_b = (wa - wb * np.cos(angle)) / np.sin(angle)
    tip = a.cut.end + ext_a * ta
    reach = float(np.linalg.norm(tip - a.stitch.end))
    if reach > limit * max(wa, wb) * (1 + 1e-9):
        note = f"The corner between {a.edge.name} and {b.edge.name} is too sharp for a mitre and is cut off."
        return Join(middle=_line(a.cut.end, b.cut.start), note=note)
    if ext_a >= 0 and ext_b >= 0:
        return Join(middle=_line(a.cut.end, tip, b.cut.start))
    if ext_b < 0:
        b_start = shortened(b.cut, -ext_b, at_end=False)
        if b_start is None:
            ray = paths.polyline([a.cut.end, a.cut.end + ta * max(2 * reach, 1.0)])
            b_start = _crossing(ray, b.cut, first=True)
        if b_start is not None:
            return Join(middle=_line(a.cut.end, paths.points_at(b.cut, *b_start)), b_start=b_start)
    else:
        a_end = shortened(a.cut, -ext_a, at_end=True)
        if a_end is None:
            ray = paths.polyline([b.cut.start, b.cut.start - tb * max(2 * reach, 1.0)])
            a_end = _crossing(ray, a.cut, first=False)
        if a_end is not None:
            return Join(a_end, _line(paths.points_at(a.cut, *a_end), b.cut.start))
    return Join(middle=_line(a.cut.end, b.cut.start))


def _concave(a: Run, b: Run, ta: Floats, tb: Floats, angle: float) -> Join:
    """Let two parallels that run into each other end where they cross; unequal ones may leave a step instead."""
    wa, wb = a.allowance, b.allowance
    back_a = -(wb - wa * np.cos(angle)) / np.sin(angle)
    back_b = -(wa - wb * np.cos(angle)) / np.sin(angle)
    if back_a >= 0 and back_b >= 0:
        a_end, b_start = shortened(a.cut, back_a, at_end=True), shortened(b.cut, back_b, at_end=False)
        if a_end is not None and b_start is not None:
            return Join(a_end, None, b_start)
    found = intersections(a.cut, b.cut)
    if found:
        corner = a.stitch.end
        best = min(found, key=lambda f: float(np.linalg.norm(paths.points_at(a.cut, *f[0]) - corner)))
        return Join(best[0], None, best[1])
    # The wider allowance ends square at the corner, and the narrower runs up to that end.
    if wb > wa:
        met = intersections(a.cut, paths.polyline([a.stitch.end, b.cut.start]))
        if met:
            return Join(met[-1][0], _line(paths.points_at(a.cut, *met[-1][0]), b.cut.start))
    elif wa > wb:
        met = intersections(b.cut, paths.polyline([a.cut.end, b.stitch.start]))
        if met:
            return Join(None, _line(a.cut.end, paths.points_at(b.cut, *met[0][0])), met[0][0])
    return Join(middle=_line(a.cut.end, a.stitch.end, b.cut.start))


def _squared(a: Run, b: Run, ta: Floats, tb: Floats, angle: float) -> Join:
    """End the seam's allowance square to its stitch line, where that line, run on, meets the neighbour's cut edge.

    So the allowances lie on each other when the seam is pressed open. The seam is the one a style line made, else the
    second.
    """
    if a.edge.line_id and not b.edge.line_id:
        there = _squared(_backwards(b), _backwards(a), -tb, -ta, angle)
        middle = paths.reversed_path(there.middle) if there.middle else None
        return Join(_flip(there.b_start, a.cut), middle, _flip(there.a_end, b.cut), there.note)
    met = _meets_stitch(a, b, ta, tb, angle)
    if met is None:
        return _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
    a_end, q = met
    r = q + _outside(b, tb) * b.allowance
    if np.linalg.norm(r - a.stitch.end) > MITRE_LIMIT * max(a.allowance, b.allowance) * (1 + 1e-9):
        return _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
    start = paths.points_at(a.cut, *a_end) if a_end else a.cut.end
    return Join(a_end, _line(start, q, r, b.cut.start))


def _mirrored(a: Run, b: Run, ta: Floats, tb: Floats, angle: float) -> Join:
    """Give an allowance ends that are the mirror image of what it is folded onto, so that it lies there exactly.

    Folded is the hem, where one of the two is; else a style line's seam that is pressed open; else the second edge.
    """
    hems = a.edge.kind is EdgeKind.HEM, b.edge.kind is EdgeKind.HEM
    if hems == (True, False) or (hems == (False, False) and a.edge.line_id and not b.edge.line_id):
        there = _mirrored(_backwards(b), _backwards(a), -tb, -ta, angle)
        middle = paths.reversed_path(there.middle) if there.middle else None
        return Join(_flip(there.b_start, a.cut), middle, _flip(there.a_end, b.cut), there.note)
    met = _meets_stitch(a, b, ta, tb, angle)
    depth = b.allowance
    if met is None or depth == 0:
        return _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
    a_end, q = met
    upper = paths.sub_path(a.cut, (0, 0.0), a_end) if a_end else a.cut
    if a_end is None and np.linalg.norm(q - a.cut.end) > 1e-12:
        upper = paths.joined([upper, paths.polyline([a.cut.end, q])])
    # Reflected about the hem line through the corner, and run outwards from q.
    flip = 2 * np.outer(tb, tb) - np.eye(2)
    below = paths.reversed_path(paths.transformed(upper, np.c_[flip, q - flip @ q]))
    ray = paths.polyline([b.cut.start - tb * 20 * depth, b.cut.start])
    lower = paths.joined([ray, b.cut])
    found = intersections(below, lower)
    if not found:
        plain = _mitre(a, b, ta, tb, angle, MITRE_LIMIT)
        note = f"The allowance of {b.edge.name} is deeper than {a.edge.name} is long, so its corner is not mirrored."
        return Join(plain.a_end, plain.middle, plain.b_start, note)
    on_below, on_lower = found[0]
    tail = paths.sub_path(below, (0, 0.0), on_below)
    parts = [tail]
    start = paths.points_at(a.cut, *a_end) if a_end else a.cut.end
    if np.linalg.norm(q - start) > 1e-12:
        parts.insert(0, paths.polyline([start, q]))
    if on_lower[0] == 0:
        if np.linalg.norm(tail.end - b.cut.start) > 1e-12:
            parts.append(paths.polyline([tail.end, b.cut.start]))
        return Join(a_end, paths.joined(parts))
    return Join(a_end, paths.joined(parts), (on_lower[0] - 1, on_lower[1]))


def _meets_stitch(a: Run, b: Run, ta: Floats, tb: Floats, angle: float) -> tuple[Position | None, Floats] | None:
    """Where the first's cut edge meets the second's stitch line, run on backwards past the corner."""
    corner = a.stitch.end
    beyond = a.allowance / np.sin(angle)
    along = -a.allowance / np.tan(angle)
    q = corner - tb * beyond
    if along >= -1e-12:
        return None, q
    a_end = shortened(a.cut, -along, at_end=True)
    if a_end is None:
        a_end = _crossing(paths.polyline([corner, corner - tb * 4 * beyond]), a.cut, first=False)
        if a_end is None:
            return None
    return a_end, paths.points_at(a.cut, *a_end)


def _outside(run: Run, tangent: Floats) -> Floats:
    """Unit normal at the start of a run towards its cut edge (the run may be one that was turned round)."""
    normal = right_normal(tangent)
    return normal if (run.cut.start - run.stitch.start) @ normal >= 0 else -normal


def _backwards(run: Run) -> Run:
    return Run(run.edge, paths.reversed_path(run.stitch), paths.reversed_path(run.cut), run.first)


def _flip(position: Position | None, path: Path) -> Position | None:
    return None if position is None else (len(path) - 1 - position[0], 1 - position[1])


def shortened(path: Path, by: float, *, at_end: bool) -> Position | None:
    """Position ``by`` from an end, where the path is straight there; None where it is not, or too short."""
    k = len(path) - 1 if at_end else 0
    one = Path(path.cubics[k : k + 1])
    chord = float(np.linalg.norm(one.end - one.start))
    even = np.allclose(np.diff(one.cubics[0], n=2, axis=0), 0, rtol=0, atol=1e-9 * max(chord, 1e-9))
    if not even or by > chord * (1 - 1e-12):
        return None
    return k, 1 - by / chord if at_end else by / chord


def _crossing(ray: Path, path: Path, *, first: bool) -> Position | None:
    """First or last place of a path that a straight ray meets: roots of the cubic's distance from the ray's line."""
    start, way = ray.start, ray.end - ray.start
    size = float(np.linalg.norm(way))
    across = (path.cubics - start) @ np.array([-way[1], way[0]]) / size
    order = range(len(path)) if first else range(len(path) - 1, -1, -1)
    for k in order:
        p0, p1, p2, p3 = across[k]
        if across[k].min() > 1e-9 or across[k].max() < -1e-9:
            continue
        roots = np.roots([p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0), p0])
        real = np.sort(roots.real[np.abs(roots.imag) < 1e-9])
        for t in real if first else real[::-1]:
            along = float((paths.evaluate(path.cubics[k], np.float64(t)) - start) @ way) / size**2
            if -1e-12 <= t <= 1 + 1e-12 and -1e-9 <= along <= 1 + 1e-9:
                return k, float(np.clip(t, 0, 1))
    return None


def _line(*points: Floats) -> Path | None:
    kept = [points[0]]
    for p in points[1:]:
        if np.linalg.norm(p - kept[-1]) > 1e-12:
            kept.append(p)
    return paths.polyline(np.array(kept)) if len(kept) > 1 else None
