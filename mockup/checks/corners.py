"""Corners in lines: a slight kink at the fold, and corners that are sewn as a point: reinforced, clipped, pivoted."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.places import px_of
from mockup.checks.scene import Scene
from mockup.geometry import path as paths

_SAME_MM = 0.5
_SEWN_AS_A_POINT = (
    "Reinforce the inner corner with small stitches just inside the stitch line, clip into it up to the stitching, and "
    "pivot the needle there"
)


def kink(scene: Scene) -> list[Finding]:
    """Judge the angle at which a mirrored line meets itself at the fold; a point says how it is sewn."""
    limit, corner = scene.limits["kink"], scene.limits["corner"]
    found = []
    for view, line, path in scene.placed:
        if not line.symmetric:
            continue
        half, middle = line_middle(path)
        angle = 2 * abs(math.degrees(math.atan2(half[1], abs(half[0]))))
        if angle <= limit.value:
            continue
        point = angle > corner.value
        found.append(
            Finding(
                "kink",
                Grade.NOTE,
                Place(f"line '{line.name}' at the middle, {view.side}", view.name, px_of(view, middle)),
                f"{angle:.1f}°",
                f"{limit}",
                limit.source,
                f"{_SEWN_AS_A_POINT}; or make the line square to the fold."
                if point
                else "Make the line square to the fold, or sew it as a point: mark, clip and pivot.",
                line=line.id,
                plain=f"The line comes to a point at the middle, where it turns by {angle:.0f}°"
                if point
                else f"The line turns by {angle:.1f}° where it meets the middle",
            )
        )
    return found


def inner_corner(scene: Scene) -> list[Finding]:
    """Judge every corner inside a line: one of the two panels has it as an inner corner.

    The point of a mirrored line at the fold is left out: :func:`kink` speaks of it.
    """
    limit, fold = scene.limits["corner"], scene.limits["kink"]
    found = []
    for view, line, path in scene.placed:
        tip = line_middle(path)[1] if line.symmetric else None
        for turn, point in corners_of(path):
            said = tip is not None and np.hypot(*(point - tip)) < _SAME_MM and abs(turn) > fold.value
            if abs(turn) <= limit.value or said:
                continue
            found.append(
                Finding(
                    "inner-corner",
                    Grade.NOTE,
                    Place(f"corner of line '{line.name}', {view.side}", view.name, px_of(view, point)),
                    f"turns by {abs(turn):.0f}°",
                    f"{limit}",
                    limit.source,
                    f"{_SEWN_AS_A_POINT}; or round the corner off.",
                    line=line.id,
                    plain=f"The line turns a corner of {abs(turn):.0f}°, an inner corner for the panel on one side",
                )
            )
    return found


def corners_of(path: paths.Path) -> Iterator[tuple[float, paths.Floats]]:
    """Where a path turns on the spot: (degrees, left positive; the point, shape (2,)); a closed one there too."""
    lengths = paths.segment_lengths(path)
    kept = [k for k in range(len(path)) if lengths[k] > _SAME_MM]
    joints = list(itertools.pairwise(kept))
    if path.closed and len(kept) > 1:
        joints.append((kept[-1], kept[0]))
    for a, b in joints:
        before, after = paths.tangent(path, a, 1.0), paths.tangent(path, b, 0.0)
        turn = math.degrees(
            math.atan2(float(before[0] * after[1] - before[1] * after[0]), float(np.dot(before, after)))
        )
        yield turn, path.cubics[b, 0]


def line_middle(path: paths.Path) -> tuple[paths.Floats, paths.Floats]:
    """Direction of a mirrored line just before its middle, shape (2,), and the middle itself."""
    if len(path) % 2 == 0:  # two halves of as many segments each, which may differ in length on a traced drawing
        segment, t = len(path) // 2 - 1, 1.0
    else:
        segment, t = paths.locate(path, paths.length(path) / 2 * (1 - 1e-9))
    return paths.tangent(path, segment, t), paths.evaluate(path.cubics[segment], np.float64(t))
