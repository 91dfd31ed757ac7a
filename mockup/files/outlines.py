"""Closed outlines out of drawn lines: what a file without named edges is read by.

Every reader (SVG, DXF, PDF) hands over paths in mm, y up, and gets pieces whose edges run from corner to corner:
``edge-1``, ``edge-2``, …, kind :attr:`~mockup.pattern.piece.EdgeKind.CUT`, allowance 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree
from shapely import Point, Polygon, is_valid_reason
from shapely.strtree import STRtree

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.pattern.piece import Edge, EdgeKind, Mark, Piece
from swatches.errors import FileFormatError

CORNER_DEG = 15.0  # a smaller turn is taken for a point on a curve (our own choice)
GAP_MM = 0.05  # ends nearer than this meet
SMALLEST_MM, LARGEST_MM = 5.0, 3000.0  # of a piece's longer side; beyond it the unit is doubted
_ASK = 0.02  # mm, the flattening with which the polygon library is asked


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A line found in a file: its path in mm, y up, and a name or an empty text."""

    path: Path
    name: str = ""


def pieces_from_lines(
    lines: Sequence[Drawn], *, what: str, gap_mm: float = GAP_MM, strangers: bool = False
) -> tuple[Piece, ...]:
    """Make pieces of drawn lines: closed ones are outlines, open ones inside an outline are internal marks.

    Open lines whose ends meet are first put together.

    Args:
        lines: in mm, y up.
        what: the file in the person's words.
        gap_mm: ends nearer than this meet.
        strangers: leave out open lines outside every outline (legends, arrows) instead of refusing them.

    Raises:
        FileFormatError: nothing closed, an open line outside every outline, outlines inside or across each other, an
            outline that crosses or touches itself, or one whose size makes the unit doubtful.
    """
    closed = [d for d in lines if (_gap(d.path) <= gap_mm and _reach(d.path) > 4 * gap_mm) or d.path.closed]
    rest = [d for d in lines if not any(d is c for c in closed)]
    chained, open_ones = _chained(rest, gap_mm)
    outlines = [*closed, *chained]
    if not outlines:
        raise _open(what, open_ones)
    loops = [_loop(d.path) for d in outlines]
    polygons = [checked_polygon(p, what=f"{what}, {d.name or 'outline'}") for p, d in zip(loops, outlines, strict=True)]
    _apart(polygons, outlines, what)
    marks: list[list[Mark]] = [[] for _ in outlines]
    for d in open_ones:
        middle = paths.flatten(d.path, _ASK).points.mean(axis=0)
        home = next((i for i, p in enumerate(polygons) if _inside(p, middle)), None)
        if home is None and strangers:
            continue
        if home is None:
            raise _open(what, [d])
        marks[home].append(Mark(d.name or f"mark-{len(marks[home]) + 1}", d.path))
    names = _names([d.name for d in outlines])
    return tuple(
        Piece(name=name, edges=edges_at_corners(loop), marks=tuple(m))
        for name, loop, m in zip(names, loops, marks, strict=True)
    )


def edges_at_corners(loop: Path) -> tuple[Edge, ...]:
    """Cut a closed counter-clockwise outline where it turns by more than 15°, starting at the first such corner."""
    n = len(loop)
    before = np.array([paths.tangent(loop, (i - 1) % n, 1.0) for i in range(n)])
    after = np.array([paths.tangent(loop, i, 0.0) for i in range(n)])
    turn = np.degrees(np.arccos(np.clip((before * after).sum(axis=1), -1, 1)))
    corners = [int(i) for i in np.flatnonzero(turn > CORNER_DEG)] or [0]
    edges = []
    for k, first in enumerate(corners):
        last = corners[(k + 1) % len(corners)]
        run = np.arange(first, last if last > first else last + n) % n
        edges.append(Edge(f"edge-{k + 1}", Path(loop.cubics[run]), EdgeKind.CUT))
    return tuple(edges)


def checked_polygon(loop: Path, *, what: str) -> Polygon:
    """Flatten an outline, refuse one that crosses itself or has an unlikely size, and give its polygon."""
    points = paths.flatten(loop, _ASK).points[:-1]
    width, height = np.ptp(points, axis=0)
    size = float(max(width, height))
    if not SMALLEST_MM <= size <= LARGEST_MM:
        raise FileFormatError(
            what,
            expected=f"a piece between {SMALLEST_MM:g} mm and {LARGEST_MM / 1000:g} m",
            got=f"{width:.4g} × {height:.4g} mm",
            next_step="Check the unit of the file, or say how many mm one of its units is",
        )
    polygon = Polygon(points) if len(points) > 2 else Polygon()
    if not polygon.is_valid or polygon.area <= 0:
        reason = is_valid_reason(polygon) if not polygon.is_empty else "no area"
        place = reason[reason.find("[") :] if "[" in reason else ""
        raise FileFormatError(
            what,
            expected="an outline that does not cross or touch itself",
            got=f"one that does at {place} (mm, y up)" if place else "an outline without an area",
            next_step="Redraw that place so that the outline runs round once",
        )
    return polygon


