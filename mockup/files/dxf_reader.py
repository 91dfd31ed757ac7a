"""Reading pieces from DXF: the layers of ASTM D6673-10 where they are, else closed outlines.

The writer and the table of layers stand in :mod:`mockup.files.dxf`.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from mockup.files.dxf_drawing import NOTCHES, Block, read_drawing
from mockup.files.dxf_measured import with_measured_allowances
from mockup.files.dxf_notches import with_notches
from mockup.files.given import Given, clean, read_limited
from mockup.files.named import dart_from, edge_from, hole_of, notch_from, piece_from
from mockup.files.outlines import Drawn, pieces_from_lines
from mockup.geometry.path import XY, Path
from mockup.pattern.piece import Edge, Mark, Piece

MAX_BYTES = 40_000_000
_BOUNDARY, _MIRROR, _GRAIN, _INTERNAL, _SEW = "1", "6", "7", "8", "14"
_NOT_OUTLINES = {"2", "3", "4", "6", "7", "8", "9", "10", "11", "13", "15"}


def read_pieces(
    source: FilePath | bytes,
    *,
    mm_per_unit: float | None = None,
    apart: bool = False,
    measured: list[str] | None = None,
) -> tuple[Piece, ...]:
    """Read pattern pieces from a DXF file.

    A block with sew lines (layer 14) or a boundary (layer 1) is a piece; with neither, closed outlines of the model
    space are. Sew lines are taken before the boundary; where a block has both, its seam allowances are how far they lie
    apart. Files of this program come back as they were written.

    Args:
        source: the file, or its bytes.
        mm_per_unit: mm of one unit, where the file does not say it.
        apart: read it in a process of its own, with limits, as strangers' files are.
        measured: takes the names of pieces whose allowances were measured between the two lines.

    Raises:
        FileFormatError: no DXF, no unit, no closed outline, or one that crosses itself; one sentence each.
    """
    what = clean(source.name) if isinstance(source, FilePath) else "DXF file"
    data = read_limited(source, what=what, max_bytes=MAX_BYTES)
    drawing = read_drawing(data, what=what, mm_per_unit=mm_per_unit, apart=apart)
    drawn = [b for b in drawing.blocks if _BOUNDARY in b.lines or _SEW in b.lines]
    called = [b.called for b in drawn]
    for block in drawn:  # a name that several pieces have tells none of them apart
        if block.called and called.count(block.called) == 1:
            block.name = block.called
    pieces = [p for b in drawn for p in _pieces(b, what, [] if measured is None else measured)]
    if pieces:
        return tuple(pieces)
    everything = [d for b in [*drawing.blocks, drawing.loose] for d in _outlines(b)]
    return pieces_from_lines(everything, what=what)


def _pieces(block: Block, what: str, measured: list[str]) -> tuple[Piece, ...]:
    what = f"{what}, {block.own['piece'] if block.own else block.name}"
    if block.own is not None:
        return (_own_piece(block, block.own, what),)
    layer = _SEW if _SEW in block.lines else _BOUNDARY
    outlines = [Drawn(p, block.name) for p, _ in block.lines[layer]]
    found = pieces_from_lines(outlines, what=what)
    grain = next((_ends(p) for p, _ in block.lines.get(_GRAIN, ())), None)
    marks = tuple(Mark(f"line-{i + 1}", p, "internal") for i, (p, _) in enumerate(block.lines.get(_INTERNAL, ())))
    if len(found) != 1:
        return found
    piece = found[0].with_(grainline=grain, marks=marks)
    with_both = with_measured_allowances(piece, _cut_lines(block)) if layer == _SEW else None
    if with_both is not None:
        measured.append(piece.name)
    return (with_notches(with_both or piece, _notch_marks(block)),)


def _notch_marks(block: Block) -> list[XY]:
    """Points, and where strokes begin: on one of the piece's two lines."""
    return [*block.notches, *(_ends(p)[0] for p, _ in block.lines.get(NOTCHES, ()))]


def _cut_lines(block: Block) -> list[Path]:
    return [p for p, _ in block.lines.get(_BOUNDARY, ())]


def _own_piece(block: Block, values: dict[str, str], what: str) -> Piece:
    """A piece that this program wrote: nothing is lost."""
    rings: dict[int, list[Edge]] = {0: []}
    for p, entity in block.lines.get(_SEW, ()):
        known = Given(entity, what)
        rings.setdefault(hole_of(known), []).append(edge_from(known, p))
    edges, *holes = (rings[k] for k in sorted(rings))
    every = [e for ring in rings.values() for e in ring]
    # Those at the legs of a dart are drawn from the dart: they are no marks of their own.
    notches = [notch_from(Given(e, what)) for _, e in block.lines.get(NOTCHES, ()) if "dart" not in e]
    marks, darts = [], []
    for p, entity in block.lines.get(_INTERNAL, ()):
        known = Given(entity, what)
        if known.text("dart"):
            darts.append(dart_from(known, p, every))
            continue
        marks.append(Mark(known.text("mark") or "mark", p, known.text("kind") or "placing"))
    grain = next((_ends(p) for p, _ in block.lines.get(_GRAIN, ())), None)
    return piece_from(Given(values, what), edges, notches, marks, grain, holes, darts)


def _outlines(block: Block) -> list[Drawn]:
    return [Drawn(p) for layer, found in block.lines.items() if layer not in _NOT_OUTLINES for p, _ in found]


def _ends(path: Path) -> tuple[XY, XY]:
    (a, b), (c, d) = path.start.tolist(), path.end.tolist()
    return (a, b), (c, d)
