"""Bring the free ends of a line into a piece's corner when they come near one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.cubics import as_points
from mockup.geometry.intersect import intersections
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import polygon_of
from mockup.geometry.similar import similar
from mockup.pattern.piece import Piece
from mockup.split.split import Anchor

SNAP_MM = 2.0
TOLERANCE_MM = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class CutLine:
    """A line to cut along, in the piece's own mm, y up.

    Attributes:
        id: the style line's id.
        name: its name, which the new edges take.
        path: it may overshoot the piece, end on an edge or on another line, or be closed in itself.
        start: where its first point was typed to be, or None when it was drawn freely.
        end: the same for its last point.
        on_top: whether what it encloses is sewn onto the piece, which stays whole, instead of being let into it.
    """

    id: str
    name: str
    path: Path
    start: Anchor | None = None
    end: Anchor | None = None
    on_top: bool = False


def snapped(line: CutLine, piece: Piece, outline: Path) -> tuple[Path, list[str]]:
    """Move ends that were not typed into a corner within 2 mm; gives the line and what was done, in sentences."""
    path = line.path
    if path.closed:
        return path, []
    crossings = intersections(path, outline)
    if not crossings:
        return path, []
    joints = np.array([edge.path.ends[0] for edge in piece.edges])
    met = np.array([paths.point_at(path, crossings[k][0]) for k in (0, -1)])
    gaps = np.abs(joints - met[:, None])
    if not ((gaps <= SNAP_MM) & (gaps >= 1e-9)).any():
        return path, []
    corners, reached = as_points(joints), as_points(met)
    inside = polygon_of([outline], TOLERANCE_MM)
    ends: list[Floats] = []
    notes: list[str] = []
    moved: list[int] = []
    for anchor, at, tip, away in (
        (line.start, reached[0], path.start, gaps[0]),
        (line.end, reached[1], path.end, gaps[1]),
    ):
        k = int(np.argmin(away))
        # Where the tip is inside, this end does not reach the outline and has nothing to do with the corner.
        far = len(crossings) == 1 and np.linalg.norm(tip - at) > SNAP_MM and _inside(inside, tip)
        between = f"the corner between {piece.edges[k - 1].name} and {piece.edges[k].name}"
        if away[k] > SNAP_MM or away[k] < 1e-9 or far:
            ends.append(at)
        elif anchor is not None:
            notes.append(f"{line.name} ends {away[k]:.2g} mm from {between}, as typed; it is left there.")
            ends.append(at)
        else:
            notes.append(f"{line.name} ended {away[k]:.2g} mm from {between} and now ends in it.")
            ends.append(corners[k])
            moved.append(k)
    if not moved:
        return path, notes
    if len(moved) == 2 and (moved[0] - moved[1]) % len(corners) in (0, 1, len(corners) - 1):
        return path, []  # both ends would go to one edge: what the line cuts off is a sliver, and is refused as one
    first = crossings[0][0] if not _inside(inside, path.start) else (0, 0.0)
    last = crossings[-1][0] if not _inside(inside, path.end) else (len(path) - 1, 1.0)
    if first >= last:
        return path, []
    body = paths.sub_path(path, first, last)
    start = ends[0] if first != (0, 0.0) or _on(crossings[0][0], first) else body.start
    end = ends[1] if last != (len(path) - 1, 1.0) or _on(crossings[-1][0], last) else body.end
    return similar(body, start, end), notes


def _on(a: tuple[int, float], b: tuple[int, float]) -> bool:
    return abs((a[0] + a[1]) - (b[0] + b[1])) < 1e-9


def _inside(polygon: shapely.Polygon, point: Floats) -> bool:
    return bool(shapely.contains_xy(polygon, *point))
