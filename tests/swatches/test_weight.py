"""Weights of cloth: 1 oz/yd² = 33.9057 g/m² (derived from the 1959 definitions)."""

import pytest

from swatches.errors import UnitError
from swatches.fabric import Origin
from swatches.record import scale_note
from swatches.weight import price_per_metre, weighed, weighed_error_percent, weight


@pytest.mark.parametrize(
    ("text", "width", "gsm"),
    [
        ("210 g/m²", None, 210.0),
        ("210gsm", None, 210.0),
        ("6 oz/yd²", None, 6 * 33.9057),
        ("4,5 oz per square yard", None, 4.5 * 33.9057),
        ("9 oz per linear yard", 914.4, 9 * 33.9057),  # at a width of one yard the two are the same
        ("10 oz / lin. yd", 1524.0, 10 * 33.9057 * 36 / 60),  # 60 in wide
    ],
)
def test_weights_of_labels(text, width, gsm):
    found = weight(text, width_mm=width)
    assert found.value == pytest.approx(gsm, rel=1e-5)
    assert (found.unit, found.origin) == ("g/m²", Origin.LABEL)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("6 oz", "which of the two"),
        ("6 oz/yd", "which of the two"),
        ("200 g", "weigh a rectangle"),
        ("9 oz per linear yard", "Type the width too"),
        ("heavy", "Type it like 210"),
        ("", "Type it like 210"),
        ("1 g/m²", "5 to 3000"),
        ("9000 g/m²", "5 to 3000"),
    ],
)
def test_unclear_weights_are_asked_about(text, words):
    with pytest.raises(UnitError, match=words):
        weight(text)


def test_a_kitchen_scale():
    assert weighed(42.0, 500, 400).value == pytest.approx(210.0)
    assert weighed(42.0, 500, 400).origin is Origin.MEASURED
    # by hand: half a gram of 42 g is 1.19 %, of 12 g 4.2 %; a scale of a tenth of a gram is ten times as true
    assert weighed_error_percent(42.0) == pytest.approx(1.19, abs=0.01)
    assert scale_note("weight", "42 g for 50 × 40 cm") == ""
    assert "off by 4 % on a scale that shows 1 g" in scale_note("weight", "12 g for 20 × 30 cm")
    assert "off by 5 % on a scale that shows 0.1 g" in scale_note("weight", "1,0 g for 5 × 10 cm")
    assert scale_note("weight", "12.5 g for 20 × 30 cm") == ""
    assert scale_note("weight", "180 g/m²") == scale_note("note", "12 g for 20 × 30 cm") == ""
    with pytest.raises(UnitError):
        weighed(0, 500, 400)


def test_prices():
    assert price_per_metre(10.0, "yd").value == pytest.approx(10.9361, abs=1e-4)  # 1 yd = 0.9144 m
    assert price_per_metre(10.0).value == 10.0
    with pytest.raises(UnitError):
        price_per_metre(10.0, "ell")
