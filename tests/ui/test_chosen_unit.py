"""Lengths on the page: a bare number is in the chosen unit, fields follow it, and a measured length moves no line."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import gradio as gr
import numpy as np
import pytest

from mockup import journey
from mockup.files import project_file
from mockup.geometry import path as paths
from mockup.lay.lay import Answer, Lay
from mockup.lay.need import Need
from mockup.pattern.apply_split import CutSet
from mockup.pattern.proof import Proof
from mockup.project import Project
from mockup.samples import choir
from mockup.stylelines.carry import seam_miss
from mockup.stylelines.on_photo import placed_lines
from swatches.errors import InputError
from swatches.job import QUIET
from ui.parts import actions
from ui.parts.desk import Desk
from ui.parts.lengths import USUAL_MM, has_no_unit, restated, usual_text
from ui.parts.making import cut_facts
from ui.parts.session import Session, Sessions
from ui.parts.settings import SettingsFile
from ui.parts.words import sentence
from ui.questions import garment, lines, pieces


@pytest.fixture(scope="module")
def guessed_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The choir's tunic with its lines and no known length: every mm is a guess."""
    folder = tmp_path_factory.mktemp("guessed")
    project = journey.new_project(folder, choir.FRONT_SVG, choir.BACK_SVG, name=choir.NAME)
    project_file.save(replace(project, lines=choir.LINES), folder)
    return folder


@pytest.fixture
def session(laid_out: Callable[[Path], Session], guessed_folder: Path) -> Session:
    return laid_out(guessed_folder)


@pytest.mark.parametrize(
    ("mm", "said"),
    # 5/8 in on patterns is 15 mm (common practice, no source); the others are the nearest quarter: mm / 25.4 × 4.
    [
        (15.0, ("15 mm", "1.5 cm", "5/8 in")),
        (80.0, ("80 mm", "8 cm", "3 1/4 in")),
        (1400.0, ("140 cm", "140 cm", "55 in")),
    ],
)
def test_usual_lengths_are_said_in_the_persons_unit(mm: float, said: tuple[str, str, str]) -> None:
    assert tuple(usual_text(mm, unit) for unit in ("mm", "cm", "in")) == said


@pytest.mark.parametrize(("old", "new"), list(itertools.permutations(("mm", "cm", "in"), 2)))
def test_fields_follow_the_unit_and_come_back(old: str, new: str) -> None:
    for mm in USUAL_MM:
        assert restated(usual_text(mm, old), old, new) == usual_text(mm, new)
    assert restated("7", old, new) == f"7 {old}", "what was typed stays as long as it was"
    assert restated("7.5 cm", old, new) == "7.5 cm"
    assert restated("about a hand", old, new) == "about a hand"


def test_a_bare_number_is_in_the_chosen_unit(session: Session) -> None:
    actions.take_unit(session, "in", [])
    actions.act(session, {"do": "type", "line": "line-2", "which": "start", "text": "4"})
    start = session.need().line("line-2").start
    assert (start.distance_mm, start.text) == (pytest.approx(101.6), "4 in")  # 4 × 25.4
    before = len(session.need().lines)
    lines._add(session, "hem-band", "front", "5", "")
    made = session.need().lines[before]
    assert made.start.distance_mm == pytest.approx(127.0)  # 5 × 25.4
    assert [has_no_unit(t) for t in ("5", "5/8", "5 mm", "x", "", None)] == [True, True, False, False, False, False]


def test_a_garment_for_a_doll_is_doubted(session: Session) -> None:
    before = session.need().view("front")
    said = garment._set_length(session, "front:centre-front", "68")
    assert said is not None
    assert said.kind == "error"
    assert "68 cm" in said.text
    assert session.need().view("front") == before
    said = garment._set_length(session, "front:centre-front", "68 mm")
    assert said is not None
    assert "very short" in said.text
    assert session.need().view("front").scale_measured, "who names the unit means it"
    with pytest.raises(InputError):
        garment._set_length(session, "front:centre-front", "1 mm")


def test_a_garment_for_a_giant_is_doubted(session: Session) -> None:
    before = session.need().view("front")
    actions.take_unit(session, "cm", [])
    said = garment._set_length(session, "front:centre-front", "9000")
    assert said is not None
    assert (said.kind, said.text.split(". ")[0]) == ("error", "9000 cm is 90 m")
    assert session.need().view("front") == before
    said = garment._set_length(session, "front:centre-front", "9000 cm")
    assert said is not None
    assert "90 m is very long" in said.text
    for text in ("250", "250 cm"):
        said = garment._set_length(session, "front:centre-front", text)
        assert said is not None
        assert "very long" not in said.text, "a train of 2.5 m is sewn"
        assert said.kind != "error"


