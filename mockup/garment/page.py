"""The sheet of paper in a photographed drawing: what lies round it is a table, not ink."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]

_SIDE = 400
_LEAST, _MOST = 0.2, 0.985  # of the picture: size of a sheet
_SOLID = 0.9  # of its convex hull
_INSET = 0.012  # of the long side: the sheet's own edge and its shadow stay out


def without_table(grey: Grey) -> Grey:
    """Paint over a dark table round a sheet of paper with the paper's own brightness, led on outward.

    Args:
        grey: uint8, shape (h, w).

    Returns:
        The picture itself where there is no dark rim round a bright, nearly convex sheet.
    """
    h, w = grey.shape
    scale = min(1.0, _SIDE / max(h, w))
    small = cv2.resize(grey, (max(1, round(w * scale)), max(1, round(h * scale))), interpolation=cv2.INTER_AREA)
    sheet = _sheet(small)
    if sheet is None:
        return grey
    weight = sheet.astype(np.float32)
    value = small.astype(np.float32) * weight
    fill = np.zeros_like(value)
    total = np.zeros_like(value)
    for sigma, part in ((6.0, 1.0), (30.0, 1e-2), (150.0, 1e-4)):
        fill += part * cv2.GaussianBlur(value, (0, 0), sigma)
        total += part * cv2.GaussianBlur(weight, (0, 0), sigma)
    fill /= np.maximum(total, 1e-9)
    soft = cv2.resize(cv2.GaussianBlur(weight, (0, 0), 1.0), (w, h), interpolation=cv2.INTER_LINEAR)
    led_on = cv2.resize(fill, (w, h), interpolation=cv2.INTER_LINEAR)
    return np.asarray(np.rint(led_on + soft * (grey - led_on)), np.uint8)


def _sheet(small: Grey) -> NDArray[np.bool_] | None:
    """Inside of the sheet in a small picture, or None."""
    bright = cv2.morphologyEx(small, cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (13, 13)))
    _, above = cv2.threshold(cv2.GaussianBlur(bright, (0, 0), 2), 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    rim = np.concatenate([above[0], above[-1], above[:, 0], above[:, -1]])
    if rim.mean() > 0.5:
        return None
    count, part, stats, _ = cv2.connectedComponentsWithStats(above, connectivity=4)
    if count < 2:
        return None
    best = 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())
    share = stats[best, cv2.CC_STAT_AREA] / small.size
    page = (part == best).astype(np.uint8)
    if not _LEAST < share < _MOST or bright[page > 0].mean() < 1.6 * bright[page == 0].mean():
        return None
    contours, _ = cv2.findContours(page, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    ring = max(contours, key=cv2.contourArea)
    hull = cv2.convexHull(ring)
    if cv2.contourArea(ring) < _SOLID * cv2.contourArea(hull):
        return None
    inside = np.zeros_like(page)
    cv2.fillConvexPoly(inside, hull, 1)
    inset = 2 * max(1, round(_INSET * max(small.shape))) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (inset, inset))
    return np.asarray(cv2.erode(inside, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0) > 0)
