"""A lay begun by hand is finished round what lies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mockup.lay.exact import faults
from mockup.lay.finish import finish
from mockup.lay.lay import Answer, LayPiece, Placement, Scrap, missing
from swatches.errors import InputError

WEDGE = ((0.0, 0.0), (200.0, 0.0), (120.0, 90.0), (0.0, 100.0))
PIECES = (
    LayPiece("1 wedge", WEDGE, count=4, mirror=True, grain_deg=5.0),
    LayPiece("2 band", ((0.0, 0.0), (300.0, 0.0), (300.0, 60.0), (0.0, 60.0)), count=2),
)
SCRAP = Scrap("rest", ((0.0, 0.0), (700.0, 0.0), (700.0, 500.0), (0.0, 500.0)), grain_deg=0.0)


def test_what_lies_stays_and_the_rest_comes_round_it() -> None:
    fixed = (
        Placement("1 wedge", "rest", True, 5.0, 400.0, 200.0),
        Placement("2 band", "rest", False, 180.0, 690.0, 480.0),
    )
    by_name = {p.name: p for p in PIECES}
    assert faults(by_name, {"rest": SCRAP}, fixed, clearance_mm=2) == []
    found = finish(PIECES, [SCRAP], fixed, time_s=5)
    assert found.answer is Answer.YES
    assert found.placements[:2] == fixed
    assert missing(PIECES, found.placements) == ()
    assert sorted(p.mirrored for p in found.placements if p.piece == "1 wedge") == [False, False, True, True]
    assert faults(by_name, {"rest": SCRAP}, found.placements, clearance_mm=2) == []
    again = finish(PIECES, [SCRAP], found.placements, time_s=1)
    assert again.placements == found.placements


def test_a_bad_begin_is_refused_and_a_hopeless_one_told() -> None:
    over = Placement("2 band", "rest", False, 0.0, 500.0, 0.0)
    with pytest.raises(InputError, match="reaches over the edge"):
        finish(PIECES, [SCRAP], [over])
    three = [Placement("2 band", "rest", False, 0.0, 0.0, 100.0 * k) for k in range(3)]
    with pytest.raises(InputError, match="one more"):
        finish(PIECES, [SCRAP], three)
    with pytest.raises(InputError, match="Take that piece off"):
        finish(PIECES, [SCRAP], [replace(over, remnant="gone")])
    narrow = Scrap("rest", ((0.0, 0.0), (310.0, 0.0), (310.0, 70.0), (0.0, 70.0)))
    bands = [replace(PIECES[1])]
    hopeless = finish(bands, [narrow], [Placement("2 band", "rest", False, 0.0, 5.0, 5.0)], time_s=1)
    assert hopeless.answer is Answer.NO
    assert "Round what lies already" in hopeless.proof
    assert len(hopeless.placements) == 1
