import math

import numpy as np
import pytest

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.stylelines import anchor, edges, presets
from mockup.stylelines.carry import carry
from mockup.stylelines.seam import angle_at_start, seam_v, trued
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError


@pytest.fixture
def pair(front, back):
    line = presets.yoke(front, 60, edge="side", landmark="underarm")[0]
    return line, carry(line, [line], "back", [front, back])


def test_a_level_line_meets_a_flared_side_at_the_angle_of_the_flare(front, pair):
    line = pair[0]
    edge, along = edges.along_edge(line.start, front)
    x, y = paths.tangent(edge.path, *paths.locate(edge.path, along))
    flare = math.degrees(math.atan2(abs(x), abs(y)))
    # derived: the seam leans inwards going up by the flare, the line runs level inwards
    assert angle_at_start(line, front) == pytest.approx(90 - flare)
    assert flare > 0.5


def test_level_lines_in_front_and_behind_make_a_shallow_v(front, back, pair):
    v = seam_v(*pair, front, back)
    assert v == pytest.approx(2 * (90 - angle_at_start(pair[0], front)))
    assert v > 1


def test_trued_lines_run_straight_on(front, back, pair):
    steep = [
        StyleLine("line-1", "sweep", s, LineKind.STRAIGHT, End("side", "underarm", 60), End(f"centre-{s}", "neck", d),
                  symmetric=True)
        for s, d in (("front", 330), ("back", 418))
    ]  # fmt: skip
    for lines in (pair, steep):
        both = [trued(line, view) for line, view in zip(lines, (front, back), strict=True)]
        assert abs(seam_v(*lines, front, back)) > 1
        assert abs(seam_v(*both, front, back)) < 0.1
        for line, was, view in zip(both, lines, (front, back), strict=True):
            now, before = anchor.place_line(line, view), anchor.place_line(was, view)
            assert (line.start, line.end) == (was.start, was.end)
            assert now.start == pytest.approx(before.start, abs=1e-12)
            away = [curve.nearest(before, p)[2] for p in paths.flatten(now, 0.1).points]
            assert max(away) < 5
            # only the last centimetres are bent
            flat = paths.flatten(now, 0.1).points
            inner = np.abs(flat[:, 0]) < 210
            assert max(np.array(away)[inner]) < 0.5


def test_a_line_from_side_to_side_is_trued_at_both_ends(front):
    line = StyleLine(
        "line-1", "slope", "front", LineKind.STRAIGHT, End("side", "underarm", 60, "left"),
        End("side", "underarm", 200, "right"),
    )  # fmt: skip
    bent = trued(line, front)
    backwards = StyleLine("line-1", "slope", "front", bent.kind, bent.end, bent.start, bent.through[::-1])
    for one in (bent, backwards):
        assert angle_at_start(one, front) == pytest.approx(90, abs=0.1)


def test_only_at_a_shared_seam(front, back):
    yoke = presets.yoke(front, 140)[0]
    with pytest.raises(GeometryError, match="Only where front and back meet"):
        trued(yoke, front)
    with pytest.raises(GeometryError, match="starts on the same shared seam"):
        seam_v(yoke, yoke, front, back)
