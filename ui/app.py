"""Puts the page together: one FastAPI application with the interface mounted in it and the gate in front.

``import gradio`` takes seconds, so it happens only inside :func:`build_app`.
"""

from __future__ import annotations

import gc
import logging
import os
import re
import socket
import sys
import threading
import warnings
import webbrowser
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from swatches.errors import MockupError
from swatches.lettering import FONT_FOLDER
from ui.gate import App, Gate, Receive, Scope, Send, UploadsOnly
from ui.parts.ahead import get_ready
from ui.parts.earlier import clear_out
from ui.parts.example import Example
from ui.parts.scripts import STATIC, mark
from ui.parts.session import WORD, Sessions
from ui.phone import Phones, serve_phone

if TYPE_CHECKING:
    from fastapi import FastAPI

LOCAL = ("127.0.0.1", "localhost", "::1")
_TYPES = {".jpg": "image/jpeg", ".png": "image/png"}
_PICTURE = re.compile(r"(front|back|cloth)-[0-9a-f]{24}[cs]?\.(jpg|png)")


def build_app(
    data: Path, *, hosts: Iterable[str] = LOCAL, example: Example | None = None, phones: Phones | None = None
) -> FastAPI:
    """Build the application.

    Args:
        data: folder that the work is kept in; made when the first change is saved.
        hosts: names and addresses by which the server may be called.
        example: the built-in example, where it is kept elsewhere.
        phones: where phones may be let in; then nobody else gets in from the network. None: no phone is.
    """
    os.environ["GRADIO_ANALYTICS_ENABLED"] = "False"
    os.environ["HF_HUB_OFFLINE"] = "1"
    # After every event the library would sum up how long all of them took, which nobody looks at.
    os.environ["GRADIO_ANALYTICS_CACHE_FREQUENCY"] = str(10**9)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        import gradio as gr
    from fastapi import FastAPI
    from fastapi.staticfiles import StaticFiles
    from gradio.utils import get_upload_folder

    from ui.page import build_page
    from ui.parts.theme import head, theme
    from ui.questions.made_served import serve_made
    from ui.questions.pieces_served import serve_pieces
    from ui.questions.sew import serve_sew
    from ui.questions.votes_shown import serve_votes
    from ui.table import serve_table

    # Painting gives way to other threads at every step, and would wait 5 ms each time until it goes on.
    sys.setswitchinterval(0.0005)
    sessions = Sessions(data)
    clear_out(sessions)
    example = example or Example(data)
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    _serve_files(app, sessions)
    if phones is not None:
        serve_phone(app, sessions, phones)
    serve_made(app, sessions)
    serve_pieces(app, sessions)
    serve_sew(app, sessions)
    serve_votes(app, sessions)
    serve_table(app, sessions)
    app.mount(f"/ours/{mark()}", _Cached(StaticFiles(directory=STATIC), b"private, max-age=31536000, immutable"))
    app.mount("/ours", _Cached(StaticFiles(directory=STATIC), b"no-cache"))
    blocks = build_page(sessions, example, phones)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        gr.mount_gradio_app(
            app,
            blocks,
            path="/",
            footer_links=[],
            run_history=False,
            show_error=False,
            max_file_size=80_000_000,
            enable_monitoring=False,
            mcp_server=False,
            ssr_mode=False,
            pwa=False,
            theme=theme(),
            css_paths=[
                STATIC / f"{name}.css"
                for name in ("page", "table", "questions", "cloth", "pieces", "choosing", "prints", "garment_found")
            ],
            head=head(),
            favicon_path=str(STATIC / "favicon.png"),
        )
    app.add_middleware(UploadsOnly, folder=Path(get_upload_folder()))
    app.add_middleware(_Address)
    app.add_middleware(Gate, hosts=frozenset(hosts), phone_only=phones is not None)
    # What the libraries are made of stays as long as the program: each look through it for waste takes 0.13 s, in
    # which no line that is let go is answered.
    gc.collect()
    gc.freeze()
    return app


