"""Painting: each panel with its cloth, in linear light; ink on top of a drawing, folds kept in a photo.

The picture is made in strips, so that a large one needs little memory; every strip is float32 linear light and is
turned to 8-bit sRGB at once. Soft borders are shares of light: where two panels meet no third colour appears, and at
the garment's edge the old cloth is taken out of the mixed pixels before the new one is put in.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockup.colourways.colourway import Laid
from mockup.colourways.laying import Window, lay
from mockup.colourways.seams import seam_strength
from mockup.garment.shading import FLARE, Shading, shading
from mockup.garment.view import View
from mockup.geometry.path import Path
from swatches.cloth import Cloth, plain
from swatches.colour import lab_to_hex, linear_to_lab, srgb_to_linear
from swatches.errors import PictureError
from swatches.job import QUIET, Job, check

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]
Pixels = TypeVar("Pixels", Floats, RGB)
Cloths = Mapping[str, tuple[Cloth, Laid]]

PAPER = (250, 249, 246)
_STRIP = 384
_TILE = 256
_WORKERS = min(4, os.cpu_count() or 1)
_HALO = 12
_NONE, _WHOLE = 0.002, 0.985  # below and above: none of the garment, all garment
_DARK_INK = 0.011  # linear light
_PALE_INK = 0.16
_DARK_CLOTH = 0.045  # linear luminance; on darker cloth lines are drawn pale, or nobody sees them
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
_SEAM_MM = 1.3
_STEPS = 4095


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """One panel's share of the picture, cut to where it is."""

    share: RGB
    window: Window
    cloth: tuple[Cloth, Laid] | None

    def strip(self, top: int, bottom: int) -> tuple[Floats, slice, slice] | None:
        """Its share in rows top..bottom: 0..1, shape (h, w, 1), and where that lies in the strip."""
        left, first, right, last = self.window
        a, b = max(top, first), min(bottom, last)
        if a >= b:
            return None
        share = self.share[a - first : b - first].astype(np.float32)[..., None]
        share *= np.float32(1 / 255)
        return share, slice(a - top, b - top), slice(left, right)

    def colour(self, rows: slice, top: int, mm_per_px: float, origin: tuple[float, float]) -> Floats:
        """Its cloth in those rows of the strip, linear light."""
        assert self.cloth is not None  # noqa: S101  asked only of parts that have one
        cloth, laid = self.cloth
        window = (self.window[0], rows.start + top, self.window[2], rows.stop + top)
        return lay(cloth, laid, window, mm_per_px=mm_per_px, origin=origin)


def paint_drawing(
    view: View,
    ink: Floats,
    masks: Mapping[str, NDArray[np.float32] | RGB],
    cloths: Cloths,
    *,
    size: tuple[int, int] | None = None,
    seams: Sequence[Path] = (),
    job: Job = QUIET,
) -> RGB:
    """Paint a drawing: cloth in its panels, paper around them, the ink on top.

    Args:
        view: the drawing's view.
        ink: strength of the lines 0..1, shape (h, w) of the view's picture or of the output.
        masks: panel id → share of each output pixel, float32 0..1 or uint8 0..255; each is asked for once.
        cloths: panel id → cloth and how it lies; a panel without one stays paper.
        size: width and height of the output, px; None: the view's.
        seams: style lines, px of the view's picture.
        job: told of progress.

    Returns:
        uint8 sRGB, shape (h, w, 3).
    """
    width, height = size or view.size
    scale = view.size[0] / width
    parts = _parts(masks, cloths, (width, height))
    line = _fitted(ink, (width, height))
    sewn = seam_strength(view, seams, (width, height), max(1.0, _SEAM_MM / (view.mm_per_px * scale)))
    paper = np.asarray(srgb_to_linear(np.array(PAPER, np.uint8)), np.float32)
    dark = _dark_ground(parts, (width, height))
    origin = (view.origin_px[0] / scale, view.origin_px[1] / scale)
    out = np.empty((height, width, 3), np.uint8)
    for top, bottom in _strips(height):
        check(job)
        job.step("Painting", top / height)
        light = np.empty((bottom - top, width, 3), np.float32)
        light[:] = paper
        pen: Floats | np.float32 = np.float32(_DARK_INK)
        if dark is not None:
            pen = _DARK_INK + np.float32((_PALE_INK - _DARK_INK) / 255) * dark[top:bottom, :, None]
        for part in parts:
            strip = part.strip(top, bottom) if part.cloth else None
            if strip is None:
                continue
            share, rows, columns = strip
            cloth = part.colour(rows, top, view.mm_per_px * scale, origin)
            light[rows, columns] += share * (cloth - paper)
        if sewn is not None:
            seam, shadow = (s[top:bottom, :, None] for s in sewn)
            light *= 1 - np.float32(0.22) * shadow
            light += np.float32(0.8) * seam * (pen - light)
        light += line[top:bottom, :, None] * (pen - light)
        _write(light, out[top:bottom])
    job.step("Painted", 1.0)
    return out


