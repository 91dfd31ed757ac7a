"""What commands say in words: plain words before figures, all that is wrong at once, lengths as they were typed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mockup.samples import choir

SQUARE = [[0, 0], [300, 0], [300, 300], [0, 300]]


@pytest.fixture
def tunic(mockup: Callable[..., Any], tmp_path: Path) -> Path:
    project = tmp_path / "Chor – 合唱 🎶 שרה"
    ran = mockup("new", project, "--front", choir.FRONT_SVG, "--measure", "front:centre-front=63cm")
    assert ran.code == 0, ran.err
    return project


def test_a_cloth_is_called_by_its_name_once(mockup: Callable[..., Any], tmp_path: Path) -> None:
    here = ("--data", tmp_path / "Stoff ä 布")
    assert mockup("stash", "add", "#c79a3b", "--name", "ochre", *here).out == (
        "ochre is in the stash; commands call it ochre\n"
    )
    mockup("stash", "add", "#303030", "--name", "Großmutters 布 🧵", *here)
    lines = mockup("stash", "list", *here).out.splitlines()
    assert "ochre" in lines  # not 'ochre: ochre'
    assert any(line.endswith(": Großmutters 布 🧵") for line in lines)


def test_every_wrong_panel_and_cloth_is_said_at_once(refused: Callable[..., str], tunic: Path) -> None:
    said = refused("assign", tunic, "nix=#12345", "front-1=oat", "front-1=#c79a3b")
    assert "'nix'" in said
    assert "'#12345'" in said
    assert "'oat'" in said


def test_cloth_of_the_stash_is_assigned_by_its_word_there(
    mockup: Callable[..., Any],
    refused: Callable[..., str],
    tunic: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    home = tmp_path / "stash"
    monkeypatch.setattr("swatches.stash.default_folder", lambda: home)
    assert "ochre" in refused("assign", tunic, "front-1=ochre")
    assert not home.exists()
    mockup("stash", "add", "#c79a3b", "--name", "ochre")
    mockup("stash", "edit", "ochre", "length_left=2 m", "usable_width=140 cm")
    assert mockup("assign", tunic, "front-1=ochre").out.splitlines() == ["front-1: ochre"]
    kept = json.loads((tunic / "project.json").read_text(encoding="utf-8"))
    assert kept["fabrics"][0]["length_left"]["value"] == 2000.0


def test_what_is_unfolded_is_said_as_it_is_cut(mockup: Callable[..., Any]) -> None:
    lines = mockup("unfold", choir.PIECES).out.splitlines()
    assert "front: cut 1" in lines
    assert "sleeve: cut a pair" in lines


@pytest.mark.parametrize(
    ("option", "value"), [("--selvedges", "2cm"), ("--price", "12"), ("--shrinkage", "4"), ("--folded", None)]
)
def test_scraps_have_no_selvedges_and_no_price(
    refused: Callable[..., str], tmp_path: Path, option: str, value: str | None
) -> None:
    scraps = tmp_path / "Reste 布.json"
    scraps.write_text(json.dumps([{"name": "Rest", "outline": SQUARE}]), encoding="utf-8")
    said = refused("lay", choir.PIECES, "--scraps", scraps, option, *(() if value is None else (value,)))
    assert said.startswith(option)
    assert "scraps" in said


@pytest.mark.parametrize(("width", "unit", "length"), [("1000", "mm", "300 mm"), ("1 m", "cm", "30 cm")])
def test_a_lay_is_said_in_the_unit_of_the_typed_width(
    mockup: Callable[..., Any], tmp_path: Path, width: str, unit: str, length: str
) -> None:
    pieces = tmp_path / "pieces.json"
    pieces.write_text(json.dumps([{"name": "square", "outline": SQUARE}]), encoding="utf-8")
    ran = mockup("lay", pieces, "--width", width, "--time", "0", "--out", tmp_path / "plan")
    assert ran.code == 0, ran.err
    assert f"Length: {length}," in ran.out
    assert f" {unit}" in (tmp_path / "plan" / "lay.svg").read_text(encoding="utf-8")


def test_no_remnant_is_said_and_what_to_do(mockup: Callable[..., Any], tmp_path: Path) -> None:
    project = tmp_path / "tunic"
    mockup(
        "new", project, "--front", choir.FRONT_SVG, "--measure", "front:centre-front=63cm", "--pieces", choir.PIECES
    )  # fmt: skip
    mockup("assign", project, "front-1=#c79a3b")
    ran = mockup("from-stash", project, "--piece", "sleeve")
    assert ran.code == 1
    assert "nothing can be said of 'sleeve'" in ran.out
    assert "mockup stash edit" in ran.out


def test_what_was_typed_is_cut_off_visibly(refused: Callable[..., str]) -> None:
    assert "…" in refused("lay", choir.PIECES, "--width", "x" * 500)
