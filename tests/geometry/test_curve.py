import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from swatches.errors import GeometryError

calm = settings(deadline=None)  # the machine may be busy

number = st.floats(-500, 500)
point = st.tuples(number, number)


@pytest.mark.parametrize("radius", [1e-6, 0.5, 1000])
def test_an_arc_stays_on_its_circle(radius):
    arc = curve.circular_arc((4, 5), radius, -30, 300)
    t = np.tile(np.linspace(0, 1, 50), len(arc))
    points = paths.points_at(arc, np.repeat(np.arange(len(arc)), 50), t)
    assert np.hypot(*(points - (4, 5)).T) == pytest.approx(radius, rel=1e-6)


@calm
@given(point, point, point)
def test_an_arc_meets_its_three_points(a, b, c):
    side = [math.dist(a, b), math.dist(b, c), math.dist(a, c)]
    turn = abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
    assume(min(side) > 1 and turn > 1e-3 * max(side) ** 2)
    arc = curve.arc_through(a, b, c)
    assert tuple(arc.start) == a
    assert tuple(arc.end) == c
    assert curve.nearest(arc, b)[2] <= 1e-12 * max(side)
    # circumradius: product of the sides over four times the area
    radius = math.prod(side) / (2 * turn)
    t = np.tile(np.linspace(0, 1, 20), len(arc))
    points = paths.points_at(arc, np.repeat(np.arange(len(arc)), 20), t)
    centre = _centre(a, b, c)
    assert np.hypot(*(points - centre).T) == pytest.approx(radius, rel=1e-6)
    assert len(curve.corners(arc, least_deg=0.01)) == 0


def _centre(a, b, c):
    """Solve for the point at equal distance: two linear equations."""
    m = 2 * np.array([np.subtract(b, a), np.subtract(c, a)])
    v = [np.dot(b, b) - np.dot(a, a), np.dot(c, c) - np.dot(a, a)]
    return np.linalg.solve(m, v)


def test_an_arc_goes_the_way_round_that_meets_the_middle_point():
    assert paths.length(curve.arc_through((1, 0), (0, -1), (0, 1))) == pytest.approx(1.5 * math.pi, rel=1e-6)
    assert paths.length(curve.arc_through((1, 0), (math.sqrt(0.5), math.sqrt(0.5)), (0, 1))) == pytest.approx(
        math.pi / 2, rel=1e-6
    )


def test_three_points_in_a_row():
    straight = curve.arc_through((0, 0), (1, 1), (5, 5))
    assert paths.is_straight(straight).all()
    with pytest.raises(GeometryError, match="middle point between the two ends"):
        curve.arc_through((0, 0), (6, 6), (5, 5))
    with pytest.raises(GeometryError, match="three different points"):
        curve.arc_through((0, 0), (0, 0), (5, 5))
    with pytest.raises(GeometryError, match="radius above 0"):
        curve.circular_arc((0, 0), 0, 0, 90)


