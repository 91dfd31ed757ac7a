"""Named points of the body's outline and the edges between them: found from corners and from what touches what.

The outline is cut in two halves at the mirror line; each half runs from the middle of the top down to the middle of the
hem and is read on its own, and a point that only one half shows is taken over from the other. All points can be moved
afterwards; edges are always cut from the outline between neighbouring points, so they join without a gap.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockup.garment.view import PathXY, View, ViewEdge
from mockup.geometry import path as paths
from mockup.geometry.curve import nearest
from mockup.geometry.path import XY, Floats, Path
from mockup.geometry.trace import find_corners
from swatches.errors import GeometryError

ORDER = ("neck", "waist", "shoulder", "cuff", "cuff-end", "underarm", "hem")
"""Points of one half in the order in which they follow from the top."""

_EDGES = {
    ("neck", "shoulder"): "shoulder",
    ("shoulder", "underarm"): "armhole",
    ("neck", "underarm"): "armhole",
    ("underarm", "hem"): "side",
    ("waist", "hem"): "side",
    ("shoulder", "cuff"): "sleeve-top",
    ("neck", "cuff"): "sleeve-top",
    ("cuff", "cuff-end"): "sleeve-hem",
    ("cuff-end", "underarm"): "sleeve-seam",
    ("shoulder", "hem"): "side",
    ("neck", "hem"): "side",
}
_SIDES = ("left", "right")


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """One half of the body's outline, from the middle of the top to the middle of the hem.

    Attributes:
        points: shape (n, 2), about 1 px apart.
        turn: turning angle at every point, radians, positive where the outline is convex.
        corners: indices of corners.
        beside: label of what lies just outside of every point, shape (n,).
    """

    points: Floats
    turn: Floats
    corners: NDArray[np.intp]
    beside: NDArray[np.intp]


def read_half(
    half: Half, *, sleeves: frozenset[int] = frozenset(), top: frozenset[int] = frozenset()
) -> dict[str, int]:
    """Find the named points of one half.

    Args:
        half: the half.
        sleeves: labels of sleeves.
        top: labels of what closes the neck or waist: facing, collar, waistband.

    Returns:
        Name without a side → index into the points. 'hem' is always there; others where they can be told.
    """
    p, n = half.points, len(half.points)
    low, high = p[:, 1].min(), p[:, 1].max()
    tall = max(float(high - low), 1.0)
    snap = max(6.0, 0.03 * tall)
    found = {"hem": _hem_corner(half, tall)}
    above = found["hem"]
    corners = [int(c) for c in half.corners if 0.01 * n < c < above - 0.02 * n]
    end = _last_beside(half.beside[:above], top)
    first = _snapped(half, end, snap) if end is not None and end > 2 else None
    run = _longest_run(np.isin(half.beside[:above], list(sleeves))) if sleeves else None
    if run is not None:
        found["shoulder"] = _snapped(half, run[0], snap)
        found["underarm"] = _snapped(half, run[1], snap)
        if first is None or first >= found["shoulder"]:
            inner = [c for c in corners if c < found["shoulder"] - 0.01 * n and half.turn[c] > 0]
            first = max(inner, key=lambda c: half.turn[c]) if inner else None
        if first is not None:
            found["neck"] = first
        return found
    if first is not None:
        corners = [c for c in corners if c > first + 0.01 * n]
    else:
        # the corners of a square or pointed neckline are hollow; the neck point is the first that sticks out
        first = next((c for c in corners if half.turn[c] > 0), None)
        corners = [c for c in corners if first is not None and c > first]
    if first is None:
        return found
    bumps = [c for c in corners if half.turn[c] > 0]
    lowest = max(bumps, default=0)
    # below the hollow under a sleeve that is cut in one there is only the hem; a cut armhole ends in a bump
    hollow = [c for c in corners if half.turn[c] < -np.deg2rad(30) and c > lowest]
    if hollow:  # a sleeve cut in one with the body
        found["neck"] = first
        found["underarm"] = min(hollow, key=lambda c: half.turn[c])
        outer = [c for c in bumps if c < found["underarm"]]
        if len(outer) >= 2:
            found["cuff"], found["cuff-end"] = outer[-2], outer[-1]
        shoulder = _bend_between(half, first, found.get("cuff", found["underarm"]))
        if shoulder is not None:
            found["shoulder"] = shoulder
        return found
    if len(bumps) >= 2:
        found["neck"], found["shoulder"], found["underarm"] = first, bumps[0], bumps[-1]
        return found
    if len(bumps) == 1 and p[bumps[0], 1] < low + 0.6 * tall:
        found["neck"], found["underarm"] = first, bumps[0]
        if p[bumps[0], 1] < low + 0.22 * tall:  # too high for an underarm: a shoulder tip above a soft underarm
            under = _bend_between(half, bumps[0], above, outward=True)
            if under is not None:
                found["shoulder"], found["underarm"] = bumps[0], under
        return found
    found["waist"] = first
    return found


def parting(half: Half, index: int, sleeves: Sequence[PathXY], line_px: float) -> int:
    """Where body and sleeve part below the armhole, if their lines, drawn ``line_px`` wide, run together above that.

    Between the two lines the gap opens evenly; it is led back from where it is clear of ink to where it would be none.

    Args:
        half: the half.
        index: where the gap is first seen.
        sleeves: outlines of the sleeves, px.
        line_px: width of the drawn lines.

    Returns:
        The index, moved up by no more than 8 % of the half's height.
    """
    p = half.points
    most = 0.08 * float(np.ptp(p[:, 1]))
    below = p[index : index + int(2 * most) + 40]
    if not sleeves or len(below) < 12:
        return index
    rows = np.concatenate([_ring(paths.from_tuples(s)) for s in sleeves])
    gap = np.linalg.norm(below[:, None] - rows[None], axis=2).min(axis=1)
    clear = np.nonzero(gap > 2 * line_px)[0]
    if not len(clear):
        return index
    wide = np.nonzero(gap[clear[0] :] > 6 * line_px)[0]
    last = int(clear[0] + wide[0]) if len(wide) else len(gap)
    s = np.arange(int(clear[0]), last)
    if len(s) < 6:
        return index
    slope, start = np.polyfit(gap[s], s, 1)
    if slope <= 0:
        return index
    return index + round(float(np.clip(start, -most, 0)))


def _hem_corner(half: Half, tall: float) -> int:
    """The corner farthest out and down; where the hem is round, the point farthest out and down."""
    p = half.points
    out = np.abs(p[:, 0] - p[0, 0])
    score = out / max(float(out.max()), 1.0) * 0.8 + (p[:, 1] - p[:, 1].min()) / tall
    low = [int(c) for c in half.corners if p[c, 1] > p[:, 1].min() + 0.55 * tall and half.turn[c] > 0]
    if low:
        return max(low, key=lambda c: score[c])
    return int(np.where(p[:, 1] > p[:, 1].min() + 0.55 * tall, score, -1).argmax())


def _last_beside(beside: NDArray[np.intp], labels: frozenset[int]) -> int | None:
    """Index where a run of ``labels`` ends that begins at the start of the half, short breaks allowed."""
    if not labels or not len(beside):
        return None
    inside = np.isin(beside, list(labels))
    hits = np.nonzero(inside)[0]
    if not len(hits) or hits[0] > 0.05 * len(beside) + 4:
        return None
    gaps = np.nonzero(np.diff(hits) > 0.02 * len(beside) + 4)[0]
    return int(hits[gaps[0]] if len(gaps) else hits[-1])


def _longest_run(inside: NDArray[np.bool_]) -> tuple[int, int] | None:
    """First and last index of the longest run of True, breaks up to 2 % bridged."""
    hits = np.nonzero(inside)[0]
    if len(hits) < 8:
        return None
    cuts = np.nonzero(np.diff(hits) > 0.02 * len(inside) + 4)[0]
    starts, ends = np.r_[0, cuts + 1], np.r_[cuts, len(hits) - 1]
    best = int(np.argmax(hits[ends] - hits[starts]))
    a, b = int(hits[starts[best]]), int(hits[ends[best]])
    return (a, b) if b - a > 8 else None


def _snapped(half: Half, index: int, reach: float) -> int:
    """The nearest corner within ``reach`` px along the outline, else the index itself."""
    if not len(half.corners):
        return index
    near = int(half.corners[np.argmin(np.abs(half.corners - index))])
    return near if abs(near - index) <= reach else index


def _bend_between(half: Half, a: int, b: int, *, outward: bool = False) -> int | None:
    """The point farthest from the chord, if it is far enough: where a line bends that has no corner.

    So the top of a sleeve that is cut in one bends down from the shoulder; ``outward``: only away from the middle.
    """
    if b - a < 20:
        return None
    p = half.points[a : b + 1]
    chord = p[-1] - p[0]
    size = float(np.linalg.norm(chord))
    if size == 0:
        return None
    away = (chord[0] * (p[:, 1] - p[0, 1]) - chord[1] * (p[:, 0] - p[0, 0])) / size
    away = -away * np.sign(p[-1, 0] - half.points[0, 0]) if outward else np.abs(away)
    at = int(away.argmax())
    return a + at if away[at] > 0.01 * size and 3 < at < len(p) - 4 else None


Beside = Callable[[Floats, Floats], NDArray[np.intp]]


def halves(outline: Path, mirror_x: float, beside: Beside, reach: float) -> tuple[Half, Half]:
    """Cut an outline at the mirror line.

    Args:
        outline: closed, px, counter-clockwise as a person sees it.
        mirror_x: px.
        beside: gives the label just outside of points (n, 2) with outward normals (n, 2).
        reach: px on either side that corners are judged by.

    Returns:
        The half on the right of the picture and the one on the left.

    Raises:
        GeometryError: the mirror line misses the outline.
    """
    ring = _ring(outline)
    over = ring[:, 0] - mirror_x
    crossings = np.nonzero((over >= 0) != (np.roll(over, -1) >= 0))[0]
    if len(crossings) < 2:
        raise GeometryError(
            "mirror line",
            expected="a line through the garment's body",
            got=f"x = {mirror_x:.0f} px",
            next_step="Move the middle of the garment onto it",
        )
    nxt = np.roll(ring, -1, axis=0)
    share = over[crossings] / (over[crossings] - np.roll(over, -1)[crossings])
    heights = ring[crossings, 1] + share * (nxt[crossings, 1] - ring[crossings, 1])
    top, bottom = int(crossings[heights.argmin()]), int(crossings[heights.argmax()])
    corners = np.zeros(len(ring), bool)
    corners[find_corners(ring, reach=reach)] = True
    k = max(2, round(reach))
    back, forth = ring - np.roll(ring, k, axis=0), np.roll(ring, -k, axis=0) - ring
    # y is down: a person's counter-clockwise convex turn has a negative cross product here
    turn = -np.arctan2(back[:, 0] * forth[:, 1] - back[:, 1] * forth[:, 0], np.einsum("ij,ij->i", back, forth))
    along = np.roll(ring, -2, axis=0) - np.roll(ring, 2, axis=0)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    labels = beside(ring, normal)
    n = len(ring)
    # counter-clockwise for a person: from the hem's middle up the right of the picture to the top's middle
    right = np.arange(bottom + 1, top + 1 + (n if top <= bottom else 0)) % n
    left = np.arange(top + 1, bottom + 1 + (n if bottom <= top else 0)) % n

    def half(index: NDArray[np.intp]) -> Half:
        return Half(ring[index], turn[index], np.nonzero(corners[index])[0], labels[index])

    return half(right[::-1]), half(left)


def _ring(outline: Path) -> Floats:
    """Sample a closed path about every px, the first point not repeated."""
    flat = paths.flatten(outline, 0.05).points
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))]
    s = np.arange(max(16, round(along[-1]))) * along[-1] / max(16, round(along[-1]))
    return np.stack([np.interp(s, along, flat[:, k]) for k in (0, 1)], axis=1)


def with_landmarks(view: View, landmarks: dict[str, XY]) -> View:
    """Give the view with these landmarks, moved onto the body's outline, and its edges cut between them.

    The outline itself is re-cut at them, so that edges joined are the outline exactly. The middles of neck (or waist)
    and hem are where the mirror line crosses the outline, whatever was given for them.

    Raises:
        GeometryError: points that follow each other on the garment are in the wrong order on the outline.
    """
    outline = paths.from_tuples(view.body.outline)
    places: dict[str, tuple[int, float]] = {}
    for name, point in landmarks.items():
        if name.rpartition("-")[2] in _SIDES:
            segment, t, _ = nearest(outline, point)
            places[name] = (segment, t) if t < 1 else ((segment + 1) % len(outline), 0.0)
    ring = [f"{p}-{s}" for s, names in _around(view) for p in names if f"{p}-{s}" in places]
    where = [places[name] for name in ring]
    if len(where) >= 2:
        start = where.index(min(where))
        turned = where[start:] + where[:start]
        if turned != sorted(turned) or len(set(turned)) < len(turned):
            wrong = next(i for i in range(len(turned)) if i and turned[i] <= turned[i - 1])
            names = ring[start:] + ring[:start]
            raise GeometryError(
                "landmarks",
                expected="points in their order round the garment",
                got=f"{names[wrong].replace('-', ' ')} before {names[wrong - 1].replace('-', ' ')}",
                next_step="Move one of the two along the outline",
            )
    edges = []
    for i, name in enumerate(ring):
        other = ring[(i + 1) % len(ring)]
        edges.append(ViewEdge(_edge_name(name, other), _between(outline, places[name], places[other]), name, other))
    edges = [e for e in edges if e.name]
    points = {name: tuple(map(float, paths.points_at(outline, *places[name]))) for name in ring}
    body = view.body
    if len(edges) == len(ring) >= 2:
        body = replace(body, outline=tuple(c for e in edges for c in e.path))
    made = replace(
        view,
        areas=(body, *(a for a in view.areas if a is not view.body)),
        landmarks=points,  # type: ignore[arg-type]
        edges=tuple(edges),
    )
    return _with_middles(made)


def _around(view: View) -> tuple[tuple[str, tuple[str, ...]], tuple[str, tuple[str, ...]]]:
    """Sides and point names in the order of the outline, counter-clockwise for a person, from the hem's far corner."""
    right_of_picture = "left" if view.side == "front" else "right"
    left_of_picture = "right" if view.side == "front" else "left"
    return (right_of_picture, ORDER[::-1]), (left_of_picture, ORDER)


