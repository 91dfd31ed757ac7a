"""A dress with a waist seam, by commands: new, line, assign, check, split, cut, walk, print; figures by hand."""

from __future__ import annotations

import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import replace

import numpy as np
import pytest
import waisted_dress as dress

from mockup import journey
from mockup.files import project_file, split_file, svg
from mockup.files.outlines import edges_at_corners
from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.pattern.recognise import named_as, suggest
from mockup.pattern.sections import section_of
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError
from ui.commands.main import run

LINES = {
    "yoke": ("armhole:underarm=100mm", "centre-front:neck=80mm"),
    "band": ("side:hem=200mm", "centre-front:hem=190mm"),
    # counted from the underarm and the neck, and ending in the skirt
    "hip": ("side:underarm=300mm", "centre-front:neck=400mm"),
}


def told(*arguments):
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = run([*map(str, arguments), "--json"])
    assert code == 0, err.getvalue()
    return json.loads(out.getvalue())


@pytest.fixture(scope="module")
def walked(tmp_path_factory):
    folder = tmp_path_factory.mktemp("dress")
    for name, data in (("f", dress.drawing("front")), ("b", dress.drawing("back", 1.25)), ("p", dress.pieces())):
        (folder / f"{name}.svg").write_bytes(data)
    project = folder / "dress"
    told("new", project, "--front", folder / "f.svg", "--back", folder / "b.svg", "--pieces", folder / "p.svg",
         "--measure", "front:centre-front=910mm", "--measure", "back:centre-back=990mm")  # fmt: skip
    for name, (start, end) in LINES.items():
        carry = ["--carry"] if name == "band" else []
        told("line", "add", project, "--name", name, "--kind", "arc", "--symmetric",
             "--start", start, "--end", end, *carry)  # fmt: skip
    panels = told("panels", project)["panels"]
    told("assign", project, *(f"{p['id']}={'#c79a3b' if k % 2 else '#1f4a44'}" for k, p in enumerate(panels)))
    checked = told("check", project)
    told("split", project, "--choice", "A", "--out", folder / "split.json")
    cut = told("cut", folder / "p.svg", "--split", folder / "split.json", "--out", folder / "cut")
    return folder, panels, checked, cut


def children(walked):
    return {p.name: p for p in svg.read_pieces(walked[0] / "cut" / "pieces.svg")}


def of(walked, parent):
    return [p for p in children(walked).values() if (p.parent or p.name) == parent]


def test_each_part_gets_its_own_lines_and_panels(walked):
    _, panels, _, cut = walked
    names = {e.name for p in children(walked).values() for e in p.all_edges if e.line_id}
    assert names == set(LINES)
    assert {e.name for p in of(walked, "bodice front") for e in p.all_edges if e.line_id} == {"yoke"}
    assert {e.name for p in of(walked, "skirt front") for e in p.all_edges if e.line_id} == {"band", "hip"}
    assert [len(of(walked, f"{part} front")) for part in ("bodice", "skirt")] == [2, 3]
    numbered = {p["name"]: p["number"] for p in panels}
    for row in cut["pieces"]:
        assert numbered[row["name"]] == row["number"]
    assert all(p.fabric for p in children(walked).values())


def test_distances_on_the_cut_pieces_are_those_typed(walked):
    """On straight edges: Pythagoras; the pattern is larger than the drawing, and the figures are the pattern's."""

    def size(piece, edge):
        return float(np.linalg.norm(np.diff(outline(children(walked)[piece], edge), axis=0), axis=1).sum())

    def outline(piece, edge):
        return np.vstack([piece.edge(edge).path.cubics[:, 0], piece.edge(edge).path.cubics[-1:, 3]])

    assert size("front bodice panel 2", "armhole") == pytest.approx(100.0, abs=1e-3)
    assert size("front yoke", "centre-front") == pytest.approx(80.0, abs=1e-3)
    hem = next(p.name for p in of(walked, "skirt front") if any(e.name == "hem" for e in p.edges))
    assert size(hem, "side") == pytest.approx(200.0, abs=1e-3)
    assert size(hem, "centre-front") == pytest.approx(190.0, abs=1e-3)
    top = next(p.name for p in of(walked, "skirt front") if any(e.name == "waist" for e in p.edges))
    # 300 mm from the underarm: along the bodice's whole side, the rest along the skirt's; 400 mm from the neck alike
    assert size(top, "side") == pytest.approx(300.0 - dress.side_mm("bodice"), abs=1e-3)
    assert size(top, "centre-front") == pytest.approx(400.0 - (428 - dress.DROP["front"]), abs=1e-3)
    back = next(p.name for p in of(walked, "skirt back") if any(e.name == "hem" for e in p.edges))
    assert size(back, "side") == pytest.approx(200.0, abs=1e-3)  # carried


