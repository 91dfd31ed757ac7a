"""From what a picture file holds to plain sRGB pixels: 16 bit, colour profiles, transparency, orientation.

Nothing here opens a file: :mod:`swatches.photo` is the one door.
"""

from __future__ import annotations

import io
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

Picture = NDArray[np.uint8]
Deep = NDArray[np.uint8] | NDArray[np.uint16]


def deep_pixels(picture: Image.Image, data: bytes) -> tuple[Deep, Picture | None] | None:
    """Give 16-bit pixels where the file has them: Pillow cuts 16-bit RGB to 8 bits, OpenCV keeps them."""
    if picture.format == "PNG":
        is_deep = data[24] == 16
    elif picture.format == "TIFF":
        bits = getattr(picture, "tag_v2", {}).get(258, (8,))
        is_deep = all(b == 16 for b in (bits if isinstance(bits, tuple) else (bits,)))
    else:
        is_deep = False
    if not is_deep:
        return None
    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    if pixels is None or pixels.dtype != np.uint16 or pixels.shape[:2] != (picture.height, picture.width):
        return None
    if pixels.ndim == 2:
        return np.repeat(pixels[..., None], 3, axis=2), None
    alpha = to_8(pixels[..., 3]) if pixels.shape[2] == 4 else None
    return np.ascontiguousarray(pixels[..., 2::-1]), alpha


def to_srgb(picture: Image.Image, profile: bytes | None, notes: list[str]) -> Picture:
    """Give 8-bit sRGB pixels by the picture's own colour profile; what goes wrong is noted."""
    if profile and (picture.mode != "RGB" or not is_srgb(profile, picture.mode)):
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            picture = ImageCms.profileToProfile(  # type: ignore[assignment]
                picture, source, ImageCms.createProfile("sRGB"),
                renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
                outputMode="RGB",
                flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
            )  # fmt: skip
        except (ImageCms.PyCMSError, OSError, ValueError):
            notes.append("The picture's colour profile cannot be used; its colours are taken as sRGB.")
    return np.asarray(picture if picture.mode == "RGB" else picture.convert("RGB"))


def is_srgb(profile: bytes, mode: str) -> bool:
    """Whether a profile leaves colours as they are (within one of 255 levels), so that converting is waste."""
    if mode not in ("RGB", "RGBA"):
        return False
    ladder = np.linspace(0, 255, 9).astype(np.uint8)
    samples = np.stack(np.meshgrid(ladder, ladder, ladder), axis=-1).reshape(1, -1, 3)
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(Image.fromarray(samples), source, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError, ValueError):
        return False
    return bool(np.abs(np.asarray(turned).astype(int) - samples).max() <= 1)


def stretched(values: NDArray[Any]) -> Picture:
    """Show a one-channel picture of wide range (32-bit integer, float): its own range becomes 0..255."""
    finite = np.nan_to_num(values.astype(np.float64))
    low, high = float(finite.min()), float(finite.max())
    grey = np.rint((finite - low) / max(high - low, 1e-12) * 255).astype(np.uint8)
    return np.repeat(grey[..., None], 3, axis=2)


def to_8(deep: Deep) -> Picture:
    """16 bit to 8, rounded; 8 bit as it is."""
    if deep.dtype == np.uint8:
        return np.asarray(deep, np.uint8)
    return np.asarray((deep.astype(np.uint32) * 255 + 32767) // 65535, np.uint8)


def on_white(rgb: Deep, alpha: Picture) -> Deep:
    """Lay transparent pixels on white."""
    cover = alpha.astype(np.float32)[..., None] / 255
    top = float(np.iinfo(rgb.dtype).max)
    laid = np.rint(rgb * cover + top * (1 - cover))
    return np.asarray(laid, np.uint8) if rgb.dtype == np.uint8 else np.asarray(laid, np.uint16)


def upright(pixels: Any, orientation: int) -> Any:
    """Undo an EXIF orientation 1..8 (EXIF 2.32, tag 0x0112)."""
    turns = {3: 2, 4: 2, 5: 3, 6: 3, 7: 1, 8: 1}.get(orientation, 0)
    if orientation == 4:  # flipped top to bottom
        return np.ascontiguousarray(pixels[::-1])
    turned = np.rot90(pixels, turns)
    if orientation in (2, 5, 7):
        turned = turned[:, ::-1]
    return np.ascontiguousarray(turned)
