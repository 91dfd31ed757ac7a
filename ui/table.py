"""What the table says by itself, without the interface library in between.

A let-go line is waited for. The library's queue, its stream of events and its copies of the whole scene take several
times as long as the work itself, so what happens at the picture goes to these two doors and is answered at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import Body

from swatches.errors import MockupError
from ui.parts import actions
from ui.parts.desk import at_once
from ui.parts.marks import ways_scene
from ui.parts.session import WORD, Sessions

if TYPE_CHECKING:
    from fastapi import FastAPI

_MESSAGE = Body()
_MOST_SHOWN = 8  # views side by side


def serve_table(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``POST /table/<word>/commit`` (lines let go) and ``/table/<word>/act`` with the scene or a patch of it."""
    from fastapi.responses import JSONResponse, PlainTextResponse, Response

    @app.post("/table/{word}/{event}")
    def said(word: str, event: str, message: Any = _MESSAGE) -> Response:
        if not WORD.fullmatch(word) or event not in _DOES:
            return PlainTextResponse("There is nothing here.", 404)
        _look(sessions, word, message)
        return JSONResponse(_DOES[event](sessions, word, message), headers={"cache-control": "no-store"})


def _look(sessions: Sessions, word: str, message: Any) -> None:
    """Note which views the window shows: those are painted before it asks for them."""
    shown = message.get("shown") if isinstance(message, dict) else None
    if isinstance(shown, list) and len(shown) <= _MOST_SHOWN and all(isinstance(name, str) for name in shown):
        sessions.get(word).looked_at = frozenset(shown)


def committed(sessions: Sessions, word: str, message: Any) -> dict[str, Any]:
    """Take lines that were let go; gives the scene."""
    edit = message.get("edit") if isinstance(message, dict) else None
    return at_once(
        sessions,
        word,
        "lines",
        lambda session: actions.commit(session, message),
        edit=edit if isinstance(edit, int) else 0,
    )


def acted(sessions: Sessions, word: str, message: Any) -> dict[str, Any]:
    """Do one thing that is not a moved line; gives the scene, or a patch of it."""
    do = message.get("do") if isinstance(message, dict) else None
    if do == "stop":
        sessions.get(word).stop.set()  # at once, without waiting for whoever holds the session
        return {"patch": True}
    if do == "ways":
        return _ways(sessions, word, message)
    place = "lines" if isinstance(do, str) and do in actions.ABOUT_LINES else "table"
    return at_once(sessions, word, place, lambda session: actions.act(session, message))


_DOES = {"commit": committed, "act": acted}


def _ways(sessions: Sessions, word: str, message: Any) -> dict[str, Any]:
    try:
        session = sessions.get(word)
        with session.lock:
            return {"patch": True, "ways": ways_scene(session, message)}
    except MockupError:
        return {"patch": True}  # the garment was changed meanwhile; its new scene is on its way
