"""An outline and the lines that cut it, broken into strands between the places where they meet.

This is the first half of :mod:`mockup.geometry.faces`: lines' ends that all but reach something are brought to it,
every crossing is found on the curves, places nearer than a thousandth are made one, and each source is cut there
into exact sub-Béziers. Faults that would leave a panel open are refused by name.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from mockup.geometry import path as paths
from mockup.geometry.intersect import (
    Position,
    hull_box,
    intersections,
    nearest_position,
    self_intersections,
    shared_length,
)
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler, fast_lengths, flat_of
from mockup.geometry.similar import similar
from swatches.errors import GeometryError

OUTLINE, HOLE = -1, -2  # the next holes are -3, -4, …


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """Part of a source between two nodes, run as its source runs.

    Attributes:
        source: -1 for the outline, -2, -3, … for its holes, else the index of the line.
        path: exact sub-path; its ends are the nodes' points.
        start: position on the source where it begins.
        end: position where it ends; for the last strand of a closed source its very end.
        node_a: index of the first node.
        node_b: index of the last node.
    """

    source: int
    path: Path
    start: Position
    end: Position
    node_a: int
    node_b: int


@dataclass(frozen=True, slots=True, eq=False)
class Arrangement:
    """Nodes, shape (n, 2), the strands between them, and the lines with their ends brought to what they meet."""

    nodes: Floats
    strands: tuple[Strand, ...]
    cuts: tuple[Path, ...]


@dataclass(slots=True)
class _Meeting:
    source: int
    position: Position
    point: Floats


def arrange(
    outline: Path, cuts: Sequence[Path], names: Sequence[str], tolerance: float, holes: Sequence[Path] = ()
) -> Arrangement:
    """Break an outline and lines into strands; arguments and errors as of :func:`mockup.geometry.faces.faces`."""
    inside = _check_outline(outline, holes, tolerance)
    for path, name in zip(cuts, names, strict=True):
        _check_cut(path, name, tolerance)
    cuts = _brought_to([outline, *holes], cuts, tolerance)
    _check_overlaps(outline, holes, cuts, names, tolerance)
    sources = {OUTLINE: outline, **{HOLE - k: hole for k, hole in enumerate(holes)}, **dict(enumerate(cuts))}
    meetings = _meetings(sources)
    nodes, members = _clustered(meetings, sources, tolerance / 20)
    strands = _strands(sources, meetings, nodes, members, tolerance)
    kept = [s for s in strands if s.source < 0 or _lies_inside(s.path, inside)]
    for s in kept:
        if np.abs(s.path.cubics - s.path.start).max() < 1e-9:
            raise _along(names[s.source] if s.source >= 0 else names[0], "another line or an edge", s.path.start)
    _check_tails(cuts, names, meetings, kept, inside, tolerance)
    kept = _without_stubs(kept, names, tolerance)
    for k, name in enumerate(names):
        if not any(s.source == k for s in kept):
            raise GeometryError(
                name,
                expected="a line that runs right across the piece",
                got="a line that crosses nothing",
                next_step="Move the line onto the piece, or make it longer",
                place=_xy(cuts[k].start),
            )
    return Arrangement(nodes, tuple(kept), tuple(cuts))


def _check_outline(outline: Path, holes: Sequence[Path], tolerance: float) -> shapely.Polygon:
    """Check the outline and give it, without its holes, as a prepared polygon."""
    if not outline.closed:
        raise GeometryError(
            "outline",
            expected="a closed outline",
            got=f"an open one, {np.linalg.norm(outline.end - outline.start):.3g} between its ends",
            next_step="Close the outline",
            place=_xy(outline.end),
        )
    shell, *rings = (flat_of(path, tolerance / 4).points for path in (outline, *holes))
    inside = shapely.Polygon(shell, rings)
    # Only a flattening that crosses itself is worth the exact search: smaller loops than its tolerance do no harm.
    crossings = [] if shapely.is_valid(inside) else self_intersections(outline)
    if crossings:
        raise GeometryError(
            "outline",
            expected="an outline that does not cross itself",
            got="one that does",
            next_step="Untangle the outline at the place shown",
            place=_xy(paths.points_at(outline, *crossings[0][0])),
        )
    shapely.prepare(inside)
    return inside


def _check_cut(path: Path, name: str, tolerance: float) -> None:
    simple = shapely.is_simple(shapely.LineString(flat_of(path, tolerance / 4).points))
    crossings = [] if simple else self_intersections(path)
    if crossings:
        raise GeometryError(
            name,
            expected="a line that does not cross itself",
            got="one that does",
            next_step="Take the loop out of the line",
            place=_xy(paths.points_at(path, *crossings[0][0])),
        )


def _check_overlaps(
    outline: Path, holes: Sequence[Path], cuts: Sequence[Path], names: Sequence[str], tolerance: float
) -> None:
    others = [*(("an edge of the piece", path) for path in (outline, *holes))]
    first = len(others)
    others += [(f"line '{n}'", c) for n, c in zip(names, cuts, strict=True)]
    boxes = [hull_box(path) for _, path in others]
    for k, name in enumerate(names):
        for m, (what, other) in enumerate(others[: first + k]):
            if _boxes_meet(boxes[first + k], boxes[m], tolerance) and _runs_along(cuts[k], other, tolerance):
                raise _along(name, what, cuts[k].start)


def _along(name: str, what: str, place: Floats) -> GeometryError:
    return GeometryError(
        name,
        expected="a line that crosses the piece",
        got=f"a line that runs along {what}",
        next_step="Move the line away from it",
        place=_xy(place),
    )


def _runs_along(cut: Path, other: Path, tolerance: float) -> bool:
    """Whether two curves lie on each other; a branch that leaves another line at a tangent does not."""
    if shared_length(cut, other, tolerance) <= 100 * tolerance:
        return False
    return shared_length(cut, other, tolerance) > 1000 * tolerance or (
        shared_length(cut, other, tolerance / 50) > 400 * tolerance
    )


def _boxes_meet(a: Sequence[float], b: Sequence[float], reach: float) -> bool:
    return a[0] <= b[2] + reach and b[0] <= a[2] + reach and a[1] <= b[3] + reach and b[1] <= a[3] + reach


def _brought_to(fixed: Sequence[Path], cuts: Sequence[Path], tolerance: float) -> list[Path]:
    """Bring every free end that is within the tolerance of an outline or another line onto it."""
    out = list(cuts)
    for k, cut in enumerate(cuts):
        if cut.closed:
            continue
        ends = []
        for end in (cut.start, cut.end):
            target = end
            for other in [*fixed, *out[:k], *cuts[k + 1 :]]:
                x0, y0, x1, y1 = hull_box(other)
                if not (x0 - tolerance <= end[0] <= x1 + tolerance and y0 - tolerance <= end[1] <= y1 + tolerance):
                    continue
                position, gap = nearest_position(other, end, tolerance / 2)
                if gap <= tolerance:
                    target = paths.points_at(other, *position)
                    break
            ends.append(target)
        if not (np.array_equal(ends[0], cut.start) and np.array_equal(ends[1], cut.end)):
            out[k] = similar(cut, ends[0], ends[1])
    return out


def _meetings(by_source: dict[int, Path]) -> list[_Meeting]:
    """Every place where sources meet, in pairs (2k, 2k + 1); the start of a closed source is paired with itself."""
    found: list[_Meeting] = []
    sources = list(by_source.items())
    boxes = [hull_box(path) for _, path in sources]
    for n, (source, path) in enumerate(sources):
        if path.closed:
            found += [_Meeting(source, (0, 0.0), path.start)] * 2
        for m in range(n):
            if not _boxes_meet(boxes[n], boxes[m], 1e-6):
                continue
            other, other_path = sources[m]
            for p, q in intersections(path, other_path):
                found.append(_Meeting(source, p, paths.points_at(path, *p)))
                found.append(_Meeting(other, q, paths.points_at(other_path, *q)))
    return found


def _clustered(meetings: list[_Meeting], sources: dict[int, Path], reach: float) -> tuple[Floats, list[int]]:
    """Make places nearer than ``reach`` one node; gives the nodes' points and each meeting's node.

    A node lies on an outline where one of its places does, and else on the first line; a place that is that near to a
    joint of its own source is put onto the joint.
    """
    for m in meetings:
        path = sources[m.source]
        i, t = m.position
        for joint in ((i, 0.0), (i, 1.0)):
            if t != joint[1] and np.linalg.norm(paths.points_at(path, *joint) - m.point) <= reach:
                m.position, m.point = joint, paths.points_at(path, *joint)
        if m.position[1] == 1.0 and (m.position[0] + 1 < len(path) or path.closed):
            m.position = ((m.position[0] + 1) % len(path), 0.0)
    points = np.array([m.point for m in meetings])
    parent = list(range(len(meetings)))

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for k in range(0, len(meetings), 2):
        parent[root(k)] = root(k + 1)
    for a, b in cKDTree(points).query_pairs(reach):
        parent[root(a)] = root(b)
    roots = [root(k) for k in range(len(meetings))]
    index = {r: n for n, r in enumerate(dict.fromkeys(roots))}
    nodes = np.zeros((len(index), 2))
    best: dict[int, int] = {}
    for k, m in enumerate(meetings):
        n = index[roots[k]]
        if n not in best or m.source < meetings[best[n]].source:
            best[n], nodes[n] = k, m.point
    return nodes, [index[r] for r in roots]


def _strands(
    sources: dict[int, Path], meetings: list[_Meeting], nodes: Floats, members: list[int], tolerance: float
) -> list[Strand]:
    strands: list[Strand] = []
    for source, path in sources.items():
        stops = sorted({(m.position, members[k]) for k, m in enumerate(meetings) if m.source == source})
        merged = [
            s
            for n, s in enumerate(stops)
            if n == 0 or s[1] != stops[n - 1][1] or _far(path, stops[n - 1], s, tolerance)
        ]
        if path.closed:
            merged.append(((len(path) - 1, 1.0), merged[0][1]))
        for (a, node_a), (b, node_b) in itertools.pairwise(merged):
            if a == b:
                continue
            part = paths.sub_path(path, a, b)
            if node_a == node_b and float(fast_lengths(part.cubics).sum()) <= 4 * tolerance:
                continue
            shift = max(np.abs(part.start - nodes[node_a]).max(), np.abs(part.end - nodes[node_b]).max())
            if shift > 0:
                part = _with_ends(part, nodes[node_a], nodes[node_b], exact=bool(shift < 1e-9))
            strands.append(Strand(source, part, a, b, node_a, node_b))
    return strands


def _far(path: Path, p: tuple[Position, int], q: tuple[Position, int], tolerance: float) -> bool:
    """Whether two stops at one node are a real loop of the source and not one place named twice."""
    if p[0] == q[0]:
        return False
    return float(fast_lengths(paths.sub_path(path, p[0], q[0]).cubics).sum()) > 4 * tolerance


def _with_ends(path: Path, start: Floats, end: Floats, *, exact: bool) -> Path:
    if not exact:
        return similar(path, start, end)
    cubics = path.cubics.copy()
    cubics[0, 0], cubics[-1, 3] = start, end
    return Path(cubics)


def _lies_inside(path: Path, inside: shapely.Polygon) -> bool:
    """Whether a strand lies inside, asked at its point that is farthest from the outline."""
    share = np.arange(1, 16) / 16 * len(path)
    segment = np.minimum(share.astype(int), len(path) - 1)
    points = shapely.points(paths.points_at(path, segment, share - segment))
    far = int(np.argmax(shapely.distance(points, inside.boundary)))
    return bool(shapely.contains(inside, points[far]))


def _check_tails(
    cuts: Sequence[Path],
    names: Sequence[str],
    meetings: list[_Meeting],
    kept: list[Strand],
    inside: shapely.Polygon,
    tolerance: float,
) -> None:
    """Refuse an end that stops inside the piece, farther than a stub from everything that it could meet."""
    for k, (cut, name) in enumerate(zip(cuts, names, strict=True)):
        if cut.closed:
            continue
        ruler = Ruler(cut)
        stops = sorted(ruler.at(m.position) for m in meetings if m.source == k)
        tails = [(cut.start, stops[0] if stops else ruler.total), (cut.end, ruler.total - stops[-1] if stops else 0.0)]
        for at, tail in tails:
            if tail > 50 * tolerance and shapely.contains(inside, shapely.Point(at)):
                raise GeometryError(
                    name,
                    expected="a line that runs right across, or ends on an edge or on another line",
                    got=f"an end {tail:.3g} inside the piece",
                    next_step="Draw the line on until it meets an edge or another line",
                    place=_xy(at),
                )


def _without_stubs(strands: list[Strand], names: Sequence[str], tolerance: float) -> list[Strand]:
    """Take away short strands that lead nowhere; refuse long ones."""
    while True:
        degree: dict[int, int] = {}
        for s in strands:
            for n in (s.node_a, s.node_b):
                degree[n] = degree.get(n, 0) + 1
        loose = [s for s in strands if min(degree[s.node_a], degree[s.node_b]) == 1 and s.source >= 0]
        if not loose:
            return strands
        for s in loose:
            size = float(fast_lengths(s.path.cubics).sum())
            if size > 50 * tolerance:
                at = s.path.start if degree[s.node_a] == 1 else s.path.end
                raise GeometryError(
                    names[s.source],
                    expected="a line that runs right across, or ends on an edge or on another line",
                    got=f"an end {size:.3g} inside the piece",
                    next_step="Draw the line on until it meets an edge or another line",
                    place=_xy(at),
                )
        strands = [s for s in strands if s not in loose]


def _xy(point: Floats) -> tuple[float, float]:
    return float(point[0]), float(point[1])
