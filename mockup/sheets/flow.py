"""Text and drawings that run over pages of a PDF: a heading, paragraphs, numbered steps, rows of a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mockup.sheets.looks import Look, shortened, wrapped
from mockup.sheets.page_pen import PagePen
from mockup.sheets.papers import Paper

PT_PER_MM = 72 / 25.4
_TEXT, _LEADING = 3.9, 5.3


class Flow:
    """Writes downward in mm and begins a new page where there is no room.

    Args:
        canvas: a canvas of the PDF library, fresh.
        paper: the sheet.
        look: colours and widths.
        foot: small line at the foot of every page; the page's number is added.
    """

    def __init__(self, canvas: Any, paper: Paper, look: Look, foot: str) -> None:
        self.canvas, self.paper, self.look, self.foot = canvas, paper, look, foot
        self.pen = PagePen(canvas, look)
        self.left, self.right, self.low = 20.0, paper.width - 20.0, 24.0
        self.page = 0
        self.y = 0.0
        self._begin()

    @property
    def width(self) -> float:
        """Width of the text, mm."""
        return self.right - self.left

    def room(self, height: float) -> None:
        """Begin a new page unless ``height`` mm are free."""
        if self.y - height < self.low:
            self.canvas.showPage()
            self._begin()

    def heading(self, text: str, size: float = 5.4) -> None:
        """Write a heading; it stays with what follows."""
        self.room(size + 4 * _LEADING)
        self.y -= size + 5.0
        self.pen.words(shortened(text, self.width, size, bold=True), self.left, self.y, size, self.look.ink, bold=True)
        self.y -= 1.6

    def paragraph(self, text: str, *, soft: bool = False, indent: float = 0.0, mark: str = "") -> None:
        """Write a paragraph; ``mark`` stands before it, at the left of its indent."""
        colour = self.look.soft if soft else self.look.ink
        lines = wrapped(text, self.width - indent, _TEXT)
        self.room(_LEADING * min(len(lines), 3))
        for k, line in enumerate(lines):
            self.room(_LEADING)
            self.y -= _LEADING
            if mark and k == 0:
                self.pen.words(mark, self.left, self.y, _TEXT, self.look.ink, bold=True)
            self.pen.words(line, self.left + indent, self.y, _TEXT, colour)
        self.y -= 1.5

    def steps(self, texts: Sequence[str], *, first: int = 1) -> None:
        """Write numbered sentences."""
        for k, text in enumerate(texts):
            self.paragraph(text, indent=9.0, mark=f"{first + k}.")

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]) -> None:
        """Write a table; ``shares`` are the columns' shares of the width."""
        self.room(3 * _LEADING)
        self._row(heads, shares, 3.2, self.look.soft)
        self.pen.line((self.left, self.y - 1.6), (self.right, self.y - 1.6), self.look.faint, 0.2)
        self.y -= 1.0
        for row in rows:
            self.room(_LEADING)
            self._row(row, shares, _TEXT, self.look.ink)
        self.y -= 1.5

    def finish(self) -> None:
        """End the last page."""
        self.canvas.showPage()

    def _row(self, cells: Sequence[str], shares: Sequence[float], size: float, colour: Sequence[float]) -> None:
        self.y -= _LEADING
        x = self.left
        for cell, share in zip(cells, shares, strict=True):
            room = share * self.width
            self.pen.words(shortened(cell, room - 2.0, size), x, self.y, size, colour)
            x += room

    def _begin(self) -> None:
        self.canvas.scale(PT_PER_MM, PT_PER_MM)
        self.page += 1
        self.y = self.paper.height - 18.0
        self.pen.words(shortened(self.foot, self.width - 20.0, 3.1), self.left, 12.0, 3.1, self.look.soft)
        self.pen.words(f"page {self.page}", self.right, 12.0, 3.1, self.look.soft, align=1)
