"""A garment in a photo painted: new cloth in the photo's own light, mixed softly with what is behind it."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.colourways.laying import Window
from mockup.colourways.parts import Frame, Gathered, Part, Seen, fingerprint, gathered, in_light, seen_in
from mockup.colourways.seams import Sewn, SewnHere
from mockup.colourways.tiles import KeptTiles, Same, decoded, each_tile, encoded
from swatches.job import Job

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]

_HALO = 12
_NONE, _WHOLE = 0.002, 0.985  # below and above: none of the garment, all garment
_SEAM, _SHADOW = 0.45, 0.30  # what a seam's line, and the shadow beside it, take of the light


def in_photo(
    photo: RGB,
    alpha: Floats,
    s: Floats,
    parts: Sequence[Part],
    frame: Frame,
    sewn: Sewn | None,
    job: Job,
    kept: KeptTiles | None = None,
) -> RGB:
    """Paint in a photo.

    Args:
        photo: sRGB uint8 (h, w, 3).
        alpha: how far each pixel belongs to the garment, 0..1, shape (h, w).
        s: light on the garment, shape (h, w).
        parts: the panels; one without cloth is left as it is.
        frame: the output's scale and origin.
        sewn: seams.
        job: told of progress.
        kept: tiles of earlier pictures; photo, ``alpha``, ``s`` and the cloths must then be the same objects to be
            known again.

    Returns:
        uint8 sRGB, shape (h, w, 3); outside the garment exactly the photo.
    """
    height, width = alpha.shape
    out = photo.copy()
    rows, columns = np.nonzero(alpha.max(1) > _NONE)[0], np.nonzero(alpha.max(0) > _NONE)[0]
    if not len(rows):
        return out

    def paint(tile: Window) -> None:
        left, top, right, bottom = tile
        belongs = alpha[top:bottom, left:right]
        if belongs.max() <= _NONE:
            return
        # at an edge neighbours are read: a margin round the tile
        margin = 0 if belongs.min() >= _WHOLE else _HALO
        a, b = max(0, top - margin), min(height, bottom + margin)
        c, d = max(0, left - margin), min(width, right + margin)
        window = (c, a, d, b)
        here = seen_in(parts, window)
        seams = None if sewn is None else sewn.within(window)

        def fresh() -> RGB:
            return _tile(photo, alpha, s, here, window, frame, seams)[top - a : bottom - a, left - c : right - c]

        if kept is None:
            painted = fresh()
        else:
            sewing = None if seams is None else seams.fingerprint
            key = ("lit", tile, frame, Same(photo), Same(alpha), Same(s), fingerprint(here), sewing)
            painted = kept.tile(key, fresh)
        if margin:
            np.copyto(out[top:bottom, left:right], painted, where=(belongs > _NONE)[..., None])
        else:
            out[top:bottom, left:right] = painted

    each_tile((int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1), paint, job)
    return out


def _tile(
    photo: RGB,
    alpha: Floats,
    s: Floats,
    here: Sequence[Seen],
    window: Window,
    frame: Frame,
    seams: SewnHere | None,
) -> RGB:
    wide = np.s_[window[1] : window[3], window[0] : window[2]]
    found = gathered(here, window, frame)
    if found.share is None and alpha[wide].min() >= _WHOLE:
        light = in_light(found.cloth, s[wide])
    else:
        light = _mixed(decoded(photo[wide]), alpha[wide], s[wide], found)
    if seams is not None:
        light = in_light(light, (1 - np.float32(_SHADOW) * seams.shadow) * (1 - np.float32(_SEAM) * seams.line))
    return encoded(light)


def _mixed(shown: Floats, alpha: Floats, s: Floats, found: Gathered) -> Floats:
    """Mix new cloth and background for one tile.

    A pixel at the edge shows α·c·s + (1 − α)·B. The new one must show α·T·s + (1 − α)·B, so light s is carried outward
    from the pixels that are all garment, and the background B inward from those that are none of it.
    """
    cloth, share, kept = found.cloth, found.share, found.kept
    edge = (alpha > _NONE) & (alpha < _WHOLE)
    lit, ground = s, shown
    if edge.any():
        inside, outside = (alpha >= _WHOLE).astype(np.float32), (alpha <= _NONE).astype(np.float32)
        lit = np.where(edge, _carried(s, inside, s), s)
        ground = np.where(edge[..., None], _carried(shown, outside, shown), shown)
    if share is not None:
        total = share if kept is None else share + kept
        bare = (total < _WHOLE) & (alpha > _NONE)
        if bare.any():
            # just outside of every panel's outline: go on with the nearest panel's cloth
            near = cv2.blur(total, (7, 7))
            scale = np.where(near > 1e-4, 1 / np.maximum(near, 1e-4), 0)
            cloth = np.where(bare[..., None], cv2.blur(cloth, (7, 7)) * scale[..., None], cloth)
            share = np.where(bare, cv2.blur(share, (7, 7)) * scale, share)
            kept = None if kept is None else np.where(bare, 1 - share, kept)
    light = in_light(cloth, alpha * lit)
    if kept is None or share is None:
        light += in_light(ground, 1 - alpha)
    else:
        light += in_light(ground, share * (1 - alpha)) + in_light(shown, kept)
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
