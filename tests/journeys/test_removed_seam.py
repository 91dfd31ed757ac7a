"""The third example: the upper panels of front and back become one, their shared seam removed; by commands, end to end.

Yoke lines front and back end at the same distance above the underarm; cut, the two yokes share the shoulder seam. It is
taken out, the centre front is sewn instead of folded, and everything else still fits: seams, print, order, lay.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from mockup.files import svg
from mockup.geometry import path as paths
from mockup.pattern.piece import HowToCut
from mockup.samples import choir
from ui.commands.main import run


def answer(capsys: Any, *arguments: object) -> Any:
    capsys.readouterr()
    code = run([*map(str, arguments), "--json"])
    out, err = capsys.readouterr()
    assert code == 0, err
    return json.loads(out)


@pytest.mark.slow
def test_the_shared_seam_of_the_upper_panels_goes(tmp_path: Path, capsys: Any) -> None:
    tunic = tmp_path / "tunic"
    measures = [x for side, (edge, mm) in choir.MEASURES.items() for x in ("--measure", f"{side}:{edge}={mm}mm")]
    answer(capsys, "new", tunic, "--front", choir.FRONT_SVG, "--back", choir.BACK_SVG, *measures)
    answer(
        capsys, "line", "add", tunic, "--on", "front", "--name", "yoke", "--kind", "arc",
        "--start", "armhole:underarm=100mm", "--end", "centre-front:neck=10cm", "--symmetric", "--carry",
    )  # fmt: skip
    answer(capsys, "split", tunic, "--out", tmp_path / "split.json")
    cut = answer(capsys, "cut", choir.PIECES, "--split", tmp_path / "split.json", "--out", tmp_path / "cut")
    before = {p["name"]: p for p in cut["pieces"]}

    # two folds that do not come onto one line are refused, with the way out
    assert run(["join", str(tmp_path / "cut" / "pieces.svg"), "--seam", "front yoke:shoulder=back yoke:shoulder"]) == 2
    joined = answer(
        capsys, "join", tmp_path / "cut" / "pieces.svg", "--seam", "front yoke:shoulder=back yoke:shoulder",
        "--sew-fold", "first", "--grain", "second", "--name", "yoke", "--out", tmp_path / "joined.svg",
    )  # fmt: skip
    piece = joined["piece"]
    whole = before["front yoke"]["finished_area_mm2"] + before["back yoke"]["finished_area_mm2"]
    assert piece["finished_area_mm2"] == pytest.approx(whole, rel=1e-9)  # nothing lost
    assert joined["proof"]["ok"]
    assert joined["proof"]["rejoin_error_mm"] <= 1e-6
    assert not [e for e in piece["edges"] if e.startswith("shoulder")]
    assert any("upside down" in w for w in joined["warnings"])
    assert any("centre front is a seam now" in w for w in joined["warnings"])

    pieces = svg.read_pieces(tmp_path / "joined.svg")
    yoke = next(p for p in pieces if p.name == "yoke")
    assert len(pieces) == len(cut["pieces"]) - 1
    assert yoke.fold is not None
    assert yoke.fold.name == "centre-back"
    assert yoke.how is HowToCut.ON_FOLD
    # a notch where the removed seam met neck and armhole, so that collar and sleeve find their place
    assert sum(n.distance_mm < 1e-6 for n in yoke.notches) == 2
    # every mate of the other pieces is there again, and every seam still fits
    names = {f"{p.name}:{e.name}" for p in pieces for e in p.edges}
    assert {e.mate for p in pieces for e in p.edges if e.mate} <= names
    walked = answer(capsys, "walk", tmp_path / "joined.svg")
    assert walked["warnings"] == []
    assert walked["worst_mm"] <= 0.001
    assert any(len(row["one"]) + len(row["other"]) == 3 for row in walked["seams"])  # sleeve to yoke and lower part

    printed = answer(capsys, "print", tmp_path / "joined.svg", "--out", tmp_path / "yoke.pdf")
    document = pypdfium2.PdfDocument(tmp_path / "yoke.pdf")
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert printed["sheets"] > 5
    assert "yoke" in text
    steps = [s["text"] for s in answer(capsys, "order", tmp_path / "joined.svg")["steps"]]
    assert not any("shoulder seam" in s and "yoke" in s for s in steps)
    assert any(s.startswith("Sew seam") and "yoke and lower back" in s for s in steps)
    laid = answer(capsys, "lay", tmp_path / "joined.svg", "--width", "150cm", "--time", "0")
    assert laid["answer"] == "yes"
    assert paths.signed_area(yoke.outline) > 0
