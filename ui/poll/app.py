"""The voting server: one poll page, its pictures, and a place to put the vote. Nothing else answers here."""

from __future__ import annotations

import hmac
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from anyio import CapacityLimiter, to_thread
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.applications import Starlette
from starlette.responses import FileResponse, HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route

from mockup.polls.poll import COMMENT_LIMIT, Ask, Poll
from mockup.polls.store import PollStore, shown_order
from swatches.errors import Failure
from swatches.lettering import BOLD, REGULAR

if TYPE_CHECKING:
    from starlette.requests import Request

BODY_LIMIT = 16_384
VOTES_A_MINUTE = 30
_COOKIE = "voter"
_WRITERS = 100  # votes that wait for the disk together
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; img-src 'self'; style-src 'self'; font-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}


class Pace:
    """Lets each address send so many votes a minute. Addresses are kept in memory alone, the last 10,000 of them."""

    def __init__(self, a_minute: float, clock: Callable[[], float] = time.monotonic) -> None:
        self.a_minute, self.clock = a_minute, clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def allows(self, address: str) -> bool:
        """Count one vote of an address; whether it may be heard."""
        now = self.clock()
        left, then = self._left.pop(address, (self.a_minute, now))
        left = min(self.a_minute, left + (now - then) * self.a_minute / 60)
        self._left[address] = (max(left - 1, 0.0), now)
        if len(self._left) > 10_000:
            self._left.popitem(last=False)
        return left >= 1


def build_poll_app(
    store: PollStore, pictures: Path, *, votes_a_minute: float = VOTES_A_MINUTE, in_turn: bool = False
) -> Starlette:
    """Make the voting app.

    Args:
        store: the polls.
        pictures: folder with one folder of pictures a poll.
        votes_a_minute: from one address.
        in_turn: people vote one after the other on this one screen: after a vote, the next person is let in.
    """
    desk = _Desk(store, pictures, Pace(votes_a_minute), in_turn)
    return Starlette(
        routes=[
            Route("/poll.css", _file(Path(__file__).parent / "poll.css", "text/css")),
            Route("/font/regular", _file(REGULAR, "font/ttf")),
            Route("/font/bold", _file(BOLD, "font/ttf")),
            Route("/{poll_id}", desk.show, methods=["GET"]),
            Route("/{poll_id}", desk.take, methods=["POST"]),
            Route("/{poll_id}/picture/{letter}", desk.picture),
        ],
        exception_handlers={404: _nothing, 405: _nothing},
    )


