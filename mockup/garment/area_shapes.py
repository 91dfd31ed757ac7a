"""The shapes of areas: their outlines, alone and taken together, and the borders where two meet.

From a scan they are traced in the label picture, here; from an SVG they are exact (:mod:`mockup.garment.picture_svg`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import cv2
import numpy as np

from mockup.garment.layout import Labels
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.trace import TOLERANCE_PX, trace_mask
from swatches.errors import GeometryError

Outline = tuple[Path, tuple[Path, ...]]


class Shapes(Protocol):
    """What is known exactly about areas, px of the whole picture."""

    def outlines(self) -> dict[int, Outline]:
        """Outline and holes by label, counter-clockwise as a person sees them."""

    def together(self, labels: Sequence[int]) -> Outline:
        """Outline and holes of areas taken together."""

    def borders(self, a: int, b: int) -> list[Floats]:
        """Where two areas meet, as rows of points, each (n, 2)."""


@dataclass(frozen=True, eq=False)
class TracedShapes:
    """The shapes of a label picture.

    Attributes:
        labels: shape (h, w).
        scale: px of the whole picture for one px of the labels.
        smooth_px: see :func:`~mockup.geometry.trace.trace_mask`, px of the labels.
    """

    labels: Labels
    scale: float = 1.0
    smooth_px: float = 0.0

    def outlines(self) -> dict[int, Outline]:
        """Outline and holes by label; labels too small to be traced are not there."""
        found = {}
        for i in np.unique(self.labels[self.labels > 0]).tolist():
            try:
                found[i] = self.together([i])
            except GeometryError:
                continue
        return found

    def together(self, labels: Sequence[int]) -> Outline:
        """Outline and holes of areas taken together.

        Raises:
            GeometryError: they are too small to be traced.
        """
        mine = np.isin(self.labels, list(labels))
        x, y, w, h = cv2.boundingRect(mine.view(np.uint8))
        traced = trace_mask(mine[y : y + h, x : x + w], tolerance=TOLERANCE_PX, smooth_px=self.smooth_px)
        if not traced:
            raise GeometryError("area", expected="an area with an outline", got="a speck", next_step="Leave it out")
        move = np.array([[self.scale, 0, x * self.scale], [0, self.scale, y * self.scale]])
        outer, *rest = (paths.reversed_path(paths.transformed(p, move)) for p in (traced[0][0], *traced[0][1]))
        return outer, tuple(rest)

    def borders(self, a: int, b: int) -> list[Floats]:
        """Where two areas meet: the cracks between their pixels, chained."""
        return [row * self.scale for row in _chained(_cracks(self.labels, a, b))]


def _cracks(labels: Labels, a: int, b: int) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Unit segments between pixels of two labels."""
    found = []
    left, right = labels[:, :-1], labels[:, 1:]
    for y, x in np.argwhere(((left == a) & (right == b)) | ((left == b) & (right == a))).tolist():
        found.append(((x + 1, y), (x + 1, y + 1)))
    up, down = labels[:-1], labels[1:]
    for y, x in np.argwhere(((up == a) & (down == b)) | ((up == b) & (down == a))).tolist():
        found.append(((x, y + 1), (x + 1, y + 1)))
    return found


def _chained(segments: list[tuple[tuple[int, int], tuple[int, int]]]) -> list[Floats]:
    """Join unit segments into rows of points; a closed one repeats its first point."""
    beside: dict[tuple[int, int], list[int]] = {}
    for k, ends in enumerate(segments):
        for point in ends:
            beside.setdefault(point, []).append(k)
    left = set(range(len(segments)))
    starts = [p for p, ks in beside.items() if len(ks) != 2] + list(beside)
    rows = []
    for start in starts:
        while any(k in left for k in beside[start]):
            row, at = [start], start
            while True:
                ways = [k for k in beside[at] if k in left]
                if not ways or (len(row) > 1 and len(beside[at]) != 2):
                    break
                left.discard(ways[0])
                a, b = segments[ways[0]]
                at = b if a == at else a
                row.append(at)
            rows.append(np.array(row, np.float64))
    return rows
