"""The garment as a handout shows it: views with their panels in cloth, lines, numbered points, a key of the cloths.

A stripe, check or print is drawn from the cloth's own tile, along its grain on every panel. So small a drawing would
lose it: it is drawn as many times larger as it takes to be seen, and the key says how many.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from PIL import Image
from reportlab.lib.utils import ImageReader
from shapely import Polygon, maximum_inscribed_circle, union_all

from mockup.colourways.colourway import Laid
from mockup.colourways.laying import lay
from mockup.colourways.tiles import encoded
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.sheets.flow import Flow
from mockup.sheets.line_words import DrawnLine
from mockup.sheets.looks import shortened, text_width
from mockup.split.split import LaidPrint, SplitPanel, SplitView
from swatches.cloth import Cloth

_BOX_MM = (80.0, 92.0)  # room for one view
_SEEN_MM = 3.0  # our own choice: a repeat smaller than this on paper is taken for a grey
_PX_MM = 0.1  # about 250 pixels an inch
_BARE = (243, 241, 235)
_SWATCH = (9.0, 4.4)  # mm of the key
Place = np.ndarray[tuple[int, int], np.dtype[np.float64]]


@dataclass(frozen=True, slots=True)
class Cloths:
    """What the panels are drawn with.

    Attributes:
        colours: fabric id → sRGB 0–255.
        prints: fabric id → the cloth with its tile, where it is no plain one.
        names: fabric id → the person's name for it.
    """

    colours: Mapping[str, tuple[int, int, int]]
    prints: Mapping[str, Cloth]
    names: Mapping[str, str]

    def larger(self, fabric: str, scale: float) -> int:
        """How many times larger than the garment a cloth's print is drawn, for a drawing of that scale."""
        cloth = self.prints[fabric]
        known = cloth.fabric.texture.repeat_mm if cloth.fabric.texture is not None else None
        repeats = [v for v in known or () if v > 0]
        if not repeats:
            assert cloth.tile is not None  # noqa: S101 - prints have tiles
            repeats = [v * cloth.mm_per_px for v in cloth.tile.shape[:2]]
        return max(1, math.ceil(_SEEN_MM / (min(repeats) * scale)))


def draw_views(
    flow: Flow,
    views: Sequence[SplitView],
    shown: Mapping[str, tuple[DrawnLine, ...]],
    cloths: Cloths,
) -> None:
    """Draw the garment from both sides, two a row, at one scale, with the key of its cloths below."""
    boxes = {v.name: _box(v) for v in views}
    widest = max(b[2] - b[0] for b in boxes.values())
    highest = max(b[3] - b[1] for b in boxes.values())
    scale = min(_BOX_MM[0] / widest, _BOX_MM[1] / highest)
    for k, view in enumerate(views):
        if k % 2 == 0:
            flow.room(highest * scale + 14.0)
            top = flow.y - 3.0
        left, _, right, high = boxes[view.name]
        x = flow.left + (k % 2) * flow.width / 2 + (flow.width / 2 - (right - left) * scale) / 2
        place = np.array([[scale, 0.0, x - left * scale], [0.0, scale, top - high * scale]])
        _view(flow, view, shown[view.name], cloths, place)
        middle = x + (right - left) * scale / 2
        flow.pen.words(view.name, middle, top - highest * scale - 6.0, 3.9, flow.look.soft, align=0)
        if k % 2 == 1 or k == len(views) - 1:
            flow.y = top - highest * scale - 8.0
    _key(flow, views, cloths, scale)


def _key(flow: Flow, views: Sequence[SplitView], cloths: Cloths, scale: float) -> None:
    """Which cloth is which, with the numbers of its panels: colours may be printed in greys."""
    numbers: dict[str, set[int]] = {}
    for panel in (p for v in views for p in v.panels):
        if panel.fabric in cloths.colours or panel.fabric in cloths.prints:
            numbers.setdefault(str(panel.fabric), set()).add(panel.number)
    rows = {fabric: _said(fabric, shown, cloths, scale) for fabric, shown in numbers.items()}
    look, (wide, high) = flow.look, _SWATCH
    across = 2 if all(text_width(t, 3.5) < flow.width / 2 - wide - 5.0 for t in rows.values()) else 1
    column = flow.width / across
    for k, (fabric, text) in enumerate(rows.items()):
        if k % across == 0:
            flow.room(high + 3.0)
            flow.y -= high + 2.0
        x, y = flow.left + (k % across) * column, flow.y
        box = paths.polyline([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], close=True)
        _fill(flow, box, fabric, cloths, LaidPrint((0.0, 0.0)), np.array([[scale, 0.0, x], [0.0, scale, y]]))
        draw_path(flow, box, 0.2)
        flow.pen.words(shortened(text, column - wide - 5.0, 3.5), x + wide + 2.5, y + 1.1, 3.5, look.ink)
    flow.y -= 3.0 if numbers else 0.0


def _said(fabric: str, numbers: Collection[int], cloths: Cloths, scale: float) -> str:
    """A cloth's row in the key: '3, 5 winter check (print drawn 2 times as large)'."""
    larger = cloths.larger(fabric, scale) if fabric in cloths.prints else 1
    words = (", ".join(str(n) for n in sorted(numbers) if n), cloths.names.get(fabric, fabric))
    return " ".join(w for w in words if w) + (f" (print drawn {larger} times as large)" if larger > 1 else "")


