"""``mockup line``: what a line costs, lines that end on lines, and shapes that are let in or sewn on top."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
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
    # The two allowances of a seam take 2 × width × length (Lw ± θw²/2 a side).
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
        hem, line = edges.find_edge(view, "hem").path, place_line(project.line("line-1"), view)
        return max(abs(curve.nearest(hem, p)[2] - wanted) for p in paths.flatten(line, 0.5).points[3:-3])

    ends = ("--start", "side:hem=4 1/2 in", "--end", "centre-front:hem=4 1/2 in")
    moved = mockup("line", "move", folder, "line-1", *ends, "--json")
    assert moved.code == 0, moved.err
    assert off(4.5 * 25.4) < 1.0  # the inch is 25.4 mm by definition
    assert mockup("line", "move", folder, "line-1", "--by", "-34.3mm", "--json").code == 0
    assert off(80.0) < 1.0


def test_a_closed_shape_lies_anywhere_and_is_cut_as_a_piece_of_its_own(
    mockup: Callable[..., Any], tmp_path: Path
) -> None:
    project = tmp_path / "tunic"
    measures = ("--measure", "front:centre-front=63cm", "--measure", "back:centre-back=70cm")
    made = mockup("new", project, "--front", choir.FRONT_SVG, "--back", choir.BACK_SVG, *measures)
    assert made.code == 0, made.err
    sun = ("--name", "sun", "--shape", "round", "--at", "9cm,40cm", "--size", "8cm,8cm", "--let-in", "--symmetric")
    rows = mockup("line", "add", project, *sun, "--json").json["lines"]
    assert [r["name"] for r in rows] == ["sun, left", "sun, right"]
    assert rows[0]["length_mm"] == pytest.approx(3.14159265 * 80, rel=1e-4)
    assert (rows[0]["box"]["side"], rows[1]["box"]["side"]) == ("left", "right")
    moved = mockup("line", "move", project, "line-1", "--at", "10cm,42cm", "--json").json["lines"]
    assert [r["box"]["across_mm"] for r in moved] == pytest.approx([100, 100]), "its mirror image goes with it"
    panels = mockup("panels", project, "--json").json["panels"]
    suns = [p for p in panels if p["name"] == "sun"]
    assert len(suns) == 2
    assert len({p["number"] for p in suns}) == 1
    given = [f"{p['id']}={'#b02030' if p['name'] == 'sun' else '#e8e0d0'}" for p in panels]
    assert mockup("assign", project, *given).code == 0
    checked = mockup("check", project, "--json")
    assert checked.code in (0, 1)
    split = tmp_path / "split.json"
    assert mockup("split", project, "--out", split, "--json").code == 0
    cut = mockup("cut", choir.PIECES, "--split", split, "--allowance", "1cm", "--out", tmp_path / "cut", "--json")
    assert cut.code == 0, cut.err
    pieces = cut.json["pieces"]
    # A circle of 8 cm on the picture is one of about as much on the pattern, whose half is as wide to some percent.
    (disc,) = [p for p in pieces if p["name"] == "sun"]  # one pair, since the front stays on the fold
    assert disc["finished_area_mm2"] == pytest.approx(3.14159265 * 40**2, rel=0.12)
    assert cut.json["proof"]["area_error_mm2"] <= 1e-3
    handed = mockup("handout", project, "--out", tmp_path / "handout.pdf", "--json")
    assert handed.code == 0, handed.err
    text = " ".join(pypdfium2.PdfDocument(tmp_path / "handout.pdf")[k].get_textpage().get_text_range()
                    for k in range(handed.json["pages"])).split()  # fmt: skip
    assert "is closed, 80 mm (3 1/8 in) wide and 80 mm" in " ".join(text)
    plain = mockup("line", "list", project).out
    assert "closed, 80 × 80 mm, 100 mm from the middle on the wearer's left, 420 mm above the hem" in plain
    for bad, words in (
        (("--at", "9cm"), "two lengths"),
        (("--start", "side:hem=1cm"), "ends on no edge"),
        (("--at", "50cm,40cm"), "onto the left sleeve"),
        (("--size", "1mm,8cm"), "at least 5 mm"),
    ):
        refused = mockup("line", "move", project, "line-1", *bad)
        assert refused.code == 2
        assert words in refused.err
    assert "closed shape" in mockup("line", "add", project, "--start", "side:hem=9cm", "--end", "hem:hem=9cm",
                                    "--at", "1cm,1cm").err  # fmt: skip
