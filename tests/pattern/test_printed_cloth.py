"""A print laid in the picture is found again on the piece: its repeat's start, its grain, and twins as a pair."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tunic import SX, SY, half, sleeve, view

from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.pattern.printed_cloth import KIND, cut_alike, start_near, turned_grain
from mockup.sheets.piece_label import label_rows
from mockup.split.split import LaidPrint, Split, SplitPanel


def with_laid(laid: LaidPrint | None, **changes: object) -> Split:
    shown = view(half(), sx=SX, sy=SY)
    panel = replace(shown.panels[0], laid=laid, **changes)
    return Split((replace(shown, panels=(panel,)),))


def crosses(piece):
    """Where the two arms of each cross meet."""
    marks = [m for m in piece.marks if m.kind == KIND]
    assert len(marks) % 2 == 0
    found = []
    for along, across in zip(marks[::2], marks[1::2], strict=True):
        middle = (across.path.start + across.path.end) / 2
        assert paths.bounds(along.path)[0] - 1e-9 <= middle[0] <= paths.bounds(along.path)[2] + 1e-9
        found.append(middle)
    return found


def test_nobody_laid_it_and_nothing_is_marked() -> None:
    found = apply_split([half()], with_laid(None))
    assert found.pieces[0].marks == ()


@pytest.mark.parametrize("grain", [0.0, 30.0])
def test_the_cross_is_a_place_where_the_repeat_starts_seen_from_the_picture(grain: float) -> None:
    """The view is the piece scaled by SX, SY: so the cross, scaled, must lie on the lattice of starts."""
    laid = LaidPrint((13.0, -7.0), grain, False, (40.0, 60.0))
    piece = apply_split([half()], with_laid(laid)).pieces[0]
    (cross,) = crosses(piece)
    seen = cross * [SX, SY]
    turn = np.deg2rad(grain)
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    steps = axes @ (seen - laid.start) / np.array(laid.repeat_mm)
    assert np.abs(steps - np.rint(steps)).max() < 0.02
    x0, y0, x1, y1 = paths.bounds(piece.outline)
    assert x0 < cross[0] < x1
    assert y0 < cross[1] < y1
    tail, head = (np.array(p) for p in piece.grainline)
    assert np.degrees(np.arctan2(-(head - tail)[0], (head - tail)[1])) == pytest.approx(grain)


def test_without_a_repeat_the_start_itself_is_marked_or_said_to_be_beside() -> None:
    inside = apply_split([half()], with_laid(LaidPrint((106.0, 190.0))))
    assert crosses(inside.pieces[0])[0] == pytest.approx([100.0, 200.0], abs=1.0)  # 106 / SX, 190 / SY
    beside = apply_split([half()], with_laid(LaidPrint((5000.0, 0.0))))
    assert crosses(beside.pieces[0]) == []
    assert any("starts beside it" in w for w in beside.warnings)


def test_on_the_fold_it_says_when_the_print_cannot_run_on_over_the_middle() -> None:
    def said(laid: LaidPrint) -> bool:
        return any("cut on the fold" in w for w in apply_split([half()], with_laid(laid)).warnings)

    assert said(LaidPrint((7.0, 0.0), repeat_mm=(40.0, 60.0)))
    assert said(LaidPrint((0.0, 0.0), 30.0, repeat_mm=(40.0, 60.0)))
    assert not said(LaidPrint((0.0, 0.0), repeat_mm=(40.0, 60.0)))
    assert not said(LaidPrint((20.0, 0.0), repeat_mm=(40.0, 60.0)))  # the middle of a repeat is as good
    assert not said(LaidPrint((0.0, 30.0), 90.0, repeat_mm=(40.0, 60.0)))


def test_a_piece_that_the_picture_is_not_matched_to_says_so() -> None:
    shown = view(half(), sx=SX, sy=SY)
    outline = shown.panels[0].outline
    sleeves = tuple(
        SplitPanel(f"sleeve-{side}", "sleeve", outline, "cloth", 9, side, "sleeve", laid)
        for side, laid in (("left", LaidPrint((10, 0), 45.0, False)), ("right", LaidPrint((-10, 0), -45.0, True)))
    )
    found = apply_split([half(), sleeve()], Split((replace(shown, panels=(*shown.panels, *sleeves)),)))
    made = [p for p in found.pieces if p.area == "sleeve"]
    assert len(made) == 1  # still a pair: the prints are each other's image
    (x0, y0), (x1, y1) = made[0].grainline
    assert abs(x1 - x0) == pytest.approx(abs(y1 - y0))
    assert any("seen in the picture only" in w for w in found.warnings)
    lone = replace(sleeves[1], laid=LaidPrint((25, 0), -45.0, True))
    apart = apply_split([half(), sleeve()], Split((replace(shown, panels=(*shown.panels, sleeves[0], lone)),)))
    assert sorted(p.side for p in apart.pieces if p.area == "sleeve") == ["left", "right"]


def test_twins_are_a_pair_only_when_their_prints_are_images() -> None:
    def panel(laid: LaidPrint | None, fabric: str = "a") -> SplitPanel:
        return SplitPanel("p", "p", (), fabric, laid=laid)

    left = panel(LaidPrint((30, 5), 10, False))
    assert cut_alike(left, panel(LaidPrint((-30, 5), -10, True)), 0.0)
    assert cut_alike(left, panel(LaidPrint((-10, 5), -10, True)), 10.0)
    assert not cut_alike(left, panel(LaidPrint((-30, 5), -10, False)), 0.0)
    assert not cut_alike(left, panel(LaidPrint((-30, 6), -10, True)), 0.0)
    assert not cut_alike(left, panel(LaidPrint((-30, 5), 10, True)), 0.0)
    assert not cut_alike(left, panel(None), 0.0)
    assert not cut_alike(left, panel(LaidPrint((-30, 5), -10, True), "b"), 0.0)
    assert cut_alike(panel(None), panel(None), 0.0)


def test_the_nearest_start_and_a_turned_grain() -> None:
    laid = LaidPrint((1.0, 2.0), 90.0, repeat_mm=(10.0, 0.0))  # across the cloth runs up; nothing repeats along it
    assert start_near(laid, np.array([500.0, 38.0])) == pytest.approx([1.0, 42.0])
    piece = half()
    assert turned_grain(piece, 0.0) is piece
    (x0, y0), (x1, y1) = turned_grain(piece, 90.0).grainline
    assert (y0, x0 - x1) == pytest.approx((y1, 400.0))  # the head, which was above, points left: counter-clockwise


def test_the_printed_label_says_where_the_print_starts() -> None:
    piece = apply_split([half()], with_laid(LaidPrint((0.0, 0.0), 0.0, True, (40.0, 60.0)))).pieces[0]
    rows = [row[0] for row in label_rows(piece, None, "")]
    assert "print starts at the cross, mirrored, long arm upward" in rows
    assert not any("cross" in row[0] for row in label_rows(half(), None, ""))
