"""Darts in the order of construction and the side they are pressed to (common practice, no source)."""

import dataclasses

import numpy as np
import pytest
from tunic import half

from mockup.geometry import path as paths
from mockup.pattern.construction import construction
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.dart_pressing import lies_level, pressed_leg
from mockup.pattern.darts import openings, with_dart
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece, mirrored, moved
from mockup.pattern.unfold import unfolded


def skirt(slope: float = 0.0) -> Piece:
    """A quarter of a skirt on the fold at x = 0, 250 × 600 mm, its waist higher at the side by ``slope`` mm."""
    points = [(0, 0), (250, 0), (250, 600 + slope), (0, 600)]
    edges = tuple(
        Edge(name, paths.polyline([points[k], points[(k + 1) % 4]]), kind, 0.0 if kind is EdgeKind.FOLD else 10.0)
        for k, (name, kind) in enumerate(
            [("hem", EdgeKind.HEM), ("side", EdgeKind.SEAM), ("waist", EdgeKind.SEAM), ("centre", EdgeKind.FOLD)]
        )
    )
    return Piece("skirt", edges, grainline=((100, 100), (100, 500)), how=HowToCut.ON_FOLD)


def waisted(slope: float = 0.0) -> Piece:
    return with_dart(skirt(slope), "waist dart", "waist", 110.0, 30.0, 120.0)


def busted() -> Piece:
    return with_dart(half(), "bust dart", "side", 330.0, 24.0, 135.0)


def line(*points, name="yoke"):
    return CutLine(name, name, paths.polyline(points))


def said(pieces) -> list[str]:
    return [s.what for s in construction(pieces)]


def onto(piece: Piece) -> np.ndarray:
    """End of the leg on whose side the cloth of the first dart lies."""
    dart = piece.darts[0]
    ends = openings(piece, dart)
    return ends[pressed_leg(piece, np.array(dart.tip), ends)]


def other(piece: Piece) -> np.ndarray:
    dart = piece.darts[0]
    ends = openings(piece, dart)
    return ends[1 - pressed_leg(piece, np.array(dart.tip), ends)]


def test_an_upright_dart_goes_toward_the_centre_and_a_level_one_down():
    assert onto(waisted())[0] < other(waisted())[0]  # the centre is at x = 0
    assert onto(busted())[1] < other(busted())[1]
    flipped = mirrored(busted())
    assert onto(flipped)[1] < other(flipped)[1]  # whichever way the edge runs
    flipped = mirrored(waisted())
    assert onto(flipped)[0] > other(flipped)[0]


def test_both_darts_of_a_whole_piece_go_toward_its_middle():
    whole, _ = unfolded(waisted())
    for dart in whole.darts:
        ends = openings(whole, dart)
        k = pressed_leg(whole, np.array(dart.tip), ends)
        assert abs(ends[k][0]) < abs(ends[1 - k][0])


def test_a_piece_that_lies_on_its_side_is_judged_by_its_grainline_and_hem():
    turned = moved(waisted(), np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0]]))  # a quarter turn: the hem on the right
    dart = turned.darts[0]
    assert not lies_level(turned, np.array(dart.tip), openings(turned, dart))
    assert onto(turned)[1] < other(turned)[1]  # the fold is at y = 0


@pytest.mark.parametrize("slope", [-60.0, 60.0])
def test_the_cap_fits_the_side_that_the_dart_is_pressed_to(slope):
    # Derived: folded and pressed toward the centre, the cloth of the dart is its mirror image about the inner leg, and
    # its end must lie on the waist there, which is a straight line.
    piece = waisted(slope)
    dart, tip = piece.darts[0], np.array(piece.darts[0].tip)
    inner = onto(piece)
    way = (inner - tip) / np.linalg.norm(inner - tip)
    edge = paths.flatten(piece.edge("waist").path, 0.01).points
    at = np.r_[0, np.cumsum(np.linalg.norm(np.diff(edge, axis=0), axis=1))]
    cap = edge[(at >= dart.from_mm - 1e-6) & (at <= dart.to_mm + 1e-6)]
    middle = sum(openings(piece, dart)) / 2 - tip
    near = [p for p in cap if abs((p - tip) @ [middle[1], -middle[0]]) / np.linalg.norm(middle) < 1e-6]
    assert len(near) == 1  # the peak, on the fold of the dart
    folded = tip + (2 * np.outer(way, way) - np.eye(2)) @ (near[0] - tip)
    assert folded[1] == pytest.approx(600 + slope * folded[0] / 250, abs=1e-6)
    assert 0 < folded[0] < inner[0]


