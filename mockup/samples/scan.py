"""The line drawing as it comes from a desk scanner: hand-inked on drawing paper that has been folded once.

The pen wavers by less than a pixel, presses harder in the middle of a stroke and lifts here and there, which leaves
small gaps; the paper has grain, an uneven tone, a crease and a shadow where it was bound.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.geometry import path as paths
from mockup.geometry.path import Floats
from mockup.samples.flat import SIZE_PX, Pen, Stroke, strokes, to_px
from swatches.samples.grain import Plane, blur, noise, random, rough

_FINE = 4  # the pen is drawn at four times the size, with 4 more bits of position
_WIDTH = {Pen.OUTLINE: 4.6, Pen.SEAM: 3.3, Pen.STITCH: 2.3, Pen.FINE: 1.9}
_DARK = {Pen.OUTLINE: 1.0, Pen.SEAM: 0.97, Pen.STITCH: 0.9, Pen.FINE: 0.78}
_PAPER, _INK = (246.0, 241.0, 230.0), (38.0, 33.0, 31.0)
_TONES = 96  # a palette picture of so many tones stays small


def scanned(front: bool) -> NDArray[np.uint8]:
    """Draw one side as a scanned page, sRGB uint8, shape (1640, 2100, 3); the same call gives the same picture."""
    rng = random(1201 if front else 1202)
    width, height = SIZE_PX
    shape = (height, width)
    grain = rough(shape, 0.8, 4, rng, fall=0.85)
    ink = _ink(strokes(front), rng)
    broken = np.clip(1.05 - 0.07 * grain - 0.12 * np.clip(grain - 1.3, 0, None), 0, 1)  # pits of the paper stay dry
    feather = blur(ink, 0.75)
    ink = np.clip(0.72 * blur(ink, 0.45) + 0.34 * feather, 0, 1) * broken
    ink *= 1 - 0.06 * np.clip(noise(shape, 30, rng), -2, 2)
    tone = _paper(shape, grain, front, rng)
    level = tone * (1 - np.clip(ink, 0, 0.985))
    level += 0.006 * rng.standard_normal(shape, dtype=np.float32)
    step = np.round(np.clip(level, 0, 1.06) * (_TONES / 1.06)).astype(np.float32) * (1.06 / _TONES)
    paper, black = np.array(_PAPER, np.float32), np.array(_INK, np.float32)
    rgb = black + (paper - black) * step[..., None]
    return np.asarray(np.clip(np.round(rgb), 0, 255).astype(np.uint8))


def _paper(shape: tuple[int, int], grain: Plane, front: bool, rng: np.random.Generator) -> Plane:
    """Tone of the bare page, about 1: grain, cloudy unevenness, a crease, the shadow at the binding, a few specks."""
    h, w = shape
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    tone = 1 + 0.010 * grain + 0.012 * noise(shape, 140, rng) + 0.006 * noise(shape, 24, rng)
    bound = x if front else w - x
    tone -= 0.20 * np.exp(-bound / 34) + 0.055 * np.exp(-bound / 210)
    tone -= 0.05 * ((x / w - 0.5) ** 2 + (y / h - 0.45) ** 2) * 2
    crease = y - (0.617 * h + 7 * noise((1, w), 240, rng)[0] + (x - w / 2) * 0.004)
    soft = 0.7 + 0.3 * noise((1, w), 60, rng)[0]
    tone += soft * (0.020 * np.exp(-((crease + 2.2) ** 2) / 5.0) - 0.050 * np.exp(-((crease - 1.0) ** 2) / 7.0))
    tone -= 0.022 * np.exp(-np.clip(crease, 0, None) / 60) * (crease > 0)
    specks = (rng.random(shape, dtype=np.float32) > 0.999975).astype(np.float32)
    tone -= 1.6 * blur(specks, 0.9)
    return np.asarray(tone, dtype=np.float32)


def _ink(drawn: tuple[Stroke, ...], rng: np.random.Generator) -> Plane:
    """Coverage of the ink, 0 to 1."""
    width, height = SIZE_PX
    canvas = np.zeros((height * _FINE, width * _FINE), np.uint8)
    for stroke in drawn:
        points = _evenly(stroke, 0.5)
        if stroke.pen is Pen.STITCH:
            for start, end in _dashes(len(points), rng):
                _pull(canvas, points[start:end], stroke.pen, rng)
        elif stroke.pen is Pen.FINE:
            _pull(canvas, points, stroke.pen, rng, taper=0.45)
        else:
            for start, end in _lifts(len(points), rng):
                _pull(canvas, points[start:end], stroke.pen, rng, taper=0.04)
    small = cv2.resize(canvas, SIZE_PX, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.float32) / np.float32(255)


def _evenly(stroke: Stroke, step: float) -> Floats:
    """Points along a stroke, ``step`` px apart, shape (n, 2)."""
    flat = paths.flatten(to_px(stroke.path), 0.02).points
    run = np.r_[0, np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))]
    at = np.arange(0, run[-1], step)
    return np.stack([np.interp(at, run, flat[:, k]) for k in (0, 1)], axis=1)


def _lifts(n: int, rng: np.random.Generator) -> list[tuple[int, int]]:
    """Where the pen is on the paper: it lifts every 500 px or so, for 3 to 7 px, and rarely meets a corner exactly."""
    at, found = int(rng.integers(0, 7)), []
    while at < n:
        end = min(n - int(rng.integers(0, 7)), at + int(rng.integers(560, 1500)))
        if end - at > 12:
            found.append((at, end))
        at = end + int(rng.integers(6, 14)) if end < n - 40 else n
    return found


def _dashes(n: int, rng: np.random.Generator) -> list[tuple[int, int]]:
    """Dashes of about 10 px with gaps of about 6 px, none of them quite alike."""
    at, found = 4, []
    while at < n - 8:
        end = min(n - 4, at + int(rng.integers(17, 24)))
        found.append((at, end))
        at = end + int(rng.integers(11, 16))
    return found


def _pull(canvas: NDArray[np.uint8], points: Floats, pen: Pen, rng: np.random.Generator, taper: float = 0.0) -> None:
    """Pull the pen through ``points``: it wavers slowly, and its line swells and thins."""
    n = len(points)
    if n < 2:
        return
    waver = np.stack([_slow(n, 220, rng) * 0.60 + _slow(n, 30, rng) * 0.13 for _ in (0, 1)], axis=1)
    press = 1 + 0.10 * _slow(n, 120, rng) + 0.05 * _slow(n, 14, rng)
    if taper:
        ends = np.minimum(np.arange(n), np.arange(n)[::-1]) / max(1.0, taper * n)
        press *= 0.35 + 0.65 * np.clip(ends, 0, 1) ** 0.7 if pen is Pen.FINE else 0.82 + 0.18 * np.clip(ends * 4, 0, 1)
    wide = np.clip(_WIDTH[pen] * press, 0.9, None)
    fixed = np.round((points + waver) * _FINE * 16).astype(int)
    dark = int(255 * _DARK[pen])
    for (x, y), w in zip(fixed, wide, strict=True):
        cv2.circle(canvas, (int(x), int(y)), round(float(w) * _FINE * 8), dark, -1, cv2.LINE_8, 4)


def _slow(n: int, period: int, rng: np.random.Generator) -> Floats:
    """Smooth noise along a stroke, mean about 0, standard deviation about 1."""
    knots = rng.standard_normal(n // period + 4)
    at = np.arange(n) / period + 1
    whole = at.astype(int)
    t = at - whole
    t = t * t * (3 - 2 * t)
    return np.asarray(knots[whole] * (1 - t) + knots[whole + 1] * t)
