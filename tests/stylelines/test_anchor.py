import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.stylelines import anchor, edges
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError

calm = settings(deadline=None)  # the machine may be busy


def line(start, end, *, kind=LineKind.STRAIGHT, side="front", **more) -> StyleLine:
    return StyleLine("line-1", "yoke", side, kind, start, end, **more)


def walked(cubic, share) -> float:
    """Length of a cubic from its start to a parameter, by scipy."""
    c = np.asarray(cubic, dtype=float)
    return quad(lambda t: float(np.linalg.norm(paths.derivative(c, np.float64(t)))), 0, share, epsabs=1e-12)[0]


def test_left_of_the_picture_is_the_wearers_right_in_front_and_left_at_the_back(front, back):
    # common practice, no source: the picture shows the garment as another person sees it
    for view, sign in ((front, 1), (back, -1)):
        for side, way in (("left", 1), ("right", -1)):
            x, _ = edges.end_point(End("side", "underarm", 50, side), view)
            assert x * sign * way > 200
            assert paths.transformed(paths.polyline([(x, 0), (0, 1)]), view.mm_to_px).start[0] == pytest.approx(
                view.origin_px[0] + x / view.mm_per_px
            )


@pytest.mark.parametrize("distance", [0, 1e-6, 13.7, 200, 412.3456])
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("name", ["front", "back"])
def test_ends_are_exact_along_the_stitch_line(name, side, distance, build):
    view = build(name)
    point = edges.end_point(End("side", "underarm", distance, side), view)
    path = edges.find_edge(view, "side", side).path
    _, t, away = curve.nearest(path, point)
    assert away < 1e-9
    # second witness: quadrature from the underarm, wherever the edge starts
    cubic = path.cubics[0] if path.end[1] < path.start[1] else path.cubics[0][::-1]
    share = t if path.end[1] < path.start[1] else 1 - t
    assert walked(cubic, share) == pytest.approx(distance, abs=1e-7)


@calm
@given(st.floats(0, 400), st.sampled_from(["left", "right"]), st.sampled_from(["underarm", "hem"]))
def test_the_path_length_agrees_with_the_distance(front, distance, side, landmark):
    point = edges.end_point(End("side", landmark, distance, side), front)
    path = edges.find_edge(front, "side", side).path
    segment, t, _ = curve.nearest(path, point)
    at = paths.distance_at(path, segment, t)
    from_underarm = at if path.start[1] > path.end[1] else paths.length(path) - at
    expected = distance if landmark == "underarm" else paths.length(path) - distance
    assert from_underarm == pytest.approx(expected, abs=1e-9 * 1e3)


def test_landmarks_of_neck_and_hem(front, back):
    for view, sign in ((front, 1), (back, -1)):
        left = edges.end_point(End("hem", "hem", 30, "left"), view)
        assert left[0] == pytest.approx(sign * 290)
        centre = edges.end_point(End("hem", "hem-centre", 30, "left"), view)
        assert centre[0] == pytest.approx(sign * 30)
        assert edges.end_point(End("hem", "hem-centre", 0), view)[0] == pytest.approx(0, abs=1e-9)
        neck = edges.end_point(End("neck", "neck", 0, "right"), view)
        assert neck[0] == pytest.approx(-sign * 90)
        assert edges.end_point(End("neck", "neck-centre", 20, "right"), view)[0] * sign < -10


def test_the_centre_is_an_edge(front, back):
    assert edges.edge_length(front, "centre-front") == pytest.approx(610)
    assert edges.edge_length(back, "centre-back") == pytest.approx(698)
    assert edges.end_point(End("centre-front", "neck", 100), front) == pytest.approx((0, -100))
    assert edges.end_point(End("centre-back", "hem", 100), back) == pytest.approx((0, 100 - 698))


@pytest.mark.parametrize("kind", list(LineKind))
@pytest.mark.parametrize("name", ["front", "back"])
@pytest.mark.parametrize("down", [165, 260, 340])
def test_a_symmetrical_line_has_no_kink(kind, name, down, build):
    view = build(name)
    through = ((0.5, 0.52),) if kind in (LineKind.CURVE, LineKind.POLYLINE) else ()
    made = line(
        End("side", "underarm", 120), End(f"centre-{name}", "neck", down), kind=kind, side=name, through=through,
        symmetric=True,
    )  # fmt: skip
    placed = anchor.place_line(made, view)
    joint = next(k for k, c in enumerate(placed.cubics) if abs(c[0, 0]) < 1e-9)
    before, after = paths.tangent(placed, joint - 1, 1.0), paths.tangent(placed, joint, 0.0)
    kink = math.degrees(math.acos(min(1.0, float(before @ after))))
    assert kink <= 0.1
    # both halves are mirror images, and both ends are on the side seams
    mirrored = paths.reversed_path(paths.transformed(placed, [[-1, 0, 0], [0, 1, 0]]))
    assert mirrored.cubics == pytest.approx(placed.cubics, abs=1e-9)
    assert placed.start == pytest.approx(edges.end_point(End("side", "underarm", 120, "left"), view), abs=1e-12)
    assert placed.end == pytest.approx(edges.end_point(End("side", "underarm", 120, "right"), view), abs=1e-12)