def test_areas_add_up_to_the_pattern(walked):
    _, _, _, cut = walked
    assert cut["proof"]["ok"] is True
    for part in ("bodice", "skirt"):
        for side in ("front", "back"):
            found = of(walked, f"{part} {side}") or [p for p in children(walked).values() if p.name == f"{side} {part}"]
            assert sum(p.finished_area_mm2 for p in found) == pytest.approx(dress.area_mm2(part, side), abs=0.05)


def test_seams_walk_and_paper_is_printed(walked):
    folder, _, checked, _ = walked
    assert not [f for f in checked["findings"] if f["grade"] == "stop"]
    assert told("walk", folder / "cut" / "pieces.svg")["worst_mm"] < 0.01
    assert told("print", folder / "cut" / "pieces.svg", "--paper", "A0", "--out", folder / "p.pdf")["pieces"] == 8


def split_with(walked, **lines):
    """The dress's split with other lines, each as (start, end, side)."""
    project = replace(project_file.load(walked[0] / "dress"), lines=())
    for name, (start, end, side) in lines.items():
        made = StyleLine(name, name.split("_")[0], "front", LineKind.STRAIGHT,
                         End(*start, side), End(*end, side), ())  # fmt: skip
        project = project.put_line(made)
    return journey.split_of(project)


def test_a_princess_line_runs_on_over_the_waist_seam(walked):
    ends = (("shoulder", "neck", 60.0), ("hem", "hem-centre", 150.0))
    split = split_with(walked, princess_l=(*ends, "left"), princess_r=(*ends, "right"))
    found = apply_split(svg.read_pieces(dress.pieces()), split)
    assert found.proof.ok
    parts = [p for p in found.pieces if p.view == "front"]
    assert len(parts) == 4  # still on the fold: both lines are each other's mirror image
    along = {}
    for piece in parts:
        if any(e.name.startswith("centre") for e in piece.edges):
            waist = piece.edge("waist").path
            along[piece.parent] = float(np.linalg.norm(waist.end - waist.start))
    assert along["bodice front"] == pytest.approx(along["skirt front"], abs=1e-6)
    # the drawn line from (140.2, 21.6) to (150, 1020) is at 143.96 where y is 400, of 200 mm: the same share of 214
    neck, tip = np.array(dress.DRAWN["neck"], float), np.array(dress.DRAWN["shoulder"], float)
    top = neck + (tip - neck) * 60 / np.linalg.norm(tip - neck)
    x = top[0] + (150 - top[0]) * (400 - top[1]) / (1020 - top[1])
    assert along["skirt front"] == pytest.approx(214 * x / 200, abs=0.05)
    hems = [p for p in parts if any(e.name == "hem" for e in p.edges) and any(e.kind == "fold" for e in p.edges)]
    assert paths.length(hems[0].edge("hem").path) == pytest.approx(150.0, abs=1e-3)