def paint_photo(
    view: View,
    photo: RGB,
    alpha: Floats,
    light_on: Shading,
    masks: Mapping[str, NDArray[np.float32] | RGB],
    cloths: Cloths,
    *,
    size: tuple[int, int] | None = None,
    seams: Sequence[Path] = (),
    job: Job = QUIET,
) -> RGB:
    """Paint the garment in a photo, its folds and light kept.

    Args:
        view: the photo's view.
        photo: sRGB uint8 (h, w, 3).
        alpha: how far each pixel belongs to the garment, 0..1, shape (h, w) of the photo.
        light_on: the garment's :func:`~mockup.garment.shading.shading`.
        masks: panel id → share of each output pixel, as in :func:`paint_drawing`.
        cloths: panel id → cloth and how it lies; a panel without one is left as it is.
        size: width and height of the output; None: the view's.
        seams: style lines, px of the view's picture.
        job: told of progress.

    Returns:
        uint8 sRGB, shape (h, w, 3); outside the garment exactly the photo.
    """
    width, height = size or view.size
    scale = view.size[0] / width
    parts = _parts(masks, cloths, (width, height))
    sewn = seam_strength(view, seams, (width, height), max(1.0, _SEAM_MM / (view.mm_per_px * scale)))
    seen, belongs = _fitted(photo, (width, height)), _fitted(alpha, (width, height))
    s = _fitted(light_on.s, (width, height))
    origin = (view.origin_px[0] / scale, view.origin_px[1] / scale)
    return _recoloured(seen, belongs, s, parts, view.mm_per_px * scale, origin, sewn, job)


def recolour(
    photo: object,
    alpha: Floats,
    cloth: Cloth | ArrayLike,
    *,
    mm_per_px: float = 0.5,
    laid: Laid | None = None,
    flare: float = FLARE,
    job: Job = QUIET,
) -> RGB:
    """Give the whole garment in a photo another cloth or colour, its folds kept.

    Args:
        photo: a :class:`~swatches.photo.Photo` or sRGB uint8 (h, w, 3).
        alpha: how far each pixel belongs to the garment, 0..1, shape (h, w).
        cloth: a cloth, or a colour in linear light, shape (3,).
        mm_per_px: scale of the photo at the garment; matters for prints only.
        laid: how the cloth lies.
        flare: see :func:`~mockup.garment.shading.shading`.
        job: told of progress.

    Raises:
        PictureError: the mask is empty or has another size.
    """
    pixels = photo if isinstance(photo, np.ndarray) else photo.rgb8  # type: ignore[attr-defined]
    light_on = shading(pixels, alpha, flare=flare)
    height, width = alpha.shape
    if not isinstance(cloth, Cloth):
        colour = np.asarray(cloth, np.float32)
        if colour.shape != (3,) or not np.isfinite(colour).all():
            raise PictureError("colour", expected="three numbers", got=str(cloth), next_step="Give it like '#7a1f2b'")
        cloth = _plain(colour)
    whole = np.full((height, width), 255, np.uint8)
    inside = np.nonzero(alpha.max(1) > 0)[0], np.nonzero(alpha.max(0) > 0)[0]
    window = (int(inside[1][0]), int(inside[0][0]), int(inside[1][-1]) + 1, int(inside[0][-1]) + 1)
    cut = whole[window[1] : window[3], window[0] : window[2]]
    part = _Part(cut, window, (cloth, laid or Laid()))
    return _recoloured(pixels, alpha, light_on.s, [part], mm_per_px, (width / 2, 0.0), None, job)


def _plain(colour: Floats) -> Cloth:
    return Cloth(plain("colour", "colour", lab_to_hex(linear_to_lab(np.clip(colour, 0, 1)))), None, 1.0, colour)


