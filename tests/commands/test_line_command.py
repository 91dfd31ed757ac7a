"""``mockup line``: what a line costs, lines that end on lines, and shapes that are let in or sewn on top."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from mockup.files import project_file
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.samples import choir
from mockup.stylelines import edges, presets
from mockup.stylelines.anchor import place_line


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


def test_a_changed_line_lets_every_part_keep_its_cloth(mockup: Callable[..., Any], tmp_path: Path) -> None:
    project = tmp_path / "tunic"
    assert mockup("new", project, "--front", choir.FRONT_SVG, "--measure", "front:centre-front=63cm").code == 0
    for height in ("11cm", "25cm"):
        band = ("--start", f"side:hem={height}", "--end", f"centre-front:hem={height}", "--symmetric")
        assert mockup("line", "add", project, *band).code == 0

    def cloth() -> list[tuple[str | None, float]]:
        rows = [r for r in mockup("panels", project, "--json").json["panels"] if r["id"].startswith("front")]
        return [(r["fabrics"].get("A"), r["share"]) for r in rows]

    given = ("front-1=#803020", "front-2=#205080", "front-3=#d0b060")
    assert mockup("assign", project, *given).code == 0
    before = cloth()
    assert len({fabric for fabric, _ in before}) == 3

    def share(rows: list[tuple[str | None, float]], fabric: str | None) -> float:
        return sum(a for f, a in rows if f == fabric)

    slant = ("--start", "shoulder:neck:left=4cm", "--end", "side:hem:right=18cm")
    added = mockup("line", "add", project, *slant, "--json")
    assert added.code == 0, added.err
    cut = cloth()
    assert len(cut) > len(before)
    for fabric, _ in before:
        assert share(cut, fabric) == pytest.approx(share(before, fabric), abs=1e-4), (
            "a part has other cloth than before"
        )
    line = added.json["lines"][0]["id"]
    assert mockup("line", "move", project, line, "--start", "shoulder:neck:left=6cm").code == 0
    for fabric, _ in before:
        assert share(cloth(), fabric) == pytest.approx(share(before, fabric), abs=1e-4)
    assert mockup("line", "remove", project, line).code == 0
    after = cloth()
    assert [f for f, _ in after] == [f for f, _ in before], "not as it was"
    assert [a for _, a in after] == pytest.approx([a for _, a in before], abs=1e-6)


def test_a_moved_hem_band_is_as_high_everywhere(mockup: Callable[..., Any], tmp_path: Path) -> None:
    folder = tmp_path / "tunic"
    made = mockup("new", folder, "--front", choir.FRONT_SVG, "--measure", "front:centre-front=63cm", "--json")
    assert made.code == 0, made.err
    loaded = project_file.load(folder)
    project_file.save(replace(loaded, lines=presets.hem_band(loaded.view("front"), "8 cm")), folder)

    def off(wanted: float) -> float:
        """How far from the wanted height above the hem the line lies at most, mm."""
        project = project_file.load(folder)
        view = project.view("front")
        hem, line = edges.edge_path(view, "hem"), place_line(project.line("line-1"), view)
        return max(abs(curve.nearest(hem, p)[2] - wanted) for p in paths.flatten(line, 0.5).points[3:-3])

    ends = ("--start", "side:hem=4 1/2 in", "--end", "centre-front:hem=4 1/2 in")
    moved = mockup("line", "move", folder, "line-1", *ends, "--json")
    assert moved.code == 0, moved.err
    assert off(4.5 * 25.4) < 1.0  # the inch is 25.4 mm by definition
    assert mockup("line", "move", folder, "line-1", "--by", "-34.3mm", "--json").code == 0
    assert off(80.0) < 1.0
