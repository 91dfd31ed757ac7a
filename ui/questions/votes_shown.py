"""What the page shows of a poll: where it is, who can reach it, and what came of it so far."""

from __future__ import annotations

import time
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from mockup.journey.polling import DATABASE
from mockup.polls.count import Count, count
from mockup.polls.poll import Poll
from mockup.polls.report import count_text
from mockup.polls.store import PollStore
from mockup.sheets.cutting_list import csv_text
from mockup.sheets.votes_chart import chart_words, votes_chart
from swatches.photo import png_bytes
from ui.parts.session import WORD, Session, Sessions
from ui.poll.running import HOME, REACH, Voting

if TYPE_CHECKING:
    from fastapi import FastAPI

_all: dict[Path, Voting] = {}
_lock = Lock()
_CHART_PX = 520
_QUIET_MODULES, _SCALE = 4, 6  # white rim of a picture code in modules (ISO/IEC 18004), px a module


def voting_of(sessions: Sessions) -> Voting:
    """The voting server of a data folder; one, whoever asks."""
    data = sessions.home.parent
    with _lock:
        return _all.setdefault(data, Voting(data))


def poll_shown(session: Session, voting: Voting) -> dict[str, Any]:
    """Everything of the session's poll, for the page; ``poll`` is None where there is none."""
    poll_id = session.state.asked.get("poll", "")
    store = PollStore(voting.data / DATABASE) if poll_id and (voting.data / DATABASE).exists() else None
    poll = store.get(poll_id) if store else None
    if poll is None or store is None:
        return {"poll": None}
    address = voting.address(poll.id)
    result, names = count(store.ballots(poll)), names_of(poll)
    comments = [row.comment for row in store.rows(poll) if row.comment]
    return {
        "poll": poll.id,
        "title": poll.title,
        "open": poll.is_open(time.time()),
        "closes": "" if poll.closes is None else time.strftime("%Y-%m-%d %H:%M", time.localtime(poll.closes)),
        "address": address,
        "one_time": not poll.open_link,
        "links": session.state.asked.get("links", ""),
        "for_phones": voting.reach == HOME,
        "reach": REACH.get(voting.reach, "Nobody can reach it now: this program was started again since."),
        "votes": result.votes,
        "said": count_text(result).splitlines(),
        "chart": chart_words(result, title=poll.title, names=names),
        "comments": comments[:200],
    }


def names_of(poll: Poll) -> dict[str, str]:
    """Letter → the person's word for the choice."""
    return {c.letter: c.name for c in poll.choices}


def code_png(text: str) -> bytes:
    """A picture code (QR) of an address, with its white rim, as PNG."""
    import cv2
    import numpy as np

    drawn = cv2.QRCodeEncoder.create().encode(text)
    bare = drawn[2:-2, 2:-2]  # the encoder's own rim is two modules wide
    rim = np.pad(bare, _QUIET_MODULES, constant_values=255)
    large = np.kron(rim, np.ones((_SCALE, _SCALE), np.uint8))
    return png_bytes(np.repeat(large[..., None], 3, axis=2))


def serve_votes(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``/votes/<word>/poll.json``, ``chart.png``, ``code.png`` and ``votes.csv``."""
    from fastapi.responses import JSONResponse, PlainTextResponse, Response

    voting = voting_of(sessions)
    fresh = {"cache-control": "no-store"}

    @app.get("/votes/{word}/{name}")
    def votes(word: str, name: str) -> Response:
        if not WORD.fullmatch(word) or name not in ("poll.json", "chart.png", "code.png", "votes.csv"):
            return PlainTextResponse("There is nothing here.", 404)
        with sessions.open(word) as session:
            shown = poll_shown(session, voting)
        if name == "poll.json":
            return JSONResponse(shown, headers=fresh)
        store = PollStore(voting.data / DATABASE) if shown["poll"] else None
        poll = store.get(shown["poll"]) if store else None
        if store is None or poll is None:
            return PlainTextResponse("There is no poll here.", 404)
        if name == "code.png":
            if not shown["address"] or not shown["for_phones"]:  # a phone's 127.0.0.1 is the phone itself
                return PlainTextResponse("The poll does not answer now.", 404)
            return Response(code_png(shown["address"]), media_type="image/png", headers=fresh)
        if name == "votes.csv":
            attached = {**fresh, "content-disposition": 'attachment; filename="votes.csv"'}
            return Response(csv_text(store.rows(poll)).encode(), media_type="text/csv", headers=attached)
        return Response(_chart(count(store.ballots(poll)), poll), media_type="image/png", headers=fresh)


def _chart(result: Count, poll: Poll) -> bytes:
    return png_bytes(votes_chart(result, title=poll.title, names=names_of(poll), width_px=_CHART_PX))
