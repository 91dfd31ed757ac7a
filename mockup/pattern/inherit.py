"""What a child takes from its parent: edges with everything they carry, notches, marks inside it, the grainline."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.faces import FacePart
from mockup.geometry.intersect import Position, intersections
from mockup.geometry.path import XY, Floats, Path
from mockup.geometry.ruler import flat_of, length_of
from mockup.pattern.piece import Dart, Edge, Mark, Notch, Piece

_NOTCH_AT_CUT_MM = 0.5  # a notch nearer than this to a cut would lie in the corner and is left out


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a child's inherited edge comes from: ``from_mm`` to ``to_mm`` along the parent's ``edge``."""

    child: str
    child_edge: str
    edge: str
    from_mm: float
    to_mm: float


def inherited_edges(ring: Sequence[Edge], part: FacePart, cut_names: tuple[str, str]) -> list[tuple[Edge, Origin]]:
    """Give the parent's edges, or exact parts of them, that lie in one part of its outline or of a hole.

    Args:
        ring: the edges of that outline.
        part: a part of it.
        cut_names: for the landmarks where the part starts and where it ends: the lines that cut there.

    Returns:
        Edges in order, each with its origin (child names are filled in later).
    """
    found = []
    first, before = 0, 0.0
    last = (sum(len(e.path) for e in ring) - 1, 1.0)
    for edge in ring:
        size = length_of(edge.path)
        low = max(part.start, (first, 0.0))
        high = min(part.end, (first + len(edge.path), 0.0))
        if low < high and part.from_distance < before + size and part.to_distance > before:
            a, b = part.from_distance - before, part.to_distance - before
            whole_start, whole_end = low == (first, 0.0), high in ((first + len(edge.path), 0.0), last)
            path = edge.path if whole_start and whole_end else _sub(edge.path, low, high, first)
            # Where the line meets the edge, its own point holds: 1e-14 mm apart would be a spike to a polygon library.
            path = _with_ends(
                path, part.path.start if low == part.start else None, part.path.end if high == part.end else None
            )
            kept = replace(
                edge,
                path=path,
                start_name=edge.start_name if whole_start else cut_names[0],
                end_name=edge.end_name if whole_end else cut_names[1],
            )
            found.append((kept, Origin("", edge.name, edge.name, max(a, 0.0), min(b, size))))
        first += len(edge.path)
        before += size
    return found


def _with_ends(path: Path, start: Floats | None, end: Floats | None) -> Path:
    """Set the very ends of a path; the path itself where they are so already."""
    if (start is None or np.array_equal(start, path.start)) and (end is None or np.array_equal(end, path.end)):
        return path
    cubics = path.cubics.copy()
    if start is not None:
        cubics[0, 0] = start
    if end is not None:
        cubics[-1, 3] = end
    return Path(cubics)


def _sub(path: Path, low: Position, high: Position, first: int) -> Path:
    a = (low[0] - first, low[1])
    b = (high[0] - first, high[1])
    if b[0] == len(path):
        b = (len(path) - 1, 1.0)
    return paths.sub_path(path, a, b)


def inherited_notches(
    piece: Piece, origins: Sequence[Origin], names: Sequence[str]
) -> tuple[tuple[Notch, ...], tuple[str, ...]]:
    """Give the parent's notches that lie on a child's edges.

    Args:
        piece: the parent.
        origins: of the child's inherited edges.
        names: their names in the child.

    Returns:
        Notches of the child, and the edges on which one was left out because the cut runs through it.
    """
    kept, lost = [], []
    sizes = {e.name: length_of(e.path) for e in piece.all_edges}
    for notch in piece.notches:
        for origin, name in zip(origins, names, strict=True):
            if origin.edge != notch.edge or not origin.from_mm - 1e-9 <= notch.distance_mm <= origin.to_mm + 1e-9:
                continue
            from_cut = [
                abs(notch.distance_mm - end)
                for end, cut in (
                    (origin.from_mm, origin.from_mm > 1e-9),
                    (origin.to_mm, origin.to_mm < sizes[notch.edge] - 1e-9),
                )
                if cut
            ]
            if any(gap < _NOTCH_AT_CUT_MM for gap in from_cut):
                lost.append(notch.edge)
            else:
                kept.append(Notch(name, notch.distance_mm - origin.from_mm, notch.count))
    return tuple(kept), tuple(lost)


