"""The faces of an outline cut by lines: crossing, branching, or closed in themselves, with exact sub-Béziers kept.

Every strand between two nodes (see :mod:`mockup.geometry.arrangement`) is walked once each way; at a node the walk
takes the next strand clockwise, so it goes round each face counter-clockwise (de Berg et al., *Computational Geometry*,
chapter 2, doubly connected edge lists). Two faces that share a strand share its very control points, so that their
areas add up to the outline's to rounding.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.arrangement import HOLE, Arrangement, Strand, arrange
from mockup.geometry.intersect import Position
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler, polygon_of
from swatches.errors import GeometryError


@dataclass(frozen=True, slots=True, eq=False)
class FacePart:
    """Part of a face's boundary that comes from one source.

    Attributes:
        source: -1 for the outline, -2, -3, … for its holes, else the index of the cut.
        path: exact sub-path in the face's direction.
        from_distance: where it begins along the source, in the source's own direction.
        to_distance: where it ends along the source; always greater.
        reversed: whether the face runs it against its source.
        start: (segment, t) on the source at ``from_distance``.
        end: (segment, t) at ``to_distance``.
    """

    source: int
    path: Path
    from_distance: float
    to_distance: float
    reversed: bool
    start: Position
    end: Position


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One face: its boundary with positive signed area, and the boundaries of holes in it with negative.

    The boundary is broken at the outline's start and wherever sources meet.
    """

    parts: tuple[FacePart, ...]
    holes: tuple[tuple[FacePart, ...], ...] = ()

    @property
    def outline(self) -> Path:
        """The outer boundary as one closed path."""
        return _ring(self.parts)

    @property
    def rings(self) -> tuple[Path, ...]:
        """The outer boundary, then those of the holes, each as one closed path."""
        return (self.outline, *(_ring(hole) for hole in self.holes))

    @property
    def area(self) -> float:
        """Exact area, holes taken off."""
        return sum(paths.signed_area(ring) for ring in self.rings)


@lru_cache(maxsize=256)  # a cut asks for the rings of its faces again and again
def _ring(parts: tuple[FacePart, ...]) -> Path:
    return paths.joined([p.path for p in parts])


def faces(
    outline: Path,
    cuts: Sequence[Path],
    *,
    tolerance: float = 0.02,
    names: Sequence[str] = (),
    fragment: float = 0.0,
    holes: Sequence[Path] = (),
) -> list[Face]:
    """Cut an outline by lines.

    A line may overshoot the outline, and what lies outside falls away; its ends may lie on the outline, on another
    line, or within ``tolerance`` of one, and are then brought to it exactly. A stub of up to 50 tolerances past another
    line falls away too. A closed line inside makes a face of its own and a hole in the face round it.

    Args:
        outline: closed, not crossing itself, run either way.
        cuts: the lines.
        tolerance: in the input's unit; no curve is moved, but ends are joined over this distance, and questions of
            inside and along are asked at it.
        names: what the lines are called in an error; 'line 1', 'line 2', … when left out.
        fragment: refuse faces that are nowhere as wide as this; 0 allows all.
        holes: of the outline, each closed and run clockwise. What lies in one is no face, and lines may end in it.

    Returns:
        The faces, in order of their first place along the outline, those that do not touch it last.

    Raises:
        GeometryError: an open or self-crossing outline; a line that crosses itself, runs along an edge or another line,
            ends inside, or crosses nothing; a fragment.
    """
    names = list(names) or [f"line {k + 1}" for k in range(len(cuts))]
    arrangement = arrange(outline, cuts, names, tolerance, holes)
    cycles = _cycles(arrangement)
    rulers = {k: Ruler(c) for k, c in enumerate(arrangement.cuts)}
    rulers |= {-1 - k: Ruler(c) for k, c in enumerate((outline, *holes))}
    outer: list[tuple[tuple[FacePart, ...], float]] = []
    inner: list[tuple[FacePart, ...]] = []
    for cycle in cycles:
        if any(arrangement.strands[h >> 1].source <= HOLE and h & 1 for h in cycle):
            continue  # the inside of a hole
        _check_walk(cycle, arrangement, names)
        parts = tuple(_part(arrangement.strands[h >> 1], bool(h & 1), rulers) for h in cycle)
        area = paths.signed_area(_ring(parts))
        if area > 0:
            outer.append((parts, area))
        elif not any(p.source == -1 for p in parts):
            inner.append(parts)
    found = _with_holes(outer, inner, tolerance)
    found.sort(key=lambda f: min((p.from_distance for p in f.parts if p.source == -1), default=np.inf))
    if fragment > 0 and len(found) > 1:
        for face in found:
            _check_fragment(face, fragment, names, tolerance)
    return found


def _check_walk(cycle: list[int], arrangement: Arrangement, names: Sequence[str]) -> None:
    """Refuse a strand with one face on both its sides, and a face that hangs together at a single point."""
    halves = set(cycle)
    for h in cycle:
        if h ^ 1 in halves:
            strand = arrangement.strands[h >> 1]
            raise GeometryError(
                names[strand.source],
                expected="a line that divides the piece",
                got="one that leads to a closed shape inside and ends there",
                next_step="Draw the line on to another edge, or take it away",
                place=(float(strand.path.start[0]), float(strand.path.start[1])),
            )
    passed: set[int] = set()
    for h in cycle:
        strand = arrangement.strands[h >> 1]
        node = strand.node_b if h & 1 else strand.node_a
        if node in passed:
            at = arrangement.nodes[node]
            lines = [s.source for s in arrangement.strands if s.source >= 0 and node in (s.node_a, s.node_b)]
            raise GeometryError(
                names[lines[0]] if lines else "outline",
                expected="parts that hang together along an edge",
                got="a part that hangs together at one point only",
                next_step="Move the line's end a little along the edge",
                place=(float(at[0]), float(at[1])),
            )
        passed.add(node)


