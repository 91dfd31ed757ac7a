"""Tracing masks: against shapes whose outline is known."""

import numpy as np
import pytest
import shapely
from skimage.measure import grid_points_in_poly

from mockup.geometry import path as paths
from mockup.geometry.trace import find_corners, fit_closed, fit_cubics, trace_mask


def filled(polygon, size=400):
    """A pixel is inside when its centre is."""
    return grid_points_in_poly((size, size), np.asarray(polygon)[:, ::-1] - 0.5)


def farthest(points, path):
    """Largest distance of the points from the curve."""
    line = shapely.LineString(paths.flatten(path, 0.005).points)
    return shapely.distance(line, shapely.points(points)).max()


def turned_square(degrees, half=110, centre=(200.3, 198.6)):
    a = np.deg2rad(degrees)
    r = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half @ r.T + centre


@pytest.mark.parametrize("degrees", [0, 7, 20, 45])
def test_a_square_keeps_its_four_corners(degrees):
    square = turned_square(degrees)
    [(outer, holes)] = trace_mask(filled(square))
    assert holes == []
    assert outer.closed
    ends = outer.cubics[:, 0]
    for corner in square:
        assert np.linalg.norm(ends - corner, axis=1).min() < 0.9
    assert len(outer) <= 8
    assert paths.signed_area(outer) == pytest.approx(220**2, rel=4e-3)


@pytest.mark.parametrize("radius", [12.0, 60.0, 150.0])
def test_a_circle_is_round(radius):
    a = np.linspace(0, 2 * np.pi, 900)
    [(outer, _)] = trace_mask(filled(np.stack([200 + radius * np.cos(a), 200 + radius * np.sin(a)], 1)))
    points = paths.flatten(outer, 0.01).points
    r = np.hypot(*(points - 200).T)
    assert np.abs(r - radius).max() < 0.75
    # smoothing draws the half level in by σ²/2r = 0.06 px at 12 px, and two cubics, which the tolerance of 0.75 px
    # allows for so small a circle, lie 0.25 px inside of it on average
    assert np.abs(r - radius).mean() < (0.35 if radius < 20 else 0.25)
    assert len(outer) <= 14
    # smooth: no corner at any join
    d0 = outer.cubics[:, 1] - outer.cubics[:, 0]
    d1 = np.roll(outer.cubics[:, 3] - outer.cubics[:, 2], 1, axis=0)
    cos = np.einsum("ij,ij->i", d0, d1) / np.linalg.norm(d0, axis=1) / np.linalg.norm(d1, axis=1)
    assert cos.min() > np.cos(np.deg2rad(1))


def test_holes_belong_to_their_part():
    mask = np.zeros((300, 300), bool)
    mask[20:200, 20:200] = True
    mask[60:100, 60:120] = False
    mask[230:280, 230:280] = True
    parts = trace_mask(mask)
    assert [len(h) for _, h in parts] == [1, 0]
    outer, (hole,) = parts[0]
    assert paths.signed_area(outer) > 0 > paths.signed_area(hole)
    assert paths.signed_area(hole) == pytest.approx(-40 * 60, rel=0.01)
    assert paths.signed_area(outer) == pytest.approx(180 * 180, rel=0.003)


def test_a_mask_that_touches_the_rim_closes_there():
    mask = np.zeros((100, 100), bool)
    mask[:, 40:] = True
    [(outer, _)] = trace_mask(mask)
    assert paths.bounds(outer) == pytest.approx((40, 0, 100, 100), abs=0.6)


def test_an_empty_mask_has_no_outline():
    assert trace_mask(np.zeros((20, 20), bool)) == []


def test_fitting_reproduces_one_cubic():
    truth = np.array([[0.0, 0], [40, 90], [120, -60], [200, 30]])
    t = np.linspace(0, 1, 300)
    points = paths.evaluate(np.broadcast_to(truth, (300, 4, 2)), t)
    found = fit_cubics(points, 0.05)
    assert farthest(points, found) < 0.06
    assert len(found) <= 4
    assert np.allclose([found.start, found.end], [truth[0], truth[3]])


@pytest.mark.parametrize("tolerance", [0.1, 0.5, 2.0])
def test_the_tolerance_holds_and_costs_segments(tolerance):
    x = np.linspace(0, 300, 601)
    points = np.stack([x, 40 * np.sin(x / 25)], 1)
    found = fit_cubics(points, tolerance)
    assert farthest(points, found) <= tolerance + 0.01
    assert len(found) <= {0.1: 24, 0.5: 16, 2.0: 14}[tolerance]


def test_corners_that_are_given_are_kept():
    points = np.array([[0.0, 0], [50, 0], [100, 0], [100, 50], [100, 100]])
    found = fit_cubics(points, 0.1, corners=[2])
    assert np.abs(found.cubics[:, [0, 3]] - [100, 0]).sum(-1).min() == 0
    assert paths.length(found) == pytest.approx(200)


def test_a_round_bend_is_no_corner_and_a_sharp_one_is():
    a = np.linspace(0, 2 * np.pi, 251)[:-1]
    assert len(find_corners(np.stack([40 * np.cos(a), 40 * np.sin(a)], 1))) == 0
    side = np.arange(100.0)
    ring = np.concatenate(
        [
            np.stack([side, 0 * side], 1),
            np.stack([0 * side + 100, side], 1),
            np.stack([100 - side, 0 * side + 100], 1),
            np.stack([0 * side, 100 - side], 1),
        ]
    )
    assert list(find_corners(ring)) == [0, 100, 200, 300]
    assert fit_closed(ring).closed
