"""Painting: recolouring against rendered truth, panels without fringe, prints at true scale."""

from itertools import pairwise

import numpy as np
import pytest
from rendered import encode, rendered

from mockup.colourways.colourway import Laid
from mockup.colourways.drawn import PAPER
from mockup.colourways.laying import lay
from mockup.colourways.paint import paint_drawing, paint_photo, recolour
from mockup.garment.shading import shading
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from swatches.cloth import Cloth, plain
from swatches.colour import delta_e_2000, linear_to_lab, srgb_to_linear
from swatches.errors import PictureError

RED, NAVY, BLACK, CREAM, GREY = (
    (0.45, 0.03, 0.04), (0.01, 0.015, 0.06), (0.012, 0.012, 0.013), (0.75, 0.68, 0.5), (0.2, 0.2, 0.21),
)  # fmt: skip


def solid(colour, name="cloth"):
    return Cloth(plain(name, name, "#808080"), None, 1.0, np.asarray(colour, np.float32))


def tiled(tile, mm_per_px, name="print"):
    tile = np.asarray(tile, np.float32)
    return Cloth(plain(name, name, "#808080"), tile, mm_per_px, tile.reshape(-1, 3).mean(0))


def box_view(size=(200, 160), kind="drawing", mm_per_px=1.0):
    """A view that is one rectangular body over all of the picture."""
    w, h = size
    outline = paths.polyline([(0, 0), (0, h), (w, h), (w, 0)], close=True).to_tuples()
    body = Area("body", "body", 1, outline, "body")
    return View("front", "front", "f.png", kind, size, "", (body,), {}, w / 2, mm_per_px, True, (w / 2, 0.0))


def errors(scene, target):
    """CIEDE2000 of recolouring against the rendered truth: inside, and in mixed edge pixels."""
    found = recolour(scene.photo, scene.alpha, np.array(target))
    inside, edge = scene.alpha > 0.99, (scene.alpha > 0.02) & (scene.alpha < 0.98)
    a = scene.alpha[..., None]
    light = scene.light / np.percentile(scene.light[inside], 90)
    truth = a * np.array(target) * light[..., None] + (1 - a) * (scene.ground + scene.veil)
    off = delta_e_2000(linear_to_lab(srgb_to_linear(found).astype(float)), linear_to_lab(np.clip(truth, 0, 1)))
    return off[inside], off[edge]


@pytest.mark.parametrize(("source", "target"), [(RED, CREAM), (NAVY, RED), (CREAM, NAVY), (GREY, CREAM), (GREY, NAVY)])
def test_solids_against_rendered_truth(source, target):
    """Our aim: mean ≤ 0.5, 95th percentile ≤ 1.5."""
    inside, edge = errors(rendered(4, size=500, colour=np.array(source)), target)
    assert inside.mean() <= 0.5
    assert np.percentile(inside, 95) <= 1.5
    assert np.percentile(edge, 95) <= 2.5


@pytest.mark.parametrize("seed", [1, 6])
def test_black_to_cream(seed):
    """Reach: dark → light ≤ 1.2."""
    inside, _ = errors(rendered(seed, size=500, colour=np.array(BLACK)), CREAM)
    assert inside.mean() <= 1.2


def test_without_veil_control_black_cannot_be_made_light():
    scene = rendered(1, size=400, colour=np.array(BLACK), veil=0.008)
    light = scene.light / np.percentile(scene.light[scene.alpha > 0.99], 90)
    truth = linear_to_lab(np.clip(np.array(CREAM) * light[..., None], 0, 1))
    off = {}
    for flare in (0.0, 0.9):
        found = recolour(scene.photo, scene.alpha, np.array(CREAM), flare=flare)
        off[flare] = delta_e_2000(linear_to_lab(srgb_to_linear(found).astype(float)), truth)[scene.alpha > 0.99].mean()
    assert off[0.9] < 0.5 * off[0.0]


def test_outside_the_garment_the_photo_is_untouched():
    scene = rendered(4, size=400)
    found = recolour(scene.photo, scene.alpha, np.array(RED))
    outside = scene.alpha == 0
    assert np.array_equal(found[outside], scene.photo[outside])


def test_the_same_colour_gives_the_same_picture():
    scene = rendered(4, size=400, colour=np.array(RED), noise=0.0, veil=0.0)
    light = shading(scene.photo, scene.alpha)
    found = recolour(scene.photo, scene.alpha, light.source)
    assert np.abs(found.astype(int) - scene.photo).mean() < 0.6


def test_shading_is_the_light():
    scene = rendered(6, size=400, colour=np.array(GREY))
    found = shading(scene.photo, scene.alpha)
    inside = scene.alpha > 0.99
    true = scene.light / np.percentile(scene.light[inside], 90)
    assert np.abs(found.s - true)[inside].mean() < 0.02
    assert not found.printed


