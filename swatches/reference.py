"""The reference sheet: what is printed on it, as a PDF at 1:1 and as a raster.

Four square markers in the corners give scale, tilt and lens distortion; a grey ramp and the bare paper give white
balance and evenness; a ruler lets a person verify the print. Cloth is laid in the frame. A second page of the same
markers, larger and to be cut apart, serves as loose cards around remnants and paper pieces of half a metre and more.

Sheet coordinates are mm from the top left corner of the paper, y down. Everything printed is an upright rectangle or a
line of text, so that both pens draw the same thing.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from swatches.colour import linear_to_srgb8, srgb_to_linear
from swatches.errors import InputError
from swatches.lettering import BOLD, REGULAR, font

Paper = Literal["A4", "Letter"]
PAPERS: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height in mm: ISO 216 A4; US Letter 8½ × 11 in."""

DICTIONARY = cv2.aruco.DICT_5X5_50
"""Five by five bits: any two of its markers differ in at least 8 bits, so that checked cloth is not taken for one."""
MODULES = 7
SHEET_IDS: dict[str, tuple[int, int, int, int]] = {"A4": (0, 1, 2, 3), "Letter": (4, 5, 6, 7)}
"""Marker ids at the top left, top right, bottom right and bottom left corner of the sheet."""
CARD_IDS = (8, 9, 10, 11)
MARKER_MM = 24.5
CARD_MARKER_MM = 63.0
INSET_MM = 9.0
BAR_MM = 100.0
"""Length of the bar that a person measures to verify the print."""
PAPER_REFLECTANCE = 0.876
"""Reflectance taken for bare paper: L* 95, as white office and printing paper (our own choice)."""

RAMP_GREYS = (232, 205, 175, 144, 112, 78, 44, 0)
"""sRGB code values of the ramp's steps, light to dark."""
_RAMP_STEP = 14.0
_RAMP_TOP, _RAMP_HIGH = 11.0, 13.0
_PT = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Rect:
    """A filled upright rectangle: left, top, right, bottom in mm; grey as an sRGB code value."""

    box: tuple[float, float, float, float]
    grey: int


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text, centred on ``x``, with its baseline at ``y`` (mm); ``high`` is the font size in mm."""

    x: float
    y: float
    high: float
    words: str
    grey: int = 0
    bold: bool = False


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a paper in mm.

    Raises:
        InputError: no such paper.
    """
    for name, size in PAPERS.items():
        if paper.lower() == name.lower():
            return size
    raise InputError("paper", expected="A4 or Letter", got=repr(paper), next_step="Choose one of the two")


def marker_corners(paper: str) -> dict[int, NDArray[np.float64]]:
    """Corners of each marker of a sheet in mm, y down, clockwise from its top left: id → shape (4, 2)."""
    width, height = paper_size(paper)
    far_x, far_y = width - INSET_MM - MARKER_MM, height - INSET_MM - MARKER_MM
    places = ((INSET_MM, INSET_MM), (far_x, INSET_MM), (far_x, far_y), (INSET_MM, far_y))
    return {i: square(place, MARKER_MM) for i, place in zip(SHEET_IDS[_name(paper)], places, strict=True)}


def field(paper: str) -> tuple[float, float, float, float]:
    """The frame in which the cloth is laid: left, top, right, bottom in mm."""
    width, height = paper_size(paper)
    return 15.0, 41.0, width - 15.0, height - 41.0


def ramp_boxes(paper: str) -> list[tuple[float, float, float, float]]:
    """Boxes (left, top, right, bottom, mm) of the ramp's steps, in the order of :data:`RAMP_GREYS`."""
    left = paper_size(paper)[0] / 2 - _RAMP_STEP * len(RAMP_GREYS) / 2
    return [
        (left + i * _RAMP_STEP, _RAMP_TOP, left + (i + 1) * _RAMP_STEP, _RAMP_TOP + _RAMP_HIGH)
        for i in range(len(RAMP_GREYS))
    ]


def square(place: tuple[float, float], size: float) -> NDArray[np.float64]:
    """Corners of a square, clockwise from its top left (y down), shape (4, 2)."""
    x, y = place
    return np.array([[x, y], [x + size, y], [x + size, y + size], [x, y + size]])


