"""The garment with just the cloth that its pieces lie on, for the board of the lay."""

from __future__ import annotations

import hashlib
from typing import Any

from mockup import journey
from mockup.garment.view import View
from mockup.journey.laid_cloth import exact_cloths
from ui.parts import pictures, words
from ui.parts.session import Session
from ui.questions.lay_state import board_of, digest, laid_of, lays_of

LONG_SIDE = 900


def painted(session: Session) -> list[dict[str, Any]]:
    """Addresses of the garment's views, painted when the browser asks for them; empty where nothing lies."""
    board = board_of(session)
    laid = laid_of(session)
    lays = {} if board is None else lays_of(board, laid)
    if board is None or not lays:
        return []
    project, folder, letter = board.project, session.folder, board.letter
    # the picture shows the panels of a joined piece apart, so none of them can be shown with just its cloth
    made = [p.with_(number=0) if p.name in board.joined else p for p in board.made]
    out = []
    for view in project.views:

        def paint(target: Any, view_name: str = view.name) -> None:
            cloths = exact_cloths(project, folder, letter, made, board.pieces, lays)
            picture = journey.paint_view(
                project, folder, letter, view_name, long_side=LONG_SIDE, cloths=cloths.get(view_name)
            )
            pictures.save(target, picture)

        name = hashlib.sha256(f"{digest(laid)} {view.name}".encode()).hexdigest()[:24]
        out.append(
            {
                "title": view_title(view),
                "photo": view.kind == "photo",
                "href": session.to_paint(f"{view.side}-{name}.jpg", paint),
            }
        )
    return out


def view_title(view: View) -> str:
    """'Front', or 'Front, photo'."""
    title = words.VIEWS.get(view.side, view.name)
    return title if view.kind == "drawing" else f"{title}, photo"
