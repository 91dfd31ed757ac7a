"""The surface of the sewn cloth: the draped mesh made finer, and what is on it that is finer than any mesh.

Seams, hems, topstitching and the facing's edge are drawn as heights on each flat piece; so is the crumple of washed
calico. The picture turns the surface's normal by their slope. What hangs on the form is the toile: it has no pockets.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.samples import draft
from mockup.samples.flat import Pen, strokes
from mockup.samples.studio.sewn import BACK, FRONT, SLEEVE_LEFT, SLEEVE_RIGHT, Ints, Sewn
from swatches.samples.grain import Plane, blur, noise, random

MAP_MM_PER_PX = 0.5
_LEFT, _HIGH, _WIDE, _TALL = -360.0, 775.0, 720.0, 1135.0  # the part of every piece that is mapped, mm


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A finer mesh: vertices, flat corners with their piece, triangles of corners; see :class:`Sewn`."""

    points: Floats
    corner_vertex: Ints
    flat: Floats
    panel: Ints
    faces: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Detail:
    """Maps of one piece at :data:`MAP_MM_PER_PX`: slope of the height along flat x and y, and tone of the cloth."""

    slope_x: Plane
    slope_y: Plane
    tone: Plane


def finer(sewn: Sewn, points: Floats) -> Mesh:
    """Split every triangle in four and smooth, after Loop 1987 (weights from memory)."""
    corner_sides = np.concatenate([sewn.faces[:, [0, 1]], sewn.faces[:, [1, 2]], sewn.faces[:, [2, 0]]])
    third = np.concatenate([sewn.faces[:, 2], sewn.faces[:, 0], sewn.faces[:, 1]])
    flat_sides, flat_index = np.unique(np.sort(corner_sides, axis=1), axis=0, return_inverse=True)
    new_flat = (sewn.flat[flat_sides[:, 0]] + sewn.flat[flat_sides[:, 1]]) / 2
    ends = np.sort(sewn.corner_vertex[corner_sides], axis=1)
    sides, index, uses = np.unique(ends, axis=0, return_inverse=True, return_counts=True)
    n, m = len(points), len(sides)
    opposite = np.stack([np.bincount(index, points[sewn.corner_vertex[third], k], m) for k in range(3)], axis=1)
    middle = (points[sides[:, 0]] + points[sides[:, 1]]) / 2
    inner = uses == 2
    middle[inner] = 0.75 * middle[inner] + opposite[inner] / 8
    moved = _smoothed(points, sides, inner, n)
    side_vertex = np.empty(len(flat_sides), dtype=np.int64)
    side_vertex[flat_index] = n + index
    k = len(sewn.faces)
    ab, bc, ca = (len(sewn.flat) + flat_index[i * k : (i + 1) * k] for i in range(3))
    a, b, c = sewn.faces.T
    faces = np.concatenate([np.stack(t, axis=1) for t in ((a, ab, ca), (b, bc, ab), (c, ca, bc), (ab, bc, ca))])
    return Mesh(
        np.concatenate([moved, middle]),
        np.concatenate([sewn.corner_vertex, side_vertex]),
        np.concatenate([sewn.flat, new_flat]),
        np.concatenate([sewn.panel, sewn.panel[flat_sides[:, 0]]]),
        faces,
    )


def carried(sewn: Sewn, values: Floats) -> Floats:
    """Carry values of the vertices, shape (n, …), to the vertices of the finer mesh: new ones take the middle."""
    corner_sides = np.concatenate([sewn.faces[:, [0, 1]], sewn.faces[:, [1, 2]], sewn.faces[:, [2, 0]]])
    sides = np.unique(np.sort(sewn.corner_vertex[corner_sides], axis=1), axis=0)
    return np.concatenate([values, (values[sides[:, 0]] + values[sides[:, 1]]) / 2])


