"""Linings and facings of a garment that is cut: they stay whole, unless it is asked for."""

import dataclasses

import pytest
from tunic import half, level_line, split_of, view

from mockup.geometry import path as paths
from mockup.geometry.ruler import Ruler
from mockup.pattern.apply_split import apply_split
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from mockup.pattern.walk import walk
from mockup.split.split import Anchor, SplitLine


def test_linings_stay_whole_and_take_no_cloth_of_the_shell():
    piece = half()
    lining = piece.with_(name="front lining", layer="lining")
    cut = apply_split([piece, lining], split_of(view(piece, [level_line(piece, 200)])))
    kept = next(p for p in cut.pieces if p.layer == "lining")
    assert kept.name == "front lining"
    assert kept.fabric == ""
    assert kept.number == 3
    assert kept.finished_area_mm2 == piece.finished_area_mm2
    assert any("front lining" in w for w in cut.warnings)


def neck_facing(length, **more):
    """A facing of half the front's neck, cut on the fold, to be sewn to the neck."""
    neck = half("front").edge("neck").path
    inner = paths.transformed(neck, [[length, 0, 0], [0, length, 600 * (1 - length)]])
    points = [(110 * length, 715 + (600 - 715) * (1 - length)), (170, 700), (0, 530)]
    edges = (
        Edge("neck", inner, allowance_mm=10, mate="front:neck", start_name="neck", end_name="neck-centre"),
        Edge("centre-front", paths.polyline([inner.end, points[2]]), EdgeKind.FOLD),
        Edge("outer", paths.polyline([points[2], points[1]])),
        Edge("end", paths.polyline([points[1], inner.start]), allowance_mm=10),
    )
    return Piece("facing", edges, view="front", layer="facing", grainline=((50, 540), (50, 590)), how=HowToCut.ON_FOLD)


def test_a_facing_stays_whole_and_is_walked_against_the_rejoined_edge():
    # The line ends on the neck, so that the neck is in two parts; the facing's neck is as long as both together.
    front = half("front")
    armhole, neck = Ruler(front.edge("armhole").path), Ruler(front.edge("neck").path)
    start, end = armhole.point(armhole.total - 60), neck.point(70)
    line = SplitLine(
        "l", "shoulder panel", paths.polyline([start, end]).to_tuples(), False,
        Anchor("armhole", "shoulder", 60.0), Anchor("neck", "neck", 70.0), "left", "left",
    )  # fmt: skip
    flipped = paths.transformed(paths.polyline([start, end]), [[-1, 0, 0], [0, 1, 0]]).to_tuples()
    twin = dataclasses.replace(line, id="r", path=flipped, start_side="right", end_side="right")
    seen = view(front, [line, twin])
    made = apply_split([front, neck_facing(1.0)], split_of(seen))
    facing = next(p for p in made.pieces if p.layer == "facing")
    assert len(facing.edges) == 4
    row = next(r for r in walk(made.pieces).rows if "facing:neck" in (*r.one, *r.other))
    # The panels left and right are of two cloths, so three parts of the neck meet the facing, both sides counted.
    assert sorted(len(side) for side in (row.one, row.other)) == [1, 3]
    assert row.difference_mm < 1e-6
    short = next(
        r
        for r in walk(apply_split([front, neck_facing(0.97)], split_of(seen)).pieces).rows
        if "facing:neck" in (*r.one, *r.other)
    )
    assert short.difference_mm == pytest.approx(2 * 0.03 * paths.length(front.edge("neck").path), rel=1e-6)


def test_a_lining_is_cut_by_the_lines_only_when_that_is_asked_for():
    front = half("front")
    lining = front.with_(name="front lining", layer="lining")
    split = split_of(view(front, [level_line(front, 200)]))
    assert len(apply_split([front, lining], split).pieces) == 3
    assert len(apply_split([front, lining], split, split_layers=("lining",)).pieces) == 4
