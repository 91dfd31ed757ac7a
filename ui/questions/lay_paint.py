"""The garment with just the cloth that its pieces lie on, for the board of the lay."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from mockup import journey
from mockup.journey.laid_cloth import exact_cloths
from ui.parts import pictures, words
from ui.parts.session import Session
from ui.questions.lay_state import board_of, digest, laid_of, lays_of

LONG_SIDE = 900


def painted(session: Session) -> list[dict[str, Any]]:
    """Addresses of the garment's drawings, painted when the browser asks for them; empty where nothing lies."""
    board = board_of(session)
    laid = laid_of(session)
    lays = {} if board is None else lays_of(board, laid)
    if board is None or not lays:
        return []
    project, folder, letter = board.project, session.folder, board.letter
    shown = replace(project, views=tuple(v for v in project.views if v.kind == "drawing"))
    out = []
    for view in shown.views:

        def paint(target: Any, view_name: str = view.name) -> None:
            cloths = exact_cloths(shown, folder, letter, board.made, board.pieces, lays)
            picture = journey.paint_view(
                shown, folder, letter, view_name, long_side=LONG_SIDE, cloths=cloths.get(view_name)
            )
            pictures.save(target, picture)

        name = f"{view.side}-{digest(laid)}.jpg"
        out.append({"title": words.VIEWS.get(view.side, view.name), "href": session.to_paint(name, paint)})
    return out