def _edge_name(a: str, b: str) -> str:
    (first, _, side), (second, _, other) = a.rpartition("-"), b.rpartition("-")
    if side != other:
        return (
            first
            if first == second and first in ("neck", "waist", "hem")
            else ("hem" if "hem" in (first, second) else "neck")
        )
    down = (first, second) if ORDER.index(first) < ORDER.index(second) else (second, first)
    return f"{_EDGES.get(down, 'outline')}-{side}"


def _between(outline: Path, a: tuple[int, float], b: tuple[int, float]) -> PathXY:
    """The part of a closed path from a to b, going on over its start where b lies before a."""
    if a < b:
        return paths.sub_path(outline, a, b).to_tuples()
    end, start = (len(outline) - 1, 1.0), (0, 0.0)
    parts = [paths.sub_path(outline, a, end)] if a < end else []
    parts += [paths.sub_path(outline, start, b)] if b > start else []
    return paths.joined(parts).to_tuples()


def _with_middles(view: View) -> View:
    """Put the middles of top and hem where the mirror line crosses them."""
    if view.mirror_x is None:
        return view
    landmarks = dict(view.landmarks)
    for name in ("neck", "waist", "hem"):
        edge = next((e for e in view.edges if e.name == name), None)
        if edge is None:
            continue
        flat = paths.flatten(paths.from_tuples(edge.path), 0.01).points
        over = flat[:, 0] - view.mirror_x
        at = np.nonzero((over[:-1] >= 0) != (over[1:] >= 0))[0]
        if len(at):
            i = int(at[len(at) // 2])
            y = np.interp(0.0, sorted(over[i : i + 2]), flat[i : i + 2, 1][np.argsort(over[i : i + 2])])
            landmarks[f"{name}-centre"] = (view.mirror_x, float(y))
    return replace(view, landmarks=landmarks)


def move_landmark(view: View, name: str, px: XY) -> View:
    """Move a landmark; it stays on the body's outline. Moving a middle moves the mirror line.

    Raises:
        GeometryError: there is no such landmark, or it would pass its neighbour.
    """
    if name not in view.landmarks:
        raise GeometryError(
            "landmark",
            expected=f"one of {', '.join(sorted(view.landmarks))}",
            got=name,
            next_step="Choose a point of this view",
        )
    if not np.isfinite(px).all():
        raise GeometryError(
            "landmark", expected="a place in the picture", got=str(px), next_step="Click on the outline"
        )
    if name.endswith("-centre"):
        left, _, right, _ = paths.bounds(paths.from_tuples(view.body.outline))
        inset = 0.02 * (right - left)
        middle = float(np.clip(px[0], left + inset, right - inset))
        return with_origin(_with_middles(replace(view, mirror_x=middle)))
    return with_landmarks(view, {**view.landmarks, name: px})


def with_origin(view: View) -> View:
    """Put the origin of view mm at the middle of the neck (or waist)."""
    for name in ("neck-centre", "waist-centre"):
        if name in view.landmarks:
            return replace(view, origin_px=view.landmarks[name])
    return view


def set_measure(view: View, measure: str, mm: float) -> View:
    """Set the scale from one known length.

    Args:
        view: the view.
        measure: 'centre-front' or 'centre-back' (neck or waist to hem on the mirror line), or an edge's name, with or
            without its side.
        mm: its length on the garment.

    Raises:
        GeometryError: no such measure here, or a length that is not positive.
    """
    if not (np.isfinite(mm) and mm > 0):
        raise GeometryError(measure, expected="a length above 0", got=f"{mm:g} mm", next_step="Type it like 680mm")
    lengths = measures(view)
    if measure not in lengths:
        raise GeometryError(
            "known length",
            expected=f"one of {', '.join(lengths)}",
            got=measure,
            next_step="Measure one of these on the garment",
        )
    return with_origin(view).with_scale(mm / lengths[measure])


def measures(view: View) -> dict[str, float]:
    """Lengths that a scale can be set from: name → px."""
    found: dict[str, float] = {}
    top = view.landmarks.get("neck-centre") or view.landmarks.get("waist-centre")
    hem = view.landmarks.get("hem-centre")
    if top and hem and hem[1] - top[1] > 1:
        found[f"centre-{view.side}"] = hem[1] - top[1]
    for edge in view.edges:
        size = paths.length(paths.from_tuples(edge.path))
        found[edge.name] = size
        base, _, side = edge.name.rpartition("-")
        if side in _SIDES:
            other = next((e for e in view.edges if e.name == f"{base}-{'right' if side == 'left' else 'left'}"), None)
            found[base] = (size + paths.length(paths.from_tuples(other.path))) / 2 if other else size
    return found
