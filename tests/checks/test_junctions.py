"""Layer counts as counted by hand, and orders of sewing of small nets of lines."""

import numpy as np
import pytest

from mockup.geometry import path as paths
from mockup.split.junctions import junctions, stuck
from mockup.split.layers import Pressed, layers, reach_mm

# (seams that end in the seam on one side, on the other) → pressed open, all one way
BY_HAND = [((0, 0), 2, 3), ((1, 0), 4, 7), ((1, 1), 4, 9), ((2, 1), 6, 13)]


@pytest.mark.parametrize(("meeting", "opened", "one_way"), BY_HAND)
def test_layers_as_counted_by_hand(meeting, opened, one_way):
    assert layers(*meeting, Pressed.OPEN) == opened
    assert layers(*meeting, Pressed.ONE_WAY) == one_way
    assert layers(*meeting[::-1], Pressed.ONE_WAY) == one_way


def test_seams_that_nest_at_an_underarm():
    assert layers(1, 1, Pressed.NESTED) == 7  # four panels, pressed to one side, nested: 7


@pytest.mark.parametrize(("meeting", "opened", "one_way"), BY_HAND)
def test_layers_as_folded_paper(meeting, opened, one_way):
    """A second witness: lay the flaps out as rectangles at the junction and count how many cover each spot."""

    def part(seams, pressed):
        # cells left and right of the seams that end here: cloth once, and each seam's two flaps
        cells = [1, 1]
        for _ in range(seams):
            cells = [cells[0] + 1, cells[1] + 1] if pressed is Pressed.OPEN else [cells[0], cells[1] + 2]
        return cells

    for pressed, wanted in ((Pressed.OPEN, opened), (Pressed.ONE_WAY, one_way)):
        above, below = (part(n, pressed) for n in meeting)
        if pressed is Pressed.OPEN:
            piled = [2 * v for v in (*above, *below)]
        else:
            piled = [2 * a + b for a, b in zip(above, below, strict=True)]
        assert max(piled) == wanted


def test_fewer_than_no_seams_are_refused():
    with pytest.raises(ValueError, match="fewer"):
        layers(-1, 0, Pressed.OPEN)


def test_how_far_a_junction_reaches():
    # the sum of the two facing allowances pressed open, its own pressed one way
    assert reach_mm(15, 10, Pressed.OPEN) == 25
    assert reach_mm(15, 10, Pressed.ONE_WAY) == 15


def line(*points):
    return paths.polyline(points)


SQUARE = paths.polyline([(0, 0), (300, 0), (300, 300), (0, 300)], close=True)


def test_a_line_that_ends_on_another_is_sewn_first():
    bar, stem = line((0, 150), (300, 150)), line((150, 150), (150, 300))
    (found,) = junctions({"bar": bar, "stem": stem}, SQUARE)
    assert found.point == pytest.approx((150, 150))
    assert (found.through, found.left, found.right) == (("bar",), ("stem",), ())
    assert stuck([found]) == ()


def test_lines_that_end_from_both_sides_make_a_cross():
    net = {"bar": line((0, 150), (300, 150)), "up": line((150, 150), (150, 300)), "down": line((150, 150), (150, 0))}
    (found,) = junctions(net, SQUARE)
    assert (found.left, found.right) == (("up",), ("down",))
    assert found.through == ("bar",)
    assert stuck([found]) == ()


def test_lines_that_cross_can_be_sewn_either_way():
    net = {"a": line((0, 100), (300, 200)), "b": line((100, 0), (200, 300))}
    (found,) = junctions(net, SQUARE)
    assert set(found.through) == {"a", "b"}
    assert found.ends == ()
    assert stuck([found]) == ()
    # exact: x = 100 + t·100, y = 300 t and y = 100 + x/3 meet at t = 0.5
    assert found.point == pytest.approx((150, 150), abs=1e-6)


def test_a_ring_of_lines_that_end_on_each_other_has_no_straight_order():
    ring = {
        "a": line((0, 100), (200, 100)),
        "b": line((200, 0), (200, 200)),
        "c": line((300, 200), (100, 200)),
        "d": line((100, 300), (100, 100)),
    }
    found = junctions(ring, SQUARE)
    assert len(found) == 4
    assert {frozenset(group) for group in stuck(found)} == {frozenset("abcd")}
    opened = {**ring, "a": line((0, 100), (300, 100))}  # one of them runs through: now there is an order
    assert stuck(junctions(opened, SQUARE)) == ()


def test_three_lines_that_end_at_one_point_have_none_either():
    middle = (150.0, 150.0)
    star = {str(k): line((150 + 150 * np.cos(v), 150 + 150 * np.sin(v)), middle) for k, v in enumerate((0, 2, 4))}
    found = junctions(star)
    assert any(len(group) == 3 for group in stuck(found))


def test_random_nets_of_lines_that_run_right_through_always_have_an_order():
    rng = np.random.default_rng(7)
    for _ in range(20):
        net = {str(k): line((0, rng.uniform(0, 300)), (300, rng.uniform(0, 300))) for k in range(4)}
        net |= {f"v{k}": line((rng.uniform(0, 300), 0), (rng.uniform(0, 300), 300)) for k in range(3)}
        found = junctions(net, SQUARE)
        assert stuck(found) == ()
