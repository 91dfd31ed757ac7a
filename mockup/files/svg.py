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
      <path data-drawn="cut line" d="…"/>                                   drawn only, not read
    </g>

Where a file holds several pieces, each may be moved on the sheet: ``data-moved="x,y"`` says by how much (mm, y down),
and reading takes it back. Pieces may run clockwise in the file; they come out counter-clockwise. A file without
``data-piece`` is read by :mod:`mockup.files.outlines`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from pathlib import Path as FilePath
from typing import TypeVar

import numpy as np

from mockup.files.outlines import GAP_MM, Drawn, checked_polygon, meet, pieces_from_lines
from mockup.files.svg_drawing import Drawing, Shape, clean, read_drawing
from mockup.files.svg_writer import write_pieces
from mockup.geometry import path as paths
from mockup.geometry.path import XY
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Mark, Notch, Piece
from swatches.errors import FileFormatError, UnitError
from swatches.units import Length, length

__all__ = ["read_pieces", "write_pieces"]

MAX_PIECES = 2000
MAX_NOTCHES = 5000
_Choice = TypeVar("_Choice", bound=StrEnum)


def read_pieces(source: FilePath | bytes, *, mm_per_unit: float | None = None) -> tuple[Piece, ...]:
    """Read pattern pieces from an SVG file.

    Args:
        source: the file, or its bytes.
        mm_per_unit: mm of one user unit, where the file gives its size without a unit.

    Returns:
        The pieces in the file's order, in mm, y up, counter-clockwise.

    Raises:
        FileFormatError: the file is no safe SVG, an outline is open, crosses itself or lies in another, or a
            ``data-`` attribute cannot be read; one sentence each.
    """
    drawing = read_drawing(source, mm_per_unit=mm_per_unit)
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
    given = _Given(drawing.groups[index], what)
    name = given.text("data-piece") or f"piece-{index + 1}"
    given.what = what = f"{what}, piece {name}"
    shapes = [s for s in drawing.shapes if s.group == index]
    edges = _closed([_edge(s, what) for s in shapes if "data-edge" in s.attributes], what)
    notches = tuple(_notch(s, what) for s in shapes if "data-notch" in s.attributes)
    if len(notches) > MAX_NOTCHES:
        raise FileFormatError(
            what, expected=f"at most {MAX_NOTCHES} notches", got=str(len(notches)), next_step="Remove some"
        )
    has_fold = any(e.kind is EdgeKind.FOLD for e in edges)
    piece = Piece(
        name=name,
        edges=edges,
        view=given.text("data-view"),
        area=given.text("data-area") or "body",
        grainline=next((_grain(s) for s in shapes if "data-grainline" in s.attributes and s.paths), None),
        notches=notches,
        marks=tuple(m for s in shapes if "data-mark" in s.attributes for m in _marks(s)),
        how=given.choice("data-how", HowToCut, HowToCut.ON_FOLD if has_fold else HowToCut.SINGLE),
        right_side_up=given.yes("data-rsu"),
        count=given.whole("data-count", 1, low=1),
        number=given.whole("data-number", 0),
        side=given.text("data-side"),
        fabric=given.text("data-fabric"),
        parent=given.text("data-parent"),
        layer=given.text("data-layer") or "shell",
        size=given.text("data-size"),
    )
    piece = _moved_back(piece, given)
    _check_notches(piece, what)
    if paths.signed_area(piece.outline) < 0:
        piece = _turned_round(piece)
    checked_polygon(piece.outline, what=what)
    return piece


def _edge(shape: Shape, what: str) -> Edge:
    given = _Given(shape.attributes, what)
    name = given.text("data-edge")
    given.what = f"{what}, edge {name}"
    if not name or len(shape.paths) != 1:
        raise FileFormatError(
            given.what,
            expected="a named edge that is one connected line",
            got=f"{len(shape.paths)} lines" if name else "no name",
            next_step="Draw every edge as one path",
        )
    kind = given.choice("data-kind", EdgeKind, EdgeKind.SEAM)
    allowance = given.length("data-allowance")
    return Edge(
        name=name,
        path=shape.paths[0],
        kind=kind,
        allowance_mm=allowance.mm,
        allowance_text="" if allowance.unit == "mm" else str(allowance),
        mate=given.text("data-mate"),
        start_name=given.text("data-start"),
        end_name=given.text("data-end"),
        line_id=given.text("data-line"),
        corner=given.choice("data-corner", Corner, Corner.MITRE),
    )


def _closed(edges: Sequence[Edge], what: str) -> tuple[Edge, ...]:
    """Let every edge start exactly where the one before it ends; refuse a gap."""
    if not edges:
        raise FileFormatError(
            what, expected="edges", got="no path with data-edge", next_step="Name the edges, or leave data-piece out"
        )
    ends = []
    for i, edge in enumerate(edges):
        before = edges[i - 1]
        gap = float(np.linalg.norm(edge.path.start - before.path.end))
        if gap > GAP_MM:
            x, y = before.path.end
            raise FileFormatError(
                what,
                expected="a closed outline, every edge starting where the one before it ends",
                got=f"{gap:.4g} mm between {before.name} and {edge.name} at ({x:.4g}, {y:.4g})",
                next_step="Close the gap, and write the edges in the order in which they run",
            )
        ends.append(before.path.end)
    return tuple(
        _with_path(e, meet(e.path, ends[i], ends[(i + 1) % len(edges)] if len(edges) > 1 else ends[0]))
        for i, e in enumerate(edges)
    )


