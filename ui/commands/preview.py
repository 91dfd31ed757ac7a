"""A picture of found areas: each in its own tint, the lines over them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def preview_of(labels: NDArray[np.uint16], ink: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Tint every area; neighbours differ because the hue steps by the golden angle. Shape (h, w, 3)."""
    from swatches.colour import lab_to_linear, linear_to_srgb8

    count = int(labels.max())
    angle = np.arange(count + 1) * np.radians(137.50776)  # golden angle: no two near numbers share a hue
    ring = np.arange(count + 1) % 3
    lab = np.stack([82.0 - 7 * ring, 30 * np.cos(angle), 30 * np.sin(angle)], axis=1)
    lab[0] = (97.0, 0.0, 1.0)
    tints: Any = np.clip(lab_to_linear(lab), 0, 1)
    picture = linear_to_srgb8(tints)[labels]
    lines = ink > 0  # a small share of the picture: only there light is mixed
    picture[lines] = linear_to_srgb8(tints[labels[lines]] * (1 - np.clip(ink[lines], 0, 1))[:, None])
    return picture
