"""A handout: how somebody else makes the same split on their own copy of a pattern, in any size.

It carries lines and numbers, not the pattern: the drawing is of the garment, and the pieces' outlines appear only where
the user says that the pattern is theirs to pass on.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas
from shapely import Polygon, maximum_inscribed_circle, union_all

from mockup.files.given import clean
from mockup.files.words import fabric_name, how_to_cut, spoken_date, title
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.pattern.construction import construction
from mockup.pattern.piece import Piece
from mockup.sheets.flow import PT_PER_MM, Flow
from mockup.sheets.line_words import DrawnLine, drawn_lines, line_steps
from mockup.sheets.looks import PAPER, text_width, use_fonts
from mockup.sheets.page_pen import CAUTION
from mockup.sheets.papers import paper as paper_named
from mockup.split.split import Split, SplitView
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
_BOX_MM = (80.0, 92.0)  # room for one view


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
    _views(flow, split.views, shown, colours or {})
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


def _views(
    flow: Flow,
    views: Sequence[SplitView],
    shown: Mapping[str, tuple[DrawnLine, ...]],
    colours: Mapping[str, tuple[int, int, int]],
) -> None:
    """The garment from both sides, two a row, at one scale."""
    boxes = {v.name: _box(v) for v in views}
    widest = max(b[2] - b[0] for b in boxes.values())
    highest = max(b[3] - b[1] for b in boxes.values())
    scale = min(_BOX_MM[0] / widest, _BOX_MM[1] / highest)
    for k, view in enumerate(views):
        if k % 2 == 0:
            flow.room(highest * scale + 14.0)
            top = flow.y - 3.0
        left, _, right, high = boxes[view.name]
        x = flow.left + (k % 2) * flow.width / 2 + (flow.width / 2 - (right - left) * scale) / 2
        place = np.array([[scale, 0.0, x - left * scale], [0.0, scale, top - high * scale]])
        _view(flow, view, shown[view.name], colours, place)
        middle = x + (right - left) * scale / 2
        flow.pen.words(view.name, middle, top - highest * scale - 6.0, 3.9, flow.look.soft, align=0)
        if k % 2 == 1 or k == len(views) - 1:
            flow.y = top - highest * scale - 8.0


def _box(view: SplitView) -> tuple[float, float, float, float]:
    outlines = [paths.bounds(paths.from_tuples(o)) for o in (view.outline, *(p.outline for p in view.panels))]
    low, high = np.array(outlines)[:, :2].min(axis=0), np.array(outlines)[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _view(
    flow: Flow,
    view: SplitView,
    lines: Sequence[DrawnLine],
    colours: Mapping[str, tuple[int, int, int]],
    place: np.ndarray[tuple[int, int], np.dtype[np.float64]],
) -> None:
    look, c = flow.look, flow.canvas
    for panel in view.panels:
        rgb = colours.get(panel.fabric or "", (243, 241, 235))
        c.setFillColorRGB(*(v / 255 for v in rgb))
        _draw(flow, paths.transformed(paths.from_tuples(panel.outline), place), 0.2, fill=True)
    _draw(flow, paths.transformed(paths.from_tuples(view.outline), place), 0.45)
    for drawn in lines:
        _draw(flow, paths.transformed(paths.from_tuples(drawn.line.path), place), 0.9)
    shapes = [Polygon(paths.flatten(paths.from_tuples(p.outline), 0.5).points).buffer(0) for p in view.panels]
    for panel, shape in zip(view.panels, shapes, strict=True):
        on_top = [o for o in shapes if o.area < shape.area]  # a pocket hides what is under it
        circle = maximum_inscribed_circle(shape.difference(union_all(on_top)), tolerance=1.0)
        x, y = place[:, :2] @ np.array(circle.coords[0]) + place[:, 2]
        _badge(
            flow, str(panel.number or "?"), float(x), float(y), min(2.6, max(1.5, 0.8 * circle.length * place[0, 0]))
        )
    for drawn in lines:
        path = paths.transformed(drawn.path, place)
        for number, point in zip(drawn.points, (path.start, path.end), strict=True):
            c.setFillColorRGB(*look.accent)
            c.circle(float(point[0]), float(point[1]), 0.9, stroke=0, fill=1)
            text = f"P{number}"
            x, y = float(point[0]) + 1.2, float(point[1]) + 1.0
            c.setFillColorRGB(1, 1, 1)
            c.roundRect(x, y, text_width(text, 2.9, bold=True) + 1.4, 3.3, 0.8, stroke=0, fill=1)
            flow.pen.words(text, x + 0.7, y + 0.7, 2.9, look.accent, bold=True)


def _badge(flow: Flow, text: str, x: float, y: float, radius: float) -> None:
    c = flow.canvas
    c.setFillColorRGB(1, 1, 1)
    c.setStrokeColorRGB(*flow.look.ink)
    c.setLineWidth(0.15)
    c.setDash()
    c.circle(x, y, radius, stroke=1, fill=1)
    flow.pen.words(text, x, y - 0.42 * radius, 1.35 * radius, flow.look.ink, bold=True, align=0)


def _draw(flow: Flow, path: Path, width: float, *, fill: bool = False) -> None:
    c = flow.canvas
    c.setStrokeColorRGB(*flow.look.ink)
    c.setLineWidth(width)
    c.setLineJoin(1)
    c.setDash()
    pen = c.beginPath()
    pen.moveTo(*path.start)
    for cubic in path.cubics:
        pen.curveTo(*cubic[1:].ravel())
    if path.closed:
        pen.close()
    c.drawPath(pen, stroke=1, fill=int(fill))


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
            _draw(flow, paths.transformed(piece.outline, place), 0.35)
            middle = x + (right - left) * scale / 2
            label = f"{piece.number} {title(piece)}" if piece.number else title(piece)
            flow.pen.words(label, max(middle, x + 10.0), flow.y - highest - 7.5, 3.1, flow.look.soft, align=0)
        flow.y -= highest + 12.0
