"""Which faces of a body are twins, and in what order panels are counted.

Both are read from what bounds a face, never from its size or place, so that neither changes while a line is dragged:
a face's twin is bounded by the mirror images of the same edges and lines; and faces are counted in the order in which
the walk from the middle of the neck, down the wearer's left side and then down the right, first meets them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.faces import Face
from mockup.geometry.path import Path
from mockup.stylelines.edges import MmEdge
from mockup.stylelines.styleline import End, StyleLine

Token = tuple[str, str]
_OTHER = {"left": "right", "right": "left"}
_NEAR = 1e-6
_TOUCH_MM = 0.01
_OVERLAP = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """A body cut into faces, and what is needed to name them.

    Attributes:
        outline: view mm, counter-clockwise.
        edges: named edges that make up the outline, in its order, or none.
        middle: x of the mirror line, or of the box's middle where there is none.
        mirrored: whether there is a mirror line.
        left: sign of x of the wearer's left.
        lines: the lines that cut it.
        faces: the faces.
    """

    outline: Path
    edges: tuple[MmEdge, ...]
    middle: float
    mirrored: bool
    left: float
    lines: tuple[StyleLine, ...]
    faces: tuple[Face, ...]


def mirror_image(line: StyleLine) -> StyleLine:
    """The line on the other side of the wearer; a symmetrical one is its own."""

    def other(end: End) -> End:
        return end if end.side is None else replace(end, side=_OTHER[end.side])

    if line.symmetric:
        return line
    return replace(line, start=other(line.start), end=other(line.end), through=tuple((-x, y) for x, y in line.through))


def reversed_line(line: StyleLine) -> StyleLine:
    """The same line run from its end to its start."""
    return replace(line, start=line.end, end=line.start, through=line.through[::-1])


def mirror_partners(lines: Sequence[StyleLine]) -> dict[str, str]:
    """Line id → id of its mirror image among the lines: itself for a symmetrical one; not there where it has none."""
    found: dict[str, str] = {}
    ids = {line.id for line in lines}
    todo = list(lines)
    for _ in lines:  # a line that ends on others is known when those are
        for line in todo:
            ends_on = {line.start.edge, line.end.edge} & ids
            if not ends_on <= set(found):
                continue
            image = mirror_image(line)
            image = replace(
                image,
                start=replace(image.start, edge=found.get(image.start.edge, image.start.edge)),
                end=replace(image.end, edge=found.get(image.end.edge, image.end.edge)),
            )
            for other in lines:
                if _same(image, other) or _same(image, reversed_line(other)):
                    found[line.id] = other.id
                    break
        todo = [line for line in todo if line.id not in found]
    return found


def _same(a: StyleLine, b: StyleLine) -> bool:
    if (a.kind, a.symmetric, a.kinked, len(a.through)) != (b.kind, b.symmetric, b.kinked, len(b.through)):
        return False
    for p, q in ((a.start, b.start), (a.end, b.end)):
        if (p.edge, p.landmark, p.side) != (q.edge, q.landmark, q.side) or abs(p.distance_mm - q.distance_mm) > _NEAR:
            return False
    return bool(np.allclose(a.through, b.through, rtol=0, atol=_NEAR)) if a.through else True


def face_twins(body: Body) -> dict[int, tuple[int | None, str | None]]:
    """Give for every face (its twin's index or None, its side 'left'/'right' where it has a twin)."""
    signs = [_signature(face, body) for face in body.faces]
    shapes = [_polygon(face) for face in body.faces]
    partners = mirror_partners(body.lines)
    result: dict[int, tuple[int | None, str | None]] = dict.fromkeys(range(len(signs)), (None, None))
    if not body.mirrored:
        return result
    for k, sign in enumerate(signs):
        if result[k][0] is not None:
            continue
        image = _mirrored(sign, partners)
        if image is None:
            continue
        shape = shapely.transform(shapes[k], lambda p: np.stack([2 * body.middle - p[:, 0], p[:, 1]], axis=1))
        best, size = None, _OVERLAP
        for j, other in enumerate(signs):
            if j == k or other != image or result[j][0] is not None:
                continue
            share = shapely.area(shapely.intersection(shape, shapes[j])) / shapely.area(shapely.union(shape, shapes[j]))
            if share > size:
                best, size = j, share
        if best is not None:
            is_left = (shapes[k].centroid.x - body.middle) * body.left > 0
            result[k] = (best, "left" if is_left else "right")
            result[best] = (k, "right" if is_left else "left")
    return result


def order(body: Body) -> list[int]:
    """Faces from the middle of the neck down the wearer's left side, then down the right, then the enclosed ones."""
    size = paths.length(body.outline)
    neck, hem = (_middle_of(body.outline, body.middle, top) for top in (True, False))
    # the outline runs counter-clockwise: from the neck it goes down the picture's left side
    with_run = body.left < 0
    whole = (hem - neck) % size
    depth_left = whole if with_run else size - whole

    def key(k: int) -> tuple[int, float, float, float]:
        face = body.faces[k]
        best = (2, 0.0)
        for part in face.parts:
            if part.source != -1:
                continue
            a, b = part.from_distance, part.to_distance
            if a < neck - _TOUCH_MM and b > neck + _TOUCH_MM:
                return (0, 0.0, 0.0, 0.0)
            forward = (a - neck + _TOUCH_MM) % size - _TOUCH_MM
            backward = (neck - b + _TOUCH_MM) % size - _TOUCH_MM
            left, right = (forward, backward) if with_run else (backward, forward)
            if left < depth_left - _TOUCH_MM:
                best = min(best, (0, left))
            elif right < size - depth_left - _TOUCH_MM:
                best = min(best, (1, right))
        centre = _polygon(face).centroid
        return (*best, -round(centre.y, 3), round(abs(centre.x - body.middle), 3))

    return sorted(range(len(body.faces)), key=key)


def touched(face: Face, body: Body) -> set[Token]:
    """Named edges, as (name, side or ''), that a face touches for more than a point."""
    found: set[Token] = set()
    bounds = np.r_[0.0, np.cumsum([e.length for e in body.edges])]
    for part in face.parts:
        if part.source != -1:
            continue
        for e, lo, hi in zip(body.edges, bounds[:-1], bounds[1:], strict=True):
            if min(part.to_distance, hi) - max(part.from_distance, lo) > _TOUCH_MM:
                found.add((e.name, e.side or ""))
    return found


def straddles(face: Face, body: Body) -> bool:
    """Whether a face lies on both sides of the middle."""
    x0, _, x1, _ = shapely.bounds(_polygon(face))
    return bool(x0 < body.middle - 1 and x1 > body.middle + 1)


def _signature(face: Face, body: Body) -> frozenset[Token]:
    tokens = touched(face, body)
    for ring in (face.parts, *face.holes):
        tokens |= {("line", body.lines[p.source].id) for p in ring if p.source >= 0}
    return frozenset(tokens)


def _mirrored(sign: frozenset[Token], partners: dict[str, str]) -> frozenset[Token] | None:
    image = set()
    for kind, value in sign:
        if kind == "line":
            if value not in partners:
                return None
            image.add((kind, partners[value]))
        else:
            image.add((kind, _OTHER.get(value, "")))
    return frozenset(image)


@lru_cache(maxsize=64)  # no line changes it
def _middle_of(outline: Path, middle: float, top: bool) -> float:
    """Distance along the outline where the middle meets it, at the top or at the foot."""
    x0, y0, x1, y1 = paths.bounds(outline)
    flat = paths.flatten(outline, 0.05)
    p = flat.points
    crosses = np.flatnonzero((p[:-1, 0] - middle) * (p[1:, 0] - middle) <= 0)
    if not len(crosses):
        point = ((x0 + x1) / 2, y1 if top else y0)
    else:
        heights = p[crosses, 1]
        point = (middle, float(heights.max() if top else heights.min()))
    segment, t, _ = curve.nearest(outline, point)
    return paths.distance_at(outline, segment, t)


@lru_cache(maxsize=128)  # its twin, its turn and its name are each asked of its shape
def _polygon(face: Face) -> shapely.Polygon:
    rings = [paths.flatten(paths.joined([p.path for p in ring]), 0.1).points for ring in (face.parts, *face.holes)]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))
