"""What is said wrongly in words: names of printed files, dates, sides of the garment."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from mockup.samples import choir


@pytest.mark.parametrize("name", ["zz.png", "h.doc", "sheets"])
def test_a_pdf_is_written_only_under_its_own_ending(refused: Callable[..., str], tmp_path: Path, name: str) -> None:
    assert "ends in .pdf" in refused("print", choir.PIECES, "--out", tmp_path / name)
    assert "ends in .pdf" in refused("handout", choir.PIECES, "--out", tmp_path / name)


@pytest.mark.parametrize("date", ["foo", "2026-13-01", "24.11.2026"])
def test_a_date_is_a_day(refused: Callable[..., str], tmp_path: Path, date: str) -> None:
    assert "2026-11-24" in refused("print", choir.PIECES, "--date", date, "--out", tmp_path / "p.pdf")


def test_a_piece_shows_the_front_or_the_back(refused: Callable[..., str]) -> None:
    assert "front or back" in refused("pieces", "read", choir.PIECES, "--view", "piece-1=sideways")
