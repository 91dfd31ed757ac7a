"""``mockup pieces read`` with what the person says, and a second ``cut`` into one folder."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas

from mockup.samples import choir

BOX = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">'
    '<path d="M 0,0 H 300 V 200 H 0 Z"/></svg>'
)


@pytest.fixture
def box(tmp_path: Path) -> Path:
    target = tmp_path / "box.svg"
    target.write_text(BOX)
    return target


def two_sizes() -> bytes:
    """A PDF with a size in red, solid, and another in blue, dashed."""
    out = io.BytesIO()
    c = Canvas(out, pagesize=(600, 600), invariant=1)
    c.setStrokeColorRGB(1, 0, 0)
    c.rect(50, 50, 360, 288)
    c.setStrokeColorRGB(0, 0, 1)
    c.setDash(4, 2)
    c.rect(50, 50, 432, 360)
    c.showPage()
    c.save()
    return out.getvalue()


def test_what_is_said_ends_up_in_the_file(mockup, box, tmp_path):
    out = tmp_path / "mine.svg"
    answer = mockup(
        "pieces", "read", box, "--known", "piece-1=30cm", "--line-is", "cut", "--allowance", "5/8in",
        "--name", "piece-1=front", "--name", "piece-1:edge-1=hem", "--view", "piece-1=front", "--out", out, "--json",
    )  # fmt: skip
    found = answer.json
    (piece,) = found["pieces"]
    assert (piece["name"], piece["view"]) == ("front", "front")
    assert piece["cut_area_mm2"] == pytest.approx(60_000, abs=1e-6)
    assert piece["edges"][0]["allowance_mm"] == pytest.approx(15.875)  # 5/8 in
    assert found["notes"][0].startswith("Confirmed")
    assert found["files"] == [str(out)]
    again = mockup("pieces", "read", out, "--json").json
    told = mockup("pieces", "read", box).out  # 300 mm across, 200 mm down, begun at its top left
    sides = "edge-1 (left, 20.0 cm), edge-2 (bottom, 30.0 cm), edge-3 (right, 20.0 cm), edge-4 (top, 30.0 cm)"
    assert f"edges {sides}" in told
    assert again["pieces"][0]["finished_area_mm2"] == pytest.approx(piece["finished_area_mm2"], rel=1e-9)


def test_kinds_of_line_of_a_pdf_are_listed_and_chosen(mockup, tmp_path):
    file = tmp_path / "sizes.pdf"
    file.write_bytes(two_sizes())
    listed = mockup("pieces", "read", file, "--kinds", "--json").json["contents"][0]
    assert [k["colour"] for k in listed["kinds"]] == ["#0000ff", "#ff0000"]
    one = mockup("pieces", "read", file, "--dash", "solid", "--json").json["pieces"]
    # 360 × 288 pt, 1 pt = 25.4/72 mm
    assert one[0]["finished_area_mm2"] == pytest.approx(127 * 101.6, rel=1e-4)
    other = mockup("pieces", "read", file, "--colour", "#0000ff", "--json").json["pieces"]
    assert other[0]["finished_area_mm2"] == pytest.approx(152.4 * 127, rel=1e-4)


def test_a_second_cut_takes_away_the_first_ones_pieces_and_nothing_else(mockup, box, tmp_path):
    out = tmp_path / "cut"
    for line in ("M 100 -20 V 320", "M -20 100 H 320"):
        mockup("cut", box, "--line", line, "--out", out)
    three = "M 100 -20 C 100 100, 100 200, 100 320"
    (out / "mine.svg").write_text("kept")
    (out / "01-piece-1-1.svg").rename(out / "03-left-over.svg")
    record = json.loads((out / "cut.json").read_text())
    record["files"] = [*record["files"], "03-left-over.svg", "../box.svg"]
    (out / "cut.json").write_text(json.dumps(record))
    mockup("cut", box, "--line", three, "--out", out)
    assert not (out / "03-left-over.svg").exists()
    assert (out / "mine.svg").read_text() == "kept"
    assert box.exists(), "a record cannot name files elsewhere"


@pytest.mark.slow
def test_a_split_of_another_garment_is_doubted(mockup, tmp_path):
    from mockup import journey
    from mockup.files import svg
    from mockup.files.preparing import scaled

    measures = [(view, edge, mm) for view, (edge, mm) in choir.MEASURES.items()]
    project = journey.new_project(tmp_path / "t", choir.FRONT_SVG, choir.BACK_SVG, measures=measures)
    from dataclasses import replace

    split = tmp_path / "split.json"
    split.write_text(journey.write_split(replace(project, lines=choir.LINES)))
    large = tmp_path / "large.svg"
    large.write_text(svg.write_pieces(scaled(svg.read_pieces(choir.PIECES), 1.5)))
    warnings = mockup("cut", large, "--split", split, "--json").json["warnings"]
    assert any("another garment" in w for w in warnings)
    same = mockup("cut", choir.PIECES, "--split", split, "--json").json["warnings"]
    assert not any("another garment" in w for w in same)


def test_panels_lists_a_sleeve_once_though_both_views_show_it(mockup, tmp_path):
    mockup("new", tmp_path / "t", "--front", choir.FRONT_SVG, "--back", choir.BACK_SVG)
    panels = mockup("panels", tmp_path / "t", "--json").json["panels"]
    ids = [p["id"] for p in panels]
    assert len(ids) == len(set(ids))
    assert next(p["views"] for p in panels if p["name"].startswith("sleeve")) == ["front", "back"]
