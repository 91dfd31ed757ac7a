"""The first page of a print: what it is, the check before cutting, the map of the sheets, the pieces, the legend."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from mockup.files.words import fabric_name, title
from mockup.pattern.cutting_list import how_to_cut
from mockup.sheets.legend import ROW_MM, draw_legend, legend_rows
from mockup.sheets.looks import Look, shortened, text_width, wrapped
from mockup.sheets.packing import Plan
from mockup.sheets.page_pen import CAUTION, PagePen
from mockup.sheets.papers import Paper
from mockup.sheets.piece_pen import Printed

HOW_TO_JOIN = (
    "Trim each sheet along the grey lines at its left and its top. Lay it on the sheet before it, so that circle "
    "meets circle and the names at the join agree; then glue or tape."
)
_BLOCK_MM = (190.0, 124.0)
_LEAST_MM = 2.5  # 7 points
_MAP_LEFT = 108.0  # mm from the left margin
_ROW, _LEAST_ROW = 5.4, 3.6  # mm from row to row of the table


@dataclass(frozen=True, slots=True)
class Head:
    """The words that stand on every print.

    Attributes:
        title: the project's name.
        date: as it is shown.
        note: one more line under the title, or empty.
        proof: what the proof of the cut says, or empty.
        names: fabric id → the person's name for it.
    """

    title: str
    date: str
    note: str
    proof: str
    names: Mapping[str, str] | None


class FirstPage:
    """Draws the first page in mm, y up.

    Args:
        canvas: a canvas of the PDF library whose unit was set to mm.
        paper: the sheet.
        look: colours and widths.
    """

    def __init__(self, canvas: Any, paper: Paper, look: Look) -> None:
        self.pen, self.paper, self.look = PagePen(canvas, look), paper, look
        self.left, self.right = 17.0, paper.width - 17.0
        self.top, self.foot = paper.height - 17.0, 13.0

    def draw(self, head: Head, prints: Sequence[Printed], plan: Plan) -> list[Printed]:
        """Draw the page; gives the pieces whose row found no room on it: :meth:`draw_rest` takes them."""
        sheets = len(plan.tiles)
        pages = f"{sheets} sheet{'s' if sheets != 1 else ''} of {self.paper.name} after this one"
        y = heading_lines(self.pen, head, pages, (self.left, self.right), self.top)
        y = min(self.pen.check(self.left, y - 9.0), self._map(y - 9.0, prints, plan))
        bottom = self._legend(self.foot + 12.5, prints)
        listed = sorted(prints, key=lambda p: (p.piece.number or 10**6, p.piece.name))
        left_over = self._table(y - 11.0, bottom + 6.0, listed, head.names)
        width = self.right - self.left
        if head.proof:
            self.pen.words(shortened(head.proof, width, 3.1), self.left, self.foot + 4.4, 3.1, self.look.soft)
        self.pen.words(CAUTION, self.left, self.foot, 3.1, self.look.soft)
        return left_over

    def draw_rest(self, head: Head, listed: Sequence[Printed]) -> list[Printed]:
        """Draw a page with more rows of the table; gives what is left after it."""
        return self._table(self.top - 4.0, self.foot + 6.0, listed, head.names)

    def _map(self, y: float, prints: Sequence[Printed], plan: Plan) -> float:
        """The sheets in miniature with their names, and the pieces with their numbers on them; gives its lower edge."""
        look, pen = self.look, self.pen
        x = self.left + _MAP_LEFT
        pen.words("Which sheet shows what", x, y, 5.0, look.ink, bold=True)
        (across, down), room = plan.grid.size, (self.right - x, 84.0)
        scale = min(room[0] / across, room[1] / down)
        top = y - 5.0
        c, step, frame = pen.canvas, plan.grid.step, plan.grid.frame
        c.setDash()
        there = {(t.row, t.column) for t in plan.tiles}
        placed = list(zip(prints, plan.moves, strict=False))  # a block without a piece may come last
        numbers = {}  # where the number of each piece stands
        for n, (printed, (mx, my)) in enumerate(placed):
            (bx, by), _ = printed.roomiest
            numbers[n] = (x + (bx + mx) * scale, top - (my - by) * scale)
        for tile in plan.tiles:
            c.setStrokeColorRGB(*look.faint)
            c.setFillColorRGB(0.965, 0.96, 0.945)
            c.setLineWidth(0.18)
            width = step[0] if (tile.row, tile.column + 1) in there else frame[0]
            height = step[1] if (tile.row + 1, tile.column) in there else frame[1]
            left, upper = x + tile.x * scale, top - tile.y * scale
            c.rect(left, upper - height * scale, width * scale, height * scale, stroke=1, fill=1)
            self._tile_name(tile.name, (left, upper, width * scale, height * scale), list(numbers.values()))
        for printed, move in placed:
            points = (printed.outline + np.array(move)) * scale * (1.0, -1.0) + (x, top)
            c.setStrokeColorRGB(*look.ink)
            c.setLineWidth(0.25)
            outline = c.beginPath()
            outline.moveTo(*points[0])
            for point in points[1:]:
                outline.lineTo(*point)
            outline.close()
            c.drawPath(outline, stroke=1, fill=0)
        for n, (printed, _) in enumerate(placed):
            _, radius = printed.roomiest
            text = str(printed.piece.number) if printed.piece.number else shortened(printed.piece.name, 16.0, 2.6)
            size = max(_LEAST_MM, min(5.0, 0.9 * radius * scale))
            pen.words(text, numbers[n][0], numbers[n][1] - size * 0.3, size, look.ink, bold=True, align=0)
        return top - down * scale

    def _tile_name(
        self, name: str, frame: tuple[float, float, float, float], numbers: Sequence[tuple[float, float]]
    ) -> None:
        """A sheet's name in that corner of it on the map which is farthest from the pieces' numbers."""
        left, upper, width, height = frame
        size = min(2.8, max(_LEAST_MM, width / 3.2))
        reach, rise = text_width(name, size, bold=True), 0.72 * size
        places = [
            (x, y) for y in (upper - 0.6 - rise, upper - height + 0.6) for x in (left + 0.6, left + width - 0.6 - reach)
        ]

        def away(place: tuple[float, float]) -> float:
            middle = (place[0] + reach / 2, place[1] + rise / 2)
            return min((math.dist(middle, number) for number in numbers), default=9.0)

        x, y = max(places, key=lambda place: min(4.0, away(place)))
        self.pen.words(name, x, y, size, self.look.faint, bold=True)

    def _table(
        self, y: float, low: float, listed: Sequence[Printed], fabric_names: Mapping[str, str] | None
    ) -> list[Printed]:
        """The pieces, one a row; gives those that would stand below ``low``."""
        look, pen = self.look, self.pen
        columns = (self.left, self.left + 10.0, self.left + 55.0, self.left + 134.0)
        pen.words("Pieces", self.left, y, 5.0, look.ink, bold=True)
        y -= 6.4
        for x, head in zip(columns, ("no.", "piece", "cloth", "how"), strict=True):
            pen.words(head, x, y, 3.2, look.soft)
        pen.line((self.left, y - 1.5), (self.right, y - 1.5), look.faint, 0.2)
        y -= 0.6
        room = max(0, int((y - low) / _LEAST_ROW))
        step = min(_ROW, (y - low) / max(1, min(room, len(listed))))
        for printed in listed[:room]:
            y -= step
            piece = printed.piece
            values = (
                str(piece.number or "–"),
                title(piece),
                fabric_name(piece, fabric_names) or "–",
                how_to_cut(piece),
            )
            ends = (*columns[1:], self.right)
            size = min(3.9, step * 0.82)
            for x, end, value in zip(columns, ends, values, strict=True):
                pen.words(shortened(value, end - x - 2.0, size), x, y, size, look.ink, bold=x == columns[0])
        return list(listed[room:])

    def _legend(self, low: float, prints: Sequence[Printed]) -> float:
        """How to join the sheets, and what the lines mean; stands on ``low`` and gives its upper edge."""
        look, pen = self.look, self.pen
        rows = legend_rows(pen, prints)
        high = low + max(26.0, len(rows) * ROW_MM + 2.0)
        pen.line((self.left, high + 6.5), (self.right, high + 6.5), look.faint, 0.2)
        pen.words("How to join the sheets", self.left, high, 4.2, look.ink, bold=True)
        y = high - 0.6
        for text in wrapped(HOW_TO_JOIN, 76.0, 3.5):
            y -= 4.6
            pen.words(text, self.left, y, 3.5, look.soft)
        draw_legend(pen, prints, self.left + 92.0, high)
        return high + 6.5


def block_size(look: Look) -> tuple[float, float]:
    """Width and height (mm) of the block that stands in for a first page on large sheets."""
    return _BLOCK_MM[0] * look.words, _BLOCK_MM[1] * look.words


def heading_lines(pen: PagePen, head: Head, pages: str, across: tuple[float, float], top: float) -> float:
    """Draw the title, what this is and the note, with a rule below; gives the rule's height."""
    (left, right), look, w = across, pen.look, pen.look.words
    title = shortened(head.title, right - left, 10.0 * w, bold=True)
    pen.words(title, left, top - 7.5 * w, 10.0 * w, look.ink, bold=True)
    says = " · ".join(t for t in ("Pattern pieces at full size", pages, head.date) if t)
    pen.words(shortened(says, right - left, 4.2 * w), left, top - 14.5 * w, 4.2 * w, look.soft)
    y = top - 14.5 * w
    for k, text in enumerate(wrapped(head.note, right - left, 3.5 * w)):
        y -= 4.5 * w if k else 5.4 * w
        pen.words(text, left, y, 3.5 * w, look.soft)
    y -= 4.5 * w
    pen.line((left, y), (right, y), look.ink, 0.35 * w)
    return y


def draw_block(pen: PagePen, head: Head, pages: str, prints: Sequence[Printed], *, joined: bool) -> None:
    """Draw what a large sheet carries instead of a first page, with its upper left corner at (0, 0)."""
    w = pen.look.words
    width, _ = block_size(pen.look)
    y = heading_lines(pen, head, pages, (0.0, width), 0.0)
    pen.check(0.0, y - 9.0 * w)
    x = 108.0 * w
    y = draw_legend(pen, prints, x, y - 9.0 * w) - 4.0 * w
    says = " ".join(t for t in (HOW_TO_JOIN if joined else "", head.proof, CAUTION) if t)
    for text in wrapped(says, width - x, 3.5 * w):
        y -= 4.6 * w
        pen.words(text, x, y, 3.5 * w, pen.look.soft)
