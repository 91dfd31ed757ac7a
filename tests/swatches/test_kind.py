"""Kind and repeat of cloth that the tests draw themselves, and of scikit-image's real surfaces."""

import cv2
import numpy as np
import pytest
import skimage.data
import swatches_cloths as drawn

from swatches.colour import delta_e_2000, linear_to_lab, srgb_to_linear
from swatches.fabric import Kind
from swatches.kind import look
from swatches.palette import palette
from swatches.photo import read_photo
from swatches.repeat import LEAST_REPEATS
from swatches.tile import make_tile, tile_vectors

STEP = 0.35
SIZE = (480, 420)  # px: 168 × 147 mm


def seen(picture):
    lab = linear_to_lab(np.clip(picture, 0, 1)).astype(np.float32)
    mask = np.ones(lab.shape[:2], np.bool_)
    return look(lab, mask, STEP), mask


def lengths(found):
    across, along = tile_vectors(found.vectors)
    return [0.0 if v is None else float(np.linalg.norm(v)) for v in (across, along)]


def draw(kind, seed):
    """One cloth and its true repeat across and along, in mm."""
    rng = np.random.default_rng(seed)
    size = (SIZE[0] * STEP, SIZE[1] * STEP)
    largest = min(size) / (LEAST_REPEATS + 0.15)
    p, q = rng.uniform(8, largest, 2)
    if kind is Kind.SOLID:
        return drawn.solid(rng, SIZE, STEP), (0, 0)
    if kind is Kind.MELANGE:
        return drawn.melange(rng, SIZE, STEP), (0, 0)
    if kind is Kind.STRIPE:
        return drawn.stripe(rng, SIZE, STEP, p), (p, 0)
    if kind is Kind.CHECK:
        return drawn.check(rng, SIZE, STEP, (p, q)), (p, q)
    if seed % 2:
        return drawn.printed(rng, SIZE, STEP, np.array([[p, 0], [0, q]])), (p, q)
    q = min(q, largest / 2)  # a half-drop: the square repeat is two steps high
    return drawn.printed(rng, SIZE, STEP, np.array([[p, 0], [p / 2, q]])), (p, 2 * q)


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("seed", [1, 2])
def test_kinds_and_repeats(kind, seed):
    picture, truth = draw(kind, seed)
    found, _ = seen(picture)
    assert found.kind is kind
    for got, want in zip(lengths(found), truth, strict=True):
        assert got == pytest.approx(want, rel=0.004, abs=1e-9)


@pytest.mark.slow
def test_forty_prints_and_twenty_solids():
    # our aim: mean error ≤ 0.1 %, right class ≥ 90 % of 40, no solid called a print
    right, errors = 0, []
    kinds = [Kind.PRINT, Kind.PRINT, Kind.CHECK, Kind.STRIPE]
    for n in range(40):
        picture, truth = draw(kinds[n % 4], 100 + n)
        found, _ = seen(picture)
        right += found.kind is kinds[n % 4]
        got = lengths(found)
        if found.kind is kinds[n % 4] and all((g > 0) == (t > 0) for g, t in zip(got, truth, strict=True)):
            errors += [abs(g / t - 1) for g, t in zip(got, truth, strict=True) if t]
    assert right >= 36
    assert np.mean(errors) <= 0.001
    assert len(errors) >= 55
    assert all(seen(draw(Kind.SOLID, n)[0])[0].kind is Kind.SOLID for n in range(20))


def test_folds_make_no_print_of_a_solid():
    picture, _ = draw(Kind.SOLID, 5)
    y, x = np.mgrid[0 : SIZE[0], 0 : SIZE[1]] * STEP
    folds = 1 + 0.10 * np.sin((x + 0.3 * y) / 14) + 0.06 * np.exp(-(((x - 60) / 3) ** 2)) + 0.1 * (y / 168)
    found, _ = seen(picture * folds[..., None])
    assert found.kind is Kind.SOLID


def test_too_few_repeats_are_asked_about():
    rng = np.random.default_rng(3)
    picture = drawn.stripe(rng, SIZE, STEP, 110.0)
    found, _ = seen(picture)
    assert found.kind is Kind.STRIPE
    assert len(found.vectors) == 0
    assert "type its repeat" in found.asks[0]


def test_large_motifs_with_too_few_repeats_are_no_melange():
    # a part of the fir sprig's photo with one and a half repeats in view
    from swatches.samples.cupboard import SWATCHES

    rgb = read_photo(next(s.photo for s in SWATCHES if s.id == "sprig")).rgb8
    rows, columns = rgb.shape[:2]
    part = rgb[int(rows * 0.44) : int(rows * 0.58), int(columns * 0.44) : int(columns * 0.58)]
    lab = linear_to_lab(srgb_to_linear(part)).astype(np.float32)
    found = look(lab, np.ones(lab.shape[:2], np.bool_), 150 / max(lab.shape[:2]))
    assert found.kind is Kind.PRINT
    assert "type its repeat" in found.asks[0]


