"""Pages of a tiled pattern put together into one sheet.

Three ways. *By content*: most tiled PDFs draw the same lines on neighbouring pages and let the page cut them off; equal
lines on two pages tell how the pages lie, and the whole pattern follows. *By marks*: where lines are really cut off,
small equal marks at facing sides of neighbours (circles, crosses) are laid on each other. *By a typed tiling*:
columns, overlap and margins; every page is cut to its own cell, and lines that run over pages meet at the borders.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from mockup.files.pdf_drawing import PdfDrawing, Stroke, bounds_of, chord_length, moved
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from swatches.errors import FileFormatError

_LONG = 25.0  # mm: shorter lines say nothing about where a page lies
_SAME_SHAPE = 0.2  # mm, to which equal lines are equal
_SAME_PLACE = 0.25  # mm
_STILL = 0.5  # mm: what stands at the same place on two pages is the page's own frame or title
_ENOUGH = 60.0  # mm of equal lines that must agree on how two pages lie
_APART = 50.0  # mm between groups of pages that share no line
_MARK = (2.0, 20.0)  # mm, the size of a mark
_LEAST_STEP = 0.6  # of a page: neighbours lie at least so far apart
_ASKEW = 3.0  # mm by which a row of pages may be out of line


@dataclass(frozen=True, slots=True)
class Tiling:
    """How the pages of a pattern lie, typed by the person.

    Attributes:
        columns: pages in a row; rows run from the top, pages from left to right.
        overlap_mm: what neighbours share, across and down.
        margins_mm: white at the left, top, right and bottom of every page.
    """

    columns: int
    overlap_mm: tuple[float, float] = (0.0, 0.0)
    margins_mm: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)


def assembled(drawing: PdfDrawing, pages: Sequence[int], tiling: Tiling | None = None) -> tuple[Stroke, ...]:
    """Put pages together; gives all their lines on one sheet, mm, y up.

    Args:
        drawing: what the PDF draws.
        pages: which pages, from 0, in the order of the tiling.
        tiling: how they lie; None: found by content.

    Raises:
        FileFormatError: the tiling leaves nothing of a page.
    """
    on_page = {k: [s for s in drawing.strokes if s.page == k] for k in pages}
    if len(pages) == 1:
        return tuple(on_page[pages[0]])
    on_page = _without_furniture(on_page)
    if tiling is not None:
        return _by_tiling(drawing, on_page, pages, tiling)
    return _by_content(on_page)


def tiling_by_marks(drawing: PdfDrawing, pages: Sequence[int], columns: int) -> Tiling | None:
    """Find how pages overlap by the marks at their sides.

    Args:
        drawing: what the PDF draws.
        pages: which pages, from 0, row by row from the upper left.
        columns: pages in a row.

    Returns:
        The tiling, or None where no two neighbours carry equal marks that could lie on each other.
    """
    small = {k: [s for s in drawing.strokes if s.page == k and _is_mark(s)] for k in pages}
    width, height = drawing.sizes[pages[0]]
    across: list[Floats] = []
    down: list[Floats] = []
    for n, page in enumerate(pages):
        if (n + 1) % columns and n + 1 < len(pages):
            across += _equal_marks(small[page], small[pages[n + 1]])
        if n + columns < len(pages):
            down += _equal_marks(small[page], small[pages[n + columns]])
    right = _agreed([o for o in across if o[0] > _LEAST_STEP * width and abs(o[1]) < _ASKEW])
    below = _agreed([o for o in down if -o[1] > _LEAST_STEP * height and abs(o[0]) < _ASKEW])
    if right is None and below is None:
        return None
    overlap = (0.0 if right is None else width - float(right[0]), 0.0 if below is None else height + float(below[1]))
    return Tiling(columns, overlap)


def _is_mark(stroke: Stroke) -> bool:
    points = stroke.path.cubics.reshape(-1, 2)
    return bool(_MARK[0] <= np.ptp(points, axis=0).max() <= _MARK[1])


def _equal_marks(here: Sequence[Stroke], there: Sequence[Stroke]) -> list[Floats]:
    """By how much the second page would have to move for each pair of equal marks to coincide."""

    def shape(s: Stroke) -> tuple[object, ...]:
        return s.pen, np.round((s.path.cubics - s.path.start) / _SAME_SHAPE).astype(np.int64).tobytes()

    known: dict[tuple[object, ...], list[Stroke]] = defaultdict(list)
    for s in here:
        known[shape(s)].append(s)
    return [s.path.start - t.path.start for t in there for s in known.get(shape(t), ())]


def _agreed(offsets: Sequence[Floats]) -> Floats | None:
    """The offset that most pairs agree on; None below two."""
    if len(offsets) < 2:
        return None
    found = np.array(offsets)
    agree = np.linalg.norm(found[:, None] - found[None], axis=2) <= _SAME_PLACE
    best = int(agree.sum(axis=1).argmax())
    return np.asarray(found[agree[best]].mean(axis=0)) if agree[best].sum() >= 2 else None


def _shape(stroke: Stroke) -> tuple[object, ...] | None:
    """What makes a line equal to another elsewhere: its pen and its control points from its start on."""
    if chord_length(stroke.path) < _LONG:
        return None
    relative = np.round((stroke.path.cubics - stroke.path.start) / _SAME_SHAPE).astype(np.int64)
    return stroke.pen, relative.tobytes()


def _without_furniture(on_page: dict[int, list[Stroke]]) -> dict[int, list[Stroke]]:
    """Leave out lines that stand at the same place on several pages: frames, titles, marks for trimming."""

    def place(s: Stroke) -> tuple[object, ...]:
        return s.pen, np.round(s.path.cubics / _STILL).astype(np.int64).tobytes()

    seen = Counter(p for strokes in on_page.values() for p in {place(s) for s in strokes})
    return {k: [s for s in strokes if seen[place(s)] == 1] for k, strokes in on_page.items()}


def _by_content(on_page: dict[int, list[Stroke]]) -> tuple[Stroke, ...]:
    groups = _groups(on_page)
    found: list[Stroke] = []
    right = 0.0
    for group in groups:
        strokes = [moved(s, by) for k, by in group.items() for s in on_page[k]]
        if not strokes:
            continue
        left, _, far, _ = bounds_of(tuple(strokes))
        shift = (right - left, 0.0)
        found += _once([moved(s, shift) for s in strokes])
        right += far - left + _APART
    return tuple(found)


def _groups(on_page: dict[int, list[Stroke]]) -> list[dict[int, tuple[float, float]]]:
    """Groups of pages that share lines, each with every page's place: a tree of the strongest agreements."""
    links = _links(on_page)
    waiting = [k for k, strokes in on_page.items() if strokes]
    groups = []
    while waiting:
        group = {waiting[0]: (0.0, 0.0)}
        while True:
            ways = [
                (weight, a, b, offset)
                for (a, b), (weight, offset) in links.items()
                if a in group and b not in group and b in waiting
            ]
            if not ways:
                break
            _, a, b, (dx, dy) = max(ways, key=lambda w: (w[0], -w[1], -w[2]))
            group[b] = (group[a][0] + dx, group[a][1] + dy)
        waiting = [k for k in waiting if k not in group]
        groups.append(group)
    return groups


