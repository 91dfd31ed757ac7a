"""A plain sheet of paper, or a card, as the reference: a rectangle of known size found by its edges."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from swatches.colour import srgb_to_linear
from swatches.edges import EdgePoints, edge_points
from swatches.errors import Failure
from swatches.photo import Photo, Picture
from swatches.plane import Plane, homography, project, undistorted

Floats = NDArray[np.float64]

CARD_MM = (85.60, 53.98)
"""ISO/IEC 7810 ID-1."""
MOST_BENT_MM = 1.2
MAX_TRIES = 12
_PROFILES = 160
_SEARCH_PX = 1000
_LEAST_SHARE = {"paper": 0.04, "card": 0.004}


def find_rectangle(
    photo: Photo, size_mm: tuple[float, float], kind: str, corners_px: Floats | None = None
) -> tuple[Plane, Floats, float] | Failure:
    """Find a rectangle of known size; it may lie on its side.

    Args:
        photo: the photo.
        size_mm: short or long side first, as it likes.
        kind: 'paper' (bright, large, distortion fitted) or 'card' (any colour, small, rounded corners).
        corners_px: where the person says that its corners are, clockwise from the top left, shape (4, 2).

    Returns:
        plane with its origin at the rectangle's top left corner as seen, its corners on the plane (clockwise from
        there, shape (4, 2)), and how far its edges are from straight (mm); or a failure with advice.
    """
    short, long = sorted(size_mm)
    name = "sheet of paper" if kind == "paper" else "card"
    ranked: list[tuple[float, Floats]] = []
    marked = [] if corners_px is None else [(np.asarray(corners_px, np.float64), 1.0)]
    for corners, filled in marked or _candidates(photo.rgb8, kind):
        wide, high = _sides(corners)
        off = abs(float(np.log(max(wide / high, high / wide) / (long / short))))
        if off < (0.22 if kind == "paper" else 0.15):
            ranked.append((filled - off, corners))
    ranked.sort(key=lambda pair: -pair[0])
    trouble = Failure(
        f"No {name} of {short:g} × {long:g} mm can be found in the photo",
        f"Show the whole {name} flat on a ground of another colour, or type the scale",
    )
    best: tuple[float, tuple[Plane, Floats, float]] | None = None
    for _, corners in ranked[:MAX_TRIES]:
        wide, high = _sides(corners)
        width, height = (long, short) if wide > high else (short, long)
        found = _edges(photo.rgb8, corners, 0.04 if kind == "paper" else 0.16)
        if min(len(e.points) for e in found) < 12:
            trouble = Failure(
                f"An edge of the {name} is covered or out of the photo", f"Show all four edges of the {name}"
            )
            continue
        plane, residual = _fit(found, (width, height), photo.size, fit_k1=kind == "paper")
        seen = sum(len(e.points) for e in found)
        if residual <= MOST_BENT_MM and (best is None or seen > best[0]):
            best = (seen, (plane, np.array([[0, 0], [width, 0], [width, height], [0, height]]), residual))
            if seen > 0.85 * 4 * _PROFILES:
                break
        elif residual > MOST_BENT_MM and best is None:
            trouble = Failure(f"The {name} does not lie flat", "Press it flat, and take the photo again")
    return trouble if best is None else best[1]


def _sides(corners: Floats) -> tuple[float, float]:
    """Mean length of the top and bottom side, and of the others, px."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    return float(sides[0] + sides[2]) / 2, float(sides[1] + sides[3]) / 2


def _candidates(rgb: Picture, kind: str) -> list[tuple[Floats, float]]:
    """Four-cornered shapes in the photo, px, clockwise from the top left, with how well they fill their corners."""
    zoom = min(1.0, _SEARCH_PX / max(rgb.shape))
    small = cv2.resize(rgb, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA) if zoom < 1 else rgb
    small = cv2.GaussianBlur(small, (0, 0), 1.5)
    lab = cv2.cvtColor(small, cv2.COLOR_RGB2LAB)
    masks = []
    light = lab[..., 0]
    for level in np.unique(np.quantile(light, np.linspace(0.1, 0.95, 12)).astype(int)):
        masks.append(light > level)
        if kind == "card":
            masks.append(light < level)
    paleness = 255 - np.hypot(lab[..., 1].astype(np.float32) - 128, lab[..., 2].astype(np.float32) - 128) * 3
    white = np.minimum(light.astype(np.float32), paleness)
    masks += [white > level for level in np.quantile(white, np.linspace(0.2, 0.95, 8))]
    if kind == "card":
        for channel in (1, 2):
            value = lab[..., channel]
            for level in np.unique(np.quantile(value, np.linspace(0.05, 0.95, 10)).astype(int)):
                masks += [value > level, value < level]
    area = small.shape[0] * small.shape[1]
    found = []
    for mask in masks:
        closed = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
        for contour in cv2.findContours(closed, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0]:
            corners = _four_corners(contour, _LEAST_SHARE[kind] * area, 0.97 * area)
            if corners is not None and _inside(corners[0], small.shape):
                found.append(((corners[0] + 0.5) / zoom, corners[1]))
    return found


