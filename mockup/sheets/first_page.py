"""The first page of a print: what it is, the check before cutting, the map of the sheets, the pieces, the legend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from mockup.files.words import fabric_name, how_to_cut, title
from mockup.sheets.looks import Look, shortened, wrapped
from mockup.sheets.packing import Plan
from mockup.sheets.page_pen import CAUTION, PagePen
from mockup.sheets.papers import Paper
from mockup.sheets.piece_pen import Printed

HOW_TO_JOIN = (
    "Trim each sheet along the grey lines at its left and its top. Lay it on the sheet before it, so that circle "
    "meets circle and the names at the join agree; then glue or tape."
)
BLOCK_MM = (172.0, 118.0)
"""Width and height of the block that stands in for a first page on large sheets."""
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
        bottom = self._legend(self.foot + 12.5)
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
        for tile in plan.tiles:
            c.setStrokeColorRGB(*look.faint)
            c.setFillColorRGB(0.965, 0.96, 0.945)
            c.setLineWidth(0.18)
            width = step[0] if (tile.row, tile.column + 1) in there else frame[0]
            height = step[1] if (tile.row + 1, tile.column) in there else frame[1]
            left, upper = x + tile.x * scale, top - tile.y * scale
            c.rect(left, upper - height * scale, width * scale, height * scale, stroke=1, fill=1)
            size = min(2.8, step[0] * scale / 3.2)
            pen.words(tile.name, left + 0.6, upper - size * 0.95, size, look.faint, bold=True)
        placed = list(zip(prints, plan.moves, strict=False))  # a block without a piece may come last
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
        for printed, (mx, my) in placed:
            (bx, by), radius = printed.roomiest
            text = str(printed.piece.number) if printed.piece.number else shortened(printed.piece.name, 16.0, 2.6)
            size = max(2.4, min(5.0, 0.9 * radius * scale))
            at = (x + (bx + mx) * scale, top - (my - by) * scale)
            pen.words(text, at[0], at[1] - size * 0.3, size, look.ink, bold=True, align=0)
        return top - down * scale

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

    def _legend(self, low: float) -> float:
        """How to join the sheets, and what the lines mean; stands on ``low`` and gives its upper edge."""
        look, pen = self.look, self.pen
        high = low + 26.0
        pen.line((self.left, high + 6.5), (self.right, high + 6.5), look.faint, 0.2)
        pen.words("How to join the sheets", self.left, high, 4.2, look.ink, bold=True)
        y = high - 0.6
        for text in wrapped(HOW_TO_JOIN, 76.0, 3.5):
            y -= 4.6
            pen.words(text, self.left, y, 3.5, look.soft)
        samples = (
            ("cut here", look.ink, look.cut, ()),
            ("sew here", look.soft, look.stitch, (3.2, 1.8)),
            ("fold of the cloth, not cut", look.accent, look.cut * 0.75, (9.0, 2.0, 1.5, 2.0)),
            ("placing, topstitching", look.soft, look.stitch, (0.8, 1.4)),
        )
        x, y = self.left + 92.0, high - 0.6
        pen.words("What the lines mean", x, high, 4.2, look.ink, bold=True)
        for name, colour, width, dash in samples:
            y -= 4.8
            pen.line((x, y + 1.1), (x + 18.0, y + 1.1), colour, width, dash)
            pen.words(name, x + 22.0, y, 3.5, look.soft)
        y -= 4.8
        pen.line((x, y + 1.1), (x + 12.0, y + 1.1), look.ink, look.bold)
        pen.canvas.setLineWidth(look.fine)
        pen.canvas.circle(x + 15.6, y + 1.1, 1.9, stroke=1, fill=0)
        pen.words("a", x + 15.6, y + 0.3, 3.0, look.ink, bold=True, align=0)
        pen.words("new seam; same letters are sewn together", x + 22.0, y, 3.5, look.soft)
        return high + 6.5


def heading_lines(pen: PagePen, head: Head, pages: str, across: tuple[float, float], top: float) -> float:
    """Draw the title, what this is and the note, with a rule below; gives the rule's height."""
    (left, right), look = across, pen.look
    pen.words(shortened(head.title, right - left, 10.0, bold=True), left, top - 7.5, 10.0, look.ink, bold=True)
    says = " · ".join(t for t in ("Pattern pieces at full size", pages, head.date) if t)
    pen.words(shortened(says, right - left, 4.2), left, top - 14.5, 4.2, look.soft)
    y = top - 14.5
    for k, text in enumerate(wrapped(head.note, right - left, 3.5)):
        y -= 4.5 if k else 5.4
        pen.words(text, left, y, 3.5, look.soft)
    y -= 4.5
    pen.line((left, y), (right, y), look.ink, 0.35)
    return y


def draw_block(pen: PagePen, head: Head, pages: str, *, joined: bool) -> None:
    """Draw what a large sheet carries instead of a first page, with its upper left corner at (0, 0)."""
    width, _ = BLOCK_MM
    y = heading_lines(pen, head, pages, (0.0, width), 0.0)
    pen.check(0.0, y - 9.0)
    x, y = 112.0, y - 9.0
    says = " ".join(t for t in (HOW_TO_JOIN if joined else "", head.proof, CAUTION) if t)
    for text in wrapped(says, width - x, 3.5):
        pen.words(text, x, y, 3.5, pen.look.soft)
        y -= 4.6
