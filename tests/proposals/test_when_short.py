"""What would help when cloth is short: said only with the lay that shows it, and that lay is looked at again here."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from shapely.geometry import Polygon

from mockup import journey
from mockup.files import project_file
from mockup.files.svg import write_pieces
from mockup.journey import stash_designs
from mockup.lay.exact import faults
from mockup.lay.lay import Answer, LayPiece, Match, Scrap, missing
from mockup.lay.seam import pieced
from mockup.lay.stock import Stock
from mockup.proposals.when_short import Enough, enough
from mockup.samples import choir
from swatches.errors import Cancelled, InputError, ProjectError
from swatches.fabric import Known, Origin, Remnant
from ui.commands.from_stash import from_stash


def rectangle(width: float, height: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


BIG = Stock((Scrap("big", rectangle(3000, 3000)),))


@pytest.fixture(scope="module")
def tunic(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Any:
    """The choir's tunic in two plain colours, with its own lines."""
    folder = tmp_path_factory.mktemp("tunic")
    project = put_tunic(folder, "tunic")
    project, _ = journey.put_pieces(folder, project, choir.PIECES)
    for name, colour in (("one", "#336699"), ("two", "#996633")):
        project, _ = journey.put_fabric(folder, project, journey.plain_fabric(colour, name), fabric_id=name)
    project = replace(project, lines=choir.LINES)
    ids = [p.id for members in journey.panels_of(project).values() for p in members]
    project = journey.assign(project, "A", {i: "one" if i in ("front-1", "back-1") else "two" for i in ids})
    return project, folder


def looked_at_again(found: Enough, stock: dict[str, Stock]) -> None:
    """Every lay of every suggestion, exactly."""
    for suggestion in found.suggestions:
        assert suggestion.lays
        for fabric, lay in suggestion.lays.items():
            pieces = suggestion.pieces[fabric]
            scraps = {s.name: s for s in stock[fabric].scraps}
            assert lay.answer is Answer.YES
            assert missing(pieces, lay.placements) == ()
            assert faults({p.name: p for p in pieces}, scraps, lay.placements, clearance_mm=2.0) == []


def test_enough_needs_no_suggestion(tunic: Any) -> None:
    project, folder = tunic
    pieces = journey.pieces_of(project, folder)
    found = enough(project, pieces, "A", {"one": BIG, "two": BIG}, lay_s=1.0)
    assert found.short == ()
    assert found.suggestions == ()


@pytest.mark.slow
def test_every_kind_is_looked_for_and_laid(tunic: Any) -> None:
    project, folder = tunic
    small = Stock((Scrap("a", rectangle(540, 470)),), faces_alike=True)
    found = enough(project, journey.pieces_of(project, folder), "A", {"one": small, "two": BIG}, time_s=120, lay_s=1.0)
    looked_at_again(found, {"one": small, "two": BIG})
    assert {s.kind for s in found.suggestions} >= {"line", "cloth"}


def test_what_would_help_is_laid_before_it_is_said(tunic: Any) -> None:
    project, folder = tunic
    pieces = journey.pieces_of(project, folder)
    yokes = enough(project, pieces, "A", {"one": BIG, "two": BIG}, lay_s=1.0).pieces["one"]
    sizes = [np.ptp(np.array(p.outline), axis=0) for p in yokes]
    # room for one yoke whole, and beside it for the other only in two parts
    wide, high = float(max(s[0] for s in sizes)), float(max(s[1] for s in sizes))
    stock = {
        "one": Stock(
            (Scrap("a", rectangle(wide + 6, high + 6)), Scrap("b", rectangle(0.62 * wide + 40, 2 * high + 60)))
        ),
        "two": BIG,
    }
    found = enough(project, pieces, "A", stock, time_s=60, lay_s=0.8, kinds=("over", "seam", "cloth"))
    assert found.short == ("one",)
    assert found.lays["one"].short_mm is not None or found.lays["one"].answer is Answer.NO
    kinds = {s.kind for s in found.suggestions}
    assert {"seam", "cloth"} <= kinds
    assert "over" not in kinds, "nothing says that its faces are alike"
    looked_at_again(found, stock)
    seam = next(s for s in found.suggestions if s.kind == "seam")
    assert "pieced by a seam" in seam.text
    assert "mm from its" in seam.text
    cloth = next(s for s in found.suggestions if s.kind == "cloth")
    assert cloth.fabrics is not None
    assert set(cloth.fabrics.values()) <= {"one", "two"}


