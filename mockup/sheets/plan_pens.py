"""Two pens for the lay plan, one for SVG and one for PDF: mm of paper, x to the right, y down."""

from __future__ import annotations

import base64
import html
import io
from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from mockup.geometry.path import Floats
from mockup.sheets.looks import BOLD, REGULAR, use_fonts
from swatches.photo import jpeg_bytes

PT_PER_MM = 72 / 25.4


class PlanPen(Protocol):
    """What a lay plan is drawn with. Colours are '#rrggbb', or empty for none; sizes are mm of paper."""

    def shape(self, rings: Sequence[Floats], fill: str, stroke: str, width: float, *, cover: float = 1.0) -> None:
        """Draw closed rings, holes cut out of them; ``cover`` is how much of what lies below the fill hides, 0 to 1."""

    def lines(self, strokes: Sequence[Floats], colour: str, width: float) -> None:
        """Draw open lines."""

    def words(
        self, text: str, x: float, y: float, size: float, colour: str, *, bold: bool = False, middle: bool = False,
        halo: str = "",
    ) -> None:  # fmt: skip
        """Write a line of text, ``y`` its base line; ``halo`` is the colour round the letters."""

    def picture(self, rgb: NDArray[np.uint8], corners: Floats, within: Sequence[Floats]) -> None:
        """Lay a picture by its upper left, upper right and lower left corner, shape (3, 2), seen within rings."""