class _Desk:
    """Answers requests.

    What is only read takes less time than handing it to a thread would, so it is read at once. A vote waits for the
    disk in a thread, with all the others that came meanwhile.
    """

    def __init__(self, store: PollStore, pictures: Path, pace: Pace, in_turn: bool) -> None:
        self.store, self.pictures, self.pace, self.in_turn = store, pictures, pace, in_turn
        self.writers = CapacityLimiter(_WRITERS)
        loader = FileSystemLoader(Path(__file__).parent)
        self.page = Environment(loader=loader, autoescape=True, undefined=StrictUndefined).get_template("page.html")

    async def show(self, request: Request) -> Response:
        """Show the poll to a voter, with the pictures in this voter's order."""
        said, mark = request.query_params.get("key"), request.cookies.get(_COOKIE)
        poll = self.store.get(request.path_params["poll_id"])
        if poll is None:
            return _nothing()
        if self.in_turn and "next" in request.query_params:
            mark = ""  # another person sits down at this screen
        key = said or (poll.open_link and mark) or ""
        if poll.open_link and not _plausible(key):
            key = _new_key()
        refusal = self.store.may_vote(poll, key)
        answer = self._page(poll, key, "" if refusal is None else refusal.reason, form=refusal is None)
        if poll.open_link:
            answer.set_cookie(_COOKIE, key, max_age=180 * 86_400, httponly=True, samesite="lax", path=f"/{poll.id}")
        return answer

    async def take(self, request: Request) -> Response:
        """Take one vote and say what became of it."""
        address = request.client.host if request.client else ""
        if not self.pace.allows(address):
            return PlainTextResponse("Too many votes from one place. Try again in a minute.", 429, _HEADERS)
        body = await _body(request)
        if body is None:
            return PlainTextResponse("That is too long. Write a shorter comment.", 413, _HEADERS)
        form = {k: v[0] for k, v in parse_qs(body.decode("utf-8", "replace"), max_num_fields=40).items()}
        mark = request.cookies.get(_COOKIE)
        poll = self.store.get(request.path_params["poll_id"])
        if poll is None:
            return _nothing()
        key, seal = form.get("key", ""), form.get("seal", "")
        if not hmac.compare_digest(seal.encode(), self.store.seal(poll.id, key).encode()):
            return self._page(poll, "", "This page is an old one, or not from here. Open your link again.", 403)
        if poll.open_link and mark != key:
            return self._page(
                poll, "", "Your browser did not keep its mark. Allow cookies here, and open the link.", 403
            )
        places = {k.removeprefix("place-"): v for k, v in form.items() if k.startswith("place-") or k == "choice"}
        shown, comment = shown_order(poll, key), form.get("comment", "")
        write = partial(self.store.vote, poll.id, key, _ranking(poll, places), shown=shown, comment=comment)
        result = await to_thread.run_sync(write, limiter=self.writers)
        if isinstance(result, Failure):
            again = self.store.may_vote(poll, key) is None
            return self._page(poll, key, result.reason, 400, form=again, places=places, comment=comment)
        return self._page(poll, "", "Thank you. Your vote is counted.")

    async def picture(self, request: Request) -> Response:
        """Give a choice's picture."""
        poll = self.store.get(request.path_params["poll_id"])
        choice = next((c for c in poll.choices if c.letter == request.path_params["letter"]), None) if poll else None
        if poll is None or choice is None:
            return _nothing()
        file = self.pictures / poll.id / Path(choice.picture).name
        return (
            FileResponse(file, headers={**_HEADERS, "Cache-Control": "max-age=3600"}) if file.is_file() else _nothing()
        )

    def _page(
        self,
        poll: Poll,
        key: str,
        message: str,
        status: int = 200,
        *,
        form: bool = False,
        places: dict[str, str] | None = None,
        comment: str = "",
    ) -> HTMLResponse:
        by_letter = {c.letter: c for c in poll.choices}
        html = self.page.render(
            poll=poll,
            key=key,
            seal=self.store.seal(poll.id, key),
            message=message,
            form=form,
            rank=poll.ask is Ask.RANK,
            choices=[by_letter[letter] for letter in shown_order(poll, key)],
            places=places or {},
            comment=comment[:COMMENT_LIMIT],
            limit=COMMENT_LIMIT,
            next_person=self.in_turn and not form and poll.open_link and self.store.may_vote(poll, _new_key()) is None,
        )
        return HTMLResponse(html, status, _HEADERS)


def _ranking(poll: Poll, places: dict[str, str]) -> list[str]:
    if poll.ask is Ask.ONE:
        return [places["choice"]] if places.get("choice") else []
    placed = {places.get(letter): letter for letter in poll.letters}
    return [placed[str(n)] for n in range(1, len(poll.letters) + 1) if str(n) in placed]


def _new_key() -> str:
    return secrets.token_urlsafe(16)


def _plausible(key: str) -> bool:
    return len(key) == 22 and key.replace("-", "").replace("_", "").isalnum()


async def _body(request: Request) -> bytes | None:
    found = b""
    async for chunk in request.stream():
        found += chunk
        if len(found) > BODY_LIMIT:
            return None
    return found


def _file(path: Path, kind: str) -> Callable[[Request], Response]:
    def give(request: Request) -> Response:
        return FileResponse(path, media_type=kind, headers={**_HEADERS, "Cache-Control": "max-age=3600"})

    return give


def _nothing(_request: Request | None = None, _error: Exception | None = None) -> Response:
    return PlainTextResponse("There is no poll here.", 404, _HEADERS)
