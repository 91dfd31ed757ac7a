"""Style lines drawn as seams: a fine line with a slight shadow, on the body only."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from mockup.colourways.laying import Window
from mockup.colourways.tiles import digest
from mockup.garment.view import PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.path import Path

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]
_FINE = 64  # cv2's fixed point: 6 bits of a pixel
_SHIFT = 6


@dataclass(frozen=True, slots=True, eq=False)
class Sewn:
    """Seams at the output's size, cut to where they are.

    Attributes:
        line: strength of the line, 0..255, shape (h, w).
        shadow: strength of its shadow, 0..255, shape (h, w).
        left: px of the output where they begin.
        top: px of the output where they begin.
    """

    line: RGB
    shadow: RGB
    left: int
    top: int

    def within(self, window: Window) -> SewnHere | None:
        """Seams in a window of the output (left, top, right, bottom); None where there are none."""
        h, w = self.line.shape
        x0, y0 = max(window[0], self.left), max(window[1], self.top)
        x1, y1 = min(window[2], self.left + w), min(window[3], self.top + h)
        if x0 >= x1 or y0 >= y1:
            return None
        here = np.s_[y0 - self.top : y1 - self.top, x0 - self.left : x1 - self.left]
        if not self.shadow[here].any() and not self.line[here].any():
            return None
        return SewnHere(self.line[here], self.shadow[here], window, (x0, y0, x1, y1))


@dataclass(frozen=True, slots=True, eq=False)
class SewnHere:
    """Seams in a window of the output, and the box of the output that they fill of it."""

    of_line: RGB
    of_shadow: RGB
    window: Window
    box: Window

    @property
    def line(self) -> Floats:
        """Strength of the line, 0..1, in the whole window."""
        return self._whole(self.of_line)

    @property
    def shadow(self) -> Floats:
        """Strength of the shadow, 0..1, in the whole window."""
        return self._whole(self.of_shadow)

    @property
    def fingerprint(self) -> Hashable:
        """What tells these seams from others; the shadow follows from the line beside it, which may be outside."""
        return self.box, digest(self.of_line), digest(self.of_shadow)

    def _whole(self, strength: RGB) -> Floats:
        left, top, right, bottom = self.window
        x0, y0, x1, y1 = self.box
        whole = np.zeros((bottom - top, right - left), np.float32)
        whole[y0 - top : y1 - top, x0 - left : x1 - left] = cv2.multiply(strength, 1.0, scale=1 / 255, dtype=cv2.CV_32F)
        return whole


def sewn(view: View, seams: Sequence[Path], size: tuple[int, int], width_px: float) -> Sewn | None:
    """Draw seams.

    Args:
        view: the view; seams are drawn on its body, and under nothing that lies on it.
        seams: lines in px of the view's picture.
        size: width and height of the output.
        width_px: width of the line in the output.

    Returns:
        The seams; None where there are none in the picture.
    """
    if not seams:
        return None
    k = np.array([[size[0] / view.size[0], 0, 0], [0, size[1] / view.size[1], 0]])
    flat = [paths.flatten(paths.transformed(seam, k), 0.05).points for seam in seams]
    sigma = max(1.2, 1.6 * width_px)
    reach = width_px + 3 * sigma + 1
    low = np.floor(np.min([f.min(axis=0) for f in flat], axis=0) - reach).astype(int)
    high = np.ceil(np.max([f.max(axis=0) for f in flat], axis=0) + reach).astype(int)
    left, top = (int(v) for v in np.clip(low, 0, size))
    right, bottom = (int(v) for v in np.clip(high, 0, size))
    if left >= right or top >= bottom:
        return None
    line = np.zeros((bottom - top, right - left), np.uint8)
    for points in flat:
        shape = shapely.LineString(points - (left, top)).buffer(max(width_px, 1.0) / 2, cap_style="flat")
        for part in getattr(shape, "geoms", [shape]):
            _fill(line, [np.asarray(r.coords) for r in (part.exterior, *part.interiors)])
    body = np.zeros_like(line)
    outlines: list[PathXY] = [view.body.outline, *view.body.holes]
    rings = [paths.flatten(paths.transformed(paths.from_tuples(o), k), 0.1).points - (left, top) for o in outlines]
    _fill(body, rings)
    shadow = cv2.GaussianBlur(line, (0, 0), sigma)
    return Sewn(_inside(line, body), _inside(shadow, body), left, top)


def _inside(strength: NDArray[np.uint8], body: NDArray[np.uint8]) -> RGB:
    return np.asarray(cv2.multiply(strength, body, scale=1 / 255), np.uint8)


def _fill(canvas: NDArray[np.uint8], rings: list[NDArray[np.float64]]) -> None:
    points = [np.round((ring - 0.5) * _FINE).astype(np.int32) for ring in rings]
    cv2.fillPoly(canvas, points, 255, cv2.LINE_AA, _SHIFT)
