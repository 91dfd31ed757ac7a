"""The mirror line of a garment in a picture: how far it is tilted and where it stands."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

Bools = NDArray[np.bool_]

_SIDE = 360  # px on the long side, for the search
_MOST_TILT = 14.0
STRAIGHT_DEG = 0.3  # less tilt than this is left as it is: turning costs sharpness


@dataclass(frozen=True, slots=True)
class Mirror:
    """A mirror line.

    Attributes:
        tilt_deg: how far the garment is turned from upright, clockwise on screen.
        likeness: overlap of the garment with its mirror image, 0 to 1.
        sideways: overlap with its mirror image top to bottom, 0 to 1.
    """

    tilt_deg: float
    likeness: float
    sideways: float


def find_mirror(garment: Bools) -> Mirror:
    """Find the tilt of the mirror line of a silhouette.

    The mirror line of a symmetrical shape passes through its centre of mass, so only the angle is searched.

    Args:
        garment: True inside, shape (h, w), at least one True.
    """
    y, x = np.nonzero(garment.any(1))[0], np.nonzero(garment.any(0))[0]
    cut = garment[y[0] : y[-1] + 1, x[0] : x[-1] + 1].astype(np.float32)
    scale = min(1.0, _SIDE / max(cut.shape))
    small = cv2.resize(cut, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else cut
    moments = cv2.moments(small)
    centre = (moments["m10"] / moments["m00"], moments["m01"] / moments["m00"])
    side = int(np.hypot(*small.shape)) + 4

    def likeness(angle: float) -> float:
        turn = cv2.getRotationMatrix2D(centre, angle, 1.0)
        turn[:, 2] += side / 2 - 0.5 - np.array(centre)
        upright = cv2.warpAffine(small, turn, (side, side), flags=cv2.INTER_LINEAR)
        shared = float(cv2.sumElems(cv2.min(upright, cv2.flip(upright, 1)))[0])
        return shared / (2 * float(cv2.sumElems(upright)[0]) - shared)

    best, value = _best(lru_cache(likeness))
    sideways = max(likeness(90 + a) for a in (-8.0, -4.0, 0.0, 4.0, 8.0))
    return Mirror(float(best), float(value), float(sideways))


def _best(likeness: Callable[[float], float]) -> tuple[float, float]:
    step = 2.0
    angles = np.arange(-_MOST_TILT, _MOST_TILT + 1e-9, step)
    angle = float(angles[int(np.argmax([likeness(float(a)) for a in angles]))])
    while step > 0.06:
        step /= 2
        tries = [angle - step, angle, angle + step]
        angle = tries[int(np.argmax([likeness(a) for a in tries]))]
    # a parabola through three values half a degree apart evens out what single pixels do
    a, b, c = (likeness(angle + k * 0.5) for k in (-1, 0, 1))
    bend = a - 2 * b + c
    shift = 0.25 * (a - c) / bend if bend < -1e-9 else 0.0
    angle += float(np.clip(shift, -0.25, 0.25))
    return angle, likeness(angle)


def mirror_line_x(garment: Bools) -> float:
    """Give the x of the mirror line of an upright silhouette: the median of its rows' middles, px."""
    rows = garment.any(1)
    first = garment.argmax(1)[rows]
    last = garment.shape[1] - garment[:, ::-1].argmax(1)[rows]
    wide = (last - first) > 0.25 * float((last - first).max())
    return float(np.median((first + last)[wide]) / 2)


def turned(picture: NDArray[np.uint8], degrees: float) -> NDArray[np.uint8]:
    """Turn a picture counter-clockwise on screen about its middle; new corners continue the paper at the rim."""
    h, w = picture.shape[:2]
    turn = cv2.getRotationMatrix2D(((w - 1) / 2, (h - 1) / 2), degrees, 1.0)
    return np.asarray(
        cv2.warpAffine(picture, turn, (w, h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), np.uint8
    )
