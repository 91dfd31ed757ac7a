"""The table's own doors: what happens at the picture is answered without the interface library in between."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.table import serve_table


@pytest.fixture
def client(sessions: Sessions) -> Iterator[TestClient]:
    app = FastAPI()
    serve_table(app, sessions)
    with TestClient(app) as found:
        yield found


def start_moved(session: Session, mm: float) -> dict[str, Any]:
    line = next(x for x in scene(session)["lines"] if x["id"] == "line-2")
    return {"edit": 1, "client": "one", "changes": [{**line, "start": {**line["start"], "distance_mm": mm}}]}


def test_a_line_let_go_is_answered_with_the_scene_and_undone_at_the_other_door(
    client: TestClient, session: Session
) -> None:
    before = session.need()
    found = client.post(f"/table/{session.word}/commit", json=start_moved(session, 133.0)).json()
    assert session.need().line("line-2").start.distance_mm == 133.0
    assert (found["edit"], found["revision"]) == (1, session.step.number if session.step else None)
    again = client.post(f"/table/{session.word}/act", json={"do": "undo"}).json()
    assert again["answer"] > found["answer"], "by it the page knows which of two scenes is the newer"
    assert session.need() == before


def test_stop_waits_for_nobody(client: TestClient, session: Session) -> None:
    session.stop.clear()
    assert client.post(f"/table/{session.word}/act", json={"do": "stop"}).json() == {"patch": True}
    assert session.stop.is_set()


@pytest.mark.parametrize("place", ["short/act", "{word}/else", "{word}/__init__"])
def test_there_are_two_doors_and_no_more(client: TestClient, session: Session, place: str) -> None:
    assert client.post("/table/" + place.format(word=session.word), json={}).status_code == 404


@pytest.mark.parametrize("body", ["", "{", "7", "[]", '{"do": ["undo"]}', '{"edit": "x", "changes": [NaN]}'])
def test_what_is_no_message_changes_nothing(client: TestClient, session: Session, body: str) -> None:
    before = session.need()
    for event in ("commit", "act"):
        sent = client.post(f"/table/{session.word}/{event}", content=body, headers={"content-type": "application/json"})
        assert sent.status_code == 422 or sent.json()["said"]["kind"] == "error"
    assert session.need() == before
