"""'Let my phone in': a phone in the home network sends photos to the garment that is open on this computer.

The page shows a picture code with a key. The key works once, for ten minutes, and becomes a cookie of the phone's
browser; with it the phone can do one thing: send a photo to that one garment. It cannot look at the garment, and
everything else stays shut to the network (:mod:`ui.gate`). What is sent travels over the home network unencrypted,
and the page says so.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from swatches.errors import InputError
from ui.gate import UPLOAD_LIMIT
from ui.parts.said import Said
from ui.parts.session import WORD, Session, Sessions
from ui.parts.wait import waited

if TYPE_CHECKING:
    from fastapi import FastAPI

KEY_S = 600.0
"""How long a key can be used, s."""
COOKIE_S = 12 * 3600
"""How long a phone stays let in, s, unless it is let out before."""
COOKIE = "phone"
MOST_KEYS = 50
_STATIC = Path(__file__).parent / "static"


@dataclass(frozen=True, slots=True)
class _Let:
    word: str
    until: float


class Phones:
    """Keys that were shown and phones that were let in; kept in memory only, so a restart lets everybody out.

    Args:
        address: where a phone finds this computer, 'http://192.168.1.5:7860'.
        clock: seconds that only grow.
    """

    def __init__(self, address: str, clock: Callable[[], float] = time.monotonic) -> None:
        self.address = address
        self._clock = clock
        self._lock = threading.Lock()
        self._keys: dict[str, _Let] = {}
        self._in: dict[str, _Let] = {}

    def invite(self, word: str) -> str:
        """Make a key for a garment, in the place of one that was not used; gives the address to show as a code."""
        with self._lock:
            self._keys = {k: let for k, let in self._keys.items() if let.word != word}
            while len(self._keys) >= MOST_KEYS:
                self._keys.pop(next(iter(self._keys)))
            key = secrets.token_urlsafe(16)
            self._keys[key] = _Let(word, self._clock() + KEY_S)
            return f"{self.address}/phone?key={key}"

    def enter(self, key: str) -> str | None:
        """Use a key; gives the value of the phone's cookie, or None where the key is not or no longer good."""
        with self._lock:
            let = self._keys.pop(key, None)
            if let is None or self._clock() > let.until:
                return None
            token = secrets.token_urlsafe(16)
            self._in[token] = _Let(let.word, self._clock() + COOKIE_S)
            return token

    def word_of(self, token: str) -> str | None:
        """The garment that a phone may send photos to, or None."""
        with self._lock:
            let = self._in.get(token)
            return let.word if let is not None and self._clock() <= let.until else None

    def count(self, word: str) -> int:
        """How many phones are let in to a garment."""
        with self._lock:
            return sum(let.word == word and self._clock() <= let.until for let in self._in.values())

    def let_out(self, word: str) -> None:
        """Shut the door to a garment: its key and its phones' cookies are good for nothing from now on."""
        with self._lock:
            self._keys = {k: let for k, let in self._keys.items() if let.word != word}
            self._in = {k: let for k, let in self._in.items() if let.word != word}


def phone_scene(phones: Phones, word: str) -> dict[str, Any]:
    """A new code for the page: its picture, the address in letters, and how long it can be used."""
    import segno

    address = phones.invite(word)
    picture = segno.make(address, micro=False, error="m").svg_data_uri(scale=6, border=3, dark="#23282b", light="#fff")
    return {"picture": picture, "address": address, "minutes": round(KEY_S / 60), "inside": phones.count(word)}


def serve_phone(app: FastAPI, sessions: Sessions, phones: Phones) -> None:
    """Add the phone's page, its door, and the news that the computer's page asks for."""
    from fastapi import Request
    from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse, Response
    from starlette.concurrency import run_in_threadpool

    shut = "This door is shut. Press 'Let my phone in' on the computer again, and point the phone at the new code."

    def garment(request: Request) -> str | None:
        return phones.word_of(request.cookies.get(COOKIE, ""))

    async def page(request: Request, key: str = "") -> Response:
        plain = {"cache-control": "no-store"}
        if key:
            return HTMLResponse(_page("knock", key=key), headers=plain)
        word = garment(request)
        if word is None:
            return HTMLResponse(_page("shut", said=shut), 403, headers=plain)
        project = sessions.get(word).project
        return HTMLResponse(_page("send", name=project.name if project else ""), headers=plain)

    async def enter(request: Request) -> Response:
        from urllib.parse import parse_qs

        body = (await request.body()).decode("latin-1")
        token = phones.enter(parse_qs(body).get("key", [""])[0])
        if token is None:
            return HTMLResponse(_page("shut", said=shut), 403, headers={"cache-control": "no-store"})
        answer = RedirectResponse("/phone", 303, headers={"cache-control": "no-store"})
        answer.set_cookie(COOKIE, token, max_age=COOKIE_S, path="/phone", httponly=True, samesite="lax")
        return answer

    async def photo(request: Request, what: str = "", reference: str = "none") -> Response:
        word = garment(request)
        if word is None:
            return JSONResponse({"kind": "error", "text": shut}, 403)
        data = await request.body()
        said = await run_in_threadpool(_taken, sessions.get(word), what, reference, data)
        return JSONResponse({"kind": said.kind, "text": said.text}, 400 if said.kind == "error" else 200)

    def look() -> Response:
        return FileResponse(_STATIC / "phone.css", media_type="text/css")

    def send() -> Response:
        return FileResponse(_STATIC / "phone.js", media_type="text/javascript")

    def news(word: str) -> Response:
        if not WORD.fullmatch(word):
            return JSONResponse({}, 404)
        step = sessions.get(word).step
        number = step.number if step else 0
        return JSONResponse({"revision": number, "inside": phones.count(word)}, headers={"cache-control": "no-store"})

    for handler in (page, enter, photo):
        handler.__annotations__["request"] = Request
    app.get("/phone", response_model=None)(page)
    app.post("/phone/enter", response_model=None)(enter)
    app.post("/phone/photo", response_model=None)(photo)
    app.get("/phone/look.css", response_model=None)(look)
    app.get("/phone/send.js", response_model=None)(send)
    app.get("/news/{word}", response_model=None)(news)


