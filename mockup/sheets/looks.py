"""How printed lines look, and the shipped font on paper. Millimetres; colours as red, green, blue from 0 to 1."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from swatches.lettering import BOLD as BOLD_FILE
from swatches.lettering import REGULAR as REGULAR_FILE

rl_config.useA85 = 0  # streams as they are, not as letters: files are a fifth smaller and sooner written

RGB = tuple[float, float, float]
REGULAR, BOLD = "AlegreyaSans", "AlegreyaSans-Bold"


@dataclass(frozen=True, slots=True)
class Look:
    """Colours and widths of one kind of print.

    Attributes:
        ink: cut lines and words.
        soft: stitch lines and small words.
        faint: frames, grids, sheet names.
        accent: the fold.
        ground: colour of the page, or None for plain paper.
        cut: width of the cut line.
        stitch: width of the stitch line.
        fine: width of grainlines, notches and marks.
        bold: width of the bold stroke at a new seam.
        words: factor for all lettering.
    """

    ink: RGB = (0.09, 0.11, 0.16)
    soft: RGB = (0.27, 0.32, 0.42)
    faint: RGB = (0.62, 0.65, 0.70)
    accent: RGB = (0.62, 0.24, 0.15)
    ground: RGB | None = None
    cut: float = 0.8
    stitch: float = 0.35
    fine: float = 0.35
    bold: float = 1.6
    words: float = 1.0


PAPER = Look()
BEAMER = Look(
    ink=(1.0, 1.0, 1.0),
    soft=(0.75, 0.85, 1.0),
    faint=(0.26, 0.30, 0.38),
    accent=(1.0, 0.72, 0.45),
    ground=(0.05, 0.06, 0.09),
    cut=2.2,
    stitch=1.2,
    fine=1.4,
    bold=4.0,
    words=2.0,
)


_LINING = 171
"""Glyph of the lining nought in the shipped font, 'zero.lf'; one to nine follow it. The font's own digits are
old-style, which is fine in running text and hard to read in measures."""


@lru_cache(maxsize=1)
def use_fonts() -> None:
    """Make the shipped font known to the PDF library, once, with lining figures in the place of its old-style ones."""
    for name, file in ((REGULAR, REGULAR_FILE), (BOLD, BOLD_FILE)):
        font = TTFont(name, str(file))
        for digit in range(10):
            glyph = _LINING + digit
            font.face.charToGlyph[ord("0") + digit] = glyph
            font.face.charWidths[ord("0") + digit] = _advance(font.face, glyph)
        pdfmetrics.registerFont(font)


def _advance(face: Any, glyph: int) -> float:
    """How far a glyph goes on, in thousandths of the font's size, by the font's own table (OpenType, 'hmtx')."""
    heads = face.get_table("hhea")
    count = int.from_bytes(heads[34:36], "big")
    widths = face.get_table("hmtx")
    at = 4 * min(glyph, count - 1)
    return float(int.from_bytes(widths[at : at + 2], "big") * 1000 / face.unitsPerEm)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a line of text in the unit of ``size``."""
    use_fonts()
    return float(pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size))


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Break a text at blanks into lines of at most ``width``; a single longer word keeps a line of its own."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold=bold) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Cut a text to ``width``, with an ellipsis."""
    if text_width(text, size, bold=bold) <= width:
        return text
    while text and text_width(text + "…", size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip() + "…"
