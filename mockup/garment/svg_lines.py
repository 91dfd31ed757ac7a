"""The drawn lines of an SVG file from a stranger, in px, y down, with their widths and dashes.

What is more than lines is refused before any number is read (:mod:`swatches.svg_safety`). Size, depth, elements and
points are limited, so that ``use`` cannot multiply without end. Shapes, path data and transforms are read by
svgelements; styles by attributes, ``style`` and simple class rules.
"""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np
import svgelements

from mockup.garment.strokes import Stroke, connected
from mockup.garment.svg_style import INHERITED, dash_lengths, declarations, number, rules_of
from mockup.geometry.path import Floats, Path
from mockup.geometry.svg_shapes import SHAPES, UNREADABLE, transform_of
from swatches.errors import PictureError
from swatches.svg_safety import safe_svg

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element  # noqa: TID251  for its type only; defusedxml does the reading

MAX_BYTES = 12_000_000
MAX_DEPTH = 40
MAX_ELEMENTS = 20_000
MAX_SEGMENTS = 60_000
_WORKING = (900.0, 4200.0)  # px on the long side; smaller and larger drawings are scaled to 2000
_SHOWN = 40  # characters of a shape's numbers that are shown
_DRAWING = "LlHhVvCcSsQqTtAa"
_UNDRAWN = {"defs", "clippath", "mask", "pattern", "marker", "symbol", "lineargradient", "radialgradient", "filter",
            "metadata", "title", "desc", "style", "text"}  # fmt: skip


def read_lines(source: FilePath | str | bytes, *, what: str = "drawing") -> tuple[tuple[Stroke, ...], tuple[int, int]]:
    """Read the lines of an SVG file.

    Returns:
        The lines, and the picture's width and height in px.

    Raises:
        PictureError: missing, too large, not an SVG, something live or outside the file in it, or no lines.
    """
    root = safe_svg(_bytes(source, what), what=what, error=PictureError)
    scale, size, start = _sheet(root, what)
    base = np.array([[scale, 0.0, -start[0] * scale], [0.0, scale, -start[1] * scale], [0.0, 0.0, 1.0]])
    walk = _Walk(root, what)
    walk.go(root, base, {"fill": "black", "stroke": "none", "stroke-width": "1"}, 0)
    if not walk.found:
        raise _bad(what, "drawn lines", "none", "Save the drawing as plain SVG with lines")
    return tuple(walk.found), size


class _Walk:
    """The state of one walk through the tree: what was found, and how much of the limits is used up."""

    def __init__(self, root: Element, what: str) -> None:
        self.what = what
        self.by_id = {e.get("id", ""): e for e in root.iter() if e.get("id")}
        self.rules = rules_of(root)
        self.found: list[Stroke] = []
        self.visited = self.segments = 0

    def go(self, element: Element, matrix: Floats, style: dict[str, str], depth: int) -> None:
        self.visited += 1
        if depth > MAX_DEPTH or self.visited > MAX_ELEMENTS:
            raise _bad(
                self.what,
                f"at most {MAX_ELEMENTS:,} elements, nested at most {MAX_DEPTH} deep",
                "a larger drawing",
                "Ungroup the drawing and save it again",
            )
        tag = _tag(element)
        if tag in _UNDRAWN:
            return
        style = self._styled(element, tag, style)
        if style.get("display") == "none" or style.get("visibility") in ("hidden", "collapse"):
            return
        if depth and element.get("transform"):
            matrix = matrix @ self._matrix(element.get("transform", ""))
        if tag in SHAPES:
            self._shape(element, tag, matrix, style)
        elif tag == "use":
            self._use(element, matrix, style, depth)
        else:
            for child in element:
                if isinstance(child.tag, str):
                    self.go(child, matrix, style, depth + 1)

    def _styled(self, element: Element, tag: str, inherited: dict[str, str]) -> dict[str, str]:
        style = {k: v for k, v in inherited.items() if k != "display"}
        style |= {k: element.get(k, "").strip() for k in INHERITED if element.get(k)}
        names = [tag, *(f".{c}" for c in element.get("class", "").split()), f"#{element.get('id', '')}"]
        for name in names:
            style |= self.rules.get(name, {})
        return style | declarations(element.get("style", ""))

    def _use(self, element: Element, matrix: Floats, style: dict[str, str], depth: int) -> None:
        href = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
        target = self.by_id.get(href.lstrip("#"))
        if target is None:
            return
        x, y = (number(element.get(k, "0")) for k in ("x", "y"))
        moved = matrix @ np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])
        if _tag(target) == "symbol":
            for child in target:
                self.go(child, moved, style, depth + 1)
        else:
            self.go(target, moved, style, depth + 1)

    def _shape(self, element: Element, tag: str, matrix: Floats, style: dict[str, str]) -> None:
        lined = style.get("stroke", "none") not in ("none", "transparent", "")
        filled = style.get("fill", "black") not in ("none", "transparent")
        if not (lined or filled):
            return
        own = {k: v for k, v in element.attrib.items() if k in _NUMBERS[tag]}
        if self.segments + _at_least(own) > MAX_SEGMENTS:
            raise self._too_many()
        try:
            shape = SHAPES[tag](own.get("d", "")) if tag == "path" else SHAPES[tag](own)
            if tag != "path":
                shape.render(ppi=96)
            segments = list(svgelements.Path(shape))
            parts = connected(segments)
        except UNREADABLE as error:
            got = ", ".join(v.strip()[:_SHOWN] for v in own.values()) or "none"
            raise _bad(self.what, f"a {tag} in numbers", got, "Save it as plain SVG again") from error
        grow = float(np.sqrt(abs(np.linalg.det(matrix[:2, :2]))))
        width = number(style.get("stroke-width", "1")) * grow if lined else 0.0
        dashes = tuple(v * grow for v in dash_lengths(style.get("stroke-dasharray", ""))) if lined else ()
        for cubics in parts:
            self.segments += len(cubics)
            if self.segments > MAX_SEGMENTS:
                raise self._too_many()
            with np.errstate(over="ignore", invalid="ignore"):
                placed = cubics @ matrix[:2, :2].T + matrix[:2, 2]
            if not np.isfinite(placed).all() or np.abs(placed).max() > 1e7:
                raise _bad(self.what, "finite numbers", "numbers too large", "Save it as plain SVG again")
            self.found.append(Stroke(Path(placed), width, dashes))

    def _too_many(self) -> PictureError:
        return _bad(self.what, f"at most {MAX_SEGMENTS:,} points", "more", "Save it with fewer points")

    def _matrix(self, text: str) -> Floats:
        try:
            matrix = transform_of(text)
        except UNREADABLE as error:
            raise _bad(self.what, "a transform in numbers", text, "Apply the transforms and save again") from error
        if not np.isfinite(matrix).all() or np.abs(matrix).max() > 1e7:
            raise _bad(self.what, "a transform in numbers", text, "Apply the transforms and save again")
        return matrix


