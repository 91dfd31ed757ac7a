"""The drawn lines of an SVG file from a stranger, in px, y down, with their widths and dashes.

A DOCTYPE, entities, scripts, event handlers and anything outside the file are refused by name, before any number is
read; nothing is ever fetched. Size, depth, elements and points are limited, so that ``use`` cannot multiply without
end. Shapes, path data and transforms are read by svgelements; styles by attributes, ``style`` and simple class rules.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np
import svgelements
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from swatches.errors import PictureError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element  # noqa: TID251  for its type only; defusedxml does the reading

MAX_BYTES = 12_000_000
MAX_DEPTH = 40
MAX_ELEMENTS = 20_000
MAX_SEGMENTS = 60_000
_WORKING = (900.0, 4200.0)  # px on the long side; smaller and larger drawings are scaled to 2000
_LIVE = {
    "script", "foreignobject", "iframe", "object", "embed", "handler", "listener", "animate", "set", "audio", "video",
    "animatemotion", "animatetransform", "discard", "image", "feimage",
}  # fmt: skip
_UNDRAWN = {"defs", "clippath", "mask", "pattern", "marker", "symbol", "lineargradient", "radialgradient", "filter",
            "metadata", "title", "desc", "style", "text"}  # fmt: skip
_OUTSIDE = re.compile(r"@import|url\(\s*['\"]?\s*(?!['\"]?#)|expression\s*\(|javascript:", re.IGNORECASE)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_SHAPES = {
    "path": svgelements.Path,
    "rect": svgelements.Rect,
    "circle": svgelements.Circle,
    "ellipse": svgelements.Ellipse,
    "polygon": svgelements.Polygon,
    "polyline": svgelements.Polyline,
    "line": svgelements.SimpleLine,
}
_STYLE = ("stroke", "stroke-width", "stroke-dasharray", "fill", "display", "visibility")


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One connected drawn line.

    Attributes:
        path: px, y down.
        width: px; 0 for the edge of a filled shape without a line.
        dashes: lengths of dashes and gaps, px, empty for a solid line.
    """

    path: Path
    width: float
    dashes: tuple[float, ...] = ()


def read_lines(source: FilePath | str | bytes, *, what: str = "drawing") -> tuple[tuple[Stroke, ...], tuple[int, int]]:
    """Read the lines of an SVG file.

    Returns:
        The lines, and the picture's width and height in px.

    Raises:
        PictureError: missing, too large, not an SVG, something live or outside the file in it, or no lines.
    """
    root = _parsed(_bytes(source, what), what)
    _refuse_live(root, what)
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
        self.rules = _rules(root)
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
        if tag in _SHAPES:
            self._shape(element, tag, matrix, style)
        elif tag == "use":
            self._use(element, matrix, style, depth)
        else:
            for child in element:
                if isinstance(child.tag, str):
                    self.go(child, matrix, style, depth + 1)

    def _styled(self, element: Element, tag: str, inherited: dict[str, str]) -> dict[str, str]:
        style = {k: v for k, v in inherited.items() if k != "display"}
        style |= {k: element.get(k, "").strip() for k in _STYLE if element.get(k)}
        names = [tag, *(f".{c}" for c in element.get("class", "").split()), f"#{element.get('id', '')}"]
        for name in names:
            style |= self.rules.get(name, {})
        return style | _declarations(element.get("style", ""))

    def _use(self, element: Element, matrix: Floats, style: dict[str, str], depth: int) -> None:
        href = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
        target = self.by_id.get(href.lstrip("#"))
        if target is None:
            return
        x, y = (_number(element.get(k, "0")) for k in ("x", "y"))
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
        try:
            shape = _SHAPES[tag](own.get("d", "")) if tag == "path" else _SHAPES[tag](own)
            if tag != "path":
                shape.render(ppi=96)
            segments = list(svgelements.Path(shape))
            parts = _connected(segments)
        except (ValueError, TypeError, IndexError, AttributeError, ZeroDivisionError, OverflowError) as error:
            raise _bad(self.what, f"a {tag} in numbers", str(own), "Save it as plain SVG again") from error
        grow = float(np.sqrt(abs(np.linalg.det(matrix[:2, :2]))))
        width = _number(style.get("stroke-width", "1")) * grow if lined else 0.0
        dashes = tuple(v * grow for v in _dashes(style.get("stroke-dasharray", ""))) if lined else ()
        for cubics in parts:
            self.segments += len(cubics)
            if self.segments > MAX_SEGMENTS:
                raise _bad(self.what, f"at most {MAX_SEGMENTS:,} points", "more", "Save it with fewer points")
            with np.errstate(over="ignore", invalid="ignore"):
                placed = cubics @ matrix[:2, :2].T + matrix[:2, 2]
            if not np.isfinite(placed).all() or np.abs(placed).max() > 1e7:
                raise _bad(self.what, "finite numbers", "numbers too large", "Save it as plain SVG again")
            self.found.append(Stroke(Path(placed), width, dashes))

    def _matrix(self, text: str) -> Floats:
        try:
            m = svgelements.Matrix(text)
            m.render(ppi=96)
            matrix = np.array([[m.a, m.c, m.e], [m.b, m.d, m.f], [0.0, 0.0, 1.0]], np.float64)
        except (ValueError, TypeError, IndexError, AttributeError) as error:
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


