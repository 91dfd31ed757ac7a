"""CIEDE2000 by Sharma's table, sRGB and CIELAB against colour-science, words by the HTML colours."""

from pathlib import Path

import colour as colour_science
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from swatches.colour import (
    colour_word,
    delta_e_2000,
    hex_to_lab,
    lab_to_hex,
    lab_to_linear,
    linear_to_lab,
    linear_to_srgb,
    linear_to_srgb8,
    srgb_to_linear,
)
from swatches.errors import InputError

PAIRS = np.loadtxt(Path(__file__).parents[1] / "reference" / "ciede2000_pairs.txt")


def test_there_are_all_of_sharmas_pairs():
    assert PAIRS.shape == (34, 7)


@pytest.mark.parametrize("row", range(34))
def test_ciede2000_on_sharmas_pairs(row):
    # Sharma, Wu, Dalal 2005, table 1: given to 4 decimals, so 5e-5 is exact
    first, second, expected = PAIRS[row, :3], PAIRS[row, 3:6], PAIRS[row, 6]
    assert abs(float(delta_e_2000(first, second)) - expected) <= 5e-5
    assert abs(float(delta_e_2000(second, first)) - expected) <= 5e-5


def test_ciede2000_in_float32_is_good_enough():
    # findings: float32 is fine where 8-bit Lab is not; hue ties (pairs 9-15) may fall to the other side
    steady = np.r_[0:8, 15:34]
    got = delta_e_2000(PAIRS[steady, :3].astype(np.float32), PAIRS[steady, 3:6].astype(np.float32))
    assert got.dtype == np.float32
    np.testing.assert_allclose(got, PAIRS[steady, 6], atol=2e-3)


def test_ciede2000_agrees_with_colour_science_on_many_pairs():
    rng = np.random.default_rng(3)
    low, high = np.array([0, -90, -90]), np.array([100, 90, 90])
    a, b = rng.uniform(low, high, (2000, 3)), rng.uniform(low, high, (2000, 3))
    np.testing.assert_allclose(delta_e_2000(a, b), colour_science.delta_E(a, b, method="CIE 2000"), atol=1e-9)


def test_srgb_and_lab_agree_with_colour_science():
    rng = np.random.default_rng(4)
    coded = rng.uniform(0, 1, (500, 3))
    xyz = colour_science.sRGB_to_XYZ(coded)  # IEC 61966-2-1 with its own rounded matrix
    lab = colour_science.XYZ_to_Lab(xyz, colour_science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"])
    np.testing.assert_allclose(linear_to_lab(srgb_to_linear(coded)), lab, atol=0.03)


def test_white_and_grey_are_exactly_neutral():
    np.testing.assert_allclose(linear_to_lab(np.ones(3)), [100, 0, 0], atol=1e-9)
    np.testing.assert_allclose(linear_to_lab(np.full(3, 0.2))[1:], 0, atol=1e-9)


def test_eight_bit_pictures_come_back_unchanged():
    ramp = np.arange(256, dtype=np.uint8)
    picture = np.stack(np.meshgrid(ramp, ramp), axis=-1)
    picture = np.concatenate([picture, picture[..., :1]], axis=-1)
    np.testing.assert_array_equal(linear_to_srgb8(srgb_to_linear(picture)), picture)
    np.testing.assert_array_equal(linear_to_srgb8(srgb_to_linear(picture[:2, :2])), picture[:2, :2])


def test_sixteen_bit_values_are_read_by_their_full_range():
    np.testing.assert_allclose(srgb_to_linear(np.array([0, 65535], np.uint16)), [0, 1], atol=1e-6)
    assert float(srgb_to_linear(np.array(32768, np.uint16))) == pytest.approx(0.21404, abs=1e-4)


@given(st.lists(st.floats(0, 1), min_size=3, max_size=3))
def test_lab_and_back(values):
    linear = np.array(values)
    np.testing.assert_allclose(lab_to_linear(linear_to_lab(linear)), linear, atol=1e-9)
    np.testing.assert_allclose(srgb_to_linear(linear_to_srgb(linear)), linear, atol=1e-6)


@given(st.integers(0, 0xFFFFFF))
def test_hex_and_back(number):
    text = f"#{number:06x}"
    assert lab_to_hex(hex_to_lab(text)) == text


@pytest.mark.parametrize("text", ["", "red", "#12345", "#12345g", "123456", "#1234567"])
def test_other_text_is_no_colour(text):
    with pytest.raises(InputError, match="colour such as #3a5f8c"):
        hex_to_lab(text)


@pytest.mark.parametrize(
    ("html", "word"),
    [  # the sixteen colours of HTML 4.01 and a few of CSS, by the name that the standard gives them
        ("#ffffff", "white"), ("#c0c0c0", "light grey"), ("#808080", "grey"), ("#000000", "black"),
        ("#ff0000", "red"), ("#800000", "dark red"), ("#ffff00", "yellow"), ("#808000", "olive"),
        ("#00ff00", "light green"), ("#008000", "green"), ("#008080", "turquoise"), ("#0000ff", "blue"),
        ("#000080", "dark blue"), ("#800080", "purple"), ("#ffa500", "orange"), ("#ffc0cb", "pink"),
        ("#a52a2a", "red"), ("#f5f5dc", "beige"), ("#d2b48c", "beige"),
    ],
)  # fmt: skip
def test_words_for_known_colours(html, word):
    assert colour_word(hex_to_lab(html)) == word


def test_greyish_dark_and_light_are_said():
    assert colour_word(hex_to_lab("#2e4a3a")) == "dark greyish green"
    assert colour_word((75, -4, -11)) == "light greyish blue"


def test_lab_of_pixels():
    got = linear_to_lab(srgb_to_linear(np.array([[255, 0, 0]], np.uint8)))[0]
    np.testing.assert_allclose(got, [53.24, 80.09, 67.20], atol=0.02)  # colour-science, sRGB red
