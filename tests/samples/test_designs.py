"""The choir's design and the two small ones, all the way from the drawing to the cut pieces."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from mockup.files.svg import read_pieces
from mockup.garment.drawing import view_from_drawing
from mockup.garment.picture_svg import read_svg_drawing
from mockup.garment.scale import set_measure
from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.pattern.apply_split import CutSet, apply_split
from mockup.pattern.piece import HowToCut
from mockup.samples import choir, draft, examples, flat
from mockup.split.split import Split
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.styleline import StyleLine
from mockup.stylelines.to_split import make_split
from swatches.samples.cupboard import SWATCHES


@pytest.fixture(scope="module")
def views() -> tuple[View, ...]:
    found = []
    for side, svg in (("front", choir.FRONT_SVG), ("back", choir.BACK_SVG)):
        view = view_from_drawing(read_svg_drawing(svg), name=side, side=side, picture=svg.name).view
        found.append(set_measure(view, *choir.MEASURES[side]))
    return tuple(found)


def split(views: Sequence[View], lines: Sequence[StyleLine]) -> Split:
    return make_split(views, lines, garment_panels(views, lines))


def cut(views: Sequence[View], lines: Sequence[StyleLine]) -> CutSet:
    return apply_split(read_pieces(choir.PIECES), split(views, lines))


def test_one_measure_gives_the_scale_at_which_it_was_drawn(views: tuple[View, ...]) -> None:
    for view in views:
        assert view.mm_per_px == pytest.approx(flat.MM_PER_PX, rel=1e-4)


def test_every_panel_of_the_choirs_design_has_a_cloth(views: tuple[View, ...]) -> None:
    panels = {p.id for some in garment_panels(views, choir.LINES).values() for p in some}
    cloth = {s.id for s in SWATCHES}
    choices = choir.colourways()
    assert [c.letter for c in choices] == ["A", "B", "C", "D"]
    for choice in choices:
        assert set(choice.fabrics) == panels
        assert set(choice.fabrics.values()) <= cloth
    assert {f for c in choices for f in c.fabrics.values()} == cloth, "every cloth is worn"


def test_the_choirs_lines_are_one_symmetrical_and_one_curved_in_front_and_behind(views: tuple[View, ...]) -> None:
    done = split(views, choir.LINES)
    ends = {}
    for view in done.views:
        assert all(line.symmetric for line in view.lines)
        for line in view.lines:
            path = paths.from_tuples(line.path)
            middle = paths.point_at_distance(path, paths.length(path) / 2)
            ends[view.name, line.name] = (path.start[1], middle[1] - path.start[1])
            assert paths.tangent(path, len(path) // 2, 0.0)[1] == pytest.approx(0, abs=1e-3), "square to the fold"
        assert ends[view.name, "yoke"][1] < -20, "curved"
    assert ends["front", "yoke"][1] == pytest.approx(ends["back", "yoke"][1], abs=8.0)


def test_the_choirs_pieces(views: tuple[View, ...]) -> None:
    done = cut(views, choir.LINES)
    assert done.proof.ok
    assert [p.name for p in done.pieces][:3] == ["front yoke", "middle front", "front hem band"]
    assert len(done.pieces) == 10
    for piece in done.pieces:
        if piece.area == "body":
            assert piece.how is HowToCut.ON_FOLD
    bands = [p for p in done.pieces if "hem band" in p.name]
    assert [round(paths.length(b.edge("side").path), 3) for b in bands] == [choir.BAND_MM] * 2


def test_a_level_line_keeps_the_pieces_on_the_fold(views: tuple[View, ...]) -> None:
    done = cut(views, examples.LEVEL)
    assert done.proof.ok
    body = [p for p in done.pieces if p.area == "body"]
    assert len(body) == 4
    assert all(p.how is HowToCut.ON_FOLD and p.fold is not None for p in body)
    for piece in body:
        new = next(e for e in piece.edges if e.line_id)
        along = new.path.end - new.path.start
        assert abs(along[1]) / abs(along[0]) < 1e-3, "square to the fold"
        np.testing.assert_allclose(paths.length(new.path), np.hypot(*along), rtol=1e-9)
    uppers = [p for p in body if any(e.name == "armhole" for e in p.edges)]
    sides = [paths.length(p.edge("side").path) for p in uppers]
    assert sides == pytest.approx([examples.LEVEL_FROM_UNDERARM_MM] * 2, abs=1e-6)


def test_a_curve_is_carried_round_and_its_pieces_are_unfolded(views: tuple[View, ...]) -> None:
    done = cut(views, examples.CURVED)
    assert done.proof.ok
    body = [p for p in done.pieces if p.area == "body"]
    assert len(body) == 4
    assert all(p.how is HowToCut.SINGLE and p.right_side_up and p.fold is None for p in body)
    whole = {name: 2 * p.finished_area_mm2 for p in draft.pieces() if (name := p.view) and p.area == "body"}
    for side in ("front", "back"):
        parts = [p for p in body if p.view == side]
        assert sum(p.finished_area_mm2 for p in parts) == pytest.approx(whole[side], rel=1e-9)
    uppers = [p for p in body if any("armhole" in e.name for e in p.edges)]
    assert len(uppers) == 2
    for piece in uppers:
        sides = sorted(paths.length(e.path) for e in piece.edges if e.name.startswith("side"))
        assert sides == pytest.approx(sorted(examples.CURVED_FROM_UNDERARM_MM.values()), abs=1e-6)
