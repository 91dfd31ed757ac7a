"""Turn and scale a path so that its ends come to lie where they should."""

from __future__ import annotations

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path


def similar(path: Path, start: Floats, end: Floats) -> Path:
    """Turn and scale a path so that it runs from ``start`` to ``end``; a closed path is moved to ``start``."""
    p, q = complex(*path.start), complex(*path.end)
    a, b = complex(*start), complex(*end)
    if abs(q - p) < 1e-12:
        return paths.transformed(path, [[1, 0, a.real - p.real], [0, 1, a.imag - p.imag]])
    m = (b - a) / (q - p)
    shift = a - m * p
    cubics = (path.cubics @ np.array([[m.real, m.imag], [-m.imag, m.real]])) + [shift.real, shift.imag]
    cubics[0, 0], cubics[-1, 3] = start, end
    return Path(cubics)
