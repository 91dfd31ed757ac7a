"""After cutting, the garment's cloth and the same cloth in the store are smaller."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from mockup.lay.lay import LayPiece, Placement
from mockup.lay.stock import ROLL
from swatches.cloth import plain
from swatches.fabric import Fabric, Known, Origin, Remnant
from swatches.stash import Stash
from ui.questions.lay_cut import use_in_store, used_up

SHEET = ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0))
BAND = LayPiece("band", ((0.0, 0.0), (30.0, 0.0), (30.0, 300.0), (0.0, 300.0)), count=3)


def cloth() -> Fabric:
    known = Known(1000.0, "mm", Origin.MEASURED)
    remnants = (Remnant("sheet", SHEET, SHEET, grain_deg=0.0), Remnant("other", SHEET, SHEET))
    return replace(plain("blue", "blue", "#336699"), remnants=remnants, length_left=known, usable_width=known)


CUT = (
    Placement("band", "sheet", False, 0.0, 180.0, 0.0),
    Placement("band", ROLL, False, 0.0, 10.0, 50.0),
)


def test_a_remnant_comes_apart_and_the_roll_gets_shorter() -> None:
    after = used_up(cloth(), [BAND], CUT)
    assert [r.name for r in after.remnants] == ["sheet 1", "sheet 2", "other"]
    # by hand: 400 × 300 without 30 × 300, in parts of 180 and 190 mm
    assert [Polygon(r.outline).area for r in after.remnants[:2]] == pytest.approx([190 * 300, 180 * 300])
    assert after.length_left.value == 650.0  # the piece on the roll ended at 50 + 300


def test_the_same_cloth_in_the_store_is_used_up_too_and_undo_brings_it_back(tmp_path: Path) -> None:
    assert not use_in_store(tmp_path / "none", cloth(), [BAND], CUT)
    with Stash(tmp_path) as stash:
        there = stash.add(cloth())
    assert use_in_store(tmp_path, cloth(), [BAND], CUT)
    with Stash(tmp_path) as stash:
        assert [r.name for r in stash.fabric(there.id).remnants] == ["sheet 1", "sheet 2", "other"]
        assert stash.undo() == "cut from blue"
        assert stash.fabric(there.id) == there
    assert not use_in_store(tmp_path, replace(cloth(), name="red"), [BAND], CUT)
    gone = [replace(CUT[0], remnant="ribbon")]
    assert not use_in_store(tmp_path, cloth(), [BAND], gone)
