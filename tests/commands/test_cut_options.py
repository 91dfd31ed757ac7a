"""``mockup cut``: enclosed shapes, what becomes of seams, and what a split does otherwise on a refitted pattern."""

from __future__ import annotations

import dataclasses
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "pattern"))
from tunic import half, level_line, split_of, view

from mockup.files import svg
from mockup.files.split_file import write_split
from mockup.geometry import path as paths
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.piece import moved

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300"><path d="{d}"/></svg>'
DISC = "M 60 150 A 40 40 0 1 1 140 150 A 40 40 0 1 1 60 150 Z"


@pytest.fixture
def rectangle(tmp_path: Path) -> Path:
    path = tmp_path / "rectangle.svg"
    path.write_text(SVG.format(d="M0 0H200V300H0Z"), encoding="utf-8")
    return path


def test_a_closed_line_is_let_in_or_sewn_on_top(mockup: Callable[..., Any], rectangle: Path, tmp_path: Path) -> None:
    # Steiner: 40 mm with 10 mm is 30 in the opening and 50 round the shape.
    let_in = mockup("cut", rectangle, "--line", DISC, "--allowance", "10mm", "--out", tmp_path / "in", "--json")
    assert let_in.code == 0
    areas = [p["cut_area_mm2"] for p in let_in.json["pieces"]]
    assert areas == pytest.approx([60_000 - 900 * math.pi, 2500 * math.pi], rel=1e-5)
    on_top = mockup("cut", rectangle, "--line", DISC, "--on-top", "--allowance", "10mm", "--json").json
    assert [p["cut_area_mm2"] for p in on_top["pieces"]] == pytest.approx([60_000, 2500 * math.pi], rel=1e-5)
    (around,) = svg.read_pieces(Path(let_in.json["pieces"][0]["file"]))
    assert len(around.holes) == 1


def test_what_becomes_of_a_seam_shapes_its_corners(mockup: Callable[..., Any], tmp_path: Path) -> None:
    front = tmp_path / "front.svg"
    front.write_text(svg.write_pieces([half()]), encoding="utf-8")
    slanted = ("cut", front, "--line", "M -10 -150 L 320 -250", "--json")
    plain = mockup(*slanted).json["pieces"]
    opened = mockup(*slanted, "--pressed", "open").json
    assert opened["proof"]["ok"]
    areas = [[p["cut_area_mm2"] for p in found] for found in (plain, opened["pieces"])]
    assert areas[0] != pytest.approx(areas[1], rel=1e-6)
    refused = mockup(*slanted, "--pressed", "flat")
    assert refused.code == 2
    assert "one side" in refused.err


def test_a_saved_split_on_a_refitted_pattern_lists_what_moved(mockup: Callable[..., Any], tmp_path: Path) -> None:
    piece = half()
    split = tmp_path / "split.json"
    split.write_text(write_split(split_of(view(piece, [level_line(piece, 200.0)]))), encoding="utf-8")
    for name, made in (("old", piece), ("new", moved(piece, np.array([[1.04, 0, 0], [0, 1, 0]])))):
        (tmp_path / f"{name}.svg").write_text(svg.write_pieces([made]), encoding="utf-8")
    new = ("cut", tmp_path / "new.svg", "--split", split, "--json")
    said = mockup(*new, "--was", tmp_path / "old.svg").json["warnings"]
    grown = 0.04 * paths.length(piece.edge("hem").path)
    hem = next(text for text in said if text.startswith("hem of"))
    assert f"{round(grown, 1):g} mm longer" in hem
    assert any(text.startswith("band of") for text in said)
    assert not any("longer" in text for text in mockup(*new, "--was", tmp_path / "new.svg").json["warnings"])
    assert mockup("cut", tmp_path / "new.svg", "--line", "M 0 0", "--was", tmp_path / "old.svg").code == 2


def test_a_dart_is_said_by_three_lengths_and_a_line_over_it_is_folded(
    mockup: Callable[..., Any], tmp_path: Path
) -> None:
    front = tmp_path / "front.svg"
    front.write_text(svg.write_pieces([half()]), encoding="utf-8")
    said = ("pieces", "read", front, "--out", tmp_path / "darted.svg", "--json", "--dart")
    assert mockup(*said, "front:side=330mm,24mm,135mm").code == 0
    (piece,) = svg.read_pieces(tmp_path / "darted.svg")
    assert [(d.name, d.edge) for d in piece.darts] == [("side dart", "side")]
    cut = mockup("cut", tmp_path / "darted.svg", "--line", "M 215 20 L 195 -720", "--json").json
    assert cut["proof"]["ok"]
    assert any("side dart folded" in text for text in cut["warnings"])
    assert mockup(*said, "front:side=330mm,24mm").code == 2
    assert mockup(*said, "front:collar=330mm,24mm,135mm").code == 2


def test_a_walk_tells_where_style_seams_meet_in_a_point(mockup: Callable[..., Any], tmp_path: Path) -> None:
    # lines that are square to their folds meet in a shallow V on a flared side; here both rise by
    # 10° to the side, so the V is the side's own slant there and 20° more (derived).
    made = []
    for side in ("front", "back"):
        piece = half(side)
        up = paths.point_at_distance(piece.edge("side").path, 200.0)
        rise = math.tan(math.radians(10)) * 320
        line = CutLine("band", "band", paths.polyline([(up[0] - 320, up[1] - rise), up]))
        made.append((side, cut_piece(piece, [line], 15).children))
    mates = {"front": "back", "back": "front"}
    named = []
    for side, children in made:
        called = {p.name: f"{side} {k}" for k, p in enumerate(children)}
        for child in children:
            edges = []
            for e in child.edges:
                of, _, at = e.mate.partition(":")
                mate = f"{called[of]}:{at}" if e.line_id else ""  # the style seam's other side, as renamed
                if e.name == "side":
                    mate = f"{called[child.name].replace(side, mates[side])}:side"
                edges.append(dataclasses.replace(e, mate=mate))
            named.append(child.with_(name=called[child.name], edges=tuple(edges)))
    pattern = tmp_path / "pieces.svg"
    pattern.write_text(svg.write_pieces(named), encoding="utf-8")
    points = mockup("walk", pattern, "--json").json["points"]
    assert points
    tangent = paths.tangent(half().edge("side").path, *paths.locate(half().edge("side").path, 200.0))
    slant = math.degrees(math.atan2(-tangent[0], tangent[1]))
    assert {round(abs(p["angle_deg"]), 3) for p in points} == {round(abs(20 - 2 * slant), 3)}


def test_a_lining_is_cut_when_it_is_named(mockup: Callable[..., Any], tmp_path: Path) -> None:
    front = half()
    pattern, split = tmp_path / "pieces.svg", tmp_path / "split.json"
    pattern.write_text(svg.write_pieces([front, front.with_(name="lining", layer="lining")]), encoding="utf-8")
    split.write_text(write_split(split_of(view(front, [level_line(front, 200.0)]))), encoding="utf-8")
    asked = mockup("cut", pattern, "--split", split, "--layer", "lining", "--json").json["pieces"]
    assert len(asked) == 4
    assert len(mockup("cut", pattern, "--split", split, "--json").json["pieces"]) == 3
