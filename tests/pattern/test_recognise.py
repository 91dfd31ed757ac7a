"""Which piece is which: the demo's own pieces without their names are found again in the picture's split."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tunic import lines_on_piece

from mockup import journey
from mockup.files import svg
from mockup.files.outlines import edges_at_corners
from mockup.geometry import path as paths
from mockup.geometry.curve import arc_through
from mockup.pattern.anchors import anchored
from mockup.pattern.piece import EdgeKind, HowToCut, Piece, mirrored
from mockup.pattern.recognise import named_as, suggest
from mockup.samples import choir
from mockup.split.split import Anchor


@pytest.fixture(scope="module")
def split(tmp_path_factory, put_tunic):
    folder = tmp_path_factory.mktemp("recognise") / "tunic"
    project = put_tunic(folder)
    return journey.split_of(replace(project, lines=choir.LINES))


def bare(piece):
    """A piece as a stranger's plain outline: no names, its edges from corner to corner."""
    return piece.with_(
        name="piece-1", edges=edges_at_corners(piece.outline), view="", grainline=None, notches=(), marks=(),
        how=HowToCut.SINGLE, area="body",
    )  # fmt: skip


@pytest.mark.parametrize("name", ["front", "back"])
def test_a_body_is_found_with_its_edges_and_its_fold(split, name):
    true = next(p for p in svg.read_pieces(choir.PIECES) if p.name == name)
    found = suggest(bare(true), split)
    assert (found[0].view, found[0].area) == (name, "body")
    assert found[0].sure
    assert len(found) == 1 or found[0].miss < found[1].miss / 4
    again = named_as(bare(true), found[0], split)
    assert [e.name for e in again.edges] == [e.name for e in true.edges]
    assert again.how is HowToCut.ON_FOLD
    assert [e.kind is EdgeKind.FOLD for e in again.edges] == [e.kind is EdgeKind.FOLD for e in true.edges]
    for mine, theirs in zip(again.edges, true.edges, strict=True):
        assert np.allclose(mine.path.start, theirs.path.start, atol=1e-6)
    # what it is for: the view's lines lie on the newly named piece as they do on the true one
    view = next(v for v in split.views if v.name == name)
    pairs = zip(lines_on_piece(view, again), lines_on_piece(view, true), strict=True)
    assert all(np.allclose(a.path.cubics, b.path.cubics, atol=1e-6) for a, b in pairs)


@pytest.mark.slow
def test_the_mirror_image_is_the_other_half(split):
    true = next(p for p in svg.read_pieces(choir.PIECES) if p.name == "front")
    as_drawn, turned = suggest(bare(true), split)[0], suggest(bare(mirrored(true)), split)[0]
    assert {as_drawn.side, turned.side} == {"left", "right"}
    assert turned.view == "front"


def test_another_area_and_nothing_at_all(split):
    pocket = next(p for p in svg.read_pieces(choir.PIECES) if p.name == "pocket")
    assert suggest(bare(pocket), split)[0].area == "pocket"
    thin = bare(pocket)
    stretch = np.array([[12.0, 0.0, 0.0], [0.0, 0.4, 0.0]])
    thin = thin.with_(edges=tuple(replace(e, path=paths.transformed(e.path, stretch)) for e in thin.edges))
    assert suggest(thin, split) == ()


SKIRT = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="600" height="800" fill="none" stroke="#111" stroke-width="3">'
    '<path d="M198 130 Q150 300 110 690 Q300 730 490 690 Q450 300 402 130 Q300 148 198 130 Z"/></svg>'
)


def quarter(turn: int):
    """A flared quarter of a skirt, 690 mm long and much wider than it is drawn; mm, y up."""
    waist = arc_through([0.0, 670.0], [110.0, 667.0], [230.0, 690.0])
    side = paths.polyline([(230.0, 690.0), (350.0, 50.0)])
    hem = arc_through([350.0, 50.0], [150.0, 5.0], [0.0, 0.0])
    ring = paths.joined([waist, side, hem, paths.polyline([(0.0, 0.0), (0.0, 670.0)])])
    ring = paths.transformed(ring, [[turn, 0, 0], [0, 1, 0]])
    return Piece(name="piece-1", edges=edges_at_corners(ring if turn < 0 else paths.reversed_path(ring)))


@pytest.mark.parametrize("turn", [1, -1])
def test_a_quarter_of_a_flared_skirt_is_a_half_on_the_fold_and_its_distances_count_from_the_waist(tmp_path, turn):
    """The drawing shows the skirt half as wide as its cloth lies; the points on the straight edges by Pythagoras."""
    measures = [("front", "centre-front", "670mm")]
    project = journey.new_project(tmp_path / "skirt", SKIRT.encode(), None, measures=measures)
    split = journey.split_of(project)
    piece = quarter(turn)
    found = suggest(piece, split)
    assert found[0].side
    known = named_as(piece, found[0], split)
    assert sorted(e.name for e in known.edges) == ["centre-front", "hem", "side", "waist"]
    assert known.how is HowToCut.ON_FOLD
    on_side = anchored(Anchor("side", "waist", 120.0), found[0].side, known, "line")
    assert np.linalg.norm(on_side - np.array([turn * 230.0, 690.0])) == pytest.approx(120.0, abs=1e-6)
    on_centre = anchored(Anchor("centre-front", "neck", 90.0), None, known, "line")
    assert on_centre == pytest.approx([0.0, 580.0], abs=1e-6)
