"""Straight edges found to a fraction of a pixel, along lines that are known roughly."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class EdgePoints:
    """Points on one edge.

    Attributes:
        points: px, (0, 0) at the outer corner of the first pixel, shape (n, 2).
        dark, light: mean linear light on either side, 0..1.
        width_px: how wide the edge is (contrast over steepest slope); a measure of blur.
    """

    points: Floats
    dark: float
    light: float
    width_px: float


def edge_points(
    grey: NDArray[np.float32], start: Floats, end: Floats, reach: float, *, count: int = 48, trim: float = 0.12
) -> EdgePoints:
    """Locate an edge between two rough end points, dark on one side and light on the other.

    Each of ``count`` profiles runs ``reach`` px to both sides. Where the edge lies in it follows from the area under
    the profile: (light − value) summed, over (light − dark). That is exact for any symmetric blur, uses every sample,
    and needs no smoothing.

    Args:
        grey: linear light, shape (h, w).
        start: rough end of the edge, px, shape (2,).
        end: the other end.
        reach: half length of the profiles, px.
        count: number of profiles.
        trim: share of the edge left out at both ends, where corners round it.

    Returns:
        points in order from ``start``; profiles that leave the picture or show little contrast are left out.
    """
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    normal = np.array([-along[1], along[0]])
    t = np.linspace(trim, 1 - trim, count)
    feet = start + t[:, None] * (end - start)
    half = max(4, int(np.ceil(reach * 3)))
    offsets = np.linspace(-reach, reach, 2 * half + 1)
    places = feet[:, None] + offsets[None, :, None] * normal
    x, y = (np.ascontiguousarray(places[..., i] - 0.5, dtype=np.float32) for i in (0, 1))
    values = cv2.remap(grey, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=-9).astype(np.float64)
    inside = values.min(axis=1) >= 0
    plateau = max(2, int(len(offsets) * 0.2))
    first = np.median(values[:, :plateau], axis=1)
    last = np.median(values[:, -plateau:], axis=1)
    contrast = np.abs(last - first)
    typical = float(np.median(contrast[inside])) if inside.any() else 0.0
    good = inside & (contrast > 0.5 * typical) & (contrast > 0.01)
    if not good.any():
        return EdgePoints(np.zeros((0, 2)), 0.0, 0.0, np.inf)
    step = offsets[1] - offsets[0]
    share = (last[good, None] - values[good]) / (last - first)[good, None]
    # a sample stands for its cell; the two end cells are half cells of the trapezium rule
    where = -reach + step * (share.sum(axis=1) - 0.5 * (share[:, 0] + share[:, -1]))
    near = np.abs(where) < reach * 0.75
    points = (feet[good] + where[:, None] * normal)[near]
    mean = share.mean(axis=0)
    slope = float(np.abs(np.diff(mean)).max()) / step
    dark, light = sorted((float(np.median(first[good])), float(np.median(last[good]))))
    return EdgePoints(points, dark, light, 1 / max(slope, 1e-9))