def _recoloured(
    photo: RGB,
    alpha: Floats,
    s: Floats,
    parts: Sequence[_Part],
    mm_per_px: float,
    origin: tuple[float, float],
    sewn: tuple[Floats, Floats] | None,
    job: Job,
) -> RGB:
    height, width = alpha.shape
    out = photo.copy()
    busy = np.nonzero(alpha.max(1) > _NONE)[0], np.nonzero(alpha.max(0) > _NONE)[0]
    if not len(busy[0]):
        return out
    first, last = int(busy[0][0]), int(busy[0][-1]) + 1
    begin, end = int(busy[1][0]), int(busy[1][-1]) + 1

    def paint(top: int, left: int) -> None:
        bottom, right = min(top + _TILE, last), min(left + _TILE, end)
        belongs = alpha[top:bottom, left:right]
        if belongs.max() <= _NONE:
            return
        # at an edge neighbours are read: a margin round the tile
        margin = 0 if belongs.min() >= _WHOLE else _HALO
        a, b, c, d = (
            max(0, top - margin),
            min(height, bottom + margin),
            max(0, left - margin),
            min(width, right + margin),
        )
        wide = np.s_[a:b, c:d]
        cloth, share, kept = _gathered(parts, (c, a, d, b), mm_per_px, origin)
        light: Floats
        if margin == 0 and kept is None and share is None:
            light = _lit(cloth, s[wide])
        else:
            shown = cv2.LUT(np.ascontiguousarray(photo[wide]), _DECODING)
            light = _mixed(shown, alpha[wide], s[wide], cloth, share, kept)
        if sewn is not None:
            seam, shadow = (x[wide][..., None] for x in sewn)
            light = light * ((1 - np.float32(0.30) * shadow) * (1 - np.float32(0.45) * seam))
        found = np.empty((bottom - top, right - left, 3), np.uint8)
        _write(light[top - a : bottom - a, left - c : right - c], found)
        if margin:
            np.copyto(out[top:bottom, left:right], found, where=(belongs > _NONE)[..., None])
        else:
            out[top:bottom, left:right] = found

    lefts = range(begin, end, _TILE)
    with ThreadPoolExecutor(max_workers=_WORKERS) as pool:  # tiles write to places of their own
        for top in range(first, last, _TILE):
            check(job)
            job.step("Painting", (top - first) / (last - first))
            list(pool.map(paint, [top] * len(lefts), lefts))
    job.step("Painted", 1.0)
    return out


def _lit(cloth: Floats, s: Floats) -> Floats:
    """Cloth in light: a plain colour (1, 1, 3) or a tile (h, w, 3), times s (h, w)."""
    if cloth.shape[:2] == (1, 1):
        return np.asarray(cv2.transform(s, cloth.reshape(3, 1)), np.float32)
    return np.asarray(cv2.multiply(cloth, cv2.merge([s, s, s])), np.float32)


def _gathered(
    parts: Sequence[_Part], window: Window, mm_per_px: float, origin: tuple[float, float]
) -> tuple[Floats, Floats | None, Floats | None]:
    """Cloth in a window, weighted by the panels' shares, with the shares of cloth and of what is left as it is.

    None for shares that are 1 all over, and for nothing left as it is.
    """
    left, top, right, bottom = window
    here = []
    for part in parts:
        x0, y0, x1, y1 = part.window
        if x0 >= right or x1 <= left or y0 >= bottom or y1 <= top:
            continue
        box = max(x0, left), max(y0, top), min(x1, right), min(y1, bottom)
        piece = part.share[box[1] - y0 : box[3] - y0, box[0] - x0 : box[2] - x0]
        if piece.any():
            here.append((part, box, piece))
    if len(here) == 1 and here[0][1] == window and here[0][2].min() == 255 and here[0][0].cloth is not None:
        cloth, laid = here[0][0].cloth
        return lay(cloth, laid, window, mm_per_px=mm_per_px, origin=origin), None, None
    shape = (bottom - top, right - left, 1)
    cloths, share = np.zeros((*shape[:2], 3), np.float32), np.zeros(shape, np.float32)
    kept: Floats | None = None
    for part, box, piece in here:
        at = np.s_[box[1] - top : box[3] - top, box[0] - left : box[2] - left]
        weight = piece.astype(np.float32)[..., None] * np.float32(1 / 255)
        if part.cloth is None:
            kept = np.zeros(shape, np.float32) if kept is None else kept
            kept[at] += weight
        else:
            share[at] += weight
            cloths[at] += weight * lay(*part.cloth, box, mm_per_px=mm_per_px, origin=origin)
    return cloths, share, kept


