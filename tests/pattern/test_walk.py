"""Walking the seams."""

import dataclasses

import pytest
from tunic import half, level_line, sleeve, split_of, view

from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.piece import Notch
from mockup.pattern.unfold import unfold
from mockup.pattern.walk import seam_letters, walk


def test_a_cut_differs_by_nothing():
    # a cut made by this tool differs by 0.
    found = walk(cut_piece(half(), [CutLine("l", "band", paths.polyline([(-5, 200), (300, 200)]))], 15).children)
    (row,) = found.rows
    assert row.one == ("front 1:band",)
    assert row.other == ("front 2:band",)
    assert row.difference_mm == pytest.approx(0, abs=1e-9)
    assert row.notches_apart_mm == pytest.approx(0, abs=1e-9)
    assert all("not among the pieces" in u for u in found.unmatched)


def test_the_tunic_walks():
    found = walk([half("front"), half("back"), sleeve()])
    rows = {row.one[0]: row for row in found.rows}
    assert rows["front:side"].difference_mm == pytest.approx(0, abs=1e-9)
    assert rows["front:shoulder"].difference_mm == pytest.approx(0, abs=1e-9)
    armhole = rows["front:armhole"]
    assert armhole.other == ("sleeve:cap-front",)
    expected = abs(paths.length(half().edge("armhole").path) - paths.length(sleeve().edge("cap-front").path))
    assert armhole.difference_mm == pytest.approx(expected)
    eased = walk([half("front"), half("back"), sleeve()], {"sleeve:cap-front": expected + 1})
    assert next(r for r in eased.rows if r.one == ("front:armhole",)).difference_mm == 0
    assert found.worst_mm >= expected


def test_one_edge_may_be_sewn_to_several():
    front, back = half("front"), half("back")
    cut = apply_split([front, back], split_of(view(front, [level_line(front, 200)])))
    row = next(r for r in walk(cut.pieces).rows if any(k.endswith(":side") for k in r.one))
    sides = {len(row.one), len(row.other)}
    assert sides == {1, 2}
    assert row.difference_mm == pytest.approx(0, abs=1e-9)


def test_notches_that_do_not_meet_are_measured():
    front = half("front").with_(notches=(Notch("side", 100.0),))
    back = half("back").with_(notches=(Notch("side", 103.0, 2),))
    row = next(r for r in walk([front, back]).rows if r.one == ("front:side",))
    assert row.notches_apart_mm == pytest.approx(3.0)
    missing = walk([front, back.with_(notches=())])
    assert next(r for r in missing.rows if r.one == ("front:side",)).notches_apart_mm is None


def test_a_mate_that_is_not_there_is_said():
    lone = half("front")
    lone = lone.with_(
        edges=tuple(dataclasses.replace(e, mate="collar:neck" if e.name == "neck" else "") for e in lone.edges)
    )
    found = walk([lone])
    assert found.rows == ()
    assert found.unmatched == ("front:neck is sewn to collar:neck, which is not among the pieces.",)


def test_a_single_piece_meets_both_copies_of_a_folded_one():
    front = unfold(half("front"))
    row = next(r for r in walk([front, half("back")]).rows if "back:side" in (*r.one, *r.other))
    assert {*row.one, *row.other} == {"front:side-left", "front:side-right", "back:side"}
    assert row.difference_mm == pytest.approx(0, abs=1e-9)
    assert row.one_mm == pytest.approx(2 * paths.length(half().edge("side").path))


def test_both_sides_of_a_seam_carry_one_letter():
    pieces = [half("front"), half("back"), sleeve()]
    letters = seam_letters(pieces)
    assert letters["front:side"] == letters["back:side"] == "a"
    assert letters["front:armhole"] == letters["sleeve:cap-front"] == "b"
    assert "front:hem" not in letters
    assert len(set(letters.values())) == len(walk(pieces).rows)
