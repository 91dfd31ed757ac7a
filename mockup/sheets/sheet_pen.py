"""One sheet of a print: its window onto the plane, its name, and the joins with its neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from shapely import LineString, Point, box, union_all
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from mockup.geometry import path as paths
from mockup.pattern.darts import leg_lines
from mockup.sheets.looks import BOLD, REGULAR, Look, shortened, text_width
from mockup.sheets.packing import Plan
from mockup.sheets.papers import Paper, Tile
from mockup.sheets.piece_pen import Printed

_SHARES = (0.22, 0.78)  # where along a join its two circles stand
_DECIMETRE = 100.0
_NAME, _NAME_INSET = 15.0, 13.0  # mm: size of the sheet's name, and how far from the edge it stands


def drawn_lines(printed: Printed) -> BaseGeometry:
    """What is drawn of a piece, roughly: its cut line, stitch lines, marks, grainline, and a disc for its label."""
    piece = printed.piece
    lines = [printed.cut, *printed.holes, *(e.path for e in piece.all_edges), *(m.path for m in piece.marks)]
    lines += [leg_lines(piece, dart) for dart in piece.darts]
    shapes: list[BaseGeometry] = [LineString(paths.flatten(p, 0.5).points) for p in lines]
    if piece.grainline is not None:
        shapes.append(LineString(piece.grainline))
    (x, y), radius = printed.roomiest
    shapes.append(Point(x, y).buffer(min(radius, 32.0)))
    return union_all(shapes)


class SheetPen:
    """Draws sheets in mm, y up.

    Args:
        canvas: a canvas of the PDF library whose unit was set to mm on every page.
        sheet: the paper.
        look: colours and widths.
        laid: where the pieces lie.
        prints: the pieces.
        size: width and height of the page, mm.
    """

    def __init__(
        self, canvas: Any, sheet: Paper, look: Look, laid: Plan, prints: Sequence[Printed], size: tuple[float, float]
    ) -> None:
        self.canvas, self.sheet, self.look, self.laid, self.prints = canvas, sheet, look, laid, prints
        self.page = size
        self.left, self.top = sheet.margin, size[1] - sheet.margin
        self.right, self.bottom = self.left + laid.grid.frame[0], self.top - laid.grid.frame[1]
        self._drawn: dict[int, BaseGeometry] = {}
        self.neighbours = {(t.row, t.column): t for t in laid.tiles}

    def draw(self, index: int, forms: Sequence[str], title: str) -> None:
        """Draw one sheet; ``forms`` are the names of the drawings of the plane's objects, in the plan's order."""
        tile, c = self.laid.tiles[index], self.canvas
        if self.look.ground is not None:
            self._ground()
        c.saveState()
        window = c.beginPath()
        window.rect(self.left, self.bottom, self.right - self.left, self.top - self.bottom)
        c.clipPath(window, stroke=0, fill=0)
        for i in self.laid.on_tile[index]:
            x, y = self.laid.moves[i]
            c.saveState()
            c.translate(self.left + x - tile.x, self.top - (y - tile.y))
            c.doForm(forms[i])
            c.restoreState()
        c.restoreState()
        if len(self.laid.tiles) > 1:
            self._name(index)
        if self.look.ground is None:
            self._joins(tile)
            self._foot(index, title)

    def _joins(self, tile: Tile) -> None:
        half = self.laid.grid.overlap / 2
        sides = (
            ((0, -1), self.left + half, True),
            ((0, 1), self.right - half, True),
            ((-1, 0), self.top - half, False),
            ((1, 0), self.bottom + half, False),
        )
        trimmed = {"left": False, "top": False}
        for (down, across), at, upright in sides:
            other = self.neighbours.get((tile.row + down, tile.column + across))
            if other is None:
                continue
            before = down < 0 or across < 0
            if before:
                trimmed["left" if upright else "top"] = True
            names = f"{other.name}–{tile.name}" if before else f"{tile.name}–{other.name}"
            low, high = (self.bottom, self.top) if upright else (self.left, self.right)
            for share in _SHARES:
                along = low + share * (high - low)
                self._circle((at, along) if upright else (along, at), names, upright=upright)
        self._frame(**trimmed)

    def _circle(self, centre: tuple[float, float], names: str, *, upright: bool) -> None:
        """A circle with a cross in the middle of the overlap; the names of the two sheets stand beside it."""
        c = self.canvas
        c.saveState()
        c.translate(*centre)
        c.rotate(90 if upright else 0)
        c.setDash()
        c.setStrokeColorRGB(*self.look.soft)
        c.setLineWidth(0.2)
        c.circle(0, 0, 3.4, stroke=1, fill=0)
        c.line(-5.0, 0, 5.0, 0)
        c.line(0, -4.6, 0, 4.6)
        c.setFillColorRGB(*self.look.soft)
        c.setFont(REGULAR, 3.0)
        c.drawString(6.2, -1.0, names)
        c.restoreState()

    def _frame(self, *, left: bool, top: bool) -> None:
        """Thin where the sheet ends, a firmer grey where it is trimmed and laid on its neighbour."""
        edges = (
            ((self.left, self.bottom), (self.left, self.top), left),
            ((self.left, self.top), (self.right, self.top), top),
            ((self.right, self.top), (self.right, self.bottom), False),
            ((self.left, self.bottom), (self.right, self.bottom), False),
        )
        c = self.canvas
        c.setDash()
        c.setStrokeColorRGB(*self.look.faint)
        for start, end, trimmed in edges:
            c.setLineWidth(0.4 if trimmed else 0.12)
            c.line(*start, *end)

    def _name(self, index: int) -> None:
        """The sheet's name, large and pale, where no line of a piece runs under it; else where it hides least."""
        name, c = self.laid.tiles[index].name, self.canvas
        width, height = text_width(name, _NAME, bold=True), 0.72 * _NAME
        lines = self._lines(index)
        inset = _NAME_INSET
        across = [self.left + inset, self.right - inset - width, (self.left + self.right - width) / 2]
        down = [self.top - inset - height, self.bottom + inset, (self.top + self.bottom - height) / 2]
        places = [(x, y) for y in down for x in across]
        boxes = [box(x - 2, y - 2, x + width + 2, y + height + 2) for x, y in places]
        free = [k for k, b in enumerate(boxes) if not lines.intersects(b)]
        x, y = places[free[0] if free else min(range(9), key=lambda k: lines.intersection(boxes[k]).length)]
        c.setFillColorRGB(0.80, 0.82, 0.85)
        c.setFont(BOLD, _NAME)
        c.drawString(x, y, name)

    def _lines(self, index: int) -> BaseGeometry:
        """Cut lines and stitch lines of the pieces on a sheet, and where their labels stand, in page mm."""
        tile = self.laid.tiles[index]
        found = []
        for i in self.laid.on_tile[index]:
            if i >= len(self.prints):
                continue
            x, y = self.laid.moves[i]
            place = (self.left + x - tile.x, self.top - (y - tile.y))
            if i not in self._drawn:
                self._drawn[i] = drawn_lines(self.prints[i])
            found.append(translate(self._drawn[i], *place))
        return union_all(found) if found else Point(-1e6, -1e6)

    def _foot(self, index: int, title: str) -> None:
        c, tile, count = self.canvas, self.laid.tiles[index], len(self.laid.tiles)
        pieces = [self.prints[i].piece for i in self.laid.on_tile[index] if i < len(self.prints)]
        numbers = sorted({p.number for p in pieces} - {0})
        words = title
        if count > 1:
            words += f" · sheet {tile.name}, {index + 1} of {count}"
            words += f" · piece{'s' if len(numbers) != 1 else ''} {', '.join(map(str, numbers))}" if numbers else ""
        c.setFillColorRGB(*self.look.soft)
        c.setFont(REGULAR, 3.0)
        c.drawString(self.left, self.bottom - 4.2, shortened(words, self.right - self.left - 40.0, 3.0))
        c.drawRightString(self.right, self.bottom - 4.2, "full size, print at 100 %")

    def _ground(self) -> None:
        """The dark page of a projector, with a grid of 10 cm to set its scale by."""
        c, (width, height) = self.canvas, self.page
        c.setFillColorRGB(*(self.look.ground or (0, 0, 0)))
        c.rect(0, 0, width, height, stroke=0, fill=1)
        c.setStrokeColorRGB(*self.look.faint)
        c.setLineWidth(0.6)
        for k in range(int(width / _DECIMETRE) + 1):
            c.line(k * _DECIMETRE, 0, k * _DECIMETRE, height)
        for k in range(int(height / _DECIMETRE) + 1):
            c.line(0, k * _DECIMETRE, width, k * _DECIMETRE)
        c.setFillColorRGB(*self.look.soft)
        c.setFont(REGULAR, 7.0)
        c.drawString(
            12.0, 12.0, "Every square of the grid is 10 cm. Set the projector until it measures that on the table."
        )
