"""The state of a cut-out on disk, so that a dab goes on from it instead of cutting anew."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np

from mockup.garment.mask import Mask
from swatches.safe_write import write_whole

_SMALL = 640  # px: no working picture is longer


def write_cut(path: Path, mask: Mask) -> None:
    """Write what a later dab needs; not the mask itself, which is a picture of its own."""
    packed = io.BytesIO()
    np.savez_compressed(
        packed, size=np.array(mask.alpha.shape), sure=mask.sure, ground=mask.ground, cloth=mask.cloth,
        suggestion=np.array(mask.suggestion),
    )  # fmt: skip
    write_whole(path, packed.getvalue(), what="outline of the garment")


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
