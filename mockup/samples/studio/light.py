"""Light of a room: a window as a broad soft source, the sky-blue rest of it, and who stands in whose shadow.

For each of some directions the scene is drawn from there; a vertex that is not in front is in shadow. What reaches a
vertex is kept as nine spherical harmonics a channel, so that the picture can ask for any normal, a wrinkled one too
(Ramamoorthi & Hanrahan 2001; constants from memory and checked by a test against a sum over directions).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockup.geometry.path import Floats
from mockup.samples.studio.raster import rasterise
from mockup.samples.studio.sewn import Ints

WINDOW: Floats = np.array([-0.62, 0.50, 0.60]) / np.linalg.norm([-0.62, 0.50, 0.60])


@dataclass(frozen=True, slots=True, eq=False)
class Lamps:
    """Directions from which light comes, shape (n, 3), and how much of it, shape (n, 3) in linear RGB."""

    toward: Floats
    power: Floats


def room(window: int = 44, rest: int = 84) -> Lamps:
    """The room's light: the window's directions, then the whole sphere's."""
    golden = np.pi * (3 - np.sqrt(5))
    k = np.arange(window)
    spread = np.deg2rad(24) * np.sqrt((k + 0.5) / window)
    across = np.cross(WINDOW, [0, 1, 0])
    across /= np.linalg.norm(across)
    up = np.cross(across, WINDOW)
    turn = k * golden
    soft = (np.sin(spread) * np.cos(turn))[:, None] * across + (np.sin(spread) * np.sin(turn))[:, None] * up
    toward = soft + np.cos(spread)[:, None] * WINDOW
    key = np.repeat([[2.45, 2.36, 2.18]], window, axis=0) / window

    j = np.arange(rest)
    y = 1 - 2 * (j + 0.5) / rest
    r = np.sqrt(1 - y**2)
    dome = np.stack([r * np.cos(j * golden), y, r * np.sin(j * golden)], axis=1)
    bright = 0.55 + 0.55 * np.clip(dome[:, 1], -0.4, 1) + 0.25 * np.clip(dome[:, 0] * 0.6 + dome[:, 2] * 0.5, 0, 1)
    bright[dome[:, 2] < -0.25] *= 0.45  # the wall behind gives back little
    fill = bright[:, None] * np.array([[0.92, 0.97, 1.04]]) * (4 * np.pi / rest) * 0.19
    return Lamps(np.concatenate([toward, dome]), np.concatenate([key, fill]))


def basis(n: Floats) -> Floats:
    """The nine real spherical harmonics of unit vectors, shape (..., 9)."""
    x, y, z = n[..., 0], n[..., 1], n[..., 2]
    return np.stack(
        [
            np.full_like(x, 0.282095), 0.488603 * y, 0.488603 * z, 0.488603 * x, 1.092548 * x * y, 1.092548 * y * z,
            0.315392 * (3 * z * z - 1), 1.092548 * x * z, 0.546274 * (x * x - y * y),
        ],
        axis=-1,
    )  # fmt: skip


COSINE = np.array([3.141593, 2.094395, 2.094395, 2.094395, *([0.785398] * 5)])
"""What a matt surface makes of each harmonic."""


def gathered(points: Floats, normals: Floats, scene: Floats, faces: Ints, lamps: Lamps, *, mm_per_px: float) -> Floats:
    """Light that reaches points past the scene, as harmonics already weighed for a matt surface.

    Args:
        points: shape (n, 3), mm.
        normals: unit, outward, shape (n, 3); a point is tested a little off its own surface.
        scene: vertices that cast shadows, shape (m, 3).
        faces: their triangles.
        lamps: where light comes from.
        mm_per_px: fineness of the shadows.

    Returns:
        Harmonics, shape (n, 9, 3): the light on a surface with normal m is ``basis(m) @ them``, over π.
    """
    found = np.zeros((len(points), 9, 3))
    for toward, power in zip(lamps.toward, lamps.power, strict=True):
        lit = _seen(points, normals, scene, faces, toward, mm_per_px)
        harmonics = basis(toward) * COSINE
        found += lit[:, None, None] * harmonics[None, :, None] * power[None, None, :]
    return found / np.pi


def _seen(
    points: Floats, normals: Floats, scene: Floats, faces: Ints, toward: Floats, mm_per_px: float
) -> NDArray[np.float64]:
    """Share of the lamp at ``toward`` that each point sees, softened over neighbouring pixels."""
    side = np.cross([0.0, 1.0, 0.0] if abs(toward[1]) < 0.95 else [1.0, 0.0, 0.0], toward)
    side /= np.linalg.norm(side)
    over = np.cross(toward, side)
    frame = np.stack([side, over], axis=1)
    flat = scene @ frame
    low = flat.min(axis=0) - 4 * mm_per_px
    size = np.ceil((flat.max(axis=0) - low) / mm_per_px).astype(int) + 4
    depth = rasterise((flat - low) / mm_per_px, scene @ toward, faces, (int(size[0]), int(size[1]))).depth
    lean = normals @ toward
    off = points + normals * (3.0 + 4.0 * np.sqrt(np.clip(1 - lean**2, 0, 1)))[:, None]
    at = (off @ frame - low) / mm_per_px - 0.5
    near = off @ toward
    total = np.zeros(len(points))
    for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)):
        x = np.floor(at[:, 0]).astype(int) + dx
        y = np.floor(at[:, 1]).astype(int) + dy
        fx, fy = at[:, 0] - np.floor(at[:, 0]), at[:, 1] - np.floor(at[:, 1])
        weight = (fx if dx else 1 - fx) * (fy if dy else 1 - fy)
        ok = (x >= 0) & (y >= 0) & (x < size[0]) & (y < size[1])
        blocker = np.full(len(points), -np.inf)
        blocker[ok] = depth[y[ok], x[ok]]
        total += weight * (blocker <= near + 1.0)
    return total
