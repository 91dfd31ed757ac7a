from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockup.stylelines import anchor, edges, presets
from mockup.stylelines.carry import carry, keep_together, seam_miss
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError

calm = settings(deadline=None)  # the machine may be busy

SWOOP = StyleLine(
    "line-1", "swoop", "front", LineKind.CURVE, End("side", "underarm", 90, "left"), End("side", "hem", 120, "right"),
    through=((0.3, 0.45), (-0.4, 0.4)),
)  # fmt: skip


def test_a_curve_carried_to_the_back_is_its_mirror_image_in_the_picture(front, back):
    carried = carry(SWOOP, [SWOOP], "back", (front, back))
    assert (carried.id, carried.side, carried.carries) == ("line-2", "back", "line-1")
    one, other = anchor.place_line(SWOOP, front), anchor.place_line(carried, back)
    # the wearer's left is at +x in front and at −x at the back
    assert one.start[0] > 0 > other.start[0]
    assert one.start[0] == pytest.approx(-other.start[0])
    assert one.end[0] == pytest.approx(-other.end[0])
    # heights above the hem are equal
    for a, b in zip(one.cubics.reshape(-1, 2), other.cubics.reshape(-1, 2), strict=True):
        assert a[1] + 610 == pytest.approx(b[1] + 698, abs=1e-6)


@calm
@given(st.floats(5, 400), st.sampled_from(["underarm", "hem"]), st.sampled_from(["left", "right"]))
def test_front_and_back_meet_at_the_side_seam(front, back, distance, landmark, side):
    line = replace(SWOOP, start=End("side", landmark, distance, side))
    carried = carry(line, [line], "back")
    assert seam_miss(line, carried, front, back) <= 0.01


@calm
@given(st.floats(5, 400))
def test_they_still_meet_after_a_drag(front, back, distance):
    carried = carry(SWOOP, [SWOOP], "back")
    for changed in (SWOOP, carried):
        dragged = replace(changed, start=replace(changed.start, distance_mm=distance))
        lines = keep_together([dragged if x.id == dragged.id else x for x in (SWOOP, carried)], dragged.id)
        assert seam_miss(*lines, front, back) <= 0.01
        assert lines[0].start.distance_mm == lines[1].start.distance_mm == distance
        # its other end is on a shared seam too
        assert lines[0].end == lines[1].end


def test_the_landmark_and_the_typed_words_go_along():
    carried = carry(SWOOP, [SWOOP], "back")
    retyped = replace(SWOOP, start=End("side", "hem", 50.8, "left", text="2 in"))
    assert keep_together([retyped, carried], "line-1")[1].start == retyped.start


def test_a_line_whose_end_is_on_the_seam_is_carried_from_there():
    line = replace(SWOOP, start=End("neck", "neck", 30, "right"), end=End("side", "hem", 120, "left"))
    carried = carry(line, [line], "back")
    assert carried.start == line.end
    assert carried.end == line.start
    assert carried.through == line.through[::-1]


def test_a_symmetrical_line_ends_at_the_same_height(front, back):
    line = presets.hem_band(front, "3 in")[0]
    carried = carry(line, [line], "back", (front, back))
    assert carried.end == End("centre-back", "hem", pytest.approx(76.2), text="3 in")
    yoke = presets.chevron(front, 40, 250)[0]
    carried = carry(yoke, [yoke], "back", (front, back))
    y = edges.end_point(carried.end, back)[1] + 698
    assert y == pytest.approx(610 - 250)


def test_carrying_twice_changes_the_same_line():
    carried = carry(SWOOP, [SWOOP], "back")
    again = carry(replace(SWOOP, name="other"), [SWOOP, carried], "back")
    assert again.id == carried.id
    assert again.name == "other"


def test_a_line_that_meets_no_shared_seam_is_copied_and_left_alone():
    line = StyleLine(
        "line-1", "yoke", "front", LineKind.STRAIGHT, End("armhole", "shoulder", 80), End("centre-front", "neck", 20),
        symmetric=True,
    )  # fmt: skip
    carried = carry(line, [line], "back")
    assert carried.carries == ""
    moved = replace(line, start=replace(line.start, distance_mm=99))
    assert keep_together([moved, carried], "line-1") == (moved, carried)


def test_only_to_the_other_side():
    with pytest.raises(
        GeometryError, match=r"expected the other side of the garment, got front\. Carry it to the back"
    ):
        carry(SWOOP, [SWOOP], "front")


def test_the_shared_seams_are_equally_long_on_both_sides(front, back):
    for name in ("side", "shoulder"):
        for side in ("left", "right"):
            assert edges.edge_length(front, name, side) == pytest.approx(edges.edge_length(back, name, side))
