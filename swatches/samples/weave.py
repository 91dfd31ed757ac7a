"""Cloth, thread by thread: the demo fabrics as pictures of reflectance in linear light, at a stated scale.

A woven cloth is a sequence of warp threads and one of weft threads, and a rule that says which is on top; every thread
has its own shade and swells and thins along its length. So stripes and checks mix as they do on a loom. A print lies
on such a cloth; corduroy and melange have rules of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import hex_to_linear
from swatches.samples.grain import Plane, blur, noise, random

Linear = NDArray[np.float32]
Size = tuple[int, int]

SPRUCE, OCHRE, OAT, CREAM, MADDER, MIDNIGHT = "#22483c", "#bb8526", "#cdbda0", "#e6dbc3", "#78252a", "#212d49"


@dataclass(frozen=True, slots=True)
class Run:
    """A number of threads of one colour."""

    colour: str
    threads: int


def _colours(runs: Sequence[Run], n: int) -> NDArray[np.float32]:
    one = np.concatenate([np.repeat(hex_to_linear(r.colour)[None], r.threads, axis=0) for r in runs])
    return np.asarray(one[np.arange(n) % len(one)], dtype=np.float32)


def woven(
    size: Size,
    mm_per_px: float,
    warp: Sequence[Run],
    weft: Sequence[Run],
    *,
    thread_mm: float,
    float_over: int,
    repeat: int,
    seed: int,
    fuzz: float = 0.35,
) -> Linear:
    """Weave a cloth.

    Args:
        size: height and width in px.
        mm_per_px: scale.
        warp: colours of the upright threads, repeated from the left.
        weft: colours of the level threads, repeated from the top.
        thread_mm: width of a thread.
        float_over: how many threads the warp floats over.
        repeat: after how many threads the weave repeats; each row is moved by one (a twill), so (1, 2) is plain weave.
        seed: of the threads' unevenness.
        fuzz: blur in threads that stands for the hair on the yarn.

    Returns:
        Reflectance in linear light, float32, shape (h, w, 3).
    """
    rng = random(seed)
    h, w = size
    bend = 0.30 * noise((h, w), 60 / mm_per_px / 4, rng) * thread_mm  # threads never run dead straight
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    u, v = (x * mm_per_px + bend) / thread_mm + 50, (y * mm_per_px + bend[::-1]) / thread_mm + 50
    i, j = u.astype(np.int32), v.astype(np.int32)
    fu, fv = u - i - 0.5, v - j - 0.5
    n = int(max(i.max(), j.max())) + 1
    warp_on_top = (i + j) % repeat < float_over
    warp_shade = _thread_shade(h, n, mm_per_px, rng)[np.minimum((y / 4).astype(int), (h - 1) // 4), i]
    weft_shade = _thread_shade(w, n, mm_per_px, rng)[np.minimum((x / 4).astype(int), (w - 1) // 4), j]
    round_warp = 0.70 + 0.38 * np.cos(np.pi * fu * 0.92) * (0.86 + 0.14 * np.cos(np.pi * fv))
    round_weft = 0.70 + 0.38 * np.cos(np.pi * fv * 0.92) * (0.86 + 0.14 * np.cos(np.pi * fu))
    shade = np.where(warp_on_top, warp_shade * round_warp * 1.02, weft_shade * round_weft * 0.97)
    ink_warp, ink_weft = _colours(warp, n)[i - 50], _colours(weft, n)[j - 50]
    cloth = np.where(warp_on_top[..., None], ink_warp, ink_weft) * shade[..., None].astype(np.float32)
    soft = fuzz * thread_mm / mm_per_px
    return np.stack([blur(np.ascontiguousarray(cloth[..., k]), soft) for k in range(3)], axis=-1)


def _thread_shade(along: int, threads: int, mm_per_px: float, rng: np.random.Generator) -> Plane:
    """Shade of each thread along its length, a row every 4 px: shape (ceil(along / 4), threads)."""
    rows = (along + 3) // 4
    each = rng.standard_normal((1, threads), dtype=np.float32) * 0.035
    swell = rng.standard_normal((rows, threads), dtype=np.float32)
    swell = cv2.GaussianBlur(swell, (1, 0), 0.1, sigmaY=max(0.5, 5 / mm_per_px / 4), borderType=cv2.BORDER_REFLECT)
    swell = swell / max(float(swell.std()), 1e-6) * 0.05
    return np.asarray(1 + each + swell, dtype=np.float32)


def melange(size: Size, mm_per_px: float, *, seed: int) -> Linear:
    """Undyed wool: a soft twill whose yarn is spun of cream, oat and brown fleece, with a few dark hairs."""
    base = woven(
        size, mm_per_px, [Run(OAT, 1)], [Run(OAT, 1)], thread_mm=0.9, float_over=2, repeat=4, seed=seed, fuzz=0.55
    )
    rng = random(seed + 1)
    h, w = size
    flecks = np.zeros((h, w), np.float32)
    light = np.zeros((h, w), np.float32)
    for plane, count, low, high in ((flecks, 6200, 0.06, 0.34), (light, 9000, 0.05, 0.30)):
        for _ in range(int(count * h * w * mm_per_px**2 / 30000)):
            _hair(plane, rng, (1.2, 5.0), mm_per_px, float(rng.uniform(low, high)))
    cloud = 0.018 * noise((h, w), 6 / mm_per_px, rng) + 0.042 * noise((h, w), 1.1 / mm_per_px, rng)
    cloud += 0.05 * noise((h, w), 0.35 / mm_per_px, rng)
    brown, cream = (hex_to_linear(c).astype(np.float32) for c in ("#6b5640", "#eee5d2"))
    cloth = base * (1 + cloud[..., None])
    cloth = cloth + (brown - cloth) * np.clip(blur(flecks, 0.7), 0, 0.85)[..., None]
    return np.asarray(cloth + (cream - cloth) * np.clip(blur(light, 0.8), 0, 0.7)[..., None], dtype=np.float32)


def _hair(plane: Plane, rng: np.random.Generator, mm: tuple[float, float], mm_per_px: float, strength: float) -> None:
    h, w = plane.shape
    length = rng.uniform(*mm) / mm_per_px
    angle, bend = rng.uniform(0, np.pi), rng.uniform(-1.2, 1.2)
    t = np.linspace(-0.5, 0.5, 7)
    turn = angle + bend * t
    step = np.stack([np.cos(turn), np.sin(turn)], axis=1) * length / 7
    points = np.cumsum(step, axis=0) + np.array([rng.uniform(0, w), rng.uniform(0, h)])
    cv2.polylines(plane, [np.round(points * 16).astype(np.int32)], False, strength, 1, cv2.LINE_AA, 4)


def corduroy(size: Size, mm_per_px: float, *, colour: str, wale_mm: float, seed: int) -> Linear:
    """Corduroy: rounded wales of cut pile with dark valleys, brushed unevenly."""
    rng = random(seed)
    h, w = size
    x = np.arange(w, dtype=np.float32)[None] * mm_per_px
    x = x + 0.10 * noise((h, w), 9 / mm_per_px, rng)
    at = np.mod(x / wale_mm, 1) - 0.5
    ridge = np.clip(np.cos(np.pi * at * 1.02), 0, 1)
    tilt = np.sin(np.pi * at)  # the light comes from one side
    pile = noise((h, w), 0.20 / mm_per_px, rng) * 0.10 + noise((h, w), 0.5 / mm_per_px, rng) * 0.06
    brushed = 0.06 * noise((h, w), 26 / mm_per_px, rng) + 0.05 * noise((h, w), 5 / mm_per_px, rng)
    shade = 0.30 + 0.88 * ridge**0.75 - 0.10 * tilt * ridge + (pile + brushed) * (0.35 + 0.65 * ridge)
    sheen = np.clip(ridge - 0.8, 0, None) * (0.05 + 0.03 * noise((h, w), 12 / mm_per_px, rng))
    cloth = hex_to_linear(colour).astype(np.float32) * shade[..., None] + sheen[..., None] * np.float32(0.55)
    return np.asarray(np.clip(cloth, 0.002, 1), dtype=np.float32)


def printed(ground: Linear, tile: Linear, cover: Plane, mm_per_px: float, *, seed: int) -> Linear:
    """Print a tile over a cloth, again and again from its top left: the cloth's threads show through the ink.

    Args:
        ground: the cloth, shape (h, w, 3).
        tile: the ink's colour in linear light, shape (th, tw, 3).
        cover: where ink is, 0 to 1, shape (th, tw).
        mm_per_px: scale of both.
        seed: of the ink's unevenness.
    """
    rng = random(seed)
    h, w = ground.shape[:2]
    th, tw = cover.shape
    rows, columns = np.arange(h) % th, np.arange(w) % tw
    ink, on = tile[rows][:, columns], cover[rows][:, columns]
    thread = ground.mean(axis=2) / max(float(ground.mean()), 1e-6)
    on = np.clip(
        on * (0.955 + 0.02 * noise((h, w), 0.5 / mm_per_px, rng) + 0.02 * noise((h, w), 8 / mm_per_px, rng)), 0, 1
    )
    laid = ink * (0.45 + 0.55 * thread)[..., None]
    return np.asarray(ground + (laid - ground) * on[..., None], dtype=np.float32)
