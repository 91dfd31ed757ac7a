"""Which piece is which: the demo's own pieces without their names are found again in the picture's split."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tunic import lines_on_piece

from mockup import journey
from mockup.files import svg
from mockup.files.outlines import edges_at_corners
from mockup.pattern.piece import EdgeKind, HowToCut, mirrored
from mockup.pattern.recognise import named_as, suggest
from mockup.samples import choir


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
    from mockup.geometry import path as paths

    thin = thin.with_(edges=tuple(replace(e, path=paths.transformed(e.path, stretch)) for e in thin.edges))
    assert suggest(thin, split) == ()
