"""The lay as a picture to scale: cloth, holes and pieces, each with number, grain and place (SVG)."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.lay.lay import Lay, LayPiece, Placement, Scrap, laid, points_placed

SCALES = (1, 2, 5, 10, 20, 50)
"""The plan is drawn 1 : one of these, the largest picture that fits a sheet of A3."""

_SHEET_MM = (400.0, 280.0)
_PAPER, _CLOTH, _EDGE, _INK, _SOFT = "#f7f4ec", "#e9e0cf", "#8d7f67", "#1a1f2b", "#5d6272"
_TINTS = ("#c9d8d2", "#e5c9b5", "#cfd3e6", "#e3d7a8", "#d8c7d9", "#c4dbe4", "#dfc3c3", "#cfdcb6")


def lay_svg(lay: Lay, pieces: Sequence[LayPiece], cloths: Sequence[Scrap], *, title: str = "") -> str:
    """Draw a lay.

    Args:
        lay: with placements on the cloths.
        pieces: all pieces of the lay.
        cloths: scraps, or the one rectangle of a width.
        title: a line above the picture.

    Returns:
        SVG, in mm of paper; the scale is written in it. The same lay gives the same text.
    """
    by_name = {piece.name: piece for piece in pieces}
    labels = {piece.name: _label(piece.name, k) for k, piece in enumerate(pieces, 1)}
    boxes = [Polygon(c.outline).bounds for c in cloths]
    gap = 0.06 * max(max(b[2] - b[0], b[3] - b[1]) for b in boxes)
    width = sum(b[2] - b[0] for b in boxes) + gap * (len(boxes) + 1)
    height = max(b[3] - b[1] for b in boxes) + 2 * gap
    scale = next((s for s in SCALES if width / s <= _SHEET_MM[0] and height / s <= _SHEET_MM[1]), SCALES[-1])
    text = 3.4 * scale
    head = 3.2 * text if title else 2.0 * text
    foot = 1.6 * text * (len(lay.placements) + 3)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width / scale)}mm"'
        f' height="{_n((height + head + foot) / scale)}mm" viewBox="0 0 {_n(width)} {_n(height + head + foot)}"'
        ' font-family="Alegreya Sans, sans-serif">',
        f'<rect width="100%" height="100%" fill="{_PAPER}"/>',
    ]
    if title:
        parts.append(_words(title, gap, 2.0 * text, 1.4 * text, _INK, bold=True))
    x = gap
    for cloth, box in zip(cloths, boxes, strict=True):
        # y up in mm becomes y down on the page: (X, Y) → (dx + X, dy − Y)
        dx, dy = x - box[0], head + gap + box[3]
        mine = [p for p in lay.placements if p.remnant == cloth.name]
        parts += _cloth(cloth, box, dx, dy, text)
        for placement in mine:
            parts += _piece(by_name[placement.piece], placement, cloth, labels[placement.piece], dx, dy, text)
        x += box[2] - box[0] + gap
    y = head + height + text
    parts.append(_words(f"Scale 1 : {scale}. {lay.proof}", gap, y, text, _SOFT))
    rows = zip(lay.placements, _boxes(lay, by_name, cloths), strict=True)
    for k, (placement, (left, low)) in enumerate(rows, 1):
        mirrored = ", mirrored" if placement.mirrored else ""
        number, name = labels[placement.piece]
        line = (
            f"{number}  {name}{mirrored}, on {placement.remnant}:"
            f" {left:.0f} mm from the left, {low:.0f} mm from the lower end"
        )
        parts.append(_words(line, gap, y + 1.6 * text * k, text, _INK))
    return "\n".join([*parts, "</svg>"]) + "\n"


def _label(name: str, place: int) -> tuple[str, str]:
    """Number and name of a piece: the number that its name begins with, else its place in the list."""
    number, _, rest = name.partition(" ")
    return (number, rest) if number.isdigit() and rest else (str(place), name)


def _boxes(lay: Lay, by_name: dict[str, LayPiece], cloths: Sequence[Scrap]) -> list[tuple[float, float]]:
    """Distances of every piece's box from the left and lower end of its cloth."""
    corner = {c.name: Polygon(c.outline).bounds for c in cloths}
    found = []
    for placement in lay.placements:
        box, cloth = laid(by_name[placement.piece], placement).bounds, corner[placement.remnant]
        found.append((box[0] - cloth[0], box[1] - cloth[1]))
    return found


