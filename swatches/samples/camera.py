"""A phone's camera looking at a flat table: pose, lens, daylight and sensor, for the rendered photos."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import linear_to_srgb8
from swatches.samples.grain import Plane, blur, noise
from swatches.samples.weave import Linear

K1 = -0.022
"""A point at radius r from the photo's middle, in units of half the diagonal, appears at r · (1 + K1 · r²)."""
LENS = 1.32  # focal length in picture heights


@dataclass(frozen=True, slots=True)
class Camera:
    """Where the camera is.

    Attributes:
        size_px: width and height of the photo.
        at_mm: the point of the table that it is held over, mm, y down.
        far_mm: its distance.
        tilt_deg: its tilt about the level and the upright axis.
        roll_deg: its turn.
    """

    size_px: tuple[int, int]
    at_mm: tuple[float, float]
    far_mm: float
    tilt_deg: tuple[float, float]
    roll_deg: float

    @property
    def matrix(self) -> NDArray[np.float64]:
        """Homography from mm of the table (y down) to ideal photo px, shape (3, 3)."""
        width, height = self.size_px
        ax, ay, az = np.deg2rad([*self.tilt_deg, self.roll_deg])
        turn_x = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
        turn_y = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
        turn_z = np.array([[np.cos(az), -np.sin(az), 0], [np.sin(az), np.cos(az), 0], [0, 0, 1]])
        turned = turn_z @ turn_x @ turn_y
        lens = LENS * max(width, height)
        middle = np.array([[lens, 0, width / 2], [0, lens, height / 2], [0, 0, 1]])
        moved = -turned[:, 0] * self.at_mm[0] - turned[:, 1] * self.at_mm[1]
        pose = np.stack([turned[:, 0], turned[:, 1], moved], axis=1)
        pose[2, 2] += self.far_mm
        return np.asarray(middle @ pose)


def daylight(shape: tuple[int, int], light_deg: float, rng: np.random.Generator) -> Plane:
    """Daylight from a window to one side, falling off across the table, with the soft shadow of the person."""
    h, w = shape
    y, x = np.mgrid[0 : h // 8 + 1, 0 : w // 8 + 1].astype(np.float32) * 8
    u, v = (x - w / 2) / w, (h / 2 - y) / w
    angle = np.deg2rad(light_deg)
    toward = u * np.cos(angle) + v * np.sin(angle)
    light = 1.0 / (1.0 - 0.42 * toward) ** 1.15
    light *= 1 - 0.10 * np.exp(-(((u + 0.25 * np.cos(angle)) / 0.5) ** 2 + ((v + 0.55) / 0.32) ** 2))
    light *= 1 + 0.012 * noise(light.shape, 26, rng)
    return np.asarray(cv2.resize(light.astype(np.float32), (w, h), interpolation=cv2.INTER_LINEAR), dtype=np.float32)


def shadow_of(cover: Plane, move: NDArray[np.float64], soft: float) -> Plane:
    """The cover moved by ``move`` px and blurred: where its shadow falls."""
    moved = cv2.warpAffine(cover, np.array([[1, 0, move[0]], [0, 1, move[1]]]), cover.shape[::-1])
    return blur(moved, soft)


def through_lens(plane: Linear, camera: Camera, origin_mm: float, mm_per_px: float) -> Linear:
    """Look at the table through the lens, at twice the size, then bring it down: no stair-steps, little aliasing.

    Args:
        plane: the table in linear light; its first pixel lies at (−origin_mm, −origin_mm).
        camera: where the camera is.
        origin_mm: see above.
        mm_per_px: scale of ``plane``.
    """
    over = 2
    width, height = camera.size_px
    half = np.hypot(width, height) / 2
    y, x = np.mgrid[0 : height * over, 0 : width * over].astype(np.float64)
    x, y = (x + 0.5) / over - width / 2, (y + 0.5) / over - height / 2
    bent = np.hypot(x, y) / half
    ideal = bent
    for _ in range(8):
        ideal = bent / (1 + K1 * ideal**2)
    factor = np.where(bent > 0, ideal / np.maximum(bent, 1e-9), 1)
    back = np.linalg.inv(camera.matrix)
    px = np.stack([x * factor + width / 2, y * factor + height / 2, np.ones_like(x)])
    mm = np.tensordot(back, px, axes=1)
    at = [((mm[k] / mm[2] + origin_mm) / mm_per_px - 0.5).astype(np.float32) for k in (0, 1)]
    soft = np.stack([blur(np.ascontiguousarray(plane[..., k]), 0.55) for k in range(3)], axis=-1)
    seen = cv2.remap(soft, at[0], at[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    return np.asarray(cv2.resize(seen, camera.size_px, interpolation=cv2.INTER_AREA), dtype=np.float32)


def developed(seen: Linear, warmth: float, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Exposure, white balance, corner fall-off, lens blur, photon and read noise, and the phone's sharpening."""
    height, width = seen.shape[:2]
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    radius = np.hypot(x - width / 2, y - height / 2) / (np.hypot(width, height) / 2)
    exposure = 0.80 / float(np.percentile(seen.max(axis=2), 97))
    seen = seen * (exposure * (1 - 0.13 * radius**2))[..., None]
    seen = seen * np.array([warmth, 1.0, 1 / warmth], np.float32)
    seen = np.stack([blur(np.ascontiguousarray(seen[..., k]), 0.5) for k in range(3)], axis=-1)
    grain = rng.standard_normal(seen.shape, dtype=np.float32)
    grain = np.stack([blur(np.ascontiguousarray(grain[..., k]), 0.55) * 1.6 for k in range(3)], axis=-1)
    seen = seen + grain * np.sqrt(np.clip(seen, 0, None) * 4.5e-5 + 1.2e-6)
    soft = np.stack([blur(np.ascontiguousarray(seen[..., k]), 1.1) for k in range(3)], axis=-1)
    return linear_to_srgb8(np.clip(seen + 0.35 * (seen - soft), 0, 1))
