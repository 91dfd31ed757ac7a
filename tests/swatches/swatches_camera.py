"""A camera of the tests' own: it photographs a flat scene. It shares no code with what it tests.

Pinhole camera with a rotation and a place; lens distortion in the usual *forward* sense (ideal → distorted,
x_d = x(1 + k·r² + k2·r⁴), Brown 1966), of which the code under test knows only the first term; vignetting, a slope of
light, tint, shot and read noise; exposure by the scene's brightest part; sRGB coding written out here again.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np


@dataclass(frozen=True)
class Camera:
    """Where the camera is and what it does. Lengths mm; the scene lies in z = 0, its origin at its top left corner."""

    size: tuple[int, int]
    focal_px: float
    rotation: np.ndarray
    place: np.ndarray
    k: float = 0.0
    k2: float = 0.0

    def project(self, mm: np.ndarray) -> np.ndarray:
        """Scene mm (n, 2), y down → photo px (n, 2), (0, 0) at the outer corner of the first pixel."""
        world = np.column_stack([mm, np.zeros(len(mm))])
        cam = (world - self.place) @ self.rotation.T
        ideal = cam[:, :2] / cam[:, 2:]
        r2 = (ideal**2).sum(axis=1, keepdims=True) * (self.focal_px / (np.hypot(*self.size) / 2)) ** 2
        return ideal * (1 + self.k * r2 + self.k2 * r2**2) * self.focal_px + np.array(self.size) / 2

    def back(self, px: np.ndarray) -> np.ndarray:
        """Photo px → scene mm, the distortion undone by fixed-point iteration."""
        distorted = (px - np.array(self.size) / 2) / self.focal_px
        scale = (self.focal_px / (np.hypot(*self.size) / 2)) ** 2
        ideal = distorted.copy()
        for _ in range(8):
            r2 = (ideal**2).sum(axis=-1, keepdims=True) * scale
            ideal = distorted / (1 + self.k * r2 + self.k2 * r2**2)
        ray = np.concatenate([ideal, np.ones((*ideal.shape[:-1], 1))], axis=-1) @ self.rotation
        t = -self.place[2] / ray[..., 2]
        return (self.place + ray * t[..., None])[..., :2]


def looking_at(
    target_mm,
    *,
    size=(2000, 1500),
    width_mm=420.0,
    tilt_deg=0.0,
    towards_deg=0.0,
    roll_deg=0.0,
    k=0.0,
    k2=0.0,
    focal=1.05,
) -> Camera:
    """A camera that looks at a point of the scene and sees about ``width_mm`` across, tilted off the vertical."""
    focal_px = focal * size[0]
    distance = width_mm * focal
    tilt, towards, roll = np.radians([tilt_deg, towards_deg, roll_deg])
    offset = distance * np.array([np.sin(tilt) * np.cos(towards), np.sin(tilt) * np.sin(towards), -np.cos(tilt)])
    target = np.array([*target_mm, 0.0])
    place = target + offset
    forward = (target - place) / np.linalg.norm(target - place)
    right = np.cross(np.array([0.0, 1.0, 0.0]), forward)
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    turn = np.array([[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    return Camera(size, focal_px, turn @ np.stack([right, down, forward]), place, k, k2)


def random_camera(rng, target_mm, **options) -> Camera:
    """A hand-held view: tilt up to 14°, any roll within 8°, a little distortion."""
    settings = {
        "tilt_deg": rng.uniform(0, 14),
        "towards_deg": rng.uniform(0, 360),
        "roll_deg": rng.uniform(-8, 8),
        "k": rng.uniform(-0.03, 0.03),
        "k2": rng.uniform(-0.003, 0.003),
    }
    return looking_at(np.asarray(target_mm) + rng.uniform(-8, 8, 2), **{**settings, **options})


def take(
    camera: Camera, scene: np.ndarray, mm_per_px: float, *, origin_mm=(0.0, 0.0), ground=(0.18, 0.13, 0.09),
    light=(1.0, 1.0, 1.0), slope=0.0, noise=0.002, exposure=0.9, blur_px=0.6, seed=0, over=1,
) -> np.ndarray:  # fmt: skip
    """Photograph a scene of linear reflectances (h, w, 3); give 8-bit sRGB. Outside the scene lies ``ground``."""
    width, height = camera.size
    knots = 9  # the way back is computed every 9th pixel and is straight enough in between (under 0.002 px)
    cols, rows = width // knots + 2, height // knots + 2
    at = np.stack(np.meshgrid(np.arange(cols) * float(knots), np.arange(rows) * float(knots)), axis=-1)
    coarse = ((camera.back(at) - np.array(origin_mm)) / mm_per_px - 0.5).astype(np.float32)
    x = ((np.arange(width * over, dtype=np.float32) + 0.5) / over) / knots
    y = ((np.arange(height * over, dtype=np.float32) + 0.5) / over) / knots
    maps = cv2.remap(coarse, *np.meshgrid(x, y), cv2.INTER_LINEAR)
    nowhere = (-1, -1, -1)
    out = cv2.remap(
        scene, maps[..., 0], maps[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=nowhere
    )
    out = np.where(out < 0, np.array(ground, np.float32), out)
    if over > 1:
        out = out.reshape(height, over, width, over, 3).mean(axis=(1, 3))
    if blur_px:
        out = cv2.GaussianBlur(out, (0, 0), blur_px)
    u = (np.arange(width) + 0.5) / width - 0.5
    v = (np.arange(height) + 0.5) / height - 0.5
    radius2 = (u[None, :] ** 2 + v[:, None] ** 2) / 0.5
    fall = (1 + slope * (u[None, :] * 0.8 + v[:, None] * 0.6)) * (1 - 0.5 * slope * radius2)
    out = out * (fall[..., None] * np.array(light)).astype(np.float32)
    out *= exposure / max(float(np.quantile(out[::7, ::7].max(axis=-1), 0.995)), 1e-6)
    rng = np.random.default_rng(seed)
    out += rng.standard_normal(out.shape, dtype=np.float32) * (noise + noise * np.sqrt(np.maximum(out, 0)) * 2)
    coded = np.where(out <= 0.0031308, 12.92 * out, 1.055 * np.maximum(out, 1e-6) ** (1 / 2.4) - 0.055)
    return np.clip(np.rint(coded * 255), 0, 255).astype(np.uint8)


def decode(grey: np.ndarray) -> np.ndarray:
    """8-bit sRGB grey → linear, three channels, float32."""
    v = grey.astype(np.float64) / 255
    linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return np.repeat(linear[..., None], 3, axis=2) if linear.ndim == 2 else linear
