"""Where seams meet, and whether they can be sewn straight through in some order.

A seam that ends on another is sewn before it. Where two cross, either may be sewn first: the other then runs straight
on over it. So an order exists unless seams end on each other in a ring, or three or more end at one point with none
that runs through; then one of them has to be stopped at a point and set in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.curve import nearest
from mockup.geometry.intersect import intersections
from mockup.geometry.path import XY, Floats, Path

MEET_MM = 1.0
"""An end this near to a seam ends on it."""


@dataclass(frozen=True, slots=True)
class Junction:
    """A place inside the garment where style lines meet.

    Attributes:
        point: where.
        through: seams that run on; empty where all end.
        left: seams that end here on the left of the first one that runs through, as it runs.
        right: those on its right.
    """

    point: XY
    through: tuple[str, ...]
    left: tuple[str, ...] = ()
    right: tuple[str, ...] = ()

    @property
    def ends(self) -> tuple[str, ...]:
        """All seams that end here."""
        return (*self.left, *self.right)


def junctions(
    lines: Mapping[str, Path], outline: Path | None = None, *, within: float = MEET_MM
) -> tuple[Junction, ...]:
    """Find where lines end on each other or cross.

    Args:
        lines: id → the whole visible line, in one unit.
        outline: outline of the garment; ends on it are no junctions of lines.
        within: how near counts as meeting, in the same unit.

    Returns:
        Ends first, in the order of the lines, then crossings.
    """
    places: list[tuple[XY, list[tuple[str, Floats]]]] = []
    for name, path in lines.items():
        if path.closed:  # where a closed seam was begun to be drawn, nothing ends
            continue
        for at, away in ((path.cubics[0, 0], _leaving(path, 0)), (path.cubics[-1, 3], _leaving(path, -1))):
            if outline is not None and _distance(outline, at) <= within:
                continue
            same = next((e for p, e in places if np.hypot(p[0] - at[0], p[1] - at[1]) <= within), None)
            if same is None:
                places.append(((float(at[0]), float(at[1])), same := []))
            same.append((name, away))
    found = []
    for point, ends in places:
        ending = {name for name, _ in ends}
        through = [n for n, p in lines.items() if n not in ending and _distance(p, point) <= within]
        left, right = _sides(lines[through[0]], point, ends) if through else ([n for n, _ in ends], [])
        if through or len(ends) > 1:
            found.append(Junction(point, tuple(through), tuple(left), tuple(right)))
    return (*found, *_crossings(lines, found, within))


def stuck(found: Sequence[Junction]) -> tuple[tuple[str, ...], ...]:
    """Groups of seams that no order lets one sew straight through; empty where an order exists."""
    before: dict[str, set[str]] = {}
    for j in found:
        for end in j.ends:
            for through in j.through:
                before.setdefault(through, set()).add(end)
    rings = []
    while ring := _ring(before):
        rings.append(ring)
        for name in ring:
            before.pop(name, None)
    return (*rings, *(j.ends for j in found if not j.through and len(j.ends) > 2))


def _ring(before: Mapping[str, set[str]]) -> tuple[str, ...]:
    """Names that wait for each other in a ring, or an empty tuple."""
    for start in before:
        trail = [start]
        seen = {start: 0}
        choices = [iter(sorted(before[start]))]
        while choices:
            step = next(choices[-1], None)
            if step is None:
                choices.pop()
                seen.pop(trail.pop())
            elif step in seen:
                return tuple(trail[seen[step] :])
            elif step in before:
                seen[step] = len(trail)
                trail.append(step)
                choices.append(iter(sorted(before[step])))
    return ()


def _sides(through: Path, point: XY, ends: Sequence[tuple[str, Floats]]) -> tuple[list[str], list[str]]:
    segment, t, _ = nearest(through, point)
    along = paths.tangent(through, segment, t)
    left: list[str] = []
    right: list[str] = []
    for name, away in ends:
        (left if along[0] * away[1] - along[1] * away[0] > 0 else right).append(name)
    return left, right


def _leaving(path: Path, which: int) -> Floats:
    """Direction in which a line leaves its first (0) or last (−1) point into its own length."""
    if which == 0:
        return paths.tangent(path, 0, 0.0)
    return -paths.tangent(path, len(path) - 1, 1.0)


def _distance(path: Path, point: XY | Floats) -> float:
    return nearest(path, (float(point[0]), float(point[1])))[2]


def _crossings(lines: Mapping[str, Path], known: Sequence[Junction], within: float) -> list[Junction]:
    names = list(lines)
    found = []
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            for (segment, t), _ in intersections(lines[one], lines[other]):
                x, y = paths.evaluate(lines[one].cubics[segment], np.float64(t))
                if all(np.hypot(j.point[0] - x, j.point[1] - y) > 2 * within for j in known):
                    found.append(Junction((float(x), float(y)), (one, other)))
    return found
