"""The whole walk on the built-in example: every output is there, opens, and says the same as the others."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import ezdxf
import jsonschema
import numpy as np
import pypdfium2
import pytest
from PIL import Image

from mockup.demo import demo as run_demo
from mockup.files.split_file import read_split, split_schema
from mockup.files.svg import read_pieces
from mockup.pattern.allowance import cut_outline
from mockup.samples import choir
from swatches.errors import Cancelled
from swatches.photo import read_photo

OUTPUTS = (
    "sheet.png", "front.png", "back.png", "photo.png", "split.json", "pieces.dxf", "pieces-a4.pdf", "cutting-list.csv",
    "proof.json", "summary.md",
)  # fmt: skip


def test_it_ends_with_0_and_writes_what_the_issue_lists(demo: Any) -> None:
    assert demo.code == 0
    for name in OUTPUTS:
        assert (demo.folder / name).stat().st_size > 0, name
    there = {str(p) for p in demo.folder.rglob("*") if p.is_file()}
    assert set(demo.answer["files"]) == there, "the answer lists every file, and nothing else was left"
    assert len(list((demo.folder / "pieces").glob("*.svg"))) == len(demo.answer["pieces"])


def test_the_proof_holds_and_is_the_same_everywhere(demo: Any) -> None:
    proof = json.loads((demo.folder / "proof.json").read_text(encoding="utf-8"))
    assert proof["ok"] is True
    for figure in ("area_error_mm2", "stitch_difference_mm", "rejoin_error_mm"):
        assert proof[figure] == demo.answer["proof"][figure] <= 1e-3
    assert len(proof["rows"]) > 10
    assert all(row["ok"] for row in proof["rows"])


def test_the_finished_area_is_the_drafts(demo: Any) -> None:
    # the pieces that were read, against the pieces that are written: sewn together they are the same tunic
    before = sum(p.finished_area_mm2 for p in read_pieces(choir.PIECES))
    after = sum(p.finished_area_mm2 for path in (demo.folder / "pieces").glob("*.svg") for p in read_pieces(path))
    assert after == pytest.approx(before, rel=1e-6)


def test_the_split_file_is_what_its_schema_says(demo: Any) -> None:
    record = json.loads((demo.folder / "split.json").read_text(encoding="utf-8"))
    jsonschema.validate(record, split_schema())
    split = read_split(demo.folder / "split.json")
    assert {v.name: len(v.lines) for v in split.views} == {"front": 2, "back": 2}
    ends = {(line.name, line.start.edge, line.start.distance_mm) for v in split.views for line in v.lines if line.start}
    assert ends == {("yoke", "armhole", choir.YOKE_FROM_UNDERARM_MM), ("hem band", "side", choir.BAND_MM)}


def test_the_drawing_file_opens_and_holds_every_piece(demo: Any) -> None:
    # outside reference: ezdxf's reader and its audit
    document = ezdxf.readfile(demo.folder / "pieces.dxf")
    assert not document.audit().errors
    assert len([b for b in document.blocks if not b.name.startswith("*")]) == len(demo.answer["pieces"])


def test_the_print_is_a4_and_names_every_piece(demo: Any) -> None:
    # ISO 216: A4 is 210 × 297 mm; outside reference: pdfium reads the text
    document = pypdfium2.PdfDocument(demo.folder / "pieces-a4.pdf")
    sizes = {tuple(round(v * 25.4 / 72) for v in page.get_size()) for page in document}
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert sizes == {(210, 297)}
    for piece in demo.answer["pieces"]:
        assert piece["name"] in text, piece


def test_the_cutting_list_and_the_needs_agree_with_the_pieces(demo: Any) -> None:
    rows = list(csv.DictReader(io.StringIO((demo.folder / "cutting-list.csv").read_text(encoding="utf-8"))))
    inner = [r for r in rows if r["layer"] == "interfacing"]
    assert [r["name"] for r in inner] == ["front neck facing", "back neck facing"]
    rows = [r for r in rows if r["layer"] != "interfacing"]
    assert [int(r["number"]) for r in rows] == [p["number"] for p in demo.answer["pieces"]]
    areas: dict[str, float] = {}
    for row in rows:
        areas[row["fabric"]] = areas.get(row["fabric"], 0.0) + float(row["cut area mm2"]) * int(row["how many"])
    for need in demo.answer["needs"]:
        cloth = need["width_mm"] * need["length_mm"]
        assert areas[need["fabric"]] < cloth < 2.5 * areas[need["fabric"]]
        assert need["buy_mm"] % 100 == 0
        assert need["buy_mm"] >= need["length_mm"]


def test_inherited_allowances_stay_and_new_ones_are_15_mm(demo: Any) -> None:
    old = {(e.name, e.allowance_mm) for p in read_pieces(choir.PIECES) for e in p.edges}
    new = 0
    for path in sorted((demo.folder / "pieces").glob("*.svg")):
        for piece in read_pieces(path):
            assert cut_outline(piece).area_mm2 > piece.finished_area_mm2
            for edge in piece.edges:
                if edge.line_id:
                    new += 1
                    assert edge.allowance_mm == 15.0
                else:
                    assert (edge.name, edge.allowance_mm) in old
    assert new == 8  # two lines a side, two edges each


@pytest.mark.parametrize("name", ["sheet.png", "front.png", "back.png", "photo.png"])
def test_no_picture_carries_metadata(name: str, demo: Any) -> None:
    with Image.open(demo.folder / name) as picture:  # noqa: TID251  looked at as any other program would
        assert not picture.getexif()
        assert set(picture.info) <= {"dpi", "srgb", "gamma"}


def test_the_photo_is_painted_inside_the_garment_only(demo: Any) -> None:
    before, after = read_photo(choir.FORM_PHOTO).rgb8, read_photo(demo.folder / "photo.png").rgb8
    assert before.shape == after.shape
    changed = np.any(before != after, axis=2)
    inside = np.zeros(changed.shape, bool)
    outline = np.array(choir.FORM_OUTLINE)
    (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
    inside[int(y0) - 25 : int(y1) + 25, int(x0) - 25 : int(x1) + 25] = True
    assert not changed[~inside].any()
    assert 0.15 < changed.mean() < 0.5


def test_it_says_that_it_is_invented(demo: Any) -> None:
    summary = (demo.folder / "summary.md").read_text(encoding="utf-8")
    assert "invented" in summary
    for piece in demo.answer["pieces"]:
        assert f"| {piece['number']} | " in summary


def test_cancelling_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TMPDIR", str(tmp_path / "tmp"))
    (tmp_path / "tmp").mkdir()

    class Stop:
        cancelled = False

        def step(self, text: str, done: float | None = None) -> None:
            self.cancelled = self.cancelled or "Finding" in text

    with pytest.raises(Cancelled):
        run_demo(tmp_path / "out", Stop())
    assert not any(p.is_file() for p in (tmp_path / "out").rglob("*"))


@pytest.mark.slow
def test_the_same_bytes_every_time(demo: Any, tmp_path: Path) -> None:
    run_demo(tmp_path / "again")
    for path in sorted(demo.folder.rglob("*")):
        if path.is_file():
            twin = tmp_path / "again" / path.relative_to(demo.folder)
            assert path.read_bytes() == twin.read_bytes(), path.name
