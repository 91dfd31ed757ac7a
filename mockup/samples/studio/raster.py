"""Triangles to pixels: which triangle is in front, and where in it each pixel lies. All array work."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockup.geometry.path import Floats
from mockup.samples.studio.sewn import Ints


@dataclass(frozen=True, slots=True, eq=False)
class Hits:
    """What the pixels see.

    Attributes:
        face: index of the triangle in front, −1 where there is none, shape (h, w).
        weights: barycentric weights of its corners, shape (h, w, 3).
        depth: its depth, larger is nearer, −inf where there is none, shape (h, w).
    """

    face: NDArray[np.int32]
    weights: NDArray[np.float32]
    depth: NDArray[np.float32]


def rasterise(screen: Floats, depth: Floats, faces: Ints, size: tuple[int, int]) -> Hits:
    """Find the front triangle at every pixel's middle.

    Args:
        screen: corners in px, y down, shape (n, 2).
        depth: of each corner, larger is nearer, shape (n,).
        faces: shape (k, 3).
        size: width and height.
    """
    width, height = size
    a, b, c = (screen[faces[:, k]] for k in range(3))
    low = np.floor(np.minimum(np.minimum(a, b), c) - 0.5).astype(np.int64)
    span = np.ceil(np.maximum(np.maximum(a, b), c) - 0.5).astype(np.int64) - low + 1
    room = span.max(axis=1)
    parts: list[tuple[NDArray[np.int64], NDArray[np.float32], NDArray[np.int32], NDArray[np.float32]]] = []
    done = 0
    for cell in (3, 4, 6, 8, 12, 16, 24, 40, 80, 200, 1000):
        group = np.flatnonzero((room <= cell) & (room > done))
        done = cell
        for some in np.array_split(group, max(1, len(group) * cell * cell // 4_000_000)):
            if len(some):
                parts.append(_inside(some, cell, (a, b, c), depth[faces], low, size))
    index = np.concatenate([p[0] for p in parts])
    near = np.concatenate([p[1] for p in parts])
    order = np.argsort(near, kind="stable")
    at = index[order]
    face = np.full(width * height, -1, np.int32)
    top = np.full(width * height, -np.inf, np.float32)
    weights = np.zeros((width * height, 3), np.float32)
    face[at] = np.concatenate([p[2] for p in parts])[order]
    top[at] = near[order]
    weights[at] = np.concatenate([p[3] for p in parts])[order]
    return Hits(face.reshape(height, width), weights.reshape(height, width, 3), top.reshape(height, width))


def _inside(
    some: NDArray[np.int64],
    cell: int,
    corners: tuple[Floats, Floats, Floats],
    depth: Floats,
    low: NDArray[np.int64],
    size: tuple[int, int],
) -> tuple[NDArray[np.int64], NDArray[np.float32], NDArray[np.int32], NDArray[np.float32]]:
    width, height = size
    grid = np.stack(np.meshgrid(np.arange(cell), np.arange(cell)), axis=-1).reshape(-1, 2)
    a, b, c = (corner[some][:, None] for corner in corners)
    at = low[some][:, None] + grid[None]
    p = at + 0.5

    def cross(u: Floats, v: Floats) -> Floats:
        return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])

    area = cross(b - a, c - a)
    with np.errstate(divide="ignore", invalid="ignore"):
        wa, wb = cross(b - p, c - p) / area, cross(c - p, a - p) / area
    wc = 1 - wa - wb
    ok = (wa >= -1e-6) & (wb >= -1e-6) & (wc >= -1e-6)
    ok &= (at[..., 0] >= 0) & (at[..., 0] < width) & (at[..., 1] >= 0) & (at[..., 1] < height)
    which, cellno = np.nonzero(ok)
    w = np.stack([wa[ok], wb[ok], wc[ok]], axis=1)
    near = (w * depth[some][which]).sum(axis=1)
    index = at[which, cellno, 1] * width + at[which, cellno, 0]
    return index, near.astype(np.float32), some[which].astype(np.int32), w.astype(np.float32)
