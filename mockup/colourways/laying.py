"""Cloth laid over a picture: a seamless tile at true scale, along its grain, seen by the picture's pixels.

One affine map a panel, from picture to cloth. Bending the print by the picture's light was measured and is false: it
moves the print by less than a tenth of what real folds do.
"""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.colourways.colourway import Laid
from swatches.cloth import Cloth

Floats = NDArray[np.float32]
Window = tuple[int, int, int, int]


def lay(cloth: Cloth, laid: Laid, window: Window, *, mm_per_px: float, origin: tuple[float, float]) -> Floats:
    """See a cloth through a window of the picture.

    Args:
        cloth: with a tile; a plain colour is given as it is, shape (1, 1, 3).
        laid: grain angle, offset, mirrored.
        window: left, top, right, bottom in px of the output picture.
        mm_per_px: of the output picture.
        origin: point (px) that the cloth is laid from: its tile's corner lies there, and a mirrored cloth is mirrored
            about the upright line through it, so that twins are each other's image.

    Returns:
        Linear light, float32, shape (bottom − top, right − left, 3).
    """
    if cloth.tile is None:
        return cloth.colour.reshape(1, 1, 3)
    tile, scale_x, scale_y = _seen(cloth, mm_per_px)
    left, top, right, bottom = window
    turn = np.deg2rad(laid.grain_deg)
    across, along = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    flip = -1.0 if laid.mirrored else 1.0
    # picture px (pixel centres at whole numbers of the window) → garment mm, y up → cloth mm → tile px
    to_mm = np.array([[flip * mm_per_px, 0.0], [0.0, -mm_per_px]])
    start = np.array([flip * (left + 0.5 - origin[0]) * mm_per_px, -(top + 0.5 - origin[1]) * mm_per_px])
    start -= np.array([flip * laid.offset_mm[0], laid.offset_mm[1]])
    to_tile = np.stack([across * scale_x, -along * scale_y])
    matrix = np.column_stack([to_tile @ to_mm, to_tile @ start - 0.5])
    # keep the numbers small, or single precision moves a print that repeats thousands of times
    matrix[:, 2] %= np.array([tile.shape[1], tile.shape[0]])
    return np.asarray(
        cv2.warpAffine(
            tile,
            matrix,
            (right - left, bottom - top),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_WRAP,
        ),
        np.float32,
    )


@lru_cache(maxsize=48)
def _seen(cloth: Cloth, mm_per_px: float) -> tuple[Floats, float, float]:
    """The tile shrunk to the picture's resolution, so that fine weave does not alias, and its px per mm in x and y."""
    tile = cloth.tile
    assert tile is not None  # noqa: S101  the caller asks only for tiles
    h, w = tile.shape[:2]
    shrink = max(1.0, mm_per_px / cloth.mm_per_px)
    size = (max(1, round(w / shrink)), max(1, round(h / shrink)))
    small = tile if size == (w, h) else np.asarray(cv2.resize(tile, size, interpolation=cv2.INTER_AREA))
    if min(size) < 8:  # the wrapping warp wants some pixels to wrap over
        small = np.tile(small, (-(-8 // size[1]), -(-8 // size[0]), 1))
    return small, size[0] / (w * cloth.mm_per_px), size[1] / (h * cloth.mm_per_px)
