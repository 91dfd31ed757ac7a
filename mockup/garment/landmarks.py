"""Named points of the body's outline, and the edges between them.

Each half of the outline is read on its own (:mod:`mockup.garment.half`), and a point that only one half shows is taken
over from the other. All points can be moved afterwards; edges are always cut from the outline between neighbouring
points, so they join without a gap.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockup.garment.view import PathXY, View, ViewEdge
from mockup.geometry import path as paths
from mockup.geometry.curve import nearest
from mockup.geometry.path import XY, Path
from swatches.errors import GeometryError

ORDER = ("neck", "waist", "shoulder", "cuff", "cuff-end", "underarm", "hem")
"""Points of one half in the order in which they follow from the top."""

WORDS = {
    "neck": "neck point",
    "waist": "waist",
    "shoulder": "shoulder tip",
    "cuff": "upper corner of the cuff",
    "cuff-end": "lower corner of the cuff",
    "underarm": "underarm",
    "hem": "hem",
}
"""What the person calls them."""

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
_HEIGHTS = {"neck": 0.0, "shoulder": 0.06, "underarm": 0.27}  # shares of a body's height from its top, by eye


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


def missing_points(view: View) -> dict[str, XY]:
    """Points that a top has and this view lacks, about where most have them, px; skirts and trousers lack none."""
    if not view.landmarks or any(name.startswith("waist") for name in view.landmarks):
        return {}
    outline = paths.flatten(paths.from_tuples(view.body.outline), 0.5).points
    left, top, right, bottom = paths.bounds(paths.from_tuples(view.body.outline))
    middle = (left + right) / 2 if view.mirror_x is None else view.mirror_x
    found: dict[str, XY] = {}
    for word, side in zip(_SIDES, (1, -1) if view.side == "front" else (-1, 1), strict=True):
        half = outline[(outline[:, 0] - middle) * side > 0]
        for kind, down in _HEIGHTS.items():
            if f"{kind}-{word}" not in view.landmarks and len(half):
                x, y = half[np.abs(half[:, 1] - (top + down * (bottom - top))).argmin()]
                found[f"{kind}-{word}"] = (float(x), float(y))
    return found


def move_landmark(view: View, name: str, px: XY) -> View:
    """Move a landmark, or place one that was not found; it stays on the body's outline.

    Moving a middle moves the mirror line. A point that is missing on both sides is placed on both, mirrored.

    Raises:
        GeometryError: a garment like this has no such landmark, or it would pass its neighbour.
    """
    missing = missing_points(view)
    if name not in view.landmarks and name not in missing:
        raise GeometryError(
            "landmark",
            expected=f"one of {', '.join(sorted({*view.landmarks, *missing}))}",
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
    put = {name: px}
    base, _, side = name.rpartition("-")
    twin = f"{base}-{'right' if side == 'left' else 'left'}"
    if name in missing and twin in missing and view.mirror_x is not None:
        put[twin] = (2 * view.mirror_x - px[0], px[1])
    moved = with_landmarks(view, {**view.landmarks, **put})
    return replace(moved, placed=(*(n for n in view.placed if n not in put), *put))


def with_origin(view: View) -> View:
    """Put the origin of view mm at the middle of the neck (or waist)."""
    for name in ("neck-centre", "waist-centre"):
        if name in view.landmarks:
            return replace(view, origin_px=view.landmarks[name])
    return view
