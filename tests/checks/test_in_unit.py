"""Lengths in sentences follow the chosen unit. An inch is 25.4 mm and a cm 10 mm, by definition."""

from __future__ import annotations

import pytest

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.in_unit import in_unit, length_said
from mockup.checks.spoken import spoken


@pytest.mark.parametrize(
    ("text", "cm", "inches"),
    [
        ("26 mm from the shoulder", "2.6 cm from the shoulder", "1 in from the shoulder"),
        ("at least 35 mm off", "at least 3.5 cm off", "at least 1 7/16 in off"),  # 35 mm are 1.378 in: up to 1.4375
        ("this needs 0 to 796.6 mm", "this needs 0 to 79.6 cm", "this needs 0 to 31 5/16 in"),  # 31.36 in, down
        ("every 6 to 12 mm", "every 0.6 to 1.2 cm", "every 1/4 to 1/2 in"),
        ("panel 254 × 127 mm", "panel 25.4 × 12.7 cm", "panel 10 × 5 in"),
        ("differ by 1.6 mm", "differ by 0.16 cm", "differ by 1/16 in"),
        ("0.4 mm (300 and 302 mm)", "0.04 cm (30 and 30.2 cm)", "0.016 in (11 13/16 and 11 7/8 in)"),
        ("3.2 mm (1/8 in) works", "3.2 mm (1/8 in) works", "3.2 mm (1/8 in) works"),
        ("45 mm (3 times)", "4.5 cm (3 times)", "1 3/4 in (3 times)"),
        ("12 mm² and 3 panels", "12 mm² and 3 panels", "12 mm² and 3 panels"),
    ],
)  # fmt: skip
def test_a_sentence_in_the_chosen_unit(text: str, cm: str, inches: str) -> None:
    assert in_unit(text, "mm") == text
    assert in_unit(text, "cm") == cm
    assert in_unit(text, "in") == inches


def test_what_is_advised_passes_when_it_is_typed() -> None:
    for mm in range(1, 400):
        for unit, one in (("cm", 10.0), ("in", 25.4)):
            for way in (1, -1):
                number = length_said(mm, unit, way).removesuffix(f" {unit}")
                whole, _, rest = number.rpartition(" ")
                top, _, foot = rest.partition("/")
                said = (float(whole or 0) + float(top) / float(foot or 1)) * one
                assert way * (said - mm) >= -1e-6
                assert abs(said - mm) < 1.6


def crowded(advice: str, better: float) -> Finding:
    return Finding(
        "bulk", Grade.WARN, Place("line 'yoke' at the side"), "26 mm from the underarm, where seams meet", "35 mm",
        "derived", advice, line="line-1", end="start", better_mm=better,
    )  # fmt: skip


def test_the_better_distance_is_rounded_off_the_junction() -> None:
    (near,) = spoken([crowded("End the line 35 mm from the underarm.", 35.0)], "in")
    assert near.text == "1 in from the underarm, where seams meet. End the line 1 7/16 in from the underarm."
    (far,) = spoken([crowded("End the line 300 mm from the hem.", 300.0)], "in")
    assert far.text.endswith("End the line 11 3/4 in from the hem.")  # 300 mm are 11.811 in, under 11 13/16
    assert near.origin.startswith("Limit: 1 3/8 in.")
    assert spoken([crowded("End the line 35 mm from the underarm.", 35.0)])[0].text.startswith("26 mm")
    assert crowded("", 35.0).to_json()["better_mm"] == 35.0, "figures for programs stay in mm"
