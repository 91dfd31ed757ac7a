from dataclasses import replace

import cv2
import numpy as np
import pytest
from covered import coverage
from hypothesis import given, settings
from hypothesis import strategies as st

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.stylelines import presets
from mockup.stylelines.cost import NO_SEAM, cost
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError

calm = settings(deadline=None, max_examples=30)  # the machine may be busy


def ids(panels, view="front"):
    return [p.id for p in panels[view]]


def area(panel) -> float:
    return abs(paths.signed_area(paths.from_tuples(panel.outline))) - sum(
        abs(paths.signed_area(paths.from_tuples(h))) for h in panel.holes
    )


def test_a_garment_without_lines_has_its_areas_as_panels(front, back):
    found = garment_panels([front, back], [])
    assert [(p.id, p.number) for p in found["front"]] == [
        ("front-1", 1), ("sleeve-1L", 2), ("sleeve-1R", 2), ("pocket-1L", 3), ("pocket-1R", 3),
    ]  # fmt: skip
    assert [(p.id, p.number) for p in found["back"]] == [("sleeve-1L", 2), ("sleeve-1R", 2), ("back-1", 4)]
    assert [p.name for p in found["front"]][:2] == ["front", "sleeve"]


def test_twins_share_a_number_and_know_each_other(front):
    found = garment_panels([front], presets.side_panel(front, 60, 90))["front"]
    left, right = (next(p for p in found if p.id == f"front-2{side}") for side in "LR")
    assert left.number == right.number == 2
    assert (left.side, right.side) == ("left", "right")
    assert (left.twin, right.twin) == (right.id, left.id)
    assert left.name == right.name == "front side panel"
    # the wearer's left is at the picture's right in front
    assert left.outline[0][0][0] > front.mirror_x > right.outline[0][0][0]
    assert area(left) == pytest.approx(area(right))
    assert next(p for p in found if p.id == "front-1").twin is None


def test_at_the_back_the_wearers_left_is_the_pictures_left(back):
    found = garment_panels([back], presets.side_panel(back, 60, 90))["back"]
    assert next(p for p in found if p.id == "back-2L").outline[0][0][0] < back.mirror_x


def test_an_asymmetrical_line_makes_no_twins(front):
    lines = [*presets.diagonal(front, 100, 200), *presets.yoke(front, 120, first=5)]
    found = garment_panels([front], lines)["front"]
    body = [p for p in found if p.part == "body"]
    assert [p.id for p in body] == ["front-1", "front-2", "front-3", "front-4"]
    assert all(p.side is None and p.twin is None for p in body)


def test_side_panels_of_different_width_are_no_twins(front):
    left, right = presets.side_panel(front, 60, 90)
    right = replace(right, end=replace(right.end, distance_mm=91))
    found = garment_panels([front], [left, right])["front"]
    assert [p.id for p in found if p.part == "body"] == ["front-1", "front-2", "front-3"]


def test_a_pair_drawn_the_other_way_round_is_a_pair(front):
    left, right = presets.side_panel(front, 60, 90)
    right = replace(right, start=right.end, end=right.start)
    assert "front-2R" in ids(garment_panels([front], [left, right]))


def test_a_new_line_in_front_renames_nothing_at_the_back(front, back):
    lines = list(presets.hem_band(back, 80, first=7))
    before = garment_panels([front, back], lines)["back"]
    after = garment_panels([front, back], [*lines, *presets.yoke(front, 90)])["back"]
    assert [p.id for p in before] == [p.id for p in after]
    assert [p.number for p in before] != [p.number for p in after]


def test_numbers_run_over_the_whole_garment(front, back):
    lines = [*presets.yoke(front, 90), *presets.hem_band(back, 80, first=7)]
    found = garment_panels([front, back], lines)
    by_id = {p.id: p.number for view in found.values() for p in view}
    assert by_id == {
        "front-1": 1, "front-2": 2, "sleeve-1L": 3, "sleeve-1R": 3, "pocket-1L": 4, "pocket-1R": 4, "back-1": 5,
        "back-2": 6,
    }  # fmt: skip
    names = {p.id: p.name for view in found.values() for p in view}
    assert (names["front-1"], names["back-2"]) == ("front yoke", "back hem band")


@calm
@given(st.floats(20, 150), st.floats(30, 200), st.floats(30, 350))
def test_ids_hold_while_lines_are_dragged(front, up, hem, low):
    lines = [*presets.side_panel(front, up, hem), *presets.hem_band(front, low, first=3)]
    found = garment_panels([front], lines)["front"]
    body = {p.id: p for p in found if p.part == "body"}
    assert list(body) == ["front-1", "front-2L", "front-2R", "front-3L", "front-3R", "front-4"]
    assert body["front-4"].name == body["front-3L"].name.replace("3", "4")
    foot = {i: max(y for c in p.outline for _, y in c) for i, p in body.items()}
    assert foot["front-1"] < foot["front-4"]
    assert foot["front-2L"] < foot["front-3L"]


