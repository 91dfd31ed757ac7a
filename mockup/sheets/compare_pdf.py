"""The choices as a document: the comparison sheet, the same as others see it, and all of it in words."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from mockup.files.given import clean
from mockup.sheets.flow import PT_PER_MM
from mockup.sheets.looks import BOLD, REGULAR, use_fonts, wrapped
from mockup.sheets.raster_pen import RGB
from swatches.errors import InputError
from swatches.photo import jpeg_bytes

_LONG, _SHORT, _MARGIN = 297.0, 210.0, 10.0  # A4, ISO 216, mm
_SIZE, _LEAD = 4.2, 6.0  # mm


def compare_pdf(sheets: Sequence[RGB], words: Sequence[Sequence[str]], *, title: str, date: str = "") -> bytes:
    """Compose the document on A4.

    Args:
        sheets: pictures, a page each, as wide as the paper allows.
        words: for each choice its sentences: text alternative, then its list of cloth.
        title: the project's name.
        date: as it is shown, or empty.

    Raises:
        InputError: no sheet.
    """
    if not sheets:
        raise InputError("sheets", expected="at least one", got="none", next_step="Make a choice first")
    use_fonts()
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, lang="en-GB")
    canvas.setTitle(clean(title))
    canvas.setCreator("garment-mockup")
    canvas.setAuthor("")
    for rgb in sheets:
        h, w = rgb.shape[:2]
        fits = {
            page: min((page[0] - 2 * _MARGIN) / w, (page[1] - 2 * _MARGIN) / h)
            for page in ((_SHORT, _LONG), (_LONG, _SHORT))
        }
        page = max(fits, key=lambda p: fits[p])
        scale = fits[page]
        canvas.setPageSize((page[0] * PT_PER_MM, page[1] * PT_PER_MM))
        x, y = (page[0] - w * scale) / 2, page[1] - _MARGIN - h * scale
        picture = ImageReader(io.BytesIO(jpeg_bytes(rgb)))
        canvas.drawImage(picture, x * PT_PER_MM, y * PT_PER_MM, w * scale * PT_PER_MM, h * scale * PT_PER_MM)
        canvas.showPage()
    _words(canvas, [s for one in words for s in (*one, "")], clean(title), clean(date))
    canvas.save()
    return out.getvalue()


def _words(canvas: Canvas, sentences: Sequence[str], title: str, date: str) -> None:
    canvas.setPageSize((_SHORT * PT_PER_MM, _LONG * PT_PER_MM))
    y = _LONG - 2 * _MARGIN
    canvas.setFont(BOLD, 7.0 * PT_PER_MM)
    canvas.drawString(_MARGIN * PT_PER_MM, y * PT_PER_MM, f"{title}, in words")
    y -= 1.6 * _LEAD
    for sentence in [*([date] if date else []), *sentences]:
        for line in wrapped(clean(sentence, limit=600), _SHORT - 2 * _MARGIN, _SIZE) if sentence else [""]:
            if y < 2 * _MARGIN:
                canvas.showPage()
                y = _LONG - 2 * _MARGIN
            canvas.setFont(REGULAR, _SIZE * PT_PER_MM)
            canvas.drawString(_MARGIN * PT_PER_MM, y * PT_PER_MM, line)
            y -= _LEAD
    canvas.showPage()
