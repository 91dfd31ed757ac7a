"""Style lines drawn as seams: a fine line with a slight shadow, on the body only."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from mockup.garment.view import PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.path import Path

Floats = NDArray[np.float32]
_FINE = 64  # cv2's fixed point: 6 bits of a pixel
_SHIFT = 6


def seam_strength(
    view: View, seams: Sequence[Path], size: tuple[int, int], width_px: float
) -> tuple[Floats, Floats] | None:
    """Draw seams.

    Args:
        view: the view; seams are drawn on its body, and under nothing that lies on it.
        seams: lines in px of the view's picture.
        size: width and height of the output.
        width_px: width of the line in the output.

    Returns:
        Strength of the line and of its shadow, float32 0..1, shape (h, w); None where there are no seams.
    """
    if not seams:
        return None
    k = np.array([[size[0] / view.size[0], 0, 0], [0, size[1] / view.size[1], 0]])
    line = np.zeros((size[1], size[0]), np.uint8)
    for seam in seams:
        flat = paths.flatten(paths.transformed(seam, k), 0.05).points
        shape = shapely.LineString(flat).buffer(max(width_px, 1.0) / 2, cap_style="flat")
        for part in getattr(shape, "geoms", [shape]):
            rings = [part.exterior, *part.interiors]
            _fill(line, [np.asarray(r.coords) for r in rings])
    body = np.zeros_like(line)
    outlines: list[PathXY] = [view.body.outline, *view.body.holes]
    _fill(body, [paths.flatten(paths.transformed(paths.from_tuples(o), k), 0.1).points for o in outlines])
    sigma = max(1.2, 1.6 * width_px)
    shadow = cv2.GaussianBlur(line, (0, 0), sigma)
    return _product(line, body), _product(shadow, body)


def _product(strength: NDArray[np.uint8], inside: NDArray[np.uint8]) -> Floats:
    return np.asarray(cv2.multiply(strength, inside, scale=1 / 255**2, dtype=cv2.CV_32F), np.float32)


def _fill(canvas: NDArray[np.uint8], rings: list[NDArray[np.float64]]) -> None:
    points = [np.round((ring - 0.5) * _FINE).astype(np.int32) for ring in rings]
    cv2.fillPoly(canvas, points, 255, cv2.LINE_AA, _SHIFT)
