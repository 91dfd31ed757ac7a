"""Lines that end on other lines."""

import math
from dataclasses import replace

import numpy as np
import pytest

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.stylelines import anchor, edges, presets
from mockup.stylelines.carry import carry
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.styleline import End, LineKind, StyleLine
from mockup.stylelines.to_split import make_split
from swatches.errors import GeometryError


@pytest.fixture
def yoke(front):
    return presets.yoke(front, 140, dip=30)[0]


def down(distance, side, number=2, **more):
    return StyleLine(
        f"line-{number}", "seam", "front", LineKind.STRAIGHT, End("line-1", "start", distance, side),
        End("hem", "hem", 100, side), **more,
    )  # fmt: skip


def test_an_end_is_exact_on_the_other_line(front, yoke):
    over = anchor.place_line(yoke, front)
    for side in ("left", "right"):
        placed = anchor.place_line(down(80, side), front, [yoke])
        segment, t, away = curve.nearest(over, placed.start)
        assert away < 1e-9
        at = paths.distance_at(over, segment, t)
        assert (at if side == "left" else paths.length(over) - at) == pytest.approx(80, abs=1e-8)


def test_from_the_middle_of_a_symmetrical_line(front, yoke):
    line = replace(down(0, None), start=End("line-1", "middle", 0.0), end=End("hem", "hem-centre", 0.0))
    placed = anchor.place_line(line, front, [yoke])
    assert placed.start == pytest.approx(edges.end_point(yoke.end, front), abs=1e-9)
    aside = replace(line, start=End("line-1", "middle", 25.0, "right"))
    assert anchor.place_line(aside, front, [yoke]).start[0] == pytest.approx(-25, abs=1)


def test_a_pair_that_hangs_from_a_yoke_makes_twins(front, yoke):
    lines = [yoke, down(80, "left", 2), down(80, "right", 3)]
    found = garment_panels([front], lines)["front"]
    assert [p.id for p in found if p.part == "body"] == ["front-1", "front-2L", "front-2R", "front-3"]
    one_sided = garment_panels([front], lines[:2])["front"]
    assert [p.id for p in one_sided if p.part == "body"] == ["front-1", "front-2", "front-3"]


def test_a_branch_follows_when_its_line_is_dragged(front, yoke):
    for low in (40, 60, 80):
        moved = replace(yoke, end=replace(yoke.end, distance_mm=yoke.end.distance_mm + low))
        branch = anchor.place_line(down(80, "left"), front, [moved])
        assert curve.nearest(anchor.place_line(moved, front), branch.start)[2] < 1e-9


def test_in_the_photo_they_still_meet(front, photo, yoke):
    lines = [yoke, down(80, "left", 2), down(80, "right", 3)]
    placed = {line.id: path for line, path in placed_lines(photo, lines[::-1], [front, photo])}
    assert curve.nearest(placed["line-1"], placed["line-2"].start)[2] < 1e-9
    found = garment_panels([front, photo], lines)
    assert [p.id for p in found["photo"] if p.part == "body"] == [p.id for p in found["front"] if p.part == "body"]


def test_the_split_names_no_edge_for_such_an_end(front, yoke):
    lines = [yoke, down(80, "left")]
    made = make_split([front], lines, garment_panels([front], lines)).views[0].lines[1]
    assert (made.start, made.start_side) == (None, None)
    assert (made.end.edge, made.end_side) == ("hem", "left")


def test_rings_are_refused(front):
    a = replace(down(50, None), id="line-1", start=End("line-2", "start", 50))
    b = replace(down(50, None), id="line-2", start=End("line-1", "start", 50))
    with pytest.raises(GeometryError, match="lines that end on each other in a ring"):
        anchor.place_line(a, front, [a, b])
    with pytest.raises(GeometryError, match="in a ring"):
        anchor.place_line(down(5, "left"), front, [down(5, "left", 1, carries="")])


def test_past_the_end_of_the_other_line(front, yoke):
    with pytest.raises(GeometryError, match=r"start of line 'seam': expected 0 to 4\d\d\.\d mm along the line 'yoke'"):
        anchor.place_line(down(900, "left"), front, [yoke])
    with pytest.raises(GeometryError, match=r"a landmark on the line 'yoke' \(middle, start\), got 'top'"):
        anchor.place_line(replace(down(9, "left"), start=End("line-1", "top", 9, "left")), front, [yoke])


def test_a_dragged_end_finds_the_other_line(front, yoke):
    path = anchor.place_line(yoke, front)
    x, y = paths.point_at_distance(path, 80)
    found = anchor.end_at(front, (x + 0.3, y - 0.8), lines=[(yoke, path)])
    assert (found.edge, found.landmark, found.side) == ("line-1", "start", "left")
    assert found.distance_mm == pytest.approx(80, abs=0.6)
    middle = anchor.end_at(front, (1.0, float(edges.end_point(yoke.end, front)[1])), lines=[(yoke, path)])
    assert (middle.landmark, middle.distance_mm) == ("middle", 0.0)
    straight = presets.diagonal(front, 100, 200, first=7)[0]
    path = anchor.place_line(straight, front)
    found = anchor.end_at(front, tuple(paths.point_at_distance(path, 90)), lines=[(straight, path)])
    assert (found.edge, found.landmark, found.side) == ("line-7", "start", None)
    assert math.isclose(found.distance_mm, 90, abs_tol=1e-6)


def test_a_branch_is_carried_with_its_line(front, back, yoke):
    branch = replace(down(80, "left"), end=End("side", "hem", 120, "left"))
    with pytest.raises(GeometryError, match="Carry 'yoke' to the back first"):
        carry(branch, [yoke, branch], "back")
    over = replace(carry(yoke, [yoke, branch], "back", [front, back]), carries="line-1")
    carried = carry(branch, [yoke, branch, over], "back", [front, back])
    assert carried.end.edge == over.id
    placed = anchor.place_line(carried, back, [over])
    assert curve.nearest(anchor.place_line(over, back), placed.end)[2] < 1e-9
    assert np.hypot(*(placed.start - edges.end_point(carried.start, back))) < 1e-12
