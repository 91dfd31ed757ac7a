"""Closed shapes that end on no edge: where they lie, what they make of panels, their twins, and what reads them."""

from dataclasses import replace

import numpy as np
import pytest

from mockup.checks.corners import corners_of
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.split.junctions import junctions, stuck
from mockup.stylelines.anchor import place_line
from mockup.stylelines.carry import carry
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.shapes import box_of, boxed, shape
from mockup.stylelines.styleline import FREE_END, LineKind, StyleLine, encloses
from mockup.stylelines.to_split import make_split
from mockup.stylelines.twins import mirror_image, mirror_partners
from swatches.errors import GeometryError


def disc(view, **more):
    return shape(view, "round", (150.0, 480.0), (90.0, 90.0), line_id="line-1", name="sun", **more)


def test_a_disc_lies_where_it_was_typed_to_be(front, back):
    for view in (front, back):
        line = disc(view, side="right")
        path = place_line(line, view)
        assert path.closed
        assert encloses(line)
        # Arithmetic on the body drawn in the tests: its middle is x = 0, its hem y = 0 lies 610 or 698 below the neck.
        foot = {"front": -610.0, "back": -698.0}[view.side]
        sign = {"front": -1.0, "back": 1.0}[view.side]  # the wearer's right: the picture's left in front, right behind
        flat = paths.flatten(path, 0.01).points
        radii = np.hypot(flat[:, 0] - sign * 150.0, flat[:, 1] - (foot + 480.0))
        assert radii == pytest.approx(45.0, abs=0.02)
        box = box_of(line, view)
        assert (box.across_mm, box.side, box.up_mm) == (pytest.approx(150), "right", pytest.approx(480))


def test_a_smooth_ring_has_no_corner_anywhere_and_a_diamond_has_four(front):
    points = ((0.2, 0.5), (0.45, 0.55), (0.5, 0.7), (0.25, 0.68))
    own = StyleLine("line-1", "leaf", "front", LineKind.CURVE, FREE_END, FREE_END, points)
    path = place_line(own, front)
    turns = [abs(turn) for turn, _ in corners_of(path)]
    assert len(turns) == 4, "its first point is looked at too"
    assert max(turns) < 1e-6
    # A periodic spline has equal curvature on both sides of every joint (its definition: C2).
    ends, starts = curve.curvature(path, range(4), np.ones(4)), curve.curvature(path, [1, 2, 3, 0], np.zeros(4))
    assert ends == pytest.approx(starts, abs=1e-9)
    diamond = shape(front, "diamond", (150, 450), (80, 120), line_id="line-1", name="patch")
    corners = [t for t, _ in corners_of(place_line(diamond, front))]
    assert len(corners) == 4
    assert sum(corners) == pytest.approx(360)
    assert abs(paths.signed_area(place_line(diamond, front))) == pytest.approx(80 * 120 / 2)


def test_a_shape_is_a_panel_of_its_own_with_the_cloth_around_it_whole(front, back):
    line = disc(front)
    panels = garment_panels((front, back), (line,))["front"]
    body = [p for p in panels if p.part == "body"]
    assert sorted(p.name for p in body) == ["front", "sun"]
    around = next(p for p in body if p.name == "front")
    assert len(around.holes) == 1
    inside = next(p for p in body if p.name == "sun")
    size = abs(paths.signed_area(paths.from_tuples(inside.outline))) * front.mm_per_px**2
    assert size == pytest.approx(np.pi * 45**2, rel=1e-4)


def test_twin_shapes_are_twin_panels_and_one_line_on_the_split(front, back):
    left = replace(disc(front), name="sun, left")
    right = replace(mirror_image(left), id="line-2", name="sun, right")
    assert mirror_partners((left, right)) == {"line-1": "line-2", "line-2": "line-1"}
    by_view = garment_panels((front, back), (left, right))
    twins = [p for p in by_view["front"] if p.name == "sun"]
    assert {p.side for p in twins} == {"left", "right"}
    assert len({p.number for p in twins}) == 1
    split = make_split((front, back), (left, right), by_view)
    lines = split.views[0].lines
    assert [(x.start, x.end, x.start_side) for x in lines] == [(None, None, None)] * 2
    assert paths.from_tuples(lines[0].path).closed


def test_a_typed_size_and_place_change_nothing_else(front):
    line = disc(front)
    wider = boxed(line, front, wide_mm=120.0, high_mm=120.0)
    assert wider.kind is LineKind.ARC
    box = box_of(wider, front)
    assert (box.wide_mm, box.high_mm) == (pytest.approx(120), pytest.approx(120))
    assert (box.across_mm, box.up_mm) == (pytest.approx(150), pytest.approx(480))
    oval = boxed(line, front, wide_mm=120.0)
    assert oval.kind is LineKind.CURVE, "a circle of two sizes is none"
    assert box_of(oval, front).wide_mm == pytest.approx(120, abs=0.01)
    assert box_of(oval, front).high_mm == pytest.approx(90, abs=0.01)
    other = boxed(line, front, across_mm=60.0, side="right", up_mm=300.0)
    assert box_of(other, front) == replace(box_of(line, front), across_mm=pytest.approx(60), side="right",
                                           up_mm=pytest.approx(300), wide_mm=pytest.approx(90),
                                           high_mm=pytest.approx(90))  # fmt: skip
    with pytest.raises(GeometryError, match="at least 5 mm"):
        boxed(line, front, wide_mm=2.0)


def test_a_line_may_cross_a_shape_and_two_shapes_hang_nothing_up(front, back):
    line = disc(front)
    across = StyleLine("line-2", "level", "front", LineKind.STRAIGHT, *_level(480.0 - 450.0))
    body = [p for p in garment_panels((front, back), (line, across))["front"] if p.part == "body"]
    assert len(body) == 4
    placed = {x.id: place_line(x, front, (line, across)) for x in (line, across)}
    found = junctions(placed)
    assert all(not j.ends for j in found), "where a ring begins nothing ends"
    assert len(found) == 2
    assert stuck(found) == ()


def _level(above_underarm):
    from mockup.stylelines.styleline import End

    return (End("armhole", "underarm", above_underarm, "left"), End("armhole", "underarm", above_underarm, "right"))


def test_a_shape_carried_to_the_back_is_as_high_and_as_large(front, back):
    line = disc(front)
    behind = carry(line, (line,), "back", (front, back))
    assert behind.carries == "", "it meets no seam, so nothing keeps the two together"
    assert box_of(behind, back).up_mm == pytest.approx(480, abs=1)
    assert box_of(behind, back).side == "left"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"through": ((0.2, 0.5), (0.3, 0.6)), "kind": LineKind.CURVE}, "at least three points"),
        ({"through": ((1.2, 0.5), (0.3, 0.6), (0.4, 0.3)), "kind": LineKind.POLYLINE}, "leaves the garment"),
        ({"through": ((0.1, 0.4), (0.5, 0.6), (0.5, 0.4), (0.1, 0.6)), "kind": LineKind.POLYLINE}, "crosses itself"),
        ({"symmetric": True}, "mirrored in itself"),
        ({"through": ((0.1, 0.5), (0.2, 0.5), (0.3, 0.5))}, "three in a row"),
    ],
)
def test_what_is_no_shape_is_refused_in_one_sentence(front, change, words):
    with pytest.raises(GeometryError, match=words):
        place_line(replace(disc(front), **change), front)