def test_a_line_on_one_side_opens_out_only_the_piece_it_crosses(walked):
    split = split_with(walked, slant=(("side", "hem", 300.0), ("hem", "hem-centre", 40.0), "left"))
    found = apply_split(svg.read_pieces(dress.pieces()), split)
    assert found.proof.ok
    skirt = [p for p in found.pieces if p.parent == "skirt front"]
    assert len(skirt) == 2
    assert all(p.right_side_up and p.fold is None for p in skirt)
    assert sum(p.finished_area_mm2 for p in skirt) == pytest.approx(2 * dress.area_mm2("skirt", "front"), abs=0.05)
    small = min(skirt, key=lambda p: p.finished_area_mm2)
    side = next(e for e in small.edges if e.name.startswith("side"))
    assert paths.length(side.path) == pytest.approx(300.0, abs=1e-3)
    assert any(p.fold is not None and "bodice" in p.name for p in found.pieces if p.view == "front")


def test_a_piece_that_does_not_say_its_part_is_told_by_its_edges(walked):
    split = split_file.read_split(walked[0] / "split.json")
    found = apply_split(svg.read_pieces(dress.pieces(area=False, waist="joined to the other")), split)
    assert found.proof.ok
    assert sorted((p.number, round(p.finished_area_mm2, 3)) for p in found.pieces) == sorted(
        (p.number, round(p.finished_area_mm2, 3)) for p in children(walked).values()
    )


def test_what_cannot_be_matched_is_one_sentence(walked):
    split = split_file.read_split(walked[0] / "split.json")
    with pytest.raises(GeometryError, match="expected the piece of the bodice, along which 300 mm from the underarm"):
        apply_split([p for p in svg.read_pieces(dress.pieces()) if "skirt" in p.name], split)
    torn = dress.pieces().replace(b'"armhole"', b'"sleeve hole"')
    with pytest.raises(GeometryError, match="a seam that the garment has may have any name") as refused:
        apply_split(svg.read_pieces(torn), split)
    assert "\n" not in str(refused.value)
    # the hip line is 3 mm below the drawn waist; on this pattern the bodice's side is longer than that
    low = split_with(walked, hip=(("side", "underarm", 178.0), ("hem", "hem-centre", 40.0), "left"))
    with pytest.raises(GeometryError, match="which on your pattern is on the next piece"):
        apply_split(svg.read_pieces(dress.pieces()), low)


def test_a_split_from_before_sections_is_read(walked):
    text = (walked[0] / "split.json").read_text(encoding="utf-8")
    data = json.loads(text)
    for view in data["views"]:
        assert sorted(s["area"] for s in view.pop("sections")) == ["bodice", "skirt"]
    old = split_file.read_split(json.dumps(data).encode())
    assert [v.sections for v in old.views] == [(), ()]
    bodice = svg.read_pieces(dress.pieces())[0]
    assert section_of(old.views[0], bodice) is None
    said = apply_split([bodice], old).warnings
    assert any(re.search("No panel of the picture shows bodice front", w) for w in said)


def test_a_torn_section_is_refused(walked):
    data = json.loads((walked[0] / "split.json").read_text(encoding="utf-8"))
    data["views"][0]["sections"][0]["outline"][0][0][0] += 5.0
    with pytest.raises(Exception, match="bodice of front") as refused:
        split_file.read_split(json.dumps(data).encode())
    assert "\n" not in str(refused.value)


def test_parts_are_found_again_by_their_outline(walked):
    """Outlines without a name, as a stranger's file has them: each gets its part and its edges, and is cut alike."""
    split = split_file.read_split(walked[0] / "split.json")
    named = []
    for true in svg.read_pieces(dress.pieces()):
        bare = true.with_(name="piece-1", edges=edges_at_corners(true.outline), view="", area="body", how="single")
        (first, *_) = suggest(bare, split)
        area, side = true.name.split()
        assert first.area == area
        if area == "bodice":  # both skirts are the same
            assert first.view == side
        again = named_as(bare, replace(first, view=side), split)
        assert {e.name for e in again.edges} == {e.name.replace("waist", "seam") for e in true.edges}
        named.append(again.with_(name=true.name))
    found = apply_split(named, split)
    assert found.proof.ok
    assert sorted(round(p.finished_area_mm2, 2) for p in found.pieces) == pytest.approx(
        sorted(round(p.finished_area_mm2, 2) for p in children(walked).values()), abs=0.02
    )
