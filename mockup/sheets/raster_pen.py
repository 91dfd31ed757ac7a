"""Words and plain shapes on a picture, in the shipped font, with smooth edges. sRGB, 8 bits, y down."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from swatches.lettering import font

RGB = NDArray[np.uint8]
Colour = tuple[int, int, int]
_FINE = 4  # shapes are drawn this many times larger, then reduced


class RasterPen:
    """Draws on a picture of its own.

    Args:
        width: px.
        height: px.
        ground: colour of the paper.
    """

    def __init__(self, width: int, height: int, ground: Colour) -> None:
        self.image = Image.new("RGB", (width, height), ground)
        self._draw = ImageDraw.Draw(self.image)

    @property
    def height(self) -> int:
        """Height of the picture, px."""
        return self.image.height

    @property
    def rgb(self) -> RGB:
        """The picture so far, shape (h, w, 3)."""
        return np.asarray(self.image).copy()

    def words(
        self, text: str, x: float, y: float, size: int, colour: Colour, *, bold: bool = False, anchor: str = "ls"
    ) -> float:
        """Write a line; ``anchor`` as Pillow names it ('ls': left end of the baseline). Gives its width in px."""
        face = font(size, bold=bold)
        self._draw.text((round(x), round(y)), text, font=face, fill=colour, anchor=anchor)
        return float(face.getlength(text))

    def rule(self, x0: float, y0: float, x1: float, y1: float, colour: Colour, width: int = 1) -> None:
        """Draw a level or upright line."""
        self._draw.line([(round(x0), round(y0)), (round(x1), round(y1))], fill=colour, width=width)

    def box(
        self, x0: float, y0: float, x1: float, y1: float, fill: Colour | None, outline: Colour | None = None
    ) -> None:
        """Draw a rectangle; the far edges are included."""
        self._draw.rectangle([round(x0), round(y0), round(x1), round(y1)], fill=fill, outline=outline)

    def disc(self, x: float, y: float, radius: float, colour: Colour) -> None:
        """Draw a filled circle with smooth edges."""
        size = round(2 * radius) + 2
        mask = Image.new("L", (size * _FINE, size * _FINE), 0)
        middle, reach = size * _FINE / 2, radius * _FINE
        ImageDraw.Draw(mask).ellipse([middle - reach, middle - reach, middle + reach, middle + reach], fill=255)
        small = mask.resize((size, size), Image.Resampling.BOX)
        self.image.paste(Image.new("RGB", (size, size), colour), (round(x - size / 2), round(y - size / 2)), small)

    def picture(self, rgb: RGB, x: float, y: float) -> None:
        """Lay a picture with its upper left corner at (x, y)."""
        self.image.paste(Image.fromarray(np.ascontiguousarray(rgb)), (round(x), round(y)))


def fitted(text: str, width: float, size: int, *, bold: bool = False) -> str:
    """Cut a text to ``width`` px with an ellipsis."""
    face = font(size, bold=bold)
    if face.getlength(text) <= width:
        return text
    while text and face.getlength(text + "…") > width:
        text = text[:-1]
    return text.rstrip() + "…"


def wrapped(text: str, width: float, size: int) -> list[str]:
    """Break a text at blanks into lines of at most ``width`` px."""
    face, lines = font(size), list[str]()
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and face.getlength(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def resized(rgb: RGB, width: int, height: int) -> RGB:
    """Scale a picture: area average when it shrinks, cubic when it grows."""
    shrinks = width * height < rgb.shape[0] * rgb.shape[1]
    how = cv2.INTER_AREA if shrinks else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(np.ascontiguousarray(rgb), (width, height), interpolation=how), dtype=np.uint8)
