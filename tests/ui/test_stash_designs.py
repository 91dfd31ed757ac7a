"""What could be made from one's own cloth, on the page: looked for, shown, taken as a choice, and stale when it is."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from mockup import journey
from mockup.lay.lay import missing
from mockup.samples import choir
from swatches.errors import Cancelled, InputError
from swatches.fabric import Known, Origin
from swatches.job import QUIET
from swatches.photo import read_photo
from ui.parts.session import Session
from ui.questions import stash
from ui.questions.lay_state import board_of, found_of, laid_of
from ui.questions.stash_served import _lay_drawn, _shown
from ui.questions.stash_state import cloth_id, keep_made, made_of

ROOMY = {"usable_width": Known(1400.0, "mm", Origin.MEASURED), "length_left": Known(2500.0, "mm", Origin.MEASURED)}


@pytest.fixture
def cut_from(session: Session) -> Session:
    """The tunic with its pattern, two cloths with plenty on the roll, and a choice."""
    project, _ = journey.put_pieces(session.folder, session.need(), choir.PIECES)
    fabrics = tuple(replace(f, owned=True, nap=Known(False, "", Origin.MEASURED), **ROOMY) for f in project.fabrics)
    project = replace(project, fabrics=fabrics)
    ids = [p.id for members in journey.panels_of(project).values() for p in members]
    session.keep(journey.assign(project, "A", {i: "spruce" if i.endswith("-2") else "oat" for i in ids}), "cloth")
    return session


def look(session: Session, job: Any = QUIET, **message: Any) -> Any:
    rolls = [cloth_id(f.id, "roll") for f in session.need().fabrics]
    return stash._look(session, job, {"do": "designs", "cloth": rolls, "seconds": 20, **message})


def test_a_design_is_found_shown_and_taken(cut_from: Session) -> None:
    before = cut_from.need()
    # one position each: 'hem band' and 'yoke' with another length than the garment has now
    message = {
        "families": [{"kind": "hem band", "low": "14 cm", "high": "140"}, {"kind": "yoke", "low": "95", "high": "95"}]
    }
    assert stash._keep_found(cut_from, look(cut_from, **message)) is None
    shown = _shown(cut_from)
    names = [d["name"] for d in shown["designs"]]
    assert names == ["Hem band, 140 mm", "Yoke, 95 mm"]
    assert shown["searched"].startswith("Found 2 designs that can be cut")
    assert "Looked at 2 positions" in shown["figures"]
    cut_from.remember(unit="cm")
    assert _shown(cut_from)["designs"][1]["name"] == "Yoke, 9.5 cm"
    cut_from.remember(unit="mm")
    for design in shown["designs"]:
        assert sum(int(c["share"].split()[0]) for c in design["cloths"]) == pytest.approx(100, abs=2)
        assert all(c["on"] == "the roll" and c["left"].endswith("m²") for c in design["cloths"])
    # its picture is painted when it is asked for, and its lay is drawn
    picture = cut_from.picture(shown["designs"][1]["pictures"][0]["href"].rpartition("/")[2])
    assert picture is not None
    assert max(read_photo(picture.read_bytes()).rgb8.shape) == 900
    name = shown["designs"][1]["cloths"][0]["lay"].rpartition("/")[2]
    drawn = _lay_drawn(cut_from, 1, name[2:-4], "svg")
    assert isinstance(drawn, str)
    assert "Yoke, 95 mm" in drawn
    assert _lay_drawn(cut_from, 7, name[2:-4], "svg") is None
    # taken: a choice of its own, its lines the garment's, its lay on the board; the first choice keeps its cloth
    said = stash._take(cut_from, {"do": "take", "index": 1})
    assert said is not None
    assert said.text.startswith("Yoke, 95 mm is choice B now.")
    project = cut_from.need()
    assert cut_from.state.choice == "B"
    assert {line.name for line in project.lines} == {"yoke"}
    assert project.colourway("A").fabrics["sleeve-1L"] == before.colourway("A").fabrics["sleeve-1L"]
    board = board_of(cut_from)
    assert board is not None
    for fabric, placements in laid_of(cut_from).placements.items():
        assert missing(board.pieces[fabric], placements) == ()
        assert [w for w in found_of(board, fabric, placements) if "grain" not in w] == []
    assert set(laid_of(cut_from).placements) == set(board.pieces)
    assert said.text.endswith(" Its pieces lie on their cloth above. Undo brings back what was.")
    # a piece of which the design says nothing is counted, since 'Finish the rest' would lay it
    lays = dict(made_of(cut_from).designs[1].fits.lays)
    fabric, lay = lays.popitem()
    lays[fabric] = replace(lay, placements=lay.placements[1:])
    assert stash._laid(cut_from, lays) == 1
    # what was found holds still, so that another can be taken; after a change of cloth it does not
    assert len(made_of(cut_from).designs) == 2
    new = tuple(replace(f, length_left=Known(900.0, "mm", Origin.MEASURED)) for f in project.fabrics)
    cut_from.keep(replace(project, fabrics=new), "less cloth")
    assert made_of(cut_from).designs == ()
    stale = stash._take(cut_from, {"do": "take", "index": 0})
    assert stale is not None
    assert "Look again" in stale.text


def test_without_a_measured_cloth_the_next_step_is_to_measure_one(session: Session) -> None:
    assert "first add your pattern pieces" in _shown(session)["first"]
    project, _ = journey.put_pieces(session.folder, session.need(), choir.PIECES)
    bare = tuple(replace(f, owned=True, remnants=(), length_left=Known()) for f in project.fabrics)
    session.keep(replace(project, fabrics=bare), "cloth of no known size")
    with pytest.raises(InputError, match="Measure a remnant"):
        look(session, families=[{"kind": "yoke"}])


def test_what_is_ticked_is_what_is_tried(cut_from: Session) -> None:
    with pytest.raises(InputError, match="Tick some of it"):
        look(cut_from, families=[{"kind": "yoke"}], cloth=["0" * 16])
    with pytest.raises(InputError, match="Tick at least one kind"):
        look(cut_from, families=[])
    with pytest.raises(InputError, match="smaller length first"):
        look(cut_from, families=[{"kind": "yoke", "low": "90", "high": "60"}])
    with pytest.raises(InputError):
        look(cut_from, families=[{"kind": "spiral"}])
    # one cloth alone gives no design in two cloths: nothing is found, and that is no proof
    made, _ = look(cut_from, families=[{"kind": "yoke", "low": "95", "high": "95"}], cloth=[cloth_id("oat", "roll")])
    assert made.designs == ()
    assert "panels that meet at a line never have the same one. Next: tick another cloth" in made.said
    assert "does not prove that there is none" in made.figures


def test_stopped_it_keeps_what_was_found(cut_from: Session) -> None:
    class Stopped:
        """Hears a stop as soon as the first design was found."""

        cancelled = False

        def step(self, text: str, done: float | None = None) -> None:
            self.cancelled = "found so far: 1" in text

    families = [{"kind": "yoke", "low": "60", "high": "100"}]
    made, _ = look(cut_from, Stopped(), families=families)
    assert len(made.designs) == 1
    assert "You stopped it before every position was tried" in made.figures

    class Never(Stopped):
        def step(self, text: str, done: float | None = None) -> None:
            self.cancelled = True

    with pytest.raises(Cancelled):
        look(cut_from, Never(), families=families)


def test_how_far_a_line_may_run_and_which_remnants_make_a_piece(cut_from: Session) -> None:
    pieces = stash._look(cut_from, QUIET, {"do": "piece", "name": "pocket"})
    assert stash._keep_found(cut_from, pieces) is None
    text = _shown(cut_from)["answers"]["piece"]["text"]
    assert text.startswith("All of 'pocket' can be cut from any one of these:")
    assert text.count("what is on the roll") == 2
    with pytest.raises(InputError, match="hood"):
        stash._look(cut_from, QUIET, {"do": "piece", "name": "hood"})


@pytest.mark.slow
def test_a_line_moves_as_far_as_was_found(cut_from: Session) -> None:
    stash._keep_found(cut_from, stash._look(cut_from, QUIET, {"do": "line", "name": "line-1"}))
    answer = made_of(cut_from).answers["line"]
    assert "fits from" in answer.text
    assert "Looked at" in answer.text
    (where, up), *_ = answer.moves.items()
    before = {line.id: line.start.distance_mm for line in cut_from.need().lines}
    said = stash._take(cut_from, {"do": "move", "where": where})
    assert said is not None
    after = {line.id: line.start.distance_mm for line in cut_from.need().lines}
    assert {i for i in after if after[i] != before[i]} == {"line-1", "line-3"}
    assert abs(after["line-1"] - before["line-1"]) == pytest.approx(abs(up))
    assert made_of(cut_from).answers == {}, "the answer was for the lines as they were"


def test_a_file_that_cannot_be_read_is_none(cut_from: Session) -> None:
    keep_made(cut_from, made_of(cut_from))
    (cut_from.home / "designs.json").write_text("{", "utf-8")
    assert made_of(cut_from).designs == ()