def test_a_measured_length_keeps_lines_where_they_are(session: Session) -> None:
    before = session.need()
    was = {
        line.id: view.path_to_px(path)
        for view in before.views
        for line, path in placed_lines(view, before.lines, before.views)
    }
    said = garment._set_length(session, "front:centre-front", "90 cm")
    after = session.need()
    assert said is not None
    assert "keep their places" in said.text
    assert "back follow from the side seam: give one of the back too" in said.text
    factor = after.view("front").mm_per_px / before.view("front").mm_per_px
    assert abs(factor - 1) > 0.1, "the guess was another"
    for view in after.views:
        for line, path in placed_lines(view, after.lines, after.views):
            now, then = view.path_to_px(path), was[line.id]
            if view.side == "front":
                assert np.allclose(now.cubics, then.cubics, atol=1e-6)
            else:  # the back's lines meet the front's at the seam; both guesses differ a little
                assert paths.length(now) == pytest.approx(paths.length(then), rel=0.02)
    front, back = after.line("line-2"), after.line("line-4")
    assert front.start.distance_mm == pytest.approx(before.line("line-2").start.distance_mm * factor)
    assert seam_miss(front, back, after.view("front"), after.view("back")) <= 0.01
    session.undo()
    assert session.need().lines == before.lines


@pytest.mark.parametrize(
    ("expected", "got", "said"),
    [
        ("a closed shape", "one straight line", "Line: this needs a closed shape instead of one straight line. Draw."),
        ("at most 40 MB", "more", "Line: this needs at most 40 MB instead of more. Draw."),
        ("a length, so that lines have mm", "a guess",
         "Line: this needs a length, so that lines have mm, instead of a guess. Draw."),
        ("a choice", "none yet", "Line: this needs a choice, but there is none yet. Draw."),
        ("a picture file", "nothing", "Line: this needs a picture file, but there is nothing. Draw."),
        ("an angle in degrees", "not known", "Line: this needs an angle in degrees, but it is not known. Draw."),
        ("a sheet", "No sheet was found.", "Line: this needs a sheet. No sheet was found. Draw."),
        ("a name", "", "Line: this needs a name, but there is nothing. Draw."),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_said_in_a_plain_sentence(expected: str, got: str, said: str) -> None:
    assert sentence(InputError("line", expected=expected, got=got, next_step="Draw")) == said


def test_settings_are_kept_and_nonsense_is_not(tmp_path: Path) -> None:
    settings = SettingsFile(tmp_path)
    settings.put(unit="in", sight="deutan")
    settings.put(unit="cubit", sight="x-ray")
    again = SettingsFile(tmp_path)
    assert again.now == settings.now
    assert (again.now.unit, again.now.sight) == ("in", "deutan")
    assert Sessions(tmp_path).get(Sessions.new_word()).state.allowance == "5/8 in", "a new garment begins in inches"
    for broken in ("{", "[]", '{"unit": 7, "sight": ["usual"]}', "\x00"):
        (tmp_path / "settings.json").write_text(broken)
        assert SettingsFile(tmp_path).now.unit == "mm"


def test_the_seam_allowance_is_said_and_read_in_the_chosen_unit(
    session: Session, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    with gr.Blocks():
        desk = Desk(Sessions(tmp_path), None, gr.JSON(), gr.Textbox())
        pieces.build(desk)
    assert "Seam allowance on new seams" in [f.field.label for f in desk.lengths]
    actions.take_unit(session, "cm", [])
    asked: list[str] = []
    monkeypatch.setattr(pieces, "_made", lambda _session, _job, cutting: asked.append(cutting["allowance"]))
    for typed in ("1.5", "5/8 in"):
        pieces._make(session, QUIET, typed, "A4", False)
    assert asked == ["1.5 cm", "5/8 in"], "it means the same after the unit is changed"


def test_cloth_to_buy_and_proofs_are_said_as_shops_and_tapes_have_them() -> None:
    need = Need("oat", 1397.0, True, 1180.0, 0.0, 1200.0, 1, Lay(Answer.YES, ""))
    cut = CutSet((), Proof(0.0, 0.0, 0.0, ()), ())
    said = [f["text"] for f in cut_facts(cut, [need], Project("tunic"), "in")]
    # 1.2 m are 1.312 yd: 1 3/8 yd rounded up, where the nearest eighth, 1 1/4, would be too short; 1397 = 55 × 25.4
    assert said[-1].endswith(": 1 piece, 1 3/8 yd on a usable width of 55 in, in a single layer.")
    assert "within 0.0001 in" in said[0]
    metric = [f["text"] for f in cut_facts(cut, [need], Project("tunic"), "cm")]
    assert metric[-1].endswith(": 1 piece, 1.2 m on a usable width of 139.7 cm, in a single layer.")
    assert "within 0.001 mm" in metric[0]
