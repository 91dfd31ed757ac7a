"""What was found in a picture, put right by messages of the page: every one is a step that can be undone."""

from __future__ import annotations

import shutil
import sys
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from mockup import journey
from mockup.colourways.colourway import Colourway
from mockup.garment.mask_file import is_suggestion
from mockup.project import Project
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import InputError, PictureError
from swatches.job import QUIET
from swatches.photo import png_bytes
from ui.parts.found_scene import found_scene, point_words
from ui.parts.known_panels import panels_of, placed_of
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.questions import garment, garment_found

sys.path.append(str(Path(__file__).parents[1] / "garment"))
from sewn_garments import GARMENTS, dress


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Project]:
    """A dress in a drawing and a plain red oval in a photo."""
    folder = tmp_path_factory.mktemp("dress")
    (folder / "pictures").mkdir()
    picture = png_bytes(GARMENTS["dress"].scan(k=0.45, width=2.0))
    project = journey.put_drawing(folder, Project("dress"), side="front", picture=picture)
    photo = np.full((360, 300, 3), (196, 205, 214), np.uint8)
    cv2.ellipse(photo, (150, 190), (70, 120), 0, 0, 360, (120, 40, 50), -1)
    noisy = np.clip(photo + np.random.default_rng(0).normal(0, 3, photo.shape), 0, 255).astype(np.uint8)
    return folder, journey.put_photo(folder, project, png_bytes(noisy))


@pytest.fixture
def session(tmp_path: Path, laid_out: tuple[Path, Project]) -> Session:
    session = Sessions(tmp_path / "data").get(Sessions.new_word())
    with session.new_garment(copy=False) as folder:
        shutil.copytree(laid_out[0], folder, dirs_exist_ok=True)
    session.keep(laid_out[1], "laid out the dress", garment=folder.name)
    return session


def told(session: Session, **message: object) -> str:
    said = garment_found.keep(session, garment_found.work(session, QUIET, message))
    return said.text if said else ""


def test_areas_are_named_joined_and_divided_and_it_is_undone(session: Session) -> None:
    front = found_scene(session.need().view("front"))
    assert {"bodice", "skirt"} <= {a["id"] for a in front["areas"]}
    assert {a["is"] for a in front["areas"]} >= {"part of the body", "a sleeve"}
    told(session, do="name", view="front", area="skirt", name="pleated skirt")
    assert session.need().view("front").area("skirt").name == "pleated skirt"
    told(session, do="join", view="front", points=[place(session, "bodice"), place(session, "skirt")])
    assert not session.need().view("front").sections
    assert session.undo()
    assert session.need().view("front").area("skirt").name == "pleated skirt"
    told(session, do="read", view="front", gap_px=14.0)
    view = session.need().view("front")
    assert view.reading is not None
    assert view.reading.gap_px == pytest.approx(14.0)
    assert view.area("skirt").name == "pleated skirt"


def test_a_point_is_moved(session: Session) -> None:
    x, y = session.need().view("front").landmarks["hem-left"]
    told(session, do="point", view="front", name="hem-left", points=[(x, y - 20)])
    assert session.need().view("front").landmarks["hem-left"][1] < y - 10
    assert point_words("underarm-left") == "underarm, left"
    assert point_words("neck-centre") == "middle of the neck"


def test_the_outline_of_a_photo_is_drawn_followed_and_dabbed(session: Session) -> None:
    true = np.pi * 70 * 120
    angles = np.arange(12) * np.pi / 6
    ring = np.stack([150 + 82 * np.cos(angles), 190 + 133 * np.sin(angles)], axis=1)
    told(session, do="round", points=ring.tolist())
    assert size(session) == pytest.approx(true, rel=0.03)
    edge = np.stack([150 + 70 * np.cos(angles), 190 + 120 * np.sin(angles)], axis=1)
    told(session, do="follow", points=edge.tolist())
    assert size(session) == pytest.approx(true, rel=0.03)
    whole = size(session)
    told(session, do="dab", says="drop", points=[(150.0, 190.0), (154.0, 190.0)])
    assert size(session) < whole - 10
    marks = session.state.marks["photo"]
    assert len(marks["along"]) == 12
    assert len(marks["drop"]) == 1


def test_a_suggested_outline_is_let_stand_or_read_as_a_drawing(session: Session) -> None:
    cut = "pictures/photo-cut.npz"
    assert is_suggestion(session.folder / cut)
    told(session, do="right")
    assert not is_suggestion(session.folder / cut)
    assert session.undo()
    assert is_suggestion(session.folder / cut), "the step before keeps its own record"
    told(session, do="drawing")
    assert [(v.name, v.kind) for v in session.need().views] == [("front", "drawing")]
    assert session.need().view("front").size == (300, 360), "that of the photo, read as lines"


@pytest.mark.parametrize(
    "message",
    [
        "none",
        {"do": "paint"},
        {"do": "join", "view": "front"},
        {"do": "split", "view": "side", "points": [(1, 1)]},
        {"do": "join", "view": "front", "points": [(float("nan"), 1)]},
        {"do": "dab", "view": "front", "points": [(1, 1)]},
        {"do": "name", "view": "front", "area": "hat", "name": "hat"},
        {"do": "seam", "view": "photo", "points": [(9, 9)]},
        {"do": "read", "view": "photo"},
    ],
)
def test_messages_that_cannot_be(session: Session, message: object) -> None:
    before = session.state.steps
    with pytest.raises((InputError, PictureError)):
        garment_found.work(session, QUIET, message)
    assert session.state.steps == before
    assert len([p for p in session.home.iterdir() if p.name.startswith("garment-")]) == 1


