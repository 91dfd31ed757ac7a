"""What is kept of the photo of a cloth, so that its reading can be looked at and corrected later.

Beside ``fabric.json`` lie the photo (pixels only: no place, no time), the cloth as seen from straight above, and a
``reading-….json`` that says what was asked, what was found where, and how px become mm. Their names come from their
content, so that an older reading stays readable when a newer one is made, and undo finds it.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter, ValidationError

from swatches.colour import linear_to_srgb8
from swatches.errors import FileFormatError
from swatches.fabric import XY, Fabric, Kind
from swatches.outline import Outline
from swatches.photo import Photo, jpeg_bytes, read_photo
from swatches.plane import Plane
from swatches.read_swatch import Repeat, SwatchReading
from swatches.safe_write import write_whole

NAME = re.compile(r"reading-[0-9a-f]{16}\.json")
_PICTURE = re.compile(r"(photo|above)-[0-9a-f]{16}\.jpg")
MAX_BYTES = 8_000_000
ABOVE_SIDE_PX = 1000
PHOTO_QUALITY, ABOVE_QUALITY = 93, 88


@dataclass(frozen=True, slots=True)
class Asked:
    """How a photo is to be read: the arguments of :func:`swatches.read_swatch.read_swatch` that a person may set.

    Attributes:
        reference: 'sheet', 'a4', 'letter', 'card', 'cards', 'chart', 'none', or typed mm per px of the photo.
        area: where the cloth is, photo px: left, top, width, height.
        bar_mm: measured length of the sheet's 100 mm bar.
        distance_mm: measured between cards 1 and 2.
        corners_px: corners of the paper, card or chart.
        kind: the person's word for the surface.
        repeat_mm: typed repeat across and along, 0 for none, None for what is found.
        outline_px: what the person drew round the cloth, photo px; it counts before the area.
    """

    reference: str | float = "none"
    area: tuple[float, float, float, float] | None = None
    bar_mm: float | None = None
    distance_mm: float | None = None
    corners_px: tuple[XY, ...] | None = None
    kind: Kind | None = None
    repeat_mm: Repeat | None = None
    outline_px: tuple[XY, ...] | None = None

    def options(self) -> dict[str, Any]:
        """The same as keyword arguments."""
        corners, outline = (None if p is None else np.array(p, np.float64) for p in (self.corners_px, self.outline_px))
        return {
            "reference": self.reference, "area": self.area, "bar_mm": self.bar_mm, "distance_mm": self.distance_mm,
            "corners_px": corners, "outline_px": outline, "kind": self.kind, "repeat_mm": self.repeat_mm,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Kept:
    """A reading as it is kept.

    Attributes:
        photo: file name of the photo.
        above: file name of the cloth from above.
        size: of the photo, px.
        above_size: of the cloth from above, px.
        above_mm_per_px: its scale, as far as it is known or guessed.
        asked: how the photo was read.
        scale_known: whether mm are mm and not a guess.
        cloth_px: corners of what was read, photo px.
        sheet_px: corners of the reference, photo px; empty where there is none.
        vectors_mm: repeat vectors on the cloth from above, y down.
        outlines: pieces of cloth in mm, y up.
        matrix: of the photo's plane, see :class:`~swatches.plane.Plane`.
        k1: of the lens; k2: its second term.
    """

    photo: str
    above: str
    size: tuple[int, int]
    above_size: tuple[int, int]
    above_mm_per_px: float
    asked: Asked
    scale_known: bool
    cloth_px: tuple[XY, ...]
    sheet_px: tuple[XY, ...]
    vectors_mm: tuple[XY, ...]
    outlines: tuple[Outline, ...]
    matrix: tuple[tuple[float, float, float], ...]
    k1: float
    k2: float = 0.0

    @property
    def plane(self) -> Plane:
        """The photo's plane."""
        return Plane(np.array(self.matrix, np.float64), self.k1, self.size, self.k2)

    def to_px(self, points_mm: tuple[XY, ...]) -> tuple[XY, ...]:
        """Where points in mm (y up, as outlines have it) lie in the photo."""
        return _pairs(self.plane.to_px(np.array(points_mm, np.float64) * (1, -1)), 1)

    def to_mm(self, points_px: tuple[XY, ...]) -> tuple[XY, ...]:
        """Where points of the photo lie, mm, y up."""
        return _pairs(self.plane.to_mm(np.array(points_px, np.float64)) * (1, -1), 3)