def inherited_darts(piece: Piece, origins: Sequence[Origin], names: Sequence[str]) -> tuple[Dart, ...]:
    """Give the parent's darts that open on a child's edges; arguments as of :func:`inherited_notches`."""
    return tuple(
        replace(dart, edge=name, from_mm=dart.from_mm - origin.from_mm, to_mm=dart.to_mm - origin.from_mm)
        for dart in piece.darts
        for origin, name in zip(origins, names, strict=True)
        if origin.edge == dart.edge and origin.from_mm - 1e-6 <= dart.from_mm and dart.to_mm <= origin.to_mm + 1e-6
    )


def inherited_marks(piece: Piece, outlines: Sequence[Path]) -> tuple[tuple[Mark, ...], tuple[str, ...]]:
    """Clip the parent's internal lines to a child, exactly; gives them, and the names of those that were cut.

    Args:
        piece: the parent.
        outlines: of the child, then of its holes.
    """
    if not piece.marks:
        return (), ()
    kept, cut = [], []
    for mark in piece.marks:
        parts = clipped(mark.path, outlines)
        kept += [replace(mark, path=p) for p in parts]
        if parts and sum(length_of(p) for p in parts) < length_of(mark.path) - 0.01:
            cut.append(mark.name)
    return tuple(kept), tuple(cut)


def clipped(path: Path, outlines: Sequence[Path]) -> list[Path]:
    """Give the exact parts of a path that lie inside a closed outline and outside its holes."""
    inside = polygon_of(outlines, 0.02)
    meets = sorted(p for outline in outlines for p, _ in intersections(path, outline))
    ends: list[Position] = [(0, 0.0), *meets, (len(path) - 1, 1.0)]
    parts = [paths.sub_path(path, a, b) for a, b in itertools.pairwise(ends) if a < b]
    return [p for p in parts if shapely.contains(inside, shapely.Point(_middle(p)))]


def polygon_of(outlines: Sequence[Path], tolerance: float) -> shapely.Polygon:
    """An outline and its holes, flattened, as a polygon."""
    shell, *holes = (flat_of(outline, tolerance).points for outline in outlines)
    return shapely.Polygon(shell, holes)


def _middle(path: Path) -> Floats:
    k = len(path) // 2
    return paths.points_at(path, k, 0.5 if len(path) % 2 else 0.0)


def grainline_in(outlines: Sequence[Path], grain: tuple[XY, XY] | None) -> tuple[XY, XY] | None:
    """Draw the parent's grainline through the middle of a child, as long as it was or as fits into four fifths."""
    if grain is None:
        return None
    tail, head = np.array(grain[0]), np.array(grain[1])
    size = float(np.linalg.norm(head - tail))
    way = (head - tail) / size
    inside = polygon_of(outlines, 0.5)
    centre = shapely.centroid(inside)
    if not shapely.contains(inside, centre):
        centre = shapely.point_on_surface(inside)
    middle = np.array([centre.x, centre.y])
    reach = float(np.ptp(np.array(inside.exterior.coords), axis=0).sum())
    line = shapely.LineString([middle - reach * way, middle + reach * way])
    chords = [c for c in shapely.get_parts(shapely.intersection(line, inside)) if c.geom_type == "LineString"]
    chord = min(chords, key=lambda c: float(shapely.distance(c, centre)))
    along = (np.array(chord.coords) - middle) @ way
    half = min(size, 0.8 * float(along.max() - along.min())) / 2
    at = middle + way * (along.max() + along.min()) / 2
    a, b = at - half * way, at + half * way
    return (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