def test_a_print_with_an_up_and_a_down_is_one_way():
    rng = np.random.default_rng(4)
    vectors = np.array([[24.0, 0], [0, 30.0]])
    picture = drawn.printed(rng, SIZE, STEP, vectors)
    assert seen(picture)[0].one_way is True
    dots = np.ones((*SIZE, 3)) * drawn.linear([230, 220, 200])
    y, x = np.mgrid[0 : SIZE[0], 0 : SIZE[1]] * STEP
    dots[np.hypot(x % 20 - 10, y % 20 - 10) < 5] = drawn.linear([30, 40, 90])
    found, _ = seen(dots)
    assert found.kind is Kind.PRINT
    assert found.one_way is False


def seam_visibility(tile):
    """Gradient across the wrap over gradient inside, mean of the two directions.

    Across is the mean of the five lines at the wrap: threads make single lines differ, a seam would raise the mean.
    """
    coded = np.sqrt(np.maximum(tile, 0))
    found = []
    for axis in (0, 1):
        step = np.abs(np.diff(np.concatenate([coded, np.take(coded, [0], axis)], axis=axis), axis=axis))
        lines = step.mean(axis=tuple(a for a in range(3) if a != axis))
        found.append(float(np.r_[lines[-3:], lines[:2]].mean() / lines.mean()))
    return float(np.mean(found))


@pytest.mark.parametrize("kind", list(Kind))
def test_tiles_have_no_seam_and_the_cloths_colour(kind):
    picture, truth = draw(kind, 7)
    found, mask = seen(picture)
    tile = make_tile(picture.astype(np.float32), mask, found, STEP)
    assert tile is not None
    if kind in (Kind.SOLID, Kind.MELANGE):  # bands and motifs have edges of their own wherever the tile begins
        assert seam_visibility(tile.linear) <= 1.1
    whole = [round(int(n * STEP / t) * t / STEP) if t else n for n, t in zip(SIZE[::-1], truth, strict=True)]
    mean = linear_to_lab(tile.linear.reshape(-1, 3).mean(axis=0).astype(float))
    want = linear_to_lab(picture[: whole[1], : whole[0]].reshape(-1, 3).mean(axis=0))
    assert float(delta_e_2000(mean, want)) < 1.5
    for size, want in zip(tile.size_mm, truth, strict=True):
        if want:
            assert size == pytest.approx(want, rel=0.006)


def bands(tile, step):
    """How much whole rows and columns of a tile differ in lightness at a width of 1 mm, as a share of its mean."""
    found = []
    for axis in (0, 1):
        line = tile.mean(axis=(1 - axis, 2))
        wide = round(1 / step)
        smooth = np.convolve(np.r_[line[-wide:], line, line[:wide]], np.ones(wide) / wide, "same")[wide:-wide]
        found.append(float(smooth.std() / smooth.mean()))
    return max(found)


@pytest.mark.parametrize("kind", [Kind.SOLID, Kind.MELANGE])
def test_no_lines_come_again_and_again_over_the_garment(kind):
    # 1 % in linear light is less than half a step of L*: a line that is lighter by less is not seen (our own choice)
    picture, _ = draw(kind, 9)
    picture[200:206] *= 1.06  # a slub right across
    found, mask = seen(picture)
    tile = make_tile(picture.astype(np.float32), mask, found, STEP)
    assert bands(tile.linear, STEP) <= 0.005
    assert bands(picture, STEP) > 2 * bands(tile.linear, STEP), "the cloth itself has them"


def test_ribs_are_solid_but_asked_about():
    x = np.arange(SIZE[1]) * STEP
    wales = 1 + 0.3 * np.sin(2 * np.pi * x / 3.2)
    picture = drawn.solid(np.random.default_rng(8), SIZE, STEP) * wales[None, :, None]
    found, _ = seen(picture)
    assert found.kind is Kind.SOLID
    assert "one-way" in found.asks[0]
    assert seen(drawn.solid(np.random.default_rng(8), SIZE, STEP))[0].asks == ()