def serve(
    host: str,
    port: int,
    data: Path,
    *,
    open_browser: bool = True,
    phone: str = "",
    ready: Callable[[], None] = lambda: None,
) -> None:
    """Answer until stopped.

    Args:
        host: address to answer on, 127.0.0.1 unless the person said otherwise.
        port: port; 0 takes a free one.
        data: folder for the work.
        open_browser: whether to open the page in the person's browser.
        phone: address by which a phone in the home network finds this computer, where one may be let in; or empty.
        ready: called when whoever asks for the page is answered.
    """
    import uvicorn

    phones = Phones(phone) if phone else None

    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind((host, port))
    port = listener.getsockname()[1]
    hosts = {*LOCAL, host} if host not in ("0.0.0.0", "::") else {*LOCAL, *_own_addresses()}  # noqa: S104
    example = Example(data)
    if phones is not None:
        hosts.add(phone.partition("//")[2].rpartition(":")[0].strip("[]"))
    app = build_app(data, hosts=hosts, example=example, phones=phones)
    threading.Thread(target=_prepare, args=(example,), daemon=True).start()
    shown = "127.0.0.1" if host in ("0.0.0.0", "::") else host  # noqa: S104
    address = f"http://[{shown}]:{port}/" if ":" in shown else f"http://{shown}:{port}/"
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", server_header=False, ws="none"))
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [address]).start()
    listener.listen()
    ready()
    server.run(sockets=[listener])


def _prepare(example: Example) -> None:
    """Lay the example out while nobody waits for it; when that fails, whoever opens it hears why."""
    try:
        example.prepare()
    except (MockupError, OSError) as error:
        logging.getLogger("mockup.page").warning("the example could not be laid out: %s", error)


class _Address:
    """Gives every new visit a session of its own: '/' without a word goes on to '/?p=<new word>'."""

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and scope["path"] == "/" and scope["method"] == "GET":
            from urllib.parse import parse_qs

            words = parse_qs(scope["query_string"].decode("latin-1")).get("p", [])
            if len(words) != 1 or not WORD.fullmatch(words[0]):
                target = f"/?p={Sessions.new_word()}".encode()
                headers = [(b"location", target), (b"content-length", b"0"), (b"cache-control", b"no-store")]
                await send({"type": "http.response.start", "status": 303, "headers": headers})
                await send({"type": "http.response.body", "body": b""})
                return
        await self.app(scope, receive, send)


class _Cached:
    """Says how long the browser keeps scripts and styles: 'no-cache' keeps them but checks."""

    def __init__(self, app: Any, how: bytes) -> None:
        self.app = app
        self.how = how

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def checked(message: Any) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message.get("headers", []), (b"cache-control", self.how)]}
            await send(message)

        await self.app(scope, receive, checked)


def _serve_files(app: FastAPI, sessions: Sessions) -> None:
    from fastapi.responses import FileResponse, PlainTextResponse, Response

    nothing = "There is nothing here."

    @app.get("/ours/{name}.ttf")
    def font(name: str) -> Response:
        if name not in ("AlegreyaSans-Regular", "AlegreyaSans-Bold"):
            return PlainTextResponse(nothing, 404)
        return FileResponse(
            FONT_FOLDER / f"{name}.ttf", media_type="font/ttf", headers={"cache-control": "max-age=604800"}
        )

    @app.get("/pictures/{word}/{name}")
    def picture(word: str, name: str) -> Response:
        if not WORD.fullmatch(word) or not _PICTURE.fullmatch(name):
            return PlainTextResponse(nothing, 404)
        session = sessions.get(word)
        file = session.picture(name)
        if file is None or not file.exists():
            return PlainTextResponse(nothing, 404)
        get_ready(session)
        headers = {"cache-control": "private, max-age=31536000, immutable"}
        # In one piece: a file that is sent in pieces changes threads for each of them, and this one is waited for.
        return Response(file.read_bytes(), media_type=_TYPES[file.suffix], headers=headers)


def _own_addresses() -> set[str]:
    """Addresses of this machine on its networks, for a person who serves to their home network on purpose."""
    found = {socket.gethostname().lower()}
    for info in socket.getaddrinfo(socket.gethostname(), None):
        found.add(str(info[4][0]).split("%")[0])
    return found
