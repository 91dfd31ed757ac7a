"""A photo given as a drawing is known for one, and no drawing is taken for a photo, whatever lies under or on it.

Drawings and photos are those of the tests' own generators; limits are our own, measured on them.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from random_drawings import random_drawing
from rendered import rendered
from sewn_garments import GARMENTS
from skimage import data
from test_paper import WHITE, inked, on_a_table, photographed_ruled, ruled, shadowed, squared

from mockup import journey
from mockup.garment.picture_kind import Traits, traits_of
from mockup.samples import choir
from swatches.photo import read_photo

FEW = range(0, 12, 2)


def filled(seed, lit=False):
    """A drawing with its areas filled with colours, as flats are; ``lit``: scanned with a lamp at one side."""
    drawing = random_drawing(seed, clean=True, size=800)
    rng = np.random.default_rng(seed)
    colours = np.vstack([[255, 255, 255], rng.integers(40, 255, (20, 3))])
    flat = np.minimum(colours[drawing.truth], drawing.picture).astype(np.float32)
    if lit:
        flat = flat * np.linspace(0.7, 1, flat.shape[1])[None, :, None] + rng.normal(0, 4, flat.shape)
    return np.clip(flat, 0, 255).astype(np.uint8)


def under_a_lamp(tee, how):
    """Paper in a soft shadow, in the light of a lamp at one side, or darker to its corners; lines as black as ink."""
    h, w = tee.truth.shape
    y, x = np.mgrid[0:h, 0:w] / np.array([h, w])[:, None, None]
    if how == "soft shadow":
        hard = np.where(x + y < 0.9, 0.55, 1.0).astype(np.float32)
        light = cv2.GaussianBlur(hard, (0, 0), 40)
    else:
        light = 1 - 0.6 * x if how == "lamp" else 1 - (x - 0.5) ** 2 - (y - 0.5) ** 2
    return inked(tee, light[..., None] * WHITE)


@pytest.mark.parametrize("seed", FEW)
def test_no_drawing_is_a_photo(seed):
    drawing = random_drawing(seed, size=800)
    for picture in (drawing.picture, 255 - random_drawing(seed, clean=True, size=800).picture, filled(seed)):
        assert not traits_of(picture).photo
    assert not traits_of(filled(seed, lit=True)).photo


def test_no_paper_and_no_light_makes_a_drawing_a_photo():
    tee = random_drawing(11, kind="tee", side="front", clean=True, size=800)
    h, w = tee.truth.shape
    plain = np.ones((h, w, 3)) * WHITE
    pictures = {
        "ruled": inked(tee, ruled(h, w)), "squared": inked(tee, squared(h, w)), "shadow": inked(tee, shadowed(h, w)),
        "brown": inked(tee, plain / WHITE * (170, 130, 90)), "pencil": inked(tee, plain, 0.22),
        "table": on_a_table(tee)[0], "ruled on a table": photographed_ruled(tee)[0],
        **{how: under_a_lamp(tee, how) for how in ("soft shadow", "lamp", "corners")},
        **{kind: sewn.scan() for kind, sewn in GARMENTS.items()},
        **{name: read_photo(choir.HERE / f"{name}.png").rgb8 for name in ("front", "back")},
    }  # fmt: skip
    assert [name for name, picture in pictures.items() if traits_of(picture).photo] == []
    assert traits_of(pictures["soft shadow"]).shading > 0.07, "shaded like a photo, and told by its edges"


@pytest.mark.parametrize("seed", FEW)
def test_a_photo_is_one(seed):
    scene = rendered(seed, size=600)
    assert traits_of(scene.photo).photo
    on = scene.alpha[..., None]
    assert traits_of(np.rint(scene.photo * on + 255 * (1 - on)).astype(np.uint8)).photo, "cut out, on white"


def test_real_photographs_are_photos_and_scanned_print_is_none():
    # Photographs and scans of scikit-image; what each shows is told in its documentation.
    photos = (data.astronaut, data.camera, data.chelsea, data.coffee, data.coins, data.rocket)
    assert [p.__name__ for p in photos if not traits_of(p()).photo] == []
    assert [p.__name__ for p in (data.page, data.text) if traits_of(p()).photo] == []


def test_the_picture_on_a_form_is_a_photo_and_lines_of_an_svg_are_none():
    assert journey.looks_like_photo(choir.FORM_PHOTO)
    assert not journey.looks_like_photo(choir.FRONT_SVG)
    assert not Traits(lines=0.0, shading=0.2, bare_edges=0.0).photo
