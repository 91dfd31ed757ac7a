"""Find the reference sheet in a photo: four markers, their edges to a fraction of a pixel, one fit with the lens."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from swatches import reference as ref
from swatches.colour import srgb_to_linear
from swatches.edges import EdgePoints, edge_points
from swatches.errors import Failure
from swatches.photo import Photo, Picture
from swatches.plane import Plane, homography, project, undistorted

Floats = NDArray[np.float64]

BLUR_REFUSED_MM = 1.6
BLUR_WARNED_MM = 0.7
K2_SPREAD = 0.0015
"""Much wider, and noise in the edges bends the photo's corners; much narrower, and a lens that really has it does
(measured: 100 mm at 200 mm from the sheet, worst of 20 views, 0.24 mm without a second term)."""
GLARE_RATIO = 0.45
"""Black that reflects more than this share of the white beside it lies under glare; printed black is below 0.1."""
_LADDER = (1600, 3000, 800)
_RETAKE = "Take the photo again from straight above, in daylight, with the whole sheet in view"


@dataclass(frozen=True, slots=True, eq=False)
class Marker:
    """One marker seen in a photo: its id and the points on its four sides (top, right, bottom, left), px."""

    id: int
    corners: Floats
    sides: tuple[EdgePoints, EdgePoints, EdgePoints, EdgePoints]


@dataclass(frozen=True, slots=True, eq=False)
class SheetFound:
    """A reference sheet found in a photo.

    Attributes:
        plane: photo px ↔ mm on the sheet, from the paper's top left corner, y down.
        paper: 'A4' or 'Letter'.
        markers: ids of the markers that were used.
        warnings: what a person should know, one sentence each.
    """

    plane: Plane
    paper: str
    markers: tuple[int, ...]
    warnings: tuple[str, ...] = ()


def find_sheet(photo: Photo, *, bar_mm: float = ref.BAR_MM) -> SheetFound | Failure:
    """Find the sheet. One hidden marker, tilt and lens distortion are coped with.

    Args:
        photo: the photo.
        bar_mm: what the person measured of the printed 100 mm bar.

    Returns:
        the sheet, or a :class:`Failure` that says what is wrong: none, two sheets, cut off, blurred, glare.
    """
    seen = find_markers(photo.rgb8, [i for ids in ref.SHEET_IDS.values() for i in ids])
    trouble = _two_sheets(seen)
    if trouble is not None:  # a failure is falsy
        return trouble
    if not seen:
        return _none_found(photo.rgb8)
    paper = next(name for name, ids in ref.SHEET_IDS.items() if seen[0].id in ids)
    truth = ref.marker_corners(paper)
    if len(seen) < 3:
        return _too_few(seen, truth, photo.size, photo.rgb8)
    plane, residual = fit_plane(seen, truth, photo.size)
    scale = plane.mm_per_px(np.array(ref.paper_size(paper)) / 2)
    blur = float(np.median([s.width_px for m in seen for s in m.sides])) * scale
    if blur > BLUR_REFUSED_MM:
        return Failure("The photo is blurred", "Hold the camera still, tap on the cloth to focus, and take it again")
    if residual > 1.0:
        again = find_markers(photo.rgb8, [m.id for m in seen], thorough=True)
        trouble = _two_sheets(again)
        return (
            trouble
            if trouble is not None
            else Failure(
                "The sheet does not lie flat, or is no print of ours", "Lay it on a table, flat, and take it again"
            )
        )
    warnings = _warnings(seen, truth, blur, bar_mm)
    return SheetFound(plane.scaled(bar_mm / ref.BAR_MM), paper, tuple(m.id for m in seen), warnings)


def find_markers(rgb: Picture, wanted: list[int], *, thorough: bool = False) -> list[Marker]:
    """Find markers and their edges; an id that is seen twice comes twice. Sorted by id, then by place.

    Args:
        rgb: the photo, sRGB, shape (h, w, 3).
        wanted: ids to look for.
        thorough: look at every scale and add up what is found, instead of stopping at the first four.
    """
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    best: list[tuple[int, Floats]] = []
    for zoom in dict.fromkeys(min(1.0, long_side / max(grey.shape)) for long_side in _LADDER):
        found = _detect(grey, zoom, wanted)
        if thorough:
            best += [m for m in found if all(np.abs(m[1] - b[1]).max() > 5 for b in best)]
        elif len(found) > len(best):
            best = found
        if not thorough and len({i for i, _ in best}) >= 4:
            break
    return [_with_edges(rgb, i, c) for i, c in sorted(best, key=lambda m: (m[0], float(m[1][0, 0])))]


def fit_plane(
    seen: list[Marker], truth: dict[int, Floats], size: tuple[int, int], *, k1_spread: float = 0.05
) -> tuple[Plane, float]:
    """Fit homography and the lens so that every marker edge lies on its line.

    Residuals are in mm on the sheet. ``k1_spread`` and :data:`K2_SPREAD` say how far from 0 the distortion of a phone's
    corrected picture is expected to be (our own choice); they keep the lens still where the markers cannot tell it.

    Returns:
        the plane, and the root mean square residual in mm.
    """
    px = np.concatenate([s.points for m in seen for s in m.sides])
    axis, line = (np.concatenate(v) for v in zip(*(_lines(m, truth[m.id]) for m in seen), strict=True))
    first = homography(
        undistorted(np.concatenate([m.corners for m in seen]), 0.0, size), np.concatenate([truth[m.id] for m in seen])
    )

    def error(p: Floats) -> Floats:
        k2 = p[9] if len(p) > 9 else 0.0
        mm = project(np.append(p[:8], 1.0).reshape(3, 3), undistorted(px, p[8], size, k2))
        off = np.where(axis == 0, mm[:, 0], mm[:, 1]) - line
        return np.concatenate([off, p[8:] / spreads[: len(p) - 8] * 0.01])

    spreads = np.array([k1_spread, K2_SPREAD])
    fit = (first / first[2, 2]).ravel()[:8]
    for _ in spreads:  # the second term only from where the first has settled: together they can run away
        begin = np.append(fit, 0.0)
        fit = least_squares(error, begin, x_scale="jac", loss="soft_l1", f_scale=0.1, max_nfev=60).x
    plane = Plane(np.append(fit[:8], 1.0).reshape(3, 3), float(fit[8]), size, float(fit[9]))
    off = np.abs(error(fit)[:-2])
    kept = off[off <= np.quantile(off, 0.95)]
    return plane, float(np.sqrt((kept**2).mean()))


def _lines(marker: Marker, corners: Floats) -> tuple[Floats, Floats]:
    """For each edge point of a marker: which coordinate its line fixes, and at what mm."""
    axis, line = [], []
    for side, (coordinate, corner) in zip(marker.sides, ((1, 0), (0, 1), (1, 2), (0, 3)), strict=True):
        axis.append(np.full(len(side.points), coordinate, np.float64))
        line.append(np.full(len(side.points), corners[corner, coordinate]))
    return np.concatenate(axis), np.concatenate(line)


def _detect(grey: Picture, zoom: float, wanted: list[int]) -> list[tuple[int, Floats]]:
    small = grey
    if zoom < 1:
        small = cv2.resize(grey, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    parameters.adaptiveThreshWinSizeMax = 53
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(ref.DICTIONARY), parameters)
    corners, ids, _ = detector.detectMarkers(small)
    if ids is None:
        return []
    ratio = np.array([grey.shape[1] / small.shape[1], grey.shape[0] / small.shape[0]])
    return [
        (int(i), (c.reshape(4, 2).astype(np.float64) + 0.5) * ratio)
        for i, c in zip(ids.ravel(), corners, strict=True)
        if int(i) in wanted
    ]


def _with_edges(rgb: Picture, marker_id: int, corners: Floats) -> Marker:
    side = float(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).mean())
    reach = float(np.clip(side / ref.MODULES * 0.6, 2.0, 40.0))
    pad = int(reach) + 3
    low = np.maximum(np.floor(corners.min(axis=0)).astype(int) - pad, 0)
    high = np.ceil(corners.max(axis=0)).astype(int) + pad
    crop = np.asarray(srgb_to_linear(rgb[low[1] : high[1], low[0] : high[0]]), np.float32)
    grey = np.ascontiguousarray(crop @ np.array([0.2126, 0.7152, 0.0722], np.float32))
    sides = []
    for _ in range(2):  # the second look starts from the edges of the first
        around = [(corners[i] - low, corners[(i + 1) % 4] - low) for i in range(4)]
        sides = [edge_points(grey, a, b, reach) for a, b in around]
        if min(len(s.points) for s in sides) >= 8:
            corners = _crossings([s.points for s in sides]) + low
    moved = [EdgePoints(s.points + low, s.dark, s.light, s.width_px) for s in sides]
    return Marker(marker_id, corners, (moved[0], moved[1], moved[2], moved[3]))


def _crossings(sides: list[Floats]) -> Floats:
    """Corners (top left, top right, bottom right, bottom left) where the straight lines through the sides meet."""
    lines = []
    for points in sides:
        vx, vy, x, y = cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.001).ravel().astype(float)
        lines.append(np.array([-vy, vx, vy * x - vx * y]))
    corners = []
    for i in range(4):
        meet = np.cross(lines[i - 1], lines[i])
        corners.append(meet[:2] / meet[2])
    return np.array(corners)


def _two_sheets(seen: list[Marker]) -> Failure | None:
    counts = Counter(m.id for m in seen)
    papers = {name for name, ids in ref.SHEET_IDS.items() if any(i in ids for i in counts)}
    if len(papers) > 1 or (counts and max(counts.values()) > 1):
        return Failure("There are two reference sheets in the photo", "Take one away and take the photo again")
    return None


def _too_few(seen: list[Marker], truth: dict[int, Floats], size: tuple[int, int], rgb: Picture) -> Failure:
    source = np.concatenate([m.corners for m in seen])
    target = np.concatenate([truth[m.id] for m in seen])
    to_px = homography(target, source)
    missing = [i for i in truth if i not in {m.id for m in seen}]
    outside = 0
    burnt = 0
    for i in missing:
        x, y = project(to_px, truth[i].mean(axis=0)[None])[0]
        if not (0 <= x < size[0] and 0 <= y < size[1]):
            outside += 1
        elif int(rgb[int(y), int(x)].min()) >= 250:
            burnt += 1
    said = f"Only {len(seen)} of the sheet's four corner markers can be seen"
    if outside:
        return Failure(f"{said}: the sheet is cut off", _RETAKE)
    if burnt:
        return Failure(f"{said}: glare lies on the sheet", "Turn away from the lamp or window that shines on it")
    return Failure(f"{said}", "Uncover the corners of the sheet, and take the photo again")


def _none_found(rgb: Picture) -> Failure:
    small = cv2.resize(rgb, None, fx=800 / max(rgb.shape), fy=800 / max(rgb.shape), interpolation=cv2.INTER_AREA)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY).astype(np.float32)
    fine = float((grey - cv2.GaussianBlur(grey, (0, 0), 2)).std())
    whole = float(grey.std())
    if (grey >= 252).mean() > 0.5:
        return Failure("The photo is burnt out by glare or too much light", _RETAKE)
    if whole > 8 and fine < 0.06 * whole:
        return Failure("The photo is blurred", "Hold the camera still, tap on the cloth to focus, and take it again")
    return Failure(
        "There is no reference sheet in the photo",
        "Print the sheet and lay the cloth on it, or say that there is none and mark the cloth",
    )


def _warnings(seen: list[Marker], truth: dict[int, Floats], blur: float, bar_mm: float) -> tuple[str, ...]:
    said = []
    if len(seen) < len(truth):
        said.append("One corner marker is hidden; the size is a little less certain.")
    if blur > BLUR_WARNED_MM:
        said.append(f"The photo is not quite sharp (edges are {blur:.1f} mm wide).")
    if any(s.dark > GLARE_RATIO * s.light for m in seen for s in m.sides if s.light > 0):
        said.append("Glare lies on a corner of the sheet; colours near it may be off.")
    if not 0.9 <= bar_mm / ref.BAR_MM <= 1.1:
        said.append("The bar was measured far from 100 mm: print the sheet again at 100 %.")
    return tuple(said)
