"""What the lines and marks of a print mean: a row for each kind that the pieces have."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from mockup.sheets.page_pen import PagePen
from mockup.sheets.piece_pen import Printed

ROW_MM = 4.8
_SAMPLE = 18.0  # mm: width of a sample


def legend_rows(pen: PagePen, prints: Sequence[Printed]) -> list[tuple[str, Callable[[float, float], None]]]:
    """Say what is drawn on pieces: words, and how to draw a sample with its left end and height given."""
    look = pen.look
    w = look.words

    def line(*style: object) -> Callable[[float, float], None]:
        return lambda x, y: pen.line((x, y), (x + _SAMPLE * w, y), *style)  # type: ignore[arg-type]

    def notch(x: float, y: float) -> None:
        for at in (4.0, 11.0, 14.0):
            pen.line((x + at * w, y - 1.4 * w), (x + at * w, y + 1.8 * w), look.ink, look.fine * 1.7)

    def grain(x: float, y: float) -> None:
        pen.line((x, y), (x + _SAMPLE * w, y), look.ink, look.fine)
        for tip, way in ((x, 1.0), (x + _SAMPLE * w, -1.0)):
            for rise in (-1.0, 1.0):
                pen.line((tip, y), (tip + way * 3.0 * w, y + rise * w), look.ink, look.fine)

    def dart(x: float, y: float) -> None:
        for rise in (-1.6, 1.6):
            pen.line((x + 1.5 * w, y + rise * w), (x + _SAMPLE * w, y), look.soft, look.stitch, (3.2, 1.8))
            pen.line((x, y + rise * 1.1 * w), (x + 3.0 * w, y + rise * 0.9 * w), look.ink, look.fine * 1.7)

    def seam(x: float, y: float) -> None:
        pen.line((x, y), (x + 12.0 * w, y), look.ink, look.bold)
        pen.canvas.setLineWidth(look.fine)
        pen.canvas.circle(x + 15.6 * w, y, 1.9 * w, stroke=1, fill=0)
        pen.words("a", x + 15.6 * w, y - 0.8 * w, 3.0 * w, look.ink, bold=True, align=0)

    pieces = [p.piece for p in prints]
    rows = [("cut here", line(look.ink, look.cut)), ("sew here", line(look.soft, look.stitch, (3.2, 1.8)))]
    if any(p.fold is not None for p in pieces):
        rows.append(("fold of the cloth, not cut", line(look.accent, look.cut * 0.75, (9.0, 2.0, 1.5, 2.0))))
    if any(p.marks for p in pieces):
        rows.append(("placing, topstitching", line(look.soft, look.stitch, (0.8, 1.4))))
    if any(p.darts for p in pieces):
        rows.append(("dart: lay notch on notch, sew to its tip", dart))
    if any(p.grainline is not None for p in pieces):
        rows.append(("grain: along the length of the cloth", grain))
    if any(p.notches for p in pieces):
        rows.append(("notches: one meets one, two meet two", notch))
    if any(p.letters for p in prints):
        rows.append(("new seam; same letters are sewn together", seam))
    return rows


def draw_legend(pen: PagePen, prints: Sequence[Printed], x: float, y: float) -> float:
    """Draw heading and rows with their upper left corner at (x, y); gives the lower edge."""
    look, w = pen.look, pen.look.words
    pen.words("What the lines mean", x, y, 4.2 * w, look.ink, bold=True)
    y -= 0.6 * w
    for text, sample in legend_rows(pen, prints):
        y -= ROW_MM * w
        sample(x, y + 1.1 * w)
        pen.words(text, x + 22.0 * w, y, 3.5 * w, look.soft)
    return y
