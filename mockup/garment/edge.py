"""The edge of a cut-out at full size: from the colours on its two sides.

Near the edge every pixel is a mixture I = α·F + (1 − α)·B of the garment's and the ground's colour *there*. Both are
smooth along the edge, so they are read as local means of the pixels that are surely garment and surely ground. Cloth
turns away from the light at its edge, so F is only known up to brightness; colours are therefore told apart along
w = Σ⁻¹(F − B), with Σ = σ² + κ·F·Fᵀ + κ′·B·Bᵀ, and α = ⟨w, I − B⟩ / ⟨w, F − B⟩.

Done twice: in a band as wide as the coarse mask may be wrong, which puts the edge in its place, and in a narrow one for
the mixed pixels. Where the two colours are alike the coarse mask decides.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import srgb_to_linear

Floats = NDArray[np.float32]
Bools = NDArray[np.bool_]

_WRONG_PX = 3.0  # how far the coarse mask's edge may be off, in its own px
_MIXED_PX = 1.5  # how far mixed pixels reach, in px of the photo
_GAIN = 1.5  # cloth that darkens at its rim reads as a little less than whole
_NOISE = 0.03  # of 1: spread of cloth and ground about their local means
_LEVELS, _COARSE = 6, 0.02  # of the pyramid; what the coarser level counts
_SHADE_CLOTH, _SHADE_GROUND = 0.25, 0.08  # how far their brightness may be off near the edge, as shares of it


def refine_edge(pixels: NDArray[np.uint8], inside: Bools) -> Floats:
    """Refine a mask's edge.

    Args:
        pixels: sRGB uint8, shape (h, w, 3).
        inside: the mask, shape (h, w) or smaller.

    Returns:
        Coverage 0..1, float32, shape (h, w); exactly 0 and 1 away from the edge.
    """
    h, w = pixels.shape[:2]
    factor = max(1.0, max(h, w) / max(inside.shape))
    rows, columns = np.nonzero(inside.any(1))[0], np.nonzero(inside.any(0))[0]
    alpha = np.zeros((h, w), np.float32)
    if not len(rows):
        return alpha
    margin = 12
    y0, y1 = max(0, int(rows[0]) - margin), min(inside.shape[0], int(rows[-1]) + margin)
    x0, x1 = max(0, int(columns[0]) - margin), min(inside.shape[1], int(columns[-1]) + margin)
    top, bottom = round(y0 * h / inside.shape[0]), round(y1 * h / inside.shape[0])
    left, right = round(x0 * w / inside.shape[1]), round(x1 * w / inside.shape[1])
    cut = np.ascontiguousarray(pixels[top:bottom, left:right])
    rough = cv2.GaussianBlur(inside[y0:y1, x0:x1].astype(np.float32), (0, 0), 0.9)
    rough = cv2.resize(rough, (right - left, bottom - top), interpolation=cv2.INTER_LINEAR)
    band = max(2.0, _WRONG_PX * factor)
    placed = _mixture(cut, rough, band) > 0.5
    placed = _evened(placed, rough, factor)
    soft = cv2.GaussianBlur(placed.astype(np.float32), (0, 0), 0.8)
    mixed = _mixture(cut, soft, _MIXED_PX * max(1.0, factor**0.3), linear=True)
    mixed = cv2.GaussianBlur(mixed, (0, 0), 0.6)  # the weave's own pattern is not the edge's
    alpha[top:bottom, left:right] = np.clip((mixed - 0.5) * np.float32(_GAIN) + 0.5, 0, 1)
    return alpha


def _mixture(pixels: NDArray[np.uint8], soft: Floats, band: float, *, linear: bool = False) -> Floats:
    """Coverage from the local colours on both sides of a soft mask's edge; the mask itself off the band."""
    size = 2 * int(np.ceil(band)) + 1
    deep = cv2.blur((soft > 0.5).astype(np.float32), (size, size))
    cloth, ground = deep > 0.9999, deep < 0.0001
    unsure = ~(cloth | ground)
    if not unsure.any():
        return np.asarray(soft > 0.5, np.float32)
    # local colours are smooth, so a small picture is enough for them
    shrink = max(2, round(band / 2))
    y, x = np.nonzero(unsure)
    F, B = (_read(_local(pixels, side, shrink), x, y, shrink) for side in (cloth, ground))
    seen: Floats = pixels[y, x].astype(np.float32) / np.float32(255)
    if linear:
        F, B, seen = srgb_to_linear(F), srgb_to_linear(B), srgb_to_linear(seen)
    share, trust = _shares(seen, F, B)
    out = cloth.astype(np.float32)
    out[y, x] = trust * share + (1 - trust) * soft[y, x]
    return np.asarray(out, np.float32)


