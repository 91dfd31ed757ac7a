"""An outline and the lines that cut it, broken into strands between the places where they meet.

This is the first half of :mod:`mockup.geometry.faces`: lines' ends that all but reach something are brought to it,
every crossing is found on the curves, places nearer than a thousandth are made one, and each source is cut there
into exact sub-Béziers. Faults that would leave a panel open are refused by name
(:mod:`mockup.geometry.arrangement_checks`).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from mockup.geometry import path as paths
from mockup.geometry.arrangement_checks import (
    along,
    check_cut,
    check_outline,
    check_overlaps,
    check_tails,
    stops_inside,
    xy,
)
from mockup.geometry.cubics import Complexes, as_points, values
from mockup.geometry.intersect import Position, boxes_meet, hull_box, intersections, nearest_position
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import fast_lengths
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
    point: complex


def arrange(
    outline: Path, cuts: Sequence[Path], names: Sequence[str], tolerance: float, holes: Sequence[Path] = ()
) -> Arrangement:
    """Break an outline and lines into strands; arguments and errors as of :func:`mockup.geometry.faces.faces`."""
    inside = check_outline(outline, holes, tolerance)
    for path, name in zip(cuts, names, strict=True):
        check_cut(path, name, tolerance)
    cuts = _brought_to([outline, *holes], cuts, tolerance)
    check_overlaps(outline, holes, cuts, names, tolerance)
    sources = {OUTLINE: outline, **{HOLE - k: hole for k, hole in enumerate(holes)}, **dict(enumerate(cuts))}
    meetings = _meetings(sources)
    nodes, members = _clustered(meetings, sources, tolerance / 20)
    strands = _strands(sources, meetings, nodes, members, tolerance)
    kept = _inside(strands, inside)
    for s in kept:
        if np.abs(s.path.z - s.path.ends[0]).max() < 1e-9:
            raise along(names[s.source] if s.source >= 0 else names[0], "another line or an edge", s.path.start)
    stops = [[m.position for m in meetings if m.source == k] for k in range(len(cuts))]
    check_tails(cuts, names, stops, inside, tolerance)
    kept = _without_stubs(kept, names, tolerance)
    for k, name in enumerate(names):
        if not any(s.source == k for s in kept):
            raise GeometryError(
                name,
                expected="a line that runs right across the piece",
                got="a line that crosses nothing",
                next_step="Move the line onto the piece, or make it longer",
                place=xy(cuts[k].start),
            )
    return Arrangement(as_points(nodes), tuple(kept), tuple(cuts))


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
                position, gap = nearest_position(other, end, tolerance)
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
            found += [_Meeting(source, (0, 0.0), path.ends[0])] * 2
        for m in range(n):
            if not boxes_meet(boxes[n], boxes[m], 1e-6):
                continue
            other, other_path = sources[m]
            for p, q in intersections(path, other_path):
                found.append(_Meeting(source, p, paths.point_at(path, p)))
                found.append(_Meeting(other, q, paths.point_at(other_path, q)))
    return found


def _clustered(meetings: list[_Meeting], sources: dict[int, Path], reach: float) -> tuple[Complexes, list[int]]:
    """Make places nearer than ``reach`` one node; gives the nodes' points and each meeting's node.

    A node lies on an outline where one of its places does, and else on the first line; a place that is that near to a
    joint of its own source is put onto the joint.
    """
    for m in meetings:
        path = sources[m.source]
        i, t = m.position
        for end, joint in ((0.0, path.z[i, 0]), (1.0, path.z[i, 3])):
            if t != end and abs(joint - m.point) <= reach:
                m.position, m.point = (i, end), complex(joint)
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
    for a, b in cKDTree(as_points(points)).query_pairs(reach):
        parent[root(a)] = root(b)
    roots = [root(k) for k in range(len(meetings))]
    index = {r: n for n, r in enumerate(dict.fromkeys(roots))}
    nodes = np.zeros(len(index), dtype=np.complex128)
    best: dict[int, int] = {}
    for k, m in enumerate(meetings):
        n = index[roots[k]]
        if n not in best or m.source < meetings[best[n]].source:
            best[n], nodes[n] = k, m.point
    return nodes, [index[r] for r in roots]


def _strands(
    sources: dict[int, Path], meetings: list[_Meeting], nodes: Complexes, members: list[int], tolerance: float
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
            start, end = complex(nodes[node_a]), complex(nodes[node_b])
            shift = max(abs(part.ends[0] - start), abs(part.ends[1] - end))
            if shift > 0:
                part = _with_ends(part, start, end, exact=shift < 1e-9)
            strands.append(Strand(source, part, a, b, node_a, node_b))
    return strands


def _far(path: Path, p: tuple[Position, int], q: tuple[Position, int], tolerance: float) -> bool:
    """Whether two stops at one node are a real loop of the source and not one place named twice."""
    if p[0] == q[0]:
        return False
    return float(fast_lengths(paths.sub_path(path, p[0], q[0]).cubics).sum()) > 4 * tolerance


def _with_ends(path: Path, start: complex, end: complex, *, exact: bool) -> Path:
    first, last = np.array((start.real, start.imag)), np.array((end.real, end.imag))
    return paths.with_ends(path, first, last) if exact else similar(path, first, last)


def _inside(strands: list[Strand], inside: shapely.Polygon) -> list[Strand]:
    """The outline's strands, and those of lines that lie inside, asked at their points farthest from the outline."""
    drawn = [s for s in strands if s.source >= 0]
    if not drawn:
        return strands
    asked = [_probes(s.path) for s in drawn]
    points = shapely.points(as_points(np.array(asked)))
    far = shapely.distance(points, shapely.boundary(inside)).argmax(axis=1)
    within = shapely.contains(inside, points[np.arange(len(drawn)), far])
    outside = {id(s) for s, lies_in in zip(drawn, within, strict=True) if not lies_in}
    return [s for s in strands if id(s) not in outside]


def _probes(path: Path) -> Complexes:
    """Fifteen points along a path."""
    share = np.arange(1, 16) / 16 * len(path)
    segment = np.minimum(share.astype(np.intp), len(path) - 1)
    return values(path.z[segment], share - segment)


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
                raise stops_inside(names[s.source], size, s.path.start if degree[s.node_a] == 1 else s.path.end)
        strands = [s for s in strands if s not in loose]
