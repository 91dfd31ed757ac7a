"""A picture with a seam that the pattern does not have: what falls into one cut piece, and what is said of it."""

from dataclasses import replace

import pytest
from tunic import half, level_line, side_lines, split_of, view

from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.split.split import SplitPanel

FRONT = half("front")


def seamed(up=200.0, **changes):
    """The front's view with panels above and below a level seam, which is no line."""
    return replace(view(FRONT, [level_line(FRONT, up, 1.05, 0.97)], sx=1.05, sy=0.97, **changes), lines=())


def test_two_cloths_in_one_piece_are_said_with_their_numbers():
    cut = apply_split([FRONT], split_of(seamed()))
    (piece,) = cut.pieces
    (found,) = cut.shared
    assert (found.name, found.number) == (piece.name, piece.number)
    assert sorted(found.panels) == ["front-1", "front-2"]
    (said,) = [w for w in cut.warnings if "not in your pattern" in w]
    assert "between panels 1 and 2" in said
    assert f"piece {piece.number} ({piece.name}) would be one cloth where the picture has two" in said


def test_one_cloth_on_both_needs_no_word():
    cut = apply_split([FRONT], split_of(seamed(fabrics={1: "wool", 2: "wool"})))
    assert not [w for w in cut.warnings if "not in your pattern" in w]
    assert len(cut.shared) == 1  # another choice of cloth may differ


@pytest.mark.parametrize("up", [40.0, 200.0, 380.0])
def test_a_seam_that_is_a_line_is_cut(up):
    line = level_line(FRONT, up, 1.05, 0.97)
    cut = apply_split([FRONT], split_of(view(FRONT, [line], sx=1.05, sy=0.97)))
    assert cut.shared == ()
    assert cut.warnings == ()


def test_of_three_panels_the_one_behind_a_line_is_left_out():
    line, seam = level_line(FRONT, 120, 1.05, 0.97), level_line(FRONT, 330, 1.05, 0.97)
    shown = view(FRONT, [line, replace(seam, id="line-2", name="waist")], sx=1.05, sy=0.97)
    cut = apply_split([FRONT], split_of(replace(shown, lines=(line,))))
    assert [set(found.panels) for found in cut.shared] == [{"front-2", "front-3"}]


def test_side_panels_of_two_cloths_are_pieces_of_their_own():
    cut = apply_split([FRONT], split_of(view(FRONT, side_lines(FRONT))))
    assert cut.shared == ()


def test_left_and_right_of_two_cloths_in_a_piece_on_the_fold():
    outline = paths.from_tuples(view(FRONT).outline)
    x0, y0, x1, y1 = paths.bounds(outline)
    halves = tuple(
        SplitPanel(f"front-1{letter}", "front", paths.polyline(box, close=True).to_tuples(), cloth, 1, side)
        for letter, side, cloth, box in (
            ("L", "left", "wool", [(0, y0), (x1, y0), (x1, y1), (0, y1)]),
            ("R", "right", "linen", [(x0, y0), (0, y0), (0, y1), (x0, y1)]),
        )
    )
    cut = apply_split([FRONT], split_of(replace(view(FRONT), panels=halves)))
    assert any("between panels 1, left and right, is not in your pattern" in w for w in cut.warnings)
