"""Rendered photos of garments with known mask, light and colour: the tests' own renderer.

In linear light: I = α·c·s + (1 − α)·ground, plus a grey veil (flare), then noise, then 8-bit sRGB. Folds are sums of
soft ridges; the ground has a gradient, soft blobs and a floor line.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from random_drawings import KINDS, garment


@dataclass
class Rendered:
    photo: np.ndarray  # uint8 sRGB
    alpha: np.ndarray  # float32, true coverage
    light: np.ndarray  # float32, s
    colour: np.ndarray  # linear, (3,)
    ground: np.ndarray  # linear (h, w, 3)
    veil: float
    outline: np.ndarray  # px, (n, 2), the silhouette

    def in_colour(self, colour, *, veil: float | None = None):
        """The same scene with another solid cloth and no noise: the truth that recolouring must meet, linear."""
        a = self.alpha[..., None]
        light = a * np.asarray(colour) * self.light[..., None] + (1 - a) * self.ground
        return light + (self.veil if veil is None else veil)


def encode(linear):
    linear = np.clip(linear, 0, 1)
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)


def folds(h, w, rng):
    """Light on cloth, about 0.25 to 1.1, with ridges that run mostly downward."""
    y, x = np.mgrid[0:h, 0:w].astype(np.float32) / max(h, w)
    s = np.ones((h, w), np.float32)
    for _ in range(rng.integers(6, 12)):
        angle, at, width = rng.normal(1.57, 0.4), rng.uniform(0, 1), rng.uniform(0.01, 0.05)
        d = (
            (x - at) * np.sin(angle)
            + (y - rng.uniform(0, 1)) * np.cos(angle)
            + 0.02 * np.sin(9 * y + rng.uniform(0, 6))
        )
        fade = 1 / (1 + np.exp(-(y - rng.uniform(0, 0.6)) * 12))
        s -= rng.uniform(0.1, 0.35) * fade * np.exp(-((d / width) ** 2))
        s += rng.uniform(0.0, 0.15) * fade * np.exp(-(((d - 1.5 * width) / width) ** 2))
    s *= 1 - 0.3 * (x - 0.5) * rng.uniform(-1, 1) - 0.2 * (y - 0.5)
    return np.clip(cv2.GaussianBlur(s, (0, 0), 1.5), 0.18, 1.15)


def silhouette(seed, size, rng):
    kind = KINDS[seed % 4]
    areas, _, _, _ = garment(kind, "back" if kind == "tee" else "front", rng)
    everything = np.vstack([p for _, p in areas])
    low, high = everything.min(0), everything.max(0)
    scale = size * 0.72 / (high - low).max()
    w, h = np.ceil((high - low) * scale + 0.28 * size).astype(int)
    fine = np.zeros((h * 4, w * 4), np.uint8)
    for _, polygon in areas:
        p = ((polygon - (low + high) / 2) * scale + [w / 2, h / 2]) * 4 - 0.5
        cv2.fillPoly(fine, [np.round(p * 16).astype(np.int32)], 255, shift=4)
    fine = cv2.morphologyEx(fine, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))
    contours, _ = cv2.findContours(fine, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    ring = max(contours, key=len)[:, 0].astype(float) / 4
    alpha = cv2.resize(fine, (w, h), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
    return cv2.GaussianBlur(alpha, (0, 0), 0.7), ring


def rendered(seed: int, *, size: int = 900, colour=None, noise: float = 0.004, veil: float | None = None) -> Rendered:
    """Render one photo; the same call gives the same one, so it is not to be changed."""
    return _rendered(seed, size, None if colour is None else tuple(np.asarray(colour).tolist()), noise, veil)


@lru_cache(maxsize=8)
def _rendered(seed: int, size: int, colour: tuple[float, ...] | None, noise: float, veil: float | None) -> Rendered:
    rng = np.random.default_rng(1000 + seed)
    alpha, ring = silhouette(seed, size, rng)
    h, w = alpha.shape
    light = folds(h, w, rng)
    if colour is None:
        colour = rng.uniform(0.02, 0.75, 3)
    colour = np.asarray(colour, float)
    y, x = np.mgrid[0:h, 0:w].astype(np.float32) / max(h, w)
    base = rng.uniform(0.15, 0.75, 3)
    while np.abs(np.cbrt(base) - np.cbrt(colour)).max() < 0.22:
        base = rng.uniform(0.05, 0.85, 3)
    ground = base * (1 + 0.3 * (x + y - 1))[..., None]
    for _ in range(5):
        spot = np.exp(-(((x - rng.uniform()) / 0.25) ** 2) - ((y - rng.uniform()) / 0.25) ** 2)
        ground = ground * (1 + rng.uniform(-0.3, 0.3) * spot[..., None] * rng.uniform(0.8, 1, 3))
    ground = np.where((y > y.max() * 0.93)[..., None], ground * 0.6, ground)
    # veiling glare as a share of the scene's mean light
    veil = rng.uniform(0.005, 0.02) * float(ground.mean()) if veil is None else veil
    scene = Rendered(None, alpha, light, colour, ground, veil, ring)
    linear = scene.in_colour(colour)
    linear = linear + rng.normal(0, noise, linear.shape) * np.sqrt(np.maximum(linear, 0.01))
    scene.photo = np.rint(encode(linear) * 255).astype(np.uint8)
    for kept in (scene.photo, scene.alpha, scene.light, scene.ground):
        kept.flags.writeable = False
    return scene


def loose_outline(scene: Rendered, rng, points: int = 12, far: float = 0.03):
    """What a hurried hand draws: ``points`` points outside of the silhouette's hull-like outline."""
    ring = scene.outline
    middle = ring.mean(0)
    angles = np.sort((np.arange(points) + rng.uniform(-0.2, 0.2, points)) * 2 * np.pi / points)
    from_middle = ring - middle
    way = np.arctan2(from_middle[:, 1], from_middle[:, 0])
    out = []
    for a in angles:
        near = np.abs(np.angle(np.exp(1j * (way - a)))) < 1.6 * np.pi / points
        reach = np.hypot(*from_middle[near].T).max() * (1 + far + rng.uniform(0, 0.06))
        out.append(middle + reach * np.array([np.cos(a), np.sin(a)]))
    return cv2.convexHull(np.array(out, np.float32))[:, 0].astype(float)


def simulated_dabs(scene: Rendered, found: np.ndarray):
    """One dab in the middle of the largest mistake: (keep, drop) strokes."""
    wrong_in = (found < 0.5) & (scene.alpha > 0.5)
    wrong_out = (found > 0.5) & (scene.alpha < 0.5)
    best = None
    for wrong, which in ((wrong_in, 0), (wrong_out, 1)):
        depth = cv2.distanceTransform(
            cv2.copyMakeBorder(wrong.view(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT), cv2.DIST_L2, 5
        )[1:-1, 1:-1]
        y, x = np.unravel_index(depth.argmax(), depth.shape)
        if best is None or depth[y, x] > best[0]:
            r = depth[y, x] * 0.5
            best = (depth[y, x], which, np.array([[x - r, y], [x + r, y]]))
    return ([best[2]], []) if best[1] == 0 else ([], [best[2]])


def iou(a, b):
    a, b = a > 0.5, b > 0.5
    return (a & b).sum() / (a | b).sum()
