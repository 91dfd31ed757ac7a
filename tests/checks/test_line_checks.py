"""The checks that look at lines, on the clean drawing of the built-in tunic."""

from dataclasses import replace

import pytest

from mockup.checks.corners import kink
from mockup.checks.ends import bulk
from mockup.checks.finding import Grade
from mockup.checks.lines import sliver, tight_curve
from mockup.checks.scene import scene
from mockup.colourways.colourway import Colourway
from mockup.geometry import path as paths
from mockup.journey.checking import cut_areas
from mockup.pattern.piece import Edge, HowToCut, Piece
from mockup.proposals.mend import mends
from mockup.stylelines.styleline import End, LineKind, StyleLine


def level(distance, landmark="underarm", name="level"):
    drop = End("centre-front", "hem", 400.0)
    return StyleLine("line-1", name, "front", LineKind.STRAIGHT, End("side", landmark, distance), drop, symmetric=True)


def looked_at(tunic, *lines):
    return scene(replace(tunic, lines=lines), Colourway("A"))


def test_an_end_among_other_seams_is_found(tunic):
    # within the sum of the two facing allowances + 5 mm of a junction (our own choice): 15 + 15 + 5
    (found,) = bulk(looked_at(tunic, level(20.0)))
    assert (found.grade, found.limit, found.place.view) == (Grade.WARN, "35 mm", "front")
    assert "20 mm from the underarm" in found.figure
    x, y = found.place.point
    px = tunic.view("front").landmarks
    assert min(abs(x - px["underarm-left"][0]), abs(x - px["underarm-right"][0])) < 5
    assert 0 < (y - px["underarm-left"][1]) * tunic.view("front").mm_per_px < 25
    assert bulk(looked_at(tunic, level(36.0))) == []


def test_a_line_that_ends_on_a_line_is_no_end_among_seams(tunic):
    base = level(120.0)
    branch = StyleLine(
        "line-2",
        "branch",
        "front",
        LineKind.STRAIGHT,
        End("hem", "hem", 150.0, side="left"),
        End("line-1", "start", 150.0, side="left"),
    )
    assert bulk(looked_at(tunic, base, branch)) == []


def test_a_kink_at_the_middle_is_measured(tunic):
    down = StyleLine(
        "line-1", "chevron", "front", LineKind.STRAIGHT,
        End("side", "underarm", 60.0), End("centre-front", "hem", 200.0), symmetric=True, kinked=True,
    )  # fmt: skip
    found = kink(looked_at(tunic, down))
    assert len(found) == 1
    assert float(found[0].figure.removesuffix("°")) > 30
    assert found[0].place.point[0] == pytest.approx(tunic.view("front").mirror_x, abs=0.5)
    smooth = replace(down, kind=LineKind.ARC, kinked=False)
    assert kink(looked_at(tunic, smooth)) == []


def test_a_tight_curve_is_warned_of_and_a_tighter_one_stops(tunic):
    def bend(depth):
        return StyleLine(
            "line-1", "bend", "front", LineKind.CURVE, End("side", "underarm", 150.0, side="right"),
            End("side", "underarm", 150.0, side="left"), through=((-0.1, 0.6), (0.0, 0.6 - depth), (0.1, 0.6)),
        )  # fmt: skip

    (gentle,) = tight_curve(looked_at(tunic, bend(0.02)))
    (sharp,) = tight_curve(looked_at(tunic, bend(0.25)))
    assert (gentle.grade, sharp.grade) == (Grade.WARN, Grade.STOP)
    assert tight_curve(looked_at(tunic, level(150.0))) == []


def test_a_sliver_is_found_by_its_width(tunic):
    a = level(150.0, name="a")
    b = replace(a, id="line-2", name="b", start=End("side", "underarm", 170.0), end=End("centre-front", "hem", 380.0))
    found = sliver(looked_at(tunic, a, b))
    assert len(found) == 1
    assert 12 < float(found[0].figure.split()[0]) < 20.5
    narrow = replace(tunic, lines=(a, b))
    (mend,) = mends(narrow, found[0])
    moved = mend.line.start.distance_mm - narrow.line(mend.line.id).start.distance_mm
    assert abs(moved) <= 25, "no farther than it takes"
    assert sliver(looked_at(tunic, *mend.lines)) == []


def test_seams_of_the_tunic(tunic):
    seen = looked_at(tunic, level(150.0))
    pairs = {frozenset((s.a, s.b)): s for s in seen.seams}
    line = pairs[frozenset(("front-1", "front-2"))]
    drawn = paths.length(seen.placed[0][2])
    assert line.upper == "front-1"
    assert not line.upright
    assert line.length_mm == pytest.approx(drawn, rel=0.02)
    side = pairs[frozenset(("front-1", "back-1"))]  # side seams down to the line, and shoulders
    assert side.length_mm > 2 * 150
    armhole = pairs[frozenset(("front-1", "sleeve-1L"))]
    assert armhole.upper == "front-1"
    assert pairs[frozenset(("front-2", "pocket-1L"))].upper == "front-2"
    assert frozenset(("front-1", "pocket-1L")) not in pairs


def test_cut_areas_count_folds_and_pairs():
    square = paths.polyline([(0, 0), (100, 0), (100, 100), (0, 100)], close=True)
    piece = Piece("p", (Edge("e", square),), fabric="wool")
    assert cut_areas([piece, piece.with_(how=HowToCut.PAIR, count=2), piece.with_(fabric="oat")]) == pytest.approx(
        {"wool": 50_000.0, "oat": 10_000.0}
    )
