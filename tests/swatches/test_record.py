"""What a person writes down of a cloth, in the shops' units, and how it is shown again."""

import pytest

from swatches.care import AXES
from swatches.cloth import plain
from swatches.errors import InputError
from swatches.fabric import Fabric, Origin
from swatches.record import FIELDS, origin_of, shown, written

CLOTH = plain("red", "red", "#8a1c2c")


@pytest.mark.parametrize(
    ("key", "text", "value", "again"),
    [
        ("weight", "180", 180.0, "180 g/m²"),
        ("weight", "6 oz/yd²", 203.434, "203 g/m²"),  # 1 oz/yd² = 33.9057 g/m² (derived)
        ("weight", "42 g for 20 × 30 cm", 700.0, "700 g/m²"),
        ("fibre", "80 % cotton, 20 % linen", {"cotton": 80.0, "linen": 20.0}, "80 % cotton, 20 % linen"),
        ("fibre", "Cotton", {"cotton": 100.0}, "100 % cotton"),
        ("fibre", "linen 55%, cotton 45 %", {"linen": 55.0, "cotton": 45.0}, "55 % linen, 45 % cotton"),
        ("price_per_metre", "£12.50 per yard", 13.6702, "13.67 per metre"),  # 12.50 / 0.9144
        ("price_per_metre", "8 € per m", 8.0, "8.00 per metre"),
        ("usable_width", "41.5 in", 1054.1, "105.41 cm"),
        ("thickness", "0.4", 0.4, "0.4 mm"),
        ("stretch_width", "25 %", 25.0, "25 %"),
        ("structure", "knit", "knit", "knit"),
        ("nap", "yes", True, "yes"),
        ("bleeds", "No", False, "no"),
    ],
)
def test_a_field_is_read_and_shown(key, text, value, again):
    fabric = written(CLOTH, key, text, Origin.GUESS)
    got = getattr(fabric, key)
    assert got.value == (pytest.approx(value, rel=1e-5) if isinstance(value, float) else value)
    assert got.origin is (Origin.MEASURED if " g for " in text else Origin.GUESS)
    assert shown(fabric, key, "cm") == again
    assert shown(written(fabric, key, again), key, "cm") == again, "what is shown can be typed again"
    assert getattr(written(fabric, key, ""), key).origin is Origin.UNKNOWN


def test_every_field_has_a_proper_unknown():
    assert {k.partition(".")[0] for k in FIELDS} <= set(Fabric.__dataclass_fields__)
    for key in FIELDS:
        assert shown(CLOTH, key) == ""
        assert origin_of(CLOTH, key) is Origin.UNKNOWN
        assert written(CLOTH, key, "  ") == CLOTH


def test_a_linear_yard_asks_for_the_width():
    with pytest.raises(InputError, match="square yard"):
        written(CLOTH, "weight", "9 oz")
    with pytest.raises(InputError, match="width"):
        written(CLOTH, "weight", "9 oz per linear yard")
    wide = written(CLOTH, "listed_width", "60 in")
    # 9 oz on 36 × 60 in: 9 × 28.349523125 / (0.9144 × 1.524) g/m² (derived)
    assert written(wide, "weight", "9 oz per linear yard").weight.value == pytest.approx(183.092, rel=1e-5)


def test_care_axis_by_axis():
    fabric = written(written(CLOTH, "care.iron", "warm", Origin.GUESS), "care.wash", "40 °C")
    assert fabric.care.value == {"wash": "40 °C", "iron": "warm"}
    assert origin_of(fabric, "care.wash") is Origin.LABEL
    assert origin_of(fabric, "care.dry") is Origin.UNKNOWN
    assert written(written(fabric, "care.iron", ""), "care.wash", "").care == CLOTH.care
    assert [k for k in FIELDS if k.startswith("care.")] == [f"care.{a}" for a in AXES]


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("weight", "heavy", "g/m²"),
        ("fibre", "80 cotton 20 linen", "80 % cotton, 20 % linen"),
        ("fibre", "80 % cotton, 40 % linen", "120 %"),
        ("price_per_metre", "cheap", "per metre"),
        ("nap", "maybe", "yes or no"),
        ("structure", "glued", "woven or knit"),
        ("stretch_width", "a lot", "0 to 400 %"),
        ("usable_width", "wide", "usable width"),
        ("care.wash", "banana", "as on a label"),
        ("name", " ", "what you call the cloth"),
        ("wings", "2", "one of"),
    ],
)
def test_what_a_field_cannot_be_is_said_in_one_sentence(key, text, words):
    with pytest.raises(InputError, match=words) as caught:
        written(CLOTH, key, text)
    assert "\n" not in str(caught.value)
