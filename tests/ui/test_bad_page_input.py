"""What the page does with nonsense, hostile input and bad luck: one sentence, and nothing lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from mockup.files import project_file
from ui.parts import actions
from ui.parts.desk import at_once
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.parts.wait import waited


def moved(session: Session, **changes: Any) -> dict[str, Any]:
    line = next(x for x in scene(session)["lines"] if x["id"] == "line-2")
    return {"edit": 1, "client": "one", "changes": [{**line, "kind": "curve", **changes}]}


@pytest.mark.parametrize(
    "through",
    [
        [[3.0, 0.3], [3.0, 0.5]],
        [[-9.0, 0.3]],
        [[0.5, 40.0]],
        [[0.1, 0.1]] * 10_000,
        [[float("nan"), 0.3]],
        [[float("inf"), 0.3]],
        [["0.1", {}]],
    ],
    ids=["outside", "far left", "far above", "10,000 points", "NaN", "infinite", "no numbers"],
)
def test_a_line_that_cannot_be_is_one_sentence_and_changes_nothing(
    sessions: Sessions, session: Session, through: list[Any]
) -> None:
    before = session.project
    bad = moved(session, through=through)
    found = at_once(sessions, session.word, "lines", lambda s: actions.commit(s, bad), edit=1)
    assert found["said"]["kind"] == "error"
    assert found["said"]["place"] == "lines"
    assert "\n" not in found["said"]["text"]
    assert len(found["said"]["text"]) < 400
    assert session.project == before


def test_an_upload_during_a_job_waits_its_turn_and_the_job_goes_on(session: Session) -> None:
    go = threading.Event()
    began = threading.Event()

    def long_work(job: Any) -> str:
        began.set()
        assert go.wait(20)
        return "done"

    first = waited(session, "print", "Cutting", long_work, lambda result: None)
    assert next(first)["busy"]["text"] == "Cutting"
    drained: list[Any] = []
    runner = threading.Thread(target=lambda: drained.extend(first))
    runner.start()
    assert began.wait(20)
    (refused,) = waited(session, "garment", "Reading the front", lambda job: "never", lambda result: None)
    assert refused["said"]["kind"] == "error"
    assert "One thing at a time" in refused["said"]["text"]
    actions.act(session, {"do": "rename", "line": "line-1", "name": "meanwhile"})
    go.set()
    runner.join(20)
    assert drained[-1]["said"] is None
    assert session.need().line("line-1").name == "meanwhile", "what was done during the job stays"


def test_the_newest_edit_of_a_window_counts_and_other_lines_are_merged(session: Session) -> None:
    first, late = moved(session), moved(session)
    first["changes"][0]["start"] = {**first["changes"][0]["start"], "distance_mm": 150.0}
    first["edit"] = 2
    actions.commit(session, first)
    actions.act(session, {"do": "remove", "line": "line-1"})
    actions.commit(session, late)
    project = session.need()
    assert project.line("line-2").start.distance_mm == 150.0
    assert [x.id for x in project.lines] == ["line-2", "line-3", "line-4"]
    gone = {"edit": 3, "client": "one", "changes": [{**first["changes"][0], "id": "line-1"}]}
    actions.commit(session, gone)
    assert session.need().lines == project.lines, "a line that was removed meanwhile does not come back"


def test_script_in_a_name_is_text_wherever_it_goes(sessions: Sessions, session: Session) -> None:
    bad = "<img src=x onerror=alert(1)>"
    actions.act(session, {"do": "rename", "line": "line-2", "name": bad})
    found = scene(session)
    assert next(x for x in found["lines"] if x["id"] == "line-2")["name"] == bad
    far = {"do": "type", "line": "line-2", "which": "start", "text": "9 m"}
    said = at_once(sessions, session.word, "lines", lambda s: actions.act(s, far))["said"]
    assert bad in said["text"], "the scripts set every sentence as text; see tests/browser/test_editor_scene.py"


KILLED = """
import sys
from pathlib import Path
from ui.parts import actions
from ui.parts.session import Sessions
session = Sessions(Path(sys.argv[1])).get(sys.argv[2])
for n in range(100):  # half of what undo keeps: where the reader is slow, the first ones are still there
    actions.act(session, {"do": "rename", "line": "line-1", "name": f"name {n}"})
    print(n, flush=True)
"""


def test_a_killed_server_loses_nothing_that_was_answered(session: Session, sessions: Sessions, tmp_path: Path) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(sessions.home.parent), session.word],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
    )
    assert child.stdout is not None
    answered = -1
    for line in child.stdout:
        answered = int(line)
        if answered >= 7:
            child.send_signal(signal.SIGKILL)  # in the middle of the next change, as often as not
            break
    answered = max([answered, *(int(x) for x in child.stdout.read().split())])
    child.wait(20)
    again = Sessions(sessions.home.parent).get(session.word)
    name = again.need().line("line-1").name
    assert int(name.removeprefix("name ")) >= answered
    assert project_file.load(again.folder).line("line-2") == session.need().line("line-2")
    for _ in range(answered + 1):
        assert again.undo().startswith("named a line")
    while again.undo():
        pass
    assert again.project is None
