"""Cloth drawn by the tests: solids, melanges, stripes, checks and prints with a known repeat, in linear light."""

from __future__ import annotations

import cv2
import numpy as np


def linear(*codes):
    """sRGB codes → linear reflectance (0..1), shape (n, 3)."""
    v = np.array(codes, np.float64) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def colours(rng, count, apart=25):
    """Random cloth colours that are clearly different, linear."""
    found = []
    while len(found) < count:
        code = rng.integers(25, 225, 3)
        if all(np.abs(code - other).sum() > 3 * apart for other in found):
            found.append(code)
    return linear(*found)


def threads(rng, size, step, strength=0.03):
    """Weave: fine threads both ways with slubs, and sensor noise, as a factor."""
    h, w = size
    x, y = np.arange(w) * step, np.arange(h) * step
    pitch = rng.uniform(0.3, 0.6)
    warp = np.sin(2 * np.pi * x / pitch)[None] * strength + rng.normal(0, strength / 2, w)[None]
    weft = np.sin(2 * np.pi * y / pitch)[:, None] * strength + rng.normal(0, strength / 2, h)[:, None]
    return 1 + warp + weft + rng.normal(0, 0.01, (h, w))


def solid(rng, size, step):
    base = colours(rng, 1)[0]
    return base * threads(rng, size, step)[..., None]


def melange(rng, size, step):
    light, dark = np.sort(colours(rng, 2, 40), axis=0)[::-1]
    share = cv2.GaussianBlur(rng.normal(0, 1, size), (0, 0), rng.uniform(0.5, 1.0) / step)
    share = 1 / (1 + np.exp(-2.2 * share / share.std()))[..., None]
    return (light * share + dark * (1 - share)) * threads(rng, size, step)[..., None]


def profile(rng, period, length, step):
    """A stripe profile: a few bands, shape (n,) of band numbers, sampled exactly at mm positions."""
    bands = rng.integers(3, 6)
    edges = np.sort(rng.uniform(0.08, 0.92, bands - 1)) * period
    edges = np.concatenate([[0], edges, [period]])
    at = (np.arange(int(length / step * 4)) * step / 4) % period
    return np.searchsorted(edges, at, side="right") - 1, bands


def banded(values, count, colour, length_px):
    lines = colour[values].reshape(-1, 4, 3)[:length_px]
    return lines.mean(axis=1)


def stripe(rng, size, step, period):
    values, bands = profile(rng, period, (size[1] + 2) * step, step)
    line = banded(values, bands, colours(rng, bands), size[1])
    return line[None] * threads(rng, size, step)[..., None]


def check(rng, size, step, period):
    """A woven check: each place shows half warp, half weft; both with their own sequence."""
    palette = colours(rng, 6)
    across, n = profile(rng, period[0], (size[1] + 2) * step, step)
    along, m = profile(rng, period[1], (size[0] + 2) * step, step)
    warp, weft = banded(across, n, palette, size[1]), banded(along, m, palette[::-1], size[0])
    return (warp[None] + weft[:, None]) / 2 * threads(rng, size, step)[..., None]


def printed(rng, size, step, vectors):
    """Motifs of two or three colours on a lattice; ``vectors`` (2, 2) in mm."""
    ground, *inks = colours(rng, 4, 45)
    over = 2
    h, w = size[0] * over, size[1] * over
    picture = np.broadcast_to(ground, (h, w, 3)).astype(np.float32).copy()
    reach = float(np.sqrt(abs(np.linalg.det(vectors))))
    shapes = [
        (rng.uniform(-0.22, 0.22, 2) * reach, rng.uniform(0.1, 0.2, 2) * reach, rng.uniform(0, 180), ink)
        for ink in inks
    ]
    span = int(max(w, h) * step / over / np.linalg.norm(vectors, axis=1).min()) + 2
    for i in range(-span, span + 1):
        for j in range(-span, span + 1):
            place = i * vectors[0] + j * vectors[1] + np.array([w, h]) * step / over / 2
            if not (-reach < place[0] < w * step / over + reach and -reach < place[1] < h * step / over + reach):
                continue
            for offset, axes, turn, ink in shapes:
                x, y = np.rint((place + offset) / step * over * 16).astype(int)
                wide, high = np.rint(axes / step * over * 16).astype(int)
                fill = tuple(float(v) for v in ink)
                cv2.ellipse(picture, (int(x), int(y)), (int(wide), int(high)), turn, 0, 360, fill, -1, cv2.LINE_8, 4)
    picture = picture.reshape(size[0], over, size[1], over, 3).mean(axis=(1, 3))
    return picture * threads(rng, size, step)[..., None]
