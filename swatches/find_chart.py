"""A 24-patch colour chart: found in a photo, and what its patches say of the camera and the light.

The correction is a root-polynomial of degree 2 (Finlayson, Mackiewicz and Hurlbert, "Color correction using
root-polynomial regression", IEEE Trans. Image Processing 24, 2015): a brighter light changes only the scale of its
terms, never the colour. It is fitted by least squares in linear light, then towards the smallest CIELAB differences.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from swatches.colour import delta_e_2000, lab_to_linear, linear_to_lab, srgb_to_linear
from swatches.errors import Failure
from swatches.photo import Photo
from swatches.plane import homography, project

Floats = NDArray[np.float64]

CHART_LAB = np.array(
    [
        [37.31, 13.37, 14.58], [64.37, 18.02, 17.05], [49.62, -1.18, -22.17], [43.35, -14.64, 22.86],
        [55.18, 12.14, -24.57], [70.67, -31.94, 0.08], [62.11, 33.37, 55.76], [40.06, 16.26, -44.37],
        [50.06, 48.10, 15.60], [30.21, 24.39, -20.88], [71.52, -28.42, 58.85], [70.96, 14.75, 67.25],
        [29.15, 21.67, -48.74], [54.35, -42.68, 32.87], [41.82, 50.32, 27.36], [81.30, -1.87, 80.92],
        [50.40, 52.49, -14.82], [50.10, -24.98, -27.52], [95.17, -1.30, 2.92], [81.29, -0.61, 0.44],
        [66.90, -0.74, -0.05], [50.76, -0.14, 0.14], [35.64, -0.41, -0.47], [20.64, 0.11, -0.46],
    ]
)  # fmt: skip
"""CIELAB (D65) of the 24 patches, row by row from the dark skin tone to black: the maker's values since November 2014
(D50), adapted by Bradford's transform (colour-science)."""
_ZOOMS = (1200, 800, 1800, 500)
_GAMMAS = (1.0, 0.6, 1.6)
MOST_OFF = 25.0


@dataclass(frozen=True, slots=True, eq=False)
class ChartFound:
    """A chart in a photo.

    Attributes:
        corners_px: of its grid of patches, clockwise from the first patch, shape (4, 2).
        correction: (6, 3) root-polynomial from the photo's linear light to linear sRGB.
        left_over: mean CIEDE2000 of the patches after the correction.
    """

    corners_px: Floats
    correction: Floats
    left_over: float


def find_chart(photo: Photo, corners_px: Floats | None = None) -> ChartFound | Failure:
    """Find the chart and fit the correction.

    The detector is tried at several sizes and exposures, since one call finds the chart only every other time.

    Args:
        photo: the photo.
        corners_px: where the person says that the outer corners of the patches are, clockwise from dark skin.
    """
    tried = [corners_px] if corners_px is not None else _detected(photo)
    best: ChartFound | None = None
    for corners in tried:
        for turn in range(4):
            turned = np.roll(corners, turn, axis=0)
            measured = patches(photo, turned)
            if measured is None:
                continue
            rough = measured * (lab_to_linear(CHART_LAB[18:22]).mean() / max(float(measured[18:22].mean()), 1e-6))
            if float(delta_e_2000(linear_to_lab(np.clip(rough, 0, 1.5)), CHART_LAB).mean()) > 2 * MOST_OFF:
                continue
            correction = fit_correction(measured)
            off = float(delta_e_2000(linear_to_lab(np.clip(corrected(measured, correction), 0, 2)), CHART_LAB).mean())
            if best is None or off < best.left_over:
                best = ChartFound(turned, correction, off)
    if best is None or best.left_over > MOST_OFF / 3:
        return Failure(
            "No colour chart of 24 patches can be found in the photo",
            "Show the whole chart, flat and without glare, or mark its four corners",
        )
    return best


def patches(photo: Photo, corners_px: Floats) -> Floats | None:
    """Median linear light of the middle of each patch, shape (24, 3); None when it leaves the photo or is burnt out."""
    to_px = homography(np.array([[0.0, 0], [6, 0], [6, 4], [0, 4]]), corners_px)
    spots = np.linspace(-0.22, 0.22, 9)
    grid = np.stack(np.meshgrid(spots, spots), axis=-1).reshape(-1, 2)
    middles = np.array([(x + 0.5, y + 0.5) for y in range(4) for x in range(6)])
    px = project(to_px, (middles[:, None] + grid).reshape(-1, 2))
    width, height = photo.size
    if (px < 0).any() or (px[:, 0] >= width).any() or (px[:, 1] >= height).any():
        return None
    values = srgb_to_linear(photo.rgb[px[:, 1].astype(int), px[:, 0].astype(int)]).reshape(24, -1, 3)
    found = np.median(values.astype(np.float64), axis=1)
    return found if (found.min(axis=1) < 0.995).sum() >= 23 else None


def fit_correction(measured: Floats, truth_lab: Floats = CHART_LAB) -> Floats:
    """Fit the correction to measured patches (n, 3), linear light; shape (6, 3)."""
    terms = root_terms(measured)
    goal = lab_to_linear(truth_lab)
    weight = 1 / (goal @ np.array([0.2126, 0.7152, 0.0722]) + 0.04)  # about as lightness does, so that darks count too
    start = np.linalg.lstsq(terms * weight[:, None], goal * weight[:, None], rcond=None)[0]

    def error(p: Floats) -> Floats:
        made = terms @ p.reshape(6, 3)
        lab = linear_to_lab(np.maximum(made, -0.05))
        chroma = np.hypot(truth_lab[:, 1], truth_lab[:, 2])[:, None]
        off = lab - truth_lab
        return np.asarray((off / np.concatenate([np.ones_like(chroma), *[1 + 0.03 * chroma] * 2], axis=1)).ravel())

    fit = least_squares(error, start.ravel(), loss="soft_l1", f_scale=4.0, max_nfev=40)
    return np.asarray(fit.x.reshape(6, 3), np.float64)


def corrected(linear: NDArray[np.float64] | NDArray[np.float32], correction: Floats) -> Floats:
    """Apply a correction to linear light, shape (..., 3)."""
    return np.asarray(root_terms(linear) @ correction.astype(linear.dtype), linear.dtype)


def root_terms(linear: NDArray[np.float64] | NDArray[np.float32]) -> Floats:
    """The six terms r, g, b, √rg, √gb, √rb, shape (..., 6)."""
    r, g, b = (np.maximum(linear[..., i], 0) for i in range(3))
    return np.stack([r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)], axis=-1)


def _detected(photo: Photo) -> list[Floats]:
    found: list[Floats] = []
    bgr = cv2.cvtColor(photo.rgb8, cv2.COLOR_RGB2BGR)
    for long_side in _ZOOMS:
        zoom = long_side / max(bgr.shape)
        if zoom > 1.5:
            continue
        small = cv2.resize(bgr, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA if zoom < 1 else cv2.INTER_LINEAR)
        for gamma in _GAMMAS:
            table = np.rint(255 * (np.arange(256) / 255) ** gamma).astype(np.uint8)
            detector = cv2.mcc.CCheckerDetector.create()
            detector.setColorChartType(cv2.mcc.MCC24)
            if detector.process(cv2.LUT(small, table)):
                found += [
                    np.asarray(c.getBox(), np.float64).reshape(4, 2) / zoom for c in detector.getListColorChecker()
                ]
        if found:
            return found
    return found
