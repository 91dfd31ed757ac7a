"""``mockup area`` and ``mockup landmark``: what they change, and that a refused change leaves nothing half-written."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from swatches.photo import write_png
from ui.commands.main import run

sys.path.append(str(Path(__file__).parents[1] / "garment"))
from sewn_garments import GARMENTS


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("areas")
    write_png(folder / "dress.png", GARMENTS["dress"].scan(k=0.45, width=2.0))
    assert run(["new", str(folder / "dress"), "--front", str(folder / "dress.png"), "--json"]) == 0
    return folder / "dress"


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    capsys.readouterr()
    assert run([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_areas_are_split_named_joined_and_read_again(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (view,) = answer(capsys, "area", "list", str(project))["views"]
    assert {a["id"] for a in view["areas"] if a["of_body"]} == {"bodice", "skirt"}
    assert view["gap_px"] > view["line_width_px"] > 1
    w = GARMENTS["dress"].size(0.45)[0]
    ((_, y),) = GARMENTS["dress"].to_px([[0.0, 700.0]], 0.45)
    split = answer(capsys, "area", "split", str(project), "--stroke", f"5,{y:.0f} {w - 5},{y:.0f}")
    assert len([a for a in split["areas"] if a["of_body"]]) == 3
    new = next(a["id"] for a in split["areas"] if a["of_body"] and a["id"] not in {"bodice", "skirt"})
    answer(capsys, "area", "name", str(project), new, "flounce")
    again = answer(capsys, "area", "read", str(project), "--gap", "12")
    assert "flounce" in {a["name"] for a in again["areas"]}
    assert again["gap_px"] == 12
    joined = answer(capsys, "area", "join", str(project), "body")
    assert [a["id"] for a in joined["areas"] if a["of_body"]] == ["body"]
    assert joined["edits"] == 3


def test_points_are_listed_and_moved(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    x, y = answer(capsys, "landmark", "list", str(project))["landmarks"]["hem-left"]
    moved = answer(capsys, "landmark", "move", str(project), "hem-left", "--to", f"{x},{y - 15}")
    assert moved["placed"] == ["hem-left"]
    assert moved["landmarks"]["hem-left"][1] < y - 8


@pytest.mark.parametrize(
    "words",
    [
        ["area", "join", "P", "skirt"],
        ["area", "join", "P", "hat", "body"],
        ["area", "split", "P", "--stroke", "5,5 9,9"],
        ["area", "split", "P", "--stroke", "5,5"],
        ["area", "name", "P", "body", ""],
        ["area", "name", "P", "sleeve-left", "arm", "--part", "wing"],
        ["area", "seam", "P", "--at", "5,5"],
        ["area", "read", "P", "--on", "back"],
        ["landmark", "move", "P", "knee", "--to", "5,5"],
        ["landmark", "move", "P", "hem-left", "--to", "x"],
    ],
    ids=" ".join,
)
def test_what_cannot_be_is_one_line_and_changes_nothing(
    project: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    files = [*sorted((project / "pictures").iterdir()), project / "project.json"]
    before = [f.read_bytes() for f in files]
    capsys.readouterr()
    assert run([str(project) if w == "P" else w for w in words]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
    assert [f.read_bytes() for f in files] == before
