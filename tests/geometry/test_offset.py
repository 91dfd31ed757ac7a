"""Parallel curves against closed forms and against distances measured by shapely."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.offset import offset_path, smooth_runs
from mockup.geometry.path import Path
from mockup.geometry.ruler import Ruler
from swatches.errors import GeometryError


def test_parallel_arcs_have_the_lengths_of_circles():
    # stitch line R 100, 90°: 157.080; cut edges at 10 mm: 172.788 and 141.372 (derived: (R ± w)·θ).
    quarter = circular_arc((0, 0), 100, 0, 90)
    assert paths.length(quarter) == pytest.approx(157.080, abs=5e-4)
    outer, inner = offset_path(quarter, 10), offset_path(quarter, -10)
    assert paths.length(outer) == pytest.approx(172.788, abs=5e-4)
    assert paths.length(inner) == pytest.approx(141.372, abs=5e-4)
    # The two cut edges of one curve differ by 2wθ at any R (derived).
    assert paths.length(outer) - paths.length(inner) == pytest.approx(2 * 10 * np.pi / 2, abs=1e-3)


def test_the_strip_of_a_parallel_has_area_lw_plus_half_theta_w2():
    # Strip area = L·w + θ·w²/2 on the outside of the bend (Steiner's formula).
    bend = Path(np.array([[(0, 0), (80, 0), (150, 40), (150, 120)]], dtype=float))  # turns by 90° to the left
    outer = offset_path(bend, 12, 1e-4)
    strip = paths.joined([bend, paths.polyline([bend.end, outer.end]), paths.reversed_path(outer)])
    strip = paths.joined([strip, paths.polyline([outer.start, bend.start])])
    expected = paths.length(bend) * 12 + np.pi / 2 * 12**2 / 2
    assert abs(paths.signed_area(strip)) == pytest.approx(expected, rel=1e-6)


points = st.tuples(st.floats(0, 300), st.floats(0, 300))


@settings(deadline=None)
@given(st.lists(points, min_size=4, max_size=4), st.floats(-20, 20).filter(lambda d: abs(d) > 0.5))
def test_every_point_of_a_parallel_is_at_its_distance(control, distance):
    curve = Path(np.array([control], dtype=float))
    size = np.linalg.norm(np.diff(curve.cubics[0], axis=0), axis=1)
    if size.min() < 20:
        return  # cusps are no stitch line
    try:
        parallel = offset_path(curve, distance, 0.001)
    except GeometryError as error:
        if "radius" not in str(error) or error.place is None:
            raise
        return
    base = shapely.LineString(paths.flatten(curve, 1e-4).points)
    away = shapely.distance(base, shapely.points(paths.flatten(parallel, 1e-3).points))
    # Nearer than the distance it may be only where the parallel runs past another part of the curve.
    assert away.max() <= abs(distance) + 0.02
    ends = np.array([parallel.start - curve.start, parallel.end - curve.end])
    assert np.linalg.norm(ends, axis=1) == pytest.approx(abs(distance), abs=1e-9)


def test_a_bend_as_tight_as_the_distance_is_refused_with_its_place():
    quarter = circular_arc((0, 0), 10, 0, 90)
    assert len(offset_path(quarter, -9.9))
    with pytest.raises(GeometryError, match="radius of 10 mm") as caught:
        offset_path(quarter, -10.5)
    assert np.hypot(*caught.value.place) == pytest.approx(10, abs=1e-3)


def test_smooth_runs_are_cut_at_corners_only():
    path = paths.joined([paths.polyline([(0, 0), (100, 0)]), circular_arc((100, 50), 50, -90, 0)])
    assert len(smooth_runs(path)) == 1
    path = paths.joined([path, paths.polyline([path.end, (0, 50)])])
    assert len(smooth_runs(path)) == 2


def test_ruler_agrees_with_the_path_module():
    wave = Path(
        np.array([[(0, 0), (30, 80), (70, -80), (100, 0)], [(100, 0), (120, 5), (150, 5), (180, 60)]], dtype=float)
    )
    ruler = Ruler(wave)
    assert ruler.total == pytest.approx(paths.length(wave), rel=1e-10)
    for d in (0, 1, 40, 120, ruler.total):
        i, t = ruler.locate(d)
        assert paths.distance_at(wave, i, t) == pytest.approx(d, abs=1e-7)
        assert ruler.at((i, t)) == pytest.approx(d, abs=1e-7)
        assert np.allclose(ruler.point(d), paths.point_at_distance(wave, d), atol=1e-7)
