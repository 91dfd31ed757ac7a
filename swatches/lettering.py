"""The one shipped font (Alegreya Sans, SIL Open Font License 1.1), for pictures, prints and the page."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from PIL import ImageFont

FONT_FOLDER = Path(__file__).parent / "fonts"
REGULAR = FONT_FOLDER / "AlegreyaSans-Regular.ttf"
BOLD = FONT_FOLDER / "AlegreyaSans-Bold.ttf"


@lru_cache(maxsize=64)
def font(size_px: int, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    """Give the font for drawing on a picture, ``size_px`` high."""
    return ImageFont.truetype(str(BOLD if bold else REGULAR), size_px)
