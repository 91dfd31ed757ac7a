"""The two prints of the demo cupboard, drawn as repeating tiles: a small star lattice and a one-way fir sprig."""

from __future__ import annotations

import cv2
import numpy as np

from swatches.colour import hex_to_linear
from swatches.samples.grain import Plane, random
from swatches.samples.weave import CREAM, MADDER, OCHRE, SPRUCE, Linear

STAR_MM = 15.0
"""Repeat of the star print, both ways; a second star stands in the middle of the cell."""
SPRIG_MM = (38.0, 50.0)
"""Repeat of the sprig print, along the width and the length; a second sprig stands half a repeat on."""
_FINE = 4
_BERRIES = ((1.7, 12.6, 1.45), (4.3, 11.0, 1.25), (4.0, 14.2, 1.15))  # place and radius from the sprig's middle, mm


def star_tile(mm_per_px: float) -> tuple[Linear, Plane]:
    """Oat stars of eight rays with ochre dots between them: ink colour (h, w, 3) and cover (h, w)."""
    n = round(STAR_MM / mm_per_px)
    big = n * _FINE
    stars, dots = np.zeros((big, big), np.uint8), np.zeros((big, big), np.uint8)
    for cx, cy in ((0.0, 0.0), (0.5, 0.5)):
        for centre in _wrapped(cx * big, cy * big, big, big):
            _star(stars, centre, 3.3 / mm_per_px * _FINE)
    for cx, cy in ((0.5, 0.0), (0.0, 0.5)):
        for x, y in _wrapped(cx * big, cy * big, big, big):
            cv2.circle(dots, (round(x), round(y)), round(0.62 / mm_per_px * _FINE), 255, -1, cv2.LINE_AA)
    return _two_inks((stars, CREAM), (dots, OCHRE), (n, n), mm_per_px)


