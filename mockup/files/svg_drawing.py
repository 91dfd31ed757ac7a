"""A safe walk through an SVG file: which lines it draws, in mm, y up.

Files come from strangers. A DOCTYPE, entities, scripts, event handlers and anything outside the file are refused by
name before a single number is read; size, depth and segments are limited. The library svgelements reads shapes, path
data, transforms and units; this module walks the tree itself, so that ``use`` cannot multiply without end.

The scale is the file's own: mm = user units × width in mm / viewBox width. The viewBox's origin is *not* subtracted,
so that a point has the coordinates that the file says. y is negated.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

import numpy as np
import svgelements

from mockup.files import child, svg_path
from mockup.files.given import clean, read_limited
from mockup.files.svg_path import MAX_SEGMENTS
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.svg_shapes import SHAPES, UNREADABLE, transform_of
from swatches.errors import FileFormatError
from swatches.svg_safety import safe_svg
from swatches.units import MM_PER_INCH

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element  # noqa: TID251  for its type only; defusedxml does the reading

MAX_BYTES = 12_000_000
MAX_DEPTH = 60
_FAR = 1e9  # no drawing is moved or scaled by more
_SVG = "{http://www.w3.org/2000/svg}"
_HREF = ("href", "{http://www.w3.org/1999/xlink}href")
_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "pt": MM_PER_INCH / 72, "pc": MM_PER_INCH / 6, "q": 0.25}
_UNDRAWN = {"defs", "clipPath", "mask", "pattern", "marker", "symbol", "linearGradient", "radialGradient", "filter"}
_UNDRAWN |= {"metadata", "title", "desc", "style", "text", "switch"}


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One drawn element.

    Attributes:
        paths: its connected parts in mm, y up.
        attributes: its own attributes.
        group: index of the nearest ``data-piece`` group that it lies in, or −1.
        name: its ``title`` or ``id``, cleaned, or empty.
    """

    paths: tuple[Path, ...]
    attributes: dict[str, str]
    group: int
    name: str

    def moved(self, matrix: Floats) -> Shape:
        """Give the shape under an affine map, shape (2, 3)."""
        return replace(self, paths=tuple(paths.transformed(p, matrix) for p in self.paths))


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """What a file draws: its shapes, and the attributes of its ``data-piece`` groups in order."""

    shapes: tuple[Shape, ...]
    groups: tuple[dict[str, str], ...]


def read_drawing(source: FilePath | bytes, *, mm_per_unit: float | None = None, apart: bool = False) -> Drawing:
    """Read the lines of an SVG file.

    Args:
        source: the file, or its bytes.
        mm_per_unit: mm of one user unit, where the file does not say its size in mm (or is wrong).
        apart: read it in a process of its own, with limits, as strangers' files are.

    Raises:
        FileFormatError: not an SVG, no unit, something live or outside the file in it, or too much of anything.
    """
    what = clean(source.name) if isinstance(source, FilePath) else "SVG file"
    data = read_limited(source, what=what, max_bytes=MAX_BYTES)
    if apart:
        shapes, groups = child.ask("svg", data, what=what, mm_per_unit=mm_per_unit)
        return Drawing(tuple(_shape_told(s) for s in shapes), tuple(dict(g) for g in groups))
    return _drawing(data, what, mm_per_unit)


def told(data: bytes, what: str, mm_per_unit: float | None) -> list[Any]:
    """Tell what a file draws in lists, texts and numbers: how the child process answers."""
    drawing = _drawing(data, what, mm_per_unit)
    shapes = [[[p.cubics.reshape(-1).tolist() for p in s.paths], s.attributes, s.group, s.name] for s in drawing.shapes]
    return [shapes, list(drawing.groups)]


def _shape_told(row: Any) -> Shape:
    lines, attributes, group, name = row
    found = tuple(Path(np.array(line, dtype=np.float64).reshape(-1, 4, 2)) for line in lines)
    return Shape(found, {str(k): str(v) for k, v in attributes.items()}, int(group), str(name))


def _drawing(data: bytes, what: str, mm_per_unit: float | None) -> Drawing:
    root = safe_svg(data, what=what, error=FileFormatError)
    scale = mm_per_unit if mm_per_unit is not None else _mm_per_unit(root, what)
    walk = _Walk(root, what, np.array([[scale, 0.0, 0.0], [0.0, -scale, 0.0], [0.0, 0.0, 1.0]]))
    shapes = tuple(walk.shapes(root, walk.base, 0, -1))
    return Drawing(shapes, tuple(walk.groups))


