"""Takes the drawn lines out of a PDF; runs in the child process of :mod:`mockup.files.child`.

A PDF parser is a large native program that eats files from strangers, so it is imported here only. Coordinates are
mm, y up, from the page's lower left corner as it is shown.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as raw

from mockup.files.svg_path import MAX_SEGMENTS
from swatches.errors import FileFormatError

MAX_PAGES = 400
MAX_STROKE_SEGMENTS = 2 * MAX_SEGMENTS
MAX_DEPTH = 8
_MM = 25.4 / 72
_NOT_LATIN = dict(enumerate("•†‡…—–ƒ⁄‹›−‰„“”‘’‚™ﬁﬂŁŒŠŸŽıłœšž", 0x80)) | {0xA0: "€"}
Matrix = tuple[float, float, float, float, float, float]


class TooMuch(Exception):
    """A limit was passed; the text says which."""


def told(data: bytes, what: str) -> dict[str, Any]:
    """Tell a PDF's pages and lines: ``{"pages": […]}``.

    Raises:
        FileFormatError: damaged, protected by a password, or too much of anything.
    """
    try:
        return {"pages": list(_pages(data, MAX_STROKE_SEGMENTS))}
    except TooMuch as error:
        raise FileFormatError(
            what,
            expected=f"at most {MAX_PAGES} pages and {MAX_STROKE_SEGMENTS:,} segments",
            got=f"more ({error})",
            next_step="Save only the pages with the pattern",
        ) from error
    except pdfium.PdfiumError as error:
        if "password" in str(error).lower():
            raise FileFormatError(
                what,
                expected="a PDF without a password",
                got="a protected one",
                next_step="Open it with its password and save a copy without",
            ) from error
        raise FileFormatError(
            what, expected="a PDF file", got="a damaged one", next_step="Download or save it again"
        ) from error


def _pages(data: bytes, segments: int) -> Iterator[dict[str, Any]]:
    document = pdfium.PdfDocument(data)
    if len(document) > MAX_PAGES:
        raise TooMuch(f"{len(document)} pages")
    budget = [segments]
    for page in document:
        left, low, right, high = page.get_cropbox()
        turn = page.get_rotation()
        place = _upright((left, low, right, high), turn)
        width, height = (right - left, high - low) if turn % 180 == 0 else (high - low, right - left)
        found: dict[str, Any] = {"width": width * _MM, "height": height * _MM, "images": 0, "texts": 0, "strokes": []}
        count = raw.FPDFPage_CountObjects(page)
        _walk((raw.FPDFPage_GetObject(page, k) for k in range(count)), place, 0, found, budget)
        yield found


def _upright(box: tuple[float, float, float, float], turn: int) -> Matrix:
    """The map from the page's own points to mm on the page as it is shown."""
    left, low, right, high = box
    m = _MM
    return {
        0: (m, 0.0, 0.0, m, -left * m, -low * m),
        90: (0.0, -m, m, 0.0, -low * m, right * m),
        180: (-m, 0.0, 0.0, -m, right * m, high * m),
        270: (0.0, m, -m, 0.0, high * m, -left * m),
    }[turn]


def _walk(objects: Iterator[Any], place: Matrix, depth: int, found: dict[str, Any], budget: list[int]) -> None:
    if depth > MAX_DEPTH:
        raise TooMuch("forms inside forms")
    for item in objects:
        kind = raw.FPDFPageObj_GetType(item)
        if kind == raw.FPDF_PAGEOBJ_IMAGE:
            found["images"] += 1
        elif kind == raw.FPDF_PAGEOBJ_TEXT:
            found["texts"] += 1
        elif kind == raw.FPDF_PAGEOBJ_FORM:
            inner = _times(_matrix(item), place)
            count = raw.FPDFFormObj_CountObjects(item)
            _walk((raw.FPDFFormObj_GetObject(item, k) for k in range(count)), inner, depth + 1, found, budget)
        elif kind == raw.FPDF_PAGEOBJ_PATH:
            stroke = _stroke(item, place, budget)
            if stroke is not None:
                found["strokes"].append(stroke)