def _star(plane: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], centre: tuple[float, float], radius: float) -> None:
    for k in range(8):
        a = np.pi * k / 4
        long = radius if k % 2 == 0 else 0.62 * radius
        tip = np.array([np.cos(a), np.sin(a)]) * long
        side = np.array([-np.sin(a), np.cos(a)]) * radius * 0.115
        ray = np.array([tip, tip * 0.45 + side, side * 0.35, -side * 0.35, tip * 0.45 - side]) + centre
        cv2.fillPoly(plane, [np.round(ray * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)


def sprig_tile(mm_per_px: float) -> tuple[Linear, Plane]:
    """Fir sprigs with three berries, all standing one way: ink colour (h, w, 3) and cover (h, w)."""
    w, h = (round(s / mm_per_px) for s in SPRIG_MM)
    green, red = np.zeros((h * _FINE, w * _FINE), np.uint8), np.zeros((h * _FINE, w * _FINE), np.uint8)
    scale = _FINE / mm_per_px
    for cx, cy, lean in ((0.25, 0.30, 1.0), (0.75, 0.80, -1.0)):
        for x, y in _wrapped(cx * w * _FINE, cy * h * _FINE, w * _FINE, h * _FINE):
            _sprig(green, red, np.array([x, y]), scale, lean)
    for cx, cy in ((0.25, 0.80), (0.75, 0.30)):
        for x, y in _wrapped(cx * w * _FINE, cy * h * _FINE, w * _FINE, h * _FINE):
            _snow(green, (x, y), scale)
    return _two_inks((green, SPRUCE), (red, MADDER), (w, h), mm_per_px)


def _snow(plane: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], centre: tuple[float, float], scale: float) -> None:
    """Three dots between the sprigs."""
    for dx, dy in ((0.0, -1.7), (1.5, 0.9), (-1.5, 0.9)):
        at = np.array([centre[0] + dx * scale, centre[1] + dy * scale])
        cv2.circle(plane, _fixed(at), round(0.52 * scale * 16), 255, -1, cv2.LINE_AA, 4)


def _sprig(
    green: np.ndarray[tuple[int, ...], np.dtype[np.uint8]],
    red: np.ndarray[tuple[int, ...], np.dtype[np.uint8]],
    centre: np.ndarray[tuple[int], np.dtype[np.float64]],
    scale: float,
    lean: float,
) -> None:
    rng = random(77)  # both sprigs of the print are cut by the same hand
    t = np.linspace(0, 1, 61)
    stem = np.stack([lean * (6.0 * t**2 - 2.6), 12.0 - 24.5 * t], axis=1)
    cv2.polylines(green, [_fixed(centre + stem * scale)], False, 255, max(1, round(0.62 * scale)), cv2.LINE_AA, 4)
    for k in range(9, 61, 3):
        along = stem[min(k + 1, 60)] - stem[k - 1]
        along /= np.linalg.norm(along)
        across = np.array([-along[1], along[0]])
        size = 7.6 * (1.04 - t[k]) ** 0.62 * min(1.0, 0.62 + 1.9 * (t[k] - 0.13)) + 0.9
        for sign in (-1.0, 1.0):
            reach = size * rng.uniform(0.93, 1.07)
            tip = stem[k] + sign * across * reach * 0.80 + along * reach * 0.60
            bow = stem[k] + sign * across * reach * 0.50 + along * reach * 0.16
            _needle(green, [centre + p * scale for p in (stem[k], bow, tip)], 0.47 * scale)
    tip_along = (stem[60] - stem[57]) / np.linalg.norm(stem[60] - stem[57])
    _needle(green, [centre + (stem[60] + d * tip_along) * scale for d in (0, 0.9, 1.9)], 0.47 * scale)
    berries = [(centre + np.array([lean * x, y]) * scale, r) for x, y, r in _BERRIES]
    for berry, _ in berries:
        cv2.line(green, _fixed(centre + stem[6] * scale), _fixed(berry), 255, round(0.34 * scale), cv2.LINE_AA, 4)
    for berry, r in berries:
        cv2.circle(green, _fixed(berry), round((r + 0.40) * scale * 16), 0, -1, cv2.LINE_AA, 4)
        cv2.circle(red, _fixed(berry), round(r * scale * 16), 255, -1, cv2.LINE_AA, 4)
        glint = berry + np.array([-0.42, -0.46]) * scale
        cv2.circle(red, _fixed(glint), round(0.30 * scale * 16), 0, -1, cv2.LINE_AA, 4)


def _needle(
    plane: np.ndarray[tuple[int, ...], np.dtype[np.uint8]],
    points: list[np.ndarray[tuple[int], np.dtype[np.float64]]],
    half: float,
) -> None:
    """A needle along a bent line of three points, widest a third of the way out."""
    a, b, c = points
    s = np.linspace(0, 1, 12)[:, None]
    line = (1 - s) ** 2 * a + 2 * s * (1 - s) * b + s * s * c
    way = np.gradient(line, axis=0)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    wide = half * (0.55 + 1.0 * s) * np.sqrt(np.clip(1 - s**2.4, 0, 1)) + 0.06 * half
    side = np.stack([-way[:, 1], way[:, 0]], axis=1) * wide
    cv2.fillPoly(plane, [_fixed(np.concatenate([line + side, (line - side)[::-1]]))], 255, cv2.LINE_AA, 4)


def _fixed(
    points: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.int32]]:
    return np.round(points * 16).astype(np.int32)


def _wrapped(x: float, y: float, w: float, h: float) -> list[tuple[float, float]]:
    return [(x + i * w, y + j * h) for i in (-1, 0, 1) for j in (-1, 0, 1)]


def _two_inks(
    first: tuple[np.ndarray[tuple[int, ...], np.dtype[np.uint8]], str],
    second: tuple[np.ndarray[tuple[int, ...], np.dtype[np.uint8]], str],
    size: tuple[int, int],
    mm_per_px: float,
) -> tuple[Linear, Plane]:
    """Reduce two drawn inks to one colour and one cover; ink spreads a little into the cloth."""
    covers = []
    for plane, _ in (first, second):
        soft = cv2.GaussianBlur(np.pad(plane, 32, mode="wrap"), (0, 0), 0.10 / mm_per_px * _FINE)[32:-32, 32:-32]
        covers.append(cv2.resize(soft, size, interpolation=cv2.INTER_AREA).astype(np.float32) / np.float32(255))
    a, b = covers
    ink_a, ink_b = (hex_to_linear(colour).astype(np.float32) for colour in (first[1], second[1]))
    both = np.maximum(a + b, 1e-6)[..., None]
    colour = (ink_a * a[..., None] + ink_b * b[..., None]) / both
    return np.asarray(colour, dtype=np.float32), np.asarray(np.clip(a + b, 0, 1), dtype=np.float32)
