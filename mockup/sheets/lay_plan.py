"""The lay as a plan to scale, to print and lay beside the cloth: cloth, flaws, pieces by number, and their distances.

Every cloth is drawn with its grain upright, on its own photo where there is one. Distances are measured as with a tape
on the cloth: across from the edge or selvedge on the left, and along from the lower edge, at the place where the piece
comes nearest to it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas
from shapely.geometry import LineString, Polygon

from mockup.checks.in_unit import in_unit, length_said
from mockup.geometry.path import Floats
from mockup.lay.lay import Lay, LayPiece, Placement, Scrap, laid, points_placed
from mockup.sheets.looks import wrapped
from mockup.sheets.plan_pens import PT_PER_MM, PdfPen, PlanPen, SvgPen, num
from swatches.remnant_photo import RemnantPicture
from swatches.units import MM_PER_INCH

SCALES = (1, 2, 5, 10, 20, 50)
"""The plan is drawn 1 : one of these, the largest that fits a sheet of A4 on its side."""

_PAGE_MM = (297.0, 210.0)
_MARGIN = 12.0
_HEAD, _FOOT = 12.0, 12.0
_PAPER, _CLOTH, _EDGE, _INK, _SOFT, _FLAW = "#ffffff", "#efe8da", "#8d7f67", "#1a1f2b", "#5d6272", "#b4552d"
_TINTS = ("#c9d8d2", "#e5c9b5", "#cfd3e6", "#e3d7a8", "#d8c7d9", "#c4dbe4", "#dfc3c3", "#cfdcb6")
_TEXT, _ROW = 3.3, 5.2
_RULE_MM = 100.0
_LEAST = 7.2 / PT_PER_MM  # no letter under 7 pt: the plan is read at arm's length, beside the cloth

Pictures = Mapping[str, RemnantPicture]


@dataclass(frozen=True, slots=True, eq=False)
class _Frame:
    """A cloth turned so that its grain is upright, and where it stands on the page."""

    cloth: Scrap
    box: tuple[float, float, float, float]
    scale: float
    left: float
    top: float
    unit: str

    def page(self, points: Floats) -> Floats:
        """Points of the cloth's mm, shape (n, 2), on the page."""
        p = _turned(points, self.cloth)
        x = self.left + (p[:, 0] - self.box[0]) / self.scale
        return np.column_stack([x, self.top + (self.box[3] - p[:, 1]) / self.scale])


def lay_svg(
    lay: Lay, pieces: Sequence[LayPiece], cloths: Sequence[Scrap], *, title: str = "", pictures: Pictures | None = None,
    unit: str = "mm",
) -> str:  # fmt: skip
    """Draw a lay with its list of places below.

    Args:
        lay: with placements on the cloths.
        pieces: all pieces of the lay.
        cloths: scraps, or the cloth of a width.
        title: a line above the picture.
        pictures: scrap name → its photo from above, to draw it on.
        unit: 'mm', 'cm' or 'in': what distances are said in.

    Returns:
        SVG, in mm of paper; the scale is written in it. The same lay gives the same text.
    """
    frames, height = _frames(cloths, unit)
    rows = places(lay, pieces, cloths, unit)
    width = _PAGE_MM[0]
    end = _MARGIN + _HEAD + height + _FOOT + _ROW * (len(rows) + 1) + _MARGIN
    pen = SvgPen()
    pen.shape([_box(0, 0, width, end)], _PAPER, "", 0.0)
    _drawing(pen, lay, pieces, frames, height, title, pictures or {})
    y = _MARGIN + _HEAD + height + _FOOT + _ROW
    for k, row in enumerate(rows):
        pen.words(row, _MARGIN, y + _ROW * k, _TEXT, _INK)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{num(width)}mm" height="{num(end)}mm"'
        f' viewBox="0 0 {num(width)} {num(end)}" font-family="Alegreya Sans, sans-serif">\n'
        + "\n".join(pen.parts)
        + "\n</svg>\n"
    )


