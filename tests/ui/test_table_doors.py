"""The table's own doors: what happens at the picture is answered without the interface library in between."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from httpx import Response
from starlette.testclient import TestClient

from swatches.job import Job, check
from ui.parts import ahead
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.table import committed, serve_table


@pytest.fixture
def client(sessions: Sessions) -> Iterator[TestClient]:
    app = FastAPI()
    serve_table(app, sessions)
    with TestClient(app) as found:
        yield found


def start_moved(session: Session, mm: float) -> dict[str, Any]:
    line = next(x for x in scene(session)["lines"] if x["id"] == "line-2")
    return {"edit": 1, "client": "one", "changes": [{**line, "start": {**line["start"], "distance_mm": mm}}]}


def answer(sent: Response) -> list[dict[str, Any]]:
    """One JSON object a line."""
    return [json.loads(line) for line in sent.text.splitlines()]


@pytest.mark.usefixtures("painted_ahead")
def test_a_line_let_go_is_answered_with_the_scene_and_undone_at_the_other_door(
    client: TestClient, session: Session
) -> None:
    before = session.need()
    first, found = answer(client.post(f"/table/{session.word}/commit", json=start_moved(session, 133.0)))
    assert session.need().line("line-2").start.distance_mm == 133.0
    assert (found["edit"], found["revision"]) == (1, session.step.number if session.step else None)
    _, again = answer(client.post(f"/table/{session.word}/act", json={"do": "undo"}))
    assert first["pictures"] == {v["name"]: v["picture"] for v in found["views"]}
    for address in first["pictures"].values():
        assert session.is_painted(address.rsplit("/", 1)[1]), "it was painted although nobody has asked for it yet"
    assert again["answer"] > found["answer"], "by it the page knows which of two scenes is the newer"
    assert session.need() == before


def test_stop_waits_for_nobody(client: TestClient, session: Session) -> None:
    session.stop.clear()
    assert answer(client.post(f"/table/{session.word}/act", json={"do": "stop"})) == [{"patch": True}]
    assert session.stop.is_set()


@pytest.mark.parametrize("place", ["short/act", "{word}/else", "{word}/__init__"])
def test_there_are_two_doors_and_no_more(client: TestClient, session: Session, place: str) -> None:
    assert client.post("/table/" + place.format(word=session.word), json={}).status_code == 404


@pytest.mark.parametrize("body", ["", "{", "7", "[]", '{"do": ["undo"]}', '{"edit": "x", "changes": [NaN]}'])
def test_what_is_no_message_changes_nothing(client: TestClient, session: Session, body: str) -> None:
    before = session.need()
    for event in ("commit", "act"):
        sent = client.post(f"/table/{session.word}/{event}", content=body, headers={"content-type": "application/json"})
        assert sent.status_code == 422 or answer(sent)[-1]["said"]["kind"] == "error"
    assert session.need() == before


def test_a_window_that_lets_go_again_needs_no_scene_of_the_first(session: Session) -> None:
    message = start_moved(session, 131.0)
    first = committed(session, message)
    assert "pictures" in next(first)
    session.edits["one", "line-2"] = 2  # as a later release leaves it
    assert list(first) == []


def test_what_painting_keeps_is_filled_until_somebody_moves_something(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[tuple[str, bool]] = []
    over = threading.Event()

    def paint(project: object, folder: object, letter: str, view: str, *, job: Job, **rest: object) -> None:
        seen.append((view, job.cancelled))
        session.ahead += 1  # as painting for a moved line does
        seen.append((view, job.cancelled))
        over.set()
        check(job)

    monkeypatch.setattr(ahead.journey, "paint_view", paint)
    monkeypatch.setattr(ahead, "_REST_S", 0.0)
    ahead.get_ready(session)
    assert over.wait(20)
    assert seen == [("front", False), ("front", True)]
