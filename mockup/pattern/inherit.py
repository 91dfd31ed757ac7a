"""What a child takes from its parent: edges with everything they carry, notches, marks inside it, the grainline."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.cubics import as_complex
from mockup.geometry.faces import FacePart
from mockup.geometry.intersect import Position, intersections
from mockup.geometry.path import XY, Floats, Path
from mockup.geometry.ruler import fast_lengths, flat_of, length_of, polygon_of
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
    for edge, size in zip(ring, _sizes(tuple(ring)), strict=True):
        start, end = (first, 0.0), (first + len(edge.path), 0.0)
        low, high = max(part.start, start), min(part.end, end)
        if low < high and part.from_distance < before + size and part.to_distance > before:
            a, b = part.from_distance - before, part.to_distance - before
            whole_start, whole_end = low == start, high in (end, last)
            path = edge.path if whole_start and whole_end else _sub(edge.path, low, high, first)
            # Where the line meets the edge, its own point holds: 1e-14 mm apart would be a spike to a polygon library.
            path = paths.with_ends(
                path, part.path.start if low == part.start else None, part.path.end if high == part.end else None
            )
            kept = edge
            if path is not edge.path or not (whole_start and whole_end):
                start_name = edge.start_name if whole_start else cut_names[0]
                end_name = edge.end_name if whole_end else cut_names[1]
                kept = replace(edge, path=path, start_name=start_name, end_name=end_name)
            found.append((kept, Origin("", edge.name, edge.name, max(a, 0.0), min(b, size))))
        first = end[0]
        before += size
    return found


@lru_cache(maxsize=64)  # every part of a ring asks
def _sizes(ring: tuple[Edge, ...]) -> tuple[float, ...]:
    """Lengths of edges, measured together."""
    firsts = list(itertools.accumulate((len(e.path) for e in ring[:-1]), initial=0))
    lengths = fast_lengths(np.concatenate([e.path.cubics for e in ring]))
    return tuple(np.add.reduceat(lengths, firsts).tolist())


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
    for notch in piece.notches:
        for origin, name in zip(origins, names, strict=True):
            if origin.edge != notch.edge or not origin.from_mm - 1e-9 <= notch.distance_mm <= origin.to_mm + 1e-9:
                continue
            from_cut = [
                abs(notch.distance_mm - end)
                for end, cut in (
                    (origin.from_mm, origin.from_mm > 1e-9),
                    (origin.to_mm, origin.to_mm < length_of(piece.edge(notch.edge).path) - 1e-9),
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


def _middle(path: Path) -> Floats:
    k = len(path) // 2
    return paths.points_at(path, k, 0.5 if len(path) % 2 else 0.0)


def grainline_in(outlines: Sequence[Path], grain: tuple[XY, XY] | None) -> tuple[XY, XY] | None:
    """Draw the parent's grainline through the middle of a child, as long as it was or as fits into four fifths."""
    if grain is None:
        return None
    drawn = complex(*grain[1]) - complex(*grain[0])
    size = abs(drawn)
    way = drawn / size
    inside = polygon_of(outlines, 0.02)
    centre = shapely.centroid(inside)
    if not shapely.contains(inside, centre):
        centre = shapely.point_on_surface(inside)
    at = complex(centre.x, centre.y)
    met = np.concatenate([_met(flat_of(outline, 0.02).points, at, way) for outline in outlines])
    low, high = float(met[met < 0].max()), float(met[met >= 0].min())
    half = min(size, 0.8 * (high - low)) / 2
    a, b = (at + ((low + high) / 2 + end) * way for end in (-half, half))
    return (a.real, a.imag), (b.real, b.imag)


def _met(ring: Floats, at: complex, way: complex) -> Floats:
    """Where a straight line meets a closed polyline, as distances from ``at`` along the unit vector ``way``."""
    z = (as_complex(ring) - at) / way
    left = z.imag >= 0
    k = np.flatnonzero(left[1:] != left[:-1])
    a, b = z[k], z[k + 1]
    return np.asarray(a.real - a.imag * (b.real - a.real) / (b.imag - a.imag))