def lay_pdf(
    lay: Lay, pieces: Sequence[LayPiece], cloths: Sequence[Scrap], *, title: str = "", pictures: Pictures | None = None,
    unit: str = "mm",
) -> bytes:  # fmt: skip
    """Print a lay: the drawing on a sheet of A4 on its side, then the list of places. Arguments as for SVG."""
    out = io.BytesIO()
    width, page = _PAGE_MM
    canvas = Canvas(out, pagesize=(width * PT_PER_MM, page * PT_PER_MM), invariant=1, lang="en-GB")
    canvas.setTitle(title or "Lay plan")
    pen = PdfPen(canvas, page)
    frames, height = _frames(cloths, unit)
    _drawing(pen, lay, pieces, frames, height, title, pictures or {})
    rows = [line for row in places(lay, pieces, cloths, unit) for line in wrapped(row, width - 2 * _MARGIN, _TEXT)]
    y = _MARGIN + _HEAD + height + _FOOT + _ROW
    for row in rows:
        if y > page - _MARGIN:
            canvas.showPage()
            y = _MARGIN + _ROW
        pen.words(row, _MARGIN, y, _TEXT, _INK)
        y += _ROW
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def places(lay: Lay, pieces: Sequence[LayPiece], cloths: Sequence[Scrap], unit: str = "mm") -> list[str]:
    """Say of every piece where it lies: how far from the left and lower edge of its cloth, and how it is turned."""
    by_name, by_cloth = {p.name: p for p in pieces}, {c.name: c for c in cloths}
    labels = {piece.name: label(piece.name, k) for k, piece in enumerate(pieces, 1)}
    rows = []
    for placement in lay.placements:
        piece, cloth = by_name[placement.piece], by_cloth[placement.remnant]
        number, name = labels[piece.name]
        across, along = _distances(piece, placement, cloth)
        edge = "fold" if cloth.folded else "left edge"
        where = "on the fold" if piece.fold is not None else f"{length_said(round(across), unit)} from the {edge}"
        over = ", paper turned over" if placement.mirrored else ""
        rows.append(
            f"{number}  {name}{over}{_turn_words(piece, placement, cloth)},"
            f" on {cloth.name}: {where}, {length_said(round(along), unit)} from the lower edge"
        )
    return rows


def label(name: str, place: int) -> tuple[str, str]:
    """Number and name of a piece: the number that its name begins with, else its place in the list."""
    number, _, rest = name.partition(" ")
    return (number, rest) if number.isdigit() and rest else (str(place), name)


def _frames(cloths: Sequence[Scrap], unit: str) -> tuple[list[_Frame], float]:
    """Set the cloths side by side at the largest scale that fits; gives them and the height that they take, mm."""
    boxes = [Polygon(_turned(np.array(c.outline), c)).bounds for c in cloths]
    wide, high = _PAGE_MM[0] - 2 * _MARGIN, _PAGE_MM[1] - 2 * _MARGIN - _HEAD - _FOOT
    gap = 8.0
    for scale in SCALES:
        width = sum((b[2] - b[0]) / scale for b in boxes) + gap * len(boxes)
        height = max((b[3] - b[1]) / scale for b in boxes)
        if width <= wide and height <= high:
            break
    frames, x = [], _MARGIN + gap
    for cloth, box in zip(cloths, boxes, strict=True):
        frames.append(_Frame(cloth, box, float(scale), x, _MARGIN + _HEAD, unit))
        x += (box[2] - box[0]) / scale + gap
    return frames, float(height)


