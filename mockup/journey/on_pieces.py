"""The project's lines as they lie on its pattern pieces, before anything is cut: to look at, and to move there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from mockup.journey.cutting import pieces_of, split_of
from mockup.pattern.cut import CutLine
from mockup.pattern.piece import Piece, counter_clockwise
from mockup.pattern.register import carried_lines, lines_on_piece, mirrored_lines, register
from mockup.pattern.section_lines import lines_on_section
from mockup.pattern.sections import matched_again, section_of, shows_body
from mockup.pattern.unfold import unfolded
from mockup.pattern.view_half import keeps_fold
from mockup.project import Project
from mockup.split.split import SplitView
from swatches.errors import GeometryError


@dataclass(frozen=True, slots=True, eq=False)
class OnPiece:
    """A pattern piece with the lines that cross it.

    Attributes:
        piece: as the pattern has it; unfolded where a line is not the same on both sides.
        lines: in the piece's mm.
        trouble: why the lines of its view cannot be put on it, in one sentence, or empty.
    """

    piece: Piece
    lines: tuple[CutLine, ...] = ()
    trouble: str = ""


def on_pieces(project: Project, folder: Path) -> tuple[OnPiece, ...]:
    """Put the project's lines on its pattern pieces, without cutting.

    Raises:
        ProjectError: there are no pieces, or no scale is known.
    """
    pieces = pieces_of(project, folder)
    views = {view.name: view for view in split_of(project).views}
    return tuple(_on(counter_clockwise(piece), views.get(piece.view), pieces) for piece in pieces)


def _on(piece: Piece, view: SplitView | None, pieces: Sequence[Piece]) -> OnPiece:
    if view is None or not view.lines or not shows_body(piece, view) or piece.layer != "shell":
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
            return OnPiece(piece, lines_on_piece(view, piece))
        on = register(view, piece)
        alike = replace(view, lines=tuple(line for line in view.lines if line.symmetric))
        lines = mirrored_lines(carried_lines(alike, piece, on), piece.fold, on.half.side)
        whole, _ = unfolded(piece, on.half.side)
        rest = replace(view, lines=tuple(line for line in view.lines if not line.symmetric))
        return OnPiece(whole, (*lines, *carried_lines(rest, whole, register(rest, whole))))
    except GeometryError as error:
        return OnPiece(piece, trouble=str(error))