class _Walk:
    """The state of one walk: what was found, and how much of the limits is used up."""

    def __init__(self, root: Element, what: str, base: Floats) -> None:
        self.what, self.base = what, base
        self.by_id = {e.get("id", ""): e for e in root.iter() if e.get("id")}
        self.groups: list[dict[str, str]] = []
        self.segments = self.visited = 0

    def shapes(self, element: Element, matrix: Floats, depth: int, group: int) -> Iterator[Shape]:
        """Give the shapes below an element, top down."""
        self.visited += 1
        if depth > MAX_DEPTH or self.visited > 2 * MAX_SEGMENTS:
            raise FileFormatError(
                self.what,
                expected=f"groups nested at most {MAX_DEPTH} deep, without 'use' in circles",
                got="a deeper drawing",
                next_step="Ungroup the drawing and save it again",
            )
        tag = _tag(element)
        if tag is None or (depth and tag in _UNDRAWN) or _hidden(element):
            return
        if depth:
            matrix = matrix @ self._own(element.get("transform", ""))
        if tag in SHAPES:
            yield self._shape(element, tag, matrix, group)
        elif tag == "use":
            yield from self._used(element, matrix, depth, group)
        else:
            if element.get("data-piece") is not None:
                self.groups.append(dict(element.attrib))
                group = len(self.groups) - 1
            if depth and tag == "svg":
                raise FileFormatError(
                    self.what,
                    expected="one drawing",
                    got="an SVG inside the SVG",
                    next_step="Ungroup it and save again",
                )
            for child in element:
                yield from self.shapes(child, matrix, depth + 1, group)

    def _used(self, element: Element, matrix: Floats, depth: int, group: int) -> Iterator[Shape]:
        target = self.by_id.get(next((element.get(h, "") for h in _HREF if element.get(h)), "").lstrip("#"))
        if target is None:
            return
        x, y = (self._number(element.get(k, "0")) for k in ("x", "y"))
        moved = matrix @ np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])
        if _tag(target) == "symbol":
            for child in target:
                yield from self.shapes(child, moved, depth + 1, group)
        else:
            yield from self.shapes(target, moved, depth + 1, group)

    def _shape(self, element: Element, tag: str, matrix: Floats, group: int) -> Shape:
        own = dict(element.attrib)
        name = clean(element.findtext(f"{_SVG}title") or own.get("id", ""))
        what = f"{self.what}, {name or own.get('data-edge') or tag}"
        if tag == "path":
            found = svg_path.subpaths(own.get("d", ""), what=what)
        else:
            plain = {k: v for k, v in own.items() if k not in ("transform", "style", "class")}
            if any("%" in v for k, v in plain.items() if k != "id" and not k.startswith("data-")):
                raise FileFormatError(
                    what, expected="lengths in numbers", got="a share in %", next_step="Use mm instead"
                )
            try:
                shape = SHAPES[tag](plain)
                shape.render(ppi=96)
                found = svg_path.from_elements(svgelements.Path(shape), what=what)
            except UNREADABLE as error:
                raise FileFormatError(
                    what,
                    expected=f"a {tag} in numbers",
                    got=str(plain),
                    next_step="Convert it to a path and save again",
                ) from error
        self.segments += sum(len(p) for p in found)
        if self.segments > MAX_SEGMENTS:
            raise FileFormatError(
                self.what,
                expected=f"at most {MAX_SEGMENTS:,} segments",
                got="more",
                next_step="Save the drawing with fewer points",
            )
        return Shape(tuple(self._placed(p, matrix) for p in found), own, group, name)

    def _placed(self, path: Path, matrix: Floats) -> Path:
        try:
            with np.errstate(over="ignore", invalid="ignore"):
                return paths.transformed(path, matrix)
        except ValueError as error:
            raise FileFormatError(
                self.what, expected="finite numbers", got="a line beyond all measure", next_step="Redraw that line"
            ) from error

    def _own(self, transform: str) -> Floats:
        if not transform:
            return np.eye(3)
        try:
            matrix = transform_of(transform)
        except UNREADABLE as error:
            raise self._bad_transform(transform) from error
        if not (np.abs(matrix) < _FAR).all() or abs(np.linalg.det(matrix)) < 1e-12:
            raise self._bad_transform(transform)
        return matrix

    def _bad_transform(self, transform: str) -> FileFormatError:
        return FileFormatError(
            self.what, expected="a transform in numbers", got=transform, next_step="Apply the transforms and save again"
        )

    def _number(self, text: str) -> float:
        value = svgelements.Length(text).value(ppi=96)
        return float(value) if isinstance(value, int | float) else 0.0


def _mm_per_unit(root: Element, what: str) -> float:
    sizes = [_mm(root.get(k, "")) for k in ("width", "height")]
    if None in sizes:
        given = f"width={root.get('width')!r}, height={root.get('height')!r}"
        raise FileFormatError(
            what,
            expected="width and height with a unit such as mm",
            got=given,
            next_step="Save it with its size in mm, or say how many mm one of its units is",
        )
    box = root.get("viewBox")
    if box is None:
        return MM_PER_INCH / 96
    try:
        _, _, *box_size = (float(v) for v in box.replace(",", " ").split())
        across, down = (float(mm or 0) / size for mm, size in zip(sizes, box_size, strict=True))
    except (ValueError, ZeroDivisionError) as error:
        raise FileFormatError(
            what, expected="a viewBox of four numbers", got=repr(box), next_step="Save it as plain SVG again"
        ) from error
    if not (across > 0 and down > 0 and abs(across / down - 1) <= 2e-3):
        raise FileFormatError(
            what,
            expected="one scale both ways",
            got=f"{across:.6g} mm a unit across and {down:.6g} mm down",
            next_step="Give width, height and viewBox the same shape",
        )
    return across


def _mm(text: str) -> float | None:
    match = re.fullmatch(r"\s*([\d.]+(?:[eE][-+]?\d+)?)\s*(mm|cm|in|pt|pc|Q|q)\s*", text)
    try:
        return float(match[1]) * _MM[match[2].lower()] if match else None
    except ValueError:
        return None


def _tag(element: Element) -> str | None:
    """The name of an SVG element; None for a comment and for an element of another namespace."""
    tag: object = element.tag
    if not isinstance(tag, str):
        return None
    if tag.startswith("{"):
        return tag[len(_SVG) :] if tag.startswith(_SVG) else None
    return tag


def _hidden(element: Element) -> bool:
    style = element.get("style", "").replace(" ", "")
    return element.get("display") == "none" or "display:none" in style
