"""A handout: how somebody else makes the same split on their own copy of a pattern, in any size.

It carries lines and numbers, not the pattern: the drawing is of the garment, and the pieces' outlines appear only where
the user says that the pattern is theirs to pass on.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from mockup.files.given import clean
from mockup.files.words import fabric_name, spoken_date, title
from mockup.geometry import path as paths
from mockup.pattern.construction import construction
from mockup.pattern.cutting_list import how_to_cut
from mockup.pattern.piece import Piece
from mockup.sheets.flow import PT_PER_MM, Flow
from mockup.sheets.handout_views import Cloths, draw_path, draw_views
from mockup.sheets.line_words import DrawnLine, drawn_lines, line_steps
from mockup.sheets.looks import PAPER, use_fonts
from mockup.sheets.page_pen import CAUTION
from mockup.sheets.papers import paper as paper_named
from mockup.split.split import Split
from swatches.cloth import Cloth
from swatches.errors import InputError
from swatches.job import QUIET, Job, check

LICENCE = (
    "This sheet holds lines and numbers only. The pattern itself belongs to its maker: use your own copy, keep to its "
    "licence, and do not pass on its pieces."
)
OWN = (
    "Whoever made this sheet says that the pattern is theirs to pass on. Its pieces are shown small; they are no "
    "pattern to cut from."
)
_FOOT = "Lines and numbers only: the pattern belongs to its maker."
_OWN_FOOT = "The pattern is shown by leave of its maker, who made this sheet."


def handout_pdf(
    split: Split,
    *,
    title: str,
    date: str = "",
    note: str = "",
    allowance: str = "15 mm",
    pieces: Sequence[Piece] = (),
    fabric_names: Mapping[str, str] | None = None,
    colours: Mapping[str, tuple[int, int, int]] | None = None,
    prints: Mapping[str, Cloth] | None = None,
    lightness: Mapping[str, float] | None = None,
    own_pattern: bool = False,
    paper: str = "A4",
    job: Job = QUIET,
) -> bytes:
    """Write the handout.

    Args:
        split: the lines; with no pieces at all this is enough.
        title: the project's name.
        date: the project's date.
        note: one more line, such as that the garment is an invented example.
        allowance: of the new edges, as typed.
        pieces: what comes of the cut, for the list and the order of construction.
        fabric_names: fabric id → the person's name for it.
        colours: fabric id → sRGB 0–255, for the drawing.
        prints: fabric id → the cloth with its tile, for fabrics with a stripe, check or print.
        lightness: fabric id → L*, for pressing toward the darker cloth.
        own_pattern: the user says that the pattern is theirs; then the pieces' outlines are shown, small.
        paper: 'A4' or 'Letter'.
        job: progress.

    Returns:
        The PDF; the same input gives the same bytes.

    Raises:
        InputError: the split has no line, or the paper is none to write on.
    """
    sheet = paper_named(paper)
    if not sheet.has_first_page:
        raise InputError("paper", expected="A4 or Letter", got=sheet.name, next_step="Choose one of them")
    if not any(v.lines for v in split.views):
        raise InputError("split", expected="at least one line", got="none", next_step="Draw a line first")
    use_fonts()
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(sheet.width * PT_PER_MM, sheet.height * PT_PER_MM), invariant=1, lang="en-GB")
    canvas.setTitle(clean(title))
    canvas.setCreator("garment-mockup")
    canvas.setAuthor("")
    flow = Flow(canvas, sheet, PAPER, _OWN_FOOT if own_pattern else _FOOT)
    shown = {v.name: drawn_lines(v.lines) for v in split.views}
    _renumber(shown)
    _opening(flow, clean(title), spoken_date(clean(date)), clean(note, limit=400))
    draw_views(flow, split.views, shown, Cloths(colours or {}, prints or {}, fabric_names or {}))
    for view in split.views:
        for drawn in shown[view.name]:
            check(job)
            job.step(f"Describing {drawn.line.name}")
            flow.heading(f"{drawn.line.name}, {view.name}".capitalize())
            flow.steps(line_steps(drawn))
    _cutting(flow, allowance)
    if pieces:
        _pieces(flow, pieces, fabric_names)
        flow.heading("Order of construction")
        flow.steps([step.what for step in construction(pieces, lightness)])
    if own_pattern and pieces:
        _outlines(flow, pieces)
    flow.heading("Before you start")
    flow.paragraph(OWN if own_pattern else LICENCE, soft=True)
    flow.paragraph(CAUTION, soft=True)
    flow.paragraph("Try the change on a toile first where the cloth is dear.", soft=True)
    flow.finish()
    canvas.save()
    return out.getvalue()


def _renumber(shown: dict[str, tuple[DrawnLine, ...]]) -> None:
    """Let the points' numbers run over all views."""
    n = 0
    for name, lines in shown.items():
        shown[name] = tuple(
            DrawnLine(d.line, d.path, (n + 2 * k + 1, n + 2 * k + 2), d.bows) for k, d in enumerate(lines)
        )
        n += 2 * len(lines)


