import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockup.geometry import curve, place
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from swatches.errors import GeometryError

calm = settings(deadline=None)  # the machine may be busy

# an L, so that the polygon is not convex
ELL = np.array([(0, 0), (60, 0), (60, 20), (20, 20), (20, 80), (0, 80)], dtype=float)
unit = st.floats(0, 1)


@calm
@given(st.floats(-20, 90), st.floats(-20, 90))
def test_weights_sum_to_one_and_give_the_point_back(x, y):
    w = place.weights(ELL, np.array([[x, y]]))
    assert w.sum() == pytest.approx(1, abs=1e-9)
    assert w @ ELL == pytest.approx(np.array([[x, y]]), abs=1e-6)


@calm
@given(st.integers(0, 5), unit)
def test_exact_on_the_boundary(side, share):
    other = ELL * [3, 0.5] + np.random.default_rng(0).normal(0, 4, ELL.shape)
    mapped = place.MeanValueMap(ELL, other)
    a, b = ELL[side], ELL[(side + 1) % 6]
    c, d = other[side], other[(side + 1) % 6]
    assert mapped.apply(a + share * (b - a))[0] == pytest.approx(c + share * (d - c), abs=1e-9)


def test_corners_go_to_corners():
    other = ELL[:, ::-1] + 7
    assert np.array_equal(place.MeanValueMap(ELL, other).apply(ELL), other)


@pytest.mark.parametrize("near", [1e-3, 1e-6, 1e-9, 1e-12, 1e-15])
def test_smooth_up_to_the_boundary(near):
    other = ELL * 2
    at = place.MeanValueMap(ELL, other).apply([(30, near), (20 - near, 50), (near, near)])
    assert at == pytest.approx(np.array([(60, 2 * near), (40 - 2 * near, 100), (2 * near, 2 * near)]), abs=1e-8)


def test_an_affine_map_is_kept_everywhere():
    # linear precision (Floater 2003, property 1): affine on the corners is affine inside
    m = np.array([[1.2, 0.4, 5], [-0.3, 0.8, 9]])
    mapped = place.MeanValueMap(ELL, ELL @ m[:, :2].T + m[:, 2])
    points = np.random.default_rng(5).uniform(-10, 90, (3000, 2))
    assert mapped.apply(points) == pytest.approx(points @ m[:, :2].T + m[:, 2], abs=1e-8)


def test_either_way_round():
    points = np.random.default_rng(2).uniform(1, 19, (50, 2))
    assert place.weights(ELL[::-1], points)[:, ::-1] == pytest.approx(place.weights(ELL, points))


def _edges(closed: Path) -> list[Path]:
    return [Path(c[None]) for c in closed.cubics]


def test_matched_boundaries_go_edge_by_edge():
    source = _edges(paths.polyline([(0, 0), (10, 0), (10, 10), (0, 10)], close=True))
    target = [curve.arc_through((0, 0), (5, -2), (10, 0)), *source[1:]]
    a, b = place.matched(source, target, 0.5)
    assert a.shape == b.shape == (80, 2)
    mapped = place.MeanValueMap(a, b)
    # equal shares of the arc length of every edge: the middle of the bottom is the bottom of the arc
    assert mapped.apply([(5, 0)])[0] == pytest.approx((5, -2), abs=1e-6)
    with pytest.raises(GeometryError, match="same edges in both"):
        place.matched(source, target[:3], 0.5)


@pytest.mark.parametrize("tolerance", [1, 0.1, 0.01, 0.001])
def test_a_carried_path_is_within_its_tolerance(tolerance):
    source = _edges(paths.polyline([(0, 0), (100, 0), (100, 150), (0, 150)], close=True))
    target = [
        curve.arc_through((0, 0), (60, -15), (120, 0)),
        curve.arc_through((120, 0), (100, 80), (110, 160)),
        paths.polyline([(110, 160), (10, 140)]),
        curve.arc_through((10, 140), (30, 60), (0, 0)),
    ]
    mapped = place.MeanValueMap(*place.matched(source, target, 2.0))
    line = curve.smooth_through([(0, 70), (30, 90), (60, 60), (100, 75)])
    carried = place.carry_path(line, mapped, tolerance=tolerance)
    flat = paths.flatten(line, 0.05)
    miss = [curve.nearest(carried, q)[2] for q in mapped.apply(flat.points)]
    assert max(miss) <= tolerance
    assert curve.corners(carried, least_deg=0.3) == []


def test_ends_of_a_carried_path_are_exact_and_corners_stay():
    mapped = place.MeanValueMap(ELL, ELL * 1.5)
    line = paths.polyline([(0, 50), (10, 60), (20, 50)])
    carried = place.carry_path(line, mapped, start=(0, 76), end=(30, 74.5), tolerance=0.01)
    assert tuple(carried.start) == (0, 76)
    assert tuple(carried.end) == (30, 74.5)
    assert len(curve.corners(carried, least_deg=30)) == 1
    assert carried.cubics.shape[0] == 2


def test_polygons_that_do_not_match_are_refused():
    with pytest.raises(GeometryError, match="same number of corners"):
        place.MeanValueMap(ELL, ELL[:4])
    with pytest.raises(GeometryError, match="at least three corners"):
        place.MeanValueMap(ELL[:2], ELL[:2])
