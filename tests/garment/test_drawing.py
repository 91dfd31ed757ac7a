"""Drawings → views: parts, twins, landmarks and edges, against the generator's truth and the choir's own draft."""

from functools import cache

import cv2
import numpy as np
import pytest
from random_drawings import bezier, flip, random_drawing
from random_drawings import line as straight
from sewn_garments import Sewn, both, over

from mockup.garment.drawing import view_from_drawing
from mockup.garment.landmarks import missing_points, move_landmark, with_landmarks
from mockup.garment.picture_svg import read_svg_drawing
from mockup.garment.scale import measures, set_measure
from mockup.garment.symmetry import find_mirror
from mockup.geometry import path as paths
from mockup.geometry.curve import nearest
from mockup.samples import choir
from swatches.errors import GeometryError
from swatches.photo import read_photo

BODY_EDGES = {
    "hem", "neck", "side-left", "side-right", "armhole-left", "armhole-right", "shoulder-left", "shoulder-right",
}  # fmt: skip


def read(drawing, side="front"):
    return view_from_drawing(drawing.picture, name=side, side=side, picture=f"{side}.png")


@cache
def read_tee(seed, side):
    """A random tee and its reading, once for all tests; nobody changes them."""
    drawing = random_drawing(seed, kind="tee", side=side)
    return drawing, read(drawing, side)


@cache
def read_choirs(side, scan=False):
    """The choir's drawing, the exact one or its scan, as it is read."""
    svg, png = (choir.FRONT_SVG, choir.FRONT_PNG) if side == "front" else (choir.BACK_SVG, choir.BACK_PNG)
    source = read_photo(png) if scan else read_svg_drawing(svg)
    return view_from_drawing(source, name=side, side=side, picture="x.png")


@pytest.fixture(scope="module")
def tee():
    return read_tee(11, "front")[0]


@pytest.fixture(scope="module")
def tee_view():
    return read_tee(11, "front")[1]


def test_parts_of_a_tee(tee, tee_view):
    parts = sorted(a.part for a in tee_view.view.areas)
    expected = ["body", "neck-facing", "sleeve", "sleeve", *(n for n in tee.names.values() if n == "pocket")]
    assert parts == sorted(expected)
    assert tee_view.view.areas[0].id == "body"


def test_the_right_of_a_front_is_the_wearers_left(tee_view):
    view = tee_view.view
    middle = view.mirror_x
    left, right = view.area("sleeve-left"), view.area("sleeve-right")
    assert paths.bounds(paths.from_tuples(left.outline))[0] > middle
    assert paths.bounds(paths.from_tuples(right.outline))[2] < middle
    assert view.landmarks["underarm-left"][0] > middle > view.landmarks["underarm-right"][0]


def test_the_right_of_a_back_is_the_wearers_right():
    view = read_tee(11, "back")[1].view
    assert view.landmarks["underarm-right"][0] > view.mirror_x > view.landmarks["underarm-left"][0]
    assert paths.bounds(paths.from_tuples(view.area("sleeve-right").outline))[0] > view.mirror_x


@pytest.mark.parametrize("sleeves", [True, False])
def test_the_shallow_neckline_of_a_back_has_its_neck_points(sleeves):
    """It runs into the shoulder without a corner; the shoulder tip was taken for the neck, or there was no neck."""
    neck, tip, under = (85.0, 0.0), (205.0, 42.0), (240.0, 235.0)
    strokes = [over(bezier([0, 15], [35, 15], [65, 8], neck)), over(straight([0, 680], [235, 680]))]
    strokes += both(straight(neck, tip), bezier(tip, [175, 110], [190, 220], under), straight(under, (235, 680)))
    if sleeves:
        strokes += both(straight(tip, [360, 250]), straight([360, 250], [290, 310]), straight([290, 310], under))
    drawn = Sewn(strokes, {"neck": neck, "shoulder": tip, "underarm": under}, 665.0, ["body"], side="back")
    view = view_from_drawing(drawn.scan(0.8), name="back", side="back", picture="back.png").view
    assert {e.name for e in view.edges} == BODY_EDGES
    for name, at in drawn.points.items():
        assert np.hypot(*(np.array(view.landmarks[f"{name}-right"]) - drawn.to_px([at], 0.8)[0])) < 0.8 * 7, name


@pytest.mark.parametrize("seed", [11, 13])
@pytest.mark.parametrize("side", ["front", "back"])
def test_landmarks_lie_where_they_were_drawn(seed, side):
    drawing, found = read_tee(seed, side)
    view = found.view
    height = drawing.picture.shape[0]
    for name, true in drawing.points.items():
        assert name in view.landmarks, name
        # a neck point lies where three lines run together: neckline, back neck and shoulder; its corner is rounded by
        # the width of the line, 5 px of 1102 here
        limit = 0.009 if name.startswith("neck-") and not name.endswith("centre") else 0.004
        assert np.hypot(*(np.array(true) - view.landmarks[name])) < limit * height, name
    assert {e.name for e in view.edges} == BODY_EDGES


