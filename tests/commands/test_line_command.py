"""``mockup line``: what a line costs, lines that end on lines, and shapes that are let in or sewn on top."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mockup.samples import choir


def test_lines_on_lines_costs_and_shapes(mockup: Callable[..., Any], tmp_path: Path) -> None:
    project = tmp_path / "tunic"
    made = mockup("new", project, "--front", choir.FRONT_SVG, "--measure", "front:centre-front=63cm", "--json")
    assert made.code == 0, made.err
    band = ("--start", "side:hem=11cm", "--end", "centre-front:hem=11cm", "--symmetric")
    row = mockup("line", "add", project, "--name", "band", *band, "--json").json["lines"][0]
    # The two allowances of a seam take 2 × width × length (facts.md: Lw ± θw²/2 a side).
    assert row["cost"]["cloth_cm2"] == pytest.approx(2 * 15 * row["length_mm"] / 100)
    assert row["cost"]["seam_cm"] == pytest.approx(row["length_mm"] / 10)
    slip = ("--start", "line-1:start:left=5cm", "--end", "hem:hem:left=6cm")
    assert mockup("line", "add", project, "--name", "slip", *slip, "--json").code == 0
    moon = ("--start", "centre-front:neck=18cm", "--end", "centre-front:neck=30cm", "--kind", "curve", "--symmetric")
    shape = mockup("line", "add", project, "--name", "moon", *moon, "--through", "0.3,0.6", "--on-top", "--json")
    assert shape.code == 0, shape.err
    assert shape.json["lines"][0]["enclosed"] == "on top"
    listed = mockup("line", "list", project, "--json").json["lines"]
    assert [x["name"] for x in listed] == ["band", "slip", "moon"], "a line that ends on another is listed too"
    assert listed[1]["length_mm"] > 10
    moved = mockup("line", "move", project, "line-3", "--let-in", "--json").json["lines"][0]
    assert moved["enclosed"] == "let in"
    assert moved["cost"]["cloth_cm2"] != shape.json["lines"][0]["cost"]["cloth_cm2"]
    assert "cm² of cloth" in mockup("line", "list", project).out
