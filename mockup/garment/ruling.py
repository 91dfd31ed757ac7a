"""Coloured ruling of the paper: blue or red lines, gone in the channel of their own colour where ink is not."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.ink import CONTRAST, Bools, Grey, flatten_light, paper_surface

LEFT_OUT = "The coloured lines of the paper were left out: look whether nothing that you drew is missing."

_SIDE = 1000  # px of the long side, where it is looked for
_LINES = 8  # parallel ones at the least, each this share of the long side, apart by that one
_LONG, _APART = 0.10, 0.012
_PARALLEL_DEG = 6.0  # a photo taken askew lets parallels run together
_INK_LEFT = 0.05  # of the coloured pixels: as much neutral ink there must be, or the colour is the drawing's


def without_ruling(pixels: NDArray[np.uint8], grey: Grey) -> Grey | None:
    """Give the grey picture without coloured ruling.

    Args:
        pixels: sRGB uint8, shape (h, w, 3), or grey.
        grey: the same in grey, shape (h, w).

    Returns:
        Uint8, shape (h, w); None where no such ruling is seen.
    """
    if pixels.ndim == 2:
        return None
    h, w = grey.shape
    scale = min(1.0, _SIDE / max(h, w))
    size = (max(1, round(w * scale)), max(1, round(h * scale)))
    small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    channels = [np.ascontiguousarray(small[..., k]) for k in range(3)]
    papers = [paper_surface(channel) for channel in channels]
    flat = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    paper = paper_surface(np.asarray(flat, np.uint8))
    flat = flatten_light(np.asarray(flat, np.uint8), paper)
    palest = np.maximum.reduce([flatten_light(c, p) for c, p in zip(channels, papers, strict=True)])
    dark, neutral = _lines(flat), _lines(palest)
    near = cv2.dilate(neutral.view(np.uint8), np.ones((3, 3), np.uint8)) > 0
    coloured = np.asarray(dark & ~near)
    if neutral.sum() < _INK_LEFT * coloured.sum() or not _is_ruled(coloured):
        return None
    full = np.zeros((h, w), np.uint8)
    for channel, own in zip(range(3), papers, strict=True):
        # each channel brought to the brightness of the grey picture's paper
        lift = cv2.resize(paper / own, (w, h), interpolation=cv2.INTER_LINEAR)
        full = np.maximum(full, cv2.multiply(pixels[..., channel], lift, dtype=cv2.CV_8U))
    return full


def _lines(flat: Grey) -> Bools:
    """What is darker than its surroundings, in a picture whose light is divided out."""
    return np.asarray(cv2.subtract(cv2.blur(flat, (25, 25)), flat) > CONTRAST)


def _is_ruled(coloured: Bools) -> bool:
    """Whether there are many long straight lines side by side."""
    side = max(coloured.shape)
    found = cv2.HoughLinesP(
        coloured.view(np.uint8), 1, np.pi / 360, round(0.05 * side), None, _LONG * side, 0.008 * side
    )
    if found is None:
        return False
    rows = np.asarray(found, np.float64).reshape(-1, 4)
    along = rows[:, 2:] - rows[:, :2]
    turn = np.rad2deg(np.arctan2(along[:, 1], along[:, 0]))
    off = np.abs((turn[:, None] - turn[None] + 90) % 180 - 90) < _PARALLEL_DEG
    most = int(off.sum(1).argmax())
    unit = along[most] / np.hypot(*along[most])
    middle = rows.reshape(-1, 2, 2).mean(1)[off[most]]
    places = np.sort(middle @ np.array([-unit[1], unit[0]]))
    return int((np.diff(places) > _APART * side).sum()) + 1 >= _LINES