def _drawing(
    pen: PlanPen, lay: Lay, pieces: Sequence[LayPiece], frames: Sequence[_Frame], height: float, title: str,
    pictures: Pictures,
) -> None:  # fmt: skip
    by_name = {piece.name: piece for piece in pieces}
    labels = {piece.name: label(piece.name, k) for k, piece in enumerate(pieces, 1)}
    pen.words(title or "Lay plan", _MARGIN, _MARGIN + 4.5, 5.0, _INK, bold=True)
    for frame in frames:
        _cloth(pen, frame, pictures.get(frame.cloth.name))
        for placement in lay.placements:
            if placement.remnant == frame.cloth.name:
                over = frame.cloth.name in pictures
                _piece(pen, frame, by_name[placement.piece], placement, labels[placement.piece], over)
    unit = frames[0].unit
    foot = (
        f"Scale 1 : {frames[0].scale:.0f}; a tick is {'5 in' if unit == 'in' else '10 cm'}. {in_unit(lay.proof, unit)}"
    )
    for k, line in enumerate(wrapped(foot, _PAGE_MM[0] - 2 * _MARGIN, _TEXT)):
        pen.words(line, _MARGIN, _MARGIN + _HEAD + height + 9.0 + 4.2 * k, _TEXT, _SOFT)


def _cloth(pen: PlanPen, frame: _Frame, picture: RemnantPicture | None) -> None:
    cloth, box = frame.cloth, frame.box
    rings = [frame.page(np.array(r)) for r in (cloth.outline, *cloth.holes)]
    if picture is None:
        pen.shape(rings, _CLOTH, _EDGE, 0.4)
    else:
        left, low, right, high = picture.box_mm
        corners = frame.page(np.array([(left, high), (right, high), (left, low)]))
        pen.picture(picture.rgb, corners, rings)
        pen.shape(rings, "", "#ffffff", 0.7)
        pen.shape(rings, "", _INK, 0.25)
    for flaw in cloth.flaws:
        _hatched(pen, frame, flaw)
    size = f"{cloth.name}: {in_unit(f'{box[2] - box[0]:.0f} × {box[3] - box[1]:.0f} mm', frame.unit)}"
    size += ", the fold on the left" if cloth.folded else ""
    pen.words(size, frame.left, frame.top - 2.0, _TEXT, _SOFT)
    rule = 5 * MM_PER_INCH if frame.unit == "in" else _RULE_MM
    base, side = frame.top + (box[3] - box[1]) / frame.scale, frame.left
    ticks = [np.array([(side + d / frame.scale, base + 0.8), (side + d / frame.scale, base + 2.2)])
             for d in np.arange(0, box[2] - box[0] + 1, rule)]  # fmt: skip
    ticks += [np.array([(side - 0.8, base - d / frame.scale), (side - 2.2, base - d / frame.scale)])
              for d in np.arange(0, box[3] - box[1] + 1, rule)]  # fmt: skip
    pen.lines(ticks, _SOFT, 0.2)
    if cloth.folded:
        pen.lines([np.array([(side, frame.top), (side, base)])], _FLAW, 0.9)
    top = frame.top - 1.0
    arrow = [(side - 4.5, top + 11.0), (side - 4.5, top + 1.0)]
    pen.lines(_arrow(np.array(arrow), both=not cloth.nap, head=1.6), _EDGE, 0.35)


def _piece(
    pen: PlanPen, frame: _Frame, piece: LayPiece, placement: Placement, labelled: tuple[str, str], over: bool
) -> None:
    shape = laid(piece, placement)
    ring = frame.page(np.array(shape.exterior.coords)[:-1])
    tint = _TINTS[_stable(piece.name) % len(_TINTS)]
    if over:
        pen.shape([ring], "#ffffff", "", 0.0, cover=0.28)
        pen.shape([ring], "", "#ffffff", 0.8)
        pen.shape([ring], "", _INK, 0.3)
    else:
        pen.shape([ring], tint, _INK, 0.3)
    circle = shapely.maximum_inscribed_circle(Polygon(ring), tolerance=0.2)
    (cx, cy), radius = circle.coords[0], float(circle.length)
    size = max(_LEAST, min(6.0, 0.8 * radius))
    grain = math.radians(-piece.grain_deg if placement.mirrored else piece.grain_deg)
    ends = points_placed(
        [(0.0, 0.0), (-math.sin(grain), math.cos(grain))], mirrored=False, angle=placement.angle, x=0.0, y=0.0
    )
    way = np.diff(frame.page(ends), axis=0)[0]
    way = way / max(float(np.hypot(*way)), 1e-9) * 0.85 * radius
    middle = np.array([cx, cy])
    pen.lines(_arrow(np.array([middle - way, middle + way]), both=not frame.cloth.nap, head=0.14 * radius), _SOFT, 0.25)
    halo = "#ffffff" if over else tint
    number, name = labelled
    pen.words(number, cx, cy + 0.35 * size, size, _INK, bold=True, middle=True, halo=halo)
    small = max(_LEAST, 0.42 * size)
    if 0.5 * small * len(name) < 2 * radius and radius > 4.0:  # elsewhere the list below says what the number is
        pen.words(name, cx, cy + 0.35 * size + 1.25 * small, small, _INK, middle=True, halo=halo)