def _links(on_page: dict[int, list[Stroke]]) -> dict[tuple[int, int], tuple[float, tuple[float, float]]]:
    """For pairs of pages, how the second lies to the first, and by how many mm of equal lines that is said."""
    places: dict[tuple[object, ...], list[Stroke]] = defaultdict(list)
    for strokes in on_page.values():
        shapes = [(shape, s) for s in strokes if (shape := _shape(s)) is not None]
        once = Counter(shape for shape, _ in shapes)
        for shape, s in shapes:
            if once[shape] == 1:
                places[shape].append(s)
    votes: dict[tuple[int, int], list[tuple[float, Floats]]] = defaultdict(list)
    for equal in places.values():
        for i, s in enumerate(equal):
            for t in equal[i + 1 :]:
                offset = s.path.start - t.path.start  # moves t's page so that t lies on s
                weight = chord_length(s.path)
                votes[s.page, t.page].append((weight, offset))
                votes[t.page, s.page].append((weight, -offset))
    links = {}
    for pair, said in votes.items():
        weights, offsets = np.array([w for w, _ in said]), np.array([o for _, o in said])
        agree = np.linalg.norm(offsets[:, None] - offsets[None], axis=2) <= _SAME_PLACE
        support = agree @ weights
        best = int(support.argmax())
        if support[best] >= _ENOUGH and np.linalg.norm(offsets[best]) > _STILL:
            mean = np.average(offsets[agree[best]], axis=0, weights=weights[agree[best]])
            links[pair] = (float(support[best]), (float(mean[0]), float(mean[1])))
    return links


