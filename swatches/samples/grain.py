"""Seeded noise for the rendered samples: paper, cloth and sensor grain.

Only numpy's PCG64 and float32 box and Gaussian filters are used, so that a re-run gives the same picture.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]


def random(seed: int) -> np.random.Generator:
    """Give the generator that every sample uses."""
    return np.random.Generator(np.random.PCG64(seed))


def blur(plane: Plane, sigma: float) -> Plane:
    """Gaussian blur; a large sigma is taken at a lower resolution."""
    if sigma <= 0:
        return plane
    step = int(sigma // 6)
    if step < 2:
        return np.asarray(cv2.GaussianBlur(plane, (0, 0), sigma, borderType=cv2.BORDER_REFLECT), dtype=np.float32)
    h, w = plane.shape[:2]
    small = cv2.resize(plane, (max(2, w // step), max(2, h // step)), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma / step, borderType=cv2.BORDER_REFLECT)
    return np.asarray(cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC), dtype=np.float32)


def noise(shape: tuple[int, int], sigma: float, rng: np.random.Generator) -> Plane:
    """Smooth noise of mean 0 and standard deviation 1, correlated over about ``sigma`` px."""
    step = max(1, int(sigma // 4))
    h, w = shape[0] // step + 2, shape[1] // step + 2
    plane = rng.standard_normal((h, w), dtype=np.float32)
    if sigma > 0:
        plane = cv2.GaussianBlur(plane, (0, 0), sigma / step, borderType=cv2.BORDER_REFLECT)
    if step > 1:
        plane = cv2.resize(plane, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    plane = plane[: shape[0], : shape[1]]
    plane = plane - plane.mean()
    return np.asarray(plane / max(float(plane.std()), 1e-6), dtype=np.float32)


def rough(shape: tuple[int, int], finest: float, octaves: int, rng: np.random.Generator, fall: float = 0.6) -> Plane:
    """Noise of several scales, each twice as coarse and ``fall`` times as weak counted from the coarsest."""
    total = np.zeros(shape, np.float32)
    for k in range(octaves):
        total += np.float32(fall ** (octaves - 1 - k)) * noise(shape, finest * 2**k, rng)
    return np.asarray(total / max(float(total.std()), 1e-6), dtype=np.float32)