def _hatched(pen: PlanPen, frame: _Frame, flaw: Sequence[tuple[float, float]]) -> None:
    ring = frame.page(np.array(flaw))
    shape = Polygon(ring)
    x0, y0, x1, y1 = shape.bounds
    strokes = []
    for offset in np.arange(x0 - (y1 - y0), x1, 1.2):
        cut = shape.intersection(LineString([(offset, y1), (offset + (y1 - y0), y0)]))
        strokes += [
            np.array(g.coords) for g in getattr(cut, "geoms", [cut]) if g.geom_type == "LineString" and g.length
        ]
    pen.shape([ring], "", _FLAW, 0.35)
    pen.lines(strokes, _FLAW, 0.25)


def _distances(piece: LayPiece, placement: Placement, cloth: Scrap) -> tuple[float, float]:
    """Across from the edge on the left, and along from the edge below, where the piece comes nearest to them, mm."""
    shape = _turned(np.array(laid(piece, placement).exterior.coords)[:-1], cloth)
    edge = Polygon(_turned(np.array(cloth.outline), cloth))
    x0, y0 = edge.bounds[:2]
    low = shape.min(axis=0) + 1e-6
    across = min(_reach(edge, p, (x0 - 1.0, float(p[1]))) for p in shape[shape[:, 0] <= low[0]])
    along = min(_reach(edge, p, (float(p[0]), y0 - 1.0)) for p in shape[shape[:, 1] <= low[1]])
    return across, along


def _reach(edge: Polygon, start: Floats, end: tuple[float, float]) -> float:
    """How far it is from a point of the cloth to its edge, straight towards a point outside, mm."""
    inside = edge.buffer(1e-6).intersection(LineString([tuple(start), end]))
    parts = [g for g in getattr(inside, "geoms", [inside]) if g.distance(shapely.Point(start)) < 1e-3]
    return float(sum(g.length for g in parts))


def _turn_words(piece: LayPiece, placement: Placement, cloth: Scrap) -> str:
    grain = -piece.grain_deg if placement.mirrored else piece.grain_deg
    turn = (placement.angle - cloth.grain_deg + grain) % 360.0
    turn = 0.0 if turn > 359.5 else turn
    words = {0: "", 180: ", upside down", 90: ", across the grain", 270: ", across the grain"}
    return words.get(round(turn), f", turned by {turn:.0f}°")


def _turned(points: Floats, cloth: Scrap) -> Floats:
    """Points of a cloth with its grain turned upright."""
    return points_placed(points, mirrored=False, angle=-cloth.grain_deg, x=0.0, y=0.0)


def _arrow(ends: Floats, *, both: bool, head: float) -> list[Floats]:
    """A grainline; its heads are ``head`` long: two, or one where all must point one way."""
    way = ends[1] - ends[0]
    unit = way / max(float(np.hypot(*way)), 1e-9)
    side = np.array([-unit[1], unit[0]])
    strokes = [ends]
    for tip, sign in ((ends[1], 1), (ends[0], -1)) if both else ((ends[1], 1),):
        back = tip - sign * unit * head
        strokes.append(np.array([back + side * head / 2, tip, back - side * head / 2]))
    return strokes


def _box(x: float, y: float, width: float, height: float) -> Floats:
    return np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def _stable(text: str) -> int:
    """A small number of a text that is the same in every run (``hash`` is not)."""
    return sum((k + 1) * ord(c) for k, c in enumerate(text))