def _once(strokes: list[Stroke]) -> list[Stroke]:
    """Drop lines that lie on an equal one from another page."""
    kept: dict[tuple[object, ...], list[Stroke]] = defaultdict(list)
    found = []
    for s in strokes:
        key = (s.pen, len(s.path), round(chord_length(s.path)))
        same = (o for k in (-1, 0, 1) for o in kept[(*key[:2], int(key[2]) + k)])
        if any(np.abs(o.path.cubics - s.path.cubics).max() <= _SAME_PLACE for o in same):
            continue
        kept[key].append(s)
        found.append(s)
    return found


def _by_tiling(
    drawing: PdfDrawing, on_page: dict[int, list[Stroke]], pages: Sequence[int], tiling: Tiling
) -> tuple[Stroke, ...]:
    left, top, right, bottom = tiling.margins_mm
    (ox, oy), found = tiling.overlap_mm, []
    for n, k in enumerate(pages):
        row, column = divmod(n, tiling.columns)
        width, height = drawing.sizes[k][0] - left - right, drawing.sizes[k][1] - top - bottom
        if width <= ox or height <= oy:
            raise FileFormatError(
                "tiling",
                expected="an overlap smaller than the printed part of a page",
                got=f"{ox:g} × {oy:g} mm on {width:.4g} × {height:.4g} mm",
                next_step="Check margins and overlap",
            )
        last_column, last_row = column == tiling.columns - 1, n + tiling.columns >= len(pages)
        cell = (
            left + (ox / 2 if column else 0.0),
            bottom + (0.0 if last_row else oy / 2),
            left + width - (0.0 if last_column else ox / 2),
            bottom + height - (oy / 2 if row else 0.0),
        )
        by = (column * (width - ox) - left, -row * (height - oy) - bottom)
        for s in on_page[k]:
            found += [moved(Stroke(s.pen, k, part), by) for part in inside(s.path, cell)]
    return tuple(found)


def inside(path: Path, cell: tuple[float, float, float, float]) -> list[Path]:
    """The parts of a path inside a rectangle (min x, min y, max x, max y), cut exactly at its sides."""
    left, low, right, high = cell
    runs: list[list[Floats]] = [[]]
    for cubic in path.cubics:
        cuts = {0.0, 1.0}
        for axis, levels in ((0, (left, right)), (1, (low, high))):
            for level in levels:
                cuts.update(_crossings(cubic[:, axis] - level))
        ts = sorted(cuts)
        for a, b in pairwise(ts):
            if b - a < 1e-9:
                continue
            x, y = paths.evaluate(cubic, np.float64((a + b) / 2))
            if left <= x <= right and low <= y <= high:
                runs[-1].append(paths.sub_path(Path(cubic[None]), (0, a), (0, b)).cubics[0])
            elif runs[-1]:
                runs.append([])
    found = [Path(np.array(r)) for r in runs if r]
    if (
        len(found) > 1
        and path.closed
        and np.allclose(found[0].start, path.start)
        and np.allclose(found[-1].end, path.end)
    ):
        found = [paths.joined([found[-1], found[0]]), *found[1:-1]]
    return found


def _crossings(values: Floats) -> list[float]:
    """Parameters in (0, 1) where a cubic with these Bernstein coefficients is zero."""
    if (values > 0).all() or (values < 0).all():
        return []
    a, b, c, d = values
    roots = np.roots([-a + 3 * b - 3 * c + d, 3 * a - 6 * b + 3 * c, -3 * a + 3 * b, a])
    return [float(r.real) for r in roots if abs(r.imag) < 1e-9 and 1e-9 < r.real < 1 - 1e-9]
