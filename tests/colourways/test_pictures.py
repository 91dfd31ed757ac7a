"""Painted pictures held to baselines that were looked at: the choir's front, and its photo before and after."""

import cv2
import numpy as np
import pytest

from mockup.colourways.colourway import Laid
from mockup.colourways.paint import paint_drawing, recolour
from mockup.garment.drawing import view_from_drawing
from mockup.garment.mask import cut_out
from mockup.garment.picture_svg import read_svg_drawing
from mockup.samples import choir
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import garment_panels
from swatches.cloth import Cloth, plain
from swatches.colour import srgb_to_linear
from swatches.photo import read_photo

WIDE = 640


def solid(colour):
    linear = srgb_to_linear(np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)], np.uint8))
    return Cloth(plain("cloth", "cloth", colour), None, 1.0, np.asarray(linear, np.float32))


def striped():
    tile = np.full((40, 40, 3), (0.55, 0.5, 0.4), np.float32)
    tile[:, 10:20] = (0.02, 0.05, 0.14)
    return Cloth(plain("stripe", "stripe", "#888888"), tile, 0.5, tile.reshape(-1, 3).mean(0))


def test_the_choirs_front_in_cloth(same_picture):
    found = view_from_drawing(read_svg_drawing(choir.FRONT_SVG), name="front", side="front", picture="front.png")
    view = found.view.with_scale(0.55)
    lines = [line for line in choir.LINES if line.side == "front"]
    panels = garment_panels([view], lines)["front"]
    size = (WIDE, round(WIDE * view.size[1] / view.size[0]))
    masks = panel_masks(view, panels, found.labels, size)
    cloths = {p.id: (striped() if p.area == "body" and p.number == 2 else solid("#7a1f2b"), Laid()) for p in panels}
    cloths["neck-facing-1"] = (solid("#10141c"), Laid())
    seams = [view.path_to_px(path) for _, path in placed_lines(view, lines, [view])]
    same_picture(paint_drawing(view, found.ink, masks, cloths, size=size, seams=seams), "painted-front")


def test_a_photo_before_and_after(same_picture):
    photo = read_photo(choir.FORM_PHOTO).rgb8
    mask = cut_out(photo, around=choir.FORM_AROUND)
    after = recolour(photo, mask.alpha, srgb_to_linear(np.array([30, 90, 60], np.uint8)))
    both = np.hstack([photo, after])
    size = (WIDE, round(WIDE * both.shape[0] / both.shape[1]))
    same_picture(np.asarray(cv2.resize(both, size, interpolation=cv2.INTER_AREA)), "photo-before-after")


def test_the_comparison_can_fail(same_picture):
    photo = read_photo(choir.FORM_PHOTO).rgb8
    both = np.hstack([photo, photo])
    size = (WIDE, round(WIDE * both.shape[0] / both.shape[1]))
    with pytest.raises(pytest.fail.Exception, match="far off"):
        same_picture(np.asarray(cv2.resize(both, size, interpolation=cv2.INTER_AREA)), "photo-before-after")
