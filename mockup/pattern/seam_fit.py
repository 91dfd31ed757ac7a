"""Lay one piece's stitch line on another's by a rigid motion.

Kabsch's method (Acta Crystallographica A32, 1976, 922) on points at equal shares of arc length, with weights that even
out the greatest distance: so a seam is not refused for a fit that could be better.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.offset import right_normal
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler, length_of
from mockup.pattern.piece import Edge, Piece, mirrored
from mockup.pattern.walk import same_way
from swatches.errors import GeometryError

_SAMPLES = 129
_ROUNDS = 60
_EXACT_MM = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """How well two stitch lines lie on each other.

    Attributes:
        matrix: rigid motion of the second piece, shape (2, 3), after ``mirror``.
        mirror: whether the second piece is mirrored first.
        gap_mm: greatest opening between the two lines.
        overlap_mm: greatest overlap.
        apart_mm: greatest distance of matching points, lengthwise difference included.
        longer_mm: by how much the second line is longer than the first.
    """

    matrix: Floats
    mirror: bool
    gap_mm: float
    overlap_mm: float
    apart_mm: float
    longer_mm: float = 0.0


def fit(a: Piece, edge_a: str, b: Piece, edge_b: str) -> Fit:
    """Lay the second piece's edge on the first's.

    Raises:
        GeometryError: an edge that is not there, or two pieces cut right side up for different sides of the wearer.
    """
    first, second = edge_of(a, edge_a), edge_of(b, edge_b)
    mirror = bool(same_way(first, second))
    if mirror and (a.right_side_up or b.right_side_up):
        raise GeometryError(
            f"{a.name} and {b.name}",
            expected="two pieces of the same side of the wearer",
            got="one of each side, both cut right side up",
            next_step="Choose the piece of the other side",
        )
    moved = mirrored(b) if mirror else b
    target = _samples(first.path)
    source = _samples(paths.reversed_path(edge_of(moved, edge_b).path))
    matrix = evenly_laid(source, target)
    placed = source @ matrix[:, :2].T + matrix[:, 2]
    away = placed - target
    out = right_normal(_tangents(first.path))
    across = (away * out).sum(axis=1)
    return Fit(
        matrix,
        mirror,
        max(0.0, float(across.max())),
        max(0.0, float(-across.min())),
        float(np.linalg.norm(away, axis=1).max()),
        length_of(second.path) - length_of(first.path),
    )


def evenly_laid(source: Floats, target: Floats) -> Floats:
    """The rigid motion, shape (2, 3), whose greatest distance is least, to about a percent.

    Lawson's iteration (C. L. Lawson, thesis, UCLA 1961; from memory): least squares again and again, each point with
    its weight multiplied by its distance; the best of all rounds is kept.
    """
    weights = np.full(len(source), 1.0 / len(source))
    best, least = kabsch(source, target), np.inf
    for _ in range(_ROUNDS):
        matrix = kabsch(source, target, weights)
        away = np.linalg.norm(source @ matrix[:, :2].T + matrix[:, 2] - target, axis=1)
        if away.max() < least * (1 - 1e-12):
            best, least = matrix, float(away.max())
        if away.max() < _EXACT_MM:
            break
        weights = weights * away
        weights /= weights.sum()
    return best


def kabsch(source: Floats, target: Floats, weights: Floats | None = None) -> Floats:
    """The rotation and shift, shape (2, 3), that bring points onto others with the least squares; no mirroring."""
    w = np.full(len(source), 1.0 / len(source)) if weights is None else weights
    p, q = w @ source, w @ target
    u, _, vt = np.linalg.svd((source - p).T @ (w[:, None] * (target - q)))
    sign = np.diag([1.0, float(np.sign(np.linalg.det(vt.T @ u.T))) or 1.0])
    rotation = vt.T @ sign @ u.T
    return np.asarray(np.c_[rotation, q - rotation @ p])


def edge_of(piece: Piece, name: str) -> Edge:
    """Find an edge by name.

    Raises:
        GeometryError: there is none of that name.
    """
    try:
        return piece.edge(name)
    except KeyError:
        raise GeometryError(
            f"edge of {piece.name}",
            expected=" or ".join(e.name for e in piece.edges),
            got=name,
            next_step="Choose one of these edges",
        ) from None


def _samples(path: Path) -> Floats:
    ruler = Ruler(path)
    return np.array([ruler.point(d) for d in np.linspace(0, ruler.total, _SAMPLES)])


def _tangents(path: Path) -> Floats:
    ruler = Ruler(path)
    return np.array([paths.tangent(path, *ruler.locate(d)) for d in np.linspace(0, ruler.total, _SAMPLES)])
