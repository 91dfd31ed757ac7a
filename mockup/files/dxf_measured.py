"""Seam allowances of a piece that a file draws with both its lines: how far its cut line runs from its stitch line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.geometry.ruler import Ruler
from mockup.pattern.piece import Edge, EdgeKind, Piece
from swatches.units import MM_PER_INCH, Length

_FLAT_MM = 0.02
_ALIKE_MM = 0.25  # how much the distance may differ along one edge: files' curves are polylines
_WIDEST_MM = 80.0  # our own choice: two lines farther apart are no allowance
_SHARES = np.linspace(0.2, 0.8, 7)  # of an edge: corners reach out farther, and are cut off
_SNAP_MM = 0.03


def with_measured_allowances(piece: Piece, cut_lines: Sequence[Path]) -> Piece | None:
    """Give a piece the allowances that its file draws.

    Args:
        piece: on its stitch line, without allowances, in mm.
        cut_lines: closed outlines of the same block, in mm.

    Returns:
        The piece, each edge with the distance of the one cut line round it; None where there is no such line, or where
        its distance changes along an edge: then nothing is known, and a person has to say.
    """
    stitch = _area(piece.outline)
    round_it = [cut for path in cut_lines if (cut := _area(path)) is not None and stitch is not None]
    round_it = [cut for cut in round_it if cut.buffer(_ALIKE_MM).covers(stitch)]
    if len(round_it) != 1:
        return None
    line = round_it[0].exterior
    edges = [_measured(edge, line) for edge in piece.edges]
    return None if None in edges else piece.with_(edges=tuple(edges))


def _area(path: Path) -> Polygon | None:
    points = paths.flatten(path, _FLAT_MM).points
    if len(points) < 4 or float(np.linalg.norm(points[0] - points[-1])) > _ALIKE_MM:
        return None
    area = Polygon(points)
    return area if area.is_valid and area.area > 0 else None


def _measured(edge: Edge, line: shapely.LinearRing) -> Edge | None:
    ruler = Ruler(edge.path)
    away = shapely.distance(shapely.points([ruler.point(ruler.total * s) for s in _SHARES]), line)
    if np.ptp(away) > _ALIKE_MM or away.max() > _WIDEST_MM:
        return None
    found = _as_typed(float(np.median(away)))
    if not found.number:
        return edge
    text = "" if found.unit == "mm" else str(found)
    return replace(edge, kind=EdgeKind.SEAM, allowance_mm=found.mm, allowance_text=text)


def _as_typed(mm: float) -> Length:
    """The width that somebody will have typed: half mm or sixteenths of an inch where it is one, else as measured."""
    for step, unit in ((Fraction(1, 2), 1.0), (Fraction(1, 16), MM_PER_INCH)):
        count = round(mm / unit / float(step))
        if abs(float(count * step) * unit - mm) <= _SNAP_MM:
            return Length(count * step, "mm" if unit == 1.0 else "in")
    return Length(Fraction(round(mm * 100), 100))
