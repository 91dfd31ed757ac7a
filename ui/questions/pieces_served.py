"""What the board of pieces asks for between two cuts: the pattern as it is, with the lines on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from mockup.journey.cutting import pieces_of, split_of
from mockup.journey.on_pieces import on_pieces
from mockup.pattern.piece import Piece
from mockup.split.split import Split
from swatches.errors import MockupError
from ui.parts.session import WORD, Session, Sessions
from ui.parts.words import sentence
from ui.questions.lay_served import serve_lay
from ui.questions.pieces_asked import names_for, trouble, unnamed, unsaid, without_allowance
from ui.questions.pieces_drawn import drawn_pieces
from ui.questions.pieces_own import which_shown
from ui.questions.stash_served import serve_stash

if TYPE_CHECKING:
    from fastapi import FastAPI


def serve_pieces(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``/pieces/<word>/pattern.json``."""
    from fastapi.responses import JSONResponse, PlainTextResponse, Response

    serve_lay(app, sessions)
    serve_stash(app, sessions)

    @app.get("/pieces/{word}/pattern.json")
    def pattern(word: str) -> Response:
        if not WORD.fullmatch(word):
            return PlainTextResponse("There is nothing here.", 404)
        with sessions.open(word) as session:
            return JSONResponse(pattern_shown(session), headers={"cache-control": "no-store"})


def pattern_shown(session: Session) -> dict[str, Any]:
    """The pattern pieces with the lines on them; ``sheet`` is None where there are no pieces.

    While no length is known, the pieces are drawn without lines, and ``said`` tells why.
    """
    project = session.project
    if project is None or not project.pieces:
        return {"sheet": None, "said": ""}
    try:
        found = on_pieces(project, session.folder)
        pieces = pieces_of(project, session.folder)
        sheet = _asking(drawn_pieces([f.piece for f in found], lines=found), pieces, split_of(project))
        which = which_shown(project, pieces)
        return {"sheet": sheet, "which": which, "said": "", "line_asked": without_allowance(pieces)}
    except MockupError as error:
        said = sentence(error)
    try:
        pieces = pieces_of(project, session.folder)
        return {"sheet": drawn_pieces(pieces), "said": said, "line_asked": without_allowance(pieces)}
    except MockupError as error:
        return {"sheet": None, "said": sentence(error)}


def _asking(sheet: dict[str, Any], pieces: Sequence[Piece], split: Split) -> dict[str, Any]:
    """Every piece with the names that its edges can have, and what is to be said of it, instead of why no line fits."""
    for row, piece in zip(sheet["pieces"], pieces, strict=True):
        row["names"] = names_for(piece, split)
        if row["trouble"] or unnamed(piece) or (not piece.view and unsaid(piece)):
            row["trouble"] = trouble(piece, split) or row["trouble"]
    return sheet
