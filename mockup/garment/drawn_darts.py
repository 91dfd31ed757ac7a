"""Darts that are drawn with both legs: closed wedges at an edge, and spindles inside the body.

They are sewn into the panel that they lie in, and are no areas of their own: taken as areas they would break the waist
or the side seam that they open on. A closed shape is taken as a dart where it can hardly be anything else: small, lying
beside its mirror image on the other half, and either a slim wedge with legs of one length whose short end lies on the
outside of the garment, not at its hem, or a slim upright spindle with two tips. A godet opens at the hem, a slanting
pocket has legs of two lengths, a welt is as wide at its ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.area_shapes import Shapes
from mockup.garment.regions import Labels
from mockup.geometry.path import XY, Floats, Path

_SMALL, _TINY = 0.03, 2e-4  # shares of the body's size
_SLIM = 1.6  # times as deep as wide, a wedge; at least
_SPINDLE = 3.5  # times as long as wide
_DEEP = (0.03, 0.4)  # depth as a share of the garment's height
_TRIANGLE = 0.72  # of the narrowest triangle round a wedge
_POINTED = 0.74  # most of the box round a spindle: a lens fills 2/3, a welt all
_LEGS = 1.35  # the longer leg over the shorter, at most
_HEM = 0.85  # of the height, from which an edge is the hem
_UPRIGHT_DEG = 25.0
_LED_ON = 1.6  # times the depth of what is seen, at most
_TWIN = 0.5  # overlap with the mirror image


@dataclass(frozen=True, slots=True, eq=False)
class DrawnDart:
    """A dart found in a drawing.

    Attributes:
        label: its own label.
        into: label of the area that it lies in.
        points: its legs, px of the label picture: one opening end, the tip, the other; of a spindle all round it from
            its upper tip, the lower one in the middle.
    """

    label: int
    into: int
    points: tuple[XY, ...]


def drawn_darts(labels: Labels, mirror_x: float) -> tuple[DrawnDart, ...]:
    """Find the darts in a label picture.

    Args:
        labels: shape (h, w), 0 outside.
        mirror_x: x of the mirror line, px.

    Returns:
        In the order of their labels; a dart without its twin on the other half is none.
    """
    size = np.bincount(labels.ravel())
    if len(size) < 3:
        return ()
    size[0] = 0
    rows = np.nonzero((labels > 0).any(axis=1))[0]
    garment = _Garment(labels, float(rows[0]), float(rows[-1] + 1))
    small = np.nonzero((size > _TINY * size.max()) & (size < _SMALL * size.max()))[0].tolist()
    found = [dart for i in small if (dart := garment.dart(i)) is not None]
    return tuple(d for d in found if any(_twins(labels, d.label, e.label, mirror_x) for e in found if e is not d))


def without_darts(labels: Labels, darts: Sequence[DrawnDart]) -> Labels:
    """Give a label picture, of any size, in which every dart belongs to the area that it lies in."""
    table = np.arange(int(labels.max()) + 1, dtype=labels.dtype)
    for dart in darts:
        table[dart.label] = dart.into
    joined = table[labels]
    joined.flags.writeable = False
    return joined


@dataclass(frozen=True, slots=True, eq=False)
class WithoutDarts:
    """Exact shapes of a drawing, each together with the darts that lie in it."""

    shapes: Shapes
    darts: tuple[DrawnDart, ...]

    def outlines(self) -> dict[int, tuple[Path, tuple[Path, ...]]]:
        """As :meth:`~mockup.garment.area_shapes.Shapes.outlines`, without the darts."""
        gone = {d.label for d in self.darts}
        found = {k: v for k, v in self.shapes.outlines().items() if k not in gone}
        return found | {k: self.together([k]) for k in {d.into for d in self.darts} & found.keys()}

    def together(self, labels: Sequence[int]) -> tuple[Path, tuple[Path, ...]]:
        """As :meth:`~mockup.garment.area_shapes.Shapes.together`."""
        return self.shapes.together([*labels, *(d.label for d in self.darts if d.into in labels)])

    def borders(self, a: int, b: int) -> list[Floats]:
        """As :meth:`~mockup.garment.area_shapes.Shapes.borders`."""
        mine, theirs = ([k, *(d.label for d in self.darts if d.into == k)] for k in (a, b))
        return [row for i in mine for j in theirs for row in self.shapes.borders(i, j)]


@dataclass(frozen=True, slots=True, eq=False)
class _Garment:
    labels: Labels
    top: float
    bottom: float

    def dart(self, label: int) -> DrawnDart | None:
        """The dart that a label shows, or None."""
        mine = self.labels == label
        x, y, w, h = cv2.boundingRect(mine.view(np.uint8))
        x0, y0 = max(x - 2, 0), max(y - 2, 0)
        near = self.labels[y0 : y + h + 2, x0 : x + w + 2]
        patch = np.pad((near == label).view(np.uint8), 2)
        near = np.pad(near, 2)
        ring = (cv2.dilate(patch, np.ones((3, 3), np.uint8)) > 0) & (patch == 0)
        beside = np.bincount(near[ring])
        whole = int(beside.sum())
        outside = int(beside[0])
        beside[0] = 0
        into = int(beside.argmax())
        if beside[into] + outside < 0.93 * whole:  # more than one neighbour
            return None
        shapes, _ = cv2.findContours(patch, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        rim = max(shapes, key=cv2.contourArea)[:, 0].astype(np.float64)
        rows, columns = np.nonzero(ring & (near == 0))
        open_end = np.stack([columns, rows], axis=1).astype(np.float64)
        size = float(patch.sum())
        points = _spindle(rim, size) if outside < 0.04 * whole else _wedge(rim, open_end, size, outside / whole)
        if points is None:
            return None
        at = points + np.array([x0 - 2 + 0.5, y0 - 2 + 0.5])
        high = self.bottom - self.top
        deep = float(np.linalg.norm(at[1] - (at[0] + at[2]) / 2)) if len(at) == 3 else float(np.ptp(at[:, 1]))
        at_hem = len(at) == 3 and (at[0, 1] + at[2, 1]) / 2 > self.top + _HEM * high
        if at_hem or not _DEEP[0] * high < deep < _DEEP[1] * high:
            return None
        return DrawnDart(label, into, tuple((float(px), float(py)) for px, py in at))


def _wedge(rim: Floats, open_end: Floats, size: float, open_share: float) -> Floats | None:
    """The legs of a slim wedge, shape (3, 2), or None."""
    if not 0.03 < open_share < 0.32 or len(open_end) < 3:
        return None
    middle = open_end.mean(axis=0)
    tip = rim[np.linalg.norm(rim - middle, axis=1).argmax()]
    deep = float(np.linalg.norm(tip - middle))
    away = middle - tip
    side = (open_end - tip) @ np.array([-away[1], away[0]]) / max(deep, 1e-9)
    ends = open_end[[int(side.argmin()), int(side.argmax())]]
    legs = np.linalg.norm(ends - tip, axis=1)
    wide = float(np.linalg.norm(ends[1] - ends[0]))
    area, _ = cv2.minEnclosingTriangle(rim.astype(np.float32)[:, None])
    slim = deep > _SLIM * wide and deep > _SLIM * 2 * size / max(deep, 1e-9)
    if not slim or legs.max() > _LEGS * legs.min() or size < _TRIANGLE * area:
        return None
    return np.stack([ends[0], _led_on(rim, middle, tip), ends[1]])


def _led_on(rim: Floats, middle: Floats, tip: Floats) -> Floats:
    """The tip where both legs would meet: near it they run together in the ink, and the area between them ends before.

    Args:
        rim: of the area, px, shape (n, 2).
        middle: where it is wide.
        tip: its farthest point.
    """
    deep = float(np.linalg.norm(tip - middle))
    along = (tip - middle) / deep
    depth, side = (rim - middle) @ along, (rim - middle) @ np.array([-along[1], along[0]])
    steps = np.linspace(0.35, 0.9, 8) * deep
    near = [side[np.abs(depth - step) < 0.04 * deep + 0.5] for step in steps]
    if any(len(n) < 2 for n in near):
        return tip
    wide = [float(np.ptp(n)) for n in near]
    slope, first = np.polyfit(steps, wide, 1)
    return np.asarray(middle + along * min(max(-first / min(slope, -1e-9), deep), _LED_ON * deep))


def _spindle(rim: Floats, size: float) -> Floats | None:
    """All round a slim upright spindle from its upper tip, shape (5, 2), or None."""
    box = cv2.minAreaRect(rim.astype(np.float32)[:, None])
    long, short = max(box[1]), max(min(box[1]), 1.0)
    upper, lower = rim[rim[:, 1].argmin()], rim[rim[:, 1].argmax()]
    lean = np.degrees(np.arctan2(abs(lower[0] - upper[0]), max(lower[1] - upper[1], 1e-9)))
    if long < _SPINDLE * short or lean > _UPRIGHT_DEG or size > _POINTED * (long + 1) * (short + 1):
        return None
    left, right = rim[rim[:, 0].argmin()], rim[rim[:, 0].argmax()]
    share = [(p[1] - upper[1]) / (lower[1] - upper[1]) for p in (left, right)]
    if not all(0.2 < s < 0.8 for s in share):  # widest near an end: it is none
        return None
    middle = (left + right) / 2
    upper, lower = _led_on(rim, middle, upper), _led_on(rim, middle, lower)
    return np.stack([upper, right, lower, left, upper])


def _twins(labels: Labels, one: int, other: int, mirror_x: float) -> bool:
    """Whether an area is another's mirror image."""
    y, x = np.nonzero(labels == one)
    over = np.round(2 * mirror_x - x - 1).astype(np.intp)
    fits = (over >= 0) & (over < labels.shape[1])
    both = int((labels[y[fits], over[fits]] == other).sum())
    return both > _TWIN * (len(x) + int((labels == other).sum()) - both)


def px_points(dart: DrawnDart, scale: float) -> NDArray[np.float64]:
    """A dart's points in px of the whole picture, ``scale`` of them for one px of the labels; shape (n, 2)."""
    return np.asarray(dart.points, np.float64) * scale
