"""Draws one pattern piece on a page of a PDF, in mm, y up: lines, marks, letters and its label."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from shapely import LineString, Point

from mockup.files.cut_runs import cut_runs
from mockup.files.words import free_region, roomiest
from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.path import XY, Floats, Path
from mockup.pattern.allowance import cut_outline
from mockup.pattern.darts import TIP_MM, leg_lines, leg_notches
from mockup.pattern.piece import Edge, EdgeKind, Piece, moved
from mockup.pattern.printed_cloth import KIND as PRINT
from mockup.sheets.looks import BOLD, REGULAR, Look, text_width
from mockup.sheets.piece_label import LEAST_MM, label_rows, laid_rows, stacked_rows

_LABEL_ROOM = 22.0  # mm: a label with this radius keeps off the joins
_LETTER_IN = 7.0  # mm from the stitch line to the middle of a seam letter


@dataclass(frozen=True, slots=True, eq=False)
class Printed:
    """A piece made ready for print.

    Attributes:
        piece: turned so that its grainline stands upright, mm, y up.
        cut: its cut line, closed.
        letters: index of the edge → letter of its seam.
        one_way: whether its cloth must lie one way up.
        holes: cut lines of openings inside it, closed.
    """

    piece: Piece
    cut: Path
    letters: Mapping[int, str]
    one_way: bool = False
    holes: tuple[Path, ...] = ()

    @property
    def roomiest(self) -> tuple[XY, float]:
        """Centre and radius (mm, y up) of the largest circle inside the piece that no line crosses."""
        return roomiest(free_region(self.piece))

    @property
    def outline(self) -> Floats:
        """The cut line as a polygon, y down, shape (n, 2): what is packed."""
        return paths.flatten(self.cut, 0.1).points[:-1] * (1.0, -1.0)


def made_ready(piece: Piece, letters: Mapping[int, str], one_way: Collection[str] = ()) -> Printed:
    """Turn a piece upright and give it its cut line.

    Raises:
        GeometryError: the cut line cannot be drawn; see :func:`mockup.pattern.allowance.cut_outline`.
    """
    upright = turned_upright(piece)
    made = cut_outline(upright)
    return Printed(upright, made.path, dict(letters), piece.fabric in one_way, made.holes)


def turned_upright(piece: Piece) -> Piece:
    """Turn a piece by the smallest angle that sets its grainline upright; a piece without one stays as it is."""
    if piece.grainline is None:
        return piece
    (ax, ay), (bx, by) = piece.grainline
    lean = math.atan2(bx - ax, by - ay)
    lean -= math.pi * round(lean / math.pi)
    if abs(lean) < 1e-6:
        return piece
    c, s = math.cos(lean), math.sin(lean)
    turn = np.array([[c, -s, 0.0], [s, c, 0.0]])
    return moved(piece, turn)


class PiecePen:
    """Draws prepared pieces.

    Args:
        canvas: a canvas of the PDF library whose unit was set to mm.
        look: colours and widths.
        fabric_names: fabric id → the person's name.
        foot: small last row of every label: project and date.
    """

    def __init__(self, canvas: Any, look: Look, fabric_names: Mapping[str, str] | None = None, foot: str = "") -> None:
        self.canvas, self.look, self.names, self.foot = canvas, look, fabric_names, foot

    def draw(self, printed: Printed, joins: Sequence[Path] = ()) -> None:
        """Draw one piece in its own coordinates; its label keeps off the ``joins`` of the sheets where it can."""
        piece, look = printed.piece, self.look
        for edge in piece.all_edges:
            if edge.kind is not EdgeKind.FOLD and edge.allowance_mm > 0:
                self._stroke(edge.path, look.soft, look.stitch, dash=(3.2, 1.8))
        for dart in piece.darts:
            self._stroke(leg_lines(piece, dart), look.soft, look.stitch, dash=(3.2, 1.8))
            tip = circular_arc(dart.tip, TIP_MM, 0, 360)  # where sewing ends: common practice, no source
            self._stroke(tip, look.ink, look.fine)
        for mark in piece.marks:
            if mark.kind == PRINT:
                self._stroke(mark.path, look.accent, look.cut * 0.75)
            else:
                self._stroke(mark.path, look.soft, look.stitch, dash=(0.8, 1.4))
        self._cut(printed)
        for stroke in leg_notches(piece):
            self._stroke(stroke, look.ink, look.fine * 1.7)
        for notch in piece.notches:
            self._notch(piece.edge(notch.edge), notch.distance_mm, notch.count)
        if piece.grainline is not None:
            self._grain(piece, joins, one_way=printed.one_way)
        letter_places = [
            self._letter(piece, piece.all_edges[k], letter, joins) for k, letter in sorted(printed.letters.items())
        ]
        if piece.fold is not None:
            letter_places.append(self._fold(piece.fold, piece.grainline, joins))
        self._label(printed, letter_places, joins)

    def _stroke(self, path: Path, colour: Sequence[float], width: float, *, dash: Sequence[float] = ()) -> None:
        c = self.canvas
        c.setStrokeColorRGB(*colour)
        c.setLineWidth(width)
        c.setDash(*([list(dash)] if dash else []))
        pen = c.beginPath()
        pen.moveTo(*path.start)
        for cubic, straight in zip(path.cubics, paths.is_straight(path), strict=True):
            if straight:
                pen.lineTo(*cubic[3])
            else:
                pen.curveTo(*cubic[1:].ravel())
        if path.closed:
            pen.close()
        c.drawPath(pen)

    def _cut(self, printed: Printed) -> None:
        """The cut line, bold; where it runs along the fold it is the fold's line instead."""
        look, fold = self.look, printed.piece.fold
        self.canvas.setLineJoin(1)
        for lies, run in cut_runs(printed.cut, fold):
            if lies:
                self._stroke(run, look.accent, look.cut * 0.75, dash=(9.0, 2.0, 1.5, 2.0))
            else:
                self._stroke(run, look.ink, look.cut)
        for hole in printed.holes:
            self._stroke(hole, look.ink, look.cut)

    def _notch(self, edge: Edge, distance: float, count: int) -> None:
        """Strokes from the cut line over the stitch line, 3 mm apart."""
        inside = 3.0 * self.look.words
        for k in range(count):
            at = distance + (k - (count - 1) / 2) * 3.0 * self.look.words
            point, outward = _square_to(edge.path, at)
            ends = [point - inside * outward, point + edge.allowance_mm * outward]
            self._stroke(paths.polyline(ends), self.look.ink, self.look.fine * 1.7)

    def _grain(self, piece: Piece, joins: Sequence[Path], *, one_way: bool) -> None:
        assert piece.grainline is not None  # noqa: S101  the caller has looked
        tail, head = (np.array(p) for p in piece.grainline)
        size = float(np.linalg.norm(head - tail))
        along = (head - tail) / size
        across = np.array([-along[1], along[0]])
        wing = min(4.5 * self.look.words, size / 4)
        ends = [(head, along)] if one_way else [(head, along), (tail, -along)]
        self._stroke(paths.polyline([tail, head]), self.look.ink, self.look.fine)
        for tip, way in ends:
            back = tip - way * wing
            self._filled([tip, back + across * wing / 3.2, back - across * wing / 3.2], self.look.ink)
        words = "grain, this way up" if one_way else "grain"
        font = 2.9 * self.look.words
        middle = tail + (head - tail) * 0.5 + np.array([-1.2, 0.0])
        at = _off_joins(middle, along, size, text_width(words, font), joins)
        self._turned(words, at, 90.0, font, self.look.soft)

    def _fold(self, fold: Edge, grain: tuple[XY, XY] | None, joins: Sequence[Path]) -> Path:
        """A bracket whose two arrows point at the fold, with its words along it; gives the bracket's line."""
        size = paths.length(fold.path)
        reach = min(0.62 * size, 240.0)
        middle, outward = _square_to(fold.path, size / 2)
        along, inward = np.array([-outward[1], outward[0]]), -outward
        depth = min(9.0 * self.look.words, size / 4)
        if grain is not None:  # a narrow piece's grainline stands close to the fold
            depth = max(min(depth, 0.75 * LineString(grain).distance(Point(middle))), 4.5)
        corners = [
            middle + along * s * reach / 2 + inward * d for s, d in ((-1, 1.2), (-1, depth), (1, depth), (1, 1.2))
        ]
        self._stroke(paths.polyline(corners), self.look.accent, self.look.fine * 1.2)
        for tip in (corners[0], corners[3]):
            back = tip + inward * 3.4 * self.look.words
            wing = along * 1.1 * self.look.words
            self._filled([tip, back + wing, back - wing], self.look.accent)
        angle = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
        angle = 90.0 if abs(angle + 90.0) < 1e-6 else angle
        font = max(min(3.8 * self.look.words, 0.55 * depth), LEAST_MM)
        up = np.array([-math.sin(math.radians(angle)), math.cos(math.radians(angle))])
        rise = 0.3 * font if float(up @ inward) > 0 else -0.3 * font
        at = middle + inward * (0.56 * depth - rise)
        at = _off_joins(at, along, reach, text_width("place on fold", font, bold=True), joins)
        self._turned("place on fold", at, angle, font, self.look.accent, bold=True)
        return paths.polyline(corners)

    def _letter(self, piece: Piece, edge: Edge, letter: str, joins: Sequence[Path]) -> Path:
        """The letter of a seam in a circle inside the stitch line, with a bold stroke where the seam is new."""
        size = paths.length(edge.path)
        words = self.look.words
        taken = [n.distance_mm for n in piece.notches if n.edge == edge.name]
        others = [LineString([j.start, j.end]) for j in joins]
        others += [LineString(piece.grainline)] if piece.grainline is not None else []
        others += [LineString(paths.flatten(leg_lines(piece, d), 0.5).points) for d in piece.darts]

        def room(a: float) -> float:
            """How far a letter there is from notches, the grainline, darts and the joins of sheets, at most 12 mm."""
            point, out = _square_to(edge.path, a)
            centre = Point(point - out * _LETTER_IN * words)
            return min([abs(a - t) for t in taken] + [12 * words] + [float(o.distance(centre)) for o in others])

        at = max((size * s for s in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)), key=room)
        middle, outward = _square_to(edge.path, at)
        if edge.line_id:
            reach = min(14.0 * words, size / 4)
            stretch = paths.between(edge.path, at - reach, at + reach)
            self._stroke(stretch, self.look.ink, self.look.bold)
        centre = middle - outward * _LETTER_IN * words
        c = self.canvas
        c.setDash()
        c.setStrokeColorRGB(*self.look.ink)
        c.setLineWidth(self.look.fine)
        c.circle(float(centre[0]), float(centre[1]), 3.2 * words, stroke=1, fill=0)
        self._words(letter, centre[0], centre[1] - 1.3 * words, 5.0 * words, self.look.ink, bold=True)
        return paths.polyline([centre - outward * 3.0 * words, centre + outward * 3.0 * words])

    def _label(self, printed: Printed, avoid: Sequence[Path], joins: Sequence[Path]) -> None:
        piece, look = printed.piece, self.look
        region = free_region(piece, avoid)
        (x, y), radius = roomiest(region)
        if joins:
            apart = free_region(piece, [*avoid, *joins])
            place, room = roomiest(apart)
            if room >= min(_LABEL_ROOM, 0.9 * radius):
                region, (x, y), radius = apart, place, room
        rows = label_rows(piece, self.names, self.foot)
        # A small piece goes without the project's name rather than with letters that nobody can read.
        tries = [(rows, size * look.words) for size in (4.8, 4.4, 4.0, 3.6, 3.2, 2.8, LEAST_MM)]
        if self.foot:
            tries += [(rows[:-1], size * look.words) for size in (LEAST_MM, LEAST_MM / look.words)]
        for some, size in tries:
            laid = laid_rows(some, size, x, y, radius, region)
            if laid is not None:
                break
        for text, font, bold, base in laid or stacked_rows(tries[-1][0], LEAST_MM, 1.8 * radius, y)[0]:
            self._words(text, x, base, font, look.ink if bold else look.soft, bold=bold)

    def _words(
        self, text: str, x: float, y: float, size: float, colour: Sequence[float], *, bold: bool = False
    ) -> None:
        c = self.canvas
        c.setFillColorRGB(*colour)
        c.setFont(BOLD if bold else REGULAR, size)
        c.drawCentredString(float(x), float(y), text)

    def _turned(
        self, text: str, at: Floats, angle: float, size: float, colour: Sequence[float], *, bold: bool = False
    ) -> None:
        c = self.canvas
        c.saveState()
        c.translate(float(at[0]), float(at[1]))
        c.rotate(angle)
        self._words(text, 0.0, 0.0, size, colour, bold=bold)
        c.restoreState()

    def _filled(self, points: Sequence[Floats], colour: Sequence[float]) -> None:
        c = self.canvas
        c.setFillColorRGB(*colour)
        pen = c.beginPath()
        pen.moveTo(*points[0])
        for p in points[1:]:
            pen.lineTo(*p)
        pen.close()
        c.drawPath(pen, stroke=0, fill=1)


def _off_joins(at: Floats, along: Floats, reach: float, width: float, joins: Sequence[Path]) -> Floats:
    """Move words along their line until no join of two sheets runs through them; where all do, they stay."""
    lines = [LineString([j.start, j.end]) for j in joins]
    for share in (0.0, 0.12, -0.12, 0.24, -0.24, 0.34, -0.34):
        place = at + along * share * reach
        words = LineString([place - along * (width / 2 + 3.0), place + along * (width / 2 + 3.0)])
        if not any(words.intersects(line) for line in lines):
            return np.asarray(place)
    return at


def _square_to(path: Path, distance: float) -> tuple[Floats, Floats]:
    segment, t = paths.locate(path, distance)
    along = paths.tangent(path, segment, t)
    return paths.points_at(path, segment, t), np.array([along[1], -along[0]])
