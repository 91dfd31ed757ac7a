"""Held against colour-science's own tables and transfer functions, and against what the paper says must hold."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockup.colourways.colour_vision import COLOUR_BLIND, Sight, linear_as_seen, matrix, picture_as_seen, sight_words
from swatches.colour import linear_to_lab, srgb_to_linear
from swatches.errors import Cancelled, InputError

NAMES = {Sight.PROTAN: "Protanomaly", Sight.DEUTAN: "Deuteranomaly", Sight.TRITAN: "Tritanomaly"}


@pytest.fixture(scope="module")
def colour():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pytest.importorskip("colour")


@pytest.fixture(scope="module")
def picture():
    rng = np.random.default_rng(7)
    ramp = np.stack(np.meshgrid(*[np.linspace(0, 255, 18)] * 3), axis=-1).reshape(-1, 27, 3)
    return np.vstack([np.rint(ramp), rng.integers(0, 256, (300, 27, 3))]).astype(np.uint8)


@pytest.mark.parametrize("sight", COLOUR_BLIND)
@pytest.mark.parametrize("tenths", range(11))
def test_at_published_severities_within_one_level_of_colour_science(colour, picture, sight, tenths):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = colour.blindness.matrix_cvd_Machado2009(NAMES[sight], tenths / 10)
        light = colour.eotf(picture / 255, "sRGB")
        expected = colour.eotf_inverse(np.clip(light @ theirs.T, 0, 1), "sRGB") * 255
    got = picture_as_seen(picture, sight, tenths / 10)
    assert np.abs(got - expected).max() <= 1.0


@pytest.mark.parametrize("sight", COLOUR_BLIND)
def test_between_published_severities_the_matrix_is_interpolated(colour, sight):
    # colour-science 0.4 takes the interval above the severity instead and so
    # extrapolates from it; its tables are the second witness here, not its interpolation.
    tables = colour.blindness.CVD_MATRICES_MACHADO2010[NAMES[sight]]
    for low in (0.0, 0.3, 0.9):
        high = round(low + 0.1, 1)
        expected = 0.75 * np.asarray(tables[low]) + 0.25 * np.asarray(tables[high])
        assert matrix(sight, low + 0.025) == pytest.approx(expected, abs=1e-9)


@given(st.floats(0, 1), st.sampled_from(COLOUR_BLIND), st.floats(0, 1))
def test_grey_stays_grey(level, sight, severity):
    # every published matrix has rows that sum to 1 (to its last digit): white and greys are not tinted
    seen = linear_as_seen(np.full(3, level), sight, severity)
    assert seen == pytest.approx(level, abs=3e-6)


def test_no_severity_changes_nothing(picture):
    for sight in COLOUR_BLIND:
        assert np.array_equal(picture_as_seen(picture, sight, 0.0), picture)
    assert picture_as_seen(picture, Sight.USUAL) is picture


def test_grey_keeps_lightness(picture):
    seen = picture_as_seen(picture, "grey")
    assert np.ptp(seen, axis=-1).max() == 0
    before = linear_to_lab(srgb_to_linear(picture))[..., 0]
    after = linear_to_lab(srgb_to_linear(seen))[..., 0]
    assert np.abs(before - after).max() < 0.6  # half a level of 255 in the darkest tones


def test_red_and_green_meet_for_those_without_the_cones():
    # dichromats confuse a red and a green of suitable lightness: their difference nearly goes, grey remains apart
    red, green = np.array([[150, 75, 60]], np.uint8), np.array([[96, 96, 60]], np.uint8)

    def apart(sight):
        return float(np.abs(picture_as_seen(red, sight).astype(int) - picture_as_seen(green, sight)).max())

    assert apart(Sight.USUAL) == 54
    assert apart(Sight.DEUTAN) < 20
    assert apart(Sight.TRITAN) > 40


@settings(max_examples=20)
@given(st.integers(1, 40), st.integers(1, 40), st.sampled_from(list(Sight)))
def test_shape_and_kind_are_kept(height, width, sight):
    seen = picture_as_seen(np.full((height, width, 3), 77, np.uint8), sight)
    assert (seen.shape, seen.dtype) == ((height, width, 3), np.uint8)


def test_a_large_picture_in_steps_is_the_same_and_can_be_stopped(picture, monkeypatch):
    whole = picture_as_seen(picture, "protan")
    monkeypatch.setattr("mockup.colourways.colour_vision._PIXELS_AT_ONCE", 4000)
    assert np.array_equal(picture_as_seen(picture, "protan"), whole)

    class Stopped:
        cancelled = True

        def step(self, text, done=None):
            raise AssertionError("nothing is said once stopped")

    with pytest.raises(Cancelled):
        picture_as_seen(picture, "protan", job=Stopped())


def test_nonsense_is_refused():
    for wrong in ({"sight": "martian"}, {"sight": "protan", "severity": 1.5}, {"sight": "protan", "severity": np.nan}):
        with pytest.raises(InputError, match="expected"):
            matrix(**wrong)
    with pytest.raises(InputError, match="colour vision"):
        sight_words("martian")


def test_each_sight_is_said_in_its_own_plain_words():
    said = [sight_words(sight) for sight in Sight]
    assert len(set(said)) == len(said)
    assert "grey" in sight_words("grey")
