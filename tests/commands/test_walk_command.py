"""The walk by command, from drawings to cut pieces, and no command but ``app`` loads the page's library."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import numpy as np
import pytest

from mockup.samples import choir
from swatches.photo import read_photo, write_png
from ui.commands.main import COMMANDS, mockup

SMALL = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="120mm" viewBox="0 0 200 120">'
    '<path d="M0 0H200V120H0Z"/></svg>'
)
_DRIVER = """
import contextlib, io, json, sys
from ui.commands.main import run
done = []
for arguments in json.load(sys.stdin):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(arguments)
    text = out.getvalue()
    done.append({"arguments": arguments, "code": code, "out": text, "err": err.getvalue(),
                 "gradio": "gradio" in sys.modules})
print(json.dumps(done))
"""


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """Run the walk once, all commands in one fresh process."""
    folder = tmp_path_factory.mktemp("walk")
    project = str(folder / "tunic")
    measures = [f"{side}:{edge}={mm}mm" for side, (edge, mm) in choir.MEASURES.items()]
    photo = np.full((120, 90, 3), 240, np.uint8)
    photo[20:100, 20:70] = (150, 60, 60)
    write_png(folder / "photo.png", photo)
    small = str(folder / "small.svg")  # what it takes to lay and print the tunic is looked at elsewhere
    (folder / "small.svg").write_text(SMALL, encoding="utf-8")
    (folder / "votes.csv").write_text("voter,choice\nann,A\nbo,B\n", encoding="utf-8")
    steps = {
        "new": ["new", project, "--front", str(choir.FRONT_SVG), "--back", str(choir.BACK_SVG),
                "--measure", measures[0], "--measure", measures[1], "--pieces", str(choir.PIECES),
                "--date", "2026-12-12"],
        "line add": ["line", "add", project, "--name", "yoke", "--start", "armhole:underarm=104mm",
                     "--end", "centre-front:neck=104mm", "--kind", "arc", "--symmetric", "--carry"],
        "line add 2": ["line", "add", project, "--name", "slope", "--start", "side:hem:left=4 in",
                       "--end", "side:hem:right=200 mm"],
        "line move": ["line", "move", project, "line-3", "--by", "10mm"],
        "line remove": ["line", "remove", project, "line-3"],
        "line list": ["line", "list", project],
        "panels": ["panels", project],
        "assign": ["assign", project, "front-1=#c79a3b", "front-2=#1f4a44", "back-1=#c79a3b"],
        "assign B": ["assign", project, "front-1=#1f4a44", "front-2=#c79a3b", "--choice", "b", "--name", "Frost"],
        "paint": ["paint", project, "--out", str(folder / "front.png"), "--long-side", "400"],
        "compare": ["compare", project, "--out", str(folder / "sheet.jpg"), "--width-px", "900"],
        "batch": ["batch", project, "--out", str(folder / "all"), "--long-side", "200", "--workers", "1"],
        "split": ["split", project, "--choice", "A", "--out", str(folder / "split.json")],
        "cut": ["cut", str(choir.PIECES), "--split", str(folder / "split.json"), "--out", str(folder / "cut")],
        "regions": ["regions", str(choir.FRONT_SVG), "--out", str(folder / "regions")],
        "mask": ["mask", str(folder / "photo.png"), "--box", "12,12,66,96", "--out", str(folder / "mask.png")],
        "recolour": ["recolour", str(folder / "photo.png"), "--mask", str(folder / "mask.png"), "--fabric", "#306090",
                     "--out", str(folder / "blue.png")],
        "swatch": ["swatch", str(folder / "photo.png"), "--area", "22,22,44,70", "--out", str(folder / "fabric")],
        "swatch sheet": ["swatch", "--sheet", "Letter", "--out", str(folder / "sheet.pdf")],
        "swatch cards": ["swatch", "--cards", "A4", "--out", str(folder / "cards.pdf")],
        "pieces read": ["pieces", "read", str(choir.PIECES)],
        "walk": ["walk", str(choir.PIECES)],
        "stash add": ["stash", "add", "#c79a3b", "--name", "ochre", "--data", str(folder / "stash")],
        "stash list": ["stash", "list", "--data", str(folder / "stash")],
        "stash edit": ["stash", "edit", "ochre", "length_left=2 m", "--data", str(folder / "stash")],
        "stash show": ["stash", "show", "ochre", "--data", str(folder / "stash")],
        "stash use": ["stash", "use", "ochre", "--length", "50 cm", "--data", str(folder / "stash")],
        "stash export": ["stash", "export", "--out", str(folder / "all.zip"), "--data", str(folder / "stash")],
        "stash import": ["stash", "import", str(folder / "all.zip"), "--data", str(folder / "stash 2")],
        "stash remove": ["stash", "remove", "ochre", "--data", str(folder / "stash")],
        "stash undo": ["stash", "undo", "--data", str(folder / "stash")],
        "unfold": ["unfold", str(choir.PIECES)],
        "print": ["print", small, "--out", str(folder / "p.pdf")],
        "handout": ["handout", project, "--choice", "A", "--pieces", str(folder / "cut" / "pieces.svg"),
                    "--out", str(folder / "handout.pdf")],
        "handout split": ["handout", str(folder / "split.json"), "--out", str(folder / "lines.pdf")],
        "order": ["order", str(folder / "cut" / "pieces.svg")],
        "lay": ["lay", small, "--width", "140cm", "--time", "0"],
        "check": ["check", project],
        "limits": ["limits", project, "--set", "weight-ratio=2"],
        "facts": ["facts", project, "--closure", "none", "--needed-stretch", "0"],
        "detail add": ["detail", "add", project, "pleat", "--at", "0cm,60cm", "--at", "0cm,40cm"],
        "detail list": ["detail", "list", project],
        "detail remove": ["detail", "remove", project, "detail-1"],
        "area list": ["area", "list", project],
        "area name": ["area", "name", project, "neck-facing", "back neck"],
        "landmark list": ["landmark", "list", project],
        "landmark move": ["landmark", "move", project, "underarm-left", "--to", "1599,617"],
        "photo": ["photo", project, str(folder / "photo.png"), "--mask", str(folder / "mask.png")],
        "join": ["join", str(folder / "cut" / "pieces.svg"), "--seam", "front yoke:yoke=lower front:yoke"],
        "suggest": ["suggest", project, "--count", "1"],
        "poll open": ["poll", "open", project, "--title", "Which? 布", "--data", str(folder / "polls")],
        "poll close": ["poll", "close", "--data", str(folder / "polls")],
        "poll count": ["poll", "count", str(folder / "votes.csv")],
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", _DRIVER],
        input=json.dumps([[*arguments, "--json"] for arguments in steps.values()]),
        capture_output=True,
        text=True,
        check=True,
    )
    return folder, dict(zip(steps, json.loads(done.stdout), strict=True))


def test_every_step_is_done_and_answers_one_object(walked: tuple[Path, dict[str, Any]]) -> None:
    _, steps = walked
    for name, step in steps.items():
        assert step["code"] == 0, (name, step["err"])
        assert isinstance(json.loads(step["out"]), dict), name


def test_the_developers_page_lists_what_commands_answer(walked: tuple[Path, dict[str, Any]]) -> None:
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.split("## What commands answer")[1].split("\n## ")[0]
    listed = {
        name: keys.split(", ") for name, keys in re.findall(r"^\| `([\w ]+)` \| ([\w, ]+) \|$", part, re.MULTILINE)
    }
    assert len(listed) > 15
    for name, keys in listed.items():
        assert list(answer(walked, name)) == keys, name


def test_no_command_is_missing_on_the_developers_page() -> None:
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.split("## What commands answer")[1].split("\n## ")[0]
    context = click.Context(mockup)
    for name in COMMANDS:
        command = mockup.get_command(context, name)
        leaves = [f"{name} {sub}" for sub in command.commands] if isinstance(command, click.Group) else [name]
        assert [leaf for leaf in leaves if f"`{leaf}`" not in part] == []


def test_only_the_page_loads_gradio(walked: tuple[Path, dict[str, Any]]) -> None:
    _, steps = walked
    assert [name for name, step in steps.items() if step["gradio"]] == []


def test_every_path_in_an_answer_is_absolute_and_there(walked: tuple[Path, dict[str, Any]]) -> None:
    _, steps = walked
    for name, step in steps.items():
        for path in json.loads(step["out"]).get("files", []):
            assert Path(path).is_absolute(), name
            assert Path(path).is_file(), name


def answer(walked: tuple[Path, dict[str, Any]], name: str) -> Any:
    return json.loads(walked[1][name]["out"])


def test_lines_are_kept_as_typed_and_meet_their_distances(walked: tuple[Path, dict[str, Any]]) -> None:
    front, back = answer(walked, "line add")["lines"]
    assert (front["side"], back["side"]) == ("front", "back")
    assert front["start"] == {
        "edge": "armhole", "from": "underarm", "distance_mm": 104.0, "side": None, "text": "104 mm"
    }  # fmt: skip
    assert back["start"]["distance_mm"] == 104.0
    slope = answer(walked, "line add 2")["lines"][0]
    assert (slope["start"]["distance_mm"], slope["start"]["text"]) == (101.6, "4 in")  # 1 in = 25.4 mm exactly
    moved = answer(walked, "line move")["lines"][0]
    assert [moved[e]["distance_mm"] for e in ("start", "end")] == pytest.approx([111.6, 210.0])
    assert [x["id"] for x in answer(walked, "line list")["lines"]] == ["line-1", "line-2"]


def test_panels_share_the_garment(walked: tuple[Path, dict[str, Any]]) -> None:
    panels = {p["id"]: p for p in answer(walked, "panels")["panels"]}
    assert {"front-1", "front-2", "back-1", "back-2", "sleeve-1L", "sleeve-1R"} <= set(panels)
    assert sum(p["share"] for p in panels.values()) == pytest.approx(1.0, abs=1e-6)
    assert panels["sleeve-1L"]["number"] == panels["sleeve-1R"]["number"]


def test_cloth_is_where_it_was_assigned(walked: tuple[Path, dict[str, Any]]) -> None:
    folder, _ = walked
    painted = read_photo(folder / "front.png").rgb8
    colours = {tuple(c) for c in painted.reshape(-1, 3).tolist()}
    assert (0xC7, 0x9A, 0x3B) in colours
    assert (0x1F, 0x4A, 0x44) in colours
    assert answer(walked, "assign B")["name"] == "Frost"
    assert answer(walked, "compare")["choices"] == ["A", "B"]


def test_the_pieces_cut_by_the_split_file_are_proved(walked: tuple[Path, dict[str, Any]]) -> None:
    found = answer(walked, "cut")
    assert found["proof"]["ok"] is True
    assert found["proof"]["area_error_mm2"] <= 1e-3
    parents = {p["from"] for p in found["pieces"]}
    assert {"front", "back", "sleeve"} <= parents
    assert [p["number"] for p in found["pieces"]] == sorted(p["number"] for p in found["pieces"])


def test_regions_are_a_16_bit_picture_with_0_outside(walked: tuple[Path, dict[str, Any]]) -> None:
    found = answer(walked, "regions")
    assert {"regions", "labels", "line_width_px", "gap_px", "warnings"} <= set(found)
    labels = read_photo(Path(found["labels"])).rgb
    assert labels.dtype == np.uint16
    assert labels[0, 0, 0] == 0
    assert len(np.unique(labels)) == found["regions"] + 1


def test_recolour_leaves_what_is_outside_the_mask(walked: tuple[Path, dict[str, Any]]) -> None:
    folder, _ = walked
    before, after = (read_photo(folder / name).rgb8 for name in ("photo.png", "blue.png"))
    mask = read_photo(folder / "mask.png").rgb8[..., 0]
    assert np.array_equal(before[mask == 0], after[mask == 0])
    assert after[60, 45, 2] > after[60, 45, 0]


def test_a_drawing_without_a_length_gives_no_split(
    walked: tuple[Path, dict[str, Any]], tmp_path: Path, refused: Any
) -> None:
    from mockup import journey
    from mockup.files import project_file

    project = journey.new_project(tmp_path / "p", choir.FRONT_SVG)
    project_file.save(project, tmp_path / "p")
    assert "size of the front" in refused("split", tmp_path / "p")
