"""Closed forms are the truth; scipy's quadrature is the second witness."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.path import Path

calm = settings(deadline=None)  # the machine may be busy

number = st.floats(-1000, 1000)
cubic = st.tuples(*[st.tuples(number, number)] * 4)


def parabola(width: float, height: float) -> Path:
    """y = height·(x/width)² as one cubic: the quadratic's control point is (width/2, 0), raised by one degree."""
    q0, q1, q2 = np.array([0.0, 0.0]), np.array([width / 2, 0.0]), np.array([width, height])
    return Path([[q0, q0 + 2 / 3 * (q1 - q0), q2 + 2 / 3 * (q1 - q2), q2]])


@pytest.mark.parametrize("height", [0.01, 1, 30, 1000])
def test_length_of_a_parabola(height):
    # closed form: ∫√(1+4h²u²)du over 0..1 with x = u, textbook arc length of a parabola
    k = 2 * height
    expected = 0.5 * math.sqrt(1 + k * k) + math.asinh(k) / (2 * k)
    assert paths.length(parabola(1, height)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("radius", [1e-3, 1, 100, 1e5])
@pytest.mark.parametrize("turn", [10, 90, -270, 360])
def test_length_of_an_arc(radius, turn):
    arc = circular_arc((3, -2), radius, 20, 20 + turn)
    assert paths.length(arc) == pytest.approx(radius * math.radians(abs(turn)), rel=5e-7)


def test_parallel_arcs_of_the_facts_table():
    # R 100 mm, 90°: 157.080; at ±10 mm 172.788 and 141.372
    for radius, expected in ((100, 157.080), (110, 172.788), (90, 141.372)):
        assert paths.length(circular_arc((0, 0), radius, 0, 90)) == pytest.approx(expected, abs=5e-4)


@calm
@given(cubic)
def test_length_agrees_with_scipy(points):
    path = Path([points])
    one = path.cubics[0]

    def speed(t):
        return float(np.linalg.norm(paths.derivative(one, np.float64(t))))

    expected, error = quad(speed, 0, 1, limit=400, epsabs=1e-9, epsrel=1e-11)
    assert paths.length(path) == pytest.approx(expected, rel=1e-7, abs=max(1e-6, 10 * error))


def test_a_cubic_that_turns_back_is_as_long_as_its_way():
    # on the line y = 0: x = 3t(1−t)² + 0 + t³·0 goes to 4/9 and back
    path = Path([[(0, 0), (1, 0), (0, 0), (0, 0)]])
    assert paths.length(path) == pytest.approx(8 / 9, rel=1e-7)


@calm
@given(cubic, st.floats(0.001, 0.999))
def test_locate_and_distance_are_inverse(points, share):
    path = Path([points, [points[3], (0, 0), (5, 5), (7, -9)]])
    whole = paths.length(path)
    there = paths.locate(path, share * whole)
    assert paths.distance_at(path, *there) == pytest.approx(share * whole, abs=1e-7 * whole)


@calm
@given(cubic, st.floats(0, 1), st.floats(0, 1))
def test_a_sub_path_is_the_same_curve(points, s, t):
    s, t = sorted((s, t))
    if t - s < 1e-6:
        return
    path = Path([points])
    part = paths.sub_path(path, (0, s), (0, t))
    for u in np.linspace(0, 1, 7):
        expected = paths.points_at(path, 0, s + u * (t - s))
        assert paths.points_at(part, 0, u) == pytest.approx(expected, abs=1e-9 * 1000)


def test_cutting_and_joining_gives_the_path_back():
    path = circular_arc((0, 0), 50, 0, 200)
    whole = paths.length(path)
    for cut in (1e-6, 12.5, whole / 3, whole - 1e-6):
        again = paths.joined([paths.between(path, 0, cut), paths.between(path, cut, whole)])
        assert paths.length(again) == pytest.approx(whole, rel=1e-9)
        assert np.array_equal(again.start, path.start)
        assert np.array_equal(again.end, path.end)


def test_sub_path_across_segments_keeps_whole_ones():
    path = paths.polyline([(0, 0), (10, 0), (10, 10), (0, 10)])
    part = paths.sub_path(path, (0, 0.5), (2, 0.25))
    assert len(part) == 3
    assert tuple(part.start) == (5, 0)
    assert part.end == pytest.approx((7.5, 10))
    with pytest.raises(ValueError, match="expected a before b"):
        paths.sub_path(path, (1, 0.5), (0, 0.5))


def test_area_of_circle_rectangle_and_parabola():
    assert paths.signed_area(circular_arc((7, 9), 10, 0, 360)) == pytest.approx(math.pi * 100, rel=1e-6)
    assert paths.signed_area(circular_arc((7, 9), 10, 360, 0)) == pytest.approx(-math.pi * 100, rel=1e-6)
    assert paths.signed_area(paths.polyline([(0, 0), (200, 0), (200, 300), (0, 300)], close=True)) == 60_000
    # Archimedes: a segment of a parabola has 4/3 of the triangle; here chord (0,0)–(6,9) over y = 9(x/6)²
    assert paths.signed_area(parabola(6, 9)) == pytest.approx(4 / 3 * 0.5 * 3 * (4.5 - 2.25) * 2)


@calm
@given(cubic, st.tuples(number, number))
def test_area_does_not_depend_on_the_place(points, move):
    path = Path([points])
    moved = paths.transformed(path, [[1, 0, move[0]], [0, 1, move[1]]])
    assert paths.signed_area(moved) == pytest.approx(paths.signed_area(path), abs=1e-6)


@calm
@given(cubic)
def test_area_by_scipy(points):
    path = Path([points])
    one = path.cubics[0] - path.cubics[0, 0]

    def rate(t):
        p, d = paths.evaluate(one, np.float64(t)), paths.derivative(one, np.float64(t))
        return 0.5 * float(p[0] * d[1] - p[1] * d[0])

    assert paths.signed_area(path) == pytest.approx(quad(rate, 0, 1)[0], abs=1e-6)


@calm
@given(cubic, st.sampled_from([5.0, 0.5, 0.02]))
def test_flattening_keeps_its_tolerance(points, tolerance):
    path = Path([points])
    flat = paths.flatten(path, tolerance)
    t = np.linspace(0, 1, 60)
    curve = paths.evaluate(np.broadcast_to(path.cubics[0], (60, 4, 2)), t)
    a, b = flat.points[:-1], flat.points[1:]
    along = b - a
    size = np.maximum((along**2).sum(axis=1), 1e-300)
    share = np.clip(((curve[:, None] - a) * along).sum(axis=2) / size, 0, 1)
    away = np.linalg.norm(curve[:, None] - (a + share[..., None] * along), axis=2).min(axis=1)
    assert away.max() <= tolerance * (1 + 1e-9)
    assert flat.points == pytest.approx(paths.points_at(path, flat.segment, flat.t))


def test_bounds_are_those_of_the_curve():
    box = paths.bounds(circular_arc((1, 2), 10, 10, 170))
    side = 10 * math.cos(math.radians(10))
    assert box == pytest.approx((1 - side, 2 + 10 * math.sin(math.radians(10)), 1 + side, 12), abs=1e-5)


def test_what_is_straight():
    path = Path([
        [(0, 0), (1, 0), (2, 0), (3, 0)],
        [(3, 0), (9, 0), (-3, 0), (6, 0)],  # runs past its ends and back
        [(6, 0), (7, 1), (8, 1), (9, 0)],
    ])  # fmt: skip
    assert paths.is_straight(path).tolist() == [True, False, False]
    assert len(paths.flatten(path, 0.01).points) > 4


def test_tangent_where_the_first_control_point_is_the_end():
    path = Path([[(0, 0), (0, 0), (2, 0), (3, 3)]])
    assert paths.tangent(path, 0, 0.0) == pytest.approx((1, 0), abs=1e-3)


@pytest.mark.parametrize("cubics", [np.zeros((0, 4, 2)), np.zeros((4, 2)), [[(0, 0), (0, math.nan), (1, 1), (2, 2)]]])
def test_what_is_no_path_is_refused(cubics):
    with pytest.raises(ValueError, match="cubics: expected"):
        Path(cubics)


def test_a_path_cannot_be_changed():
    path = paths.polyline([(0, 0), (1, 1)])
    with pytest.raises(ValueError, match="read-only"):
        path.cubics[0, 0] = 5
    with pytest.raises(ValueError, match="2 different points"):
        paths.polyline([(1, 1), (1, 1)])


@calm
@given(st.lists(cubic, min_size=1, max_size=3))
def test_bounds_hold_many_points_and_touch_them(points):
    path = Path([[points[k - 1][3] if k else c[0], *c[1:]] for k, c in enumerate(points)])
    x0, y0, x1, y1 = paths.bounds(path)
    t = np.tile(np.linspace(0, 1, 2001), len(path))
    many = paths.points_at(path, np.repeat(np.arange(len(path)), 2001), t)
    low, high = many.min(axis=0), many.max(axis=0)
    assert (low >= np.array([x0, y0]) - 1e-9).all()
    assert (high <= np.array([x1, y1]) + 1e-9).all()
    assert np.r_[low, high] == pytest.approx((x0, y0, x1, y1), abs=2e-3)