def test_edges_join_to_the_outline_and_run_counter_clockwise(tee_view):
    view = tee_view.view
    for edge, following in zip(view.edges, (*view.edges[1:], view.edges[0]), strict=True):
        assert edge.end == following.start
        assert edge.path[-1][3] == pytest.approx(following.path[0][0], abs=1e-9)
        assert edge.path[0][0] == pytest.approx(view.landmarks[edge.start], abs=1e-9)
    outline = paths.joined([paths.from_tuples(e.path) for e in view.edges])
    assert paths.signed_area(outline) < 0  # y down: counter-clockwise to a person
    assert paths.signed_area(view.path_to_mm(outline)) > 0
    assert paths.signed_area(outline) == pytest.approx(paths.signed_area(paths.from_tuples(view.body.outline)))


def test_a_skirt_has_a_waist_and_no_neck():
    drawing = random_drawing(2, kind="skirt", side="front", gap_count=0.2)
    view = read(drawing).view
    if len([a for a in view.areas if a.part == "area"]) == 0:
        for name in ("waist-left", "waist-right", "hem-left", "hem-right"):
            assert np.hypot(*(np.array(drawing.points[name]) - view.landmarks[name])) < 12, name
    assert "waist-centre" in view.landmarks
    assert not any(k.startswith("neck") for k in view.landmarks)
    assert {e.name for e in view.edges} == {"waist", "hem", "side-left", "side-right"}


@pytest.mark.parametrize(("seed", "kind", "part"), [(401, "skirt", "waistband"), (407, "dress", "bodice")])
def test_what_sits_on_top_of_a_body_is_no_neck_facing(seed, kind, part):
    view = read(random_drawing(seed, kind=kind, side="back", size=900), "back").view
    assert part in {a.part for a in view.found_areas}
    assert "neck-facing" not in {a.part for a in view.areas}


def test_a_trouser_leg_that_reaches_over_the_middle_is_a_leg():
    view = read(random_drawing(203)).view
    assert [a.part for a in view.sections] == ["leg", "leg"]
    assert {a.side for a in view.sections} == {"left", "right"}


# Half of an outline that we drew ourselves, from the waist down and up again to the crotch; the other half mirrors it.
TROUSERS = ((80, 60), (84, 100), (100, 104), (140, 300), (120, 900), (20, 900), (0, 360))
POCKET = ((70, 60), (76, 150), (122, 165))
BIB = ((50, 40), (60, 200), (130, 240), (140, 400), (120, 900), (20, 900), (0, 520))


def on_legs(half, pocket=None):
    """Outline, and where there is one the mouths of its pockets, as polylines in a picture of 600 × 960 px."""
    right, left = ([(300 + turn * x, y) for x, y in half] for turn in (1, -1))
    mouths = [[(300 + turn * x, y) for x, y in pocket] for turn in (1, -1)] if pocket else []
    return [[*right, *left[::-1], right[0]], *mouths]


def both_readings(lines):
    """The same drawing read from SVG and from pixels."""
    drawn = "".join(f'<path d="M{" L".join(f"{x} {y}" for x, y in line)}"/>' for line in lines)
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="600" height="960" fill="none" stroke="#222"'
    svg = f'{head} stroke-width="4">{drawn}</svg>'
    yield view_from_drawing(read_svg_drawing(svg.encode()), name="front", side="front", picture="x.png").view
    picture = np.full((960, 600, 3), 255, np.uint8)
    for line in lines:
        cv2.polylines(picture, [np.array(line, np.int32)], False, (30, 30, 30), 4, cv2.LINE_AA)
    yield view_from_drawing(picture, name="front", side="front", picture="x.png").view


@pytest.mark.parametrize("pocket", [None, POCKET])
def test_trousers_have_a_waist_and_a_crotch_and_neither_neck_nor_shoulder(pocket):
    for view in both_readings(on_legs(TROUSERS, pocket)):
        assert {k.rpartition("-")[0] for k in view.landmarks} == {"waist", "hem"}
        assert view.landmarks["waist-left"] == pytest.approx((300 + (pocket or TROUSERS)[0][0], 60), abs=3)
        assert view.landmarks["hem-left"] == pytest.approx((420, 900), abs=3)
        # The middle of the hem is the crotch; drawn, lines run together up to two of their widths: 8 px, at y = 468.
        assert 357 < view.landmarks["hem-centre"][1] < 470


