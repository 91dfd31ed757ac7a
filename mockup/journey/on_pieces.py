"""The project's lines as they lie on its pattern pieces, before anything is cut: to look at, and to move there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from mockup.garment.view import View
from mockup.geometry.path import XY
from mockup.journey.cutting import pieces_of, split_of
from mockup.pattern.cut import CutLine
from mockup.pattern.piece import Piece, counter_clockwise
from mockup.pattern.register import Registered, carried_lines, mirrored_lines, register
from mockup.pattern.section_lines import lines_on_section
from mockup.pattern.sections import matched_again, section_of, shows_body
from mockup.pattern.unfold import unfolded
from mockup.pattern.view_half import keeps_fold
from mockup.project import Project
from mockup.split.split import SplitView
from mockup.stylelines.edges import mm_to_shares, shares_to_mm
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import StyleLine
from swatches.errors import GeometryError


@dataclass(frozen=True, slots=True)
class Between:
    """A point between the ends of a line, as it lies on a piece.

    Attributes:
        line: id of the line.
        index: which of its points, from 0.
        at: where it is, piece mm.
        per_mm: what a mm to the right and a mm up on the piece are, there, in shares of the body:
            ((u for right, u for up), (v for right, v for up)).
    """

    line: str
    index: int
    at: XY
    per_mm: tuple[XY, XY]


@dataclass(frozen=True, slots=True, eq=False)
class OnPiece:
    """A pattern piece with the lines that cross it.

    Attributes:
        piece: as the pattern has it; unfolded where a line is not the same on both sides.
        lines: in the piece's mm.
        trouble: why the lines of its view cannot be put on it, in one sentence, or empty.
        between: the lines' points between their ends; none where the piece shows a part of the body only.
    """

    piece: Piece
    lines: tuple[CutLine, ...] = ()
    trouble: str = ""
    between: tuple[Between, ...] = ()


def on_pieces(project: Project, folder: Path) -> tuple[OnPiece, ...]:
    """Put the project's lines on its pattern pieces, without cutting.

    Raises:
        ProjectError: there are no pieces, or no scale is known.
    """
    pieces = pieces_of(project, folder)
    views = {view.name: view for view in split_of(project).views}
    drawn = {view.side: view for view in primary_views(project.views)}
    return tuple(
        _on(counter_clockwise(piece), views.get(piece.view), pieces, drawn.get(piece.view), project.lines)
        for piece in pieces
    )


def _on(
    piece: Piece, view: SplitView | None, pieces: Sequence[Piece], drawn: View | None, known: Sequence[StyleLine]
) -> OnPiece:
    if drawn is None or view is None or not view.lines or not shows_body(piece, view) or piece.layer != "shell":
        return OnPiece(piece)
    try:
        shown = section_of(view, piece, pieces)
        if shown is not None:
            on = shown.on
            if on.half.side and piece.fold is not None and not keeps_fold(shown.view):
                piece, _ = unfolded(piece, on.half.side)
                on = matched_again(shown, piece)
            return OnPiece(piece, lines_on_section(shown, piece, on, shown.view))
        if keeps_fold(view) or piece.fold is None:
            on = register(view, piece)
            lines = carried_lines(view, piece, on)
            return OnPiece(piece, lines, between=_between(lines, known, drawn, on))
        on = register(view, piece)
        alike = replace(view, lines=tuple(line for line in view.lines if line.symmetric))
        both = carried_lines(alike, piece, on)
        lines = mirrored_lines(both, piece.fold, on.half.side)
        whole, _ = unfolded(piece, on.half.side)
        rest = replace(view, lines=tuple(line for line in view.lines if not line.symmetric))
        on_whole = register(rest, whole)
        across = carried_lines(rest, whole, on_whole)
        between = (*_between(both, known, drawn, on), *_between(across, known, drawn, on_whole))
        return OnPiece(whole, (*lines, *across), between=between)
    except GeometryError as error:
        return OnPiece(piece, trouble=str(error))


def _between(lines: Sequence[CutLine], known: Sequence[StyleLine], view: View, on: Registered) -> tuple[Between, ...]:
    """The points between the ends of lines that lie on a piece, carried as the lines are."""
    ids = {line.id for line in lines}
    listed = [(line, k, xy) for line in known if line.id in ids for k, xy in enumerate(line.through)]
    if not listed:
        return ()
    # Of a symmetrical line the points are said for the wearer's left; the piece may show the right.
    ways = [-1.0 if line.symmetric and on.half.side == "right" else 1.0 for line, _, _ in listed]
    there = np.array([shares_to_mm(view, (way * xy[0], xy[1])) for way, (_, _, xy) in zip(ways, listed, strict=True)])
    mapped = on.to_piece()
    at, right, up = (mapped.apply(there + step) for step in ((0, 0), (1, 0), (0, 1)))
    zero = np.array(mm_to_shares(view, (0, 0)))
    shares = np.stack([mm_to_shares(view, (1, 0)) - zero, mm_to_shares(view, (0, 1)) - zero], axis=1)
    found = []
    for k, (way, (line, index, _)) in enumerate(zip(ways, listed, strict=True)):
        local = np.stack([right[k] - at[k], up[k] - at[k]], axis=1)  # piece mm for a mm of the view
        (a, b), (c, d) = (np.diag([way, 1.0]) @ shares @ np.linalg.inv(local)).tolist()
        found.append(Between(line.id, index, (float(at[k, 0]), float(at[k, 1])), ((a, b), (c, d))))
    return tuple(found)
