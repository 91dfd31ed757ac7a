"""The shares of all of a picture's pixels that lie inside outlines, for the tests."""

from __future__ import annotations

import numpy as np

from mockup.geometry.path import Path
from mockup.stylelines.raster import coverage_part


def coverage(outlines: list[Path], size: tuple[int, int]) -> np.ndarray:
    """The part with something in it, laid into nothing; arguments as for :func:`coverage_part`."""
    left, top, part = coverage_part(outlines, size)
    whole = np.zeros((size[1], size[0]), np.float32)
    whole[top : top + part.shape[0], left : left + part.shape[1]] = part
    return whole