def test_what_cannot_be_kept_leaves_no_folder(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    found = garment_found.work(session, QUIET, {"do": "right"})

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(journey, "stay", full)
    with pytest.raises(OSError, match="space"):
        garment_found.keep(session, found)
    assert [p.name for p in session.home.glob("garment-*")] == [session.folder.name]


YOKE = StyleLine(
    "line-1", "yoke", "front", LineKind.STRAIGHT, End("armhole", "shoulder", 60.0), End("centre-front", "neck", 40.0),
    symmetric=True,
)  # fmt: skip


def clothed(session: Session) -> dict[str, str]:
    """Lay navy on the bodice and oat on all else, with a yoke; gives panel → name, as they are then."""
    project = replace(session.need(), lines=(YOKE,))
    for name, colour in (("navy", "#20304a"), ("oat", "#d8c8a0")):
        project = project.put_fabric(replace(journey.plain_fabric(colour, name), id=name))
    names = {p.id: p.name for p in panels_of(project)["front"]}
    cloth = {i: "navy" if name in ("front yoke", "front bodice panel 2") else "oat" for i, name in names.items()}
    session.keep(project.put_colourway(Colourway("A", "", cloth)), "laid cloth on")
    return names


# arithmetic: what lies where is known; a panel of two old ones has the cloth of the larger
def test_lines_and_cloth_stay_when_areas_change_and_what_cannot_is_said(session: Session) -> None:
    before = clothed(session)
    assert {"front yoke", "front bodice panel 2", "front skirt"} <= set(before.values())
    lay = placed_of(session.need())["front"][0][1]
    said = told(session, do="join", view="front", points=[place(session, "bodice"), place(session, "skirt")])
    assert "The front bodice panel 2, part of the " in said
    assert "now, has oat instead of navy. Undo brings back what was." in said
    on = session.need().colourway("A").fabrics
    panels = {p.id for each in panels_of(session.need()).values() for p in each}
    assert set(on) == panels, "cloth of panels that are gone is not kept, and none is bare"
    assert [on[p.id] for p in panels_of(session.need())["front"] if p.part == "body"] == ["navy", "oat"]
    assert {c["id"]: c["panels"] for c in scene(session)["cloths"]} == {"navy": 1, "oat": len(panels) - 1}
    session.undo()
    _, y = place(session, "skirt")
    w = session.need().view("front").size[0]
    said = told(session, do="split", view="front", points=[(5.0, y), (w - 5.0, y)])
    assert said.endswith("Lines and cloth stay where they were.")
    assert sorted(session.need().colourway("A").fabrics.values()).count("navy") == 2
    session.undo()
    told(session, do="name", view="front", area="skirt", name="skirt", part="area")
    (line,) = session.need().lines
    assert placed_of(session.need())["front"][0][1].start == pytest.approx(lay.start, abs=0.5)
    assert (line.start.edge, line.end.edge) == ("armhole", "centre-front")


def test_a_line_without_a_place_is_taken_away_by_its_name_and_one_that_has_it_stays(session: Session) -> None:
    clothed(session)
    gores = replace(YOKE, id="line-2", name="gore", symmetric=False, start=End("side", "underarm", 400.0, "left"),
                    end=End("hem", "hem-centre", 30.0, "left"))  # fmt: skip
    project = session.need().put_line(gores)
    session.keep(project, "drew a gore")
    said = told(session, do="name", view="front", area="skirt", name="skirt", part="sleeve")
    assert "The line 'gore' has no place any more and was taken away." in said
    assert [line.name for line in session.need().lines] == ["yoke"]
    session.undo()
    assert len(session.need().lines) == 2


def test_what_is_done_while_a_picture_is_read_stays(session: Session, tmp_path: Path) -> None:
    (tmp_path / "back.svg").write_bytes(dress("back").svg())
    read = garment._read_back(session, QUIET, tmp_path / "back.svg")
    clothed(session)
    (session.folder / "fabrics" / "navy").mkdir(parents=True)
    (session.folder / "fabrics" / "navy" / "tile.png").write_bytes(b"tile")
    garment.keep_read(session, read)
    project = session.need()
    assert [v.name for v in project.views] == ["front", "photo", "back"]
    assert [line.name for line in project.lines] == ["yoke"]
    assert set(project.colourway("A").fabrics.values()) == {"navy", "oat"}
    assert (session.folder / "fabrics" / "navy" / "tile.png").read_bytes() == b"tile"
    assert (session.folder / "pictures" / "back-labels.png").exists()
    assert session.undo() == "laid out the back"
    assert [line.name for line in session.need().lines] == ["yoke"]


def place(session: Session, area: str) -> tuple[float, float]:
    from mockup.garment.area_record import place_in

    return place_in(session.need().view("front"), area)


def size(session: Session) -> float:
    from swatches.photo import read_photo

    mask = read_photo(session.folder / "pictures" / "photo-mask.png").rgb8[..., 0]
    return float(mask.sum()) / 255
