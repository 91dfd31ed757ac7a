"""Closed shapes that lie free on the cloth: a disc, a diamond, a patch of any outline, that end on no edge.

Such a line's points are all that says where it runs. Where it lies and how large it is can be typed all the same: by
the box round it, counted as a sewist would, from the middle of the garment and up from the hem.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.stylelines import edges
from mockup.stylelines.styleline import FREE_END, LineKind, StyleLine
from mockup.stylelines.twins import mirror_image, mirror_partners
from swatches.errors import GeometryError

LEAST_MM = 5.0
"""Smallest width and height of a shape: below it there is nothing to sew."""
_ROUNDS = 12
_FEW = 8
_NEAR_MM = 1e-4


@dataclass(frozen=True, slots=True)
class Box:
    """The box round a shape, mm of its view.

    Attributes:
        across_mm: its middle from the middle of the garment, ≥ 0.
        side: 'left' or 'right', the wearer's, on which that is; None in the middle.
        up_mm: its middle above the foot of the garment.
        wide_mm: across.
        high_mm: up and down.
    """

    across_mm: float
    side: str | None
    up_mm: float
    wide_mm: float
    high_mm: float


def ring(line: StyleLine, view: View) -> Path:
    """Run a free shape through its points and back to the first one, view mm.

    A curve is smooth everywhere, its first point too; an arc is the whole circle through its three points.

    Raises:
        GeometryError: fewer than three points, or points in a row; a free shape that says to be symmetrical.
    """
    what = f"line {line.name!r}"
    if line.symmetric:
        raise GeometryError(
            what,
            expected="a closed shape on each side of the wearer, or one from the middle to the middle",
            got="one free shape that is mirrored in itself",
            next_step="Mirror it: that draws the other one",
        )
    points = np.array([edges.shares_to_mm(view, p) for p in line.through]).reshape(-1, 2)
    wanted = "three points" if line.kind is LineKind.ARC else "at least three points"
    if len(points) < 3 or (line.kind is LineKind.ARC and len(points) != 3):
        raise GeometryError(
            what,
            expected=f"{wanted} of a closed shape",
            got=f"{len(points)}",
            next_step="Press in three places or more",
        )
    if line.kind is LineKind.ARC:
        return _circle(points, what)
    if line.kind is LineKind.CURVE:
        return curve.smooth_round(points)
    return paths.polyline(points, close=True)


def _circle(points: paths.Floats, what: str) -> Path:
    a, b, c = points
    u, v = b - a, c - a
    cross = 2 * float(u[0] * v[1] - u[1] * v[0])
    if abs(cross) < 1e-6 * max(float(u @ u), float(v @ v)):
        raise GeometryError(
            what, expected="three points round a circle", got="three in a row", next_step="Move one of them aside"
        )
    middle = a + np.array([v[1] * (u @ u) - u[1] * (v @ v), u[0] * (v @ v) - v[0] * (u @ u)]) / cross
    start = math.degrees(math.atan2(a[1] - middle[1], a[0] - middle[0]))
    whole = math.copysign(360.0, cross)  # run as its points are, so that a mirror image is run as one too
    cubics = curve.circular_arc(middle, float(np.hypot(*(a - middle))), start, start + whole).cubics.copy()
    cubics[0, 0] = cubics[-1, 3] = a  # closed to the last digit, else it crosses itself there
    return Path(cubics)


def box_of(line: StyleLine, view: View) -> Box:
    """The box round a free shape; errors as :func:`ring`."""
    x0, y0, x1, y1 = paths.bounds(ring(line, view))
    middle, foot, _, _ = edges.body_box(view)
    across = ((x0 + x1) / 2 - middle) * edges.left_sign(view)
    side = None if abs(across) < 1e-6 else "left" if across > 0 else "right"
    return Box(abs(across), side, (y0 + y1) / 2 - foot, x1 - x0, y1 - y0)


def boxed(
    line: StyleLine,
    view: View,
    *,
    across_mm: float | None = None,
    side: str | None = None,
    up_mm: float | None = None,
    wide_mm: float | None = None,
    high_mm: float | None = None,
) -> StyleLine:
    """Give a free shape another place or size; what is None stays. A circle whose sides differ becomes a curve.

    Raises:
        GeometryError: a width or height below 5 mm; or as :func:`ring`.
    """
    for value in (wide_mm, high_mm):
        if value is not None and value < LEAST_MM:
            raise GeometryError(
                f"line {line.name!r}",
                expected=f"a shape of at least {LEAST_MM:g} mm",
                got=f"{value:g} mm",
                next_step="Type a larger size",
            )
    old = box_of(line, view)
    path = ring(line, view)
    foot = edges.body_box(view)[1]
    wide, high = wide_mm or old.wide_mm, high_mm or old.high_mm
    points = np.array([edges.shares_to_mm(view, p) for p in line.through])
    kind = line.kind
    if kind is not LineKind.POLYLINE and abs(wide / old.wide_mm - high / old.high_mm) > 1e-9:
        # A smooth curve through few points that are stretched is not the stretched curve: more points hold it.
        points = _round_points(path) if kind is LineKind.ARC else _more_points(path)
        kind = LineKind.CURVE
    across = old.across_mm if across_mm is None else across_mm
    sign = (1.0 if (side or old.side or "left") == "left" else -1.0) * edges.left_sign(view)
    to = np.array([edges.body_box(view)[0] + sign * across, foot + (old.up_mm if up_mm is None else up_mm)])
    made = replace(line, kind=kind, through=_shares(points, view))
    for _ in range(_ROUNDS):
        x0, y0, x1, y1 = paths.bounds(ring(made, view))
        now = np.array([x1 - x0, y1 - y0])
        centre = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        points = to + (points - centre) * np.clip((wide, high) / now, 0.5, 2.0)
        made = replace(made, through=_shares(points, view))
        if np.abs(now - (wide, high)).max() < _NEAR_MM and np.abs(centre - to).max() < _NEAR_MM:
            break
    return made


def shape(
    view: View, form: str, at_mm: XY, size_mm: XY, *, side: str | None = "left", line_id: str, name: str
) -> StyleLine:
    """Make a usual closed shape.

    Args:
        view: the view that it is drawn on.
        form: 'round', 'diamond' or 'box'.
        at_mm: its middle: from the middle of the garment, and above its foot.
        size_mm: its width and height.
        side: the wearer's side; it does not matter in the middle.
        line_id: its id.
        name: the person's word.

    Raises:
        GeometryError: an unknown form, or a size below 5 mm.
    """
    angles = {"round": np.array([90.0, 210.0, 330.0]), "diamond": np.arange(4) * 90.0, "box": np.arange(4) * 90.0 + 45}
    if form not in angles:
        raise GeometryError(
            f"line {name!r}", expected=", ".join(angles), got=form, next_step="Choose one of these shapes"
        )
    kind = LineKind.ARC if form == "round" else LineKind.POLYLINE
    x, y, half, high = edges.body_box(view)
    turns = np.radians(angles[form])
    points = np.stack([np.cos(turns), np.sin(turns)], axis=1) * min(half, high) / 4 + (x, y + high / 2)
    line = StyleLine(line_id, name, view.side, kind, FREE_END, FREE_END, _shares(points, view))
    return boxed(line, view, across_mm=at_mm[0], side=side, up_mm=at_mm[1], wide_mm=size_mm[0], high_mm=size_mm[1])


def twin_of(line: StyleLine, lines: Sequence[StyleLine]) -> StyleLine | None:
    """The shape that is a free one's mirror image on the other side of the wearer; None where there is none."""
    other = mirror_partners([x for x in lines if x.side == line.side]).get(line.id, line.id)
    return None if other == line.id else next(x for x in lines if x.id == other)


