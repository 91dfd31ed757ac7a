"""What the table says by itself, without the interface library in between.

A let-go line is waited for. The library's queue, its stream of events and its copies of the whole scene take several
times as long as the work itself, so what happens at the picture goes to these two doors and is answered at once.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from fastapi import Body

from swatches.errors import MockupError
from ui.parts import actions
from ui.parts.desk import answered, done
from ui.parts.marks import ways_scene
from ui.parts.said import Said
from ui.parts.session import WORD, Session, Sessions

if TYPE_CHECKING:
    from fastapi import FastAPI

_MESSAGE = Body()
_MOST_SHOWN = 8  # views side by side


def serve_table(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``POST /table/<word>/commit`` (lines let go) and ``/table/<word>/act``.

    An answer is one JSON object a line: first, as soon as it is known, where the new pictures are; when they are
    painted, the scene.
    """
    from fastapi.responses import PlainTextResponse, Response, StreamingResponse

    @app.post("/table/{word}/{event}")
    def said(word: str, event: str, message: Any = _MESSAGE) -> Response:
        if not WORD.fullmatch(word) or event not in _DOES:
            return PlainTextResponse("There is nothing here.", 404)
        session = sessions.get(word)
        _look(session, message)
        lines = (json.dumps(part, allow_nan=False) + "\n" for part in _DOES[event](session, message))
        return StreamingResponse(lines, media_type="application/x-ndjson", headers={"cache-control": "no-store"})


def _look(session: Session, message: Any) -> None:
    """Note which views the window shows: those are painted before it asks for them."""
    shown = message.get("shown") if isinstance(message, dict) else None
    if isinstance(shown, list) and len(shown) <= _MOST_SHOWN and all(isinstance(name, str) for name in shown):
        session.looked_at = frozenset(shown)


def committed(session: Session, message: Any) -> Iterator[dict[str, Any]]:
    """Take lines that were let go; where the same window let go of others meanwhile, that answer will do."""
    edit, client = (message.get(k) if isinstance(message, dict) else None for k in ("edit", "client"))
    edit = edit if isinstance(edit, int) else 0

    def passed() -> bool:
        return any(window == client and n > edit for (window, _), n in list(session.edits.items()))

    yield from _told(session, "lines", lambda held: actions.commit(held, message), edit, passed)


def acted(session: Session, message: Any) -> Iterator[dict[str, Any]]:
    """Do one thing that is not a moved line."""
    do = message.get("do") if isinstance(message, dict) else None
    if do == "stop":
        session.stop.set()  # at once, without waiting for whoever holds the session
        yield {"patch": True}
    elif do == "ways":
        yield _ways(session, message)
    else:
        place = "lines" if isinstance(do, str) and do in actions.ABOUT_LINES else "table"
        yield from _told(session, place, lambda held: actions.act(held, message))


_DOES = {"commit": committed, "act": acted}


def _told(
    session: Session,
    place: str,
    do: Callable[[Session], Said | None],
    edit: int = 0,
    passed: Callable[[], bool] = lambda: False,
) -> Iterator[dict[str, Any]]:
    said, ahead = done(session, place, do)
    yield {"patch": True, "pictures": ahead.pictures}
    ahead.wait()  # the scene would be made on the same cores, and it is the picture that is waited for
    if said is not None or not passed():
        yield answered(session, said, edit=edit)


def _ways(session: Session, message: Any) -> dict[str, Any]:
    try:
        with session.lock:
            return {"patch": True, "ways": ways_scene(session, message)}
    except MockupError:  # the garment was changed meanwhile; its new scene is on its way
        asked = message if isinstance(message, dict) else {}
        return {"patch": True, "ways": {**{k: asked.get(k) for k in ("line", "code", "end")}, "ways": []}}
