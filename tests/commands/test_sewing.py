"""``mockup join`` and ``mockup walk``."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mockup.samples import choir
from ui.commands.main import run

RECTANGLE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">'
    '<path d="M0 0H200V300H0Z"/></svg>'
)


@pytest.fixture(scope="module")
def halves(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A rectangle cut in two, once: nobody writes into the halves."""
    folder = tmp_path_factory.mktemp("halves")
    (folder / "r.svg").write_text(RECTANGLE, encoding="utf-8")
    line = ["--line", "M -10 100 Q 90 160 210 120", "--out", str(folder / "cut"), "--json"]
    with contextlib.redirect_stdout(io.StringIO()) as out:
        assert run(["cut", str(folder / "r.svg"), *line]) == 0
    return [Path(p["file"]) for p in json.loads(out.getvalue())["pieces"]]


def test_what_was_cut_is_joined_again(mockup: Callable[..., Any], halves: list[Path], tmp_path: Path) -> None:
    seam = "piece-1 1:line=piece-1 2:line"
    ran = mockup("join", *halves, "--seam", seam, "--out", tmp_path / "j.svg", "--json")
    assert ran.code == 0, ran.err
    assert ran.json["piece"]["finished_area_mm2"] == pytest.approx(60_000, rel=1e-12)
    assert ran.json["piece"]["cut_area_mm2"] == pytest.approx(60_000, rel=1e-9)
    again = mockup("pieces", "read", tmp_path / "j.svg", "--json").json["pieces"]
    assert [p["finished_area_mm2"] for p in again] == pytest.approx([60_000], rel=1e-6)


@pytest.mark.parametrize(
    "seam", ["x:line=piece-1 2:line", "piece-1 1:x=piece-1 2:line", "piece-1 1:line", "", "=", ":"]
)
def test_seams_that_are_not_there(seam: str, refused: Callable[..., str], halves: list[Path], tmp_path: Path) -> None:
    refused("join", *halves, "--seam", seam, "--out", tmp_path / "j.svg")


def test_edges_that_do_not_lie_on_each_other(refused: Callable[..., str], halves: list[Path], tmp_path: Path) -> None:
    refused("join", *halves, "--seam", "piece-1 1:line=piece-1 2:edge-2", "--out", tmp_path / "j.svg")


def test_the_choirs_seams_walk(mockup: Callable[..., Any]) -> None:
    # Threads magazine 200: 1.6 mm is good; the draft's own seams are equal by construction
    found = mockup("walk", choir.PIECES, "--json").json
    assert len(found["seams"]) >= 6
    assert found["worst_mm"] < 1.6
    assert found["warnings"] == []


def test_declared_ease_is_taken_off(mockup: Callable[..., Any], refused: Callable[..., str]) -> None:
    ran = mockup("walk", choir.PIECES, "--ease", "sleeve:cap-front=6 mm", "--json")
    row = next(r for r in ran.json["seams"] if "sleeve:cap-front" in (*r["one"], *r["other"]))
    assert row["ease_mm"] == 6.0
    refused("walk", choir.PIECES, "--ease", "sleeve:nix=6 mm")
    refused("walk", choir.PIECES, "--ease", "sleeve:cap-front=-6 mm")
