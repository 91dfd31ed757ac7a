"""Unfolding about the fold."""

import dataclasses

import numpy as np
import pytest
from tunic import half

from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.pattern.piece import HowToCut, Mark, Notch, counter_clockwise, mirrored
from mockup.pattern.unfold import unfold, unfolded
from swatches.errors import GeometryError


def test_the_whole_piece_has_twice_the_area_and_is_its_own_mirror_image():
    piece = half()
    whole = unfold(piece)
    assert whole.finished_area_mm2 == pytest.approx(2 * piece.finished_area_mm2, rel=1e-12)
    assert whole.outline.closed
    assert whole.how is HowToCut.SINGLE
    assert [e.name for e in whole.edges] == [
        "hem", "side-left", "armhole-left", "shoulder-left", "neck", "shoulder-right", "armhole-right", "side-right",
    ]  # fmt: skip
    twin = mirrored(whole)
    assert twin.finished_area_mm2 == pytest.approx(whole.finished_area_mm2, rel=1e-12)
    assert np.allclose(paths.bounds(twin.outline), paths.bounds(whole.outline), atol=1e-9)


def test_notches_and_marks_are_there_twice():
    pocket = Mark("pocket", paths.polyline([(80, 150), (180, 150)]))
    across = Mark("band", paths.polyline([(0, 400), (150, 400)]))
    piece = half().with_(notches=(Notch("side", 100.0), Notch("neck", 20.0)), marks=(pocket, across))
    whole = unfold(piece)
    assert len(whole.notches) == 4
    spots = sorted(
        tuple(np.round(paths.point_at_distance(whole.edge(n.edge).path, n.distance_mm), 6)) for n in whole.notches
    )
    mirror = sorted((-x, y) for x, y in spots)
    assert np.allclose(spots, mirror, atol=1e-5)
    assert len(whole.marks) == 3  # the pocket twice, the line across the fold once, joined
    joined = next(m for m in whole.marks if m.name == "band")
    assert paths.length(joined.path) == pytest.approx(300)


def test_a_fold_that_bends_is_refused():
    piece = half()
    bent = Path(np.array([[(0, 600), (0.2, 400), (0.2, 200), (0, 0)]], dtype=float))
    edges = [dataclasses.replace(e, path=bent) if e.name == "centre-front" else e for e in piece.edges]
    with pytest.raises(GeometryError, match=r"straight to 0\.05 mm"):
        unfold(piece.with_(edges=tuple(edges)))


def test_a_piece_without_a_fold_is_refused():
    with pytest.raises(GeometryError, match="a piece with a fold"):
        unfold(unfold(half()))


def test_a_neck_that_is_not_square_to_the_fold_is_warned_of():
    piece = half()
    assert unfolded(piece)[1] == ()
    slanted = Path(np.array([[(110, 715), (90, 660), (40, 620), (0, 600)]], dtype=float))
    edges = [dataclasses.replace(e, path=slanted) if e.name == "neck" else e for e in piece.edges]
    (warning,) = unfolded(piece.with_(edges=tuple(edges)))[1]
    assert "neck" in warning
    assert "26.6° from square" in warning  # atan(20/40) (derived)


def test_turning_a_piece_round_keeps_its_notches_in_place():
    piece = half().with_(notches=(Notch("side", 100.0),))
    turned = piece.with_(
        edges=tuple(dataclasses.replace(e, path=paths.reversed_path(e.path)) for e in reversed(piece.edges)),
        notches=(Notch("side", paths.length(piece.edge("side").path) - 100.0),),
    )
    again = counter_clockwise(turned)
    assert again.finished_area_mm2 > 0
    assert again.notches[0].distance_mm == pytest.approx(100.0)