def test_darts_are_sewn_before_the_style_seams_and_pressed():
    low, high = cut_piece(waisted(), [line((-10, 300), (260, 300))], 10).children
    steps = said((low, high))
    dart = next(k for k, s in enumerate(steps) if s.startswith("Sew the waist dart of skirt 2"))
    assert "from the waist to the tip" in steps[dart]
    assert steps[dart].endswith("Press it toward the centre.")
    assert dart < next(k for k, s in enumerate(steps) if s.startswith("Sew seam"))
    assert not any("runs over" in s for s in steps)
    assert next(s for s in said([busted()]) if s.startswith("Sew the bust dart of front")).endswith("Press it down.")
    assert not any("dart" in s for s in said([half()]))


def test_a_dart_on_a_sleeve_is_pressed_as_the_pattern_says():
    sleeve = dataclasses.replace(waisted(), area="sleeve")
    assert any(s.endswith("Press it as your pattern says, on both sides alike.") for s in said([sleeve]))


def test_a_dart_that_a_line_cuts_through_is_told():
    below, yoke = sorted(
        cut_piece(waisted(), [line((-10, 540), (260, 540))], 10).children, key=lambda c: -c.finished_area_mm2
    )
    steps = said((below, yoke))
    cut = next(k for k, s in enumerate(steps) if s.startswith("Yoke runs over the waist dart"))
    assert f"mouth in {below.name} has a peak of its own" in steps[cut]
    assert f"In {yoke.name} the dart is folded away already" in steps[cut]
    assert steps[cut + 1].startswith(f"Sew the waist dart of {below.name}")
    assert "from seam a to the tip" in steps[cut + 1]
    assert not any(s.startswith(f"Sew the waist dart of {yoke.name}") for s in steps)


def test_a_line_into_the_tip_makes_the_legs_a_seam_that_goes_on():
    tip = waisted().darts[0].tip
    children = cut_piece(waisted(), [line((tip[0], -10), tip, name="panel")], 10).children
    steps = said(children)
    legs = next(k for k, s in enumerate(steps) if "what was the waist dart" in s)
    assert steps[legs].endswith("from its wide end to its tip; panel goes on from there in one go.")
    assert legs < next(k for k, s in enumerate(steps) if s.startswith("Sew seam") and ", panel" in s)
    assert not any("the waist dart, first leg seam" in s for s in steps)


def test_after_a_line_into_the_tip_every_part_is_known_as_part_of_the_patterns_own_edge():
    piece = waisted()
    dart, tip = piece.darts[0], piece.darts[0].tip
    result = cut_piece(piece, [line((tip[0], -10), tip, name="panel")], 10)
    stretches = sorted((o.from_mm, o.to_mm) for o in result.origins if o.edge == "waist")
    size = paths.length(piece.edge("waist").path)
    assert stretches == [pytest.approx((0, dart.from_mm)), pytest.approx((dart.to_mm, size))]
    assert {o.edge for o in result.origins} <= {e.name for e in piece.edges}
    legs = {f"{c.name}:{e.name}": e.mate for c in result.children for e in c.edges if "leg" in e.name}
    assert len(legs) == 2
    assert all(legs[mate] == key for key, mate in legs.items())


@pytest.mark.parametrize("at", [40.0, 200.0])
def test_where_a_dart_is_folded_away_the_grain_still_runs_along_the_fold(at):
    # A piece on the fold lies with it on the cloth's fold, which runs along the grain: both have to be parallel.
    piece = with_dart(skirt(), "waist dart", "waist", at, 30.0, 120.0)
    for child in cut_piece(piece, [line((-10, 540), (260, 540))], 10).children:
        fold = child.fold.path.end - child.fold.path.start
        grain = np.subtract(*child.grainline)
        assert abs(fold[0] * grain[1] - fold[1] * grain[0]) / np.linalg.norm(fold) / np.linalg.norm(grain) < 1e-9
