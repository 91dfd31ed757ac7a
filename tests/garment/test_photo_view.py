"""Views of photos: the parts and points of a drawing, from an outline."""

import numpy as np
import pytest
from rendered import rendered

from mockup.garment.photo_view import view_from_mask
from mockup.geometry import path as paths
from swatches.errors import PictureError


@pytest.mark.parametrize("seed", [0, 4, 8])
def test_a_tee_has_sleeves_and_armholes(seed):
    scene = rendered(seed, size=900)
    found = view_from_mask(scene.alpha, name="photo", side="front", picture="p.jpg")
    view = found.view
    assert {a.id for a in view.areas} == {"body", "sleeve-left", "sleeve-right"}
    assert {e.name for e in view.edges} >= {"armhole-left", "armhole-right", "side-left", "side-right", "neck", "hem"}
    assert view.kind == "photo"
    assert found.labels.shape == scene.alpha.shape
    assert set(np.unique(found.labels)) == {0, 1, 2, 3}
    areas = sum(abs(paths.signed_area(paths.from_tuples(a.outline))) for a in view.areas)
    assert areas == pytest.approx((scene.alpha > 0.5).sum(), rel=0.01)


def test_given_points_win():
    scene = rendered(0, size=900)
    plain = view_from_mask(scene.alpha, name="photo", side="front", picture="p.jpg").view
    x, y = plain.landmarks["shoulder-left"]
    given = view_from_mask(
        scene.alpha, name="photo", side="front", picture="p.jpg", landmarks={"shoulder-left": (x - 12, y - 6)}
    ).view
    assert given.landmarks["shoulder-left"][0] < x - 6


def test_the_sides_of_a_back_photo_swap():
    scene = rendered(0, size=700)
    view = view_from_mask(scene.alpha, name="photo", side="back", picture="p.jpg").view
    assert view.landmarks["underarm-right"][0] > view.mirror_x


def test_an_empty_mask():
    with pytest.raises(PictureError, match="outline"):
        view_from_mask(np.zeros((100, 100), np.float32), name="p", side="front", picture="p.jpg")


def test_points_off_the_photo():
    scene = rendered(0, size=500)
    with pytest.raises(PictureError, match="point"):
        view_from_mask(scene.alpha, name="p", side="front", picture="p.jpg", landmarks={"hem-left": (-5, 9999)})