_NUMBERS = {
    "path": {"d"},
    "rect": {"x", "y", "width", "height", "rx", "ry"},
    "circle": {"cx", "cy", "r"},
    "ellipse": {"cx", "cy", "rx", "ry"},
    "polygon": {"points"},
    "polyline": {"points"},
    "line": {"x1", "y1", "x2", "y2"},
}


def _at_least(numbers: dict[str, str]) -> int:
    """How many segments a shape has at the least; counting is quick, reading a path of megabytes is not.

    Every drawing command makes one, and so do at most seven numbers (an arc's); two numbers are a point of a polygon.
    """
    path, points = numbers.get("d", ""), numbers.get("points", "")
    commands = sum(map(path.count, _DRAWING))
    return max(commands, len(path.split()) // 7, len(points.split()) // 2 - 1, 0)


def _bytes(source: FilePath | str | bytes, what: str) -> bytes:
    if isinstance(source, bytes):
        data = source
    else:
        path = FilePath(source)
        try:
            if path.stat().st_size > MAX_BYTES:
                raise _bad(what, f"at most {MAX_BYTES // 10**6} MB", "a larger file", "Save it with fewer points")
            data = path.read_bytes()
        except OSError as error:
            reason = error.strerror or "no file"
            raise _bad(what, "a file that can be read", f"{path.name}: {reason}", "Check the file") from error
    if len(data) > MAX_BYTES:
        raise _bad(what, f"at most {MAX_BYTES // 10**6} MB", "a larger file", "Save it with fewer points")
    return data


def _sheet(root: Element, what: str) -> tuple[float, tuple[int, int], tuple[float, float]]:
    """Scale from user units to px, the picture's size in px, and the user point at its corner."""
    try:
        box = [float(v) for v in root.get("viewBox", "").replace(",", " ").split()]
    except ValueError as error:
        raise _bad(what, "a viewBox of four numbers", root.get("viewBox", ""), "Save it as SVG again") from error
    if len(box) != 4:
        box = [0.0, 0.0, number(root.get("width", "")), number(root.get("height", ""))]
    if not (np.isfinite(box).all() and 0 < box[2] < 1e7 and 0 < box[3] < 1e7 and 0.02 < box[2] / box[3] < 50):
        raise _bad(what, "a drawing with a width and a height", f"{box[2]:g} × {box[3]:g}", "Save it as SVG again")
    long = max(box[2], box[3])
    scale = 1.0 if _WORKING[0] <= long <= _WORKING[1] else 2000.0 / long
    return scale, (max(1, round(box[2] * scale)), max(1, round(box[3] * scale))), (box[0], box[1])


def _tag(element: Element) -> str:
    tag: object = element.tag
    return tag.rpartition("}")[2].lower() if isinstance(tag, str) else ""


def _bad(what: str, expected: str, got: str, next_step: str) -> PictureError:
    return PictureError(what, expected=expected, got=got, next_step=next_step)
