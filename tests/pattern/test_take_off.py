"""Allowances taken off and put on again."""

import dataclasses

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from test_allowance import polygon
from tunic import half

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.pattern.allowance import cut_line, cut_outline
from mockup.pattern.darts import openings, sewn_length, with_dart
from mockup.pattern.piece import Edge, EdgeKind, Notch, Piece
from mockup.pattern.take_off import take_off
from swatches.errors import GeometryError


def test_a_rectangle_loses_its_allowance():
    # Steiner: 200 × 300 with 15 mm, mitred, is 230 × 330 = 75,900 mm²; taken off it is 60,000 again.
    inner = take_off(polygon([(-15, -15), (215, -15), (215, 315), (-15, 315)], 15))
    assert inner.finished_area_mm2 == pytest.approx(60_000)
    assert paths.bounds(inner.outline) == pytest.approx((0, 0, 200, 300))
    assert cut_outline(inner).area_mm2 == pytest.approx(75_900)


@settings(deadline=None, max_examples=30)
@given(st.sampled_from(["front", "back"]), st.floats(3, 15), st.floats(3, 15))
def test_taken_off_and_put_on_is_the_same_outline(side, first, second):
    # Allowance is taken off or put on without loss.
    drawn = half(side)
    widths = {"hem": 30.0, "side": first, "armhole": second, "shoulder": first, "neck": second}
    drawn = drawn.with_(edges=tuple(dataclasses.replace(e, allowance_mm=widths.get(e.name, 0.0)) for e in drawn.edges))
    again = cut_line(take_off(drawn))
    before = shapely.Polygon(paths.flatten(drawn.outline, 1e-3).points)
    after = shapely.Polygon(paths.flatten(again, 1e-3).points)
    points = shapely.points(np.asarray(before.exterior.coords))
    apart = shapely.distance(after.exterior, points)
    corners = shapely.multipoints([e.path.start for e in drawn.edges])
    along = shapely.distance(corners, points) > 45
    assert along.sum() > 50
    assert apart[along].max() < 0.02
    # At a corner the last stretch of a curve comes back as its tangent, which at the underarm's tip is 2 mm off.
    assert apart.max() < 2.5
    assert after.area == pytest.approx(before.area, rel=2e-4)


def test_an_inner_corner_is_run_on():
    corner = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 300), (0, 300)]
    inner = take_off(polygon(corner, 10))
    assert inner.finished_area_mm2 == pytest.approx(180 * 80 + 80 * 200)
    assert cut_outline(inner).area_mm2 == pytest.approx(40_000)


def test_arcs_become_parallel_arcs():
    # parallel arc: R 110 less 10 mm is R 100, its quarter 157.080 long.
    piece = Piece(
        "quarter",
        (
            Edge("straight", paths.polyline([(0, 0), (110, 0)]), EdgeKind.CUT),
            Edge("round", circular_arc((0, 0), 110, 0, 90), allowance_mm=10),
            Edge("fold", paths.polyline([(0, 110), (0, 0)]), EdgeKind.FOLD),
        ),
    )
    inner = take_off(piece)
    assert paths.length(inner.edge("round").path) == pytest.approx(157.080, abs=1e-3)
    assert inner.finished_area_mm2 == pytest.approx(np.pi * 100**2 / 4, rel=3e-6)


def test_notches_move_square_inside():
    piece = polygon([(0, 0), (200, 0), (200, 300), (0, 300)], 15).with_(notches=(Notch("e1", 100.0, 2),))
    (notch,) = take_off(piece).notches
    assert notch == Notch("e1", pytest.approx(85.0), 2)


def test_what_is_too_small_is_refused():
    with pytest.raises(GeometryError, match=r"nothing is left|too short"):
        take_off(polygon([(0, 0), (20, 0), (20, 300), (0, 300)], 15))
    with pytest.raises(GeometryError, match="0 mm or more"):
        take_off(polygon([(0, 0), (200, 0), (200, 300), (0, 300)], [15, -1, 0, 0]))
    disc = Piece("disc", (Edge("round", circular_arc((0, 0), 12, 0, 360), allowance_mm=15),))
    with pytest.raises(GeometryError, match="allowance of round"):
        take_off(disc)


def test_the_allowance_of_an_opening_is_taken_off_outwards():
    # Derived: the cut line of a round opening of 40 mm with 10 mm has 30 mm; taken off it has 40 again.
    cut = circular_arc((100, 100), 30, 360, 0)
    square = polygon([(-10, -10), (210, -10), (210, 210), (-10, 210)], 10)
    back = take_off(square.with_(holes=((Edge("round", cut, allowance_mm=10.0),),)))
    assert back.finished_area_mm2 == pytest.approx(40_000 - np.pi * 1600, rel=1e-6)
    assert cut_outline(back).area_mm2 == pytest.approx(220**2 - np.pi * 900, rel=1e-6)


def test_a_dart_drawn_to_the_cut_line_opens_where_its_legs_meet_the_stitch_line():
    drawn = with_dart(polygon([(0, 0), (200, 0), (200, 300), (0, 300)], 15), "dart", "e0", 80.0, 40.0, 115.0)
    back = take_off(drawn)
    (dart,) = back.darts
    first, second = openings(back, dart)
    # Derived: of a dart 115 mm deep and 40 mm wide, 100 mm are left, 40 · 100/115 wide.
    assert second - first == pytest.approx((40 * 100 / 115, 0), abs=1e-6)
    assert sewn_length(back, "e0") == pytest.approx(170 - 40 * 100 / 115, abs=1e-6)
    with pytest.raises(GeometryError, match="deeper than the allowance"):
        take_off(with_dart(polygon([(0, 0), (200, 0), (200, 300), (0, 300)], 15), "dart", "e0", 80.0, 40.0, 12.0))