def test_a_kink_is_kept_where_it_is_asked_for(front):
    made = line(End("side", "underarm", 50), End("centre-front", "neck", 330), symmetric=True, kinked=True)
    placed = anchor.place_line(made, front)
    assert len(placed) == 2
    assert paths.is_straight(placed).all()
    assert abs(curve.corners(placed)[0][1]) > 10


def test_a_symmetrical_arc_is_one_circle(front):
    made = line(End("side", "underarm", 100), End("centre-front", "neck", 300), kind=LineKind.ARC, symmetric=True)
    placed = anchor.place_line(made, front)
    circle = curve.arc_through(placed.start, (0, -300), placed.end)
    assert paths.length(placed) == pytest.approx(paths.length(circle), rel=1e-6)
    assert max(curve.nearest(circle, p)[2] for p in paths.flatten(placed, 0.5).points) < 1e-3


def test_a_symmetrical_line_on_a_picture_that_is_not_quite_symmetrical(front):
    moved = []
    for e in front.edges:
        if e.name == "side-right":
            shift = [(0, 0), (3, 0), (3, 0), (0, 0)]
            path = tuple(tuple((x + dx, y + dy) for (x, y), (dx, dy) in zip(c, shift, strict=True)) for c in e.path)
            e = replace(e, path=path)
        moved.append(e)
    crooked = replace(front, edges=tuple(moved))
    made = line(End("side", "underarm", 200), End("centre-front", "neck", 360), symmetric=True)
    placed = anchor.place_line(made, crooked)
    assert placed.end == pytest.approx(edges.end_point(End("side", "underarm", 200, "right"), crooked), abs=1e-12)
    joint = next(k for k, c in enumerate(placed.cubics) if abs(c[0, 0]) < 1e-9)
    turn = float(paths.tangent(placed, joint - 1, 1.0) @ paths.tangent(placed, joint, 0.0))
    assert math.degrees(math.acos(min(1.0, turn))) <= 0.1


def test_a_curve_goes_through_its_points_and_fits_any_picture(front, build):
    made = line(
        End("armhole", "shoulder", 60, "left"), End("side", "hem", 150, "right"), kind=LineKind.CURVE,
        through=((0.3, 0.7), (-0.2, 0.5)),
    )  # fmt: skip
    placed = anchor.place_line(made, front)
    for share in made.through:
        assert curve.nearest(placed, edges.shares_to_mm(front, share))[2] < 1e-9
    finer = anchor.place_line(made, build("front", mm_per_px=0.31))
    assert finer.cubics == pytest.approx(placed.cubics, abs=1e-8)


@calm
@given(st.tuples(st.floats(-1, 1), st.floats(0, 1)))
def test_shares_and_mm_are_inverse(back, share):
    assert edges.mm_to_shares(back, edges.shares_to_mm(back, share)) == pytest.approx(share, abs=1e-12)


def test_the_wearers_left_is_positive_in_shares(front, back):
    assert edges.shares_to_mm(front, (1, 0)) == pytest.approx((320, -610))
    assert edges.shares_to_mm(back, (1, 1)) == pytest.approx((-320, 730 - 698))


