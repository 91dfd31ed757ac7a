"""Moving, turning and mirroring a print: what is painted, what its twin shows, what the split and the command say."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mockup import journey
from mockup.colourways.colourway import Colourway, Laid
from mockup.colourways.laying import lay
from mockup.files import project_file
from mockup.journey.prints import lay_as_usual, lay_print, mirror_image, prints_of
from mockup.project import Project
from mockup.samples import choir
from swatches.cloth import Cloth
from swatches.errors import InputError
from swatches.fabric import Texture
from ui.commands.main import run


@pytest.fixture(scope="module")
def tunic(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Project]:
    folder = tmp_path_factory.mktemp("prints") / "tunic"
    measures = [(view, edge, mm) for view, (edge, mm) in choir.MEASURES.items()]
    project = journey.new_project(folder, choir.FRONT_SVG, measures=measures[:1], name="tunic", date="2026-12-12")
    tile = np.random.default_rng(1).integers(0, 255, (40, 40, 3)).astype(np.uint8)
    plain = journey.plain_fabric("#7a1f2b", "leaves")
    leaves = replace(plain, texture=Texture("", 0.5, 1.0, (20.0, 20.0)))
    project, fabric = journey.put_fabric(folder, project, leaves, tile=tile)
    panels = {p.id for p in journey.panels_of(project)["front"]}
    project = journey.assign(project, "A", dict.fromkeys(panels, fabric.id))
    return folder, project_file.save(project, folder)


def laid(project: Project, panel: str) -> Laid:
    return project.colourway("A").laid[panel]


def test_a_print_is_moved_turned_and_mirrored_step_by_step(tunic: tuple[Path, Project]) -> None:
    _, project = tunic
    project = lay_print(project, "A", "sleeve-1L", offset_mm=(5, 3))
    project = lay_print(project, "A", "sleeve-1L", by_mm=(2, -1), grain_deg=30)
    assert laid(project, "sleeve-1L") == Laid(30.0, (7.0, 2.0), False)
    project = lay_print(project, "A", "sleeve-1L", mirrored=True)
    assert laid(project, "sleeve-1L") == Laid(-30.0, (7.0, 2.0), True)  # seen, the grain still leans the same way
    assert "sleeve-1R" not in project.colourway("A").laid
    project = lay_print(project, "A", "sleeve-1L", by_mm=(1, 0), twin=True)
    assert laid(project, "sleeve-1R") == Laid(-30.0, (-8.0, 2.0), False)
    project = lay_as_usual(project, "A", "sleeve-1R")
    assert project.colourway("A").laid == {}


def test_the_mirror_image_is_the_mirror_image() -> None:
    """Seen about the middle of the garment, the twin's cloth is pixel for pixel the image of the other's."""
    tile = np.random.default_rng(0).random((32, 48, 3)).astype(np.float32)
    cloth = Cloth(journey.plain_fabric("#808080"), tile, 1.0, tile.reshape(-1, 3).mean(0))
    one = Laid(20.0, (7.0, -4.0), False)
    left = lay(cloth, one, (0, 0, 100, 80), mm_per_px=0.7, origin=(50, 10))
    right = lay(cloth, mirror_image(one), (0, 0, 100, 80), mm_per_px=0.7, origin=(50, 10))
    assert np.abs(left - right[:, ::-1]).max() < 2e-2


def test_what_is_laid_changes_the_picture_there_and_nowhere_else(tunic: tuple[Path, Project]) -> None:
    folder, project = tunic
    before = journey.paint_view(project, folder, "A", "front", long_side=300).astype(int)
    moved = lay_print(project, "A", "sleeve-1L", offset_mm=(9, 4))
    after = journey.paint_view(moved, folder, "A", "front", long_side=300).astype(int)
    changed = np.argwhere(np.abs(before - after).max(2) > 8)
    panel = next(p for p in journey.panels_of(project)["front"] if p.id == "sleeve-1L")
    view = project.view("front")
    xs = np.array(panel.outline)[..., 0] * 300 / max(view.size)
    assert len(changed) > 200
    assert xs.min() - 2 <= changed[:, 1].min()
    assert changed[:, 1].max() <= xs.max() + 2


def test_the_split_says_only_what_a_person_laid(tunic: tuple[Path, Project]) -> None:
    _, project = tunic
    panels = {p.id: p for p in journey.panels_of(project)["front"]}
    assert prints_of(project, project.colourway("A"), tuple(panels.values())) == {}
    moved = lay_print(project, "A", "sleeve-1L", offset_mm=(9, 4), grain_deg=15, mirrored=True)
    split = journey.split_of(moved, "A")
    found = {p.id: p.laid for v in split.views for p in v.panels if p.laid is not None}
    assert list(found) == ["sleeve-1L"]
    assert (found["sleeve-1L"].start, found["sleeve-1L"].mirrored) == ((9.0, 4.0), True)
    assert found["sleeve-1L"].grain_deg == 15.0
    assert found["sleeve-1L"].repeat_mm == (20.0, 20.0)
    assert journey.write_split(moved, "A").count('"laid"') == sum(len(v.panels) for v in split.views)
    bare = Colourway("A", laid={"sleeve-1L": Laid()})  # laid, but without cloth
    assert prints_of(project, bare, tuple(panels.values())) == {}


@pytest.mark.parametrize(
    "wrong", [{"panel": "front-77"}, {"letter": "Q"}, {"by_mm": (float("nan"), 0)}, {"by_mm": (1e6, 0)}]
)
def test_what_cannot_be(tunic: tuple[Path, Project], wrong: dict[str, object]) -> None:
    _, project = tunic
    arguments = {"letter": "A", "panel": "sleeve-1L"} | wrong
    with pytest.raises(InputError):
        lay_print(project, **arguments)  # type: ignore[arg-type]


def test_by_command(tunic: tuple[Path, Project], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "tunic"
    shutil.copytree(tunic[0], folder)
    command = [
        "assign",
        str(folder),
        "--shift",
        "sleeve-1L=12mm:-0.5cm",
        "--grain",
        "sleeve-1L=45",
        "--follow",
        "sides",
        "--json",
    ]
    assert run(command) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["prints"] == {
        "sleeve-1L": {"right_mm": 12.0, "up_mm": -5.0, "grain_deg": 45.0, "mirrored": False},
        "sleeve-1R": {"right_mm": -12.0, "up_mm": -5.0, "grain_deg": -45.0, "mirrored": True},
    }
    assert run(["assign", str(folder), "--mirror", "sleeve-1L=yes", "--shift", "sleeve-1R=", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["prints"] == {"sleeve-1L": {"right_mm": 0.0, "up_mm": 0.0, "grain_deg": 0.0, "mirrored": True}}
    assert run(["assign", str(folder)]) == 2
    assert "front-1=oat" in capsys.readouterr().err
    for wrong in (
        ["--grain", "sleeve-1L=steep"],
        ["--shift", "sleeve-1L=3mm"],
        ["--mirror", "sleeve-1L=perhaps"],
        ["--grain", "45"],
    ):
        assert run(["assign", str(folder), *wrong]) == 2
        assert capsys.readouterr().err.count("\n") == 1