def _stroke(item: Any, place: Matrix, budget: list[int]) -> dict[str, Any] | None:
    """A stroked path; one that is only filled is no drawn line."""
    fill, stroked = ctypes.c_int(), raw.FPDF_BOOL()
    raw.FPDFPath_GetDrawMode(item, fill, stroked)
    count = raw.FPDFPath_CountSegments(item)
    if not stroked.value or count < 2:
        return None
    budget[0] -= count
    if budget[0] < 0:
        raise TooMuch("segments")
    matrix = _times(_matrix(item), place)
    lines: list[list[list[float]]] = []
    start = at = (0.0, 0.0)
    waiting: list[tuple[float, float]] = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for k in range(count):
        segment = raw.FPDFPath_GetPathSegment(item, k)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        point = _on(matrix, x.value, y.value)
        kind = raw.FPDFPathSegment_GetType(segment)
        if kind == raw.FPDF_SEGMENT_MOVETO:
            lines.append([])
            start = at = point
        elif kind == raw.FPDF_SEGMENT_BEZIERTO:
            waiting.append(point)
            if len(waiting) == 3:
                _add(lines, at, waiting[0], waiting[1], point)
                waiting, at = [], point
        else:
            _add_line(lines, at, point)
            at = point
        if raw.FPDFPathSegment_GetClose(segment):
            _add_line(lines, at, start)
            at = start
    return {
        "colour": _colour(item),
        "dash": _dash(item, matrix),
        "width": _width(item, matrix),
        "layer": _layer(item),
    } | {"lines": [line for line in lines if line]}


def _add(lines: list[list[list[float]]], *points: tuple[float, float]) -> None:
    if not lines:
        lines.append([])
    lines[-1].append([round(v, 6) for p in points for v in p])


def _add_line(lines: list[list[list[float]]], a: tuple[float, float], b: tuple[float, float]) -> None:
    if a != b:
        third = [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s) for s in (1 / 3, 2 / 3)]
        _add(lines, a, third[0], third[1], b)


def _matrix(item: Any) -> Matrix:
    m = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(item, m)
    return m.a, m.b, m.c, m.d, m.e, m.f


def _times(first: Matrix, then: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def _on(m: Matrix, x: float, y: float) -> tuple[float, float]:
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def _scale(m: Matrix) -> float:
    return float(abs(m[0] * m[3] - m[1] * m[2]) ** 0.5)


def _colour(item: Any) -> str:
    r, g, b, a = (ctypes.c_uint() for _ in range(4))
    raw.FPDFPageObj_GetStrokeColor(item, r, g, b, a)
    return f"#{r.value:02x}{g.value:02x}{b.value:02x}"


def _width(item: Any, matrix: Matrix) -> float:
    width = ctypes.c_float()
    raw.FPDFPageObj_GetStrokeWidth(item, width)
    return round(width.value * _scale(matrix), 2)


def _dash(item: Any, matrix: Matrix) -> list[float]:
    count = raw.FPDFPageObj_GetDashCount(item)
    if count <= 0:
        return []
    values = (ctypes.c_float * count)()
    raw.FPDFPageObj_GetDashArray(item, values, count)
    return [round(v * _scale(matrix), 1) for v in values]


def _layer(item: Any) -> str:
    """The name of the layer (optional content) that an object belongs to, or empty."""
    for k in range(raw.FPDFPageObj_CountMarks(item)):
        mark = raw.FPDFPageObj_GetMark(item, k)
        if _said(raw.FPDFPageObjMark_GetName, mark) == "OC":
            return _layer_name(mark)
    return ""


def _layer_name(mark: Any) -> str:
    """A layer's name from its bytes: the library's own text call loses everything that is not ASCII."""
    size = ctypes.c_ulong()
    raw.FPDFPageObjMark_GetParamBlobValue(mark, b"Name", None, 0, size)
    if not 0 < size.value < 1000:
        return ""
    buffer = (ctypes.c_ubyte * size.value)()
    raw.FPDFPageObjMark_GetParamBlobValue(mark, b"Name", buffer, size.value, size)
    return text_string(bytes(buffer))


def text_string(data: bytes) -> str:
    """Decode a text string: UTF-16 with its mark, else PDFDocEncoding (ISO 32000-1, annex D.2)."""
    if data[:2] == b"\xfe\xff":
        return data[2:].decode("utf-16-be", "replace")
    return data.decode("latin-1").translate(_NOT_LATIN)


def _said(ask: Any, *about: Any) -> str:
    """Ask the library for a text: first how long it is, then for it (UTF-16)."""
    size = ctypes.c_ulong()
    if not ask(*about, None, 0, size) or not 2 < size.value < 2000:
        return ""
    buffer = (ctypes.c_ushort * (size.value // 2))()
    ask(*about, buffer, size.value, size)
    return bytes(buffer).decode("utf-16-le", errors="replace").rstrip("\x00")
