"""The ink of a line drawing: which pixels are line and which are paper, however the paper was lit.

Paper is modelled as a smooth surface (cubic in x and y, fitted robustly to bright tiles), so that uneven light and
shadow divide out. Everything here works on one grey channel.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Floats = NDArray[np.float32]
Bools = NDArray[np.bool_]

TILES = 24  # along the long side, for the paper surface
CONTRAST = 12.0  # of 255: a line is darker than its surroundings by this
DARK = 0.38  # of the paper: anything darker is ink, so that solid black areas do not come out hollow
_PAPER = 240.0  # the grey value that paper is brought to


@dataclass(frozen=True, slots=True, eq=False)
class Ink:
    """Ink found at working size.

    Attributes:
        mask: True where there is ink, its soft rim included, shape (h, w).
        core: True where the ink has at least half its darkness: gaps between dashes show here.
        line_width_px: estimated width of the drawn lines.
        flat: the grey picture with the paper's light divided out (paper ≈ 240), uint8, shape (h, w).
        inverted: whether light lines on dark ground were found and turned round.
        paper: the paper's brightness as it was fitted, float32, shape (h, w).
    """

    mask: Bools
    core: Bools
    line_width_px: float
    flat: Grey
    inverted: bool
    paper: Floats


def grey_of(picture: NDArray[np.uint8]) -> Grey:
    """Give one grey channel of an RGB (h, w, 3) or grey (h, w) picture."""
    return picture if picture.ndim == 2 else np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), np.uint8)


def paper_surface(grey: Grey) -> Floats:
    """Fit the paper's brightness: a cubic surface through the 90th percentile of tiles, robust to dark tiles.

    Args:
        grey: uint8, shape (h, w).

    Returns:
        float32, shape (h, w), at least 1.
    """
    h, w = grey.shape
    size = max(4, int(np.ceil(max(h, w) / TILES)))
    small = cv2.resize(grey, (max(1, w // 2), max(1, h // 2)), interpolation=cv2.INTER_AREA) if size > 16 else grey
    scale = small.shape[1] / w
    size = max(4, int(size * scale))
    rows, cols = max(1, small.shape[0] // size), max(1, small.shape[1] // size)
    cut = small[: rows * size, : cols * size] if rows * size <= small.shape[0] else small
    if rows * size > small.shape[0] or cols * size > small.shape[1]:
        return np.full((h, w), max(1.0, float(np.percentile(grey, 90))), np.float32)
    tiles = cut.reshape(rows, size, cols, size).swapaxes(1, 2).reshape(rows * cols, -1)
    bright = np.percentile(tiles[:, :: max(1, tiles.shape[1] // 400)], 90, axis=1)
    y, x = np.divmod(np.arange(rows * cols), cols)
    u, v = (x + 0.5) / max(cols, 1) * 2 - 1, (y + 0.5) / max(rows, 1) * 2 - 1
    terms = _terms(u, v)
    weight = np.ones(len(bright))
    level = float(np.median(bright))
    weight[bright < 0.5 * level] = 0.05
    coefficients = np.zeros(terms.shape[1])
    for _ in range(6):
        root = np.sqrt(weight)[:, None]
        coefficients = np.linalg.lstsq(np.vstack([terms * root, 0.02 * np.eye(terms.shape[1])]),
                                       np.r_[bright * root[:, 0], np.zeros(terms.shape[1])], rcond=None)[0]  # fmt: skip
        rest = bright - terms @ coefficients
        spread = max(1.0, 1.4826 * float(np.median(np.abs(rest))))
        # paper is the upper envelope: a tile far below it holds ink or a dark table
        weight = np.where(rest < 0, 1 / (1 + (rest / (2 * spread)) ** 2), 1 / (1 + (rest / (4 * spread)) ** 2))
    gx, gy = np.meshgrid(np.linspace(-1, 1, 33), np.linspace(-1, 1, 33))
    surface = (_terms(gx.ravel(), gy.ravel()) @ coefficients).reshape(33, 33)
    surface = np.clip(surface, 0.3 * level, 1.5 * max(level, 1.0)).astype(np.float32)
    return np.asarray(np.maximum(cv2.resize(surface, (w, h), interpolation=cv2.INTER_CUBIC), 1.0), np.float32)


def _terms(u: NDArray[np.float64], v: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.stack([u**i * v**j for i in range(4) for j in range(4 - i)], axis=1)


def find_ink(grey: Grey, line_px: float | None = None) -> Ink:
    """Find ink by a local-mean threshold together with a rule for solid dark areas.

    Args:
        grey: uint8, shape (h, w), at working size.
        line_px: width of the lines where it is known, else it is estimated.

    Returns:
        The ink, at the same size.
    """
    inverted = bool(np.median(_border(grey)) < 90 and np.median(grey) < 110)
    if inverted:
        grey = np.asarray(255 - grey, np.uint8)
    paper = paper_surface(grey)
    flat = flatten_light(grey, paper)
    width = line_px or max(2.5, max(grey.shape) / 450)
    mask = _threshold(flat, width)
    if line_px is None:
        for _ in range(2):
            width = _line_width(_core(flat, mask), width)
            mask = _threshold(flat, width)
    ruled = _ruling(flat, mask)
    if ruled is not None:
        mask = _threshold(flat, width, ruled)
        if line_px is None:
            width = _line_width(_core(flat, mask), width)
            mask = _threshold(flat, width, ruled)
    mask = _without_specks(mask, width)
    return Ink(mask, _core(flat, mask), float(width), flat, inverted, paper)


def flatten_light(grey: Grey, surface: Floats | Grey) -> Grey:
    """Divide the paper's light out of a grey picture; paper becomes 240."""
    return np.asarray(cv2.divide(grey, surface, scale=_PAPER, dtype=cv2.CV_8U), np.uint8)


