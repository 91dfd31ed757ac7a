"""Own pattern pieces laid by on the page: plain outlines are taken for what they look like, and that can be changed."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from mockup import journey
from mockup.files import svg
from mockup.files.outlines import edges_at_corners
from mockup.files.svg_path import d_from_path
from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_outline
from mockup.pattern.piece import Piece
from mockup.pattern.recognise import suggest
from mockup.samples import choir
from swatches.errors import InputError, MockupError
from swatches.job import QUIET
from ui.parts.session import Sessions
from ui.questions import pieces, pieces_make, pieces_own
from ui.questions.pieces_asked import names_for
from ui.questions.pieces_served import pattern_shown


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Any:
    """The choir's lines without its pattern."""
    sessions = Sessions(tmp_path_factory.mktemp("own"))
    session = sessions.get(Sessions.new_word())
    with session.new_garment(copy=False) as folder:
        project = put_tunic(folder)
        for line in choir.LINES:
            project = project.put_line(line)
        session.keep(project, "lines", garment=folder.name)
    return session


def plain(folder: Path) -> str:
    """Front and back as a stranger's plain outlines: one closed path each, no names."""
    found = [p for p in svg.read_pieces(choir.PIECES) if p.name in ("front", "back")]
    moved = [paths.transformed(p.outline, [[1, 0, 400 * k], [0, 1, 0]]) for k, p in enumerate(found)]
    lines = "".join(f'<path d="{d_from_path(path, close=True)}"/>' for path in moved)
    file = folder / "plain.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" viewBox="0 -900 900 900">'
        + lines
        + "</svg>"
    )
    return str(file)