class SvgPen:
    """Writes the elements of an SVG into ``parts``."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self._clips = 0

    def shape(self, rings: Sequence[Floats], fill: str, stroke: str, width: float, *, cover: float = 1.0) -> None:
        """Draw closed rings."""
        opacity = f' fill-opacity="{num(cover)}"' if cover < 1 else ""
        line = f' stroke="{stroke}" stroke-width="{num(width)}"' if stroke else ""
        self.parts.append(f'<path d="{_d(rings)}" fill="{fill or "none"}" fill-rule="evenodd"{opacity}{line}/>')

    def lines(self, strokes: Sequence[Floats], colour: str, width: float) -> None:
        """Draw open lines."""
        d = "".join("M" + "L".join(f"{num(x)} {num(y)}" for x, y in s) for s in strokes)
        self.parts.append(
            f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{num(width)}" stroke-linecap="round"/>'
        )

    def words(
        self, text: str, x: float, y: float, size: float, colour: str, *, bold: bool = False, middle: bool = False,
        halo: str = "",
    ) -> None:  # fmt: skip
        """Write a line of text."""
        look = ' font-weight="700"' if bold else ""
        look += ' text-anchor="middle"' if middle else ""
        look += f' stroke="{halo}" stroke-width="{num(0.3 * size)}" paint-order="stroke"' if halo else ""
        self.parts.append(
            f'<text x="{num(x)}" y="{num(y)}" font-size="{num(size)}" fill="{colour}"{look}>'
            f"{html.escape(_plain(text))}</text>"
        )

    def picture(self, rgb: NDArray[np.uint8], corners: Floats, within: Sequence[Floats]) -> None:
        """Lay a picture, as a JPEG inside the file."""
        self._clips += 1
        self.parts.append(f'<clipPath id="cloth-{self._clips}"><path d="{_d(within)}" clip-rule="evenodd"/></clipPath>')
        h, w = rgb.shape[:2]
        (ax, ay), (bx, by), (cx, cy) = corners
        m = " ".join(num(v, 6) for v in ((bx - ax) / w, (by - ay) / w, (cx - ax) / h, (cy - ay) / h, ax, ay))
        data = base64.b64encode(jpeg_bytes(rgb, quality=82)).decode("ascii")
        self.parts.append(
            f'<g clip-path="url(#cloth-{self._clips})"><image width="{w}" height="{h}" transform="matrix({m})"'
            f' href="data:image/jpeg;base64,{data}"/></g>'
        )


class PdfPen:
    """Draws on a canvas of the PDF library, a page of ``height`` mm."""

    def __init__(self, canvas: Canvas, height: float) -> None:
        use_fonts()
        self.canvas, self.height = canvas, height

    def shape(self, rings: Sequence[Floats], fill: str, stroke: str, width: float, *, cover: float = 1.0) -> None:
        """Draw closed rings."""
        path = self.canvas.beginPath()
        for ring in rings:
            self._run(path, ring)
            path.close()
        self.canvas.saveState()
        if fill:
            self.canvas.setFillColor(fill)
            self.canvas.setFillAlpha(cover)
        if stroke:
            self.canvas.setStrokeColor(stroke)
            self.canvas.setLineWidth(width * PT_PER_MM)
        self.canvas.drawPath(path, stroke=int(bool(stroke)), fill=int(bool(fill)), fillMode=0)
        self.canvas.restoreState()

    def lines(self, strokes: Sequence[Floats], colour: str, width: float) -> None:
        """Draw open lines."""
        path = self.canvas.beginPath()
        for stroke in strokes:
            self._run(path, stroke)
        self.canvas.setStrokeColor(colour)
        self.canvas.setLineWidth(width * PT_PER_MM)
        self.canvas.setLineCap(1)
        self.canvas.drawPath(path, stroke=1, fill=0)

    def words(
        self, text: str, x: float, y: float, size: float, colour: str, *, bold: bool = False, middle: bool = False,
        halo: str = "",
    ) -> None:  # fmt: skip
        """Write a line of text."""
        c = self.canvas
        font, plain = (BOLD if bold else REGULAR), _plain(text)
        left = x * PT_PER_MM - (c.stringWidth(plain, font, size * PT_PER_MM) / 2 if middle else 0.0)
        at = left, (self.height - y) * PT_PER_MM
        for mode, ink in ((1, halo), (0, colour)) if halo else ((0, colour),):
            c.saveState()
            run = c.beginText(*at)
            run.setFont(font, size * PT_PER_MM)
            run.setTextRenderMode(mode)
            if mode:
                c.setStrokeColor(ink)
                c.setLineWidth(0.3 * size * PT_PER_MM)
            run.setFillColor(ink)
            run.textOut(plain)
            c.drawText(run)
            c.restoreState()

    def picture(self, rgb: NDArray[np.uint8], corners: Floats, within: Sequence[Floats]) -> None:
        """Lay a picture."""
        (ax, ay), (bx, by), (cx, cy) = ((x * PT_PER_MM, (self.height - y) * PT_PER_MM) for x, y in corners)
        c = self.canvas
        c.saveState()
        window = c.beginPath()
        for ring in within:
            self._run(window, ring)
            window.close()
        c.clipPath(window, stroke=0, fill=0, fillMode=0)
        # the unit square, y up, is what the library draws a picture into: its origin is the lower left corner
        c.transform(bx - ax, by - ay, ax - cx, ay - cy, cx, cy)
        c.drawImage(ImageReader(io.BytesIO(jpeg_bytes(rgb, quality=82))), 0, 0, 1, 1)
        c.restoreState()

    def _run(self, path: Any, points: Floats) -> None:
        for k, (x, y) in enumerate(points):
            (path.lineTo if k else path.moveTo)(float(x) * PT_PER_MM, (self.height - float(y)) * PT_PER_MM)


def _d(rings: Sequence[Floats]) -> str:
    """Closed rings as the ``d`` of an SVG path."""
    return "".join("M" + "L".join(f"{num(x)} {num(y)}" for x, y in ring) + "Z" for ring in rings)


def num(value: float, digits: int = 2) -> str:
    """A number as short as it can be written."""
    return f"{value:.{digits}f}".rstrip("0").rstrip(".") if "." in f"{value:.{digits}f}" else f"{value:.0f}"


def _plain(text: str) -> str:
    return "".join(c for c in text if c.isprintable())