def _part(strand: Strand, backwards: bool, rulers: dict[int, Ruler]) -> FacePart:
    ruler = rulers[strand.source]
    return FacePart(
        strand.source,
        paths.reversed_path(strand.path) if backwards else strand.path,
        ruler.at(strand.start),
        ruler.at(strand.end),
        backwards,
        strand.start,
        strand.end,
    )


def _cycles(arrangement: Arrangement) -> list[list[int]]:
    """Walk all faces; half strand 2k runs strand k forwards, 2k + 1 backwards."""
    strands = arrangement.strands
    leaving: dict[int, list[int]] = {}
    for k, s in enumerate(strands):
        leaving.setdefault(s.node_a, []).append(2 * k)
        leaving.setdefault(s.node_b, []).append(2 * k + 1)
    following: dict[int, int] = {}
    for node, halves in leaving.items():
        order = _round(arrangement, node, halves)
        for n, h in enumerate(order):
            following[h ^ 1] = order[n - 1]
    cycles, seen = [], set()
    for h in following:
        if h in seen:
            continue
        cycle = [h]
        seen.add(h)
        while (h := following[h]) != cycle[0]:
            cycle.append(h)
            seen.add(h)
        start = min(range(len(cycle)), key=lambda n: (strands[cycle[n] >> 1].source, strands[cycle[n] >> 1].start))
        cycles.append(cycle[start:] + cycle[:start])
    return cycles


def _round(arrangement: Arrangement, node: int, halves: list[int]) -> list[int]:
    """Order the half strands that leave a node counter-clockwise.

    By their tangents; where two of them are within a degree, by where they first leave a small circle round the node,
    which is the right order for curves that do not cross inside it.
    """
    if len(halves) <= 2:
        return halves  # two have one order round
    leaving = [(arrangement.strands[h >> 1].path, bool(h & 1)) for h in halves]
    ways = [-paths.way_at(p, len(p) - 1, 1.0) if back else paths.way_at(p, 0, 0.0) for p, back in leaving]
    angles = [cmath.phase(way) for way in ways]
    order = sorted(range(len(halves)), key=angles.__getitem__)
    turned = [angles[k] for k in order]
    least = min(b - a for a, b in itertools.pairwise([*turned, turned[0] + 2 * math.pi]))
    if least < math.radians(1):
        centre = arrangement.nodes[node]
        radius = 0.05 * min(np.linalg.norm(p.cubics - centre, axis=2).max() for p, _ in leaving)
        away = [paths.reversed_path(p) if back else p for p, back in leaving]
        exits = np.array([_first_exit(p, centre, radius) - centre for p in away])
        order = np.argsort(np.arctan2(exits[:, 1], exits[:, 0])).tolist()
    return [halves[k] for k in order]


def _first_exit(path: Path, centre: Floats, radius: float) -> Floats:
    segment = np.repeat(np.arange(len(path)), 64)
    t = np.tile(np.arange(1, 65) / 64, len(path))
    away = np.linalg.norm(paths.points_at(path, segment, t) - centre, axis=1)
    k = int(np.argmax(away >= radius))
    cubic, low, high = path.cubics[segment[k]], float(t[k]) - 1 / 64, float(t[k])
    for _ in range(50):
        mid = (low + high) / 2
        far = np.linalg.norm(paths.evaluate(cubic, np.float64(mid)) - centre) >= radius
        low, high = (low, mid) if far else (mid, high)
    return paths.evaluate(cubic, np.float64(high))


def _with_holes(
    outer: list[tuple[tuple[FacePart, ...], float]], inner: list[tuple[FacePart, ...]], tolerance: float
) -> list[Face]:
    if not inner:
        return [Face(parts) for parts, _ in outer]
    polygons = [_polygon(parts, tolerance) for parts, _ in outer]
    holes: dict[int, list[tuple[FacePart, ...]]] = {}
    for ring in inner:
        hole = _polygon(ring, tolerance)
        size = shapely.area(hole)
        around = [
            k for k, (_, area) in enumerate(outer) if area > size * (1 + 1e-6) and polygons[k].contains(hole.exterior)
        ]
        holes.setdefault(min(around, key=lambda k: outer[k][1]), []).append(ring)
    return [Face(parts, tuple(holes.get(k, ()))) for k, (parts, _) in enumerate(outer)]


def _polygon(parts: tuple[FacePart, ...], tolerance: float) -> shapely.Polygon:
    return polygon_of([_ring(parts)], tolerance)


def _check_fragment(face: Face, fragment: float, names: Sequence[str], tolerance: float) -> None:
    polygon = polygon_of(face.rings, tolerance)
    middle = shapely.centroid(polygon)
    if shapely.distance(shapely.boundary(polygon), middle) > fragment / 2 and shapely.contains(polygon, middle):
        return  # a place that is wide enough; only where the middle is none all places are asked
    if shapely.is_empty(shapely.buffer(polygon, -fragment / 2, quad_segs=2)):
        lines = sorted({p.source for p in face.parts if p.source >= 0})
        raise GeometryError(
            " and ".join(names[k] for k in lines),
            expected=f"parts at least {fragment:g} mm wide",
            got=f"a fragment of {shapely.area(polygon):.3g} mm² that is narrower",
            next_step="Move the line so that no sliver is left, or let it end in the corner",
            place=(float(middle.x), float(middle.y)),
        )