@pytest.mark.parametrize("name", ["brick", "grass", "gravel"])
def test_real_surfaces_tile_without_a_seam(name):
    # scikit-image's photographs; our aim: gradient across the seam over inside ≤ 1.1
    grey = getattr(skimage.data, name)()
    rgb = np.repeat(grey[..., None], 3, axis=2)
    lab = linear_to_lab(srgb_to_linear(rgb))
    mask = np.ones(grey.shape, np.bool_)
    found = look(lab.astype(np.float32), mask, 0.3)
    assert found.kind in ((Kind.PRINT, Kind.CHECK) if name == "brick" else (Kind.MELANGE, Kind.PRINT))
    picture = np.repeat(((grey / 255.0) ** 2.2)[..., None], 3, axis=2).astype(np.float32)
    tile = make_tile(picture, mask, found, 0.3)
    assert tile is not None
    if name != "brick":
        assert seam_visibility(tile.linear) <= 1.1
        assert seam_visibility(picture[:140, :140]) > 1.1  # a plain crop fails the same test


@pytest.mark.parametrize("seed", range(6))
def test_palette_beats_median_cut(seed):
    # our aim: palette error ≤ 0.5 × median cut (Pillow) with as many colours
    from PIL import Image

    from swatches.colour import linear_to_srgb8

    rng = np.random.default_rng(seed)
    truth = drawn.colours(rng, 5, 40)
    shares = np.array([0.5, 0.25, 0.15, 0.07, 0.03])
    which = rng.choice(5, (200, 200), p=shares)
    picture = linear_to_srgb8(np.clip(truth[which] * rng.normal(1, 0.05, (200, 200, 1)), 0, 1))
    ours = np.array([lab for lab, _ in palette(linear_to_lab(srgb_to_linear(picture)).reshape(-1, 3))])
    cut = Image.fromarray(picture).quantize(len(ours), Image.Quantize.MEDIANCUT).getpalette()[: 3 * len(ours)]
    theirs = linear_to_lab(srgb_to_linear(np.array(cut, np.uint8).reshape(-1, 3)))
    want = linear_to_lab(truth)
    errors = [delta_e_2000(want[:, None], p[None]).min(axis=1).mean() for p in (ours, theirs)]
    assert errors[0] <= 0.5 * errors[1]


def test_palette_shares_add_up_and_are_steady():
    rng = np.random.default_rng(2)
    lab = rng.normal(50, 20, (5000, 3)).astype(np.float32)
    found = palette(lab)
    assert found == palette(lab)
    assert sum(share for _, share in found) == pytest.approx(1)
    assert [s for _, s in found] == sorted((s for _, s in found), reverse=True)
    assert palette(np.array([[50, 0, 0]], np.float32)) == (((50.0, 0.0, 0.0), 1.0),)


def slanted(size, step, degrees):
    """Distances across and along a cloth that lies aslant, mm, at the middles of pixels."""
    y, x = (np.mgrid[0 : size[0], 0 : size[1]] + 0.5) * step
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return c * x + s * y, c * y - s * x


def covered(distance, step):
    """Share of a pixel that ink covers whose rim is this far away, mm."""
    return np.clip(distance / step + 0.5, 0, 1)[..., None]


def small_pattern(what, period, degrees):
    u, v = slanted(SIZE, STEP, degrees)
    light, dark = drawn.linear([236, 232, 224], [52, 70, 128])
    across, along = (covered(period / 4 - np.abs(t % period - period / 2), STEP) for t in (u, v))
    if what is Kind.STRIPE:
        share = across
    elif what is Kind.CHECK:
        share = (across + along) / 2
    else:
        share = covered(0.28 * period - np.hypot(u % period - period / 2, v % period - period / 2), STEP)
    picture = light * (1 - share) + dark * share
    return picture + np.random.default_rng(4).normal(0, 0.01, picture.shape)


@pytest.mark.parametrize("what", [Kind.STRIPE, Kind.CHECK, Kind.PRINT])
@pytest.mark.parametrize(("period", "degrees"), [(3.6, 7.3), (4.2, -5.6)])
def test_patterns_of_a_few_millimetres_that_lie_aslant(what, period, degrees):
    # steps of 3° smear such stripes out, and smoothing makes such dots the sum of two waves, as a check is
    found, _ = seen(small_pattern(what, period, degrees))
    assert found.kind is what
    assert np.linalg.norm(found.vectors, axis=1) == pytest.approx(period, rel=0.002)


def test_a_tweed_of_colours_far_apart_is_a_melange():
    rng = np.random.default_rng(12)
    light, rust, dark = drawn.linear([222, 210, 180], [160, 84, 40], [40, 52, 58])
    picture = np.broadcast_to(dark, (*SIZE, 3))
    for ink in (light, rust):
        flecks = cv2.GaussianBlur(rng.normal(0, 1, SIZE), (0, 0), 0.8 / STEP)
        share = np.clip((flecks / flecks.std() - 0.6) * 1.5, 0, 1)[..., None] * 0.6
        picture = picture * (1 - share) + ink * share
    found, _ = seen(picture)
    assert found.kind is Kind.MELANGE
    assert not found.asks
