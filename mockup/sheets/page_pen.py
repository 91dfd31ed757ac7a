"""Words, lines, the test squares and the ruler on a page of a PDF, in mm, y up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mockup.sheets.looks import BOLD, REGULAR, Look, wrapped
from swatches.units import MM_PER_INCH

CHECK = "Check before cutting"
SQUARE_MM, RULER_MM = 50.0, 100.0
CAUTION = "Irons are hot and blades are sharp: children sew with a grown-up, and your group's own rules come first."
_PRINT = "Print at 100 %, ‘actual size’, never ‘fit to page’. Then lay a ruler on these:"
_PROJECT = "Set the projector square to the table, then lay a ruler on these:"
_ELSE = "if they are not exactly 5 cm, 1 in and 100 mm, do not cut."


class PagePen:
    """Draws on a canvas of the PDF library whose unit was set to mm.

    Args:
        canvas: the canvas.
        look: colours and widths.
    """

    def __init__(self, canvas: Any, look: Look) -> None:
        self.canvas, self.look = canvas, look

    def words(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        colour: Sequence[float],
        *,
        bold: bool = False,
        align: int = -1,
    ) -> None:
        """Write a line; ``align`` −1: x is its left end, 0: its middle, 1: its right end."""
        c = self.canvas
        c.setFillColorRGB(*colour)
        c.setFont(BOLD if bold else REGULAR, size)
        (c.drawString, c.drawCentredString, c.drawRightString)[align + 1](float(x), float(y), text)

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        colour: Sequence[float],
        width: float,
        dash: Sequence[float] = (),
    ) -> None:
        """Draw a straight line."""
        c = self.canvas
        c.setStrokeColorRGB(*colour)
        c.setLineWidth(width)
        c.setDash(*([list(dash)] if dash else []))
        c.line(*start, *end)

    def check(self, left: float, y: float) -> float:
        """Draw the check before cutting below ``y``; gives its lower edge.

        The squares are single rectangles of 0.2 mm line, so that they can be measured to the middle of the line.
        """
        look, c, w = self.look, self.canvas, self.look.words
        self.words(CHECK, left, y, 5.0 * w, look.ink, bold=True)
        for text in wrapped(f"{_PRINT if look.ground is None else _PROJECT} {_ELSE}", 93.0 * w, 3.5 * w):
            y -= 4.6 * w
            self.words(text, left, y, 3.5 * w, look.soft)
        low = y - 5.0 * w - SQUARE_MM
        c.setDash()
        c.setStrokeColorRGB(*look.ink)
        c.setLineWidth(0.2)
        c.rect(left, low, SQUARE_MM, SQUARE_MM, stroke=1, fill=0)
        c.rect(left + 58.0, low, MM_PER_INCH, MM_PER_INCH, stroke=1, fill=0)
        self._in_square("5 cm", left + SQUARE_MM / 2, low + SQUARE_MM / 2, 4.2)
        self._in_square("1 in", left + 58.0 + MM_PER_INCH / 2, low + MM_PER_INCH / 2, 3.5)
        return self._ruler(left, low - 9.0 * w)

    def _in_square(self, side: str, x: float, y: float, size: float) -> None:
        """The measure of a square about its middle; in two rows where the lettering is large."""
        w = self.look.words
        rows = [f"{side} × {side}"] if w == 1.0 else [f"{side} ×", side]
        for k, text in enumerate(rows):
            at = y + (len(rows) / 2 - k - 0.75) * size * w
            self.words(text, x, at, size * w, self.look.ink, bold=True, align=0)

    def _ruler(self, left: float, y: float) -> float:
        look = self.look
        self.line((left, y), (left + RULER_MM, y), look.ink, 0.2)
        for mm in range(int(RULER_MM) + 1):
            size, width = (4.2, 0.25) if mm % 10 == 0 else (2.9, 0.15) if mm % 5 == 0 else (1.7, 0.15)
            self.line((left + mm, y), (left + mm, y + size), look.ink, width)
            if mm % 20 == 0:
                text = f"{mm} mm" if mm == RULER_MM else str(mm)
                self.words(text, left + mm, y - 3.6 * look.words, 3.0 * look.words, look.soft, align=0)
        return y - 3.6 * look.words
