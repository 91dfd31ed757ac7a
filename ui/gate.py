"""The gate in front of the page: who may ask, for what, and how much.

The page is for the people at this computer. A web page elsewhere must not be able to use it through their browser, so
a request has to name this server as its host, and one that changes something has to come from this server's own page.
Only the routes that the page uses are open; the rest of what the interface library brings along stays shut.
"""

from __future__ import annotations

import json
import re
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

UPLOAD_LIMIT = 80_000_000
"""Largest upload, bytes: a 60 MP photo as PNG is about 70 MB."""
TALK_LIMIT = 2_000_000
"""Largest other request, bytes: a hand-drawn outline of 10,000 points is 0.4 MB."""

OPEN = {
    "GET": re.compile(
        r"/(favicon\.ico|theme\.css|manifest\.json"
        r"|(assets|static)/[\w./+@~-]+"
        r"|ours/([0-9a-f]{12}/)?[\w.-]+|pictures/[\w-]+/[\w.-]+|made/[\w-]+/[\w.-]+|pieces/[\w-]+/[\w.-]+"
        r"|(lay|stash)/[\w-]+/[\w.-]+"
        r"|phone(/(look\.css|send\.js))?|news/[\w-]+"
        r"|sew/[\w-]+/measured|votes/[\w-]+/[\w.-]+"
        r"|gradio_api/(heartbeat/[\w-]+|queue/data|upload_progress|startup-events))?"
    ),
    "POST": re.compile(
        r"/(gradio_api/(queue/join|upload|cancel|reset)/?|phone/(enter|photo)|table/[\w-]+/(commit|act))"
    ),
}
"""Paths that the page uses; GET goes for HEAD too."""
PHONE = {
    "GET": re.compile(r"/(phone(/(look\.css|send\.js))?|ours/AlegreyaSans-(Regular|Bold)\.ttf)"),
    "POST": re.compile(r"/phone/(enter|photo)"),
}
"""Paths for those who are not at this computer, where a phone can be let in."""
HERE = ("127.0.0.1", "::1", "::ffff:127.0.0.1")
"""Addresses from which this computer itself asks."""

_HOST = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._-]+)(?::\d{1,5})?")
_DROPPED = {b"accept-encoding", b"forwarded", b"x-gradio-server", b"x-original-url", b"x-rewrite-url"}
"""Headers that move a page elsewhere; and on one's own computer packing costs more time than sending."""
_RULES = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self'; worker-src 'self' blob:; "
    "object-src 'none'; base-uri 'self'; form-action 'self'; frame-ancestors 'none'"
)
_HEADERS = [
    (b"content-security-policy", _RULES.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
]


class Gate:
    """ASGI middleware that lets only the page's own requests through.

    Args:
        app: what stands behind the gate.
        hosts: host names and addresses, without a port, by which this server may be called.
        phone_only: whether whoever is not at this computer gets the phone's own page and nothing else.
    """

    def __init__(self, app: App, hosts: Iterable[str], *, phone_only: bool = False) -> None:
        self.app = app
        self.hosts = frozenset(h.lower() for h in hosts)
        self.phone_only = phone_only

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or refuse one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        refusal = self._refuse(scope, headers)
        if refusal:
            await _answer(send, *refusal)
            return
        scope = dict(scope)
        scope["headers"] = [
            (k, v)
            for k, v in scope["headers"]
            if k.lower() not in _DROPPED and not k.lower().startswith(b"x-forwarded")
        ]
        limit = _limit(scope["path"])
        await self.app(scope, _measured(receive, limit), _with_headers(send))

    def _refuse(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        host = headers.get("host", "")
        named = _HOST.fullmatch(host)
        if named is None or named[1].strip("[]").lower() not in self.hosts:
            return 421, "This page answers only at its own address."
        method = "GET" if scope["method"] == "HEAD" else scope["method"]
        if method not in OPEN:
            return 405, "This page has no use for that."
        path = scope["path"]
        if self.phone_only and (scope.get("client") or ("",))[0] not in HERE and not PHONE[method].fullmatch(path):
            return 403, "On this computer's network only a phone that was let in can send photos."
        if not OPEN[method].fullmatch(path) or ".." in path:
            return 404, "There is nothing here."
        if any(key == "deep_link" for key, _ in parse_qsl(scope["query_string"].decode("latin-1"))):
            return 404, "There is nothing here."
        own = f"{scope.get('scheme', 'http')}://{host}".lower()
        origin = headers.get("origin")
        navigates = method == "GET" and path in ("/", "/phone")
        if (origin is not None and origin.lower() != own) or (method == "POST" and origin is None):
            return 403, "Only this page itself may do that."
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none") and not navigates:
            return 403, "Only this page itself may do that."
        limit = _limit(path)
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length) > limit:
            return 413, f"That is more than {limit // 1_000_000} MB. Use a smaller picture."
        return None


def _limit(path: str) -> int:
    return UPLOAD_LIMIT if path.startswith(("/gradio_api/upload", "/phone/photo")) else TALK_LIMIT


class UploadsOnly:
    """ASGI middleware: an event may hand over files that were uploaded, and no other file or address.

    The interface library would copy any file that it may read, and fetch any address, for whoever asks.

    Args:
        app: what stands behind.
        folder: where uploads are kept.
    """

    def __init__(self, app: App, folder: Path) -> None:
        self.app = app
        self.folder = folder.resolve()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look into an event before it is handed on."""
        if (
            scope["type"] != "http"
            or scope["method"] != "POST"
            or not scope["path"].startswith("/gradio_api/queue/join")
        ):
            await self.app(scope, receive, send)
            return
        body = bytearray()
        while True:
            message = await receive()
            if message["type"] != "http.request":
                return
            body += message.get("body", b"")
            if not message.get("more_body"):
                break
        try:
            fine = self._fine(json.loads(bytes(body)))
        except (ValueError, RecursionError):
            fine = False
        if not fine:
            await _answer(send, 403, "Only uploaded files can be used.")
            return
        handed = False

        async def again() -> Message:
            nonlocal handed
            if handed:
                return await receive()
            handed = True
            return {"type": "http.request", "body": bytes(body), "more_body": False}

        await self.app(scope, again, send)

    def _fine(self, value: Any) -> bool:
        if isinstance(value, dict):
            named = [value[k] for k in ("path", "url", "orig_path") if value.get(k) is not None]
            if "path" in value and not (named and all(self._uploaded(n) for n in named)):
                return False
            return all(self._fine(v) for v in value.values())
        return not isinstance(value, list) or all(self._fine(v) for v in value)

    def _uploaded(self, name: Any) -> bool:
        if not isinstance(name, str) or "\0" in name:
            return False
        _, found, rest = name.partition("/gradio_api/file=")  # how the page writes the address of an upload
        file = Path(rest if found else name)
        return file.is_absolute() and file.resolve().is_relative_to(self.folder)


def _measured(receive: Receive, limit: int) -> Receive:
    """Stop a body that grows beyond the limit although it did not say its length."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > limit:
                return {"type": "http.disconnect"}
        return message

    return counted


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            taken = {k for k, _ in _HEADERS}
            kept = [(k, v) for k, v in message.get("headers", []) if k.lower() not in taken]
            message = {**message, "headers": [*kept, *_HEADERS]}
        await send(message)

    return guarded


async def _answer(send: Send, status: int, text: str) -> None:
    body = text.encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode()), *_HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
