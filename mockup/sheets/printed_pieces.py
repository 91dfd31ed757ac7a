"""Pattern pieces on paper at full size: a first page, then the sheets that have something on them.

Neighbouring sheets overlap by 10 mm. Each join carries two circles with a cross, printed on both sheets, and the names
of the two; laid circle on circle the drawing is whole. The file asks the printer not to scale it, and the first page
lets the person check that it did not. The same pieces give the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping, Sequence

from reportlab.pdfgen.canvas import Canvas

from mockup.files.given import clean
from mockup.pattern.piece import Piece
from mockup.sheets.first_page import FirstPage
from mockup.sheets.looks import BOLD, PAPER, REGULAR, Look, shortened, use_fonts
from mockup.sheets.packing import Plan, plan
from mockup.sheets.papers import OVERLAP_MM, Paper, Tile, paper
from mockup.sheets.piece_pen import PiecePen, Printed, made_ready
from mockup.sheets.seams import seam_letters
from swatches.errors import InputError
from swatches.job import QUIET, Job, Part, check

MAX_PIECES = 500
PT_PER_MM = 72 / 25.4
_AROUND = 30.0  # mm round a piece that its drawing may reach


def pieces_pdf(
    pieces: Sequence[Piece],
    *,
    paper: str = "A4",
    title: str = "Pattern pieces",
    date: str = "",
    note: str = "",
    fabric_names: Mapping[str, str] | None = None,
    one_way: Collection[str] = (),
    job: Job = QUIET,
) -> bytes:
    """Print pieces at 1:1.

    Args:
        pieces: at least one, on their stitch lines.
        paper: 'A4', 'Letter', 'A0', 'roll36' or 'projector'.
        title: the project's name.
        date: the project's date as it shall be shown.
        note: one more line under the title, such as that the garment is an invented example.
        fabric_names: fabric id → the person's name for it.
        one_way: ids of fabrics that must lie one way up: their grainlines have one head.
        job: progress.

    Returns:
        The PDF.

    Raises:
        InputError: no piece, too many, or an unknown paper.
        GeometryError: a cut line cannot be drawn, or a piece is too wide for the roll.
    """
    return _pdf(pieces, paper, clean(title), clean(date), clean(note, limit=160), fabric_names, one_way, job)[0]


def _pdf(
    pieces: Sequence[Piece],
    paper_name: str,
    title: str,
    date: str,
    note: str,
    fabric_names: Mapping[str, str] | None,
    one_way: Collection[str],
    job: Job,
) -> tuple[bytes, Plan]:
    sheet = paper(paper_name)
    if not 1 <= len(pieces) <= MAX_PIECES:
        raise InputError(
            "pieces", expected=f"1 to {MAX_PIECES} pieces", got=str(len(pieces)), next_step="Choose the pieces to print"
        )
    letters = seam_letters(pieces)
    prints = []
    for i, piece in enumerate(pieces):
        check(job)
        job.step(f"Drawing {piece.name}", 0.3 * i / len(pieces))
        prints.append(made_ready(piece, {k: v for (p, k), v in letters.items() if p == i}, one_way))
    laid = plan([p.outline for p in prints], sheet, job=Part(job, 0.3, 0.7))
    use_fonts()
    out = io.BytesIO()
    size = (sheet.width * PT_PER_MM, sheet.height * PT_PER_MM)
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setSubject("Pattern pieces at full size; print at 100 %")
    canvas.setCreator("garment-mockup")
    canvas.setAuthor("")
    canvas.setViewerPreference("PrintScaling", "None")
    _forms(canvas, prints, PAPER, fabric_names, ", ".join(t for t in (title, date) if t))
    _begin(canvas)
    FirstPage(canvas, sheet, PAPER).draw(title, date, note, prints, laid, fabric_names)
    canvas.showPage()
    for k, tile in enumerate(laid.tiles):
        check(job)
        job.step(f"Sheet {tile.name}", 0.7 + 0.3 * k / len(laid.tiles))
        _begin(canvas)
        _sheet(canvas, sheet, tile, k, laid, prints, title)
        canvas.showPage()
    canvas.save()
    return out.getvalue(), laid


def _begin(canvas: Canvas) -> None:
    canvas.scale(PT_PER_MM, PT_PER_MM)
    canvas.setLineCap(0)


def _forms(
    canvas: Canvas, prints: Sequence[Printed], look: Look, fabric_names: Mapping[str, str] | None, foot: str
) -> None:
    """Draw every piece once; the sheets refer to it."""
    pen = PiecePen(canvas, look, fabric_names, foot)
    for i, printed in enumerate(prints):
        outline = printed.outline
        left, right = outline[:, 0].min() - _AROUND, outline[:, 0].max() + _AROUND
        low, high = -outline[:, 1].max() - _AROUND, -outline[:, 1].min() + _AROUND
        canvas.beginForm(f"piece-{i + 1}", float(left), float(low), float(right), float(high))
        pen.draw(printed)
        canvas.endForm()


def _sheet(
    canvas: Canvas, sheet: Paper, tile: Tile, index: int, laid: Plan, prints: Sequence[Printed], title: str
) -> None:
    """One sheet: the window of the plane, its name, the joins with its neighbours, and the trim lines."""
    (width, height), margin = laid.grid.frame, sheet.margin
    bottom, top = sheet.height - margin - height, sheet.height - margin
    neighbours = {(t.row, t.column): t for t in laid.tiles}
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(margin, bottom, width, height)
    canvas.clipPath(window, stroke=0, fill=0)
    _name(canvas, tile.name, margin, top)
    for i in laid.on_tile[index]:
        mx, my = laid.moves[i]
        canvas.saveState()
        canvas.translate(margin + mx - tile.x, top - (my - tile.y))
        canvas.doForm(f"piece-{i + 1}")
        canvas.restoreState()
    canvas.restoreState()
    half = OVERLAP_MM / 2
    joins = {
        "left": (neighbours.get((tile.row, tile.column - 1)), margin + half, True),
        "right": (neighbours.get((tile.row, tile.column + 1)), margin + width - half, True),
        "top": (neighbours.get((tile.row - 1, tile.column)), top - half, False),
        "bottom": (neighbours.get((tile.row + 1, tile.column)), bottom + half, False),
    }
    for side, (other, at, upright) in joins.items():
        if other is None:
            continue
        first, second = (other, tile) if side in ("left", "top") else (tile, other)
        span = (bottom, top) if upright else (margin, margin + width)
        for share in (0.22, 0.78):
            along = span[0] + share * (span[1] - span[0])
            _join(canvas, (at, along) if upright else (along, at), f"{first.name}–{second.name}", upright=upright)
    _trim(canvas, margin, bottom, width, height, left=joins["left"][0] is not None, top=joins["top"][0] is not None)
    numbers = sorted({prints[i].piece.number for i in laid.on_tile[index]} - {0})
    words = f"{title} · sheet {tile.name}, {index + 1} of {len(laid.tiles)}"
    words += f" · piece{'s' if len(numbers) != 1 else ''} {', '.join(map(str, numbers))}" if numbers else ""
    canvas.setFillColorRGB(*PAPER.soft)
    canvas.setFont(REGULAR, 3.0)
    canvas.drawString(margin, bottom - 4.2, shortened(words, width - 40.0, 3.0))
    canvas.drawRightString(margin + width, bottom - 4.2, "full size, print at 100 %")


def _name(canvas: Canvas, name: str, left: float, top: float) -> None:
    canvas.setFillColorRGB(0.86, 0.87, 0.89)
    canvas.setFont(BOLD, 15.0)
    canvas.drawString(left + 13.0, top - 24.0, name)


def _join(canvas: Canvas, centre: tuple[float, float], names: str, *, upright: bool) -> None:
    """A circle with a cross in the middle of the overlap; the names of the two sheets stand beside it."""
    x, y = centre
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(90 if upright else 0)
    canvas.setDash()
    canvas.setStrokeColorRGB(*PAPER.soft)
    canvas.setLineWidth(0.2)
    canvas.circle(0, 0, 3.4, stroke=1, fill=0)
    canvas.line(-5.0, 0, 5.0, 0)
    canvas.line(0, -4.6, 0, 4.6)
    canvas.setFillColorRGB(*PAPER.soft)
    canvas.setFont(REGULAR, 3.0)
    canvas.drawString(6.2, -1.0, names)
    canvas.restoreState()


def _trim(canvas: Canvas, x: float, y: float, width: float, height: float, *, left: bool, top: bool) -> None:
    """The frame: thin where the sheet ends, a firmer grey where it is trimmed and laid on its neighbour."""
    edges = (
        (x, y, x, y + height, left),
        (x, y + height, x + width, y + height, top),
        (x + width, y, x + width, y + height, False),
        (x, y, x + width, y, False),
    )
    canvas.setDash()
    canvas.setStrokeColorRGB(*PAPER.faint)
    for x0, y0, x1, y1, trimmed in edges:
        canvas.setLineWidth(0.4 if trimmed else 0.12)
        canvas.line(x0, y0, x1, y1)
