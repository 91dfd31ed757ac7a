"""Tell cloth from the ground it lies on, by its difference from a ground whose colour changes slowly."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Lab = NDArray[np.float32]
Mask = NDArray[np.bool_]

SHADOW_SHARE = 0.35
"""Darkening counts this much: a shadow darkens without a change of colour."""
LEAST_DIFFERENCE = 6.0
MOST_SPREAD = 24.0
"""A ground whose own limit is above this (CIELAB) is no plain ground: cloth cannot be told from it."""
MOST_HOLES = 4


def ground_difference(lab: Lab, ground: Mask) -> tuple[NDArray[np.float32], float]:
    """How much each place differs from the ground, and the limit above which it is cloth.

    Args:
        lab: CIELAB, shape (h, w, 3).
        ground: places that are surely ground, shape (h, w); a few wrong ones do no harm.

    Returns:
        difference in Lab units, shape (h, w); limit: the larger of four times the ground's own spread and
        :data:`LEAST_DIFFERENCE`.
    """
    rows, columns = ground.shape
    y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1).astype(np.float32)
    thin = max(1, int(ground.sum()) // 20000)
    a, b = terms[ground][::thin].astype(np.float64), lab[ground][::thin].astype(np.float64)
    keep = np.ones(len(a), np.bool_)
    fit: NDArray[np.float64] = np.zeros((6, 3))
    for _ in range(4):
        fit = np.asarray(np.linalg.lstsq(a[keep], b[keep], rcond=None)[0], np.float64)
        off = np.sqrt(((b - a @ fit) ** 2).sum(axis=1))
        limit = 3 * float(np.median(off[keep])) / 0.6745 + 0.3
        keep = off < limit
        if keep.sum() < 30:
            break
    away = lab - (terms @ fit.astype(np.float32))
    light = np.where(away[..., 0] < 0, away[..., 0] * SHADOW_SHARE, away[..., 0])
    difference = np.sqrt(light**2 + away[..., 1] ** 2 + away[..., 2] ** 2)
    spread = float(np.median(difference[ground])) / 1.54  # median of the length of three equal normal deviates
    return np.asarray(difference, np.float32), max(4 * spread, LEAST_DIFFERENCE)


def cleaned(mask: Mask, reach_px: float) -> Mask:
    """Close gaps and open crumbs up to ``reach_px``."""
    size = 2 * max(1, round(reach_px)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    pad = size
    wide = np.pad(mask.astype(np.uint8), pad)
    wide = cv2.morphologyEx(cv2.morphologyEx(wide, cv2.MORPH_CLOSE, disc), cv2.MORPH_OPEN, disc)
    return np.asarray(wide[pad:-pad, pad:-pad], np.bool_)


def pieces(mask: Mask, least_piece_px: float, least_hole_px: float) -> tuple[Mask, tuple[str, ...]]:
    """Keep pieces and holes that are large enough.

    Many holes are no holes: they are a print with parts like the ground. They are filled, and it is said.

    Returns:
        the mask, and sentences for the person.
    """
    kept = _large(mask, least_piece_px)
    filled = np.asarray(ndimage.binary_fill_holes(kept), np.bool_)
    holes = _large(filled & ~kept, least_hole_px)
    count = int(ndimage.label(holes)[1])
    if count > MOST_HOLES:
        edge = float((kept ^ ndimage.binary_erosion(kept)).sum())
        around = float((filled ^ ndimage.binary_erosion(filled)).sum())
        said = "Parts of the cloth look like the ground: for an outline, lay it on another colour."
        return filled, (said,) if edge > 1.5 * around else ()
    return filled & ~holes, ()


def _large(mask: Mask, least: float) -> Mask:
    labels, _ = ndimage.label(mask)
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    return np.asarray((sizes >= least)[labels], np.bool_)


def lie_angle(mask: Mask) -> float:
    """How far a roughly rectangular cloth lies off square, degrees in −20..20, y down; 0 when it has no such shape."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return 0.0
    outline = max(contours, key=cv2.contourArea)
    (_, size, angle) = cv2.minAreaRect(outline)
    area = size[0] * size[1]
    if area <= 0 or cv2.contourArea(outline) < 0.86 * area:
        return 0.0
    angle = (angle + 45) % 90 - 45
    return float(angle) if abs(angle) <= 20 else 0.0