def _box(view: SplitView) -> tuple[float, float, float, float]:
    outlines = [paths.bounds(paths.from_tuples(o)) for o in (view.outline, *(p.outline for p in view.panels))]
    low, high = np.array(outlines)[:, :2].min(axis=0), np.array(outlines)[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _view(
    flow: Flow,
    view: SplitView,
    lines: Sequence[DrawnLine],
    cloths: Cloths,
    place: Place,
) -> None:
    look, c = flow.look, flow.canvas
    for panel in view.panels:
        outline = paths.transformed(paths.from_tuples(panel.outline), place)
        _fill(flow, outline, panel.fabric or "", cloths, _laid(panel), place)
        draw_path(flow, outline, 0.2)
    draw_path(flow, paths.transformed(paths.from_tuples(view.outline), place), 0.45)
    for drawn in lines:
        draw_path(flow, paths.transformed(paths.from_tuples(drawn.line.path), place), 0.9)
    shapes = [Polygon(paths.flatten(paths.from_tuples(p.outline), 0.5).points).buffer(0) for p in view.panels]
    for panel, shape in zip(view.panels, shapes, strict=True):
        on_top = [o for o in shapes if o.area < shape.area]  # a pocket hides what is under it
        circle = maximum_inscribed_circle(shape.difference(union_all(on_top)), tolerance=1.0)
        x, y = place[:, :2] @ np.array(circle.coords[0]) + place[:, 2]
        _badge(
            flow, str(panel.number or "?"), float(x), float(y), min(2.6, max(1.9, 0.8 * circle.length * place[0, 0]))
        )
    for drawn in lines:
        path = paths.transformed(drawn.path, place)
        for number, point in zip(drawn.points, (path.start, path.end), strict=True):
            c.setFillColorRGB(*look.accent)
            c.circle(float(point[0]), float(point[1]), 0.9, stroke=0, fill=1)
            text = f"P{number}"
            x, y = float(point[0]) + 1.2, float(point[1]) + 1.0
            c.setFillColorRGB(1, 1, 1)
            c.roundRect(x, y, text_width(text, 2.9, bold=True) + 1.4, 3.3, 0.8, stroke=0, fill=1)
            flow.pen.words(text, x + 0.7, y + 0.7, 2.9, look.accent, bold=True)


def _laid(panel: SplitPanel) -> LaidPrint:
    """How its print lies: as the person laid it, else upright from its lower left."""
    left, low, _, _ = paths.bounds(paths.from_tuples(panel.outline))
    return panel.laid or LaidPrint((left, low))


def _fill(flow: Flow, outline: Path, fabric: str, cloths: Cloths, laid: LaidPrint, place: Place) -> None:
    """Fill a closed path on the page with a cloth; ``place`` maps the garment's mm to the page's."""
    c = flow.canvas
    cloth = cloths.prints.get(fabric)
    if cloth is None or cloth.tile is None:
        c.setFillColorRGB(*(v / 255 for v in cloths.colours.get(fabric, _BARE)))
        c.drawPath(_pen(flow, outline), stroke=0, fill=1)
        return
    scale = float(place[0, 0])
    left, low, right, high = paths.bounds(outline)
    start: XY = (laid.start[0] * scale + place[0, 2], laid.start[1] * scale + place[1, 2])
    window = (0, 0, math.ceil((right - left) / _PX_MM), math.ceil((high - low) / _PX_MM))
    grain = -laid.grain_deg if laid.mirrored else laid.grain_deg
    pixels = encoded(
        lay(
            cloth,
            Laid(grain, (0.0, 0.0), laid.mirrored),
            window,
            mm_per_px=_PX_MM / (scale * cloths.larger(fabric, scale)),
            origin=((start[0] - left) / _PX_MM, (high - start[1]) / _PX_MM),
        )
    )
    c.saveState()
    c.clipPath(_pen(flow, outline), stroke=0, fill=0)
    size = window[2] * _PX_MM, window[3] * _PX_MM
    c.drawImage(ImageReader(Image.fromarray(np.ascontiguousarray(pixels))), left, high - size[1], *size)
    c.restoreState()


def _badge(flow: Flow, text: str, x: float, y: float, radius: float) -> None:
    c = flow.canvas
    c.setFillColorRGB(1, 1, 1)
    c.setStrokeColorRGB(*flow.look.ink)
    c.setLineWidth(0.15)
    c.setDash()
    c.circle(x, y, radius, stroke=1, fill=1)
    flow.pen.words(text, x, y - 0.42 * radius, 1.35 * radius, flow.look.ink, bold=True, align=0)


def draw_path(flow: Flow, path: Path, width: float) -> None:
    """Draw a path in ink, mm of the page."""
    c = flow.canvas
    c.setStrokeColorRGB(*flow.look.ink)
    c.setLineWidth(width)
    c.setLineJoin(1)
    c.setDash()
    c.drawPath(_pen(flow, path), stroke=1, fill=0)


def _pen(flow: Flow, path: Path) -> Any:
    pen = flow.canvas.beginPath()
    pen.moveTo(*path.start)
    for cubic in path.cubics:
        pen.curveTo(*cubic[1:].ravel())
    if path.closed:
        pen.close()
    return pen