def _taken(session: Session, what: str, reference: str, data: bytes) -> Said:
    """Take a photo into a garment, as if it had been added on the computer."""
    import tempfile

    from ui.questions import cloth_photos, garment

    takes: dict[str, tuple[str, Callable[..., Any], Callable[[Session, Any], Said | None]]] = {
        "cloth": (
            "Reading the cloth from the phone",
            lambda session, job, path: cloth_photos.read_photos(session, job, [path], reference),
            cloth_photos.keep_photos,
        ),
        "garment": ("Reading the photo from the phone", garment.read_photo, garment.keep_read),
    }
    if what not in takes or not 0 < len(data) <= UPLOAD_LIMIT:
        return Said("cloth", "That is no photo that can be used here.", "error")
    if what == "cloth" and session.project is None:
        return Said("cloth", "Send a photo of the garment first, or open one on the computer.", "error")
    first, work, finish = takes[what]
    with tempfile.TemporaryDirectory(prefix="mockup-phone-") as folder:
        path = Path(folder) / "photo from the phone"
        path.write_bytes(data)
        *_, answer = waited(
            session, what, first, lambda job: work(session, job, path), lambda result: finish(session, result)
        )
    said = answer.get("said")
    return Said(what, said["text"], said["kind"]) if said else Said(what, "It is on the computer now.")


def _page(part: str, *, key: str = "", name: str = "", said: str = "") -> str:
    """The phone's page; everything that was typed by somebody is escaped."""
    parts = {
        "knock": (
            "<p>This lets this phone send photos to the garment that is open on the computer, and nothing else. "
            "They travel over your home network unencrypted.</p>"
            f'<form method="post" action="/phone/enter"><input type="hidden" name="key" value="{escape(key)}">'
            "<button>Let this phone in</button></form>"
        ),
        "shut": f'<p role="alert">{escape(said)}</p>',
        "send": (
            f"<p>They go to <b>{escape(name or 'the garment')}</b> on the computer.</p>"
            '<label class="send">Photo of a cloth<input type="file" accept="image/*" capture="environment" '
            'data-what="cloth"></label>'
            '<label class="beside">In the photo lies <select id="reference">'
            '<option value="none">nothing to measure by</option><option value="sheet">the printed sheet</option>'
            '<option value="a4">a plain sheet of A4</option><option value="letter">a plain sheet of Letter</option>'
            '<option value="card">a bank card</option></select></label>'
            '<label class="send second">Photo of the garment<input type="file" accept="image/*" '
            'capture="environment" data-what="garment"></label>'
            '<ul id="sent" aria-live="polite"></ul><script src="/phone/send.js"></script>'
        ),
    }
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        # With no-referrer, as elsewhere, a browser would send its form without saying where that came from.
        '<meta name="referrer" content="same-origin">'
        '<title>Photos for the mock-up</title><link rel="stylesheet" href="/phone/look.css"></head>'
        f"<body><main><h1>Photos for the mock-up</h1>{parts[part]}</main></body></html>"
    )


def home_address(host: str, port: int) -> str:
    """Where a device in the home network finds this computer.

    Raises:
        InputError: this computer is in no network.
    """
    import socket

    if host not in ("0.0.0.0", "127.0.0.1", "::", "localhost"):  # noqa: S104
        return f"http://{f'[{host}]' if ':' in host else host}:{port}"
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737); nothing is sent by connecting
            found = str(probe.getsockname()[0])
        except OSError:
            found = "127.0.0.1"
    if found.startswith("127."):
        raise InputError(
            "--phone",
            expected="a computer in a home network",
            got="none that it is in",
            next_step="Join the network that the phone is in, or give --host with this computer's address in it",
        )
    return f"http://{found}:{port}"