@lru_cache(maxsize=4)
def sheet_drawing(paper: str) -> tuple[Rect | Text, ...]:
    """Everything printed on a reference sheet, in drawing order."""
    width, height = paper_size(paper)
    marks: list[Rect | Text] = []
    for marker_id, corners in marker_corners(paper).items():
        marks += _marker(marker_id, tuple(corners[0]), MARKER_MM)
    ramp = ramp_boxes(paper)
    ramp_end = ramp[-1][2]  # each step reaches under the next ones, so that no paper shines between them
    marks += [Rect((box[0], box[1], ramp_end, box[3]), grey) for box, grey in zip(ramp, RAMP_GREYS, strict=True)]
    middle = width / 2
    marks.append(Text(middle, 30.2, 3.6, "Smooth the cloth inside the frame, selvedge up and down, right side up."))
    marks.append(Text(middle, 34.6, 3.6, "Daylight, no flash. From straight above, all four corners in the photo."))
    left, top, right, bottom = field(paper)
    marks += _frame((left, top, right, bottom), 0.3, 190)
    marks.append(Text(middle, (top + bottom) / 2 - 4, 11, "lay the cloth here", 226))
    marks.append(Text(middle, (top + bottom) / 2 + 6, 5, "the photo tells its colour, size and repeat", 226))
    marks += _ruler(middle - BAR_MM / 2, height - 26.5)
    marks.append(Text(middle, height - 10.2, 3.4, f"{_name(paper)}. This bar is 100 mm when printed at 100 %."))
    return tuple(marks)


def sheet_pdf(paper: str) -> bytes:
    """The reference sheet as a PDF at 1:1; viewers are asked not to scale it. The same bytes every time."""
    return _pdf(paper, [sheet_drawing(_name(paper))], "Reference sheet for photos of cloth")


def cards_pdf(paper: str) -> bytes:
    """Four loose marker cards on one page at 1:1, to be cut apart."""
    return _pdf(paper, [cards_drawing(_name(paper))], "Marker cards for photos of large pieces of cloth")


@lru_cache(maxsize=8)
def sheet_picture(paper: str, mm_per_px: float) -> NDArray[np.uint8]:
    """The reference sheet as a raster, shape (h, w), sRGB grey; 255 is bare paper.

    Paper reflects :data:`PAPER_REFLECTANCE` of the light: multiply the linear values by it to render a photo of the
    sheet. Edges are anti-aliased in linear light. The array is read-only.
    """
    picture = drawing_picture(sheet_drawing(_name(paper)), paper_size(paper), mm_per_px)
    picture.flags.writeable = False
    return picture


def card_picture(marker_id: int, mm_per_px: float) -> NDArray[np.uint8]:
    """One loose card of 80 × 80 mm as a raster, its marker in the middle, shape (h, w), sRGB grey."""
    inset = (80.0 - CARD_MARKER_MM) / 2
    return drawing_picture(_marker(marker_id, (inset, inset), CARD_MARKER_MM), (80.0, 80.0), mm_per_px)


@lru_cache(maxsize=4)
def cards_drawing(paper: str) -> tuple[Rect | Text, ...]:
    """Everything printed on the page of loose cards."""
    width, height = paper_size(paper)
    marks: list[Rect | Text] = []
    for i, marker_id in enumerate(CARD_IDS):
        cx, cy = width / 2 + (-44 if i % 2 == 0 else 44), 58 + 92 * (i // 2)
        marks += _frame((cx - 40, cy - 40, cx + 40, cy + 40), 0.2, 150)
        marks += _marker(marker_id, (cx - CARD_MARKER_MM / 2, cy - CARD_MARKER_MM / 2), CARD_MARKER_MM)
        marks.append(Text(cx, cy + 37.2, 3.6, f"card {i + 1}", 90))
    middle = width / 2
    marks.append(Text(middle, 206, 4.2, "Cut along the thin lines. Lay the cards flat around the cloth.", 0, True))
    marks.append(
        Text(middle, 212, 3.8, "Measure with a tape from the middle of card 1 to the middle of card 2, and type it.")
    )
    marks += _ruler(middle - BAR_MM / 2, min(height - 40, 226))
    marks.append(Text(middle, min(height - 40, 226) + 16.3, 3.4, "This bar is 100 mm when printed at 100 %."))
    return tuple(marks)


def drawing_picture(
    marks: tuple[Rect | Text, ...] | list[Rect | Text], size_mm: tuple[float, float], mm_per_px: float
) -> NDArray[np.uint8]:
    """Draw marks on white paper, shape (h, w), sRGB grey, exact coverage at edges."""
    if not 0.02 <= mm_per_px <= 10:
        raise InputError(
            "mm per pixel", expected="0.02 to 10", got=str(mm_per_px), next_step="Choose a scale in that range"
        )
    columns, rows = (round(s / mm_per_px) for s in size_mm)
    paper = np.ones((rows, columns))
    for grey, group in groupby(marks, key=lambda mark: mark.grey if isinstance(mark, Rect) else None):
        if grey is None:
            for mark in group:
                if isinstance(mark, Text):
                    _letter(paper, mark, mm_per_px)
        else:  # neighbours of one grey are added up before they are laid on, or hairlines would show between them
            cover = np.zeros((rows, columns))
            for mark in group:
                if isinstance(mark, Rect):
                    _add_cover(cover, mark, mm_per_px)
            paper += (float(srgb_to_linear(np.array(grey / 255))) - paper) * np.minimum(cover, 1)
    return linear_to_srgb8(paper)


def _marker(marker_id: int, place: tuple[float, float], size: float) -> list[Rect | Text]:
    bits = cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(DICTIONARY), marker_id, MODULES)
    step = size / MODULES
    x, y = place
    marks: list[Rect | Text] = [Rect((x, y, x + size, y + size), 0)]
    for row, column in zip(*np.nonzero(bits), strict=True):
        left, top = x + float(column) * step, y + float(row) * step
        marks.append(Rect((left, top, left + step, top + step), 255))
    return marks


