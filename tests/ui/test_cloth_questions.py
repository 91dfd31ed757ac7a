"""'Which cloth?' without a browser: several photos at once, what cannot be measured, corrections, and the store."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from mockup import journey
from mockup.project import Project
from swatches.errors import Cancelled, InputError, MockupError
from swatches.fabric import Origin, Remnant
from swatches.job import QUIET
from swatches.kept import Asked, Kept, load_reading
from swatches.photo import read_photo
from swatches.reference import cards_pdf
from swatches.samples.cupboard import SWATCHES
from swatches.stash import Stash
from ui.parts.session import Session, Sessions
from ui.questions import cloth_store
from ui.questions.cloth_close import asked_from, cloth_scene
from ui.questions.cloth_does import DOES
from ui.questions.cloth_photos import hex_of, keep_again, keep_photos, read_again, read_photos
from ui.questions.stash_served import _cloths


@pytest.fixture
def session(tmp_path: Path) -> Session:
    made = Sessions(tmp_path / "data").get(Sessions.new_word())
    with made.new_garment(copy=False) as folder:
        pass
    made.keep(Project("a garment"), "begun", garment=folder.name)
    return made


def striped() -> Image.Image:
    x = np.arange(240)
    rows = np.where((x // 12 % 2)[None, :, None], [205, 190, 160], [40, 60, 120]).astype(np.uint8)
    return Image.fromarray(np.repeat(rows, 200, axis=0))


def stripes(folder: Path, name: str = "shop.png") -> Path:
    path = folder / name
    striped().save(path)
    return path


def put(session: Session, paths: Any, reference: str = "auto") -> Any:
    return keep_photos(session, read_photos(session, QUIET, paths, reference))


def do(session: Session, folder: Path, **message: Any) -> Any:
    return DOES[message["do"]](session, folder, message, {})


def test_one_bad_photo_does_not_stop_the_others(session: Session, tmp_path: Path) -> None:
    letter = tmp_path / "letter.png"
    letter.write_bytes(b"this is a letter")
    said = put(session, [str(stripes(tmp_path)), str(letter), str(stripes(tmp_path, "two.png"))])
    assert [f.name for f in session.need().fabrics] == ["beige and dark blue stripe"], (
        "the same photo twice is one cloth"
    )
    assert "Photo letter.png: this needs a JPEG" in said.text
    assert "instead of a file, which is no picture" in said.text
    assert said.kind != "error"
    assert not list(tmp_path.glob("*.png")), "uploads are taken away"
    with pytest.raises(InputError, match="at most 24 at once"):
        read_photos(session, QUIET, ["x"] * 25, "auto")
    with pytest.raises(InputError, match="one of those offered"):
        read_photos(session, QUIET, ["x"], "tape")


def test_only_bad_photos_are_said_and_change_nothing(session: Session, tmp_path: Path) -> None:
    letter = tmp_path / "letter.png"
    letter.write_bytes(b"this is a letter")
    before = session.need()
    said = put(session, [str(letter)])
    assert said.kind == "error"
    assert "picture" in said.text
    assert session.need() == before


def test_stopping_stops(session: Session, tmp_path: Path) -> None:
    class Impatient:
        cancelled = True

        def step(self, text: str, done: float | None = None) -> None:
            assert text

    with pytest.raises(Cancelled):
        read_photos(session, Impatient(), [str(stripes(tmp_path))], "none")


@pytest.mark.parametrize(
    "reference",
    [pytest.param(r, marks=[] if r == "a4" else pytest.mark.slow) for r in ("sheet", "a4", "card", "cards", "chart")],
)
def test_a_reference_that_is_not_there_is_said_and_the_photo_is_shown(
    session: Session, tmp_path: Path, reference: str
) -> None:
    said = put(session, [str(stripes(tmp_path))], reference)
    (fabric,) = session.need().fabrics
    assert "without a scale" in said.text
    assert fabric.texture is not None
    assert fabric.texture.scale_error_percent is None
    shown = cloth_scene(session, fabric)
    assert shown["photo"]["size"] == [240, 200]
    assert "guess" in shown["size"]
    words = " ".join([*shown["about"], shown["size"], *shown["warnings"], said.text])
    assert not any(w in words for w in ("ΔE", "CIEDE", "L*", "mockup ", "fabric.json", "this needs a usable"))


def test_the_sheet_is_looked_for_by_itself(session: Session, tmp_path: Path) -> None:
    photo = tmp_path / "oat.jpg"
    photo.write_bytes(next(s.photo for s in SWATCHES if s.id == "oat").read_bytes())
    put(session, str(photo))
    (fabric,) = session.need().fabrics
    assert fabric.texture is not None
    assert fabric.texture.scale_error_percent == 1.0
    shown = cloth_scene(session, fabric)
    assert len(shown["sheet_px"]) == 4
    assert shown["found_pieces"], "its outline was measured"

    # kept as a remnant, its grain said, a stain marked on it
    folder = tmp_path / "store"
    said = do(session, folder, do="pieces", cloth=fabric.id)
    assert "Say how its grain runs" in said.text
    (piece,) = session.need().fabric(fabric.id).remnants
    assert piece.grain_deg is None
    (row,) = _cloths(session.need(), "mm")
    assert (row["scraps"], row["without_grain"]) == ([], [piece.name])
    do(session, folder, do="grain", cloth=fabric.id, remnant=piece.name, way="up")
    (row,) = _cloths(session.need(), "mm")
    assert ([s["name"] for s in row["scraps"]], row["without_grain"]) == ([piece.name], [])
    ring = np.array(shown["cloth_px"]).mean(axis=0) + 20 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    do(session, folder, do="flaw", cloth=fabric.id, points=ring.tolist())
    (marked,) = session.need().fabric(fabric.id).remnants
    assert abs(marked.grain_deg) < 15  # the sheet lies nearly upright in the photo
    assert len(marked.holes) == len(piece.holes) + 1
    with pytest.raises(InputError, match="a ring drawn on a piece"):
        do(session, folder, do="flaw", cloth=fabric.id, points=[[1, 1], [4, 1], [4, 4]])
    do(session, folder, do="drop-piece", cloth=fabric.id, remnant=piece.name)
    assert session.need().fabric(fabric.id).remnants == ()


def test_reading_again_keeps_what_was_written_down(session: Session, tmp_path: Path) -> None:
    put(session, [str(stripes(tmp_path))])
    (fabric,) = session.need().fabrics
    light = {"do": "write", "cloth": fabric.id, "field": "weight", "text": "12 g for 20 × 30 cm", "how": "measured"}
    said = DOES["write"](session, tmp_path, light, {})
    assert said is not None
    assert "may be off by 4 %" in said.text
    do(session, tmp_path, do="write", cloth=fabric.id, field="weight", text="6 oz/yd²", how="guess", where="garment")
    message = {
        "cloth": fabric.id, "reference": "tape", "tape": [[0, 100], [240, 100]], "tape_length": "12 cm",
        "kind": "stripe", "across": "", "along": "", "bar": "", "distance": "", "corners": None, "outline": None,
    }  # fmt: skip
    keep_again(session, read_again(session, QUIET, message))
    again = session.need().fabric(fabric.id)
    assert again.texture is not None
    assert again.texture.scale_error_percent == 2.0
    assert again.texture.repeat_mm[0] == pytest.approx(12.0, rel=0.01)  # 24 of 240 px, which are 120 mm
    assert again.weight.origin is Origin.GUESS
    session.undo()
    before = session.need().fabric(fabric.id)
    assert before.texture == fabric.texture
    home = session.folder / "fabrics" / fabric.id
    assert load_reading(home, before) is not None
    assert (home / before.texture.file).exists()


def checked(folder: Path) -> Path:
    """A check that repeats every 24 px across and every 36 px along, in a picture of 288 × 252 px."""
    x, y = np.arange(288) // 12 % 2, np.arange(252) // 18 % 2
    shade = (x[None, :] + y[:, None])[:, :, None] / 2
    rgb = [205, 190, 160] + shade * (np.array([40, 60, 120]) - [205, 190, 160])
    Image.fromarray(rgb.astype(np.uint8)).save(folder / "check.png")
    return folder / "check.png"


@pytest.mark.parametrize(
    ("across", "along", "mm_per_px"),
    [("5 cm", "", 50 / 24), ("", "5 cm", 50 / 36), ("5 cm", "7.5 cm", 50 / 24)],  # 24 and 36 px are drawn above
)
def test_a_typed_repeat_sets_the_scale_where_nothing_else_does(
    session: Session, tmp_path: Path, across: str, along: str, mm_per_px: float
) -> None:
    put(session, [str(checked(tmp_path))], "none")
    (fabric,) = session.need().fabrics
    assert fabric.texture is not None
    assert fabric.texture.scale_error_percent is None
    message = {"cloth": fabric.id, "reference": "none", "across": across, "along": along}
    keep_again(session, read_again(session, QUIET, message))
    again = session.need().fabric(fabric.id)
    assert again.texture is not None
    assert again.texture.repeat_mm == pytest.approx((24 * mm_per_px, 36 * mm_per_px), rel=0.01)
    assert again.texture.scale_error_percent == 2.0
    assert not any("guess" in w for w in again.warnings)
    home = session.folder / "fabrics" / fabric.id
    kept = load_reading(home, again)
    assert kept is not None
    (left, _), (right, _) = kept.to_mm(((0.0, 0.0), (288.0, 0.0)))
    assert right - left == pytest.approx(288 * mm_per_px, rel=0.01)
    size = np.array(read_photo(home / again.texture.file).size) * again.texture.mm_per_px
    assert size == pytest.approx((24 * mm_per_px, 36 * mm_per_px), rel=0.05), "one whole repeat, not a piece of one"
    shown = cloth_scene(session, again)
    assert shown["sized"]
    assert [bool(v) for v in shown["asked"]["repeat"]] == [bool(across), bool(along)], "as it was typed"


def test_none_typed_as_a_repeat_is_none(session: Session, tmp_path: Path) -> None:
    put(session, [str(checked(tmp_path))], "none")
    (fabric,) = session.need().fabrics
    message = {"cloth": fabric.id, "reference": "none", "across": "5 cm", "along": "none"}
    keep_again(session, read_again(session, QUIET, message))
    again = session.need().fabric(fabric.id)
    assert again.texture is not None
    assert again.texture.repeat_mm == pytest.approx((50, 0), abs=0.01)
    assert cloth_scene(session, again)["asked"]["repeat"] == ["50 mm", "none"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"reference": "moon"}, "one of those offered"),
        ({"reference": "tape", "tape": None}, "2 points"),
        ({"reference": "tape", "tape": [[0, 0], [1, 0]], "tape_length": "3 cm"}, "ends that lie apart"),
        ({"reference": "tape", "tape": [[0, 0], [200, 0]], "tape_length": ""}, "a length"),
        ({"reference": "tape", "tape": [[0, 0], [200, 0]], "tape_length": "long"}, "length between the two ends"),
        ({"corners": [[0, 0]] * 3}, "4 points"),
        ({"corners": [[0, 0], [1, 0], [1, 1], [float("nan"), 1]]}, "4 points"),
        ({"outline": "everything"}, "3 points or more"),
        ({"outline": [[0, 0], [9, 9]]}, "3 points or more"),
        ({"kind": "glitter"}, "one of those offered"),
        ({"across": "wide"}, "repeat across"),
    ],
)
def test_what_cannot_be_asked_of_a_photo_is_said(change: dict[str, Any], words: str) -> None:
    kept = Kept("p", "a", (240, 200), (240, 200), 1.0, Asked(), False, (), (), (), (), (), 0.0)
    with pytest.raises(MockupError, match=words):
        asked_from({"reference": "none", **change}, kept, "mm")


def test_a_cloth_without_its_photo_gets_its_scale_typed(session: Session, tmp_path: Path) -> None:
    put(session, [str(stripes(tmp_path))], "none")
    (fabric,) = session.need().fabrics
    session.keep(session.need().put_fabric(replace(fabric, reading="")), "photo lost")
    shown = cloth_scene(session, session.need().fabric(fabric.id))
    assert shown["photo"] is None
    wide = shown["above"]["size"][0] * shown["above"]["mm_per_px"]
    do(session, tmp_path, do="size", cloth=fabric.id, text="32 mm", shown_mm=wide)
    again = session.need().fabric(fabric.id)
    assert again.texture.mm_per_px == pytest.approx(fabric.texture.mm_per_px * 32 / wide)
    assert again.texture.scale_error_percent is not None
    assert not any("guess" in w for w in again.warnings)


def test_bare_lengths_are_in_the_persons_unit_but_thickness_is_mm(session: Session, tmp_path: Path) -> None:
    put(session, [str(stripes(tmp_path))], "none")
    (fabric,) = session.need().fabrics
    session.remember(unit="in")
    for field, text in (("usable_width", "55"), ("thickness", "0.4")):
        do(session, tmp_path, do="write", cloth=fabric.id, field=field, text=text, how="measured", where="garment")
    again = session.need().fabric(fabric.id)
    assert again.usable_width.value == pytest.approx(1397.0)
    assert again.thickness.value == 0.4
    do(session, tmp_path, do="write", cloth=fabric.id, field="thickness", text="", how="measured", where="garment")
    assert session.need().fabric(fabric.id).thickness.origin is Origin.UNKNOWN
    with pytest.raises(InputError, match="one of those offered"):
        do(session, tmp_path, do="write", cloth=fabric.id, field="thickness", text="1", how="rumour", where="garment")
    with pytest.raises(InputError, match="not there any more"):
        do(session, tmp_path, do="write", cloth="nix", field="thickness", text="1", how="guess", where="garment")


SQUARE = ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0))


def test_the_store_from_the_page(session: Session, tmp_path: Path) -> None:
    folder = cloth_store.store_folder(tmp_path / "data")
    put(session, [str(stripes(tmp_path))], "none")
    (fabric,) = session.need().fabrics
    assert "kept in your cloth" in do(session, folder, do="put-in", cloth=fabric.id).text
    assert "already" in do(session, folder, do="put-in", cloth=fabric.id).text
    do(session, folder, do="write", cloth=fabric.id, field="length_left", text="2 m", how="measured", where="garment")
    assert "written there too" in do(session, folder, do="put-in", cloth=fabric.id).text
    with Stash(folder) as stash:
        (kept,) = stash.fabrics()
        stash.edit(replace(kept, remnants=(Remnant("end", SQUARE, SQUARE),)))
    seen = cloth_store.store_scene(session, folder, {})
    assert seen["count"] == seen["fits"] == 1
    assert "2000 mm left" in seen["cloths"][0]["about"]
    for wish, fits in (
        ({"words": "stripe"}, 1), ({"words": "velvet"}, 0), ({"colour": "#283c78"}, 1), ({"colour": "#00ff00"}, 0),
        ({"long": "1.5 m"}, 1), ({"long": "3 m"}, 0), ({"weight": "100-200"}, 1), ({"owned": True}, 1),
    ):  # fmt: skip
        found = cloth_store.store_scene(session, folder, wish)
        assert found["fits"] == fits, wish
        if "weight" in wish:
            assert found["cloths"][0]["unknown"] == ["its weight"], "not known does not hide it"
    with pytest.raises(MockupError, match="150-250"):
        cloth_store.store_scene(session, folder, {"weight": "light"})

    assert "1500 mm is left" in do(session, folder, do="use", cloth=kept.id, text="50 cm").text
    with pytest.raises(MockupError, match="Measure what is left"):
        do(session, folder, do="use", cloth=kept.id, text="9 m")
    assert "used up" in do(session, folder, do="use", cloth=kept.id, remnant="end").text
    with Stash(folder) as stash:
        assert stash.fabric(kept.id).remnants == ()
    do(session, folder, do="store-undo")
    do(session, folder, do="store-undo")
    with Stash(folder) as stash:
        assert stash.fabric(kept.id).length_left.value == 2000
        assert len(stash.fabric(kept.id).remnants) == 1
    said = do(session, folder, do="take", cloth=kept.id)
    taken = session.need().fabric(said.in_hand)
    assert taken.length_left.value == 2000
    assert taken.remnants[0].name == "end"
    assert (session.folder / "fabrics" / taken.id / "tile.png").exists()
    do(session, folder, do="forget", cloth=kept.id)
    assert cloth_store.store_scene(session, folder, {})["count"] == 0
    do(session, folder, do="store-undo")
    assert cloth_store.store_scene(session, folder, {})["count"] == 1


def test_the_sheet_and_the_loose_cards_are_given_out(session: Session, tmp_path: Path) -> None:
    extra: dict[str, Any] = {}
    DOES["sheet"](session, tmp_path, {"do": "sheet", "paper": "Letter"}, extra)
    assert extra["download"]["name"] == "sheet-letter.pdf"
    assert (session.made_folder / "sheet-letter.pdf").read_bytes().startswith(b"%PDF")
    said = DOES["sheet"](session, tmp_path, {"do": "sheet", "paper": "A4", "what": "cards"}, extra)
    assert said is not None
    assert "cut them apart" in said.text
    assert extra["download"]["name"] == "cards-a4.pdf"
    assert (session.made_folder / "cards-a4.pdf").read_bytes() == cards_pdf("A4")
    with pytest.raises(InputError, match="A4 or Letter"):
        DOES["sheet"](session, tmp_path, {"do": "sheet", "paper": "../x"}, {})


def test_colours_as_a_colour_field_says_them() -> None:
    assert hex_of("#7C2F3B") == "#7c2f3b"
    assert hex_of("rgba(124, 47.2, 59, 1)") == "#7c2f3b"
    for text in ("red", "#12", "rgb(a, b, c)", None):
        with pytest.raises(InputError, match="Choose a colour again"):
            hex_of(text)


def test_a_shop_picture_with_a_place_in_it_leaves_none(session: Session, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0132] = "2026:11:01 10:00:00"
    out = io.BytesIO()
    striped().save(out, "JPEG", exif=exif)
    path = tmp_path / "place.jpg"
    path.write_bytes(out.getvalue())
    put(session, [str(path)], "none")
    for file in session.home.rglob("*"):
        if file.is_file():
            assert b"2026:11:01" not in file.read_bytes(), file
    assert journey.fabric_names(session.need())
