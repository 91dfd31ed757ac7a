"""'Will it sew?' at every change, limits and choices edited on the page, suggestions, and a poll opened there."""

from __future__ import annotations

import json
import shutil
import zipfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import cv2
import httpx
import numpy as np
import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from mockup import journey
from mockup.checks.scene import frame_of
from mockup.files import project_file
from mockup.journey.checking import NO_CLOTH
from mockup.samples import choir
from swatches.errors import InputError
from swatches.fabric import Known, Origin
from swatches.job import QUIET
from ui.parts import actions
from ui.parts.judged import answer_of, judged_scene, known_lays
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.poll.running import HERE, HOME, REACH, Voting
from ui.questions import choices, sew, votes
from ui.questions.votes_shown import code_png, poll_shown, serve_votes


@pytest.fixture(scope="module")
def tunic_folder(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Path:
    folder = tmp_path_factory.mktemp("tunic")
    project = put_tunic(folder, choir.NAME)
    for name, colour in (("spruce", "#1f4d3a"), ("oat", "#c9b48f"), ("plum", "#4a2038")):
        project, _ = journey.put_fabric(folder, project, journey.plain_fabric(colour, name))
    project = replace(project, lines=choir.LINES)
    worn = dict.fromkeys(frame_of(project).panels, "spruce") | {"front-1": "oat"}
    project_file.save(journey.assign(project, "A", worn), folder)
    return folder


@pytest.fixture
def sessions(tmp_path: Path) -> Sessions:
    return Sessions(tmp_path / "data")


@pytest.fixture
def session(sessions: Sessions, tunic_folder: Path) -> Session:
    session = sessions.get(Sessions.new_word())
    with session.new_garment(copy=False) as folder:
        shutil.copytree(tunic_folder, folder, dirs_exist_ok=True)
    session.keep(project_file.load(tunic_folder), "laid out the tunic", garment=folder.name)
    frame_of(session.need())
    return session


def facts(session: Session, grade: str = "") -> list[dict[str, Any]]:
    return [f for f in scene(session)["facts"] if not grade or f["grade"] == grade]


def wearing(session: Session, panel: str) -> str | None:
    return session.need().colourway(session.state.choice).fabrics.get(panel)


def test_a_change_of_cloth_is_judged_at_once(session: Session) -> None:
    before = facts(session, "cannot tell")
    assert all(f["text"] != NO_CLOTH for f in before)
    session.remember(choice="B")
    assert [f["text"] for f in facts(session)].count(NO_CLOTH) == 1, "a choice that nobody has made yet"
    session.remember(choice="A")
    assert sum(f["text"].startswith("Oat:") for f in before) == 1  # all that is not known of it is one line
    felt = replace(session.need().fabric("plum"), weight=Known(600.0, "g/m²", Origin.MEASURED))
    lawn = replace(session.need().fabric("oat"), weight=Known(90.0, "g/m²", Origin.MEASURED))
    session.keep(session.need().put_fabric(felt).put_fabric(lawn), "weighed")
    actions.act(session, {"do": "assign", "panel": "front-2", "cloth": "plum"})
    (heavy,) = facts(session, "warn")
    assert "plum is 6.7 times as heavy as oat" in heavy["text"].lower()
    assert heavy["flag"] == 1
    assert (heavy["view"], len(heavy["point"])) == ("front", 2)
    assert "Our own choice" in heavy["origin"]
    assert scene(session)["answers"]["sew"].startswith("1 to take care of")
    actions.act(session, {"do": "assign", "panel": "front-2", "cloth": "spruce"})
    assert facts(session, "warn") == []


def test_what_a_cut_says_does_not_hide_what_was_found(session: Session) -> None:
    """27 answers became 6 when pieces were made: the cut's own facts had taken the place of all others."""
    number = session.step.number if session.step else 0
    found = len(facts(session))
    session.remember(facts=({"grade": "fine", "text": "The seams match.", "about": "", "view": "", "point": None},),
                     facts_for=number)  # fmt: skip
    assert len(facts(session)) == found + 1
    assert facts(session)[0]["grade"] == "fine"


def test_trying_it_leaves_the_files_that_were_made_listed(session: Session) -> None:
    """What is written down of a cloth leaves the pieces as they are; a trial after it took their files off the list."""
    session.remember(made=("pieces-a4.pdf",), made_for=session.step.number if session.step else 0)
    noted = replace(session.need().fabric("plum"), weight=Known(210.0, "g/m²", Origin.MEASURED))
    session.keep(session.need().put_fabric(noted), "weighed")
    number = session.step.number if session.step else 0
    sew._keep(session, (number, ({"grade": "fine", "text": "The seams match."},), {}, "140 cm"))
    shown = scene(session)
    late = sew._keep(session, (number - 1, ({"grade": "fine", "text": "Of other lines."},), {}, "140 cm"))
    assert late is not None
    assert "Try it again" in late.text
    assert scene(session)["facts"] == shown["facts"], "a trial of what was shown before is not said of what is now"
    assert [m["name"] for m in shown["made"]] == ["pieces-a4.pdf"]
    assert shown["answers"]["print"] == "1 file ready, made before your last change"
    assert any(f["text"] == "The seams match." for f in shown["facts"])


def test_after_a_change_of_lines_the_scene_does_not_wait(sessions: Sessions, session: Session) -> None:
    moved = session.need().line("line-1")
    moved = replace(moved, start=replace(moved.start, distance_mm=61.0))
    session.keep(session.need().put_line(moved), "moved")
    shown = judged_scene(session)
    assert (shown["facts_pending"], shown["facts"]) == (True, [])
    app = FastAPI()
    sew.serve_sew(app, sessions)
    client = TestClient(app)
    found = client.get(f"/sew/{session.word}/measured").json()
    assert (found["measured"], found["revision"]) == (True, session.step.number)
    assert found["facts"] == scene(session)["facts"]
    assert found["answer"] == scene(session)["answers"]["sew"]
    assert client.get("/sew/short/measured").status_code == 404
    assert judged_scene(session)["facts_pending"] is False


def test_limits_of_ones_own_and_back_to_ours(session: Session) -> None:
    sew.take(session, {"do": "limit", "name": "sliver", "value": 900})
    row = next(r for r in scene(session)["limits"] if r["name"] == "sliver")
    assert (row["value"], row["ours"], row["yours"]) == ("900 mm", "30 mm", True)
    assert (row["unit"], row["origin"]) == ("", "You set this limit.")
    assert len(facts(session, "warn")) == len(frame_of(session.need()).panels)  # every panel is narrower than 90 cm
    sew.take(session, {"do": "limit", "name": "sliver", "value": None})
    assert session.need().limits == {}
    session.remember(unit="in")
    shown = {r["name"]: r for r in scene(session)["limits"]}
    assert shown["walk-warn"]["value"] == "1/16 in"  # 1.6 mm, as the source has it: Threads 200, 2018
    assert (shown["stretch-apart"]["value"], shown["stretch-apart"]["unit"]) == ("10", "%")
    sew.take(session, {"do": "limit", "name": "walk-warn", "text": "1/8"})
    assert session.need().limits == {"walk-warn": pytest.approx(3.175)}  # 1/8 × 25.4
    session.undo()
    assert session.undo() == "a limit"
    for wrong in ({"do": "limit", "name": "nix", "value": 3}, {"do": "limit", "name": "sliver", "value": -3},
                  {"do": "limit", "name": "sliver", "text": "a hand"}, {"do": "limit", "name": "sliver", "text": "0"},
                  {"do": "stretch", "value": 1e9}, {"do": "opens", "kind": "lace", "edge": "centre-back", "end": "20"},
                  {"do": "opens", "kind": "zip", "edge": "hem", "end": "20"}, {"do": "sew"}, None,
                  {"do": "opens", "kind": "zip", "edge": "centre-back", "begin": "far", "end": "20"}):  # fmt: skip
        with pytest.raises(InputError):
            sew.take(session, wrong)


def test_what_the_garment_needs(session: Session) -> None:
    sew.take(session, {"do": "opens", "kind": "zip", "edge": "centre-front", "begin": "0", "end": "30 cm"})
    assert session.need().closures[0].end_mm == 300
    assert any("on both sides of the zip" in f["text"] for f in facts(session, "note"))
    sew.take(session, {"do": "opens", "kind": "pulled on"})
    assert session.need().closures == ()
    sew.take(session, {"do": "opens", "kind": "unknown"})
    assert session.need().closures is None
    sew.take(session, {"do": "stretch", "value": 20})
    assert scene(session)["known"]["stretch"] == 20
    assert answer_of([]) == "nothing to judge yet"


def test_without_pieces_the_trial_says_what_is_missing(session: Session) -> None:
    said = sew._keep(session, sew._try(session, QUIET, "140 cm"))
    assert said is not None
    assert "pattern pieces" in said.text
    assert known_lays(session) == {}


def test_each_cloth_is_laid_on_its_own_width(session: Session) -> None:
    wide = replace(session.need().fabric("spruce"), usable_width=Known(1500.0, "mm", Origin.MEASURED))
    listed = replace(session.need().fabric("oat"), listed_width=Known(900.0, "mm", Origin.LABEL))
    project = session.need().put_fabric(wide).put_fabric(listed)
    pieces = [p.with_(fabric=f) for p, f in zip(journey_pieces(), ("spruce", "oat", "plum"), strict=False)]
    found = {n.fabric: n.width_mm for n in journey.need_of(project, pieces, usual_mm=1234.0)}
    assert found == {"spruce": 1500.0, "oat": 900.0, "plum": 1234.0}


def journey_pieces() -> list[Any]:
    from mockup.files.svg import read_pieces

    return [p for p in read_pieces(choir.PIECES) if "facing" in p.name or "pocket" in p.name][:3]


def test_panels_follow_each_other_when_asked_to(session: Session) -> None:
    actions.act(session, {"do": "assign", "panel": "sleeve-1L", "cloth": "oat"})
    assert (wearing(session, "sleeve-1L"), wearing(session, "sleeve-1R")) == ("oat", "spruce")
    choices.take(session, {"do": "follow", "follow": "sides"})
    said = actions.act(session, {"do": "assign", "panel": "sleeve-1L", "cloth": "plum"})
    assert (wearing(session, "sleeve-1L"), wearing(session, "sleeve-1R")) == ("plum", "plum")
    assert said is not None
    assert "1 panel with it" in said.text
    choices.take(session, {"do": "follow", "follow": "all"})
    actions.act(session, {"do": "assign", "panel": "front-1", "cloth": "none"})
    assert (wearing(session, "front-1"), wearing(session, "back-1")) == (None, None)
    with pytest.raises(InputError):
        choices.take(session, {"do": "follow", "follow": "everything"})


def test_cloth_is_swapped_and_choices_are_named(session: Session) -> None:
    choices.take(session, {"do": "swap", "one": "front-1", "other": "front-2"})
    assert (wearing(session, "front-1"), wearing(session, "front-2")) == ("spruce", "oat")
    said = choices.take(session, {"do": "swap", "one": "front-1", "other": "front-1"})
    assert said is not None
    assert said.kind == "error"
    choices.take(session, {"do": "name", "name": "<b>First</b>\n frost"})
    assert session.need().colourway("A").name == "<b>First</b> frost"  # shown as text, never as markup


def test_suggestions_have_pictures_and_reasons_and_become_choices(session: Session) -> None:
    choices._keep(session, choices._suggest(session, QUIET))
    offered = scene(session)["asked"]["suggested"]
    assert 1 < len(offered) <= 6
    for one in offered:
        assert one["why"]
        assert len(one["pictures"]) == 2
        for address in one["pictures"]:
            file = session.picture(address.rsplit("/", 1)[1])
            assert file is not None
            file.unlink()  # cleared away: painted again when it is asked for
        assert session.picture(scene(session)["asked"]["suggested"][0]["pictures"][0].rsplit("/", 1)[1]) is not None
    choices.take(session, {"do": "use", "number": 1})
    assert session.state.choice == "B"
    assert session.need().colourway("B").fabrics == offered[0]["fabrics"]
    line = session.need().line("line-1")
    session.keep(session.need().put_line(replace(line, start=replace(line.start, distance_mm=90.0))), "moved")
    assert scene(session)["asked"]["suggested"] == []  # out of date
    said = choices.take(session, {"do": "use", "number": 1})
    assert said is not None
    assert said.kind == "error"


def test_too_few_choices_for_a_poll_is_one_sentence(session: Session, sessions: Sessions) -> None:
    with pytest.raises(InputError, match="choices"):
        votes._document(session, QUIET)
    for wrong in (("", "one", "", HERE, ""), ("Which?", "two", "", HERE, ""), ("Which?", "one", "soon", HERE, ""),
                  ("Which?", "one", "2001-01-01", HERE, ""), ("Which?", "one", "", "world", ""),
                  ("Which?", "one", "", HERE, "many"), ("Which?", "one", "", HERE, "100000")):  # fmt: skip
        second = journey.assign(session.need(), "B", {"front-1": "plum"})
        session.keep(second, "another")
        with pytest.raises(InputError):
            votes._open(session, Voting(sessions.home.parent, 0), QUIET, *wrong)


def test_a_poll_from_the_page_to_its_results(session: Session, sessions: Sessions, tmp_path: Path) -> None:
    session.keep(journey.assign(session.need(), "B", {"front-1": "plum", "front-2": "oat"}), "another")
    voting = Voting(sessions.home.parent, 0)
    try:
        made = votes._open(session, voting, QUIET, "Which?", "one", "2999-01-01 18:00", HERE, "")
        votes._keep_poll(session, made)
        shown = poll_shown(session, voting)
        assert (shown["open"], shown["votes"], shown["reach"]) == (True, 0, REACH[HERE])
        assert not shown["for_phones"], "a phone that reads this computer's own address finds only itself"
        with httpx.Client() as browser:
            page = browser.get(shown["address"]).text
            form = dict(part.split('" value="') for part in
                        [x.split('">')[0] for x in page.split('type="hidden" name="')[1:]])  # fmt: skip
            sent = browser.post(shown["address"], data={**form, "choice": "B", "comment": "=SUM(A1)"})
        assert "Thank you" in sent.text
        shown = poll_shown(session, voting)
        assert shown["votes"] == 1
        assert "B: 1 (100%" in shown["chart"]
        assert "random sample" in " ".join(shown["said"])
        votes.take(session, voting, {"do": "close"})
        assert poll_shown(session, voting)["open"] is False
        voting.stop()
        assert poll_shown(session, voting)["reach"].startswith("Nobody can reach it now")
        votes.take(session, voting, {"do": "serve"})
        assert "Voting has ended" in httpx.get(poll_shown(session, voting)["address"]).text
    finally:
        voting.stop()
    app = FastAPI()
    serve_votes(app, sessions)
    client = TestClient(app)
    assert client.get(f"/votes/{session.word}/poll.json").json()["votes"] == 1
    table = client.get(f"/votes/{session.word}/votes.csv").text
    assert "'=SUM(A1)" in table  # a formula is no formula any more
    assert client.get(f"/votes/{session.word}/chart.png").content[:4] == b"\x89PNG"
    assert client.get(f"/votes/{session.word}/code.png").status_code == 404  # nothing answers
    assert client.get(f"/votes/{Sessions.new_word()}/chart.png").status_code == 404
    assert client.get(f"/votes/{session.word}/state.json").status_code == 404


@pytest.mark.slow
def test_cards_and_a_document_to_share(session: Session) -> None:
    session.keep(journey.assign(session.need(), "B", {"front-1": "plum", "front-2": "oat"}), "another")
    files = votes._cards(session, QUIET)
    names = zipfile.ZipFile(BytesIO(files["cards.zip"])).namelist()
    assert len(names) == 2 * 3 + 1  # two choices, three sizes, and their texts
    votes._keep_files(session, files)
    votes._keep_files(session, votes._document(session, QUIET))
    assert scene(session)["asked"]["shared"] == ["cards.zip", "choices.pdf"]
    actions.act(session, {"do": "assign", "panel": "front-1", "cloth": "oat"})
    assert scene(session)["asked"]["shared"] == []  # they show what was


@pytest.mark.slow
def test_one_time_links_are_given_once_as_a_file(session: Session, sessions: Sessions) -> None:
    session.keep(journey.assign(session.need(), "B", {"front-1": "plum"}), "another")
    voting = Voting(sessions.home.parent, 0)
    try:
        votes._keep_poll(session, votes._open(session, voting, QUIET, "Which?", "rank", "", HERE, "3"))
        shown = poll_shown(session, voting)
        links = (session.made_folder / shown["links"]).read_text().split()
        assert (len(set(links)), shown["one_time"]) == (3, True)
        assert all(httpx.get(link).status_code == 200 for link in links)
        state = json.loads((session.home / "state.json").read_text())
        assert links[0].split("key=")[1] not in json.dumps(state)
        with pytest.raises(InputError):
            voting.start("world")
        assert HOME in REACH
    finally:
        voting.stop()


def test_a_picture_code_reads_as_its_address() -> None:
    address = "http://192.168.100.200:8470/abcdefghijkl"
    picture = cv2.imdecode(np.frombuffer(code_png(address), np.uint8), cv2.IMREAD_GRAYSCALE)
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == address  # a reader as the second witness
    assert (picture[:24] == 255).all()  # the white rim of four modules, ISO/IEC 18004