def _mixed(shown: Floats, alpha: Floats, s: Floats, cloth: Floats, share: Floats | None, kept: Floats | None) -> Floats:
    """Mix new cloth and background for one tile.

    A pixel at the edge shows α·c·s + (1 − α)·B. The new one must show α·T·s + (1 − α)·B, so light s is carried outward
    from the pixels that are all garment, and the background B inward from those that are none of it.
    """
    a = alpha[..., None]
    edge = (alpha > _NONE) & (alpha < _WHOLE)
    lit, ground = s, shown
    if edge.any():
        inside, outside = (alpha >= _WHOLE).astype(np.float32), (alpha <= _NONE).astype(np.float32)
        lit = np.where(edge, _carried(s, inside, s), s)
        ground = np.where(edge[..., None], _carried(shown, outside, shown), shown)
    if share is not None:
        total = share if kept is None else share + kept
        bare = (total[..., 0] < _WHOLE) & (alpha > _NONE)
        if bare.any():
            # just outside of every panel's outline: go on with the nearest panel's cloth
            near = cv2.blur(total, (7, 7))[..., None]
            scale = np.where(near > 1e-4, 1 / np.maximum(near, 1e-4), 0)
            here = bare[..., None]
            cloth = np.where(here, cv2.blur(cloth, (7, 7)) * scale, cloth)
            share = np.where(here, cv2.blur(share, (7, 7))[..., None] * scale, share)
            kept = None if kept is None else np.where(here, 1 - share, kept)
    light = a * (cloth * lit[..., None])
    if kept is None or share is None:
        light += (1 - a) * ground
    else:
        light += share * (1 - a) * ground + kept * shown
    return np.asarray(light, np.float32)


def _carried(values: Floats, weight: Floats, otherwise: Floats) -> Floats:
    """Mean of the weighted neighbours; where there are none within reach, what is there."""
    size = (2 * _HALO - 1, 2 * _HALO - 1)
    total = cv2.blur(weight, size)
    if values.ndim == 3:
        sums, total = cv2.blur(values * weight[..., None], size), total[..., None]
    else:
        sums = cv2.blur(values * weight, size)
    return np.asarray(np.where(total > 1e-3, sums / np.maximum(total, 1e-3), otherwise), np.float32)


def _dark_ground(parts: Sequence[_Part], size: tuple[int, int]) -> RGB | None:
    """Where lines must be pale to be seen: on dark cloth, but not at its edge, where the cloth's own contrast shows."""
    dark = [p for p in parts if p.cloth and float(p.cloth[0].colour @ _LUMINANCE) < _DARK_CLOTH]
    if not dark:
        return None
    ground = np.zeros((size[1], size[0]), np.uint8)
    for part in dark:
        left, top, right, bottom = part.window
        cv2.add(ground[top:bottom, left:right], part.share, dst=ground[top:bottom, left:right])
    reach = 2 * max(2, round(max(size) / 400)) + 1
    ground = np.asarray(cv2.erode(ground, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))), np.uint8)
    return np.asarray(cv2.blur(ground, (3, 3)), np.uint8)


def _parts(masks: Mapping[str, NDArray[np.float32] | RGB], cloths: Cloths, size: tuple[int, int]) -> list[_Part]:
    parts = []
    for name in masks:
        mask = masks[name]
        if mask.shape != (size[1], size[0]):
            raise PictureError(
                f"mask of panel {name}",
                expected=f"{size[0]} × {size[1]} px",
                got=f"{mask.shape[1]} × {mask.shape[0]} px",
                next_step="Make the masks at the size of the painted picture",
            )
        rows, columns = np.nonzero(mask.max(1) > 0)[0], np.nonzero(mask.max(0) > 0)[0]
        if not len(rows):
            continue
        window = (int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1)
        cut = mask[window[1] : window[3], window[0] : window[2]]
        whole = cut if cut.dtype == np.uint8 else cv2.convertScaleAbs(cut, alpha=255)
        parts.append(_Part(np.ascontiguousarray(whole), window, cloths.get(name)))
    return parts


def _fitted(picture: Pixels, size: tuple[int, int]) -> Pixels:
    if picture.shape[1::-1] == size:
        return picture
    return cv2.resize(picture, size, interpolation=cv2.INTER_AREA)  # type: ignore[no-any-return]


def _strips(height: int) -> Iterator[tuple[int, int]]:
    for top in range(0, height, _STRIP):
        yield top, min(height, top + _STRIP)


def _write(light: Floats, out: RGB) -> None:
    """Turn linear light into 8-bit sRGB through a table of 12 bits."""
    index = cv2.multiply(light, (float(_STEPS),) * 4, dtype=cv2.CV_16U)  # rounds, and cuts off at both ends
    out[:] = cv2.LUT(index, _TABLE)


def _table() -> RGB:
    linear = np.arange(65536) / _STEPS
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(np.clip(curve, 0, 1) * 255), np.uint8)


_TABLE = _table()
_DECODING = srgb_to_linear(np.arange(256, dtype=np.uint8)).astype(np.float32).reshape(1, 256)
