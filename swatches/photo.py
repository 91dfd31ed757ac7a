"""Read photos and drawings from strangers' files, and write pictures that carry nothing but pixels.

The one door for pictures. JPEG, PNG, TIFF, WebP, HEIC, GIF, BMP; 8 or 16 bit; turned upright by the EXIF
orientation; converted to sRGB by the embedded ICC profile; EXIF (with place and time) is dropped here and never
reaches anything else. Transparent pictures are laid on white, as every viewer shows them, and keep their alpha.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from swatches.colour import srgb_to_linear
from swatches.errors import PictureError
from swatches.pixels import Deep, Picture, deep_pixels, is_srgb, on_white, stretched, to_8, to_srgb, upright
from swatches.safe_write import write_whole

__all__ = [
    "Deep", "Photo", "Picture", "jpeg_bytes", "photo_from_array", "png_bytes", "read_photo", "write_jpeg", "write_png",
]  # fmt: skip

MAX_BYTES = 400_000_000
"""Largest picture file that is opened at all."""
MIN_SIDE_PX = 2
"""Smallest side; below that there is nothing to see."""
MAX_SIDE_PX = 60_000

_FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "GIF", "BMP", "AVIF")
_READABLE = "a JPEG, PNG, TIFF, WebP, HEIC, GIF or BMP picture"
_EXIF_ORIENTATION = 0x0112
_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1")


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A picture, upright, in sRGB, without metadata.

    Attributes:
        rgb: sRGB, shape (h, w, 3), uint8 or uint16, read-only; transparent parts are laid on white.
        alpha: coverage, shape (h, w), uint8, read-only; None where the file has no transparency.
        name: the file's name without its folder, or what it was called by the caller.
        notes: what a person should know of the reading, one sentence each.
    """

    rgb: Deep
    alpha: Picture | None
    name: str
    notes: tuple[str, ...] = ()

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in px."""
        return int(self.rgb.shape[1]), int(self.rgb.shape[0])

    @property
    def rgb8(self) -> Picture:
        """The picture in 8 bit, shape (h, w, 3), read-only."""
        eight: Picture = _locked(to_8(self.rgb))
        return eight

    def linear(self) -> NDArray[np.float32]:
        """The picture in linear light, 0..1, shape (h, w, 3), float32."""
        return srgb_to_linear(self.rgb).astype(np.float32, copy=False)


def photo_from_array(rgb: Deep, *, name: str = "picture", alpha: Picture | None = None) -> Photo:
    """Make a photo of an sRGB array, shape (h, w, 3) or grey (h, w); the array is copied."""
    if rgb.ndim == 2:
        rgb = cv2.merge([rgb] * 3)
    return Photo(_locked(np.array(rgb)), None if alpha is None else _locked(np.array(alpha)), name)


def read_photo(source: Path | str | bytes, *, what: str = "photo", max_megapixels: float = 120) -> Photo:
    """Read a picture file.

    Args:
        source: a path, or the file's bytes.
        what: what the picture is to the person, for error messages.
        max_megapixels: larger pictures are refused before they are decoded.

    Raises:
        PictureError: missing, empty, too large, truncated or no picture at all.
    """
    data, name = _bytes_of(source, what)
    notes: list[str] = []
    with warnings.catch_warnings():
        # Pillow warns of large pictures and odd EXIF; the size is judged here, the EXIF is dropped.
        warnings.simplefilter("ignore")
        try:
            picture = _open(data, what, name)
            _check_size(picture.size, what, max_megapixels)
            rgb, alpha = _decode(picture, data, notes)
        except PictureError:
            raise
        except (
            OSError,
            ValueError,
            SyntaxError,
            RuntimeError,
            EOFError,
            MemoryError,
            Image.DecompressionBombError,
        ) as e:
            raise _unreadable(what, name, e) from e
    return Photo(_locked(rgb), None if alpha is None else _locked(alpha), name, tuple(notes))


def png_bytes(rgb: NDArray[Any], *, dpi: float | None = None, compress: int = 4) -> bytes:
    """Encode a PNG without metadata: uint8 or uint16; grey (h, w), RGB (h, w, 3) or, in 8 bit, RGBA (h, w, 4).

    ``compress`` of 6 takes twice the time of 4 for a file that is a fiftieth smaller.
    """
    if rgb.dtype == np.uint16 and rgb.ndim == 3:
        ok, coded = cv2.imencode(".png", rgb[..., ::-1], [cv2.IMWRITE_PNG_COMPRESSION, compress])
        if not ok:
            raise ValueError(f"cannot encode an array of shape {rgb.shape} as PNG")
        return bytes(coded)
    out = io.BytesIO()
    options: dict[str, Any] = {} if dpi is None else {"dpi": (dpi, dpi)}
    Image.fromarray(np.ascontiguousarray(rgb)).save(out, "PNG", compress_level=compress, **options)
    return out.getvalue()


def jpeg_bytes(rgb: Picture, *, quality: int = 92, small: bool = True) -> bytes:
    """Encode a JPEG (full colour resolution) without metadata; ``rgb`` uint8, shape (h, w, 3) or (h, w).

    ``small`` takes twice the time for a file that is a twentieth smaller.
    """
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(rgb)).save(out, "JPEG", quality=quality, subsampling=0, optimize=small)
    return out.getvalue()


def write_png(path: Path, rgb: NDArray[Any], *, dpi: float | None = None, compress: int = 4) -> Path:
    """Write :func:`png_bytes` to a file, whole or not at all."""
    return write_whole(Path(path), png_bytes(rgb, dpi=dpi, compress=compress), what="picture file")


def write_jpeg(path: Path, rgb: Picture, *, quality: int = 92, small: bool = True) -> Path:
    """Write :func:`jpeg_bytes` to a file, whole or not at all."""
    return write_whole(Path(path), jpeg_bytes(rgb, quality=quality, small=small), what="picture file")


def _bytes_of(source: Path | str | bytes, what: str) -> tuple[bytes, str]:
    if isinstance(source, bytes):
        data, name = source, what
    else:
        path = Path(source)
        name = path.name
        try:
            size = path.stat().st_size
            if size > MAX_BYTES:
                raise _too_large(what, f"{name} with {size / 1e6:.0f} MB", f"at most {MAX_BYTES / 1e6:.0f} MB")
            data = path.read_bytes()
        except OSError as error:
            reason = "a folder" if path.is_dir() else (error.strerror or str(error)).lower()
            raise PictureError(
                what, expected=_READABLE, got=f"{name} ({reason})", next_step="Check the file's name and place"
            ) from error
    if not data:
        raise PictureError(what, expected=_READABLE, got=f"{name}, an empty file", next_step="Copy the picture again")
    if len(data) > MAX_BYTES:
        raise _too_large(what, f"{len(data) / 1e6:.0f} MB", f"at most {MAX_BYTES / 1e6:.0f} MB")
    return data, name


def _open(data: bytes, what: str, name: str) -> Image.Image:
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS:
        heif = pi_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        return _Heif(heif)
    Image.init()  # registers the formats that Pillow loads late (MPO arrives through JPEG)
    try:
        return Image.open(io.BytesIO(data), formats=_FORMATS)  # noqa: TID251 (this is the one door)
    except Image.DecompressionBombError as error:
        raise _too_large(
            what, f"{name}, a picture of hundreds of megapixels", "a picture of a camera's size"
        ) from error
    except UnidentifiedImageError as error:
        of = "a file" if name == what else name  # bytes have no name of their own, and `what` is said already
        got = f"{of}, a drawing in SVG" if b"<svg" in data[:2000].lower() else f"{of}, which is no picture"
        raise PictureError(
            what, expected=_READABLE, got=got, next_step="Save it as JPEG or PNG and give that file"
        ) from error


class _Heif(Image.Image):
    """A HEIC picture whose pixels are decoded only after its size was judged."""

    format = "HEIF"

    def __init__(self, heif: Any) -> None:
        super().__init__()
        self._heif = heif
        self._size = heif.size
        self._mode = heif.mode

    def load(self) -> Any:
        if self._heif is not None:
            decoded = self._heif.to_pillow()
            self._heif = None
            self.im, self._mode, self._size, self.info = decoded.im, decoded.mode, decoded.size, dict(decoded.info)
            self.info.pop("exif", None)  # the library has turned the picture upright already
        return super().load()


def _check_size(size: tuple[int, int], what: str, max_megapixels: float) -> None:
    width, height = size
    if width < MIN_SIDE_PX or height < MIN_SIDE_PX:
        raise PictureError(
            what,
            expected="a picture of more than one pixel",
            got=f"{width}×{height} px",
            next_step="Take the photo again, or copy the file again",
        )
    if width * height > max_megapixels * 1e6 or max(size) > MAX_SIDE_PX:
        raise _too_large(
            what,
            f"{width}×{height} px ({width * height / 1e6:.0f} megapixels)",
            f"at most {max_megapixels:g} megapixels",
        )


def _decode(picture: Image.Image, data: bytes, notes: list[str]) -> tuple[Deep, Picture | None]:
    if picture.format != "MPO" and getattr(picture, "n_frames", 1) > 1:
        notes.append("The file holds several pictures; the first is used.")
    picture.load()
    orientation = picture.getexif().get(_EXIF_ORIENTATION, 1)
    profile = picture.info.get("icc_profile")
    deep = deep_pixels(picture, data)
    alpha: Picture | None = None
    if deep is not None:
        rgb, alpha = deep
        if profile and not is_srgb(profile, picture.mode):
            notes.append("The 16-bit picture has its own colour profile; it was converted in 8 bits.")
            rgb = to_srgb(Image.fromarray(to_8(rgb)), profile, notes)
    else:
        if picture.mode in ("I", "F") or picture.mode.startswith("I;"):
            rgb = stretched(np.asarray(picture))
        else:
            if picture.mode in ("LA", "PA", "RGBA", "La", "RGBa") or "transparency" in picture.info:
                straight = picture.convert("RGBA")
                alpha = np.asarray(straight.getchannel("A"))
                picture = straight.convert("RGB")
            elif picture.mode in ("CMYK", "YCbCr", "LAB", "HSV"):
                if picture.mode == "CMYK":
                    notes.append("The picture is in printing inks (CMYK); its colours are converted and may be off.")
            elif picture.mode != "RGB":
                picture = picture.convert("RGB")
            rgb = to_srgb(picture, profile, notes)
    if alpha is not None and int(alpha.min()) == 255:
        alpha = None
    if alpha is not None:
        rgb = on_white(rgb, alpha)
        alpha = upright(alpha, orientation)
    return upright(rgb, orientation), alpha


def _locked(pixels: Any) -> Any:
    if pixels.flags.writeable:
        pixels.flags.writeable = False
    return pixels


def _too_large(what: str, got: str, expected: str) -> PictureError:
    return PictureError(what, expected=expected, got=got, next_step="Make the picture smaller and give that file")


def _unreadable(what: str, name: str, error: BaseException) -> PictureError:
    text = str(error).lower()
    damaged = isinstance(error, EOFError) or any(w in text for w in ("truncat", "broken", "unexpected", "incomplete"))
    got = f"{name}, which breaks off or is damaged" if damaged else f"{name}, which is no picture that can be read"
    return PictureError(
        what, expected=_READABLE, got=got, next_step="Copy the picture again, or save it as JPEG or PNG"
    )
