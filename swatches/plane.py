"""Where the flat table is in a photo: maps between photo px and mm on it, with the lens's distortion.

Pixel points follow :class:`swatches.units.PxPoints`: (0, 0) is the outer corner of the first pixel, y down. Plane
points are mm, **y down**, as the photo shows them; what leaves for a lay is turned y up by :mod:`swatches.outline`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import srgb_to_linear
from swatches.units import PxPoints

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A plane seen by a camera whose lens distorts radially.

    With n = (px − centre) / half diagonal, an ideal point u is seen at n = u(1 + k1·|u|² + k2·|u|⁴) (Brown 1966), and
    ``matrix`` takes u to mm.

    Attributes:
        matrix: homography from undistorted normalised points to mm, shape (3, 3).
        k1: radial distortion, first term.
        size: width and height of the photo in px.
        k2: radial distortion, second term.
    """

    matrix: Floats
    k1: float
    size: tuple[int, int]
    k2: float = 0.0

    @property
    def centre(self) -> Floats:
        """The photo's centre in px, shape (2,)."""
        return np.array(self.size, np.float64) / 2

    @property
    def half_diagonal(self) -> float:
        """Half the photo's diagonal in px."""
        return float(np.hypot(*self.size) / 2)

    def to_mm(self, px: PxPoints | Floats) -> Floats:
        """Map photo points to the plane, shape (n, 2)."""
        return project(self.matrix, undistorted(np.asarray(px, np.float64), self.k1, self.size, self.k2))

    def to_px(self, mm: Floats) -> PxPoints:
        """Map points of the plane into the photo, shape (n, 2)."""
        flat = project(np.asarray(np.linalg.inv(self.matrix), np.float64), np.asarray(mm, np.float64))
        square = (flat**2).sum(axis=1, keepdims=True)
        bent = flat * (1 + square * (self.k1 + self.k2 * square))
        return PxPoints(bent * self.half_diagonal + self.centre)

    def mm_per_px(self, mm: Floats) -> float:
        """Mean scale at one point of the plane, given in mm, shape (2,)."""
        px = self.to_px(np.asarray(mm, np.float64)[None])
        step = np.array([[0, 0], [1, 0], [0, 1]], np.float64)
        there = self.to_mm(px + step)
        return float(np.sqrt(abs(np.linalg.det(there[1:] - there[0]))))

    def scaled(self, factor: float) -> Plane:
        """Give the plane with all lengths multiplied, as when the print was measured."""
        return Plane(np.diag([factor, factor, 1.0]) @ self.matrix, self.k1, self.size, self.k2)

    def turned(self, angle_deg: float) -> Plane:
        """Give the plane with its axes turned clockwise (as seen in the photo) about its origin."""
        c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
        return Plane(np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) @ self.matrix, self.k1, self.size, self.k2)

    def rectified(
        self, rgb: NDArray[Any], box: tuple[float, float, float, float], mm_per_px: float
    ) -> NDArray[np.float32]:
        """See a box of the plane (left, top, right, bottom, mm) from straight above, in linear light.

        Args:
            rgb: the photo, sRGB uint8 or uint16, shape (h, w, 3).
            box: what is looked at; places outside the photo come out black.
            mm_per_px: scale of the result.

        Returns:
            linear light, float32, shape (rows, columns, 3). Where the result is coarser than the photo, light is
            averaged, so that fine weave does not turn into false stripes.
        """
        left, top, right, bottom = box
        columns, rows = max(1, round((right - left) / mm_per_px)), max(1, round((bottom - top) / mm_per_px))
        coarse_x = np.linspace(0, columns, max(2, columns // 24 + 2))
        coarse_y = np.linspace(0, rows, max(2, rows // 24 + 2))
        grid = np.stack(np.meshgrid(left + coarse_x * mm_per_px, top + coarse_y * mm_per_px), axis=-1)
        px = self.to_px(grid.reshape(-1, 2)).reshape(grid.shape)
        # the part of the photo that is needed, with a border for interpolation
        low = np.maximum(np.floor(px.min(axis=(0, 1))).astype(int) - 4, 0)
        high = np.minimum(np.ceil(px.max(axis=(0, 1))).astype(int) + 4, self.size)
        if (high - low < 2).any():
            return np.zeros((rows, columns, 3), np.float32)
        shrink = mm_per_px / self.mm_per_px(np.array([(left + right) / 2, (top + bottom) / 2]))
        source, zoom = _linear_crop(rgb, low, high, shrink)
        maps = ((px - low) * zoom - 0.5).astype(np.float32)
        fine = _refined(maps, coarse_x, coarse_y, columns, rows)
        seen = cv2.remap(source, fine[..., 0], fine[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_CONSTANT)
        return np.asarray(np.maximum(seen, 0), np.float32)


def typed_plane(mm_per_px: float, size: tuple[int, int]) -> Plane:
    """A plane seen from straight above at a typed scale; mm run from the photo's top left corner."""
    half = float(np.hypot(*size) / 2)
    k = mm_per_px * half
    matrix = np.array([[k, 0, size[0] / 2 * mm_per_px], [0, k, size[1] / 2 * mm_per_px], [0, 0, 1]])
    return Plane(matrix, 0.0, size)


def undistorted(px: PxPoints | Floats, k1: float, size: tuple[int, int], k2: float = 0.0) -> Floats:
    """Normalised points with the lens's distortion taken out, shape (n, 2)."""
    n = (np.asarray(px, np.float64) - np.array(size) / 2) / (np.hypot(*size) / 2)
    k1 = float(np.clip(k1, -0.15, 0.3))  # beyond that the curve folds within the photo; a fit may try it on its way
    k2 = float(np.clip(k2, -0.05, 0.05))
    seen = np.linalg.norm(n, axis=1, keepdims=True)
    ideal = seen.copy()
    for _ in range(6):  # Newton on u(1 + k1 u² + k2 u⁴) = n; no lens that is used comes near the fold of this curve
        square = ideal**2
        slope = np.maximum(1 + square * (3 * k1 + 5 * k2 * square), 0.1)
        ideal -= (ideal * (1 + square * (k1 + k2 * square)) - seen) / slope
    return np.asarray(n * (ideal / np.maximum(seen, 1e-12)), np.float64)


def project(matrix: Floats, points: NDArray[Any]) -> Floats:
    """Apply a homography to points, shape (n, 2)."""
    out = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(out[:, :2] / out[:, 2:], np.float64)


def homography(source: Floats, target: Floats) -> Floats:
    """The homography through four or more pairs of points (direct linear transform), shape (3, 3)."""
    middle, spread = target.mean(axis=0), max(float(np.ptp(target)), 1e-9)
    goal = (target - middle) / spread
    rows = []
    for (x, y), (u, v) in zip(source, goal, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v]]
    matrix = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    back = np.array([[spread, 0, middle[0]], [0, spread, middle[1]], [0, 0, 1]])
    full = back @ matrix
    return np.asarray(full / full[2, 2], np.float64)


def _linear_crop(rgb: NDArray[Any], low: Any, high: Any, shrink: float) -> tuple[NDArray[np.float32], Floats]:
    crop = rgb[low[1] : high[1], low[0] : high[0]]
    if crop.dtype == np.uint8:
        table = np.asarray(srgb_to_linear(np.arange(256, dtype=np.uint8)), np.float32)
        linear = cv2.LUT(np.ascontiguousarray(crop), table)
    else:
        linear = np.asarray(srgb_to_linear(crop), np.float32)
    if shrink > 1.25:
        size = [max(2, round(n / shrink)) for n in (linear.shape[1], linear.shape[0])]
        zoom = np.array([size[0] / linear.shape[1], size[1] / linear.shape[0]])
        return cv2.resize(linear, size, interpolation=cv2.INTER_AREA), zoom
    return linear, np.ones(2)


def _refined(coarse: NDArray[np.float32], xs: Floats, ys: Floats, columns: int, rows: int) -> NDArray[np.float32]:
    """Interpolate a coarse map (values at the knots xs, ys) to the centres of all pixels, bilinearly."""
    x = (np.arange(columns) + 0.5) / columns * (len(xs) - 1)
    y = (np.arange(rows) + 0.5) / rows * (len(ys) - 1)
    gx, gy = np.meshgrid(x.astype(np.float32), y.astype(np.float32))
    return np.asarray(cv2.remap(coarse, gx, gy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32)
