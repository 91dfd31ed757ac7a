"""Work on disk: steps, undo and redo, restarts, and people who never mix. Quick things done to a real project."""

from __future__ import annotations

import errno
import os
import shutil
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from mockup import journey
from mockup.files import project_file
from mockup.project import Project
from mockup.samples import choir
from swatches.errors import InputError, MockupError, ProjectError
from swatches.photo import jpeg_bytes
from ui.parts import actions
from ui.parts.desk import at_once
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.parts.view_scene import LONG_SIDE
from ui.questions import garment
from ui.questions.cloth_does import DOES


def with_tunic(sessions: Sessions, source: Path) -> Session:
    session = sessions.get(Sessions.new_word())
    with session.new_garment(copy=False) as folder:
        shutil.copytree(source, folder, dirs_exist_ok=True)
    session.keep(project_file.load(source), "laid out the tunic", garment=folder.name)
    return session


def dragged(session: Session, line_id: str, edit: int = 1, client: str = "one", **changes: Any) -> dict[str, Any]:
    line = next(x for x in scene(session)["lines"] if x["id"] == line_id)
    return {"edit": edit, "client": client, "changes": [{**line, **changes}]}


def start_at(session: Session, line_id: str, mm: float) -> dict[str, Any]:
    line = next(x for x in scene(session)["lines"] if x["id"] == line_id)
    return {**line["start"], "distance_mm": mm}