def test_plain_outlines_are_taken_for_front_and_back_and_cut(
    session: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = plain(tmp_path)
    result = pieces_own._read(session, QUIET, path, "stitch", "15mm", "", "sheet", "", "")
    assert not Path(path).exists(), "what was uploaded is taken away"
    said = pieces_own._keep_pieces(session, result)
    assert said is not None
    assert "front" in said.text
    assert "back" in said.text
    shown = pattern_shown(session)
    assert [p["name"] for p in shown["sheet"]["pieces"]] == ["front", "back"]
    assert [len(p["lines"]) for p in shown["sheet"]["pieces"]] == [2, 2]
    assert [row["value"] for row in shown["which"]] == ["front:body", "back:body"]

    made = pieces._made(session, QUIET, {"allowance": "15 mm", "paper": "A4", "own": False})
    assert pieces._keep(session, made) is not None
    assert {"pieces-a4.pdf", "handout.pdf", pieces_make.SHOWN} <= set(session.state.made)
    shown_after = json.loads((session.made_folder / pieces_make.SHOWN).read_text("utf-8"))
    assert all(row["ok"] for row in shown_after["proof"]["rows"])
    assert not any("e-" in row["figure"] for row in shown_after["proof"]["every"])
    assert {f["name"]: f["pages"] for f in shown_after["files"]}["pieces-a4.pdf"].endswith(("sheet", "sheets"))
    assert shown_after["order"][0].startswith(("Staystitch", "Sew"))
    for piece in shown_after["after"]["pieces"]:
        if piece["grain"]:
            arrow = shapely.LineString(piece["grain"])
            letters = [e["at"] for e in piece["edges"] if e["letter"]]
            # our own choice: a letter is at most 34 mm high
            assert all(arrow.distance(shapely.Point(at)) > 17 for at in letters), (
                f"a letter on the arrow of {piece['name']}"
            )
    assert made.cutting["garment"] == session.folder.name
    assert all(f["grade"] != "stop" for f in made.facts)

    # a line that is moved while the next cut is made is not cut: that cut is not taken for the pieces of now
    first, *rest = session.need().lines
    moved = replace(first, start=replace(first.start, distance_mm=first.start.distance_mm + 5.0))

    def moved_meanwhile(*_: Any, **__: Any) -> Any:  # the move falls into the cut, which need not be made for that
        session.keep(replace(session.need(), lines=(moved, *rest)), "moved a line")
        return made.names, made.facts

    monkeypatch.setattr(pieces_make, "publish", moved_meanwhile)
    late = pieces._made(session, QUIET, {"allowance": "10 mm"})
    told = pieces._keep(session, late)
    assert told is not None
    assert "Make the pieces again" in told.text
    assert not session.made_holds
    told = pieces._keep_sheet(session, (late.number, b"a picture of the lines as they were"))
    assert told is not None
    assert "Make the sheet again" in told.text
    session.undo()
    assert session.made_holds
    assert session.state.allowance == "15 mm"


def test_an_edge_is_named_widened_and_laid_on_the_fold_and_what_changes_meanwhile_stays(session: Any) -> None:
    before = session.project.pieces
    messages = [
        {"do": "edge", "piece": "front", "edge": "neck", "allowance": "3/8 in"},
        {"do": "edge", "piece": "back", "edge": "neck", "allowance": "1 cm"},
    ]
    found = [pieces._act(session, QUIET, message) for message in messages]  # both begin on the garment as it is now
    first, *rest = session.need().lines
    session.keep(replace(session.need(), lines=(replace(first, name="renamed"), *rest)), "renamed a line")
    told = [pieces._kept(session, one) for one in found]
    assert [said and said.text for said in told] == ["Taken: neck of front.", "Taken: neck of back."]
    assert session.project.lines[0].name == "renamed"
    front, back = journey.pieces_of(session.project, session.folder)
    assert front.edge("neck").allowance_mm == pytest.approx(9.525)  # 3/8 in
    assert back.edge("neck").allowance_mm == 10.0
    session.undo()
    session.undo()
    assert (session.project.pieces, session.project.lines[0].name) == (before, "renamed")
    session.undo()
    assert session.project.lines[0] == first
    assert journey.pieces_of(session.project, session.folder)[0].edge("neck").allowance_mm == 15.0


def test_a_wrong_guess_is_changed(session: Any) -> None:
    project, _ = pieces_own.act(session, {"do": "which", "piece": "front", "value": "back:body"})
    front = journey.pieces_of(project, session.folder)[0]
    assert front.view == "back"
    assert "centre-back" in [e.name for e in front.edges]
    project, _ = pieces_own.act(session, {"do": "which", "piece": "front", "value": ""})
    assert journey.pieces_of(project, session.folder)[0].view == ""


def test_which_line_the_outline_is_is_asked_and_answered(session: Any, tmp_path: Path) -> None:
    assert pattern_shown(session)["line_asked"] == [], "it was said when they were laid by"
    result = pieces_own._read(session, QUIET, plain(tmp_path), "", "", "", "sheet", "", "")
    said = pieces_own._keep_pieces(session, result)
    assert said is not None
    assert "It was left as it is" not in said.text
    assert pattern_shown(session)["line_asked"] == ["front", "back"]
    drawn = journey.pieces_of(session.need(), session.folder)
    with pytest.raises(InputError, match="seam allowance"):
        pieces_own.act(session, {"do": "line-is", "value": "cut", "allowance": ""})
    pieces._kept(session, pieces._act(session, QUIET, {"do": "line-is", "value": "cut", "allowance": "1 cm"}))
    assert pattern_shown(session)["line_asked"] == []
    for before, after in zip(drawn, journey.pieces_of(session.need(), session.folder), strict=True):
        assert before.name == after.name
        cut = abs(paths.signed_area(cut_outline(after).path))
        assert cut == pytest.approx(before.finished_area_mm2, rel=2e-3), (
            "what was drawn is cut, and sewn 1 cm inside it"
        )
        assert after.finished_area_mm2 < 0.95 * before.finished_area_mm2
    session.undo()
    session.undo()


def test_outlines_laid_by_before_a_length_was_known_are_taken_for_what_they_are_as_soon_as_it_is(
    session: Any, tmp_path: Path
) -> None:
    known = session.need()
    guessed = replace(known, views=tuple(replace(v, scale_measured=False) for v in known.views))
    read, pieces_read, _ = pieces_own._read(session, QUIET, plain(tmp_path), "stitch", "15mm", "", "sheet", "", "")
    assert pieces_read[0].view == "front"
    bare, _ = journey.keep_pieces(session.folder, guessed, read.pieces)
    assert pieces_own.recognised(session.folder, bare, bare) == bare
    found = pieces_own.recognised(session.folder, bare, replace(known, pieces=bare.pieces))
    assert [p.view for p in journey.pieces_of(found, session.folder)] == ["front", "back"]


def test_a_piece_unlike_the_picture_is_what_the_person_says_and_what_has_no_name_is_asked(session: Any) -> None:
    front = journey.pieces_of(session.need(), session.folder)[0]
    split = pieces_own._split(session.need())
    low = paths.polyline(np.array([(0, 0), (900, 0), (900, 90), (600, 300), (300, 90), (0, 90), (0, 0)], dtype=float))
    unlike = Piece("strip", edges_at_corners(low))
    assert not [s for s in suggest(unlike, split) if s.corners]
    said = pieces_own._as(unlike, "front:body", split)
    assert sorted(e.name for e in said.edges) == sorted(e.name for e in front.edges)
    box = paths.polyline(np.array([(0, 0), (300, 0), (300, 500), (0, 500), (0, 0)], dtype=float))
    few = pieces_own._as(Piece("box", edges_at_corners(box)), "front:body", split)
    assert [e.name for e in few.edges] == ["edge-1", "edge-2", "edge-3", "edge-4"]
    names = names_for(few, split)
    assert sorted(names) == sorted(e.name for e in front.edges)
    before = session.need()
    project, _ = journey.keep_pieces(session.folder, before, (front, few, few.with_(name="plain", view="")))
    session.keep(project, "two more")
    shown = pattern_shown(session)
    troubles = [p["trouble"] for p in shown["sheet"]["pieces"]]
    assert troubles[0] == ""
    assert troubles[1].startswith("box: press each of its edges in the drawing and name it.")
    assert troubles[2] == "plain: if the picture shows it, say below which part of it this is."
    assert [row["asked"] for row in shown["which"]] == [False, False, True]
    for edge, name in (("edge-1", "hem"), ("edge-2", "side"), ("edge-3", "neck"), ("edge-4", "centre-front")):
        message = {"do": "edge", "piece": "box", "edge": edge, "name": name, "fold": name == "centre-front"}
        pieces._kept(session, pieces._act(session, QUIET, message))
    told = pattern_shown(session)["sheet"]["pieces"][1]["trouble"]
    assert told.startswith("box: no edge is called armhole and shoulder, so no line can be laid on it.")
    with pytest.raises(MockupError) as refused:
        pieces._make(session, QUIET, "15 mm", "A4", False)
    assert str(refused.value) == told, "cutting says the same as the drawing"
    for _ in range(5):
        session.undo()
    assert session.need().pieces == before.pieces


def test_without_pieces_the_lines_and_the_handout_still_come_out(tmp_path: Path, session: Any) -> None:
    bare = replace(session.project, pieces="")
    names, facts = pieces_make.publish(
        bare, session.folder, tmp_path, session.state, allowance="15 mm", paper="A4", job=QUIET
    )
    assert set(names) == {"split.json", "handout.pdf", pieces_make.SHOWN}
    assert facts == ()