def _frame(box: tuple[float, float, float, float], thick: float, grey: int) -> list[Rect | Text]:
    left, top, right, bottom = box
    return [
        Rect((left, top, right, top + thick), grey),
        Rect((left, bottom - thick, right, bottom), grey),
        Rect((left, top, left + thick, bottom), grey),
        Rect((right - thick, top, right, bottom), grey),
    ]


def _ruler(x: float, y: float) -> list[Rect | Text]:
    marks: list[Rect | Text] = [Rect((x, y, x + BAR_MM, y + 1.2), 0)]
    for i in range(101):
        long = 5.5 if i % 10 == 0 else 4.2 if i % 5 == 0 else 3.0
        thick = 0.25 if i % 5 == 0 else 0.15
        middle = x + i + (thick / 2 if i == 0 else -thick / 2 if i == 100 else 0)
        marks.append(Rect((middle - thick / 2, y + 1.2, middle + thick / 2, y + 1.2 + long), 0))
        if i % 10 == 0:
            marks.append(Text(x + i, y + 10.2, 3.4, f"{i}"))
    return marks


def _add_cover(cover: NDArray[np.float64], mark: Rect, mm_per_px: float) -> None:
    rows, columns = cover.shape
    left, top, right, bottom = (v / mm_per_px for v in mark.box)
    x0, x1 = max(int(left), 0), min(int(np.ceil(right)), columns)
    y0, y1 = max(int(top), 0), min(int(np.ceil(bottom)), rows)
    cover[y0:y1, x0:x1] += np.outer(_cover(top, bottom, y0, y1), _cover(left, right, x0, x1))


def _cover(start: float, end: float, first: int, last: int) -> NDArray[np.float64]:
    cells = np.arange(first, last)
    return np.asarray(np.clip(np.minimum(cells + 1, end) - np.maximum(cells, start), 0, 1), np.float64)


def _letter(paper: NDArray[np.float64], text: Text, mm_per_px: float) -> None:
    over = 4
    size = max(1, round(text.high / mm_per_px * over))
    face = font(size, bold=text.bold)
    wide = int(np.ceil(face.getlength(text.words) / over)) + 2
    high = int(np.ceil(size * 1.6 / over))
    left, top = round(text.x / mm_per_px - wide / 2), round(text.y / mm_per_px - high * 0.75)
    canvas_ = Image.new("L", (wide * over, high * over), 0)
    anchor = (wide * over / 2 + (text.x / mm_per_px - wide / 2 - left) * over, (text.y / mm_per_px - top) * over)
    ImageDraw.Draw(canvas_).text(anchor, text.words, fill=255, font=face, anchor="ms")
    cover = np.asarray(canvas_, np.float64).reshape(high, over, wide, over).mean(axis=(1, 3)) / 255
    rows, columns = paper.shape
    y0, y1, x0, x1 = max(top, 0), min(top + high, rows), max(left, 0), min(left + wide, columns)
    part = cover[y0 - top : y1 - top, x0 - left : x1 - left]
    grey = float(srgb_to_linear(np.array(text.grey / 255)))
    paper[y0:y1, x0:x1] += (grey - paper[y0:y1, x0:x1]) * part


def _pdf(paper: str, pages: list[tuple[Rect | Text, ...]], title: str) -> bytes:
    from reportlab import rl_config
    from reportlab.pdfbase import pdfmetrics  # here: who only reads photos of the sheet need not wait for it
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen import canvas

    rl_config.useA85 = 0  # streams as they are, not as letters, wherever this program writes a PDF
    width, height = paper_size(paper)
    for name, file in (("Alegreya", REGULAR), ("Alegreya-Bold", BOLD)):
        pdfmetrics.registerFont(TTFont(name, str(file)))
    out = io.BytesIO()
    pen = canvas.Canvas(out, pagesize=(width * _PT, height * _PT), invariant=1)
    pen.setTitle(title)
    pen.setViewerPreference("PrintScaling", "None")
    for marks in pages:
        for mark in marks:
            pen.setFillGray(mark.grey / 255)
            if isinstance(mark, Rect):
                left, top, right, bottom = mark.box
                pen.rect(left * _PT, (height - bottom) * _PT, (right - left) * _PT, (bottom - top) * _PT, 0, 1)
            else:
                pen.setFont("Alegreya-Bold" if mark.bold else "Alegreya", mark.high * _PT)
                pen.drawCentredString(mark.x * _PT, (height - mark.y) * _PT, mark.words)
        pen.showPage()
    pen.save()
    return out.getvalue()


def _name(paper: str) -> str:
    paper_size(paper)
    return next(name for name in PAPERS if name.lower() == paper.lower())
