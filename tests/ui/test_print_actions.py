"""What the page says of prints and of a photo's light: taken step by step, undone, and refused when it is nonsense."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from mockup import journey
from mockup.colourways.colourway import Colourway, Laid
from mockup.project import Project
from mockup.samples import choir
from swatches.errors import InputError
from ui.parts import actions
from ui.parts.scene import scene
from ui.parts.session import Session


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Project]:
    folder = tmp_path_factory.mktemp("made") / "garment"
    project = journey.new_project(folder, choir.FRONT_SVG, name="tunic", date="2026-12-12")
    project, oat = journey.put_fabric(folder, project, journey.plain_fabric("#c8b89a", "oat"))
    panels = {p.id for p in journey.panels_of(project)["front"]}
    return folder, journey.assign(project, "A", dict.fromkeys(panels - {"pocket-1L"}, oat.id))


@pytest.fixture
def session(begun: tuple[Path, Project], tmp_path: Path) -> Session:
    import shutil

    found = Session("w" * 20, tmp_path / "home")
    with found.new_garment(copy=False) as folder:
        shutil.copytree(begun[0], folder, dirs_exist_ok=True)
    found.keep(begun[1], "begun", garment=folder.name)
    return found


def choice(session: Session) -> Colourway:
    return session.need().colourway("A")


def test_a_print_moves_and_undo_takes_it_back(session: Session) -> None:
    actions.act(session, {"do": "print", "panel": "sleeve-1L", "by": [4, -2], "twin": True})
    actions.act(session, {"do": "print", "panel": "sleeve-1L", "grain": 20})
    assert choice(session).laid == {
        "sleeve-1L": Laid(20.0, (4.0, -2.0), False),
        "sleeve-1R": Laid(0.0, (-4.0, -2.0), True),
    }
    shown = {p["id"]: p["laid"] for p in scene(session)["views"][0]["panels"]}
    assert shown["sleeve-1L"] == {"right": 4.0, "up": -2.0, "grain": 20.0, "mirrored": False, "own": True}
    assert not shown["front-1"]["own"]
    assert session.undo() == "print turned on sleeve"
    assert choice(session).laid["sleeve-1L"].grain_deg == 0
    actions.act(session, {"do": "print", "panel": "sleeve-1R", "usual": True})
    assert choice(session).laid == {}


def test_what_cannot_be_is_said(session: Session) -> None:
    for wrong in (
        {"by": [float("nan"), 0]},
        {"by": [1]},
        {"by": "far"},
        {"grain": 1e9},
        {"panel": "x" * 100},
        {"by": [1e7, 0]},
    ):
        with pytest.raises(InputError):
            actions.act(session, {"do": "print", "panel": "sleeve-1L", **wrong})
    gone = actions.act(session, {"do": "print", "panel": "front-77", "by": [1, 1]})
    bare = actions.act(session, {"do": "print", "panel": "pocket-1L", "by": [1, 1]})
    assert (gone.kind, bare.kind) == ("error", "error")
    assert choice(session).laid == {}


def test_the_light_of_a_photo(session: Session) -> None:
    with pytest.raises(InputError):
        actions.act(session, {"do": "light", "view": "front", "flare": 0.5})  # a drawing has none
    with pytest.raises(InputError):
        actions.act(session, {"do": "light", "view": "front", "flare": 7})
    project = session.need()
    photo = replace(project.view("front"), name="photo", kind="photo")
    session.keep(project.put_view(photo), "a photo")
    said = actions.act(session, {"do": "light", "view": "photo", "flare": 0.5, "printed": True})
    assert "traces of the print may show" in said.text
    assert (session.need().view("photo").flare, session.need().view("photo").printed) == (0.5, True)
    assert actions.act(session, {"do": "light", "view": "photo", "flare": None, "printed": False}) is None
    assert session.undo() == "the light of the photo"
    assert session.need().view("photo").printed is True