def _threshold(flat: Grey, width: float, palest: float = 255.0) -> Bools:
    soft = cv2.GaussianBlur(flat, (0, 0), max(0.5, width / 4))
    window = round(10 * width) | 1
    around = cv2.blur(flat, (window, window))
    lighter = cv2.subtract(around, soft)
    return np.asarray(((lighter > CONTRAST) | (soft < DARK * _PAPER)) & (soft < palest))


def _ruling(flat: Grey, mask: Bools) -> float | None:
    """Tell pale ruling or squares of the paper from the drawn ink.

    Ruling is a class of its own in darkness, much paler than the ink, and runs to at least three rims of the picture,
    where no ink is.

    Returns:
        The grey value between ruling and ink, or None where there is no ruling.
    """
    h, w = flat.shape
    deepest = (flat == cv2.erode(flat, np.ones((3, 3), np.uint8))) & mask
    values = flat[deepest]
    if len(values) < 200:
        return None
    level, _ = cv2.threshold(values[None], 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    ink, pale = values[values <= level], values[values > level]
    if len(ink) < 50 or len(pale) < 200:
        return None
    dark_ink, dark_pale = _PAPER - float(np.median(ink)), _PAPER - float(np.median(pale))
    if dark_pale > 0.55 * dark_ink:
        return None
    border = max(4, round(0.03 * max(h, w)))
    rims = (np.s_[:border], np.s_[-border:], np.s_[:, :border], np.s_[:, -border:])
    faint = deepest & (flat > level)
    strong = deepest & (flat <= level)
    run = sum(int(faint[rim].sum()) > 0.15 * max(h, w) and strong[rim].sum() < 0.1 * faint[rim].sum() for rim in rims)
    if run < 3:
        return None
    return _PAPER - 0.5 * (dark_ink + dark_pale)


def _core(flat: Grey, mask: Bools) -> Bools:
    if not mask.any():
        return mask
    half = (_PAPER + float(np.percentile(flat[mask], 25))) / 2
    return np.asarray(mask & (flat < half))


def _line_width(core: Bools, before: float) -> float:
    """Estimate the width of lines at half their darkness, from the ridge of the distance transform.

    A line of w pixels has ridge distances near (w + 1) / 2.
    """
    depth = cv2.distanceTransform(core.view(np.uint8), cv2.DIST_L2, 5)
    ridge = depth[(depth == cv2.dilate(depth, np.ones((3, 3), np.uint8))) & (depth > 0)]
    if len(ridge) < 50:
        return before
    return float(np.clip(2 * float(np.median(ridge)) - 1, 1.5, 40))


def _without_specks(mask: Bools, width: float) -> Bools:
    count, numbered, stats, _ = cv2.connectedComponentsWithStats(mask.view(np.uint8), connectivity=8)
    small = stats[:, cv2.CC_STAT_AREA] < max(3.0, 0.8 * width * width)
    small[0] = False
    if count < 2 or not small.any():
        return mask
    return np.asarray(mask & ~small[numbered])


def _border(grey: Grey) -> Grey:
    return np.concatenate([grey[0], grey[-1], grey[:, 0], grey[:, -1]])


def ink_strength(flat: Grey, near: Bools) -> Floats:
    """Say how strongly each pixel is inked, for drawing the lines on top of the cloth.

    Args:
        flat: grey with the light divided out, uint8, shape (h, w), full size.
        near: True on ink and just beside it, shape (h, w) or smaller; outside of it stains and shadows are dropped.

    Returns:
        float32 0..1, shape (h, w), read-only.
    """
    h, w = flat.shape
    inked = flat[:: max(1, h // 1000), :: max(1, w // 1000)]
    dark = inked[inked < 0.75 * _PAPER]
    black = float(np.percentile(dark, 20)) if dark.size > 20 else 60.0
    black = min(black, 0.7 * _PAPER)
    white = 0.93 * _PAPER
    table = np.rint(255 * np.clip((white - np.arange(256)) / (white - black), 0, 1)).astype(np.uint8)
    soft = cv2.blur(near.view(np.uint8) * np.uint8(255), (3, 3))
    soft = cv2.resize(soft, (w, h), interpolation=cv2.INTER_LINEAR)
    eight = cv2.multiply(cv2.LUT(flat, table), soft, scale=1 / 255)
    strength = np.asarray(cv2.LUT(eight, np.arange(256, dtype=np.float32) / np.float32(255)))
    strength.flags.writeable = False
    return strength