def _shares(seen: Floats, F: Floats, B: Floats) -> tuple[Floats, Floats]:
    """Coverage of pixels (n, 3) between garment colours F and ground colours B, and how far it is to be trusted.

    Σ is σ² and two rank-one terms, so Σ⁻¹ v needs only a 2 × 2 inverse (Woodbury).
    """

    def dot(a: Floats, b: Floats) -> Floats:
        return np.asarray(np.einsum("ij,ij->i", a, b))

    way = F - B
    f, b = np.float32(_SHADE_CLOTH) * F, np.float32(_SHADE_GROUND) * B
    noise = np.float32(_NOISE**2)
    ff, fb, bb = noise + dot(f, f), dot(f, b), noise + dot(b, b)
    fv, bv = dot(f, way), dot(b, way)
    det = ff * bb - fb * fb
    p, q = (bb * fv - fb * bv) / det, (ff * bv - fb * fv) / det
    w = (way - p[:, None] * f - q[:, None] * b) / noise
    square = np.maximum(dot(w, way), 1e-6)
    return np.clip(dot(w, seen - B) / square, 0, 1), square / (square + 1)


def _read(field: Floats, x: NDArray[np.intp], y: NDArray[np.intp], shrink: int) -> Floats:
    """Values of a shrunk picture (h, w, 3) at pixels of the full one, shape (n, 3)."""
    wide = 1024  # cv2.remap takes no more than 32767 rows, so the row of places is folded
    places = np.zeros((2, -(-len(x) // wide) * wide), np.float32)
    places[0, : len(x)] = (x + 0.5) / shrink - 0.5
    places[1, : len(y)] = (y + 0.5) / shrink - 0.5
    at_x, at_y = places.reshape(2, -1, wide)
    found = cv2.remap(field, at_x, at_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found.reshape(-1, 3)[: len(x)], np.float32)


def _local(pixels: NDArray[np.uint8], side: Bools, shrink: int) -> Floats:
    """Mean colour of one side's pixels near every place, 0..1, at 1/shrink size.

    A pyramid: where there are no pixels of that side near, the next coarser level answers.
    """
    h, w = side.shape
    small = (max(1, -(-w // shrink)), max(1, -(-h // shrink)))
    pad = (0, small[1] * shrink - h, 0, small[0] * shrink - w)
    weight = cv2.resize(
        cv2.copyMakeBorder(side.view(np.uint8) * np.uint8(255), *pad, cv2.BORDER_CONSTANT), small,
        interpolation=cv2.INTER_AREA,
    ).astype(np.float32) / np.float32(255)  # fmt: skip
    chosen = cv2.copyTo(pixels, side.view(np.uint8))
    chosen = cv2.resize(cv2.copyMakeBorder(chosen, *pad, cv2.BORDER_CONSTANT), small, interpolation=cv2.INTER_AREA)
    layers = [np.dstack([chosen.astype(np.float32) / np.float32(255), weight])]
    while min(layers[-1].shape[:2]) > 4 and len(layers) < _LEVELS:
        layers.append(cv2.pyrDown(layers[-1]))
    found = np.zeros((*layers[-1].shape[:2], 3), np.float32)
    for layer in reversed(layers):
        near = cv2.GaussianBlur(layer, (0, 0), 1.6)
        coarse = cv2.resize(found, layer.shape[1::-1], interpolation=cv2.INTER_LINEAR)
        found = (near[..., :3] + np.float32(_COARSE) * coarse) / (near[..., 3:] + np.float32(_COARSE))
    return np.asarray(found, np.float32)


def _evened(placed: Bools, rough: Floats, factor: float) -> Bools:
    """Take single stray pixels off the placed edge, and parts that no longer hang together with the garment."""
    size = 2 * max(1, round(0.6 * factor)) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    even = cv2.morphologyEx(placed.view(np.uint8), cv2.MORPH_OPEN, kernel)
    even = cv2.morphologyEx(even, cv2.MORPH_CLOSE, kernel)
    count, part, stats, _ = cv2.connectedComponentsWithStats(even, connectivity=4)
    if count > 2:
        large = stats[:, cv2.CC_STAT_AREA] > 0.002 * float((rough > 0.5).sum())
        large[0] = False
        even = large[part].astype(np.uint8)
    return np.asarray(even > 0)
