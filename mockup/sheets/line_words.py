"""A style line in words that hold in any size: where its ends are, and how it bows between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.split.split import Anchor, SplitLine
from mockup.split.words import edge_said
from swatches.units import MM_PER_INCH

SHARES = (0.25, 0.5, 0.75)
_STRAIGHT_MM = 0.75
_POINT_DEG = 15.0  # our own choice, as for the check of corners: a smaller turn is a line that failed to be square


@dataclass(frozen=True, slots=True, eq=False)
class DrawnLine:
    """A line as a follower draws it.

    Attributes:
        line: the split's line.
        path: the part that is drawn: the half of a symmetric line.
        points: numbers of its two points, as shown in the drawing: (1, 2).
        bows: distance (mm) of the curve from the straight line between its ends, at its quarter points, positive to the
            left of the way from the first point to the second.
    """

    line: SplitLine
    path: Path
    points: tuple[int, int]
    bows: tuple[float, ...]

    @property
    def chord_mm(self) -> float:
        """Length of the straight line between its ends."""
        return float(np.linalg.norm(self.path.end - self.path.start))

    @property
    def straight(self) -> bool:
        """Whether it is drawn with a ruler."""
        return max(abs(b) for b in self.bows) < _STRAIGHT_MM


def drawn_lines(lines: Sequence[SplitLine]) -> tuple[DrawnLine, ...]:
    """Number the points of all lines and measure how they bow."""
    found: list[DrawnLine] = []
    for line in lines:
        whole = paths.from_tuples(line.path)
        half = paths.between(whole, 0.0, paths.length(whole) / 2) if line.symmetric else whole
        n = 2 * len(found) + 1
        found.append(DrawnLine(line, half, (n, n + 1), bows(half)))
    return tuple(found)


def bows(path: Path) -> tuple[float, ...]:
    """Distances of a path from its chord at the chord's quarter points, mm, positive to the left."""
    points = paths.flatten(path, 0.0005).points - path.start
    chord = path.end - path.start
    size = float(np.linalg.norm(chord))
    if size == 0:
        return (0.0,) * len(SHARES)
    along, across = points @ chord / size**2, (chord[0] * points[:, 1] - chord[1] * points[:, 0]) / size
    order = np.argsort(along, kind="stable")
    return tuple(float(v) for v in np.interp(SHARES, along[order], across[order]))


def line_steps(drawn: DrawnLine) -> tuple[str, ...]:
    """Say in sentences how to draw a line on a paper piece of any size."""
    line, (p, q) = drawn.line, drawn.points
    if line.start is None and line.end is None and paths.from_tuples(line.path).closed:
        return _shape(line, p)
    steps = [_point(line.start, line.start_side, p), _point(line.end, line.end_side, q)]
    if drawn.straight:
        steps.append(f"Join P{p} and P{q} with a ruler.")
    else:
        left = _left_word(drawn.path)
        shown = ", ".join(f"{abs(b):.0f} mm ({100 * abs(b) / drawn.chord_mm:.1f} %)" for b in drawn.bows)
        side = left[0] if sum(drawn.bows) > 0 else left[1]
        mixed = min(drawn.bows) < -_STRAIGHT_MM and max(drawn.bows) > _STRAIGHT_MM
        toward = "to the sides that the drawing shows" if mixed else f"toward {side}"
        steps.append(
            f"Rule a thin line from P{p} to P{q} ({drawn.chord_mm:.0f} mm here). At a quarter, half and three quarters "
            f"of it measure square to it, {toward}: {shown}. In another size take the same shares of your own line. "
            "Draw a smooth curve through the marks."
        )
    if line.symmetric and _turn_deg(drawn) > _POINT_DEG:
        steps.append("At the fold the line turns: its point there is meant, and is sewn as one.")
    elif line.symmetric:
        steps.append("At the fold the line must stand square to it, or a point will show in the cloth.")
    return tuple(steps)


def _turn_deg(drawn: DrawnLine) -> float:
    """By how much a mirrored line turns in its middle, degrees: 0 where it runs square to the fold."""
    whole, half = paths.from_tuples(drawn.line.path), drawn.path
    way = whole.end - whole.start  # the fold is square to it
    tangent = paths.tangent(half, len(half) - 1, 1.0)
    along = abs(float(way @ tangent)) / float(np.linalg.norm(way))
    return float(2 * np.degrees(np.arccos(min(1.0, along))))


def both_units(mm: float) -> str:
    """A length in mm and in inches to the nearest sixteenth: '104 mm (4 1/8 in)'."""
    sixteenths = Fraction(round(mm / MM_PER_INCH * 16), 16)
    whole, rest = divmod(sixteenths, 1)
    inches = " ".join(t for t in (str(whole) if whole or not rest else "", str(rest) if rest else "") if t)
    return f"{mm:.4g} mm ({inches} in)"


def _point(anchor: Anchor | None, side: str | None, number: int) -> str:
    if anchor is None:
        return f"P{number} is where the line meets the other line, as the drawing shows."
    where = f"the wearer's {side} {edge_said(anchor.edge)}" if side else f"the {edge_said(anchor.edge)}"
    if anchor.distance_mm < 0.05:
        return f"P{number}: on {where}, exactly at the {anchor.start}."
    return (
        f"P{number}: on {where}, {both_units(anchor.distance_mm)} from the {anchor.start}, measured along the stitch "
        "line with darts closed."
    )


def _shape(line: SplitLine, number: int) -> tuple[str, ...]:
    """How a closed shape that ends on no edge is drawn."""
    x0, y0, x1, y1 = paths.bounds(paths.from_tuples(line.path))
    how = "sewn on top of the cloth below, which stays whole" if line.on_top else "let into a hole of its own shape"
    return (
        f"P{number} lies on it, where the drawing shows. It is closed, {both_units(x1 - x0)} wide and "
        f"{both_units(y1 - y0)} high; trace it from the drawing, or draw a shape of your own of that size.",
        f"It is {how}.",
    )


def _left_word(path: Path) -> tuple[str, str]:
    """What lies to the left and to the right of the way from start to end, as seen in a view (y up)."""
    chord = path.end - path.start
    left: Floats = np.array([-chord[1], chord[0]])
    if abs(left[1]) >= abs(left[0]):
        return ("the neck", "the hem") if left[1] > 0 else ("the hem", "the neck")
    outward = float(left[0]) * (1.0 if float(path.start[0] + path.end[0]) >= 0 else -1.0)
    return ("the side", "the centre") if outward > 0 else ("the centre", "the side")
