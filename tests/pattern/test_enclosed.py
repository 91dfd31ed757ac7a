"""Enclosed shapes: let in, they leave a hole with a stitch line of its own; on top, the base stays whole."""

import dataclasses

import numpy as np
import pytest
from tunic import drawn_notches, half

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.pattern.allowance import cut_outline
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Mark, Piece, counter_clockwise, mirrored
from mockup.pattern.walk import seam_letters, walk
from swatches.errors import GeometryError


def rectangle(width=200.0, height=300.0, kind=EdgeKind.CUT, allowance=0.0):
    points = [(0, 0), (width, 0), (width, height), (0, height)]
    edges = tuple(
        Edge(f"edge {k + 1}", paths.polyline([points[k], points[(k + 1) % 4]]), kind, allowance) for k in range(4)
    )
    return Piece("plain", edges, grainline=((100, 20), (100, 280)))


def disc(x=100.0, y=150.0, radius=40.0, **more):
    return CutLine("round", "round", circular_arc((x, y), radius, 0, 360), **more)


LEVEL = CutLine("level", "level", paths.polyline([(-10, 150), (210, 150)]))


def test_a_shape_let_in_has_its_allowance_on_both_sides():
    # Steiner: a circle of radius r with allowance w on one side has r ± w, so 40 → 30 in the hole, 50 round
    # the shape; arcs of the tests are circles to 2e-6 in area.
    result = cut_piece(rectangle(), [disc()], 10)
    around, shape = result.children
    assert result.proof.ok, result.proof.sentence
    assert around.finished_area_mm2 == pytest.approx(60_000 - np.pi * 1600, rel=5e-6)
    assert cut_outline(around).area_mm2 == pytest.approx(60_000 - np.pi * 900, rel=5e-6)
    assert cut_outline(shape).area_mm2 == pytest.approx(np.pi * 2500, rel=5e-6)
    (hole,) = cut_outline(around).holes
    assert paths.length(hole) == pytest.approx(2 * np.pi * 30, abs=0.05)
    assert around.finished_area_mm2 + shape.finished_area_mm2 == pytest.approx(60_000, rel=1e-12)
    ((inner,),) = around.holes
    assert (inner.mate, shape.edge("round").mate) == ("plain 2:round", "plain 1:round")


def test_notches_of_a_round_seam_meet_and_tell_its_place():
    around, shape = cut_piece(rectangle(), [disc()], 10).children
    total = paths.length(shape.edges[0].path)
    mine = sorted(n.distance_mm for n in shape.notches)
    theirs = sorted(total - n.distance_mm for n in around.notches)
    assert mine == pytest.approx(theirs, abs=1e-9)
    assert len(mine) >= 2  # one mark alone would not say how far the seam was stretched
    gaps = np.diff([*mine, mine[0] + total])
    assert np.ptp(gaps) > 10  # turned by half a round they would not meet
    # Strokes stand in the allowance: outside the shape, inside the hole.
    for piece, low, high in ((shape, 40, 50), (around, 30, 40)):
        away = np.linalg.norm(drawn_notches(piece)[0] - (100, 150), axis=1)
        assert low - 2e-3 <= away.min() <= away.max() <= high + 2e-3  # drawn to 0.001 mm


def test_both_sides_of_a_hole_are_walked_and_lettered():
    children = cut_piece(rectangle(), [disc()], 10).children
    (row,) = walk(children).rows
    assert row.difference_mm < 1e-9
    assert row.notches_apart_mm == pytest.approx(0, abs=1e-9)
    assert seam_letters(children) == {"plain 1:round": "a", "plain 2:round": "a"}


def test_an_opening_too_small_for_its_allowance_is_refused_with_the_place():
    with pytest.raises(GeometryError, match="radius of 12 mm") as caught:
        cut_piece(rectangle(), [disc(radius=12)], 15)
    assert caught.value.place is not None
    slot = CutLine("slot", "slot", paths.polyline([(90, 50), (110, 50), (110, 250), (90, 250)], close=True))
    with pytest.raises(GeometryError, match="no room for 15 mm"):
        cut_piece(rectangle(), [slot], 15)


def test_a_piece_with_a_hole_is_cut_again_through_it():
    around = cut_piece(rectangle(), [disc()], 10).children[0]
    result = cut_piece(around, [LEVEL], 10)
    assert result.proof.ok, result.proof.sentence
    assert len(result.children) == 2
    for child in result.children:
        assert child.holes == ()
        assert [e.line_id for e in child.edges].count("level") == 2  # one stretch on either side of the hole
        assert any(e.line_id == "round" for e in child.edges)
    assert sum(c.finished_area_mm2 for c in result.children) == pytest.approx(around.finished_area_mm2, rel=1e-12)
    below, above = cut_piece(around, [CutLine("low", "low", paths.polyline([(-10, 60), (210, 60)]))], 10).children
    assert (len(below.holes), len(above.holes)) == (0, 1)
    with pytest.raises(GeometryError, match="closed shape inside"):
        cut_piece(around, [CutLine("in", "in", paths.polyline([(-10, 150), (100, 150)]))], 10)


