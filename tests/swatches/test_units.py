import contextlib
import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swatches.errors import UnitError
from swatches.units import GSM_PER_OZ_YD2, Length, length, millimetres

calm = settings(deadline=None)  # the machine may be busy


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        # every form that the README lists, and more
        ("50mm", 50), ("1.5 cm", 15), ("1,5 cm", 15), ("2 in", 50.8), ("5/8 in", 15.875), ('5/8"', 15.875),
        ("½ in", 12.7), ("15", 15), (15, 15), (15.5, 15.5),
        # 1 in = 25.4 mm, 1 yd = 36 in
        ("1 in", 25.4), ("3/8 in", 9.525), ("1/4 in", 6.35),
        ("1 1/2 in", 38.1), ("1-1/2 in", 38.1), ("1½ in", 38.1), ("1 ⅝″", 41.275), ("2 inches", 50.8),
        ("0.5 m", 500), ("1 yd", 914.4), ("3 yards", 2743.2), (" 7  MM ", 7), (".5cm", 5), ("5. mm", 5),
        ("-3 mm", -3), ("−3 mm", -3), ("-1/2 in", -12.7), ("0", 0),
    ],
)  # fmt: skip
def test_lengths_as_people_type_them(text, mm):
    assert millimetres(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["", "mm", "five mm", "5 furlongs", "1/0 in", "5 mm 3", "5mm; rm", "1e3 mm", "²", "9" * 50, "1/2/3 in", "5''"],
)
def test_what_is_no_length_is_refused_in_one_sentence(text):
    with pytest.raises(UnitError, match="seam: expected a number with mm, cm, m, in or yd, got") as caught:
        length(text, what="seam")
    assert len(str(caught.value)) < 260


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_only_finite_numbers(number):
    with pytest.raises(UnitError, match="a finite length"):
        length(number)


def test_a_smallest_value():
    assert millimetres("0", minimum_mm=0) == 0
    with pytest.raises(UnitError, match=r"allowance: expected at least 0 mm, got -1 mm"):
        millimetres("-1 mm", what="allowance", minimum_mm=0)


@pytest.mark.parametrize(
    ("text", "shown"),
    [("5/8in", "5/8 in"), ("1.5cm", "1.5 cm"), ("1 1/2 in", "1 1/2 in"), ("2in", "2 in"), ("0.1 in", "0.1 in"),
     ("-1/2 in", "−1/2 in"), ("15", "15 mm"), ("1/3 yd", "0.333333 yd")],
)  # fmt: skip
def test_a_length_is_shown_in_the_unit_that_was_typed(text, shown):
    assert str(length(text)) == shown


def test_five_eighths_is_never_made_15_mm():
    # 0.875 mm an edge is 3.5 mm over two side seams
    assert length('5/8"').number == Fraction(5, 8)
    assert 4 * (length('5/8"').mm - 15) == pytest.approx(3.5)


@calm
@given(st.fractions(0, 1000, max_denominator=16), st.sampled_from(["mm", "cm", "in"]))
def test_what_is_shown_reads_as_the_same_length(number, unit):
    made = Length(number, unit)
    assert length(str(made)).mm == pytest.approx(made.mm, rel=1e-5)


@calm
@given(st.text(max_size=60))
def test_any_text_gives_a_length_or_the_one_error(text):
    with contextlib.suppress(UnitError):
        assert math.isfinite(length(text).mm)


def test_ounces_per_square_yard():
    # 1 oz/yd² = 33.9057 g/m²
    assert pytest.approx(33.9057, abs=5e-5) == GSM_PER_OZ_YD2