_ADAPTER: TypeAdapter[Kept] = TypeAdapter(Kept)


def keep_reading(folder: Path, photo: Photo, reading: SwatchReading, asked: Asked) -> str:
    """Write photo, cloth from above and reading into the fabric's folder, and give the reading's file name.

    Raises:
        InputError: the folder cannot be written.
    """
    if reading.plane is None or reading.seen is None or reading.cloth_px is None:
        raise ValueError("a reading that was put together by hand cannot be kept")
    shown = _smaller(reading.seen, ABOVE_SIDE_PX)
    kept = Kept(
        photo=_put(folder, "photo", jpeg_bytes(photo.rgb8, quality=PHOTO_QUALITY)),
        above=_put(folder, "above", jpeg_bytes(linear_to_srgb8(shown), quality=ABOVE_QUALITY)),
        size=photo.size,
        above_size=(int(shown.shape[1]), int(shown.shape[0])),
        above_mm_per_px=reading.seen_mm_per_px * reading.seen.shape[1] / shown.shape[1],
        asked=asked,
        scale_known=reading.mm_per_px is not None,
        cloth_px=_pairs(reading.cloth_px, 1),
        sheet_px=() if reading.sheet_px is None else _pairs(reading.sheet_px, 1),
        vectors_mm=() if reading.vectors_mm is None else _pairs(reading.vectors_mm, 4),
        outlines=reading.outlines,
        matrix=tuple((float(a), float(b), float(c)) for a, b, c in reading.plane.matrix),
        k1=reading.plane.k1,
        k2=reading.plane.k2,
    )
    text = _ADAPTER.dump_json(kept)
    name = f"reading-{hashlib.sha256(text).hexdigest()[:16]}.json"
    write_whole(folder / name, text, what="reading of the cloth")
    return name


def load_reading(folder: Path, fabric: Fabric) -> Kept | None:
    """What was kept of the photo of a fabric; None where nothing was.

    Raises:
        FileFormatError: what is there is no reading.
    """
    if not NAME.fullmatch(fabric.reading):
        return None
    path = folder / fabric.reading
    try:
        if path.stat().st_size > MAX_BYTES:
            raise _damaged(path, f"more than {MAX_BYTES // 1_000_000} MB")
        kept = _ADAPTER.validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except (OSError, ValidationError) as error:
        raise _damaged(path, "something else") from error
    if not (_PICTURE.fullmatch(kept.photo) and _PICTURE.fullmatch(kept.above)):
        raise _damaged(path, "pictures outside its folder")
    return kept


def kept_photo(folder: Path, kept: Kept) -> Photo:
    """Read the photo again.

    Raises:
        PictureError: it is not there any more, or damaged.
    """
    return read_photo(folder / kept.photo, what="photo of the cloth")


def _put(folder: Path, kind: str, data: bytes) -> str:
    name = f"{kind}-{hashlib.sha256(data).hexdigest()[:16]}.jpg"
    if not (folder / name).exists():
        write_whole(folder / name, data, what="photo of the cloth")
    return name


def _smaller(linear: NDArray[np.float32], side: int) -> NDArray[np.float32]:
    zoom = min(1.0, side / max(linear.shape[:2]))
    if zoom == 1.0:
        return linear
    size = (max(1, round(linear.shape[1] * zoom)), max(1, round(linear.shape[0] * zoom)))
    return np.asarray(cv2.resize(linear, size, interpolation=cv2.INTER_AREA), np.float32)


def _pairs(points: NDArray[Any], digits: int) -> tuple[XY, ...]:
    return tuple((round(float(x), digits), round(float(y), digits)) for x, y in points)


def _damaged(path: Path, got: str) -> FileFormatError:
    return FileFormatError(
        "photo of the cloth", expected=f"what was kept of it ({path.name})", got=got,
        next_step="Add the photo of this cloth again",
    )  # fmt: skip