def meet(path: Path, start: Floats, end: Floats) -> Path:
    """Give the path with its ends moved by a negligible distance to given points; straight ends stay straight."""
    cubics, straight = path.cubics.copy(), paths.is_straight(path)
    for i, corner, point in ((0, 0, start), (len(path) - 1, 3, end)):
        cubics[i, corner] = point
        if straight[i]:
            a, b = cubics[i, 0].copy(), cubics[i, 3].copy()
            cubics[i, 1], cubics[i, 2] = a + (b - a) / 3, a + (b - a) * 2 / 3
    return Path(cubics)


def _loop(path: Path) -> Path:
    """Close exactly, and run counter-clockwise."""
    path = meet(path, path.start, path.start)
    return path if paths.signed_area(path) > 0 else paths.reversed_path(path)


def _reach(path: Path) -> float:
    """The longer side of the box round a path's control points."""
    return float(np.ptp(path.cubics.reshape(-1, 2), axis=0).max())


def _gap(path: Path) -> float:
    return float(np.linalg.norm(path.end - path.start))


def _chained(lines: Sequence[Drawn], gap_mm: float) -> tuple[list[Drawn], list[Drawn]]:
    """Put open lines together where exactly two ends meet; give the closed chains and the lines that stay open."""
    if not lines:
        return [], []
    ends = np.array([p for d in lines for p in (d.path.start, d.path.end)])
    near = cKDTree(ends).query_ball_point(ends, gap_mm)
    link = [next((k for k in found if k != e), -1) if len(found) == 2 else -1 for e, found in enumerate(near)]
    closed: list[Drawn] = []
    still_open: list[Drawn] = []
    seen: set[int] = set()
    for first in range(len(lines)):
        if first in seen:
            continue
        chain, way_out = [lines[first].path], 2 * first + 1
        members = [first]
        while (way_in := link[way_out]) >= 0 and way_in // 2 not in members and way_in // 2 not in seen:
            i, backwards = divmod(way_in, 2)
            members.append(i)
            chain.append(paths.reversed_path(lines[i].path) if backwards else lines[i].path)
            way_out = way_in ^ 1
        if link[way_out] == 2 * first and len(members) > 1:
            name = next((lines[i].name for i in members if lines[i].name), "")
            closed.append(Drawn(paths.joined(_met(chain)), name))
            seen.update(members)
        else:
            still_open.append(lines[first])
            seen.add(first)
    return closed, still_open


def _met(chain: Sequence[Path]) -> list[Path]:
    """Let every path start exactly where the one before it ends."""
    return [meet(p, chain[i - 1].end if i else p.start, p.end) for i, p in enumerate(chain)]


def _inside(polygon: Polygon, point: Floats) -> bool:
    return bool(polygon.contains(Point(point)))


def _apart(polygons: Sequence[Polygon], outlines: Sequence[Drawn], what: str) -> None:
    tree = STRtree(polygons)
    for i, polygon in enumerate(polygons):
        for j in sorted(int(k) for k in tree.query(polygon, predicate="intersects")):
            if j <= i or polygon.intersection(polygons[j]).area <= 1e-3:
                continue
            names = " and ".join(outlines[k].name or f"outline {k + 1}" for k in (i, j))
            inner = polygon.contains(polygons[j]) or polygons[j].contains(polygon)
            raise FileFormatError(
                what,
                expected="one outline a piece, side by side",
                got=f"{names}, one {'inside' if inner else 'across'} the other",
                next_step="Keep the stitch line or the cut line, not both, and move pieces apart",
            )


def _open(what: str, lines: Sequence[Drawn]) -> FileFormatError:
    worst = max(lines, key=lambda d: _gap(d.path), default=None)
    got = "no outline at all"
    if worst is not None:
        x, y = worst.path.end
        got = f"a line that ends {_gap(worst.path):.4g} mm from its start, at ({x:.4g}, {y:.4g})"
    return FileFormatError(what, expected="a closed outline", got=got, next_step="Close the outline and save it again")


def _names(given: Sequence[str]) -> list[str]:
    names: list[str] = []
    for i, name in enumerate(given):
        wanted = name or f"piece-{i + 1}"
        unique, k = wanted, 2
        while unique in names:
            unique, k = f"{wanted} {k}", k + 1
        names.append(unique)
    return names
