"""Drawn lines with a width and dashes, as an SVG file has them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import svgelements

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One connected drawn line.

    Attributes:
        path: px, y down.
        width: px; 0 for the edge of a filled shape without a line.
        dashes: lengths of dashes and gaps, px, empty for a solid line.
    """

    path: Path
    width: float
    dashes: tuple[float, ...] = ()


def connected(segments: list[object]) -> list[Floats]:
    """Turn the segments of a parsed path into connected rows of cubics, shape (n, 4, 2) each."""
    groups: list[list[list[tuple[float, float]]]] = [[]]
    for s in segments:
        if isinstance(s, svgelements.Move):
            groups.append([])
        elif isinstance(s, svgelements.Arc):
            for c in s.as_cubic_curves():
                groups[-1].append([(p.x, p.y) for p in (c.start, c.control1, c.control2, c.end)])
        elif isinstance(s, svgelements.CubicBezier):
            groups[-1].append([(p.x, p.y) for p in (s.start, s.control1, s.control2, s.end)])
        elif isinstance(s, svgelements.QuadraticBezier):
            a, q, b = (np.array([p.x, p.y]) for p in (s.start, s.control, s.end))
            groups[-1].append([tuple(p) for p in (a, a + (q - a) * 2 / 3, b + (q - b) * 2 / 3, b)])
        elif isinstance(s, svgelements.Line | svgelements.Close) and s.start is not None and s.end is not None:
            a, b = np.array([s.start.x, s.start.y]), np.array([s.end.x, s.end.y])
            groups[-1].append([tuple(p) for p in (a, a + (b - a) / 3, a + (b - a) * 2 / 3, b)])
            if isinstance(s, svgelements.Close):
                groups.append([])
    found = []
    for group in groups:
        if group:
            cubics = np.array(group, np.float64)
            cubics = cubics[np.abs(cubics - cubics[:, :1]).max(axis=(1, 2)) > 1e-9]
            if len(cubics):
                found.append(cubics)
    return found


def dashed(stroke: Stroke) -> list[Floats]:
    """Cut a line into its dashes, polylines (n, 2) px; a solid line is one."""
    flat = paths.flatten(stroke.path, 0.05).points
    if not stroke.dashes or sum(stroke.dashes) <= 0.5:
        return [flat]
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))]
    pattern = stroke.dashes * (2 if len(stroke.dashes) % 2 else 1)
    made: list[Floats] = []
    at, i = 0.0, 0
    while at < along[-1] and len(made) < 20_000:
        end = min(at + pattern[i % len(pattern)], float(along[-1]))
        if i % 2 == 0 and end > at:
            s = np.r_[at, along[(along > at) & (along < end)], end]
            made.append(np.stack([np.interp(s, along, flat[:, k]) for k in (0, 1)], axis=1))
        at, i = end if end > at else at + 1e-3, i + 1
    return made