def test_shapes_beside_and_within_each_other():
    lines = [disc(60, 80, 30), dataclasses.replace(disc(60, 80, 12), id="dot", name="dot"), LEVEL]
    result = cut_piece(rectangle(), lines, 5)
    assert result.proof.ok, result.proof.sentence
    areas = sorted(round(c.finished_area_mm2, 2) for c in result.children)
    expected = [np.pi * 144, np.pi * (900 - 144), 30_000 - np.pi * 900, 30_000]
    assert areas == pytest.approx(sorted(expected), rel=1e-5)
    assert [len(c.holes) for c in result.children].count(1) == 2


def test_marks_inside_a_shape_go_with_it():
    button = Mark("button", paths.polyline([(90, 150), (110, 150)]))
    around, shape = cut_piece(rectangle().with_(marks=(button,)), [disc()], 10).children
    assert (len(around.marks), len(shape.marks)) == (0, 1)


def test_on_top_the_piece_stays_whole_and_shows_the_place():
    result = cut_piece(rectangle(), [disc(on_top=True)], 10)
    base, shape = result.children
    assert result.proof.ok
    assert (base.name, base.finished_area_mm2, base.holes) == ("plain", 60_000, ())
    assert [(m.name, m.kind) for m in base.marks] == [("round", "placing")]
    assert (shape.name, shape.edges[0].mate) == ("round", "")
    assert cut_outline(shape).area_mm2 == pytest.approx(np.pi * 2500, rel=5e-6)  # the allowance to turn under
    assert paths.length(base.marks[0].path) == pytest.approx(paths.length(shape.edges[0].path), abs=1e-9)
    assert shape.grainline is not None


def test_a_shape_on_top_may_be_smaller_than_its_allowance():
    # Let in, a disc of 12 mm has no room for 15 mm inside its opening; turned under round the shape it has.
    base, shape = cut_piece(rectangle(), [disc(radius=12, on_top=True)], 15).children
    assert cut_outline(shape).area_mm2 == pytest.approx(np.pi * 27**2, rel=1e-5)
    assert base.holes == ()


def test_on_top_of_a_piece_that_is_cut_too_the_mark_is_shared_out():
    lower, upper, shape = cut_piece(rectangle(), [disc(on_top=True), LEVEL], 10).children
    assert shape.name == "round"
    drawn = sum(paths.length(m.path) for c in (lower, upper) for m in c.marks)
    assert drawn == pytest.approx(2 * np.pi * 40, rel=5e-6)


def test_on_the_fold_a_shape_over_the_fold_is_cut_on_it_and_one_beside_it_is_a_pair():
    beside = CutLine("pocket", "pocket", circular_arc((140, 250), 40, 0, 360), on_top=True)
    base, shape = cut_piece(half(), [beside], 10).children
    assert (base.how, shape.how) == (HowToCut.ON_FOLD, HowToCut.PAIR)
    over = CutLine("badge", "badge", circular_arc((0, 300), 50, -90, 90))
    around, badge = cut_piece(half(), [over], 10).children
    assert (around.how, badge.how) == (HowToCut.ON_FOLD, HowToCut.ON_FOLD)
    assert badge.finished_area_mm2 == pytest.approx(np.pi * 1250, rel=5e-6)


def test_a_hole_is_turned_round_and_mirrored_with_its_piece():
    around = cut_piece(rectangle(), [disc(60, 80)], 10).children[0]
    backwards = around.with_(
        holes=tuple(
            tuple(dataclasses.replace(e, path=paths.reversed_path(e.path)) for e in reversed(h)) for h in around.holes
        )
    )
    righted = counter_clockwise(backwards)
    assert righted.finished_area_mm2 == pytest.approx(around.finished_area_mm2)
    flipped = mirrored(around, 100.0)
    assert flipped.finished_area_mm2 == pytest.approx(around.finished_area_mm2, rel=1e-12)
    x0, _, x1, _ = paths.bounds(flipped.outlines[1])
    assert (x0, x1) == pytest.approx((100, 180), abs=1e-3)
    total = paths.length(flipped.outlines[1])
    before, after = (sorted(n.distance_mm for n in p.notches) for p in (around, flipped))
    assert after == pytest.approx(sorted(total - d for d in before))
