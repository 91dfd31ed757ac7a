"""Views of photos: the parts and points of a drawing, from an outline."""

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
from rendered import rendered

from mockup.garment.photo_view import view_from_mask
from mockup.garment.roundness import ON_A_FORM_DEG, turn_seen
from mockup.geometry import path as paths
from swatches.errors import PictureError


@cache
def seen(seed):
    """A tee and its view, once for all tests; nobody changes them."""
    scene = rendered(seed, size=900)
    return scene, view_from_mask(scene.alpha, name="photo", side="front", picture="p.jpg")


@pytest.mark.parametrize("seed", [0, 4, 8])
def test_a_tee_has_sleeves_and_armholes(seed):
    scene, found = seen(seed)
    view = found.view
    assert {a.id for a in view.areas} == {"body", "sleeve-left", "sleeve-right"}
    assert {e.name for e in view.edges} >= {"armhole-left", "armhole-right", "side-left", "side-right", "neck", "hem"}
    assert view.kind == "photo"
    assert found.labels.shape == scene.alpha.shape
    assert set(np.unique(found.labels)) == {0, 1, 2, 3}
    areas = sum(abs(paths.signed_area(paths.from_tuples(a.outline))) for a in view.areas)
    assert areas == pytest.approx((scene.alpha > 0.5).sum(), rel=0.01)


def test_given_points_win():
    scene, found = seen(0)
    plain = found.view
    x, y = plain.landmarks["shoulder-left"]
    given = view_from_mask(
        scene.alpha, name="photo", side="front", picture="p.jpg", landmarks={"shoulder-left": (x - 12, y - 6)}
    ).view
    assert given.landmarks["shoulder-left"][0] < x - 6


def test_the_sides_of_a_back_photo_swap():
    scene, _ = seen(0)
    view = view_from_mask(scene.alpha, name="photo", side="back", picture="p.jpg").view
    assert view.landmarks["underarm-right"][0] > view.mirror_x


def test_an_empty_mask():
    with pytest.raises(PictureError, match="outline"):
        view_from_mask(np.zeros((100, 100), np.float32), name="p", side="front", picture="p.jpg")


def test_points_off_the_photo():
    scene, _ = seen(0)
    with pytest.raises(PictureError, match="point"):
        view_from_mask(scene.alpha, name="p", side="front", picture="p.jpg", landmarks={"hem-left": (-5, 9999)})


@pytest.mark.parametrize(("theta", "found"), [(0.0, 0.0), (40.0, 40.0), (80.0, ON_A_FORM_DEG)])
def test_roundness_by_how_much_narrower_a_garment_looks(theta, found):
    """A skirt in a drawing, seen on a cylinder: half widths shrink by sin θ / θ."""
    half = np.array([[0, 0], [180, 0], [300, 600], [0, 600]], float)
    t = np.radians(theta)
    views = []
    for squeeze in (1.0, 1.0 if theta == 0 else float(np.sin(t) / t)):
        ring = np.concatenate([half[1:3], half[1:3][::-1] * [-1, 1]]) * [squeeze, 1] + [350, 20]
        inside = np.zeros((660, 700), np.float32)
        cv2.fillPoly(inside, [np.round(ring).astype(np.int32)], 1)
        views.append(view_from_mask(inside, name="photo", side="front", picture="p.png").view)
    assert turn_seen(views[1], views[0]) == pytest.approx(found, abs=2.0)
    assert turn_seen(replace(views[1], edges=()), views[0]) == ON_A_FORM_DEG