def _connected(segments: list[object]) -> list[Floats]:
    """Turn a parsed path into connected rows of cubics, shape (n, 4, 2) each."""
    groups: list[list[list[tuple[float, float]]]] = [[]]
    for s in segments:
        if isinstance(s, svgelements.Move):
            groups.append([])
        elif isinstance(s, svgelements.Arc):
            for c in s.as_cubic_curves():
                groups[-1].append([(p.x, p.y) for p in (c.start, c.control1, c.control2, c.end)])
        elif isinstance(s, svgelements.CubicBezier):
            groups[-1].append([(p.x, p.y) for p in (s.start, s.control1, s.control2, s.end)])
        elif isinstance(s, svgelements.QuadraticBezier):
            a, q, b = (np.array([p.x, p.y]) for p in (s.start, s.control, s.end))
            groups[-1].append([tuple(p) for p in (a, a + (q - a) * 2 / 3, b + (q - b) * 2 / 3, b)])
        elif isinstance(s, svgelements.Line | svgelements.Close) and s.start is not None and s.end is not None:
            a, b = np.array([s.start.x, s.start.y]), np.array([s.end.x, s.end.y])
            groups[-1].append([tuple(p) for p in (a, a + (b - a) / 3, a + (b - a) * 2 / 3, b)])
            if isinstance(s, svgelements.Close):
                groups.append([])
    found = []
    for group in groups:
        if group:
            cubics = np.array(group, np.float64)
            cubics = cubics[np.abs(cubics - cubics[:, :1]).max(axis=(1, 2)) > 1e-9]
            if len(cubics):
                found.append(cubics)
    return found


def dashed(stroke: Stroke) -> list[Floats]:
    """Cut a line into its dashes, polylines (n, 2) px; a solid line is one."""
    flat = paths.flatten(stroke.path, 0.05).points
    if not stroke.dashes or sum(stroke.dashes) <= 0.5:
        return [flat]
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))]
    pattern = stroke.dashes * (2 if len(stroke.dashes) % 2 else 1)
    made: list[Floats] = []
    at, i = 0.0, 0
    while at < along[-1] and len(made) < 20_000:
        end = min(at + pattern[i % len(pattern)], float(along[-1]))
        if i % 2 == 0 and end > at:
            s = np.r_[at, along[(along > at) & (along < end)], end]
            made.append(np.stack([np.interp(s, along, flat[:, k]) for k in (0, 1)], axis=1))
        at, i = end if end > at else at + 1e-3, i + 1
    return made


def moved(stroke: Stroke, scale: float) -> Stroke:
    """Scale a line about the picture's corner."""
    k = np.array([[scale, 0.0, 0.0], [0.0, scale, 0.0]])
    return replace(
        stroke,
        path=paths.transformed(stroke.path, k),
        width=stroke.width * scale,
        dashes=tuple(d * scale for d in stroke.dashes),
    )


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