def test_every_change_can_be_undone_to_the_start_and_done_again(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    projects = [session.project]
    for do in (
        {"do": "assign", "panel": "front-1", "cloth": "spruce"},
        {"do": "rename", "line": "line-1", "name": "choir yoke"},
        {"do": "type", "line": "line-2", "which": "start", "text": "4 in"},
        {"do": "remove", "line": "line-1"},
        {"do": "copy-choice"},
    ):
        actions.act(session, do)
        projects.append(session.project)
    assert len({repr(replace(p, revision=0)) for p in projects if p}) == len(projects)
    for before in reversed(projects[:-1]):
        assert session.undo()
        assert replace(session.need(), revision=0) == replace(before, revision=0)  # type: ignore[type-var]
    assert session.undo() == "laid out the tunic"
    assert session.project is None
    assert session.undo() == ""
    for after in projects:
        session.redo()
        assert replace(session.need(), revision=0) == replace(after, revision=0)  # type: ignore[type-var]
    assert session.redo() == ""


def test_a_change_after_undo_drops_what_was_undone(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    actions.act(session, {"do": "rename", "line": "line-1", "name": "first"})
    session.undo()
    actions.act(session, {"do": "rename", "line": "line-1", "name": "second"})
    assert session.redo() == ""
    assert session.need().line("line-1").name == "second"
    assert len(list((session.home / "steps").iterdir())) == 2


def test_a_restart_loses_nothing(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    actions.commit(session, dragged(session, "line-2", start=start_at(session, "line-2", 140.0)))
    actions.take_unit(session, "in", [("15 mm", "allowance")])
    again = Sessions(sessions.home.parent).get(session.word)
    assert again.project == session.project
    assert again.state == session.state
    assert again.undo() == "moved hem band"
    # The project folder on disk is what is shown, for other programs too.
    assert project_file.load(again.folder).line("line-2").start.distance_mm == choir.BAND_MM


def test_two_people_never_mix(sessions: Sessions, tunic_folder: Path) -> None:
    one, other = with_tunic(sessions, tunic_folder), with_tunic(sessions, tunic_folder)
    actions.act(one, {"do": "assign", "panel": "front-1", "cloth": "oat"})
    assert not other.need().colourways
    assert one.home != other.home
    assert not set(one.home.rglob("*")) & set(other.home.rglob("*"))


@pytest.mark.parametrize("word", ["", "short", "../../../etc/passwd", "a" * 41, None, 7, "a" * 20 + "/"])
def test_a_word_that_nobody_gave_out_opens_nothing(sessions: Sessions, word: object) -> None:
    with pytest.raises(InputError, match="address"):
        sessions.get(word)
    assert not sessions.home.exists()


def test_an_unopened_session_leaves_nothing_on_disk(sessions: Sessions) -> None:
    session = sessions.get(Sessions.new_word())
    assert scene(session)["views"] == []
    assert not session.home.exists()
    with pytest.raises(ProjectError, match="garment"):
        session.need()


def test_a_new_picture_keeps_the_old_one_for_undo(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    old = session.folder
    with session.new_garment(copy=True) as folder:
        (folder / "pictures" / "front.png").unlink()
        (folder / "pictures" / "front.png").write_bytes(b"another")
    session.keep(session.need(), "another picture", garment=folder.name)
    assert session.folder == folder
    assert (old / "pictures" / "front.png").read_bytes() != b"another"
    session.undo()
    assert session.folder == old


def test_work_that_fails_leaves_no_folder(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    with pytest.raises(MockupError), session.new_garment(copy=True) as folder:
        raise MockupError("no")
    assert not folder.exists()


def test_lines_that_meet_at_the_side_seam_keep_meeting(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    actions.commit(session, dragged(session, "line-2", start=start_at(session, "line-2", 133.25)))
    project = session.need()
    assert project.line("line-2").start.distance_mm == 133.25
    assert project.line("line-4").start.distance_mm == 133.25, "the back goes on from the front"


def test_a_typed_distance_keeps_its_unit(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    actions.act(session, {"do": "type", "line": "line-2", "which": "start", "text": "4 1/2 in"})
    start = session.need().line("line-2").start
    assert start.distance_mm == pytest.approx(114.3)  # 4.5 × 25.4
    assert start.text == "4 1/2 in"
    assert session.need().line("line-4").start.text == "4 1/2 in"


def test_cloth_stays_where_it_lies_when_a_line_is_drawn(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    panels = {p.id for panels in journey.panels_of(session.need()).values() for p in panels}
    session.keep(journey.assign(session.need(), "A", dict.fromkeys(panels, "spruce")), "all spruce")
    actions.act(session, {"do": "assign", "panel": "front-1", "cloth": "oat"})
    drawn = {
        "do": "draw", "side": "front", "kind": "straight", "symmetric": True, "through": [],
        "start": {"edge": "side", "landmark": "underarm", "distance_mm": 150},
        "end": {"edge": "centre-front", "landmark": "hem", "distance_mm": 330},
    }  # fmt: skip
    actions.act(session, drawn)
    after = {p["id"]: p["cloth"] for v in scene(session)["views"] for p in v["panels"]}
    assert after["front-1"] == "oat"
    assert {c for i, c in after.items() if i != "front-1"} == {"spruce"}, (
        "both halves of the cut panel keep their cloth"
    )
    actions.act(session, {"do": "remove", "line": "line-1"})
    assert None not in {p["cloth"] for v in scene(session)["views"] for p in v["panels"]}


def test_a_line_that_cannot_lie_there_goes_back_and_says_why(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    before = session.project
    bad = dragged(session, "line-2", kind="curve", through=[[5.0, 0.5]])
    found = at_once(sessions, session.word, "lines", lambda s: actions.commit(s, bad), edit=1)
    assert found["said"]["kind"] == "error"
    assert found["said"]["place"] == "lines"
    assert found["edit"] == 1
    assert session.project == before


def test_a_stale_edit_of_the_same_window_is_not_taken(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    late = dragged(session, "line-2", edit=1, start=start_at(session, "line-2", 90.0))
    actions.commit(session, dragged(session, "line-2", edit=2, start=start_at(session, "line-2", 120.0)))
    actions.commit(session, late)
    assert session.need().line("line-2").start.distance_mm == 120
    # Another window counts for itself, and changes of different lines are merged.
    actions.commit(session, dragged(session, "line-1", edit=1, client="two", start=start_at(session, "line-1", 99.0)))
    assert session.need().line("line-1").start.distance_mm == 99
    assert session.need().line("line-2").start.distance_mm == 120


def test_a_fault_that_nobody_foresaw_is_one_calm_sentence(sessions: Sessions, caplog: pytest.LogCaptureFixture) -> None:
    def broken(_: Session) -> None:
        raise ZeroDivisionError("secret /path")

    found = at_once(sessions, Sessions.new_word(), "garment", broken)
    assert "secret" not in found["said"]["text"]
    assert "nothing was changed" in found["said"]["text"]
    assert "secret" in caplog.text, "the trace goes to the log"


def test_pictures_are_painted_once_and_served_by_name(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    address = scene(session)["views"][0]["picture"]
    name = address.rsplit("/", 1)[1]
    assert not (session.home / "painted").exists(), "nothing is painted before it is asked for"
    file = session.picture(name)
    assert file is not None
    painted = file.stat().st_mtime_ns
    assert session.picture(name) == file
    assert file.stat().st_mtime_ns == painted
    assert session.picture("front-" + "0" * 24 + ".jpg") is None
    actions.act(session, {"do": "assign", "panel": "front-2", "cloth": "oat"})
    assert scene(session)["views"][0]["picture"] != address
    session.undo()
    assert scene(session)["views"][0]["picture"] == address, "undo shows the picture that is there already"


def test_the_scene_says_ends_in_the_trades_words(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    line = scene(session)["lines"][1]
    assert (line["start"]["label"], line["start"]["from"]) == ("side seam", "above the hem")
    front = scene(session)["views"][0]
    assert {e["name"] for e in front["edges"]} >= {"side", "armhole", "shoulder", "neck", "hem", "centre-front"}
    # Edge polylines are as long as the edges, to a tenth of a mm: distances on the page mean what they say.
    view = session.need().view("front")
    from mockup.stylelines import edges

    for edge in front["edges"]:
        if edge["name"] != "side":
            continue
        points = edge["points"]
        px = sum(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for a, b in pairwise(points))
        assert px * view.mm_per_px == pytest.approx(edges.edge_length(view, "side", edge["side"]), abs=0.1)


def test_a_project_without_lines_has_an_answer_to_every_question(sessions: Sessions) -> None:
    session = sessions.get(Sessions.new_word())
    session.keep(Project("nothing yet"), "begun")
    assert set(scene(session)["answers"]) == {"garment", "cloth", "lines", "sew", "print"}


@pytest.mark.parametrize("which", ["project.json", "steps", "state.json"])
def test_a_full_disk_is_said_and_loses_nothing(
    sessions: Sessions, tunic_folder: Path, monkeypatch: pytest.MonkeyPatch, which: str
) -> None:
    session = with_tunic(sessions, tunic_folder)
    actions.act(session, {"do": "rename", "line": "line-1", "name": "kept"})
    real = os.replace

    def full(source: Any, target: Any) -> None:
        if which in str(target):
            raise OSError(errno.ENOSPC, "No space left on device")
        real(source, target)

    monkeypatch.setattr(os, "replace", full)
    monkeypatch.setattr(Path, "replace", full)
    found = at_once(sessions, session.word, "lines", lambda s: actions.act(s, {"do": "remove", "line": "line-2"}))
    assert found["said"]["kind"] == "error"
    monkeypatch.undo()
    again = Sessions(sessions.home.parent).get(session.word)
    for each in (session, again):
        assert each.need().line("line-1").name == "kept"
        assert each.need().line("line-2").name == "hem band"
    actions.act(session, {"do": "remove", "line": "line-2"})
    assert [x.id for x in session.need().lines] == ["line-1", "line-3", "line-4"]
    assert session.undo() == "removed hem band"


def test_a_picture_painted_for_the_page_is_the_one_of_the_whole_project(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    panels = {p.id for found in journey.panels_of(session.need()).values() for p in found}
    session.keep(journey.assign(session.need(), "A", dict.fromkeys(panels, "spruce")), "all spruce")
    actions.act(session, {"do": "assign", "panel": "sleeve-1L", "cloth": "oat"})
    for view in scene(session)["views"]:
        file = session.picture(view["picture"].rsplit("/", 1)[1])
        assert file is not None
        whole = journey.paint_view(session.need(), session.folder, "A", view["name"], long_side=LONG_SIDE)
        assert file.read_bytes() == jpeg_bytes(whole, small=False)


def test_a_garment_gets_the_persons_name(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    before = session.need()
    said = garment._set_name(session, "  Anna’s\n<b>tunic</b>\x07 ")
    assert said is not None
    assert session.need() == replace(before, name="Anna’s <b>tunic</b>", revision=session.need().revision)
    assert scene(session)["answers"]["garment"].startswith("Anna’s <b>tunic</b>: front")  # set as text by the page
    steps = len(session.state.steps)
    garment._set_name(session, "Anna’s <b>tunic</b>")
    assert len(session.state.steps) == steps, "the same name is no change"
    for nothing in ("", "  ", None, "\x00"):
        with pytest.raises(InputError, match="winter tunic"):
            garment._set_name(session, nothing)
    session.undo()
    assert session.need().name == before.name
    with pytest.raises(ProjectError):
        garment._set_name(sessions.get(Sessions.new_word()), "tunic")


def test_files_stay_when_only_a_cloth_is_written_down(sessions: Sessions, tunic_folder: Path) -> None:
    session = with_tunic(sessions, tunic_folder)
    actions.act(session, {"do": "assign", "panel": "front-1", "cloth": "oat"})
    session.remember(made=("pieces-a4.pdf", "pieces.json"), made_for=session.step.number)  # type: ignore[union-attr]

    def shown() -> tuple[int, str]:
        now = scene(session)
        return len(now["made"]), now["answers"]["print"]

    assert shown() == (2, "1 file ready")
    for field, text in (("length_left", "2 m"), ("usable_width", "140 cm")):
        message = {"do": "write", "cloth": "oat", "field": field, "text": text, "how": "measured", "where": "garment"}
        DOES["write"](session, session.home, message, {})
        assert shown() == (2, "1 file ready, made before your last change")
    session.undo()
    session.undo()
    assert shown() == (2, "1 file ready")
    for change in (
        {"do": "assign", "panel": "front-1", "cloth": "spruce"},
        {"do": "type", "line": "line-2", "which": "start", "text": "4 in"},
    ):
        actions.act(session, change)
        assert shown() == (0, "nothing cut yet"), change
        session.undo()
        assert shown() == (2, "1 file ready"), change
