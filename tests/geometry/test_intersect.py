"""Crossings of curves against values that are known in closed form."""

import numpy as np
import pytest

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.intersect import (
    hull_box,
    intersections,
    nearest_position,
    self_intersections,
    shared_length,
)
from mockup.geometry.path import Path


def cubic(*points):
    return Path(np.array([points], dtype=float))


def test_a_line_through_a_cubic_meets_it_where_its_polynomial_is_zero():
    # y(t) of the cubic with ordinates 0, 80, −80, 0 is 240 t(1−t)(1−2t): zero at 0, ½, 1 (derived).
    wave = cubic((0, 0), (30, 80), (70, -80), (100, 0))
    found = intersections(wave, paths.polyline([(-5, 0), (105, 0)]))
    assert [p[1] for p, _ in found] == pytest.approx([0, 0.5, 1], abs=1e-12)


def test_crossings_lie_on_both_curves_to_rounding():
    a = cubic((0, 0), (120, 300), (-20, 300), (100, 0))
    b = cubic((-30, 100), (100, 260), (0, 40), (140, 120))
    found = intersections(a, b)
    assert len(found) >= 2
    for p, q in found:
        assert np.linalg.norm(paths.points_at(a, *p) - paths.points_at(b, *q)) < 1e-12


def test_two_circles_meet_where_pythagoras_says():
    # Radii 50, centres 60 apart: they meet at x = 30, y = ±40 (derived). The arcs are circles to 1e-6 of the radius.
    a, b = circular_arc((0, 0), 50, 0, 360), circular_arc((60, 0), 50, 0, 360)
    points = [paths.points_at(a, *p) for p, _ in intersections(a, b)]  # in order along the first
    assert np.allclose(points, [(30, 40), (30, -40)], rtol=0, atol=1e-4)


def test_two_crossings_close_together_are_two():
    arch = cubic((0, 0), (30, 40), (70, 40), (100, 0))  # highest at y = 30 (derived)
    found = intersections(arch, paths.polyline([(-5, 30 - 1e-6), (105, 30 - 1e-6)]))
    assert len(found) == 2
    assert found[0][0][1] < 0.5 < found[1][0][1]


def test_a_touch_is_one_meeting():
    arch = cubic((0, 0), (30, 40), (70, 40), (100, 0))
    (touch,) = intersections(arch, paths.polyline([(-5, 30), (105, 30)]))
    assert touch[0][1] == pytest.approx(0.5, abs=1e-6)


def test_an_end_on_a_curve_is_a_meeting_at_any_angle():
    line = paths.polyline([(100, -5), (100, 305)])
    branch = cubic((100, 0), (100, 60), (100, 100), (150, 300))  # leaves the line at a tangent
    assert intersections(branch, line)[0][0] == (0, 0.0)
    assert len(intersections(branch, line)) == 1


def test_a_joint_is_named_as_the_later_segment_and_a_closed_end_as_the_start():
    square = paths.polyline([(0, 0), (10, 0), (10, 10), (0, 10)], close=True)
    through_corners = paths.polyline([(-1, -1), (11, 11)])
    assert [p for p, _ in intersections(square, through_corners)] == [(0, 0.0), (2, 0.0)]


def test_no_meeting_gives_nothing():
    assert intersections(paths.polyline([(0, 0), (10, 0)]), paths.polyline([(0, 1), (10, 1)])) == []
    assert intersections(paths.polyline([(0, 0), (1, 0)]), paths.polyline([(500, 500), (501, 500)])) == []


def test_a_loop_crosses_itself_once_and_a_square_never():
    loop = cubic((0, 0), (150, 100), (-50, 100), (100, 0))
    ((a, b),) = self_intersections(loop)
    assert np.allclose(paths.points_at(loop, *a), paths.points_at(loop, *b), rtol=0, atol=1e-11)
    assert a[1] == pytest.approx(1 - b[1])  # the curve is its own mirror image
    assert self_intersections(paths.polyline([(0, 0), (10, 0), (10, 10), (0, 10)], close=True)) == []
    assert self_intersections(circular_arc((0, 0), 100, 0, 360)) == []


def test_a_bow_tie_crosses_itself():
    bow = paths.polyline([(0, 0), (10, 10), (10, 0), (0, 10)], close=True)
    ((a, _),) = self_intersections(bow)
    assert np.allclose(paths.points_at(bow, *a), (5, 5))


def test_shared_length_tells_lying_along_from_crossing():
    edge = paths.polyline([(0, 0), (100, 0)])
    assert shared_length(paths.polyline([(10, 0.01), (60, 0.01)]), edge, 0.02) == pytest.approx(50, abs=0.1)
    assert shared_length(paths.polyline([(50, -10), (50, 10)]), edge, 0.02) == pytest.approx(0.04, abs=0.01)


def test_nearest_position_is_the_foot_of_the_perpendicular():
    arc = circular_arc((0, 0), 100, 0, 180)
    position, gap = nearest_position(arc, np.array([60.0, 80.0]) * 1.2, 0.01)
    assert gap == pytest.approx(20, abs=1e-4)
    assert np.allclose(paths.points_at(arc, *position), (60, 80), atol=1e-3)


def test_hull_box_holds_the_exact_box():
    wave = cubic((0, 0), (30, 80), (70, -80), (100, 0))
    outer, inner = hull_box(wave), paths.bounds(wave)
    assert (np.array(outer[:2]) <= inner[:2]).all()
    assert (np.array(outer[2:]) >= inner[2:]).all()
