"""Notches of a file's piece: points or short strokes on their layer, taken to the stitch line that they mark."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.path import XY
from mockup.geometry.ruler import Ruler
from mockup.pattern.piece import Edge, Notch, Piece

_FLAT_MM = 0.02
_OFF_MM = 1.0  # our own choice: so far beside stitch line and cut line a mark still belongs to the edge
_CORNER_MM = 1.0
_TOGETHER_MM = 10.0  # our own choice: marks nearer to each other are one notch of two


def with_notches(piece: Piece, marks: Sequence[XY]) -> Piece:
    """Give a piece the notches that its file marks.

    Args:
        piece: on its stitch line, with the allowances that are known, in mm.
        marks: where the file has them, on the stitch line or the cut line, mm.

    Returns:
        The piece. A mark at a corner, or beside every edge, is no notch; two close together are one double notch.
    """
    lines = [shapely.LineString(paths.flatten(e.path, _FLAT_MM).points) for e in piece.edges]
    places: dict[str, list[float]] = {}
    for mark in marks:
        point = shapely.Point(mark)
        away = [_beside(line.distance(point), e) for line, e in zip(lines, piece.edges, strict=True)]
        k = int(np.argmin(away))
        edge, size = piece.edges[k], Ruler(piece.edges[k].path).total
        at = lines[k].project(point) / lines[k].length * size
        if away[k] <= _OFF_MM and _CORNER_MM < at < size - _CORNER_MM:
            places.setdefault(edge.name, []).append(at)
    notches = [Notch(name, at, count) for name, found in places.items() for at, count in _grouped(sorted(found))]
    return piece.with_(notches=(*piece.notches, *notches))


def _beside(away_mm: float, edge: Edge) -> float:
    """How far a mark is from the nearer of an edge's two lines."""
    return min(away_mm, abs(away_mm - edge.allowance_mm))


def _grouped(found: list[float]) -> list[tuple[float, int]]:
    groups: list[list[float]] = []
    for at in found:
        if groups and at - groups[-1][-1] <= _TOGETHER_MM:
            groups[-1].append(at)
        else:
            groups.append([at])
    return [(sum(g) / len(g), min(len(g), 2)) for g in groups]
