"""Where front and back lines meet at the side seam: the shallow V of a flared side, and how it is trued.

A line that is level in front and one that is level behind each meet a flared side seam at less or more than a right
angle. Sewn together they make a shallow V. It is *trued* when both meet the seam so that one runs straight on into
the other: the last centimetres are bent until each is square to the seam.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from mockup.stylelines import edges
from mockup.stylelines.anchor import place_line
from mockup.stylelines.carry import SHARED
from mockup.stylelines.styleline import LineKind, StyleLine
from mockup.stylelines.twins import reversed_line
from swatches.errors import GeometryError

_SAMPLES = 3
_LEAST_MM = 10.0
_ROUNDS = 5


def angle_at_start(line: StyleLine, view: View, path: Path | None = None) -> float:
    """Angle between a line and its seam, on the side towards the landmark above, degrees; 90 is square.

    Args:
        line: a line that starts on an edge with an upper and a lower end, such as the side seam.
        view: a view of its side.
        path: the line as it lies on the view, mm, where that is known already.

    Raises:
        GeometryError: the line cannot be placed.
    """
    edge, along = edges.along_edge(line.start, view)
    segment, t = paths.locate(edge.path, along)
    up = paths.tangent(edge.path, segment, t)
    if edge.path.end[1] < edge.path.start[1]:
        up = -up
    into = paths.tangent(place_line(line, view) if path is None else path, 0, 0.0)
    return math.degrees(math.acos(float(np.clip(up @ into, -1, 1))))


def seam_v(
    front: StyleLine, back: StyleLine, front_view: View, back_view: View, drawn: tuple[Path, Path] | None = None
) -> float:
    """The V that two lines make at their shared seam once it is sewn, degrees: 0 runs straight on.

    Positive: the point of the V shows down, as where level lines meet a hem-wards flared side. ``drawn``: the lines as
    they lie on their views, where that is known already.

    Raises:
        GeometryError: the lines do not start on the same shared seam.
    """
    if front.start.edge not in SHARED or (front.start.edge, front.start.side) != (back.start.edge, back.start.side):
        raise GeometryError(
            f"lines {front.name!r} and {back.name!r}",
            expected=f"starts on the same shared seam ({', '.join(SHARED)})",
            got=f"{front.start.edge} and {back.start.edge}",
            next_step="Carry one line to the other side",
        )
    one, other = drawn or (None, None)
    return 180.0 - angle_at_start(front, front_view, one) - angle_at_start(back, back_view, other)


def trued(line: StyleLine, view: View, *, over_mm: float = 60.0) -> StyleLine:
    """Bend the last stretch of a line so that it meets its side seam at a right angle.

    Both ends of a line from side to side are bent; the ends themselves stay where they are. Trued in front and behind,
    the two lines run straight on over the seam.

    Args:
        line: a line that starts on a shared seam.
        view: a view of its side.
        over_mm: length of the stretch that is bent, at least 10; at most a third of the line is.

    Returns:
        A smooth curve with the same ends.

    Raises:
        GeometryError: the line cannot be placed, or starts on no shared seam.
    """
    if line.start.edge not in SHARED:
        raise GeometryError(
            f"line {line.name!r}",
            expected=f"a line that starts on a seam ({', '.join(SHARED)})",
            got=f"a start on the {line.start.edge}",
            next_step="Only where front and back meet is there a V to true",
        )
    path = place_line(line, view)
    if line.symmetric:
        path = paths.between(path, 0.0, paths.length(path) / 2)
    whole = paths.length(path)
    stretch = max(_LEAST_MM, min(over_mm, whole / 3))
    both = not line.symmetric and line.end.edge in SHARED
    inner_end = whole - stretch if both else whole
    inner = np.linspace(stretch, inner_end, _SAMPLES + 2)
    middle = [paths.point_at_distance(path, float(d)) for d in (inner[1:] if both else inner[1:-1])]
    tilt = [0.0, 0.0]
    bent = line
    for _ in range(_ROUNDS):  # the curve through the points turns a little past the direction it is given
        points = [*_bent(path, line, view, stretch, tilt[0], at_start=True), *middle]
        if both:
            points += _bent(path, line, view, stretch, tilt[1], at_start=False)[-2::-1]
        through = tuple(edges.mm_to_shares(view, (float(x), float(y))) for x, y in points)
        bent = replace(line, kind=LineKind.CURVE, through=through)
        tilt[0] += _miss(bent, view)
        tilt[1] += _miss(reversed_line(bent), view) if both else 0.0
    return bent


def _miss(line: StyleLine, view: View) -> float:
    """How far the start must be turned, counter-clockwise, to be square, rad."""
    edge, along = edges.along_edge(line.start, view)
    way = paths.tangent(edge.path, *paths.locate(edge.path, along))
    into = paths.tangent(place_line(line, view), 0, 0.0)
    square = np.array([-way[1], way[0]])
    square = square if square @ into > 0 else -square
    return math.atan2(into[0] * square[1] - into[1] * square[0], float(into @ square))


def _bent(path: Path, line: StyleLine, view: View, stretch: float, tilt: float, *, at_start: bool) -> list[Floats]:
    """Points of the bent stretch from near the seam inwards, the last where it joins the line as it was."""
    whole = paths.length(path)
    end = line.start if at_start else line.end
    edge, along = edges.along_edge(end, view)
    segment, t = paths.locate(edge.path, along)
    way = paths.tangent(edge.path, segment, t)
    i, s = paths.locate(path, stretch if at_start else whole - stretch)
    joint, on = paths.points_at(path, i, s), paths.tangent(path, i, s)
    seam: XY | Floats = path.start if at_start else path.end
    square = np.array([-way[1], way[0]])
    inward = joint - np.asarray(seam)
    square = square if square @ inward > 0 else -square
    c, sine = math.cos(tilt), math.sin(tilt)
    square = np.array([c * square[0] - sine * square[1], sine * square[0] + c * square[1]])
    on = on if at_start else -on
    size = float(np.hypot(*inward)) / 3
    cubic = np.stack([np.asarray(seam), np.asarray(seam) + size * square, joint - size * on, joint])
    return [paths.evaluate(cubic, np.float64(u)) for u in (0.2, 0.5, 1.0)]
