"""What a stranger sends to the page's doors is refused in a sentence and changes nothing."""

from __future__ import annotations

from typing import Any

from ui.parts import actions
from ui.parts.desk import at_once
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions

HOSTILE: list[Any] = [
    None, "act", {}, {"do": "__class__"}, {"do": ["assign"]}, {"do": "assign"},
    {"do": "assign", "panel": 3, "cloth": "oat"},
    {"do": "assign", "panel": "front-1", "cloth": "../../x"}, {"do": "assign", "panel": "x" * 5000, "cloth": "oat"},
    {"do": "rename", "line": "nobody", "name": "x"}, {"do": "type", "line": "line-1", "which": "__dict__", "text": "1"},
    {"do": "type", "line": "line-1", "which": "start", "text": "NaN"},
    {"do": "type", "line": "line-1", "which": "start", "text": "-5 mm"},
    {"do": "draw", "side": "front", "kind": "straight", "start": {}, "end": {}},
    {"do": "draw", "side": "front", "kind": "curve", "through": [[0, 0]] * 10_000,
     "start": {"edge": "side", "landmark": "underarm", "distance_mm": 1},
     "end": {"edge": "side", "landmark": "underarm", "distance_mm": 1}},
]  # fmt: skip


def test_what_a_stranger_sends_changes_nothing(sessions: Sessions, session: Session) -> None:
    before = session.project
    for message in HOSTILE:
        found = at_once(sessions, session.word, "table", lambda s, message=message: actions.act(s, message))
        assert session.project == before, message
        assert found["said"]["kind"] == "error", message
        assert len(found["said"]["text"]) < 600, message


def test_numbers_that_are_none_are_refused(sessions: Sessions, session: Session) -> None:
    before = session.project
    line = next(x for x in scene(session)["lines"] if x["id"] == "line-2")
    for edit, number in enumerate((float("nan"), float("inf"), -1, "x", 1e9), 1):
        start = {**line["start"], "distance_mm": number}
        bad = {"edit": edit, "client": "one", "changes": [{**line, "start": start}]}
        found = at_once(sessions, session.word, "lines", lambda s, bad=bad: actions.commit(s, bad))
        assert found["said"]["kind"] == "error", number
        assert session.project == before, number


def test_a_name_is_data_in_the_scene_and_nothing_else(session: Session) -> None:
    actions.act(session, {"do": "rename", "line": "line-1", "name": "<script>alert(1)</script>\n${x}{{y}}"})
    assert scene(session)["lines"][0]["name"] == "<script>alert(1)</script> ${x}{{y}}"