def test_dragging_across_the_whole_range_never_swaps_two_panels(front):
    """The middle of every panel stays in the panel of the same id from one step of a drag to the next."""
    last = None
    for hem in np.linspace(30, 280, 26):
        found = garment_panels([front], presets.princess(front, 90, float(hem)))["front"]
        shapes = {p.id: np.mean(np.array(p.outline)[:, 0], axis=0) for p in found if p.part == "body"}
        assert list(shapes) == ["front-1", "front-2L", "front-2R"]
        if last is not None:
            assert max(np.hypot(*(shapes[i] - last[i])) for i in shapes) < 30
        last = shapes


def test_the_areas_of_the_panels_are_the_body(front):
    whole = garment_panels([front], [])["front"][0]
    lines = [*presets.princess(front, 60, 90), *presets.band(front, 60, 60, first=5)]
    body = [p for p in garment_panels([front], lines)["front"] if p.part == "body"]
    assert len(body) == 9
    assert sum(area(p) for p in body) == pytest.approx(area(whole), rel=1e-9)


def test_shares_are_of_the_visible_cloth(front, back):
    found = garment_panels([front, back], presets.yoke(front, 90))
    by_id = {p.id: p.share for view in found.values() for p in view}
    assert sum(by_id.values()) == pytest.approx(1, abs=1e-9)
    # the pockets, 140 × 150 mm each, cover the body
    whole = garment_panels([front], [])["front"]
    sizes = {p.id: area(p) * front.mm_per_px**2 for p in whole}
    total = sizes["front-1"] + sizes["sleeve-1L"] * 2
    assert {p.id: p.share for p in whole}["front-1"] == pytest.approx((sizes["front-1"] - 2 * 21000) / total, rel=1e-4)


def test_a_photo_has_the_panels_of_the_drawing(front, back, photo):
    lines = [*presets.yoke(front, 120), *presets.princess(front, 170, 90, first=2)]
    found = garment_panels([front, photo, back], lines)
    drawn = {p.id: p for p in found["front"] if p.part == "body"}
    seen = {p.id: p for p in found["photo"] if p.part == "body"}
    assert set(seen) == set(drawn)
    for i, p in seen.items():
        assert (p.number, p.share, p.name, p.side) == (drawn[i].number, drawn[i].share, drawn[i].name, drawn[i].side)
        assert p.view == "photo"


def test_an_enclosed_line_makes_a_panel_and_a_hole(front):
    ring = StyleLine(
        "line-1", "medallion", "front", LineKind.CURVE, End("centre-front", "neck", 60),
        End("centre-front", "neck", 200), through=((0.25, 0.75), (0.25, 0.62)), symmetric=True,
    )  # fmt: skip
    found = [p for p in garment_panels([front], [ring])["front"] if p.part == "body"]
    assert [p.id for p in found] == ["front-1", "front-2"]
    assert [len(p.holes) for p in found] == [1, 0]
    assert found[1].twin is None


def test_a_line_that_cannot_be_cut_is_named(front):
    a = presets.yoke(front, 90)[0]
    b = replace(a, id="line-2", name="second yoke")
    with pytest.raises(GeometryError, match="yoke"):
        garment_panels([front], [a, b])


# masks


def labels_of(view):
    """Draw the label picture by OpenCV: body first, what lies on it after."""
    picture = np.zeros((view.size[1], view.size[0]), dtype=np.uint16)
    for a in view.areas:
        flat = paths.flatten(paths.from_tuples(a.outline), 0.1).points
        cv2.fillPoly(picture, [np.round(flat - 0.5).astype(np.int32)], a.label)
    return picture


def test_masks_sum_to_one_inside_an_area_and_nothing_outside(front):
    labels = labels_of(front)
    lines = [*presets.princess(front, 60, 90), *presets.band(front, 60, 60, first=5)]
    panels = garment_panels([front], lines)["front"]
    masks = panel_masks(front, panels, labels)
    for a in front.areas:
        total = np.sum([masks[p.id] for p in panels if p.area == a.id], axis=0)
        inside = labels == a.label
        assert np.abs(total[inside] - 1).max() < 1e-5
        assert total[~inside].max() == 0
    for p in panels:
        assert masks[p.id].dtype == np.float32
        assert 0 <= masks[p.id].min() <= masks[p.id].max() <= 1 + 1e-6


