"""What was found in a picture, put right by messages of the page: every one is a step that can be undone."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import cv2
import numpy as np
import pytest

from mockup import journey
from mockup.garment.mask_file import is_suggestion
from mockup.project import Project
from swatches.errors import InputError, PictureError
from swatches.job import QUIET
from swatches.photo import png_bytes
from ui.parts.found_scene import found_scene, point_words
from ui.parts.session import Session, Sessions
from ui.questions import garment_found

sys.path.append(str(Path(__file__).parents[1] / "garment"))
from sewn_garments import GARMENTS


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


def place(session: Session, area: str) -> tuple[float, float]:
    from mockup.garment.area_record import place_in

    return place_in(session.need().view("front"), area)


def size(session: Session) -> float:
    from swatches.photo import read_photo

    mask = read_photo(session.folder / "pictures" / "photo-mask.png").rgb8[..., 0]
    return float(mask.sum()) / 255
