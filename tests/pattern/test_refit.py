"""One split on two sizes of a pattern."""

import dataclasses

import pytest
from tunic import half, level_line, split_of, view

from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.pattern.refit import what_moved


def graded(piece, sx, sy):
    return piece.with_(
        edges=tuple(
            dataclasses.replace(e, path=paths.transformed(e.path, [[sx, 0, 0], [0, sy, 0]])) for e in piece.edges
        )
    )


def test_the_saved_split_goes_onto_another_size_and_says_what_moved():
    piece = half()
    split = split_of(view(piece, [level_line(piece, 200)]))
    before = apply_split([piece], split)
    wider = graded(piece, 1.1, 1.0)
    after = apply_split([wider], split)
    assert after.proof.ok
    # The line's end keeps its typed distance along the new side seam.
    lower = next(p for p in after.pieces if any(e.name == "hem" for e in p.edges))
    assert paths.length(lower.edge("side").path) == pytest.approx(200, abs=0.01)
    rows = {(m.piece, m.edge): m for m in what_moved(before.pieces, after.pieces)}
    band = rows["1. front panel 1", "band"]
    assert band.after_mm / band.before_mm == pytest.approx(1.1, rel=0.002)
    assert "longer" in band.sentence
    assert ("1. front panel 1", "side") not in rows
    hem = rows["1. front panel 1", "hem"]
    assert hem.after_mm == pytest.approx(paths.length(wider.edge("hem").path))


def test_the_same_pattern_moves_nothing_and_missing_edges_are_said():
    piece = half()
    split = split_of(view(piece, [level_line(piece, 200)]))
    cut = apply_split([piece], split).pieces
    assert what_moved(cut, apply_split([piece], split).pieces) == ()
    gone = what_moved(cut, cut[:1])
    assert all("no edge" in m.sentence for m in gone)
    assert all("new edge" in m.sentence for m in what_moved(cut[:1], cut))