def _smoothed(points: Floats, sides: Ints, inner: NDArray[np.bool_], n: int) -> Floats:
    def around(which: Ints) -> tuple[Floats, Floats]:
        count = np.bincount(which.ravel(), minlength=n).astype(float)
        total = np.zeros((n, 3))
        for axis in range(3):
            total[:, axis] = np.bincount(which[:, 0], points[which[:, 1], axis], n)
            total[:, axis] += np.bincount(which[:, 1], points[which[:, 0], axis], n)
        return total, count

    total, count = around(sides)
    rim, rim_count = around(sides[~inner])
    beta = np.where(count > 3, 3 / (8 * np.maximum(count, 1)), 3 / 16)[:, None]
    moved = points * (1 - count[:, None] * beta) + total * beta
    on_rim = rim_count == 2
    moved[on_rim] = 0.75 * points[on_rim] + rim[on_rim] / 8
    odd = (rim_count > 0) & ~on_rim
    moved[odd] = points[odd]
    return moved


def normals(mesh: Mesh) -> Floats:
    """Unit normals of the vertices, outward, shape (n, 3)."""
    v = mesh.corner_vertex[mesh.faces]
    p = mesh.points
    area = np.cross(p[v[:, 1]] - p[v[:, 0]], p[v[:, 2]] - p[v[:, 0]])
    found = np.zeros_like(p)
    for k in range(3):
        for axis in range(3):
            found[:, axis] += np.bincount(v[:, k], area[:, axis], len(p))
    return np.asarray(found / np.maximum(np.linalg.norm(found, axis=1, keepdims=True), 1e-9))


def map_points(flat: Floats) -> Floats:
    """Map places on a piece (mm) to pixels of its maps."""
    return np.stack([(flat[..., 0] - _LEFT), (_HIGH - flat[..., 1])], axis=-1) / MAP_MM_PER_PX


@lru_cache(maxsize=4)
def detail(panel: int) -> Detail:
    """Draw the fine relief of a piece; left and right sleeve differ only in their crumple."""
    rng = random(510 + panel)
    shape = (round(_TALL / MAP_MM_PER_PX), round(_WIDE / MAP_MM_PER_PX))
    s = MAP_MM_PER_PX
    height = 0.20 * noise(shape, 20 / s, rng) + 0.085 * noise(shape, 7 / s, rng) + 0.030 * noise(shape, 2.6 / s, rng)
    tone = 1 + 0.012 * noise(shape, 40 / s, rng) + threads(shape, rng)
    if panel in (FRONT, BACK):
        _body(panel == FRONT, height, tone, rng)
    if panel in (SLEEVE_LEFT, SLEEVE_RIGHT):
        _sleeve(height, tone, rng)
    slope_y, slope_x = np.gradient(height, s)
    return Detail(np.asarray(slope_x, np.float32), np.asarray(-slope_y, np.float32), np.asarray(tone, np.float32))


def threads(shape: tuple[int, int], rng: np.random.Generator) -> Plane:
    """Unevenness of the yarn along and across, as a change of tone about 0."""
    fibre = rng.standard_normal(shape, dtype=np.float32)
    along = cv2.GaussianBlur(fibre, (0, 0), sigmaX=0.55, sigmaY=22)
    across = cv2.GaussianBlur(fibre[::-1].copy(), (0, 0), sigmaX=22, sigmaY=0.55)
    both = along / float(along.std()) + across / float(across.std())
    return np.asarray(0.021 * both + 0.014 * blur(fibre, 0.6) / 0.4, dtype=np.float32)


