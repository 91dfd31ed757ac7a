"""Edges and lengths as a sentence has them: no needless decimal. The figures are counted by hand."""

from __future__ import annotations

import pytest

from mockup.checks.in_unit import in_unit
from mockup.split.words import edge_said, room_said, tenths


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("centre-front", "centre front"),
        ("side-left", "wearer's left side"),
        ("centre-back-right", "wearer's right centre back"),
        ("hem", "hem"),
        ("line 'v-shaped yoke'", "line 'v-shaped yoke'"),  # the person's own word
    ],
)
def test_an_edge_is_called_in_plain_words(name: str, said: str) -> None:
    assert edge_said(name) == said


def test_lengths_have_no_needless_decimal_and_what_is_free_is_never_said_too_long() -> None:
    assert [tenths(mm) for mm in (680.0, 12.44, 0.04, -0.04, 1234.56)] == [
        "680 mm", "12.4 mm", "0 mm", "0 mm", "1234.6 mm",
    ]  # fmt: skip
    assert [room_said(mm) for mm in (680.0, 680.04, 450.26, 679.9999999)] == [
        "0 to 680 mm", "0 to 680 mm", "0 to 450.2 mm", "0 to 680 mm",
    ]  # fmt: skip
    assert in_unit(room_said(796.6), "in") == "0 to 31 5/16 in"  # 31.36 in, down
