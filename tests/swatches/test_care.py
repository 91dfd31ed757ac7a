"""ISO 3758:2023, principle: the least severe treatment of each axis; 16 CFR 423.6(b): neither washing nor cleaning."""

import pytest

from swatches.care import AXES, care_line, harmed_by_both, mildest, treatment


@pytest.mark.parametrize(
    ("axis", "text", "words"),
    [
        ("wash", "60 °C", "60 °C"),
        ("wash", "hand wash, 30 °C", "hand wash"),
        ("wash", "40, gentle", "40 °C, mild"),
        ("wash", "30 very mild", "30 °C, very mild"),
        ("wash", "45", "40 °C"),
        ("wash", "20", "hand wash"),
        ("wash", "do not wash", "do not wash"),
        ("bleach", "no", "do not bleach"),
        ("bleach", "non-chlorine", "oxygen bleach only"),
        ("dry", "line", "line dry"),
        ("dry", "do not tumble dry", "line dry"),
        ("dry", "tumble, low", "tumble dry, low"),
        ("iron", "cool, from the back", "cool iron, 110 °C"),
        ("iron", "hot", "hot iron, 200 °C"),
        ("professional", "gentle", "dry-clean, mild"),
        ("professional", "do not", "do not dry-clean"),
    ],
)
def test_words_are_read(axis, text, words):
    assert treatment(axis, text).words == words


@pytest.mark.parametrize("axis", AXES)
def test_nothing_known_is_no_treatment(axis):
    assert treatment(axis, "") is None
    assert treatment(axis, "ask grandmother") is None


def test_the_least_severe_of_each_axis_counts():
    cares = [{"wash": "60", "iron": "hot"}, {"wash": "30 mild", "iron": "cool"}, {"wash": "40", "iron": "warm"}]
    found, which = mildest("wash", cares)
    assert (found.words, which) == ("30 °C, mild", 1)
    assert care_line(cares) == "30 °C, mild; cool iron, 110 °C (not known: bleaching, drying, dry-cleaning)"


def test_one_silent_cloth_makes_the_axis_unknown():
    assert mildest("wash", [{"wash": "60"}, {}]) is None
    assert mildest("wash", []) is None


def test_neither_washed_nor_cleaned():
    silk, plastic = {"wash": "do not wash", "professional": "mild"}, {"wash": "30", "professional": "do not dry-clean"}
    assert harmed_by_both([silk, plastic])
    assert not harmed_by_both([silk])
    assert not harmed_by_both([silk, {"wash": "30"}])
