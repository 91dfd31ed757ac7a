"""Placing on paper, whatever the pieces: apart from each other, inside the sheets, and no sheet too many."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box, union_all
from shapely.affinity import translate

from mockup.sheets.packing import GAP_MM, plan
from mockup.sheets.papers import PAPERS

shapes = st.lists(
    st.tuples(st.floats(8, 700), st.floats(8, 700), st.integers(3, 9), st.floats(0.3, 1.0)), min_size=1, max_size=7
)


def outline(width: float, height: float, corners: int, dent: float) -> np.ndarray:
    """A star-like polygon in a box; ``dent`` pulls every other corner in."""
    angles = math.tau * np.arange(2 * corners) / (2 * corners)
    reach = np.where(np.arange(2 * corners) % 2, dent, 1.0)
    return np.stack([width / 2 * reach * np.cos(angles), height / 2 * reach * np.sin(angles)], axis=1) + 1000.0


def check(outlines: list[np.ndarray], name: str) -> None:
    laid = plan(outlines, PAPERS[name])
    lying = [translate(Polygon(o), *m) for o, m in zip(outlines, laid.moves, strict=True)]
    for i, a in enumerate(lying):
        assert all(a.distance(b) >= GAP_MM - 1.0 for b in lying[i + 1 :])
    w, h = laid.grid.frame
    windows = [box(t.x, t.y, t.x + w, t.y + h) for t in laid.tiles]
    shown = union_all(windows).buffer(1e-6)
    assert all(shown.covers(p) for p in lying)
    assert all(any(window.intersects(p) for p in lying) for window in windows)
    assert [(t.row, t.column) for t in laid.tiles] == sorted((t.row, t.column) for t in laid.tiles)
    for k, seen in enumerate(laid.on_tile):
        assert list(seen) == [i for i, p in enumerate(lying) if p.intersects(windows[k])]


@settings(max_examples=12, deadline=None)
@given(shapes)
def test_a4(given_shapes):
    check([outline(*s) for s in given_shapes], "a4")


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a4", "letter", "a0", "roll36", "projector"])
@settings(max_examples=60, deadline=None)
@given(given_shapes=shapes)
def test_every_paper(name, given_shapes):
    check([outline(*s) for s in given_shapes], name)


def test_many_pieces_are_placed_too():
    rng = np.random.default_rng(7)
    outlines = [outline(*rng.uniform(30, 250, 2), int(rng.integers(3, 7)), 0.8) for _ in range(60)]
    check(outlines, "a4")


def test_the_same_pieces_lie_the_same_way():
    outlines = [outline(300, 500, 4, 0.9), outline(120, 90, 5, 0.7), outline(120, 90, 5, 0.7)]
    first, second = (plan(outlines, PAPERS["a4"]) for _ in range(2))
    assert first.moves == second.moves
    assert first.tiles == second.tiles


def test_pieces_that_each_go_to_the_next_sheet_to_stay_whole():
    # six of 150 × 170 mm: one a row of A4, and each gives up the rest of its row
    check([outline(150, 170, 4, 1.0)] * 6, "a4")
