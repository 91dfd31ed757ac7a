"""Where a print's repeat starts on a piece, so that what was seen in the picture can be cut.

The split says where the print lies on the picture, and how long its repeat is. Of all places where the repeat starts
the one nearest to the middle of the part is carried onto the piece, so that the picture's distortion matters least, and
marked there by a cross whose long arm runs along the cloth's length. The grainline is turned as the print is.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import ArrayLike

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats
from mockup.geometry.place import PointMap
from mockup.geometry.ruler import polygon_of
from mockup.pattern.piece import Mark, Piece
from mockup.split.split import LaidPrint, SplitPanel

KIND = "print"
_ARM_MM, _SIDE_MM = 12.0, 6.0
_ALIKE_MM, _ALIKE_DEG = 0.01, 0.001


def with_print(
    piece: Piece,
    panel: SplitPanel,
    to_view: PointMap,
    to_piece: PointMap,
    *,
    middle: float = 0.0,
    image: float | None = None,
) -> tuple[Piece, tuple[str, ...]]:
    """Mark a print's start on a piece and turn its grainline; gives warnings too.

    Args:
        piece: the part that shows the panel.
        panel: of the split; one whose print nobody has laid leaves the piece as it is.
        to_view: from piece mm to view mm.
        to_piece: from view mm to piece mm.
        middle: x of the view's middle, mm.
        image: where the piece is the mirror image of the one that the maps are for, x of the mirror on it, mm.
    """
    laid = panel.laid
    if laid is None:
        return piece, ()
    shape = polygon_of(piece.outlines, 0.5)
    inside = shapely.point_on_surface(shape)
    mirror = None if image is None else middle
    seen = to_view.apply(_flipped((inside.x, inside.y), image))[0]
    near = start_near(laid, _flipped(seen, mirror)[0])
    start = _flipped(to_piece.apply(_flipped(near, mirror))[0], image)[0]
    piece = turned_grain(piece, laid.grain_deg)
    warnings = []
    if piece.fold is not None and not _same_on_both_sides(laid, middle):
        warnings.append(
            f"{piece.name} is cut on the fold, so its print cannot run on over the middle as in the picture. "
            "Let the print's repeat start in the middle, or unfold the piece."
        )
    if not shapely.contains_xy(shape, *start):
        warnings.append(f"{piece.name}: its print's repeat starts beside it, so it carries no mark for it.")
        return piece, tuple(warnings)
    turn = math.radians(laid.grain_deg)
    along, across = np.array([-math.sin(turn), math.cos(turn)]), np.array([math.cos(turn), math.sin(turn)])
    cross = [
        (start - _SIDE_MM * along, start + _ARM_MM * along),
        (start - _SIDE_MM * across, start + _SIDE_MM * across),
    ]
    name = "print starts here, mirrored" if laid.mirrored else "print starts here"
    marks = (Mark(name, paths.polyline(arm), KIND) for arm in cross)
    return piece.with_(marks=(*piece.marks, *marks)), tuple(warnings)


def unmarked(piece: Piece) -> str:
    """What is said of a piece whose outline is not matched to the picture's."""
    return f"{piece.name}: how its print lies is seen in the picture only; the piece carries no mark for it."


def _flipped(point: ArrayLike, mirror: float | None) -> Floats:
    """A point, shape (1, 2), seen in a mirror at that x; as it is where there is none."""
    found = np.array(point, dtype=np.float64).reshape(1, 2)
    if mirror is not None:
        found[:, 0] = 2 * mirror - found[:, 0]
    return found


def _same_on_both_sides(laid: LaidPrint, middle: float) -> bool:
    """Whether the places where the repeat starts are their own mirror image about the view's middle."""
    if laid.repeat_mm is None or laid.grain_deg % 90 != 0:
        return False
    repeat = laid.repeat_mm[0] if laid.grain_deg % 180 == 0 else laid.repeat_mm[1]
    return repeat > 0 and abs(math.remainder(2 * (laid.start[0] - middle), repeat)) <= _ALIKE_MM


def start_near(laid: LaidPrint, point: Floats) -> Floats:
    """The place nearest to a point, view mm, shape (2,), at which the repeat starts."""
    start = np.array(laid.start, dtype=np.float64)
    if laid.repeat_mm is None:
        return start
    turn = math.radians(laid.grain_deg)
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    for axis, repeat in zip(axes, laid.repeat_mm, strict=True):
        if repeat > 0:
            start = start + axis * repeat * round(float((point - start) @ axis) / repeat)
    return start


def turned_grain(piece: Piece, degrees: float) -> Piece:
    """Turn a piece's grainline about its middle, counter-clockwise."""
    if piece.grainline is None or degrees == 0:
        return piece
    tail, head = (np.array(p) for p in piece.grainline)
    middle, turn = (tail + head) / 2, math.radians(degrees)
    matrix = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    ends = [middle + matrix @ (p - middle) for p in (tail, head)]
    found: list[XY] = [(float(x), float(y)) for x, y in ends]
    return piece.with_(grainline=(found[0], found[1]))


def cut_alike(one: SplitPanel, twin: SplitPanel, mirror_x: float) -> bool:
    """Whether twins can be cut as a pair: the same cloth, and prints that are each other's mirror image, if laid."""
    if one.fabric != twin.fabric:
        return False
    a, b = one.laid, twin.laid
    if a is None or b is None:
        return a is b
    away = math.hypot(2 * mirror_x - a.start[0] - b.start[0], a.start[1] - b.start[1])
    turned = abs(math.remainder(a.grain_deg + b.grain_deg, 360.0))
    return a.mirrored != b.mirrored and away <= _ALIKE_MM and turned <= _ALIKE_DEG
