"""Following an edge in a photo, as another way to draw round a garment: clicks in between, the edge between them.

The way of least cost over the picture, where strong edges are cheap (as Mortensen & Barrett, *Intelligent scissors for
image composition*, SIGGRAPH 1995), found by scikit-image's graph search in a box round each leg. OpenCV has a tool of
this kind, but it fails with a loop in its map on some pictures.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from skimage.graph import route_through_array

from swatches.errors import PictureError
from swatches.job import QUIET, Job, check

LONG_SIDE = 900


def follow_edge(photo: object, points: ArrayLike, *, close: bool = True, job: Job = QUIET) -> NDArray[np.float64]:
    """Lead an outline along the strongest edges through a few given points.

    Args:
        photo: a :class:`~swatches.photo.Photo` or an sRGB uint8 array (h, w, 3).
        points: px, shape (n, 2), n ≥ 2 (3 where it is closed).
        close: whether to go on from the last point to the first.
        job: told of progress.

    Returns:
        Points of the outline, px, shape (m, 2), about one per px of a picture of 900 px; given points among them.

    Raises:
        PictureError: too few points, or points off the photo.
    """
    pixels = np.ascontiguousarray(photo if isinstance(photo, np.ndarray) else photo.rgb8)  # type: ignore[attr-defined]
    given = np.asarray(points, np.float64)
    h, w = pixels.shape[:2]
    least = 3 if close else 2
    fits = given.ndim == 2 and given.shape[1:] == (2,) and len(given) >= least and bool(np.isfinite(given).all())
    if not fits or (given < 0).any() or (given > [w, h]).any():
        raise PictureError(
            "points along the edge",
            expected=f"at least {least} points in the photo",
            got=f"{len(given) if given.ndim == 2 else 0} points" if fits or given.ndim != 2 else "points off the photo",
            next_step="Click along the edge of the garment",
        )
    scale = min(1.0, LONG_SIDE / max(h, w))
    small = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else pixels
    size = np.array(small.shape[1::-1])
    cost = _cost(small)
    at = np.clip(np.floor(given * size / [w, h]), 0, size - 1).astype(int)
    legs = list(zip(range(len(at)), [*range(1, len(at)), 0], strict=True))[: None if close else -1]
    found = []
    for number, (a, b) in enumerate(legs):
        check(job)
        job.step("Following the edge", number / len(legs))
        found.append(given[a][None])
        if (at[a] == at[b]).all():
            continue
        reach = _bulge(at[a], at[b])
        low = np.maximum(np.minimum(at[a], at[b]) - int(reach), 0)
        high = np.minimum(np.maximum(at[a], at[b]) + int(reach) + 1, size)
        box = cost[low[1] : high[1], low[0] : high[0]] * _far(low, high, at[a], at[b], reach)
        way, _ = route_through_array(box, (at[a] - low)[::-1], (at[b] - low)[::-1], fully_connected=True)
        leg = np.array(way, np.float64)[:, ::-1] + low
        found.append(((leg + 0.5) * [w, h] / size)[1:-1])
    if not close:
        found.append(given[-1][None])
    return np.concatenate(found)


def _bulge(a: NDArray[np.intp], b: NDArray[np.intp]) -> float:
    """How far beyond the straight way between two clicks the edge may bulge, px."""
    return 8 + 0.3 * float(np.linalg.norm(a - b))


def _far(
    low: NDArray[np.intp], high: NDArray[np.intp], a: NDArray[np.intp], b: NDArray[np.intp], reach: float
) -> NDArray[np.float64]:
    """By how much more a step costs the farther it is from the straight way: what is pressed is meant.

    Else the way runs along whatever is strongest nearby, such as a wallpaper's pattern or a shelf of books.
    """
    y, x = np.mgrid[low[1] : high[1], low[0] : high[0]]
    along = (b - a) / np.linalg.norm(b - a)
    off = (x - a[0]) * along[1] - (y - a[1]) * along[0]
    return np.asarray(1 + (4 * off / reach) ** 2, np.float64)


def _cost(pixels: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Cost of a step: low on edges in any channel, compared with the picture's strong ones."""
    soft = cv2.GaussianBlur(pixels, (0, 0), 1.0).astype(np.float32)
    across, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    strength = cv2.GaussianBlur(np.hypot(across, down).max(axis=2), (0, 0), 0.7)
    strong = max(float(np.percentile(strength, 97)), 1e-3)
    return np.asarray(0.03 + np.exp(-3 * np.minimum(strength / strong, 1.5)), np.float64)