def _inside(corners: Floats, shape: tuple[int, ...]) -> bool:
    """Whether no corner lies at the photo's border, where any bright ground ends."""
    margin = 0.008 * max(shape)
    top = np.array([shape[1], shape[0]]) - margin
    return bool((corners > margin).all() and (corners < top).all())


def _four_corners(contour: NDArray[np.int32], least: float, most: float) -> tuple[Floats, float] | None:
    hull = cv2.convexHull(contour)
    area = cv2.contourArea(hull)
    if not least < area < most:
        return None
    length = cv2.arcLength(hull, True)
    for tolerance in (0.02, 0.03, 0.045, 0.06):
        corners = cv2.approxPolyDP(hull, tolerance * length, True)
        if len(corners) == 4:
            points = corners[:, 0].astype(np.float64)
            filled = cv2.contourArea(contour) / max(cv2.contourArea(corners), 1.0)
            if not 0.9 < area / max(cv2.contourArea(corners), 1.0) < 1.1:
                return None
            along, then = points[1] - points[0], points[2] - points[1]
            if along[0] * then[1] - along[1] * then[0] < 0:
                points = points[::-1]
            start = int((points.sum(axis=1)).argmin())
            return np.roll(points, -start, axis=0), float(min(filled, 1.0))
    return None


def _edges(rgb: Picture, corners: Floats, trim: float) -> list[EdgePoints]:
    grey = np.asarray(srgb_to_linear(rgb), np.float32) @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    reach = float(np.clip(0.006 * max(rgb.shape), 5, 24))
    sides: list[EdgePoints] = []
    for wide in (2.0, 1.0):  # first a wide look, then close to where the edge turned out to be
        sides = []
        for i in range(4):
            a, b = corners[i], corners[(i + 1) % 4]
            sides.append(edge_points(grey, a, b, reach * wide, count=_PROFILES, trim=trim))
        if min(len(s.points) for s in sides) < 12:
            return sides
        corners = _meeting(sides)
    return sides


def _meeting(sides: list[EdgePoints]) -> Floats:
    lines = []
    for side in sides:
        vx, vy, x, y = cv2.fitLine(side.points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.001).ravel().astype(float)
        lines.append(np.array([-vy, vx, vy * x - vx * y]))
    meet = [np.cross(lines[i - 1], lines[i]) for i in range(4)]
    return np.array([m[:2] / m[2] for m in meet])


def _fit(
    sides: list[EdgePoints], size_mm: tuple[float, float], size: tuple[int, int], *, fit_k1: bool
) -> tuple[Plane, float]:
    """Homography and k1 so that every edge is straight and where it should be, in mm."""
    width, height = size_mm
    px = np.concatenate([s.points for s in sides])
    counts = [len(s.points) for s in sides]
    axis = np.repeat([1, 0, 1, 0], counts)
    line = np.repeat([0.0, width, height, 0.0], counts)
    corners = _meeting(sides)
    first = homography(undistorted(corners, 0.0, size), np.array([[0, 0], [width, 0], [width, height], [0, height]]))

    def error(p: Floats) -> Floats:
        k1 = p[8] if fit_k1 else 0.0
        mm = project(np.append(p[:8], 1.0).reshape(3, 3), undistorted(px, k1, size))
        return np.append(np.where(axis == 0, mm[:, 0], mm[:, 1]) - line, k1 * 0.2)

    start = np.append((first / first[2, 2]).ravel()[:8], 0.0)
    fit = least_squares(error, start, x_scale="jac", loss="soft_l1", f_scale=0.15, max_nfev=60)
    off = np.abs(error(fit.x)[:-1])
    kept = off[off <= np.quantile(off, 0.9)]
    plane = Plane(np.append(fit.x[:8], 1.0).reshape(3, 3), float(fit.x[8]) if fit_k1 else 0.0, size)
    return plane, float(np.sqrt((kept**2).mean()))
