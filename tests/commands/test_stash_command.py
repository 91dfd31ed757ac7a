"""``mockup stash``: cloth is kept, found, used up, and every change can be undone."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon

from swatches.fabric import Remnant
from swatches.stash import Stash


@pytest.fixture
def stash(mockup: Callable[..., Any], tmp_path: Path) -> Callable[..., Any]:
    def command(*arguments: object) -> Any:
        return mockup("stash", *arguments, "--data", tmp_path / "stash", "--json")

    return command


def test_the_life_of_a_cloth(stash: Callable[..., Any], tmp_path: Path) -> None:
    assert stash("add", "#c79a3b", "--name", "ochre").json["fabric"]["id"] == "ochre"
    assert stash("add", "#1f4a44", "--name", "ochre", "--not-owned").json["fabric"]["id"] == "ochre-2"
    edited = stash("edit", "ochre", "weight=180 g/m²", "usable_width=44 in", "length_left=2 m", "nap=no")
    assert edited.json["fabric"]["usable_width_mm"] == pytest.approx(1117.6)  # 44 × 25.4, exact by definition
    record = stash("show", "ochre").json["fabric"]
    assert record["weight"] == {"value": 180.0, "unit": "g/m²", "origin": "label"}
    assert record["nap"]["value"] is False
    assert stash("use", "ochre", "--length", "50 cm").json["fabric"]["length_left_mm"] == pytest.approx(1500)
    assert "use 500 mm" in stash("undo").json["undone"]
    assert stash("show", "ochre").json["fabric"]["length_left"]["value"] == pytest.approx(2000)
    assert stash("edit", "ochre", "nap=").json["fabric"]["id"] == "ochre"
    assert stash("show", "ochre").json["fabric"]["nap"]["origin"] == "unknown"
    assert stash("remove", "ochre-2").code == 0
    assert [f["id"] for f in stash("list").json["fabrics"]] == ["ochre"]


def test_what_fits_comes_first_and_the_unknown_last(stash: Callable[..., Any]) -> None:
    for name, colour in (("plum", "#5b2a45"), ("wine", "#6a2038"), ("moss", "#4a5a2a")):
        stash("add", colour, "--name", name)
    stash("edit", "wine", "length_left=3m")
    found = stash("list", "--colour", "#642340", "--length", "1 m").json["fabrics"]
    assert [f["id"] for f in found] == ["wine", "plum"]
    assert found[0]["unknown"] == []
    assert found[1]["unknown"]


def test_a_laid_piece_is_cut_out_of_its_remnant(
    stash: Callable[..., Any], mockup: Callable[..., Any], tmp_path: Path
) -> None:
    stash("add", "#c79a3b", "--name", "ochre")
    outline = ((0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0))
    with Stash(tmp_path / "stash") as opened:
        opened.change(
            "ochre", lambda f: _with(f, Remnant("corner", outline, outline, grain_deg=0.0)), said="measure a remnant"
        )
    (tmp_path / "p.json").write_text('[{"name": "tab", "outline": [[0, 0], [80, 0], [80, 100], [0, 100]]}]')
    scrap = {"name": "corner", "outline": outline, "grain_deg": 0}
    (tmp_path / "s.json").write_text(json.dumps([scrap]))
    lay = mockup("lay", tmp_path / "p.json", "--scraps", tmp_path / "s.json", "--time", "1", "--out", tmp_path / "lay")
    assert lay.code == 0
    used = stash(
        "use", "ochre", "--remnant", "corner", "--lay", tmp_path / "lay" / "lay.json", "--pieces", tmp_path / "p.json"
    )
    assert used.code == 0, used.err
    with Stash(tmp_path / "stash") as opened:
        left = opened.fabric("ochre").remnants
    assert sum(Polygon(r.outline).area for r in left) == pytest.approx(200 * 100 - 80 * 100, rel=0.03)


def _with(fabric: Any, remnant: Remnant) -> Any:
    from dataclasses import replace

    return replace(fabric, remnants=(remnant,))


def test_a_zip_carries_the_stash_elsewhere(
    stash: Callable[..., Any], mockup: Callable[..., Any], tmp_path: Path
) -> None:
    stash("add", "#c79a3b", "--name", "ochre")
    packed = stash("export", "--out", tmp_path / "stash.zip").json
    assert packed["fabrics"] == 1
    other = tmp_path / "other"
    assert (
        mockup("stash", "import", tmp_path / "stash.zip", "--data", other, "--json").json["fabrics"][0]["id"] == "ochre"
    )
    assert mockup("stash", "list", "--data", other, "--json").json["fabrics"][0]["name"] == "ochre"


@pytest.mark.parametrize(
    "change",
    [
        "weight=-4",
        "weight=heavy",
        "nap=maybe",
        "structure=paper",
        "colour=red",
        "weight",
        "name=",
        "length_left=2 ells",
    ],
)
def test_what_cannot_be_known_is_refused(change: str, stash: Callable[..., Any]) -> None:
    stash("add", "#c79a3b", "--name", "ochre")
    ran = stash("edit", "ochre", change)
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.strip().splitlines()) == 1


def test_cloth_that_is_not_there(stash: Callable[..., Any]) -> None:
    for arguments in (("show", "nix"), ("remove", "nix"), ("edit", "nix", "nap=yes"), ("use", "nix", "--length", "1m"),
                      ("use", "nix"), ("add", "missing.json"), ("import", "missing.zip")):  # fmt: skip
        ran = stash(*arguments)
        assert (ran.code, ran.out) == (2, ""), arguments


def test_the_whole_record_is_written_down(stash: Callable[..., Any]) -> None:
    stash("add", "#c79a3b", "--name", "ochre")
    stash("edit", "ochre", "fibre=80 % linen, 20 % cotton", "weight=6 oz/yd²", "care.wash=60 °C", "care.iron=hot")
    record = stash("show", "ochre").json["fabric"]
    assert record["fibre"]["value"] == {"linen": 80.0, "cotton": 20.0}
    assert record["weight"]["value"] == pytest.approx(203.434, rel=1e-5)  # 6 × 33.9057
    assert record["care"]["value"] == {"wash": "60 °C", "iron": "hot"}
    assert [f["id"] for f in stash("list", "--fibre", "linen").json["fabrics"]] == ["ochre"]
    weighed = stash("edit", "ochre", "weight=12 g for 20 × 30 cm", "nap=no").json
    # half a gram of 12 is 4 %; 12 g on 0.06 m² are 200 g/m²
    assert weighed["warnings"] == ["So light a piece may be off by 4 % on a scale that shows 1 g: weigh a larger one."]
    assert stash("show", "ochre").json["fabric"]["weight"]["value"] == pytest.approx(200.0)
    assert stash("edit", "ochre", "weight=42 g for 50 × 40 cm", "note=12 g").json["warnings"] == []
    ran = stash("edit", "ochre", "weight=9 oz")
    assert ran.code == 2
    assert "square yard" in ran.err


def test_one_cloth_assigned_twice_stays_one(mockup: Callable[..., Any], tmp_path: Path, put_tunic: Any) -> None:
    from mockup import journey
    from mockup.files import project_file
    from swatches.fabric_file import write_fabric

    project = tmp_path / "tunic"
    project_file.save(put_tunic(project), project)
    write_fabric(journey.plain_fabric("#203040", "night"), tmp_path / "night")
    for panel in ("front-1", "front-1"):
        assert mockup("assign", project, f"{panel}={tmp_path / 'night'}").code == 0
    assert [f.id for f in project_file.load(project).fabrics] == ["night"]
    for missing in (tmp_path / "none" / "fabric.json", tmp_path / "night.json"):
        ran = mockup("assign", project, f"front-1={missing}")
        assert ran.code == 2
        assert "mockup swatch" in ran.err
        assert len(ran.err.strip().splitlines()) == 1