SIDE = End("side", "underarm", 100, "left")
OTHER = End("side", "underarm", 100, "right")


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (line(replace(SIDE, distance_mm=500), OTHER), r"start of line 'yoke': expected 0 to 450\.\d mm along the side"),
        (line(replace(SIDE, distance_mm=-3), OTHER), r"got -3 mm\. Type a distance of 0 or more"),
        (line(replace(SIDE, distance_mm=math.nan), OTHER), "got nan mm"),
        (line(replace(SIDE, distance_mm=500, text="20 in"), OTHER), "got 20 in. Type a shorter distance"),
        (line(SIDE, replace(OTHER, edge="collar")), r"end of line 'yoke': expected an edge of the front \(armhole, c"),
        (line(SIDE, replace(OTHER, landmark="elbow")), r"a landmark on the side \(hem, underarm\), got 'elbow'"),
        (line(SIDE, replace(OTHER, landmark="waist")), "garment's waist, from which this is counted, got a picture"),
        (line(SIDE, replace(OTHER, side=None)), "expected 'left' or 'right', the wearer's, got no side for the edge"),
        (line(SIDE, End("hem", "hem", 10)), "got no side for the landmark 'hem' of the hem"),
        (line(SIDE, End("hem", "hem-centre", 10)), "got no side for the landmark 'hem-centre'"),
        (line(SIDE, SIDE), "expected two different ends, got both at the same point"),
        (line(SIDE, OTHER, side="back"), "expected a line of the front, got one of the back"),
        (line(SIDE, End("centre-back", "neck", 10)), "expected an edge of the front, got centre-back"),
        (line(SIDE, OTHER, symmetric=True), "a symmetrical line that ends on the centre-front, got an end on the side"),
        (
            line(SIDE, End("centre-front", "neck", 99), kind=LineKind.CURVE, through=((-0.1, 0.5),), symmetric=True),
            "got a point past the middle",
        ),
        (line(SIDE, OTHER, kind=LineKind.ARC), "an arc with one point between its ends, got 0 points"),
        (line(SIDE, OTHER, kind=LineKind.CURVE, through=((0, 1.2),)), "got one that leaves the"),
        (line(SIDE, OTHER, kind=LineKind.POLYLINE, through=((1.4, 0.5),)), "one that runs over a seam onto the sleeve"),
        (line(End("shoulder", "neck", 20, "left"), End("shoulder", "neck", 20, "right")), "got one that leaves the"),
        (line(replace(SIDE, distance_mm=20), replace(SIDE, distance_mm=90)), "one that runs along its edge"),
        (
            line(SIDE, OTHER, kind=LineKind.POLYLINE, through=((-0.5, 0.5), (0.5, 0.6), (0.5, 0.3))),
            "a line that does not cross itself",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_placed_is_said_in_one_sentence(bad, sentence, front):
    with pytest.raises(GeometryError, match=sentence) as caught:
        anchor.place_line(bad, front)
    assert "\n" not in str(caught.value)
    assert str(caught.value).endswith(".")


def test_no_mirror_line_no_symmetry(front):
    flat = replace(front, mirror_x=None)
    with pytest.raises(GeometryError, match="Set the middle of the garment first"):
        anchor.place_line(line(SIDE, End("centre-front", "neck", 99), symmetric=True), flat)
    assert len(anchor.place_line(line(SIDE, OTHER), flat)) == 1
    aside = replace(front, mirror_x=5.0)
    with pytest.raises(GeometryError, match="through the body, got one that misses it"):
        edges.centre_line(aside)


@calm
@given(st.floats(8, 440), st.sampled_from(["left", "right"]), st.floats(-4, 4))
def test_a_dragged_end_comes_back_where_it_was_put(front, distance, side, off):
    x, y = edges.end_point(End("side", "underarm", distance, side), front)
    found = anchor.end_at(front, (x + off, y), landmark="underarm")
    assert (found.edge, found.landmark, found.side) == ("side", "underarm", side)
    assert found.distance_mm == pytest.approx(distance, abs=abs(off) * 0.2 + 1e-6)


def test_a_dragged_end_snaps_and_keeps_its_landmark(front):
    near = anchor.end_at(front, (301, -163))
    assert near == End("side", "underarm", 0.0, "left")
    far = anchor.end_at(front, (318, -560), landmark="underarm")
    assert (far.landmark, far.side) == ("underarm", "left")
    assert far.distance_mm == pytest.approx(400, abs=2)
    assert anchor.end_at(front, (318, -560)).landmark == "hem"
    assert anchor.end_at(front, (-318, -560), step_mm=5.0).distance_mm == pytest.approx(50)
    assert anchor.end_at(front, (319.7, -609), landmark="underarm").distance_mm == pytest.approx(
        edges.edge_length(front, "side", "left")
    )


def test_a_dragged_end_of_a_symmetrical_line(front):
    middle = anchor.end_at(front, (12, -200), among=("centre-front",), symmetric=True)
    assert middle == End("centre-front", "neck", pytest.approx(200), None)
    assert anchor.end_at(front, (250, 0), symmetric=True).side is None
    with pytest.raises(GeometryError, match="an edge to end on"):
        anchor.end_at(front, (0, 0), among=("collar",))


def test_a_dragged_end_on_the_hem_knows_the_wearers_side(back):
    assert anchor.end_at(back, (-200, -698)) == End("hem", "hem", pytest.approx(120), "left")
    assert anchor.end_at(back, (-60, -698), landmark="hem-centre") == End(
        "hem", "hem-centre", pytest.approx(60), "left"
    )


def test_an_end_of_a_symmetrical_line_is_asked_for_on_the_wearers_left(front, back):
    for view, sign in ((front, 1), (back, -1)):
        assert edges.end_point(End("armhole", "underarm", 90), view)[0] * sign > 200
        assert edges.along_edge(End("hem", "hem", 90), view)[0].name == "hem"
