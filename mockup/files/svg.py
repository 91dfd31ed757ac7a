"""Pattern pieces as SVG: written to be read by hand, looked at in a browser, and read back without loss.

The format (also in DEVELOPERS.md): mm; one group a piece, one path an edge, run end to start::

    <g data-piece="front" data-view="front" data-area="body" data-how="on fold" data-layer="shell"
       data-number="1" data-fabric="navy-wool" data-rsu="false" data-count="1" data-size="M">
      <path data-edge="side" data-kind="seam" data-allowance="5/8in" data-mate="back:side"
            data-start="underarm" data-end="hem" d="M 260,220 L 290,760"/>
      …
      <path data-grainline="" d="M 90,700 L 90,250"/>                       tail to head
      <path data-notch="side" data-distance="120" data-marks="1" d="…"/>    mm from the edge's first point
      <path data-mark="pocket" data-kind="placing" d="…"/>                  internal line
      <path data-dart="bust dart" data-on="side" d="M … L … L …"/>          leg's end, tip, other leg's end
      <path data-edge="badge" data-hole="1" … d="…"/>                       an edge of the first opening inside it
      <path data-drawn="cut line" d="…"/>                                   drawn only, not read
    </g>

Where a file holds several pieces, each may be moved on the sheet: ``data-moved="x,y"`` says by how much (mm, y down),
and reading takes it back. Pieces may run clockwise in the file; they come out counter-clockwise. A file without
``data-piece`` is read by :mod:`mockup.files.outlines`, and so is a group without any ``data-edge``: one plain outline,
whose edges run from corner to corner.
"""

from __future__ import annotations

from math import isfinite
from pathlib import Path as FilePath

import numpy as np

from mockup.files.given import Given, clean
from mockup.files.named import dart_from, edge_from, hole_of, notch_from, piece_from
from mockup.files.outlines import Drawn, pieces_from_lines
from mockup.files.svg_drawing import Drawing, Shape, read_drawing
from mockup.files.svg_writer import write_pieces
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats
from mockup.pattern.piece import Edge, Mark, Piece
from swatches.errors import FileFormatError

__all__ = ["read_pieces", "write_pieces"]

MAX_PIECES = 2000
_BESIDE = ("data-grainline", "data-notch", "data-mark", "data-dart", "data-drawn")  # lines that are no outline


def read_pieces(
    source: FilePath | bytes, *, mm_per_unit: float | None = None, apart: bool = False
) -> tuple[Piece, ...]:
    """Read pattern pieces from an SVG file.

    Args:
        source: the file, or its bytes.
        mm_per_unit: mm of one user unit, where the file gives its size without a unit.
        apart: read it in a process of its own, with limits, as strangers' files are.

    Returns:
        The pieces in the file's order, in mm, y up, counter-clockwise.

    Raises:
        FileFormatError: the file is no safe SVG, an outline is open, crosses itself or lies in another, or a
            ``data-`` attribute cannot be read; one sentence each.
    """
    drawing = read_drawing(source, mm_per_unit=mm_per_unit, apart=apart)
    what = clean(source.name) if isinstance(source, FilePath) else "SVG file"
    if not drawing.groups:
        lines = [Drawn(p, s.name) for s in drawing.shapes for p in s.paths]
        return pieces_from_lines(lines, what=what)
    if len(drawing.groups) > MAX_PIECES:
        raise FileFormatError(
            what, expected=f"at most {MAX_PIECES} pieces", got=str(len(drawing.groups)), next_step="Split the file"
        )
    return tuple(_piece(i, drawing, what) for i in range(len(drawing.groups)))


def _piece(index: int, drawing: Drawing, what: str) -> Piece:
    values = drawing.groups[index]
    name = clean(values["data-piece"]) or f"piece-{index + 1}"
    what = f"{what}, piece {name}"
    given = Given({**values, "data-piece": name}, what, prefix="data-")
    back = _move_back(given)
    shapes = [s.moved(back) for s in drawing.shapes if s.group == index]
    drawn = [s for s in shapes if "data-edge" in s.attributes]
    rings: dict[int, list[Edge]] = {0: []}
    for s in drawn:
        rings.setdefault(hole_of(_of(s, what)), []).append(edge_from(_of(s, what), _one_path(s, what)))
    plain = [] if drawn else [Drawn(p) for s in shapes if not any(k in s.attributes for k in _BESIDE) for p in s.paths]
    outline = _plain_outline(plain, what) if plain else None
    if outline is not None:
        rings[0] = list(outline.edges)
    edges, *holes = (rings[k] for k in sorted(rings))
    darts = [
        dart_from(_of(s, what), s.paths[0], [e for ring in rings.values() for e in ring])
        for s in shapes
        if "data-dart" in s.attributes and s.paths
    ]
    notches = [notch_from(_of(s, what)) for s in shapes if "data-notch" in s.attributes]
    marks = [m for s in shapes if "data-mark" in s.attributes for m in _marks(_of(s, what), s)]
    marks += outline.marks if outline is not None else ()
    grain = next((_ends(s) for s in shapes if "data-grainline" in s.attributes and s.paths), None)
    return piece_from(given, edges, notches, marks, grain, holes, darts)


def _plain_outline(lines: list[Drawn], what: str) -> Piece:
    """The outline of a group that names its piece but none of its edges."""
    found = pieces_from_lines(lines, what=what)
    if len(found) > 1:
        raise FileFormatError(
            what, expected="one outline in the group of a piece", got=str(len(found)),
            next_step="Give every outline a group of its own",
        )  # fmt: skip
    return found[0]


def _of(shape: Shape, what: str) -> Given:
    return Given(shape.attributes, what, prefix="data-")


def _one_path(shape: Shape, what: str) -> paths.Path:
    name = clean(shape.attributes["data-edge"])
    if not name or len(shape.paths) != 1:
        raise FileFormatError(
            f"{what}, edge {name}" if name else what,
            expected="a named edge that is one connected line",
            got=f"{len(shape.paths)} lines" if name else "no name",
            next_step="Draw every edge as one path",
        )
    return shape.paths[0]


def _marks(given: Given, shape: Shape) -> list[Mark]:
    return [Mark(given.text("mark") or "mark", p, given.text("kind") or "placing") for p in shape.paths]


def _ends(shape: Shape) -> tuple[XY, XY]:
    first, last = shape.paths[0].start, shape.paths[0].end
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))


def _move_back(given: Given) -> Floats:
    """The map that undoes a piece's place on the sheet: (x, y) there, y down, is (x, −y) here."""
    text = given.text("moved") or "0,0"
    try:
        x, y = (float(v) for v in text.split(","))
        if not (isfinite(x) and isfinite(y)):
            raise ValueError("not finite")
    except ValueError as error:
        raise FileFormatError(
            given.what, expected="data-moved as x,y in mm", got=repr(text), next_step="Write it like 120,0"
        ) from error
    return np.array([[1.0, 0.0, -x], [0.0, 1.0, y]])
