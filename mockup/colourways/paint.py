"""Painting: each panel with its cloth, in linear light; ink on top of a drawing, folds kept in a photo.

Soft borders are shares of light: where two panels meet no third colour appears, and at the garment's edge the old cloth
is taken out of the mixed pixels before the new one is put in. How a drawing is painted is in
:mod:`mockup.colourways.drawn`, a photo in :mod:`mockup.colourways.lit`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockup.colourways.colourway import Laid
from mockup.colourways.drawn import on_paper
from mockup.colourways.lit import in_photo
from mockup.colourways.parts import Cloths, Frame, Masks, Part, parts_of
from mockup.colourways.seams import Sewn, sewn
from mockup.colourways.tiles import KeptTiles, fitted
from mockup.garment.shading import FLARE, Shading, shading
from mockup.garment.view import View
from mockup.geometry.path import Path
from swatches.cloth import Cloth, plain
from swatches.colour import lab_to_hex, linear_to_lab
from swatches.errors import PictureError
from swatches.job import QUIET, Job

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]

_SEAM_MM = 1.3


def paint_drawing(
    view: View,
    ink: Floats,
    masks: Masks,
    cloths: Cloths,
    *,
    size: tuple[int, int] | None = None,
    seams: Sequence[Path] = (),
    kept: KeptTiles | None = None,
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
        kept: tiles of earlier pictures: what is painted from the same objects and shares is not painted again.
        job: told of progress.

    Returns:
        uint8 sRGB, shape (h, w, 3).
    """
    size, frame, lines = _output(view, size, seams)
    return on_paper(fitted(ink, size), parts_of(masks, cloths, size), frame, lines, job, kept)


def paint_photo(
    view: View,
    photo: RGB,
    alpha: Floats,
    light_on: Shading,
    masks: Masks,
    cloths: Cloths,
    *,
    size: tuple[int, int] | None = None,
    seams: Sequence[Path] = (),
    kept: KeptTiles | None = None,
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
        kept: as in :func:`paint_drawing`.
        job: told of progress.

    Returns:
        uint8 sRGB, shape (h, w, 3); outside the garment exactly the photo.
    """
    size, frame, lines = _output(view, size, seams)
    parts = parts_of(masks, cloths, size)
    seen, belongs, s = fitted(photo, size), fitted(alpha, size), fitted(light_on.s, size)
    return in_photo(seen, belongs, s, parts, frame, lines, job, kept)


def _output(
    view: View, size: tuple[int, int] | None, seams: Sequence[Path]
) -> tuple[tuple[int, int], Frame, Sewn | None]:
    """The output's size, its scale and origin, and the seams drawn at that size."""
    size = size or view.size
    scale = view.size[0] / size[0]
    frame = Frame(view.mm_per_px * scale, (view.origin_px[0] / scale, view.origin_px[1] / scale))
    return size, frame, sewn(view, seams, size, max(1.0, _SEAM_MM / frame.mm_per_px))


def recolour(
    photo: object,
    alpha: Floats,
    cloth: Cloth | ArrayLike,
    *,
    mm_per_px: float = 0.5,
    laid: Laid | None = None,
    flare: float = FLARE,
    light_on: Shading | None = None,
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
        light_on: the light on the garment, where it was found already; ``flare`` then says nothing.
        job: told of progress.

    Raises:
        PictureError: the mask is empty or has another size.
    """
    pixels = photo if isinstance(photo, np.ndarray) else photo.rgb8  # type: ignore[attr-defined]
    light_on = shading(pixels, alpha, flare=flare) if light_on is None else light_on
    if not isinstance(cloth, Cloth):
        colour = np.asarray(cloth, np.float32)
        if colour.shape != (3,) or not np.isfinite(colour).all():
            raise PictureError("colour", expected="three numbers", got=str(cloth), next_step="Give it like '#7a1f2b'")
        cloth = _plain(colour)
    rows, columns = np.nonzero(alpha.max(1) > 0)[0], np.nonzero(alpha.max(0) > 0)[0]
    window = (int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1)
    share = np.full((window[3] - window[1], window[2] - window[0]), 255, np.uint8)
    part = Part(share, window, (cloth, laid or Laid()))
    frame = Frame(mm_per_px, (alpha.shape[1] / 2, 0.0))
    return in_photo(pixels, alpha, light_on.s, [part], frame, None, job)


def _plain(colour: Floats) -> Cloth:
    return Cloth(plain("colour", "colour", lab_to_hex(linear_to_lab(np.clip(colour, 0, 1)))), None, 1.0, colour)
