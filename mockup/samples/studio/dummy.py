"""The dress form: a torso of elliptical slices, a neck with a wooden cap, a pole; the sleeves hang over soft arms.

World mm as in :mod:`mockup.samples.studio.sewn`. The shape is our own, a plain figure of about 104 cm chest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d

from mockup.geometry.path import Floats

# height, half width, half depth, middle of the depth
_SLICES = np.array(
    [
        (60, 53, 57, -4), (20, 54, 58, -5), (0, 62, 62, -6), (-18, 90, 68, -7), (-34, 132, 76, -8), (-50, 168, 86, -8),
        (-70, 190, 97, -7), (-100, 199, 107, -4), (-150, 202, 120, 1), (-210, 200, 131, 6), (-270, 192, 131, 7),
        (-340, 173, 120, 3), (-400, 162, 113, 0), (-460, 166, 115, -3), (-540, 190, 130, -6), (-620, 205, 138, -7),
        (-700, 208, 140, -7), (-780, 202, 136, -7), (-860, 190, 126, -7),
    ],
    dtype=np.float64,
)[::-1]  # fmt: skip
_HEIGHTS = np.arange(-860.0, 60.5, 1.0)
_TABLE = PchipInterpolator(_SLICES[:, 0], _SLICES[:, 1:])(_HEIGHTS)
_TABLE = gaussian_filter1d(_TABLE, 9.0, axis=0, mode="nearest")

_SPREAD = np.deg2rad(29.0)
ARM_DOWN: Floats = np.array([np.sin(_SPREAD), -np.cos(_SPREAD), 0.0])
ARM_OUT: Floats = np.array([np.cos(_SPREAD), np.sin(_SPREAD), 0.0])
SHOULDER: Floats = np.array([176.0, -100.0, -6.0])
ARM_MM = 372.0
_ARM_RADIUS = ((0.0, 48.0), (ARM_MM, 42.0))  # how far along, radius
SKIN_MM = 2.0  # half the thickness of cloth and form cover together


def slice_at(y: Floats) -> tuple[Floats, Floats, Floats]:
    """Half width, half depth and middle of the torso's slices at heights ``y``."""
    w, d, m = (np.interp(y, _HEIGHTS, _TABLE[:, k]) for k in (0, 1, 2))
    return w, d, m


def push_out(p: NDArray[np.float64]) -> tuple[Floats, NDArray[np.bool_]]:
    """Move points that are in the form or an arm to its surface.

    Returns:
        The moved points, shape (n, 3), and which of them touch.
    """
    moved = p.copy()
    w, d, m = slice_at(p[:, 1])
    w, d = w + SKIN_MM, d + SKIN_MM
    reach = np.sqrt((p[:, 0] / w) ** 2 + ((p[:, 2] - m) / d) ** 2)
    inside = (reach < 1) & (p[:, 1] < 58) & (p[:, 1] > -858)
    q = p[inside]
    if len(q):
        step = 2.0
        w1, d1, m1 = slice_at(q[:, 1] + step)
        w1, d1 = w1 + SKIN_MM, d1 + SKIN_MM
        r0 = np.maximum(reach[inside], 1e-3)
        r1 = np.sqrt((q[:, 0] / w1) ** 2 + ((q[:, 2] - m1) / d1) ** 2)
        slope = np.stack(
            [q[:, 0] / (w[inside] ** 2 * r0), (r1 - r0) / step, (q[:, 2] - m[inside]) / (d[inside] ** 2 * r0)], axis=1
        )
        size = np.maximum((slope**2).sum(axis=1), 1e-9)
        shift = np.clip((1 - r0) / size, 0, 30 / np.sqrt(size))
        moved[inside] = q + shift[:, None] * slope
    touching = inside
    for sign in (1.0, -1.0):
        local = moved * np.array([sign, 1.0, 1.0]) - SHOULDER
        along = np.clip(local @ ARM_DOWN, 0, ARM_MM)
        off = local - along[:, None] * ARM_DOWN
        far = np.linalg.norm(off, axis=1)
        radius = np.interp(along, *np.transpose(_ARM_RADIUS)) + SKIN_MM
        hit = far < radius
        if hit.any():
            out = local[hit] + off[hit] * ((radius[hit] - far[hit]) / np.maximum(far[hit], 1e-6))[:, None]
            moved[hit] = (out + SHOULDER) * np.array([sign, 1.0, 1.0])
            touching = touching | hit
    return moved, touching