def _opening(flow: Flow, heading: str, date: str, note: str) -> None:
    look = flow.look
    flow.heading(heading, 9.0)
    words = " · ".join(t for t in ("How to make this split on your own copy of the pattern, in any size", date) if t)
    flow.paragraph(words, soft=True)
    if note:
        flow.paragraph(note, soft=True)
    flow.pen.line((flow.left, flow.y - 1.0), (flow.right, flow.y - 1.0), look.ink, 0.35)
    flow.y -= 5.0


def _cutting(flow: Flow, allowance: str) -> None:
    flow.heading("Cut the paper")
    flow.steps(
        (
            "Trace the pieces first; keep the pattern whole.",
            "Across each new line draw notches off its middle: one on the front, two on the back. Draw a grainline on "
            "every part, parallel to the piece's own.",
            f"Cut along the lines. Tape paper to both new edges and add {allowance} to each; all other edges stay as "
            "they are.",
            "Where a line ends on a seam, let its allowance run on along that seam.",
            "Where a line runs over a dart, pin the dart closed first, as it is sewn and pressed: draw and cut with it "
            "closed. Then open it in the part that has its tip, where the cut edge now has a small peak, and draw a "
            "notch at the end of each leg; in the other part tape it closed for good and smooth the edge.",
            "A piece on the fold stays on the fold where the line is the same on both sides. Otherwise unfold it, and "
            "cut its parts from a single layer with the right side of the cloth up.",
            "Facings and linings stay whole.",
        )
    )


def _pieces(flow: Flow, pieces: Sequence[Piece], names: Mapping[str, str] | None) -> None:
    flow.heading("Pieces")
    rows = [
        (str(p.number or "–"), title(p), fabric_name(p, names) or "any", how_to_cut(p))
        for p in sorted(pieces, key=lambda p: (p.number or 10**6, p.name))
    ]
    flow.table(("no.", "piece", "cloth", "how"), rows, (0.08, 0.28, 0.4, 0.24))


def _outlines(flow: Flow, pieces: Sequence[Piece]) -> None:
    """The pieces' stitch lines, small: only where the user says that the pattern is theirs."""
    flow.heading("The pieces, small")
    boxes = [paths.bounds(p.outline) for p in pieces]
    scale = min(36.0 / max(b[2] - b[0] for b in boxes), 44.0 / max(b[3] - b[1] for b in boxes))
    per_row = 4
    for first in range(0, len(pieces), per_row):
        row = list(zip(pieces, boxes, strict=True))[first : first + per_row]
        highest = max(b[3] - b[1] for _, b in row) * scale
        flow.room(highest + 12.0)
        for k, (piece, (left, _, right, high)) in enumerate(row):
            x = flow.left + k * flow.width / per_row
            place = np.array([[scale, 0.0, x - left * scale], [0.0, scale, flow.y - 3.0 - high * scale]])
            draw_path(flow, paths.transformed(piece.outline, place), 0.35)
            middle = x + (right - left) * scale / 2
            label = f"{piece.number} {title(piece)}" if piece.number else title(piece)
            flow.pen.words(label, max(middle, x + 10.0), flow.y - highest - 7.5, 3.1, flow.look.soft, align=0)
        flow.y -= highest + 12.0