def test_a_yoke_and_a_seam_down_to_the_crotch_part_trousers_in_two_straight_strokes_each():
    yoke, seam = [(180, 200), (300, 240), (420, 200)], [(300, 60), (300, 240), (300, 360)]
    for view in both_readings([*on_legs(TROUSERS), yoke, seam]):
        assert len(view.found_areas) == 4
        assert {(a.part, a.side) for a in view.sections if a.part == "leg"} == {("leg", "left"), ("leg", "right")}


def test_dungarees_keep_their_top_on_two_legs():
    for view in both_readings(on_legs(BIB)):
        assert view.landmarks["neck-left"] == pytest.approx((350, 40), abs=3)
        assert not any(k.startswith("waist") for k in view.landmarks)


def test_a_sleeveless_top_has_armholes_by_its_corners():
    """A vest in one outline: neck, shoulder, underarm and hem are four corners a side."""
    armhole = bezier([120, 30], [90, 110], [115, 150], [150, 160])
    half = np.concatenate([[[0, 90], [60, 88], [70, 20]], armhole, [[160, 420], [0, 424]]])
    ring = np.concatenate([half, flip(half)[::-1]]) + np.array([300, 60])
    picture = np.full((560, 600), 255, np.uint8)
    cv2.polylines(picture, [ring.astype(np.int32)], True, 0, 2)
    view = view_from_drawing(picture, name="front", side="front", picture="front.png").view
    assert {e.name for e in view.edges} == BODY_EDGES
    assert np.hypot(*(np.array(view.landmarks["underarm-left"]) - [450, 220])) < 4
    assert np.hypot(*(np.array(view.landmarks["shoulder-right"]) - [180, 90])) < 4


def test_a_soft_underarm_without_a_corner_is_found_roughly():
    half = np.array([[0, 90], [60, 60], [70, 20], [120, 30], [112, 90], [150, 160], [160, 420], [0, 424]], float)
    ring = np.concatenate([half, flip(half)[::-1]]) + np.array([300, 60])
    picture = np.full((560, 600), 255, np.uint8)
    cv2.polylines(picture, [ring.astype(np.int32)], True, 0, 2)
    view = view_from_drawing(picture, name="front", side="front", picture="front.png").view
    assert np.hypot(*(np.array(view.landmarks["underarm-left"]) - [450, 220])) < 15


def test_a_blunt_underarm_over_a_flaring_skirt_is_no_shoulder_tip():
    """The way from shoulder tip to hem passes outside of the underarm, which turns by 28 degrees only."""
    armhole = bezier([96, 34], [80, 110], [84, 220], [134, 250])
    half = np.concatenate([[[0, 120], [50, 100], [60, 10]], armhole, [[260, 1100], [0, 1110]]])
    ring = np.concatenate([half, flip(half)[::-1]]) + np.array([320, 60])
    picture = np.full((1240, 640), 255, np.uint8)
    cv2.polylines(picture, [ring.astype(np.int32)], True, 0, 3)
    view = view_from_drawing(picture, name="front", side="front", picture="front.png").view
    assert np.hypot(*(np.array(view.landmarks["shoulder-left"]) - [416, 94])) < 5
    assert np.hypot(*(np.array(view.landmarks["underarm-left"]) - [454, 310])) < 20


def test_a_tilted_drawing_is_straightened():
    drawing = random_drawing(14, kind="tee", side="front", tilt=4.0, size=1100)
    found = read(drawing)
    assert any("straightened" in w for w in found.warnings)
    assert abs(find_mirror(found.labels > 0).tilt_deg) < 0.3
    assert found.picture.shape == drawing.picture.shape
    a, b = found.view.landmarks["underarm-left"], found.view.landmarks["underarm-right"]
    assert abs(a[1] - b[1]) < 0.01 * found.view.size[0]


def test_a_drawing_on_its_side_is_told():
    drawing = random_drawing(16, kind="tee", side="front", size=900)
    found = view_from_drawing(
        np.ascontiguousarray(np.rot90(drawing.picture)), name="front", side="front", picture="front.png"
    )
    assert any("side" in w for w in found.warnings)


def test_a_measure_sets_the_scale_and_the_origin(tee_view):
    view = set_measure(tee_view.view, "centre-front", 500)
    top, hem = view.landmarks["neck-centre"], view.landmarks["hem-centre"]
    assert (hem[1] - top[1]) * view.mm_per_px == pytest.approx(500)
    assert view.scale_measured
    assert view.origin_px == top
    by_edge = set_measure(tee_view.view, "side", 400)
    assert measures(by_edge)["side"] * by_edge.mm_per_px == pytest.approx(400)