def _with_path(edge: Edge, path: paths.Path, **changes: object) -> Edge:
    return replace(edge, path=path, **changes)  # type: ignore[arg-type]


def _notch(shape: Shape, what: str) -> Notch:
    given = _Given(shape.attributes, f"{what}, notch")
    return Notch(
        given.text("data-notch"), given.length("data-distance").mm, given.whole("data-marks", 1, low=1, high=3)
    )


def _marks(shape: Shape) -> list[Mark]:
    name = clean(shape.attributes["data-mark"]) or "mark"
    kind = clean(shape.attributes.get("data-kind", "")) or "placing"
    return [Mark(name, p, kind) for p in shape.paths]


def _grain(shape: Shape) -> tuple[XY, XY]:
    first, last = shape.paths[0].start, shape.paths[0].end
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))


def _moved_back(piece: Piece, given: _Given) -> Piece:
    """Undo the place on the sheet: the file's y runs down, so that (x, y) there is (x, −y) here."""
    text = given.text("data-moved")
    if not text:
        return piece
    try:
        x, y = (float(v) for v in text.split(","))
    except ValueError as error:
        raise FileFormatError(
            given.what, expected="data-moved as x,y in mm", got=repr(text), next_step="Write it like 120,0"
        ) from error
    back = np.array([[1.0, 0.0, -x], [0.0, 1.0, y]])
    grain = piece.grainline
    return piece.with_(
        edges=tuple(_with_path(e, paths.transformed(e.path, back)) for e in piece.edges),
        marks=tuple(Mark(m.name, paths.transformed(m.path, back), m.kind) for m in piece.marks),
        grainline=grain and ((grain[0][0] - x, grain[0][1] + y), (grain[1][0] - x, grain[1][1] + y)),
    )


def _check_notches(piece: Piece, what: str) -> None:
    sizes = {e.name: paths.length(e.path) for e in reversed(piece.edges)}
    for n in piece.notches:
        if n.edge not in sizes or not 0 <= n.distance_mm <= sizes[n.edge] + 1e-6:
            got = f"{n.distance_mm:g} mm along {n.edge!r}"
            raise FileFormatError(
                what,
                expected="every notch on a named edge, at a distance along it",
                got=got + (f", which is {sizes[n.edge]:.4g} mm long" if n.edge in sizes else ", which is no edge"),
                next_step="Put the notch on its edge",
            )


def _turned_round(piece: Piece) -> Piece:
    """Run a clockwise piece the other way: edges, their end names, corners (which belong to a start) and notches."""
    edges = piece.edges
    turned = [
        _with_path(
            e,
            paths.reversed_path(e.path),
            start_name=e.end_name,
            end_name=e.start_name,
            corner=edges[(i + 1) % len(edges)].corner,
        )
        for i, e in enumerate(edges)
    ]
    sizes = {e.name: paths.length(e.path) for e in reversed(edges)}
    notches = tuple(Notch(n.edge, max(0.0, sizes[n.edge] - n.distance_mm), n.count) for n in piece.notches)
    return piece.with_(edges=tuple(reversed(turned)), notches=notches)


class _Given:
    """The ``data-`` attributes of one element, read with a sentence for each that cannot be."""

    def __init__(self, attributes: Mapping[str, str], what: str) -> None:
        self.attributes, self.what = attributes, what

    def text(self, key: str) -> str:
        return clean(self.attributes.get(key, ""))

    def choice(self, key: str, choices: type[_Choice], default: _Choice) -> _Choice:
        text = self.text(key).lower()
        try:
            return choices(text) if text else default
        except ValueError as error:
            raise self._bad(key, "one of " + ", ".join(choices), text) from error

    def yes(self, key: str) -> bool:
        text = self.text(key).lower()
        if text not in ("", "true", "false"):
            raise self._bad(key, "true or false", text)
        return text == "true"

    def whole(self, key: str, default: int, *, low: int = 0, high: int = 10_000) -> int:
        text = self.text(key)
        if not text:
            return default
        if not (text.isascii() and text.isdigit() and low <= int(text[:9]) <= high):
            raise self._bad(key, f"a whole number from {low} to {high}", text)
        return int(text)

    def length(self, key: str) -> Length:
        try:
            return length(self.text(key) or "0", what=f"{self.what}, {key}", minimum_mm=0.0)
        except UnitError as error:
            raise FileFormatError(
                error.what, expected=error.expected, got=error.got, next_step=error.next_step
            ) from error

    def _bad(self, key: str, expected: str, got: str) -> FileFormatError:
        return FileFormatError(f"{self.what}, {key}", expected=expected, got=repr(got), next_step="Correct it")