def _cloth(cloth: Scrap, box: tuple[float, float, float, float], dx: float, dy: float, text: float) -> list[str]:
    size = f"{cloth.name}: {box[2] - box[0]:.0f} × {box[3] - box[1]:.0f} mm"
    rings = [cloth.outline, *cloth.holes]
    path = " ".join(_ring(ring, dx, dy) for ring in rings)
    angle = math.radians(cloth.grain_deg)
    way = (-math.sin(angle), math.cos(angle))
    x, y = dx + box[0] + 1.5 * text, dy - box[1] + 1.4 * text
    return [
        f'<path d="{path}" fill="{_CLOTH}" fill-rule="evenodd" stroke="{_EDGE}" stroke-width="{_n(0.12 * text)}"/>',
        _arrow(x, y, way, 1.4 * text, 0.12 * text, _EDGE, both=not cloth.nap),
        _words(size, x + 1.8 * text, y + 0.3 * text, text, _SOFT),
    ]


def _piece(
    piece: LayPiece, placement: Placement, cloth: Scrap, label: tuple[str, str], dx: float, dy: float, text: float
) -> list[str]:
    shape = laid(piece, placement)
    ring = _ring(tuple(map(tuple, np.array(shape.exterior.coords)[:-1])), dx, dy)
    tint = _TINTS[_stable(piece.name) % len(_TINTS)]
    circle = shapely.maximum_inscribed_circle(shape, tolerance=1.0)
    (cx, cy), radius = circle.coords[0], float(circle.length)
    size = min(2.2 * text, 0.7 * radius)
    grain = math.radians(-piece.grain_deg if placement.mirrored else piece.grain_deg)
    tail, tip = points_placed(
        [(0.0, 0.0), (-math.sin(grain), math.cos(grain))], mirrored=False, angle=placement.angle, x=0.0, y=0.0
    )
    way = (float(tip[0] - tail[0]), float(tip[1] - tail[1]))
    number, name = label
    fits = 0.55 * 0.5 * size * len(name) < 2 * radius
    return [
        f'<path d="{ring}" fill="{tint}" stroke="{_INK}" stroke-width="{_n(0.1 * text)}"/>',
        _arrow(dx + cx, dy - cy, way, 0.85 * radius, 0.08 * text, _SOFT, both=not cloth.nap),
        _words(number, dx + cx, dy - cy + 0.35 * size, size, _INK, bold=True, middle=True, halo=tint),
        _words(name, dx + cx, dy - cy + 1.05 * size, 0.5 * size, _INK, middle=True, halo=tint) if fits else "",
    ]


def _arrow(
    x: float, y: float, way: tuple[float, float], reach: float, stroke: float, colour: str, *, both: bool
) -> str:
    """Grainline through (x, y) of the page along ``way`` (y up): one head where all must point one way, else two."""
    ux, uy = way[0], -way[1]
    head = 0.16 * reach
    d = [f"M{_n(x - ux * reach)} {_n(y - uy * reach)}L{_n(x + ux * reach)} {_n(y + uy * reach)}"]
    for sign in (1, -1) if both else (1,):
        ex, ey = x + sign * ux * reach, y + sign * uy * reach
        for side in (1, -1):
            px = ex - sign * ux * head + side * uy * head * 0.5
            py = ey - sign * uy * head - side * ux * head * 0.5
            d.append(f"M{_n(ex)} {_n(ey)}L{_n(px)} {_n(py)}")
    return f'<path d="{"".join(d)}" fill="none" stroke="{colour}" stroke-width="{_n(stroke)}" stroke-linecap="round"/>'


def _words(
    text: str, x: float, y: float, size: float, colour: str, *, bold: bool = False, middle: bool = False, halo: str = ""
) -> str:
    look = ' font-weight="700"' if bold else ""
    look += ' text-anchor="middle"' if middle else ""
    look += f' stroke="{halo}" stroke-width="{_n(0.3 * size)}" paint-order="stroke"' if halo else ""
    plain = "".join(c for c in text if c.isprintable())
    return f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" fill="{colour}"{look}>{html.escape(plain)}</text>'


def _ring(ring: Sequence[tuple[float, ...]], dx: float, dy: float) -> str:
    return "M" + "L".join(f"{_n(dx + p[0])} {_n(dy - p[1])}" for p in ring) + "Z"


def _stable(text: str) -> int:
    """A small number of a text that is the same in every run (``hash`` is not)."""
    return sum((k + 1) * ord(c) for k, c in enumerate(text))


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