def test_a_seam_adds_two_allowances_along_its_length() -> None:
    # by hand: 400 × 300 with 15 mm allowances at a seam across: 400 × (150 + 15) twice
    piece = LayPiece("panel", rectangle(400, 300), grain_deg=0.0)
    made = pieced(piece, 0.5, across=True, allowance_mm=15.0)
    assert made is not None
    assert [Polygon(p.outline).area for p in made.parts] == pytest.approx([400 * 165.0] * 2)
    assert made.at_mm == 150.0
    along = pieced(replace(piece, grain_deg=-90.0), 0.25, across=True, allowance_mm=10.0)
    assert along is not None  # its grain runs along +x: across that, the seam is upright, 100 mm from one end
    assert sorted(Polygon(p.outline).area for p in along.parts) == pytest.approx([300 * 110.0, 300 * 310.0])
    assert pieced(piece, 0.05, across=True, allowance_mm=15.0) is None
    assert pieced(replace(piece, match=Match("side", (0.0, 0.0))), 0.5, across=True, allowance_mm=15.0) is None


def test_cancelling_is_heard(tunic: Any, stopped: Any) -> None:
    project, folder = tunic
    small = {"one": Stock((Scrap("s", rectangle(300, 300)),)), "two": BIG}
    with pytest.raises(Cancelled):
        enough(project, journey.pieces_of(project, folder), "A", small, job=stopped(2))


def test_the_questions_by_command(tunic: Any, tmp_path: Any) -> None:
    project, folder = tunic
    remnants = (Remnant("corner", rectangle(520, 420), rectangle(518, 418), grain_deg=0.0),)
    known = Known(False, "", Origin.MEASURED)
    fabrics = [replace(f, nap=known, remnants=remnants if f.id == "one" else ()) for f in project.fabrics]
    project_file.save(replace(project, fabrics=tuple(fabrics)), folder)
    run = CliRunner()
    pocket = run.invoke(from_stash, [str(folder), "--piece", "pocket", "--json"])
    rows = json.loads(pocket.stdout)["remnants"]
    assert [(r["fabric"], r["remnant"], r["lay"]["answer"]) for r in rows] == [("one", "corner", "yes")]
    nothing = run.invoke(from_stash, [str(folder), "--piece", "hood", "--json"])
    assert isinstance(nothing.exception, InputError)
    sizes = run.invoke(from_stash, [str(folder), "--sizes", "--json"])
    assert sizes.exit_code == 1  # of the other cloth there is nothing
    assert {s["answer"] for s in json.loads(sizes.stdout)["sizes"]} == {"no"}
    asked = run.invoke(from_stash, [str(folder), "--enough", "--time", "1", "--out", str(tmp_path / "o"), "--json"])
    answer = json.loads(asked.stdout)
    assert asked.exit_code == 1
    assert answer["enough"] is False
    assert answer["lays"]["two"]["answer"] == "no"


def test_which_size_still_fits(tunic: Any, tmp_path: Any) -> None:
    project, folder = tunic
    sized = [replace(p, size="10") for p in journey.pieces_of(project, folder)]
    target = tmp_path / "sized.svg"
    target.write_text(write_pieces(sized), encoding="utf-8")
    changed, _ = journey.put_pieces(folder, project, target)
    try:
        wide = Known(2000.0, "mm", Origin.MEASURED)
        cloth = tuple(
            replace(f, usable_width=wide, length_left=Known(3000.0, "mm", Origin.MEASURED)) for f in project.fabrics
        )
        found = stash_designs.sizes_that_fit(replace(changed, fabrics=cloth), folder, "A", time_s=1.0)
        assert {size: f.answer for size, f in found.items()} == {"10": Answer.YES}
        target.write_text(write_pieces([replace(p, size="") for p in sized]), encoding="utf-8")
        changed, _ = journey.put_pieces(folder, project, target)
        with pytest.raises(ProjectError, match="sizes"):
            stash_designs.sizes_that_fit(changed, folder, "A")
    finally:
        journey.put_pieces(folder, project, choir.PIECES)
