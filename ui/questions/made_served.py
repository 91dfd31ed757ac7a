"""The door for files to download."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING

from swatches.errors import Cancelled, MockupError
from ui.parts.session import WORD, Sessions
from ui.parts.words import sentence
from ui.questions.pieces_print import PRINTS, WhileAsked, print_of

if TYPE_CHECKING:
    from fastapi import FastAPI

_LOOK_S = 0.2  # between two looks whether the browser still waits


def serve_made(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``/made/<word>/<name>``; a print that was not made with the pieces is made now."""
    from fastapi import Request
    from fastapi.responses import FileResponse, PlainTextResponse, Response
    from starlette.concurrency import run_in_threadpool

    async def printed(request: Request, word: str, name: str) -> Path | None:
        job = WhileAsked()
        making = asyncio.ensure_future(run_in_threadpool(print_of, sessions.get(word), name, job=job))
        while not (await asyncio.wait({making}, timeout=_LOOK_S))[0]:
            if await request.is_disconnected():
                job.stop()
        return await making

    async def made(request: Request, word: str, name: str) -> Response:
        nothing = PlainTextResponse("There is nothing here.", 404)
        if not WORD.fullmatch(word):
            return nothing
        try:
            file = await printed(request, word, name) if name in PRINTS else _inside(sessions, word, name)
        except Cancelled:
            return nothing  # nobody reads it
        except MockupError as error:
            return PlainTextResponse(sentence(error), 409)
        if file is None:
            return nothing
        headers = {"cache-control": "no-store"}
        return FileResponse(file, filename=name, media_type="application/octet-stream", headers=headers)

    made.__annotations__["request"] = Request  # known in here only, since it takes long to import
    app.get("/made/{word}/{name}", response_model=None)(made)


def _inside(sessions: Sessions, word: str, name: str) -> Path | None:
    home = sessions.home / word / "made"
    file = home / name
    return file if file.parent == home and not name.startswith(".") and file.is_file() else None
