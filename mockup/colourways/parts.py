"""The panels' shares of a picture, and the cloth that a window of it shows."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.colourways.colourway import Laid
from mockup.colourways.laying import Window, lay
from mockup.colourways.tiles import Same, digest
from mockup.stylelines.masks import PanelMasks
from swatches.cloth import Cloth
from swatches.errors import PictureError

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]
Masks = Mapping[str, NDArray[np.float32] | RGB]
Cloths = Mapping[str, tuple[Cloth, Laid]]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One panel's share of the picture in steps of 1/255, cut to where it is, and its cloth."""

    share: RGB
    window: Window
    cloth: tuple[Cloth, Laid] | None


@dataclass(frozen=True, slots=True)
class Frame:
    """The output picture: how many mm a px shows, and the px that cloth is laid from."""

    mm_per_px: float
    origin: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """What panels show in a window of shape (h, w).

    Attributes:
        cloth: linear light weighted by the panels' shares, (h, w, 3); (1, 1, 3) where one plain colour fills it all.
        share: share of cloth, (h, w); None where it is 1 all over.
        kept: share of panels that are left as they are, (h, w); None where there are none.
    """

    cloth: Floats
    share: Floats | None
    kept: Floats | None


def parts_of(masks: Masks, cloths: Cloths, size: tuple[int, int]) -> list[Part]:
    """Cut every mask to where it is not empty.

    Args:
        masks: panel id → share of each output pixel, float32 0..1 or uint8 0..255; each is asked for once.
        cloths: panel id → cloth and how it lies.
        size: width and height of the output.

    Raises:
        PictureError: a mask has another size.
    """
    parts = []
    for name in masks:
        left, top, share = masks.part(name) if isinstance(masks, PanelMasks) else (0, 0, masks[name])
        whole = masks.size if isinstance(masks, PanelMasks) else share.shape[1::-1]
        if whole != size:
            raise PictureError(
                f"mask of panel {name}",
                expected=f"{size[0]} × {size[1]} px",
                got=f"{whole[0]} × {whole[1]} px",
                next_step="Make the masks at the size of the painted picture",
            )
        if not share.size:
            continue
        steps = np.asarray(share if share.dtype == np.uint8 else cv2.convertScaleAbs(share, alpha=255), np.uint8)
        x, y, w, h = cv2.boundingRect(steps)
        if w and h:
            cut = np.ascontiguousarray(steps[y : y + h, x : x + w])
            parts.append(Part(cut, (left + x, top + y, left + x + w, top + y + h), cloths.get(name)))
    return parts


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A panel seen in a window of the picture: the box of the picture where it is in it, and its share there."""

    part: Part
    box: Window
    share: RGB


def seen_in(parts: Sequence[Part], window: Window) -> list[Seen]:
    """Pick the panels that show in a window: left, top, right, bottom."""
    left, top, right, bottom = window
    here = []
    for part in parts:
        x0, y0, x1, y1 = part.window
        if x0 >= right or x1 <= left or y0 >= bottom or y1 <= top:
            continue
        box = max(x0, left), max(y0, top), min(x1, right), min(y1, bottom)
        piece = part.share[box[1] - y0 : box[3] - y0, box[0] - x0 : box[2] - x0]
        if piece.any():
            here.append(Seen(part, box, piece))
    return here


def fingerprint(here: Sequence[Seen]) -> Hashable:
    """What tells apart what panels show in a window."""
    return tuple(
        (seen.box, digest(seen.share), seen.part.cloth and (Same(seen.part.cloth[0]), seen.part.cloth[1]))
        for seen in here
    )


def gathered(here: Sequence[Seen], window: Window, frame: Frame) -> Gathered:
    """See all panels of a window through it."""
    left, top, right, bottom = window
    if len(here) == 1 and here[0].box == window and here[0].share.min() == 255 and here[0].part.cloth is not None:
        return Gathered(_laid(here[0].part.cloth, window, frame), None, None)
    shape = bottom - top, right - left
    cloths, share = np.zeros((*shape, 3), np.float32), np.zeros(shape, np.float32)
    kept: Floats | None = None
    for seen in here:
        box, cloth = seen.box, seen.part.cloth
        at = np.s_[box[1] - top : box[3] - top, box[0] - left : box[2] - left]
        weight = np.asarray(cv2.multiply(seen.share, 1.0, scale=1 / 255, dtype=cv2.CV_32F), np.float32)
        if cloth is None:
            kept = np.zeros(shape, np.float32) if kept is None else kept
            kept[at] += weight
        else:
            share[at] += weight
            cloths[at] = cv2.add(cloths[at], in_light(_laid(cloth, box, frame), weight))
    return Gathered(cloths, share, kept)


def in_light(cloth: Floats, light: Floats) -> Floats:
    """Cloth times light (h, w): a plain colour (1, 1, 3) or a picture (h, w, 3)."""
    if cloth.shape[:2] == (1, 1):
        return np.asarray(cv2.transform(light, cloth.reshape(3, 1)), np.float32)
    return np.asarray(cv2.multiply(cloth, cv2.merge([light, light, light])), np.float32)


def _laid(cloth: tuple[Cloth, Laid], window: Window, frame: Frame) -> Floats:
    return lay(*cloth, window, mm_per_px=frame.mm_per_px, origin=frame.origin)