def _parsed(data: bytes, what: str) -> Element:
    try:
        root: Element = fromstring(data, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException as error:
        kind = "a DOCTYPE" if type(error).__name__ == "DTDForbidden" else "entities"
        raise _bad(what, "a plain SVG without DOCTYPE and entities", kind, "Save it as plain SVG") from error
    except (ParseError, ValueError, LookupError) as error:
        raise _bad(what, "an SVG file", f"no readable XML ({error})", "Save it as SVG again") from error
    if _tag(root) != "svg":
        raise _bad(what, "an SVG file", f"<{_tag(root)}>", "Save it as SVG again")
    return root


def _refuse_live(root: Element, what: str) -> None:
    """Refuse scripts, event handlers, pictures and references to anything outside the file, by name."""
    for element in root.iter():
        tag = _tag(element)
        bad = f"<{tag}>" if tag in _LIVE else ""
        for key, value in element.attrib.items():
            local = key.rpartition("}")[2].lower()
            if local.startswith("on"):
                bad = bad or f"an event handler ({local})"
            elif (local in ("href", "src", "base") and value.strip() and not value.strip().startswith("#")) or (
                local not in ("d", "points") and _OUTSIDE.search(value)
            ):
                bad = bad or f"a reference outside the file ({local})"
        if tag == "style" and _OUTSIDE.search("".join(element.itertext())):
            bad = "a style that loads from outside the file"
        if bad:
            raise _bad(what, "lines only", bad, "Save it as plain SVG without scripts, pictures and links")


def _sheet(root: Element, what: str) -> tuple[float, tuple[int, int], tuple[float, float]]:
    """Scale from user units to px, the picture's size in px, and the user point at its corner."""
    try:
        box = [float(v) for v in root.get("viewBox", "").replace(",", " ").split()]
    except ValueError as error:
        raise _bad(what, "a viewBox of four numbers", root.get("viewBox", ""), "Save it as SVG again") from error
    if len(box) != 4:
        box = [0.0, 0.0, _number(root.get("width", "")), _number(root.get("height", ""))]
    if not (np.isfinite(box).all() and 0 < box[2] < 1e7 and 0 < box[3] < 1e7 and 0.02 < box[2] / box[3] < 50):
        raise _bad(what, "a drawing with a width and a height", f"{box[2]:g} × {box[3]:g}", "Save it as SVG again")
    long = max(box[2], box[3])
    scale = 1.0 if _WORKING[0] <= long <= _WORKING[1] else 2000.0 / long
    return scale, (max(1, round(box[2] * scale)), max(1, round(box[3] * scale))), (box[0], box[1])


def _rules(root: Element) -> dict[str, dict[str, str]]:
    rules: dict[str, dict[str, str]] = {}
    for element in root.iter():
        if _tag(element) == "style":
            text = re.sub(r"/\*.*?\*/", "", "".join(element.itertext())[:200_000], flags=re.DOTALL)
            for names, body in _RULE.findall(text):
                for name in names.split(","):
                    rules.setdefault(name.strip(), {}).update(_declarations(body))
    return rules


def _declarations(text: str) -> dict[str, str]:
    pairs = (part.split(":", 1) for part in text.split(";") if ":" in part)
    return {k.strip(): v.replace("!important", "").strip() for k, v in pairs if k.strip() in _STYLE}


def _dashes(text: str) -> tuple[float, ...]:
    values = [_number(v) for v in text.replace(",", " ").split()] if text and text != "none" else []
    return tuple(values) if values and min(values) >= 0 and sum(values) > 0 else ()


def _number(text: str) -> float:
    try:
        value = svgelements.Length(text or "0").value(ppi=96)
        return float(value) if isinstance(value, int | float) and np.isfinite(value) else 0.0
    except (ValueError, TypeError, AttributeError):
        return 0.0


def _tag(element: Element) -> str:
    tag: object = element.tag
    return tag.rpartition("}")[2].lower() if isinstance(tag, str) else ""


def _bad(what: str, expected: str, got: str, next_step: str) -> PictureError:
    return PictureError(what, expected=expected, got=got, next_step=next_step)