def test_masks_have_the_size_of_the_panels(front):
    panels = garment_panels([front], presets.diagonal(front, 100, 200))["front"]
    masks = panel_masks(front, panels)
    pockets = sum(area(p) for p in panels if p.part == "pocket")
    body = [p for p in panels if p.part == "body"]
    assert sum(float(masks[p.id].sum(dtype=float)) for p in body) == pytest.approx(
        sum(area(p) for p in body) - pockets, rel=4e-4
    )
    assert float(masks["pocket-1L"].sum(dtype=float)) == pytest.approx(area(panels[-1]), rel=1e-5)


def test_borders_are_soft_and_leave_no_gap(front):
    labels = labels_of(front)
    panels = garment_panels([front], presets.diagonal(front, 100, 200))["front"]
    masks = panel_masks(front, panels, labels)
    a, b = masks["front-1"], masks["front-2"]
    soft = (a > 0.01) & (a < 0.99)
    assert soft.sum() > 250
    assert np.abs((a + b)[soft] - 1).max() < 1e-5


def test_smaller_masks_are_the_same_picture_smaller(front):
    labels = labels_of(front)
    panels = garment_panels([front], presets.diagonal(front, 100, 200))["front"]
    small = (front.size[0] // 4, front.size[1] // 4)
    whole, quarter = panel_masks(front, panels, labels), panel_masks(front, panels, labels, small)
    for i in whole:
        assert quarter[i].shape == (small[1], small[0])
        assert np.abs(cv2.resize(whole[i], small, interpolation=cv2.INTER_AREA) - quarter[i]).mean() < 2e-3


def test_pixels_that_the_outline_misses_go_to_the_nearest_panel(front):
    labels = labels_of(front)
    wide = cv2.dilate((labels == 1).astype(np.uint8), np.ones((9, 9), np.uint8)).astype(bool) & (labels == 0)
    labels[wide] = 1
    panels = garment_panels([front], presets.yoke(front, 100))["front"]
    masks = panel_masks(front, panels, labels)
    total = masks["front-1"] + masks["front-2"]
    assert np.abs(total[labels == 1] - 1).max() < 1e-5
    y = np.nonzero(wide)[0]
    rows = {i: np.average(y, weights=masks[i][wide] + 1e-12) for i in ("front-1", "front-2")}
    assert rows["front-1"] < rows["front-2"]


@pytest.mark.parametrize("size", [(40, 40), (25, 33)])
def test_coverage_against_sixteen_times_oversampling(size):
    ring = [circular_arc((18.3, 19.1), 16.2, 0, 360), circular_arc((16, 20), 7.7, 360, 0)]
    grid = (np.arange(40 * 16) + 0.5) / 16
    x, y = np.meshgrid(grid[: size[0] * 16], grid[: size[1] * 16])
    inside = ((x - 18.3) ** 2 + (y - 19.1) ** 2 < 16.2**2) & ((x - 16) ** 2 + (y - 20) ** 2 > 7.7**2)
    many = inside.reshape(size[1], 16, size[0], 16).mean(axis=(1, 3))
    assert np.abs(coverage(ring, size) - many).max() < 0.06
    assert np.abs(coverage(ring, size) - many).mean() < 1.5e-3


@calm
@given(st.lists(st.tuples(st.floats(-20, 60), st.floats(-20, 60)), min_size=3, max_size=3, unique=True))
def test_two_halves_cover_exactly_the_whole(points):
    a, b = np.array([0.0, 0.0]), np.array([40.0, 30.0])
    c = points[0]
    whole = paths.polyline([(0, 0), (40, 0), (40, 30), (0, 30)], close=True)
    upper = paths.polyline([a, (40, 0), b], close=True)
    lower = paths.polyline([b, (0, 30), a], close=True)
    total = coverage([upper], (40, 30)) + coverage([lower], (40, 30))
    assert total == pytest.approx(coverage([whole], (40, 30)), abs=1e-6)
    triangle = paths.polyline([a, b, c], close=True) if tuple(c) not in {(0, 0), (40, 30)} else whole
    assert coverage([triangle], (40, 30)).min() >= 0


def test_nothing_in_the_picture_covers_nothing():
    assert coverage([circular_arc((100, 100), 5, 0, 360)], (20, 20)).sum() == 0


def test_cost_of_a_line():
    # a 500 mm line with 10 mm allowance takes 100 cm² of cloth
    found = cost(paths.polyline([(0, 0), (500, 0)]), 10)
    assert (found.seams, found.seam_cm, found.cloth_cm2) == (1, pytest.approx(50), pytest.approx(100))
    both = sum([found, found], NO_SEAM)
    assert (both.seams, both.cloth_cm2) == (2, pytest.approx(200))