def with_twin(lines: Sequence[StyleLine], new: StyleLine) -> tuple[StyleLine, ...]:
    """All lines with a free shape changed, and its mirror image with it.

    Args:
        lines: all lines, the shape as it was among them.
        new: the shape as it is to be.
    """
    twin = twin_of(next(x for x in lines if x.id == new.id), lines)
    changed = {new.id: new}
    if twin is not None:
        image = mirror_image(new)
        changed[twin.id] = replace(twin, kind=image.kind, through=image.through, enclosed=new.enclosed)
    return tuple(changed.get(x.id, x) for x in lines)


def run_as(line: StyleLine, kind: LineKind, view: View) -> StyleLine:
    """Run a free shape another way; a circle gives eight points, and becoming one it keeps its middle and its size.

    Raises:
        GeometryError: it is to be straight; or as :func:`ring`.
    """
    if kind is LineKind.STRAIGHT:
        raise GeometryError(
            f"line {line.name!r}", expected="a closed shape", got="one straight line", next_step="Choose another way"
        )
    path = ring(line, view)
    if kind is LineKind.ARC:
        x0, y0, x1, y1 = paths.bounds(path)
        turns = np.radians([90.0, 210.0, 330.0])
        round_ = np.stack([np.cos(turns), np.sin(turns)], axis=1)
        points = round_ * (x1 - x0 + y1 - y0) / 4 + ((x0 + x1) / 2, (y0 + y1) / 2)
    elif line.kind is LineKind.ARC:
        points = _round_points(path)
    else:
        return replace(line, kind=kind)
    return replace(line, kind=kind, through=_shares(points, view))


def _round_points(path: Path) -> paths.Floats:
    """Eight points of a circle, evenly round it."""
    return np.array([paths.point_at_distance(path, s * paths.length(path)) for s in np.arange(8) / 8])


def _more_points(path: Path) -> paths.Floats:
    """The points of a smooth closed curve and, where they are few, as many between them."""
    parts = [0.0, 0.5] if len(path) < _FEW else [0.0]
    return np.array([paths.evaluate(cubic, np.float64(t)) for cubic in path.cubics for t in parts])


def _shares(points: paths.Floats, view: View) -> tuple[XY, ...]:
    return tuple(edges.mm_to_shares(view, (float(x), float(y))) for x, y in points)
