"""Pattern pieces on paper at full size: a first page, then the sheets that have something on them.

Neighbouring sheets overlap by 10 mm. Each join carries two circles with a cross, printed on both sheets, and the names
of the two; laid circle on circle the drawing is whole. The file asks the printer not to scale it, and the first page
lets the person check that it did not. On large sheets, on a roll and for a projector the check stands in a block
beside the pieces instead. The same pieces give the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping, Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from mockup.files.given import clean
from mockup.files.words import spoken_date
from mockup.geometry.path import Path, polyline
from mockup.pattern.piece import Piece
from mockup.pattern.proof import Proof
from mockup.sheets.first_page import FirstPage, Head, block_size, draw_block
from mockup.sheets.looks import BEAMER, PAPER, Look, use_fonts
from mockup.sheets.packing import Plan, plan
from mockup.sheets.page_pen import PagePen
from mockup.sheets.papers import Paper
from mockup.sheets.papers import paper as paper_named
from mockup.sheets.piece_pen import PiecePen, Printed, made_ready
from mockup.sheets.seams import seam_letters
from mockup.sheets.sheet_pen import SheetPen
from swatches.errors import InputError, ProofError
from swatches.job import QUIET, Job, Part, check

MAX_PIECES = 500
PT_PER_MM = 72 / 25.4
_AROUND = 30.0  # mm round a piece that its drawing may reach
_BLOCK = "block"


def pieces_pdf(
    pieces: Sequence[Piece],
    *,
    paper: str = "A4",
    title: str = "Pattern pieces",
    date: str = "",
    note: str = "",
    fabric_names: Mapping[str, str] | None = None,
    one_way: Collection[str] = (),
    proof: Proof | None = None,
    job: Job = QUIET,
) -> bytes:
    """Print pieces at 1:1.

    Args:
        pieces: at least one, on their stitch lines.
        paper: 'A4', 'Letter', 'A0', 'roll36' or 'projector'.
        title: the project's name.
        date: the project's date; an ISO date is shown in words.
        note: one more line under the title, such as that the garment is an invented example.
        fabric_names: fabric id → the person's name for it.
        one_way: ids of fabrics that must lie one way up: their grainlines have one head.
        proof: of the cut that made the pieces; it is said on the print.
        job: progress.

    Returns:
        The PDF.

    Raises:
        ProofError: the proof failed: nothing is printed.
        InputError: no piece, too many, or an unknown paper.
        GeometryError: a cut line cannot be drawn, or a piece is too wide for the roll.
    """
    if proof is not None and not proof.ok:
        raise ProofError(proof.sentence)
    sheet = paper_named(paper)
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
    outlines = [p.outline for p in prints]
    large = not sheet.has_first_page
    look = BEAMER if sheet.width == 0 else PAPER
    if large:
        w, h = block_size(look)
        outlines.append(np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]))
    laid = plan(outlines, sheet, job=Part(job, 0.3, 0.6))
    said = "" if proof is None else proof.sentence
    head = Head(clean(title), spoken_date(clean(date)), clean(note, limit=400), said, fabric_names)
    return _document(sheet, prints, laid, head, look, Part(job, 0.6, 1.0))


def _document(sheet: Paper, prints: Sequence[Printed], laid: Plan, head: Head, look: Look, job: Job) -> bytes:
    use_fonts()
    out = io.BytesIO()
    width, height = (
        side or laid.grid.frame[k] + 2 * sheet.margin for k, side in enumerate((sheet.width, sheet.height))
    )
    canvas = Canvas(out, pagesize=(width * PT_PER_MM, height * PT_PER_MM), invariant=1, lang="en-GB")
    canvas.setTitle(head.title)
    canvas.setSubject("Pattern pieces at full size; print at 100 %")
    canvas.setCreator("garment-mockup")
    canvas.setAuthor("")
    canvas.setViewerPreference("PrintScaling", "None")
    forms = _forms(canvas, prints, laid, look, head)
    if sheet.has_first_page:
        canvas.scale(PT_PER_MM, PT_PER_MM)
        _bookmark(canvas, "first", "Check before cutting, map and list")
        page = FirstPage(canvas, sheet, look)
        rest = page.draw(head, prints, laid)
        canvas.showPage()
        while rest:
            canvas.scale(PT_PER_MM, PT_PER_MM)
            rest = page.draw_rest(head, rest)
            canvas.showPage()
    else:
        forms.append(_block_form(canvas, sheet, laid, look, head, prints))
    pen = SheetPen(canvas, sheet, look, laid, prints, (width, height))
    for k in range(len(laid.tiles)):
        check(job)
        tile = laid.tiles[k]
        job.step(f"Sheet {tile.name}", k / len(laid.tiles))
        numbers = sorted({prints[i].piece.number for i in laid.on_tile[k] if i < len(prints)} - {0})
        pieces = f": piece{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}" if numbers else ""
        _bookmark(canvas, tile.name, f"Sheet {tile.name}{pieces}")
        canvas.scale(PT_PER_MM, PT_PER_MM)
        pen.draw(k, forms, head.title)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _bookmark(canvas: Canvas, key: str, words: str) -> None:
    """Name the page that is begun in the file's list of contents."""
    canvas.bookmarkPage(key)
    canvas.addOutlineEntry(words, key, level=0, closed=0)


def _forms(canvas: Canvas, prints: Sequence[Printed], laid: Plan, look: Look, head: Head) -> list[str]:
    """Draw every piece once, as a form that the sheets refer to; gives the forms' names."""
    pen = PiecePen(canvas, look, head.names, ", ".join(t for t in (head.title, head.date) if t))
    names = []
    for i, printed in enumerate(prints):
        outline = printed.outline
        left, right = outline[:, 0].min() - _AROUND, outline[:, 0].max() + _AROUND
        low, high = -outline[:, 1].max() - _AROUND, -outline[:, 1].min() + _AROUND
        names.append(f"piece-{i + 1}")
        canvas.beginForm(names[-1], float(left), float(low), float(right), float(high))
        pen.draw(printed, _joins_over(printed, laid, laid.moves[i]))
        canvas.endForm()
    return names


def _joins_over(printed: Printed, laid: Plan, move: tuple[float, float]) -> list[Path]:
    """The edges of the overlaps that run over a piece, in its own coordinates: labels keep off them."""
    grid, (mx, my) = laid.grid, move
    (left, top), (right, bottom) = printed.outline.min(axis=0), printed.outline.max(axis=0)
    lines = []
    for column in range(1, grid.columns):
        for x in (column * grid.step[0] - mx, column * grid.step[0] + grid.overlap - mx):
            if left < x < right:
                lines.append(polyline([(x, -bottom), (x, -top)]))
    for row in range(1, grid.rows):
        for y in (row * grid.step[1] - my, row * grid.step[1] + grid.overlap - my):
            if top < y < bottom:
                lines.append(polyline([(left, -y), (right, -y)]))
    return lines


def _block_form(canvas: Canvas, sheet: Paper, laid: Plan, look: Look, head: Head, prints: Sequence[Printed]) -> str:
    sheets = len(laid.tiles)
    pages = f"{sheets} sheets of {sheet.name}" if sheets > 1 else ""
    width, height = block_size(look)
    canvas.beginForm(_BLOCK, -1.0, -height - 1.0, width + 1.0, 1.0)
    draw_block(PagePen(canvas, look), head, pages, prints, joined=sheets > 1)
    canvas.endForm()
    return _BLOCK