def test_a_printed_source_is_told():
    scene = rendered(4, size=400, colour=np.array(CREAM))
    y, x = np.indices(scene.alpha.shape)
    dots = ((x // 12 + y // 12) % 2 == 0) & (scene.alpha > 0.5)
    photo = scene.photo.copy()
    photo[dots] = (photo[dots] * [0.4, 0.5, 1.0]).astype(np.uint8)
    found = shading(photo, scene.alpha)
    assert found.printed
    assert any("print" in w for w in found.warnings)


def test_two_panels_share_their_border_and_no_old_colour_shows():
    """A red tee is painted half green, half blue: no pixel in it may stay reddish, edge pixels included."""
    scene = rendered(4, size=500, colour=np.array(RED), noise=0.0)
    h, w = scene.alpha.shape
    x = np.arange(w) + 0.5
    left = np.clip(w / 2 + 0.3 - x + 0.5, 0, 1).astype(np.float32)[None].repeat(h, 0)
    inside = (scene.alpha > 0.5).astype(np.float32)
    masks = {"a": left * inside, "b": (1 - left) * inside}
    green, blue = np.array([0.02, 0.4, 0.05]), np.array([0.03, 0.05, 0.5])
    cloths = {"a": (solid(green), Laid()), "b": (solid(blue), Laid())}
    light = shading(scene.photo, scene.alpha)
    view = box_view((w, h), "photo")
    found = srgb_to_linear(paint_photo(view, scene.photo, scene.alpha, light, masks, cloths))
    true_light = (scene.light / np.percentile(scene.light[scene.alpha > 0.99], 90))[..., None]
    cloth = left[..., None] * green + (1 - left[..., None]) * blue
    a = scene.alpha[..., None]
    truth = a * cloth * true_light + (1 - a) * (scene.ground + scene.veil)
    off = delta_e_2000(linear_to_lab(found.astype(float)), linear_to_lab(np.clip(truth, 0, 1)))
    touched = scene.alpha > 0.02
    assert np.percentile(off[touched], 99) < 4
    assert off[touched].mean() < 0.6


def test_a_panel_without_cloth_is_left_as_it_is():
    scene = rendered(4, size=400)
    h, w = scene.alpha.shape
    half = np.zeros((h, w), np.float32)
    half[:, : w // 2] = 1
    inside = (scene.alpha > 0.5).astype(np.float32)
    masks = {"a": half * inside, "b": (1 - half) * inside}
    light = shading(scene.photo, scene.alpha)
    found = paint_photo(box_view((w, h), "photo"), scene.photo, scene.alpha, light, masks, {"a": (solid(NAVY), Laid())})
    kept = np.zeros((h, w), bool)
    kept[:, w // 2 + 16 :] = True
    assert np.abs(found[kept].astype(int) - scene.photo[kept]).max() <= 1


def test_a_drawing_is_cloth_in_panels_paper_outside_and_ink_on_top():
    view = box_view()
    masks = {"a": np.zeros((160, 200), np.float32), "b": np.zeros((160, 200), np.uint8)}
    masks["a"][20:140, 20:100] = 1
    masks["b"][20:140, 100:180] = 255
    ink = np.zeros((160, 200), np.float32)
    ink[80, 10:190] = 1
    found = paint_drawing(view, ink, masks, {"a": (solid(RED), Laid()), "b": (solid(NAVY), Laid())})
    assert tuple(found[5, 5]) == PAPER
    assert tuple(found[50, 50]) == tuple(np.rint(encode(np.array(RED)) * 255).astype(int))
    assert tuple(found[50, 150]) == tuple(np.rint(encode(np.array(NAVY)) * 255).astype(int))
    assert found[80, 50].max() < 40  # dark ink on red
    assert found[80, 150].min() > 80  # pale ink on navy, or nobody would see it
    assert found[80, 12].max() < 40


def test_mixed_border_pixels_are_shares_of_light():
    view = box_view((40, 20))
    masks = {"a": np.full((20, 40), 0.5, np.float32), "b": np.full((20, 40), 0.5, np.float32)}
    found = paint_drawing(
        view, np.zeros((20, 40), np.float32), masks, {"a": (solid((1, 0, 0)), Laid()), "b": (solid((0, 1, 0)), Laid())}
    )
    assert np.abs(found[10, 20].astype(int) - [188, 188, 0]).max() <= 1  # sRGB of half light is 188


def test_seams_are_fine_and_dark_and_stay_on_the_body():
    view = box_view((200, 160), mm_per_px=1.0)
    masks = {"a": np.full((160, 200), 255, np.uint8)}
    seam = paths.polyline([(0, 60), (200, 60)])
    bare = paint_drawing(view, np.zeros((160, 200), np.float32), masks, {"a": (solid(CREAM), Laid())})
    sewn = paint_drawing(view, np.zeros((160, 200), np.float32), masks, {"a": (solid(CREAM), Laid())}, seams=[seam])
    changed = np.nonzero(np.abs(bare.astype(int) - sewn).max((1, 2)) > 3)[0]
    assert 50 < changed.min() <= 59
    assert 60 <= changed.max() < 70
    assert sewn[59:61].mean() < bare[59:61].mean() * 0.75


def test_output_sizes():
    view = box_view((400, 320))
    masks = {"a": np.ones((160, 200), np.float32)}
    found = paint_drawing(view, np.zeros((320, 400), np.float32), masks, {"a": (solid(RED), Laid())}, size=(200, 160))
    assert found.shape == (160, 200, 3)
    with pytest.raises(PictureError, match="panel a"):
        paint_drawing(view, np.zeros((320, 400), np.float32), masks, {"a": (solid(RED), Laid())})


def stripes(period_px=20):
    """Stripes along the length: columns dark and light."""
    tile = np.ones((period_px, period_px, 3), np.float32) * 0.8
    tile[:, : period_px // 2] = 0.05
    return tiled(tile, 0.5)  # a stripe repeats every 10 mm


@pytest.mark.parametrize(("grain", "axis"), [(0, 1), (90, 0)])
def test_a_stripe_repeats_at_its_true_scale(grain, axis):
    """10 mm at 0.25 mm a px are 40 px; with the grain level, stripes lie level."""
    seen = lay(stripes(), Laid(grain_deg=grain), (0, 0, 400, 400), mm_per_px=0.25, origin=(0, 0))[..., 0]
    line = seen.mean(1 - axis)
    line = line - line.mean()
    spectrum = np.abs(np.fft.rfft(line))
    assert 400 / spectrum.argmax() == 40
    assert seen.mean(axis).std() < 1e-3  # and nothing repeats along the grain


def test_the_grain_angle_turns_counter_clockwise():
    """A single bright row runs across; at 30° it must rise to the left on a picture (y down: to the upper left)."""
    tile = np.zeros((64, 64, 3), np.float32)
    tile[:, 32] = 1  # a line along the length
    seen = lay(tiled(tile, 1.0), Laid(grain_deg=30), (0, 0, 64, 64), mm_per_px=1.0, origin=(0, 0))[..., 0]
    y, x = np.nonzero(seen[10:50] > 0.5)
    one = seen[10:50, :] * (np.abs(np.arange(64) - x[np.argmin(y)])[None] < 40)
    rows = [int(r.argmax()) for r in one if r.max() > 0.5]
    slopes = [b - a for a, b in pairwise(rows) if abs(b - a) < 5]
    assert np.mean(slopes) == pytest.approx(np.tan(np.deg2rad(30)), abs=0.15)  # going down, it goes right


def test_mirrored_cloth_is_the_mirror_image():
    rng = np.random.default_rng(0)
    cloth = tiled(rng.random((32, 48, 3)), 1.0)
    one = lay(cloth, Laid(grain_deg=20), (0, 0, 100, 80), mm_per_px=0.7, origin=(50, 10))
    other = lay(cloth, Laid(grain_deg=20, mirrored=True), (0, 0, 100, 80), mm_per_px=0.7, origin=(50, 10))
    assert np.abs(one - other[:, ::-1]).max() < 2e-2


def test_an_offset_moves_the_print_by_mm_right_and_up():
    rng = np.random.default_rng(0)
    cloth = tiled(rng.random((40, 40, 3)), 1.0)
    still = lay(cloth, Laid(), (0, 0, 80, 80), mm_per_px=1.0, origin=(0, 0))
    moved = lay(cloth, Laid(offset_mm=(5, 3)), (0, 0, 80, 80), mm_per_px=1.0, origin=(0, 0))
    assert np.abs(moved[10:60, 10:60] - still[13:63, 5:55]).max() < 2e-2


def test_a_window_shows_the_same_as_the_whole():
    rng = np.random.default_rng(0)
    cloth = tiled(rng.random((37, 41, 3)), 0.3)
    laid = Laid(grain_deg=15, offset_mm=(2, 1))
    whole = lay(cloth, laid, (0, 0, 300, 200), mm_per_px=0.2, origin=(100, 20))
    part = lay(cloth, laid, (120, 60, 220, 150), mm_per_px=0.2, origin=(100, 20))
    assert np.abs(whole[60:150, 120:220] - part).max() < 3e-2


def test_fine_weave_seen_from_far_is_its_mean_and_does_not_alias():
    tile = np.indices((64, 64)).sum(0) % 2
    cloth = tiled(np.repeat(tile[..., None], 3, 2), 0.05)
    seen = lay(cloth, Laid(), (0, 0, 100, 100), mm_per_px=1.37, origin=(0, 0))
    assert np.abs(seen - 0.5).max() < 0.02


@pytest.mark.parametrize("colour", [(1, 2), "red", (0.1, np.nan, 0.2)])
def test_colours_that_are_none(colour):
    with pytest.raises((PictureError, ValueError)):
        recolour(np.zeros((40, 40, 3), np.uint8), np.ones((40, 40), np.float32), colour)


def test_masks_that_do_not_fit():
    picture = np.zeros((40, 40, 3), np.uint8)
    with pytest.raises(PictureError, match="size"):
        recolour(picture, np.ones((20, 40), np.float32), RED)
    with pytest.raises(PictureError, match="empty"):
        recolour(picture, np.zeros((40, 40), np.float32), RED)
