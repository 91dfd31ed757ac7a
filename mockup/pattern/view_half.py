"""The halves of a split's view as rings of named edges, and which of its lines are the same on both sides."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.intersect import Position, intersections
from mockup.geometry.path import XY, Path
from mockup.geometry.ruler import Ruler
from mockup.split.split import SplitLine, SplitView
from swatches.errors import GeometryError

CENTRE = "centre"
_ALIKE_MM = 1.0
_TWINS_SHARE = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """One half of a view, or the whole of it, as a ring of named edges.

    Attributes:
        side: 'left' or 'right' (the wearer's), or empty for the whole.
        names: without sides for a half; the mirror line is 'centre'.
        edges: their paths, counter-clockwise, closed, view mm.
    """

    side: str
    names: tuple[str, ...]
    edges: tuple[Path, ...]


def mirror_pairs(view: SplitView) -> set[str]:
    """Ids of lines that are not symmetrical in themselves but have a mirror image among the others.

    Their ends are at the same distances on opposite sides, and the curves are alike: to 1 mm, or, where the picture
    says that panels are twins, to 2 % of the width, since a traced drawing is never quite symmetrical.
    """
    if view.mirror_line is None:
        return set()
    twins = any(panel.side is not None and panel.area == "body" for panel in view.panels)
    x0, _, x1, _ = paths.bounds(paths.from_tuples(view.outline))
    limit = max(_ALIKE_MM, _TWINS_SHARE * (x1 - x0)) if twins else _ALIKE_MM
    found: set[str] = set()
    lines = [line for line in view.lines if not line.symmetric]
    for k, a in enumerate(lines):
        for b in lines[k + 1 :]:
            if {a.start_side, b.start_side} in ({"left", "right"}, {None}) and a.start == b.start and a.end == b.end:
                twin = _reflected(paths.from_tuples(a.path), view.mirror_line)
                if _apart(twin, paths.from_tuples(b.path)) < limit:
                    found |= {a.id, b.id}
    return found


def keeps_fold(view: SplitView) -> bool:
    """Whether every line of a view is the same on both sides, so that pieces stay on the fold."""
    pairs = mirror_pairs(view)
    return all(line.symmetric or line.id in pairs for line in view.lines)


def whole(view: SplitView) -> Half:
    """The whole view as a ring of edges, counter-clockwise."""
    named = [(e.name, paths.from_tuples(e.path)) for e in view.edges]
    if not named:
        raise GeometryError(
            f"{view.name} of the split",
            expected="named edges",
            got="none",
            next_step="Name hem, side, armhole, shoulder and neck in the picture",
        )
    if paths.signed_area(paths.joined([p for _, p in named])) < 0:
        named = [(name, paths.reversed_path(p)) for name, p in reversed(named)]
    return Half("", tuple(n for n, _ in named), tuple(p for _, p in named))


def half_of_view(view: SplitView, side: str) -> Half:
    """The wearer's left or right half of a view, closed along the mirror line."""
    ring = whole(view)
    mirror = long_mirror(view, ring.edges)
    pieces: list[tuple[str, Path]] = []
    for name, path in zip(ring.names, ring.edges, strict=True):
        stops = [(0, 0.0), *(p for p, _ in intersections(path, mirror)), (len(path) - 1, 1.0)]
        for a, b in itertools.pairwise(stops):
            if a < b:
                part = paths.sub_path(path, a, b)
                if np.linalg.norm(part.cubics - part.start, axis=2).max() > 1e-6:
                    pieces.append((name, part))
    names = [n for n, _ in pieces]
    sides = np.array([across(mirror, p) for _, p in pieces])
    sign = np.sign(sum(s for n, s in zip(names, sides, strict=True) if n.endswith(f"-{side}")))
    if sign == 0:
        raise GeometryError(
            f"{view.name} of the split",
            expected=f"edges named for the wearer's {side}",
            got=", ".join(ring.names),
            next_step="Name both side seams, such as side-left and side-right",
        )
    mine = np.sign(sides) == sign
    start = next(k for k in range(len(pieces)) if mine[k] and not mine[k - 1])
    kept = []
    for k in range(len(pieces)):
        n = (start + k) % len(pieces)
        if not mine[n]:
            break
        kept.append(pieces[n])
    kept.append((CENTRE, paths.polyline([kept[-1][1].end, kept[0][1].start])))
    return Half(side, tuple(base_name(n) for n, _ in kept), tuple(p for _, p in kept))


def long_mirror(view: SplitView, edges: Sequence[Path]) -> Path:
    """The mirror line, made longer than the view.

    Raises:
        GeometryError: the view has none.
    """
    if view.mirror_line is None:
        raise GeometryError(
            f"{view.name} of the split",
            expected="a mirror line",
            got="none",
            next_step="Set the middle of the garment in the picture",
        )
    a, b = np.array(view.mirror_line[0]), np.array(view.mirror_line[1])
    way = (b - a) / np.linalg.norm(b - a)
    reach = 2 * float(max(np.abs(p.cubics - a).max() for p in edges))
    return paths.polyline([a - reach * way, b + reach * way])


def across(mirror: Path, path: Path) -> float:
    """Signed distance of the middle of a path from the mirror line."""
    way = mirror.end - mirror.start
    middle = paths.evaluate(path.cubics, np.full(len(path), 0.5)).mean(axis=0) - mirror.start
    return float(way[0] * middle[1] - way[1] * middle[0]) / float(np.linalg.norm(way))


def base_name(name: str) -> str:
    """An edge's name without the wearer's side."""
    return name.removesuffix("-left").removesuffix("-right")


def half_line(line: SplitLine, view: SplitView, side: str) -> Path:
    """The half of a symmetrical line on the wearer's side, from the outline to the mirror line."""
    path = paths.from_tuples(line.path)
    half = half_of_view(view, side)
    mirror = long_mirror(view, half.edges)
    crossings = intersections(path, mirror)
    if not crossings:
        raise GeometryError(
            f"line '{line.name}'",
            expected="a symmetrical line that meets the mirror line",
            got="one that does not",
            next_step="Draw it up to the middle",
        )
    if path.closed and len(crossings) >= 2:
        return _half_round(path, crossings[0][0], crossings[-1][0], mirror, half)
    middle = len(path) / 2
    at = min((p for p, _ in crossings), key=lambda p: abs(p[0] + p[1] - middle))
    parts = []
    if at > (0, 0.0):
        parts.append(paths.sub_path(path, (0, 0.0), at))
    if at < (len(path) - 1, 1.0):
        parts.append(paths.reversed_path(paths.sub_path(path, at, (len(path) - 1, 1.0))))
    sign = np.sign(across(mirror, paths.joined(half.edges[:-1])))
    return max(parts, key=lambda p: sign * across(mirror, p))


def _half_round(path: Path, one: Position, other: Position, mirror: Path, half: Half) -> Path:
    """The part of a closed line that lies on a half's side of the mirror line."""
    inner = paths.sub_path(path, one, other)
    outer = [paths.sub_path(path, other, (len(path) - 1, 1.0))] if other < (len(path) - 1, 1.0) else []
    outer += [paths.sub_path(path, (0, 0.0), one)] if one > (0, 0.0) else []
    sign = np.sign(across(mirror, paths.joined(half.edges[:-1])))
    return max([inner, paths.joined(outer)], key=lambda p: sign * across(mirror, p))


def side_of(line: SplitLine, view: SplitView) -> str:
    """The wearer's side on which a line lies that is one of a mirrored pair."""
    if line.start_side is not None:
        return line.start_side
    if line.end_side is not None:
        return line.end_side
    left = half_of_view(view, "left")
    mirror = long_mirror(view, left.edges)
    sign = np.sign(across(mirror, paths.joined(left.edges[:-1])))
    return "left" if np.sign(across(mirror, paths.from_tuples(line.path))) == sign else "right"


def _reflected(path: Path, mirror: tuple[XY, XY]) -> Path:
    a, b = np.array(mirror[0]), np.array(mirror[1])
    way = (b - a) / np.linalg.norm(b - a)
    flip = 2 * np.outer(way, way) - np.eye(2)
    return paths.transformed(path, np.c_[flip, a - flip @ a])


def _apart(a: Path, b: Path) -> float:
    """Largest distance of two curves at equal shares of their lengths."""
    shares = np.linspace(0, 1, 17)
    ra, rb = Ruler(a), Ruler(b)
    pa = np.array([ra.point(s * ra.total) for s in shares])
    pb = np.array([rb.point(s * rb.total) for s in shares])
    return float(np.linalg.norm(pa - pb, axis=1).max())
