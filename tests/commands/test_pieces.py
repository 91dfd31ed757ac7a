"""``mockup cut`` and its neighbours: two pieces worked by hand, and what comes out as files."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "pattern"))
from tunic import half, level_line, split_of, view

from mockup import journey
from mockup.files import project_file, svg
from mockup.files.split_file import write_split
from mockup.project import Project
from mockup.samples import choir
from swatches.cloth import plain
from swatches.fabric import Known, Origin

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}"><path d="{d}"/></svg>'


@pytest.fixture
def rectangle(tmp_path: Path) -> Path:
    path = tmp_path / "rectangle.svg"
    path.write_text(SVG.format(w=200, h=300, d="M0 0H200V300H0Z"), encoding="utf-8")
    return path


def test_a_plain_rectangle_is_cut_in_two(mockup: Callable[..., Any], rectangle: Path, tmp_path: Path) -> None:
    # by hand: two pieces of 33,000 mm² cut area; 200 × (150 + 15), derived
    ran = mockup(
        "cut", rectangle, "--line", "M -10 150 L 210 150", "--allowance", "15mm", "--out", tmp_path / "o", "--json"
    )
    assert ran.code == 0
    answer = ran.json
    assert set(answer) == {"pieces", "proof", "warnings"}
    assert [set(p) for p in answer["pieces"]] == [
        {"number", "name", "from", "finished_area_mm2", "cut_area_mm2", "file"}
    ] * 2
    assert [p["number"] for p in answer["pieces"]] == [1, 2]
    assert [p["cut_area_mm2"] for p in answer["pieces"]] == pytest.approx([33_000, 33_000], rel=1e-12)
    assert [p["finished_area_mm2"] for p in answer["pieces"]] == pytest.approx([30_000, 30_000], rel=1e-12)
    proof = answer["proof"]
    assert proof["area_error_mm2"] <= 1e-6
    assert proof["stitch_difference_mm"] <= 1e-9
    assert proof["rejoin_error_mm"] <= 1e-6
    for piece in answer["pieces"]:
        assert Path(piece["file"]).is_absolute()
        again = mockup("pieces", "read", piece["file"], "--json").json["pieces"]
        assert [p["cut_area_mm2"] for p in again] == pytest.approx([33_000], rel=1e-9)
        assert sorted(e["allowance_mm"] for e in again[0]["edges"]) == pytest.approx([0, 0, 0, 15])


def test_a_half_disc_is_cut_along_a_concentric_half_circle(mockup: Callable[..., Any], tmp_path: Path) -> None:
    # areas by the parallel-curve formula L w ± θ w²/2, R 200, r 100, w 10
    path = tmp_path / "half.svg"
    path.write_text(SVG.format(w=400, h=200, d="M0 200A200 200 0 0 1 400 200Z"), encoding="utf-8")
    ran = mockup("cut", path, "--line", "M 100 200 A 100 100 0 0 1 300 200", "--allowance", "10mm", "--json")
    length, angle, width = math.pi * 100, math.pi, 10
    outer = math.pi / 2 * (200**2 - 100**2) + length * width - angle * width**2 / 2
    inner = math.pi / 2 * 100**2 + length * width + angle * width**2 / 2
    assert [p["cut_area_mm2"] for p in ran.json["pieces"]] == pytest.approx([outer, inner], rel=5e-6)


def test_lines_are_y_down(mockup: Callable[..., Any], rectangle: Path) -> None:
    ran = mockup("cut", rectangle, "--line", "M -10 100 L 210 100", "--allowance", "0", "--json")
    assert sorted(p["finished_area_mm2"] for p in ran.json["pieces"]) == pytest.approx([20_000, 40_000])
    assert ran.json["pieces"][0]["file"] is None


def test_an_inch_allowance_stays_an_inch(mockup: Callable[..., Any], rectangle: Path, tmp_path: Path) -> None:
    # 5/8 in = 15.875 mm exactly
    out = tmp_path / "o"
    ran = mockup("cut", rectangle, "--line", "M -10 150 L 210 150", "--allowance", "5/8 in", "--out", out, "--json")
    assert ran.json["pieces"][0]["cut_area_mm2"] == pytest.approx(200 * (150 + 15.875), rel=1e-12)
    assert 'data-allowance="5/8in"' in Path(ran.json["pieces"][0]["file"]).read_text(encoding="utf-8")


def test_pieces_are_read_with_their_edges(mockup: Callable[..., Any]) -> None:
    rows = mockup("pieces", "read", choir.PIECES, "--json").json["pieces"]
    assert {"front", "back", "sleeve", "pocket"} <= {r["name"] for r in rows}
    front = next(r for r in rows if r["name"] == "front")
    assert front["how"] == "on fold"
    assert {"hem", "side", "armhole", "shoulder", "neck", "centre-front"} == {e["name"] for e in front["edges"]}
    assert front["cut_area_mm2"] > front["finished_area_mm2"]


def test_unfolded_pieces_have_twice_the_area(mockup: Callable[..., Any], tmp_path: Path) -> None:
    before = {p["name"]: p for p in mockup("pieces", "read", choir.PIECES, "--json").json["pieces"]}
    ran = mockup("unfold", choir.PIECES, "--out", tmp_path / "u.svg", "--json")
    assert ran.json["files"] == [str(tmp_path / "u.svg")]
    after = {p["name"]: p for p in mockup("pieces", "read", tmp_path / "u.svg", "--json").json["pieces"]}
    assert after["front"]["how"] == "single"
    assert after["front"]["finished_area_mm2"] == pytest.approx(2 * before["front"]["finished_area_mm2"], rel=1e-9)
    assert after["sleeve"]["finished_area_mm2"] == pytest.approx(before["sleeve"]["finished_area_mm2"], rel=1e-9)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_print_has_the_sheets_that_it_says(
    paper: str, mockup: Callable[..., Any], rectangle: Path, tmp_path: Path
) -> None:
    ran = mockup("print", rectangle, "--paper", paper, "--out", tmp_path / "p.pdf", "--json")
    document = pypdfium2.PdfDocument(tmp_path / "p.pdf")
    assert len(document) == ran.json["sheets"]
    document.close()


def test_the_lay_of_pattern_pieces_and_its_files(mockup: Callable[..., Any], tmp_path: Path) -> None:
    ran = mockup(
        "lay", choir.PIECES, "--width", "140cm", "--clearance", "2mm", "--time", "0", "--out", tmp_path, "--json"
    )
    assert ran.code == 0
    answer = ran.json
    assert {"answer", "proof", "placements", "short_mm", "length_mm", "density"} <= set(answer)
    assert answer["answer"] == "yes"
    assert [set(p) for p in answer["placements"]] == [{"piece", "remnant", "mirrored", "angle", "x", "y"}] * 8
    assert sum(p["mirrored"] for p in answer["placements"]) == 2  # one of each pair: sleeve and pocket
    assert json.loads((tmp_path / "lay.json").read_text(encoding="utf-8"))["length_mm"] == answer["length_mm"]


def test_a_lay_that_cannot_be_ends_with_1(mockup: Callable[..., Any], tmp_path: Path) -> None:
    ran = mockup("lay", choir.PIECES, "--width", "30cm", "--time", "0", "--json")
    assert ran.code == 1
    assert ran.json["answer"] == "no"
    assert ran.json["short_mm"] > 0
    (tmp_path / "p.json").write_text('[{"name": "a", "outline": [[0, 0], [100, 0], [100, 100], [0, 100]]}]')
    (tmp_path / "s.json").write_text('[{"name": "s", "outline": [[0, 0], [99, 0], [99, 200], [0, 200]]}]')
    ran = mockup("lay", tmp_path / "p.json", "--scraps", tmp_path / "s.json", "--time", "1", "--json")
    assert (ran.code, ran.json["answer"], ran.json["placements"]) == (1, "no", [])
    assert "'a'" in ran.json["proof"]


def test_cloths_are_called_what_the_project_calls_them(mockup: Callable[..., Any], tmp_path: Path) -> None:
    front = half()
    (tmp_path / "front.svg").write_text(svg.write_pieces([front]), encoding="utf-8")
    split = split_of(view(front, [level_line(front, 200)], fabrics={1: "check-2", 2: "check-2"}))
    (tmp_path / "split.json").write_text(write_split(split), encoding="utf-8")
    cloth = replace(journey.plain_fabric("#1f4a44"), id="check-2", name="Grandmother's check")
    project_file.save(Project("tunic", fabrics=(cloth,)), tmp_path / "tunic")
    cut = ("cut", tmp_path / "front.svg", "--split", tmp_path / "split.json", "--out")
    assert mockup(*cut, tmp_path / "ids", "--json").code == 0
    assert mockup(*cut, tmp_path / "named", "--project", tmp_path / "tunic", "--json").code == 0
    bare, named = ((tmp_path / o / "pieces.svg").read_text("utf-8") for o in ("ids", "named"))
    assert "Grandmother" not in bare
    assert "Grandmother" in named
    assert {p.fabric for p in svg.read_pieces(named.encode())} == {"check-2"}, "what other commands go by stays"
    pdf = tmp_path / "p.pdf"
    printed = mockup("print", tmp_path / "ids" / "pieces.svg", "--project", tmp_path / "tunic", "--out", pdf, "--json")
    assert printed.code == 0
    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))
    assert "Grandmother's check" in text
    assert "check-2" not in text


CLOTHS = """<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="700mm" viewBox="0 0 900 700">
<g data-piece="yoke" data-fabric="ochre"><path data-edge="outer" d="M0 0H400V200H0Z"/></g>
<g data-piece="lower" data-fabric="linen"><path data-edge="outer" d="M0 250H500V650H0Z"/></g>
<g data-piece="band" data-fabric="ochre"><path data-edge="outer" d="M550 250H850V350H550Z"/></g></svg>"""


def test_pieces_of_different_cloths_lie_apart(mockup: Callable[..., Any], tmp_path: Path) -> None:
    # By hand, on 500 mm: of ochre the yoke is 200 long and the band 100 more, side by side they are 700 wide; of linen
    # the lower part is 400 long. No shop sells them as one: 0.3 m of one and 0.4 m of the other, at 10 a metre.
    (tmp_path / "p.svg").write_text(CLOTHS, encoding="utf-8")
    given = ("lay", tmp_path / "p.svg", "--width", "50cm", "--price", "10", "--time", "0")
    answer = mockup(*given, "--out", tmp_path / "lay", "--json").json
    rows = [(row["fabric"], row["answer"], row["length_mm"], row["buy_mm"], row["cost"]) for row in answer["cloths"]]
    assert rows == [
        ("ochre", "yes", pytest.approx(300, abs=0.01), 300, 3.0),
        ("linen", "yes", pytest.approx(400, abs=0.01), 400, 4.0),
    ]
    assert {(p["piece"], p["remnant"]) for p in answer["placements"]} == {
        ("yoke", "ochre"), ("band", "ochre"), ("lower", "linen")
    }  # fmt: skip
    assert (answer["answer"], answer["buy_mm"], answer["cost"]) == ("yes", 700, 7.0)
    assert answer["length_mm"] == pytest.approx(700, abs=0.01)
    # 80,000 + 30,000 + 200,000 mm² on 500 × 700 mm
    assert answer["density"] == pytest.approx(310_000 / 350_000, abs=1e-4)
    assert {Path(name).name for name in answer["files"]} == {"lay.json", "lay.svg", "lay.pdf"}
    said = mockup(*given).out
    assert [line.partition(":")[0] for line in said.splitlines()] == ["ochre", "linen", "All cloths together"]
    assert "Buy 0.3 m, 3.00." in said
    # who measures in inches buys by the yard: 300 mm are 2.6 eighths of 114.3 mm, so three, at 10 a yard
    assert "Buy 3/8 yd, 3.75." in mockup(*given[:2], "--width", "20in", *given[4:]).out
    assert "Buy 0.3 m, 3.00." in mockup(*given[:2], "--width", "20in", *given[4:], "--shop", "metre").out
    one = mockup(*given, "--fabric", "linen", "--json").json
    assert "cloths" not in one
    assert one["length_mm"] == pytest.approx(400, abs=0.01)
    table = mockup("lay", tmp_path / "p.svg", "--widths", "inch", "--time", "0", "--json").json["widths"]
    assert {row["fabric"] for row in table} == {"ochre", "linen"}


def test_a_cloth_whose_record_says_that_it_is_a_knit_is_held_to_its_grain(
    mockup: Callable[..., Any], refused: Callable[..., str], tmp_path: Path
) -> None:
    (tmp_path / "p.svg").write_text(CLOTHS, encoding="utf-8")
    cloths = (
        replace(plain("ochre", "ochre jersey", "#c79a3b"), structure=Known("knit", "", Origin.LABEL)),
        replace(plain("linen", "church linen", "#e0d8c0"), nap=Known(True, "", Origin.LABEL)),
    )
    (tmp_path / "tunic").mkdir()
    project_file.save(Project("tunic", fabrics=cloths), tmp_path / "tunic")
    given = ("lay", tmp_path / "p.svg", "--width", "50cm", "--time", "0", "--project", tmp_path / "tunic")
    answer = mockup(*given, "--json").json
    # by the record alone: every turn of the one-way linen and of the jersey, which nobody called one-way or not, is 0
    assert {p["angle"] for p in answer["placements"]} == {0.0}
    assert [w[:22] for w in answer["warnings"]] == [
        "ochre jersey: It is a ", "ochre jersey: It is co", "church linen: It has a",
    ]  # fmt: skip
    assert "ochre jersey, a knit" in refused(*given, "--bias", "band")
    assert mockup(*given, "--cross-grain", "lower").code == 0, "the linen is woven"
    project_file.save(replace(Project("tunic", fabrics=cloths[:0]), revision=1), tmp_path / "tunic")
    assert "a garment with a cloth of these pieces: ochre, linen, got one without cloth" in refused(*given)


def test_of_several_cloths_the_worst_answer_stands_above(mockup: Callable[..., Any], tmp_path: Path) -> None:
    # On its grain the lower part is 500 mm wide, 50 more than the cloth; the ochre pieces lie.
    (tmp_path / "p.svg").write_text(CLOTHS, encoding="utf-8")
    ran = mockup("lay", tmp_path / "p.svg", "--width", "45cm", "--time", "0", "--json")
    assert (ran.code, ran.json["answer"]) == (1, "no")
    assert [row["answer"] for row in ran.json["cloths"]] == ["yes", "no"]
    assert ran.json["short_mm"] == pytest.approx(50, abs=0.01)
    assert (ran.json["length_mm"], ran.json["buy_mm"]) == (None, None)
    assert {p["remnant"] for p in ran.json["placements"]} == {"ochre"}
    assert "linen: 'lower' is 50 mm wider" in ran.json["proof"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--width", "50cm", "--fabric", "wool"), "ochre, linen, got wool"),
        (("--scraps", "s.json"), "--fabric 'ochre'"),
        (("--width", "50cm", "--time", "nan"), "'nan' is not a number"),
        (("--width", "50cm", "--price", "inf"), "'inf' is not a number"),
    ],
)
def test_what_cannot_be_laid_is_said(
    options: tuple[str, ...], words: str, mockup: Callable[..., Any], tmp_path: Path
) -> None:
    (tmp_path / "p.svg").write_text(CLOTHS, encoding="utf-8")
    (tmp_path / "s.json").write_text('[{"name": "s", "outline": [[0, 0], [99, 0], [99, 200], [0, 200]]}]')
    ran = mockup("lay", tmp_path / "p.svg", *(tmp_path / o if o == "s.json" else o for o in options))
    assert ran.code == 2
    assert words in ran.err