@pytest.mark.parametrize(("name", "mm"), [("elbow", 100), ("side", 0), ("side", -5), ("side", float("nan"))])
def test_measures_that_cannot_be(tee_view, name, mm):
    with pytest.raises(GeometryError):
        set_measure(tee_view.view, name, mm)


def test_a_moved_landmark_stays_on_the_outline(tee_view):
    view = tee_view.view
    x, y = view.landmarks["underarm-left"]
    moved = move_landmark(view, "underarm-left", (x + 30, y + 40))
    new = moved.landmarks["underarm-left"]
    assert nearest(paths.from_tuples(view.body.outline), new)[2] < 1e-6
    assert new[1] == pytest.approx(y + 40, abs=8)
    longer = {e.name: paths.length(paths.from_tuples(e.path)) for e in moved.edges}
    shorter = {e.name: paths.length(paths.from_tuples(e.path)) for e in view.edges}
    assert longer["armhole-left"] > shorter["armhole-left"]
    assert sum(longer.values()) == pytest.approx(sum(shorter.values()), rel=1e-6)


def test_a_point_that_was_not_found_is_placed_on_both_sides(tee_view):
    """Where one neck point and no shoulder tip were found, all three can be placed, and armhole and shoulder follow."""
    view = tee_view.view
    kept = {n: p for n, p in view.landmarks.items() if n not in ("neck-left", "shoulder-left", "shoulder-right")}
    bare = with_landmarks(view, kept)
    guessed = missing_points(bare)
    assert set(guessed) == {"neck-left", "shoulder-left", "shoulder-right"}
    assert guessed["shoulder-left"][0] > view.mirror_x > guessed["shoulder-right"][0]  # a front: wearer's left at right
    placed = move_landmark(bare, "neck-left", view.landmarks["neck-left"])
    placed = move_landmark(placed, "shoulder-left", view.landmarks["shoulder-left"])
    assert {e.name for e in placed.edges} == {e.name for e in view.edges}
    assert placed.placed == ("neck-left", "shoulder-left", "shoulder-right")
    for name in ("shoulder-left", "shoulder-right"):
        assert np.hypot(*(np.array(placed.landmarks[name]) - view.landmarks[name])) < 4
    assert missing_points(placed) == missing_points(view) == {}


def test_a_landmark_cannot_pass_its_neighbour(tee_view):
    with pytest.raises(GeometryError, match="order"):
        move_landmark(tee_view.view, "underarm-left", tee_view.view.landmarks["hem-right"])
    with pytest.raises(GeometryError, match="one of"):
        move_landmark(tee_view.view, "knee", (0, 0))


def test_moving_a_middle_moves_the_mirror_line(tee_view):
    view = tee_view.view
    x, y = view.landmarks["neck-centre"]
    moved = move_landmark(view, "neck-centre", (x + 7, y + 100))
    assert moved.mirror_x == pytest.approx(x + 7)
    assert moved.landmarks["neck-centre"][0] == moved.landmarks["hem-centre"][0] == moved.mirror_x


@pytest.mark.parametrize("side", ["front", "back"])
def test_the_choirs_svg_is_read_to_a_tenth_of_a_pixel(side):
    """The drawing is made from the pieces: its outline's corners are numbers in the file."""
    found = read_choirs(side)
    at = {"hem": (1646.3636, 1493.4545), "underarm": (1599.0909, 615.2727), "shoulder": (1488.1818, 208.0)}
    word, other = ("left", "right") if side == "front" else ("right", "left")
    for name, (x, y) in at.items():
        assert found.view.landmarks[f"{name}-{word}"] == pytest.approx((x, y), abs=0.1)
        assert found.view.landmarks[f"{name}-{other}"] == pytest.approx((2100 - x, y), abs=0.1)
    assert found.view.mirror_x == pytest.approx(1050, abs=0.1)
    assert {e.name for e in found.view.edges} == BODY_EDGES
    assert found.labels.shape == found.ink.shape == (1640, 2100)


@pytest.mark.parametrize("side", ["front", "back"])
def test_the_choirs_scan_agrees_with_its_svg(side):
    scan, exact = read_choirs(side, scan=True), read_choirs(side)
    assert {a.id for a in scan.view.areas} == {a.id for a in exact.view.areas}
    for name, point in exact.view.landmarks.items():
        assert np.hypot(*(np.array(point) - scan.view.landmarks[name])) < 8, name  # the scanned page is a little askew
    scaled = [set_measure(v.view, *choir.MEASURES[side]) for v in (scan, exact)]
    for edge in ("side", "armhole", "shoulder", "neck", "hem"):
        a, b = (measures(v)[edge] * v.mm_per_px for v in scaled)
        assert a == pytest.approx(b, rel=0.02), edge