def _body(front: bool, height: Plane, tone: Plane, rng: np.random.Generator) -> None:
    drawn = {s.name: s.path for s in strokes(front)}
    for stroke in strokes(front):
        if stroke.pen is Pen.STITCH and stroke.group == "body":
            _stitch(height, tone, _points(stroke.path), rng)
    for side in ("left", "right"):
        _seam(height, tone, _points(drawn[f"armhole-{side}"]), rng)
        _seam(height, tone, _points(drawn[f"shoulder-{side}"]), rng)
    _ledge(height, _points(drawn["hem"]) + np.array([0.0, 25.0]), 0.5)
    facing = next(p for p in draft.pieces() if p.name == f"{'front' if front else 'back'} neck facing")
    outer = facing.edge("outer").path
    for sign in (1, -1):
        _ledge(height, _points(paths.transformed(outer, [[sign, 0, 0], [0, 1, 0]])), 0.16)


def _sleeve(height: Plane, tone: Plane, rng: np.random.Generator) -> None:
    sleeve = next(p for p in draft.pieces() if p.name == "sleeve")
    foot = draft.CAP_HEIGHT_MM - draft.SLEEVE_MM
    line = np.array([[-220.0, foot + 25], [220.0, foot + 25]])
    _stitch(height, tone, line, rng)
    _ledge(height, line, 0.5)
    for name in ("cap-front", "cap-back"):
        _seam(height, tone, _points(sleeve.edge(name).path), rng)


def _points(path: Path) -> Floats:
    return paths.flatten(path, 0.05).points


def _stroke(points: Floats, width_mm: float, shape: tuple[int, int]) -> Plane:
    plane = np.zeros(shape, np.uint8)
    fixed = np.round(map_points(points) * 16).astype(np.int32)
    cv2.polylines(plane, [fixed], False, 255, max(1, round(width_mm / MAP_MM_PER_PX)), cv2.LINE_AA, 4)
    return plane.astype(np.float32) / np.float32(255)


def _stitch(height: Plane, tone: Plane, points: Floats, rng: np.random.Generator) -> None:
    """Topstitching: a shallow groove, small puckers across it, and the thread itself."""
    run = np.r_[0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    at = np.arange(0, run[-1], 0.25)
    even = np.stack([np.interp(at, run, points[:, k]) for k in (0, 1)], axis=1)
    line = _stroke(even, 1.0, height.shape)
    wide = blur(line, 5.0)
    height -= 0.50 * blur(line, 1.5) + 0.30 * wide
    pucker = noise(height.shape, 5, rng)
    height += 0.30 * pucker * np.clip(wide * 3, 0, 1)
    for start in range(0, len(even) - 10, 13):
        _stroke_into(tone, even[start : start + 9])


def _stroke_into(tone: Plane, points: Floats) -> None:
    """Lay one stitch of slightly darker thread on the tone."""
    fixed = map_points(points)
    x0, y0 = (np.floor(fixed.min(axis=0)) - 3).astype(int)
    x1, y1 = (np.ceil(fixed.max(axis=0)) + 4).astype(int)
    x0, y0 = max(x0, 0), max(y0, 0)
    part = tone[y0:y1, x0:x1]
    if not part.size:
        return
    plane = np.zeros(part.shape, np.uint8)
    at = np.round((fixed - (x0, y0)) * 16).astype(np.int32)
    cv2.polylines(plane, [at], False, 255, 2, cv2.LINE_AA, 4)
    part -= plane.astype(np.float32) * np.float32(0.26 / 255)


def _seam(height: Plane, tone: Plane, points: Floats, rng: np.random.Generator) -> None:
    """A seam: a groove with the allowances as a soft ridge beside it, puckered a little."""
    line = _stroke(points, 1.0, height.shape)
    wide = blur(line, 9.0)
    height += 1.5 * wide - 0.75 * blur(line, 1.3)
    height += 0.45 * noise(height.shape, 6, rng) * np.clip(wide * 4, 0, 1)
    tone -= 0.30 * blur(line, 1.0)


def _ledge(height: Plane, points: Floats, step_mm: float) -> None:
    """The edge of a layer underneath, pressed through: higher on the left of the line as it runs."""
    line = _stroke(points, 1.2, height.shape)
    height += step_mm * blur(line, 2.4) * 1.8