def test_the_spline_is_scipys():
    points = np.array([(0, 0), (30, 50), (80, 40), (100, -20)], dtype=float)
    made = curve.smooth_through(points)
    knots = np.r_[0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    other = CubicSpline(knots, points, bc_type="natural")
    for i in range(3):
        for t in (0, 0.3, 0.7, 1):
            expected = other(knots[i] + t * (knots[i + 1] - knots[i]))
            assert paths.points_at(made, i, t) == pytest.approx(expected)


@calm
@given(st.lists(point, min_size=3, max_size=8, unique=True))
def test_the_spline_has_no_kink_and_no_jump_of_curvature(points):
    steps = np.hypot(*np.diff(np.array(points), axis=0).T)
    assume(steps.min() > 5)
    made = curve.smooth_through(points)
    assert np.vstack([made.cubics[:, 0], made.cubics[-1:, 3]]) == pytest.approx(np.array(points))
    for i in range(len(made) - 1):
        assert paths.derivative(made.cubics[i], np.float64(1)) / steps[i] == pytest.approx(
            paths.derivative(made.cubics[i + 1], np.float64(0)) / steps[i + 1], abs=1e-9
        )
        a, b = curve.curvature(made, i, 1.0), curve.curvature(made, i + 1, 0.0)
        if abs(a) < 10:
            assert float(a) == pytest.approx(float(b), rel=1e-5, abs=1e-7)


def test_a_spline_keeps_its_tangents():
    made = curve.smooth_through([(0, 0), (50, 30), (100, 0)], start_tangent=(0, 7), end_tangent=(2, 0))
    assert paths.tangent(made, 0, 0.0) == pytest.approx((0, 1))
    assert paths.tangent(made, 1, 1.0) == pytest.approx((1, 0))
    with pytest.raises(GeometryError, match="a direction"):
        curve.smooth_through([(0, 0), (1, 1)], start_tangent=(0, 0))
    with pytest.raises(GeometryError, match="two different points"):
        curve.smooth_through([(1, 1), (1, 1)])


def test_two_points_make_a_straight_line():
    assert paths.is_straight(curve.smooth_through([(0, 0), (3, 4)])).all()


def test_min_radius_of_known_curves():
    # y = k·x² is tightest at its vertex, with radius 1/(2k)
    radius, segment, t = curve.min_radius(Path([[(-1, 2), (-1 / 3, -2 / 3), (1 / 3, -2 / 3), (1, 2)]]))
    assert (segment, t) == (0, pytest.approx(0.5, abs=1e-5))
    assert radius == pytest.approx(1 / (2 * 2), rel=1e-9)
    right = curve.min_radius(curve.circular_arc((0, 0), 80, 90, 0))[0]
    assert right == pytest.approx(-80, rel=2e-4)
    assert curve.min_radius(paths.polyline([(0, 0), (5, 5), (9, 0)])) == (math.inf, 0, 0.0)
    cusp = Path([[(0, 0), (1, 1), (0, 1), (1, 0)]])
    assert curve.min_radius(cusp)[0] == pytest.approx(0, abs=1e-9)


def test_corners_have_a_sign():
    square = paths.polyline([(0, 0), (1, 0), (1, 1), (0, 1)], close=True)
    assert [i for i, _ in curve.corners(square)] == [0, 1, 2, 3]
    assert all(turn == pytest.approx(90) for _, turn in curve.corners(square))
    assert curve.corners(paths.polyline([(0, 0), (1, 0), (1, -1)])) == [(1, pytest.approx(-90))]


@calm
@given(st.tuples(point, point, point, point), point)
def test_nearest_is_no_farther_than_any_other_point(cubic, p):
    path = Path([cubic])
    segment, t, distance = curve.nearest(path, p)
    assert math.dist(paths.points_at(path, segment, t), p) == pytest.approx(distance)
    many = paths.evaluate(np.broadcast_to(path.cubics[0], (400, 4, 2)), np.linspace(0, 1, 400))
    assert distance <= np.hypot(*(many - p).T).min() + 1e-9

    def away(u):
        return float(np.hypot(*(paths.evaluate(path.cubics[0], np.float64(u)) - p)))

    assert distance <= minimize_scalar(away, bounds=(0, 1), method="bounded").fun + 1e-9


def test_points_along_agree_with_the_exact_way():
    path = curve.smooth_through([(0, 0), (40, 90), (45, 95), (200, -30)])
    whole = paths.length(path)
    ask = np.r_[0.0, np.sort(np.random.default_rng(3).uniform(0, whole, 40)), whole]
    exact = np.array([paths.point_at_distance(path, d) for d in ask])
    assert curve.points_along(path, ask) == pytest.approx(exact, abs=1e-6 * whole)


@calm
@given(st.tuples(point, point, point, point), st.floats(0, 1))
def test_distances_agree_with_the_adaptive_rule(cubic, t):
    path = Path([cubic])
    speed = np.linalg.norm(paths.derivative(np.broadcast_to(path.cubics[0], (50, 4, 2)), np.linspace(0, 1, 50)), axis=1)
    assume(speed.min() > 0.1 * speed.max())
    expected = paths.distance_at(path, 0, t)
    assert curve.distances_at(path, [0], [t])[0] == pytest.approx(expected, rel=2e-5, abs=1e-6)
