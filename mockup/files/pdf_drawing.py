"""What a PDF draws: its pages and its stroked lines by pen, read in a child process with limits.

A *pen* is everything that tells one kind of line from another: layer, colour, dash and width. Patterns draw each size
with its own pen, so a person chooses by it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath

import numpy as np

from mockup.files import child
from mockup.files.given import clean, read_limited
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from swatches.errors import FileFormatError

MAX_BYTES = 80_000_000
_PHOTO = "Photograph or scan the paper piece on the reference sheet instead"


@dataclass(frozen=True, slots=True, order=True)
class Pen:
    """One kind of line: layer name or empty, colour '#rrggbb', dash lengths (mm, empty: solid), width (mm)."""

    layer: str
    colour: str
    dash: tuple[float, ...]
    width: float

    def __str__(self) -> str:
        """Describe the pen in the person's words."""
        kind = "dashed " + "-".join(f"{d:g}" for d in self.dash) if self.dash else "solid"
        return f"{kind}, {self.colour}, {self.width:g} mm" + (f", layer {self.layer}" if self.layer else "")


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One connected drawn line: its pen, its page (from 0), its path in mm on that page, y up."""

    pen: Pen
    page: int
    path: Path


@dataclass(frozen=True, slots=True)
class PenUse:
    """How much a pen draws: number of lines, their length in mm, number of pages."""

    pen: Pen
    lines: int
    length_mm: float
    pages: int


@dataclass(frozen=True, slots=True, eq=False)
class PdfDrawing:
    """What a PDF draws.

    Attributes:
        sizes: width and height of every page, mm.
        strokes: all lines, in the file's order.
    """

    sizes: tuple[tuple[float, float], ...]
    strokes: tuple[Stroke, ...]

    def pens(self) -> tuple[PenUse, ...]:
        """The pens, the one with the longest lines in all first."""
        found: dict[Pen, list[Stroke]] = {}
        for stroke in self.strokes:
            found.setdefault(stroke.pen, []).append(stroke)
        uses = [
            PenUse(pen, len(s), sum(float(chord_length(x.path)) for x in s), len({x.page for x in s}))
            for pen, s in found.items()
        ]
        return tuple(sorted(uses, key=lambda u: (-u.length_mm, u.pen)))


def chord_length(path: Path) -> float:
    """Length of the control polygon: a bound that is cheap, and near enough to tell long lines from short ones."""
    return float(np.linalg.norm(np.diff(path.cubics, axis=1), axis=2).sum())


def read_drawing(source: FilePath | bytes, *, seconds: int = child.SECONDS) -> PdfDrawing:
    """Read the lines of a PDF.

    Args:
        source: the file, or its bytes.
        seconds: the most that the child process may take.

    Raises:
        FileFormatError: no PDF, damaged, protected by a password, too large, or without any drawn line.
    """
    what = clean(source.name) if isinstance(source, FilePath) else "PDF file"
    data = read_limited(source, what=what, max_bytes=MAX_BYTES)
    if not data.lstrip()[:5].startswith(b"%PDF-"):
        raise FileFormatError(what, expected="a PDF file", got="something else", next_step="Choose the pattern's PDF")
    pages = child.ask("pdf", data, what=what, seconds=seconds)["pages"]
    strokes = tuple(
        Stroke(pen, k, path)
        for k, page in enumerate(pages)
        for s in page["strokes"]
        for pen in [Pen(clean(s["layer"]), str(s["colour"]), tuple(map(float, s["dash"])), float(s["width"]))]
        for path in _paths(s["lines"], what)
    )
    if not strokes:
        images = sum(int(page["images"]) for page in pages)
        raise FileFormatError(
            what,
            expected="a PDF with drawn lines",
            got="pictures of lines (a scan)" if images else "no lines",
            next_step=_PHOTO if images else "Choose the file that holds the pattern",
        )
    return PdfDrawing(tuple((float(p["width"]), float(p["height"])) for p in pages), strokes)


def _paths(lines: list[list[list[float]]], what: str) -> list[Path]:
    found = []
    for line in lines:
        cubics = np.array(line, dtype=np.float64).reshape(-1, 4, 2)
        if not np.isfinite(cubics).all():
            raise FileFormatError(what, expected="finite numbers", got="NaN or infinity", next_step="Redraw that line")
        cubics = cubics[np.abs(cubics - cubics[:, :1]).max(axis=(1, 2)) > 1e-9]
        if len(cubics):
            found.append(Path(cubics))
    return found


def bounds_of(strokes: tuple[Stroke, ...]) -> tuple[float, float, float, float]:
    """Bounding box of the control points of strokes, mm."""
    points = np.concatenate([s.path.cubics.reshape(-1, 2) for s in strokes])
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return float(left), float(low), float(right), float(high)


def moved(stroke: Stroke, by: tuple[float, float]) -> Stroke:
    """Give a stroke moved by (x, y) mm."""
    matrix = np.array([[1.0, 0.0, by[0]], [0.0, 1.0, by[1]]])
    return Stroke(stroke.pen, stroke.page, paths.transformed(stroke.path, matrix))
