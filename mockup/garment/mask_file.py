"""A cut-out on disk: its state, so that a dab goes on from it instead of cutting anew; and a mask as a picture."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.mask import LONG_SIDE, Mask
from swatches.errors import PictureError
from swatches.photo import Photo, read_photo
from swatches.safe_write import write_whole

_COLOURED, _COLOURED_SHARE = 40, 0.02  # of 255 between channels, and share of pixels: more is no black and white
_SMALL = 640  # px: no working picture is longer


def write_cut(path: Path, mask: Mask) -> None:
    """Write what a later dab needs; not the mask itself, which is a picture of its own."""
    packed = io.BytesIO()
    np.savez_compressed(
        packed, size=np.array(mask.alpha.shape), sure=mask.sure, ground=mask.ground, cloth=mask.cloth,
        suggestion=np.array(mask.suggestion),
    )  # fmt: skip
    write_whole(path, packed.getvalue(), what="outline of the garment")


def is_suggestion(path: Path) -> bool:
    """Whether the cut on disk is a guess that nobody drew or put right yet."""
    cut = read_cut(path)
    return cut is not None and cut.suggestion


def read_cut(path: Path) -> Mask | None:
    """Read it; None where there is none, or not one that can be used. Its ``alpha`` is empty, of the photo's size."""
    if not path.exists() or path.stat().st_size > 4_000_000:
        return None
    try:
        with np.load(path, allow_pickle=False) as found:
            h, w = (int(n) for n in found["size"])
            sure, ground, cloth = found["sure"], found["ground"], found["cloth"]
            suggestion = bool(found["suggestion"])
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, TypeError):
        return None
    fits = sure.dtype == np.uint8 and sure.ndim == 2 and max(sure.shape) <= _SMALL and int(sure.max(initial=0)) <= 3
    fits = fits and all(m.dtype == np.float64 and m.shape == (1, 65) for m in (ground, cloth))
    if not fits or not 16 <= min(h, w) <= max(h, w) <= 30_000:
        return None
    alpha = np.broadcast_to(np.float32(0), (h, w))
    return Mask(alpha, np.ascontiguousarray(sure), ground, cloth, suggestion)


def read_share(source: Path | bytes, photo: Photo) -> NDArray[np.float32]:
    """Read how far each pixel of a photo is garment, from a picture: white there, black elsewhere.

    A picture of the garment on a transparent ground, as other programs cut it out, is taken by what is not clear.

    Returns:
        0..1, float32, shape (h, w) of the photo, writeable.

    Raises:
        PictureError: no picture, not of the photo's size, or in colour.
    """
    read = read_photo(source, what="mask")
    seen = read.rgb8
    if seen.shape != photo.rgb8.shape:
        raise PictureError(
            "mask",
            expected=f"the photo's size, {photo.size[0]} × {photo.size[1]} px",
            got=f"{seen.shape[1]} × {seen.shape[0]} px",
            next_step="Make the mask from this photo",
        )
    if read.alpha is not None:
        return read.alpha.astype(np.float32) / np.float32(255)
    if float((np.ptp(seen[::4, ::4], axis=2) > _COLOURED).mean()) > _COLOURED_SHARE:
        raise PictureError(
            "mask",
            expected="white where the garment is and black elsewhere",
            got="a picture in colour",
            next_step="Make it with: mockup mask",
        )
    return seen[..., 0].astype(np.float32) / np.float32(255)


def read_mask(source: Path | bytes, photo: Photo) -> Mask:
    """Read the mask of a photo from a picture: white where the garment is, as ``mockup mask`` writes it.

    Its greys are the garment's share of a pixel. The colours on both sides are learnt, so that dabs can go on from it.

    Raises:
        PictureError: as :func:`read_share`, or all of it is garment or all ground.
    """
    alpha = read_share(source, photo)
    scale = LONG_SIDE / max(alpha.shape)
    size = (max(1, round(alpha.shape[1] * scale)), max(1, round(alpha.shape[0] * scale)))
    sure = np.where(cv2.resize(alpha, size, interpolation=cv2.INTER_AREA) > 0.5, cv2.GC_PR_FGD, cv2.GC_PR_BGD)
    share = float((sure == cv2.GC_PR_FGD).mean())
    if not 1e-3 < share < 1 - 1e-3:
        raise PictureError(
            "mask",
            expected="white where the garment is and black elsewhere",
            got="hardly any white" if share < 0.5 else "hardly any black",
            next_step="Make it with: mockup mask",
        )
    small = cv2.resize(np.ascontiguousarray(photo.rgb8), size, interpolation=cv2.INTER_AREA)
    ground, cloth = np.zeros((1, 65)), np.zeros((1, 65))
    learnt = sure.astype(np.uint8)
    cv2.setRNGSeed(0)
    cv2.grabCut(cv2.cvtColor(small, cv2.COLOR_RGB2Lab), learnt.copy(), None, ground, cloth, 1, cv2.GC_INIT_WITH_MASK)
    alpha.flags.writeable = False
    return Mask(alpha, learnt, ground, cloth)
