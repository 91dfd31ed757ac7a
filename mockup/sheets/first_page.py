"""The first page of a print: what it is, the check before cutting, the map of the sheets, the pieces, the legend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from mockup.files.words import fabric_name, how_to_cut, title
from mockup.sheets.looks import BOLD, REGULAR, Look, shortened, wrapped
from mockup.sheets.packing import Plan
from mockup.sheets.papers import Paper
from mockup.sheets.piece_pen import Printed
from swatches.units import MM_PER_INCH

CHECK = "Check before cutting"
CAUTION = "Irons are hot and blades are sharp: children sew with a grown-up, and your group's own rules come first."
_SQUARE, _RULER = 50.0, 100.0


class FirstPage:
    """Draws the first page in mm, y up.

    Args:
        canvas: a canvas of the PDF library whose unit was set to mm.
        paper: the sheet.
        look: colours and widths.
    """

    def __init__(self, canvas: Any, paper: Paper, look: Look) -> None:
        self.canvas, self.paper, self.look = canvas, paper, look
        self.left, self.right = 17.0, paper.width - 17.0
        self.top, self.foot = paper.height - 17.0, 15.0

    def draw(
        self,
        heading: str,
        date: str,
        note: str,
        prints: Sequence[Printed],
        plan: Plan,
        fabric_names: Mapping[str, str] | None,
    ) -> list[int]:
        """Draw the page; gives the indices of pieces whose row found no room on it."""
        y = self._heading(heading, date, note, len(plan.tiles))
        y = min(self._check(y - 9.0), self._map(y - 9.0, prints, plan))
        bottom = self._legend(self.foot + 7.0)
        left_over = self._table(y - 9.0, bottom + 7.0, prints, fabric_names)
        self._text(CAUTION, self.left, self.foot - 2.0, 3.1, self.look.soft)
        return left_over

    def _heading(self, heading: str, date: str, note: str, sheets: int) -> float:
        size = 10.0
        width = self.right - self.left
        self._text(
            shortened(heading, width, size, bold=True), self.left, self.top - 7.5, size, self.look.ink, bold=True
        )
        pages = f"{sheets} sheet{'s' if sheets != 1 else ''} of {self.paper.name} after this one"
        words = " · ".join(t for t in ("Pattern pieces at full size", pages, date) if t)
        self._text(words, self.left, self.top - 14.5, 4.2, self.look.soft)
        y = self.top - 14.5
        if note:
            y -= 5.2
            self._text(shortened(note, width, 3.5), self.left, y, 3.5, self.look.accent)
        y -= 4.5
        self._line(self.left, y, self.right, y, self.look.ink, 0.35)
        return y

    def _check(self, y: float) -> float:
        """The two squares and the ruler; the squares are single path rectangles, so that they can be measured."""
        look, c = self.look, self.canvas
        self._text(CHECK, self.left, y, 5.0, look.ink, bold=True)
        words = (
            "Print at 100 %, ‘actual size’, never ‘fit to page’. Then lay a ruler on these: when they are not "
            "exactly 5 cm, 1 in and 100 mm, do not cut."
        )
        for line in wrapped(words, 84.0, 3.5):
            y -= 4.6
            self._text(line, self.left, y, 3.5, look.soft)
        low = y - 5.0 - _SQUARE
        c.setDash()
        c.setStrokeColorRGB(*look.ink)
        c.setLineWidth(0.3)
        c.rect(self.left, low, _SQUARE, _SQUARE, stroke=1, fill=0)
        c.rect(self.left + 58.0, low, MM_PER_INCH, MM_PER_INCH, stroke=1, fill=0)
        self._text("5 cm × 5 cm", self.left + 25.0, low + 24.0, 4.2, look.ink, bold=True, align=0)
        self._text("1 in × 1 in", self.left + 58.0 + MM_PER_INCH / 2, low + 11.6, 3.5, look.ink, bold=True, align=0)
        return self._ruler(low - 9.0) - 4.0

    def _ruler(self, y: float) -> float:
        look = self.look
        self._line(self.left, y, self.left + _RULER, y, look.ink, 0.3)
        for mm in range(int(_RULER) + 1):
            size = 4.2 if mm % 10 == 0 else 2.9 if mm % 5 == 0 else 1.7
            self._line(self.left + mm, y, self.left + mm, y + size, look.ink, 0.25 if mm % 10 == 0 else 0.15)
            if mm % 20 == 0:
                words = f"{mm} mm" if mm == _RULER else str(mm)
                self._text(words, self.left + mm, y - 3.6, 3.0, look.soft, align=0)
        return y - 3.6

    def _map(self, y: float, prints: Sequence[Printed], plan: Plan) -> float:
        """The sheets in miniature with their names, and the pieces with their numbers on them."""
        look, c = self.look, self.canvas
        x = self.left + 108.0
        self._text("Which sheet shows what", x, y, 5.0, look.ink, bold=True)
        (across, down), room = plan.grid.size, (self.right - x, 78.0)
        scale = min(room[0] / across, room[1] / down)
        top = y - 5.0
        c.setDash()
        step, frame = plan.grid.step, plan.grid.frame
        for tile in plan.tiles:
            c.setStrokeColorRGB(*look.faint)
            c.setFillColorRGB(0.965, 0.96, 0.945)
            c.setLineWidth(0.18)
            last_column, last_row = tile.column == plan.grid.columns - 1, tile.row == plan.grid.rows - 1
            width, height = (frame[0] if last_column else step[0]), (frame[1] if last_row else step[1])
            left, upper = x + tile.x * scale, top - tile.y * scale
            c.rect(left, upper - height * scale, width * scale, height * scale, stroke=1, fill=1)
            size = min(3.2, step[0] * scale / 3.2)
            self._text(tile.name, left + 0.8, upper - size * 0.95, size, look.faint, bold=True)
        for printed, (mx, my) in zip(prints, plan.moves, strict=True):
            points = printed.outline + np.array([mx, my])
            c.setStrokeColorRGB(*look.ink)
            c.setLineWidth(0.25)
            pen = c.beginPath()
            pen.moveTo(x + points[0, 0] * scale, top - points[0, 1] * scale)
            for px, py in points[1:]:
                pen.lineTo(x + px * scale, top - py * scale)
            pen.close()
            c.drawPath(pen, stroke=1, fill=0)
        for printed, (mx, my) in zip(prints, plan.moves, strict=True):
            box = printed.outline + np.array([mx, my])
            middle = (box.min(axis=0) + box.max(axis=0)) / 2
            words = str(printed.piece.number) if printed.piece.number else printed.piece.name
            size = max(2.4, min(5.0, 0.45 * float((box.max(axis=0) - box.min(axis=0)).min()) * scale))
            self._text(
                words, x + middle[0] * scale, top - middle[1] * scale - size * 0.3, size, look.ink, bold=True, align=0
            )
        return top - down * scale

    def _table(
        self, y: float, low: float, prints: Sequence[Printed], fabric_names: Mapping[str, str] | None
    ) -> list[int]:
        """The pieces in their numbers' order; gives the indices of those below ``low``."""
        look = self.look
        columns = (self.left, self.left + 10.0, self.left + 64.0, self.left + 120.0)
        self._text("Pieces", self.left, y, 5.0, look.ink, bold=True)
        y -= 6.2
        for x, head in zip(columns, ("no.", "piece", "cloth", "cut"), strict=True):
            self._text(head, x, y, 3.2, look.soft)
        self._line(self.left, y - 1.4, self.right, y - 1.4, look.faint, 0.2)
        order = sorted(range(len(prints)), key=lambda i: (prints[i].piece.number or 10**6, i))
        room = max(0, int((y - low) / 3.9))
        step = min(5.4, (y - low) / max(1, min(room, len(order))))
        for k, i in enumerate(order):
            if k >= room:
                return order[k:]
            y -= step
            piece = prints[i].piece
            values = (
                str(piece.number or "–"),
                title(piece),
                fabric_name(piece, fabric_names) or "–",
                how_to_cut(piece),
            )
            ends = (*columns[1:], self.right)
            for x, end, value in zip(columns, ends, values, strict=True):
                size = min(3.9, step * 0.8)
                self._text(shortened(value, end - x - 2.0, size), x, y, size, look.ink, bold=x == columns[0])
        return []

    def _legend(self, low: float) -> float:
        """How to join the sheets, and what the lines mean; stands on ``low`` and gives its upper edge."""
        look = self.look
        words = (
            "Trim each sheet along the grey lines at its left and its top. Lay it on the sheet before it, so that "
            "circle meets circle and the names at the join agree; then glue or tape."
        )
        high = low + 26.0
        self._line(self.left, high + 6.5, self.right, high + 6.5, look.faint, 0.2)
        self._text("How to join the sheets", self.left, high, 4.2, look.ink, bold=True)
        y = high
        for line in wrapped(words, 76.0, 3.5):
            y -= 4.6
            self._text(line, self.left, y, 3.5, look.soft)
        samples = (
            ("cut here", look.ink, look.cut, ()),
            ("sew here", look.soft, look.stitch, (3.2, 1.8)),
            ("fold of the cloth: do not cut", look.accent, look.cut * 0.75, (9.0, 2.0, 1.5, 2.0)),
            ("placing, topstitching", look.soft, look.stitch, (0.8, 1.4)),
        )
        x, y = self.left + 92.0, high
        self._text("What the lines mean", x, y, 4.2, look.ink, bold=True)
        for name, colour, width, dash in samples:
            y -= 4.9
            self._line(x, y + 1.1, x + 20.0, y + 1.1, colour, width, dash)
            self._text(name, x + 24.0, y, 3.5, look.soft)
        self._text("Same letter: these edges are sewn together. Bold stroke: a new seam.", x, y - 4.9, 3.5, look.soft)
        return high + 6.5

    def _text(
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
        c = self.canvas
        c.setFillColorRGB(*colour)
        c.setFont(BOLD if bold else REGULAR, size)
        (c.drawCentredString if align == 0 else c.drawString)(float(x), float(y), text)

    def _line(
        self,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        colour: Sequence[float],
        width: float,
        dash: Sequence[float] = (),
    ) -> None:
        c = self.canvas
        c.setStrokeColorRGB(*colour)
        c.setLineWidth(width)
        c.setDash(*([list(dash)] if dash else []))
        c.line(x0, y0, x1, y1)
