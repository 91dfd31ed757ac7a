"""``mockup suggest``, ``propose`` and ``compare --seen-as`` on the built-in drawing with plain colours."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mockup import journey
from mockup.colourways.colourway import Colourway
from mockup.files import project_file
from mockup.samples import choir
from swatches.fabric import Known, Origin
from swatches.photo import read_photo

COLOURS = {"pine": "#1d4236", "oat": "#cbb592", "brick": "#96483c", "sky": "#7fa6c9"}


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Path:
    """The tunic with the choir's lines, four plain cloths, one of them with too little left, and two choices."""
    folder = tmp_path_factory.mktemp("suggest") / "tunic"
    made = put_tunic(folder, "tunic")
    for name, colour in COLOURS.items():
        fabric = journey.plain_fabric(colour, name)
        if name == "sky":
            amount = {
                "usable_width": Known(1000.0, "mm", Origin.MEASURED),
                "length_left": Known(100.0, "mm", Origin.MEASURED),
            }
            fabric = replace(fabric, **amount)
        made, _ = journey.put_fabric(folder, made, fabric, fabric_id=name)
    made, _ = journey.put_pieces(folder, made, choir.PIECES)
    made = replace(made, lines=choir.LINES)
    panels = {p.id for view in journey.panels_of(made).values() for p in view}
    plans = {
        letter: Colourway(letter, "", dict.fromkeys(panels, cloth))
        for letter, cloth in zip("AB", COLOURS, strict=False)
    }
    project_file.save(replace(made, colourways=tuple(plans.values())), folder)
    return folder


def test_suggestions_as_an_object(mockup, project, tmp_path):
    out = tmp_path / "pictures"
    ran = mockup("suggest", project, "--count", "3", "--keep", "sleeve-1L=oat", "--out", out, "--json")
    assert ran.code == 0, ran.err
    answer = ran.json
    assert answer["exact"] is True
    assert answer["share_searched"] == 1.0
    assert answer["possible"] == 4**5  # six groups, one of which keeps its cloth
    assert answer["allowed"] < answer["possible"]
    assert len(answer["suggestions"]) == 3
    for row in answer["suggestions"]:
        fabrics = row["fabrics"]
        assert fabrics["sleeve-1L"] == fabrics["sleeve-1R"] == "oat"
        assert fabrics["front-1"] == fabrics["back-1"]
        assert fabrics["front-1"] != fabrics["front-2"]
        assert "sky" not in (fabrics["front-2"], fabrics["front-1"])  # 0.1 m² is not enough for these
        assert row["why"]
        assert row["cloths"] == len(set(fabrics.values()))
        assert {"contrast_delta_e", "luminance_ratio", "told_apart_delta_e", "weight_clashes", "wash_rank"} <= set(row)
    assert any("from the pattern pieces" in note for note in answer["notes"])
    assert [Path(f).name for f in answer["files"]][:2] == ["cloth-1-front.png", "cloth-1-back.png"]
    assert all(read_photo(Path(f)).size[0] <= 480 for f in answer["files"])


def test_suggestions_in_words(mockup, project):
    ran = mockup("suggest", project, "--count", "2", "--pair", "none", "--fabric", "pine", "--fabric", "oat")
    assert ran.code == 0, ran.err
    assert "pine: " in ran.out
    assert "Cannot tell" in ran.out
    for word in ("Pareto", "CIEDE", "CIELAB", "ΔE", "undominated"):
        assert word not in ran.out


def test_proposals_as_an_object_and_one_taken(mockup, project, tmp_path):
    own = tmp_path / "own"
    shutil.copytree(project, own)
    pictures = tmp_path / "lines"
    ran = mockup("propose", own, "--count", "2", "--choice", "a", "--out", pictures, "--take", "2", "--json")
    assert ran.code == 0, ran.err
    first, second = ran.json["proposals"]
    assert (first["kind"], first["seams"], first["lines"]) == ("no new seam", 0, [])
    assert second["seam_cm"] > 50
    assert second["cloth_cm2"] == pytest.approx(3 * second["seam_cm"])
    assert sum(p["share"] for p in second["panels"]) == pytest.approx(1.0)
    assert {line["on"] for line in second["lines"]} == {"front", "back"}
    assert [Path(f).name for f in ran.json["files"]][:2] == ["lines-01-front.png", "lines-01-back.png"]
    assert ran.json["tried"] > 20

    saved = project_file.load(own)
    assert saved.revision == ran.json["revision"]
    assert [x.id for x in saved.lines] == [x["id"] for x in second["lines"]]
    panels = {p.id for view in journey.panels_of(saved).values() for p in view}
    assert set(saved.colourway("A").fabrics) == panels  # cloth stays where it lay

    def end(e):
        return f"{e['edge']}:{e['from']}={e['distance_mm']}mm"

    line = second["lines"][0]  # the same line, typed
    assert mockup("line", "remove", own, *(x["id"] for x in second["lines"][:1])).code == 0
    typed = ("--start", end(line["start"]), "--end", end(line["end"]), "--kind", line["kind"], "--symmetric")
    assert mockup("line", "add", own, *typed).code == 0


@pytest.mark.parametrize("sight", ["grey", "deutan"])
def test_the_sheet_as_others_see_it(mockup, project, tmp_path, sight):
    ran = mockup("compare", project, "--seen-as", sight, "--width-px", "600", "--out", tmp_path / "s.png", "--json")
    assert ran.code == 0, ran.err
    assert ran.json["seen_as"] == sight
    sheet = read_photo(tmp_path / "s.png").rgb8.astype(int)
    assert bool(np.ptp(sheet, axis=-1).max() == 0) is (sight == "grey")


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("--keep", "front-1"), "--keep"),
        (("--keep", "nix=oat"), "panel"),
        (("--keep", "front-1=nix"), "cloth"),
        (("--fabric", "nix"), "cloth"),
        (("--pair", "front-1,nix"), "panel"),
        (("--count", "25"), "25"),
        (("--allowance", "much"), "allowance"),
    ],
)
def test_bad_input_is_one_line(refused, project, arguments, word):
    assert word in refused("suggest", project, *arguments)


def test_an_unknown_choice_is_refused_and_leaves_nothing(refused, project, tmp_path):
    assert "choice" in refused("propose", project, "--choice", "Z", "--out", tmp_path / "out")


def test_a_suggestion_taken_is_a_choice(mockup, refused, project, tmp_path):
    own = tmp_path / "own"
    shutil.copytree(project, own)
    ran = mockup("suggest", own, "--count", "2", "--take", "2", "--json")
    assert ran.code == 0, ran.err
    assert ran.json["choice"] == "C"
    saved = project_file.load(own)
    assert dict(saved.colourway("C").fabrics) == ran.json["suggestions"][1]["fabrics"]
    assert saved.revision == ran.json["revision"]
    assert "--take" in refused("suggest", own, "--count", "2", "--take", "3")


def test_shares_in_words_add_up_to_a_hundred(mockup, project):
    rows = mockup("panels", project).out.splitlines()
    assert sum(float(row.split("%")[0].split()[-1]) for row in rows) == pytest.approx(100.0, abs=1e-9)
    shown = mockup("propose", project, "--count", "4").out
    for row in (line for line in shown.splitlines() if "Panels: " in line):
        panels = row.split("Panels: ")[1].split(" of what is seen. Costs")[0]
        assert sum(int(part.split()[-2]) for part in panels.split(", ")) == 100, row


def test_no_suggestion_is_exit_1(mockup, project):
    ran = mockup("suggest", project, "--fewest", "9")
    assert (ran.code, ran.err) == (1, "")
    assert "No choice of cloth passes." in ran.out
