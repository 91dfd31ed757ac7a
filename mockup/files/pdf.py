"""Pattern pieces out of a vector PDF: choose the pens of the wanted size, put tiled pages together, find outlines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

import numpy as np

from mockup.files.given import clean
from mockup.files.outlines import Drawn, pieces_from_lines
from mockup.files.pdf_drawing import PdfDrawing, Pen, PenUse, read_drawing
from mockup.files.pdf_pages import Tiling, assembled, tiling_by_marks
from mockup.geometry import path as paths
from mockup.pattern.piece import Piece
from swatches.errors import FileFormatError

_MOST_TRIED = 12  # kinds of line
_JOIN_MM = 0.3  # ends of lines that were cut at a page's border meet this well
_LISTED = 6


@dataclass(frozen=True, slots=True)
class Contents:
    """What a person chooses from.

    Attributes:
        pages: width and height of every page, mm.
        pens: kinds of line, the longest first; their numbers count from 1.
    """

    pages: tuple[tuple[float, float], ...]
    pens: tuple[PenUse, ...]


def look(source: FilePath | bytes) -> Contents:
    """Say which pages and which kinds of line a PDF has.

    Raises:
        FileFormatError: see :func:`mockup.files.pdf_drawing.read_drawing`.
    """
    drawing = read_drawing(source)
    return Contents(drawing.sizes, drawing.pens())


def choose(contents: Contents, layers: Sequence[str], colours: Sequence[str], dash: str = "") -> list[int]:
    """Give the numbers of the kinds of line of certain layers and colours, solid or dashed.

    Args:
        contents: what the file has.
        layers: names of layers; none: any.
        colours: '#rrggbb'; none: any.
        dash: 'solid', 'dashed', or empty for either.

    Raises:
        FileFormatError: the file has no such line.
    """
    wanted = [c.lower() for c in colours]
    found = [
        n
        for n, use in enumerate(contents.pens, 1)
        if (not layers or use.pen.layer in layers)
        and (not wanted or use.pen.colour in wanted)
        and (not dash or bool(use.pen.dash) == (dash == "dashed"))
    ]
    if not found:
        known = sorted({u.pen.layer for u in contents.pens if u.pen.layer} | {u.pen.colour for u in contents.pens})
        raise FileFormatError(
            "lines of the PDF",
            expected="a layer, colour or dash that the file has: " + ", ".join(known[:8]),
            got=", ".join(t for t in (*layers, *colours, dash) if t),
            next_step="Look at the kinds of line first",
        )
    return found


def read_pieces(
    source: FilePath | bytes,
    *,
    pens: Sequence[int] = (),
    pages: Sequence[int] = (),
    tiling: Tiling | None = None,
    scale: float = 1.0,
) -> tuple[Piece, ...]:
    """Read pattern pieces from a vector PDF.

    Args:
        source: the file, or its bytes.
        pens: numbers of the kinds of line, from 1, as :func:`look` lists them. None given: the only kind that closes.
        pages: numbers of the pages, from 1; none given: all.
        tiling: how the pages lie; None: found by the lines that neighbours share. One of columns alone, without
            overlap or margins, is completed by the marks at the pages' sides where there are any.
        scale: real mm of one printed mm, from a known length.

    Returns:
        One piece an outline, with edges from corner to corner; open lines inside are internal marks, others are
        left out.

    Raises:
        FileFormatError: no readable vector PDF, a number that does not exist, several kinds of line to choose from,
            or no closed outline.
    """
    what = clean(source.name) if isinstance(source, FilePath) else "PDF file"
    drawing = read_drawing(source)
    uses = drawing.pens()
    page_numbers = [n - 1 for n in pages] or list(range(len(drawing.sizes)))
    _check_numbers(what, "page", [n + 1 for n in page_numbers], len(drawing.sizes))
    _check_numbers(what, "kind of line", pens, len(uses))
    if pens:
        wanted = [uses[n - 1].pen for n in pens]
        return _pieces(drawing, page_numbers, tiling, wanted, scale, what)
    fitting = []
    for use in uses[:_MOST_TRIED]:
        try:
            fitting.append(_pieces(drawing, page_numbers, tiling, [use.pen], scale, what))
        except FileFormatError as error:
            if len(uses) == 1:
                raise error from None
    if len(fitting) != 1:
        listed = "; ".join(f"{k + 1}: {u.pen}" for k, u in enumerate(uses[:_LISTED]))
        raise FileFormatError(
            what,
            expected="one kind of line that closes, or a choice",
            got=f"{len(uses)} kinds ({listed}{' …' if len(uses) > _LISTED else ''})",
            next_step="Say which kinds of line draw the wanted size",
        )
    return fitting[0]


def _pieces(
    drawing: PdfDrawing, pages: Sequence[int], tiling: Tiling | None, pens: Sequence[Pen], scale: float, what: str
) -> tuple[Piece, ...]:
    if tiling is not None and tiling.overlap_mm == (0.0, 0.0) and tiling.margins_mm == (0.0,) * 4:
        tiling = tiling_by_marks(drawing, pages, tiling.columns) or tiling
    together = assembled(drawing, pages, tiling)
    grow = np.array([[scale, 0.0, 0.0], [0.0, scale, 0.0]])
    lines = [Drawn(paths.transformed(s.path, grow)) for s in together if s.pen in pens]
    return pieces_from_lines(lines, what=what, gap_mm=_JOIN_MM, strangers=True)


def _check_numbers(what: str, kind: str, numbers: Sequence[int], count: int) -> None:
    for n in numbers:
        if not 1 <= n <= count:
            raise FileFormatError(
                what, expected=f"a {kind} from 1 to {count}", got=str(n), next_step="Look at what the file has"
            )
