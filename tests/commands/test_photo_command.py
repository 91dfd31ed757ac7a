"""``mockup photo``: a photo of the garment joins a project, is painted, and a refused one leaves nothing behind."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from swatches.photo import read_photo, write_png
from ui.commands.main import run

sys.path.append(str(Path(__file__).parents[1] / "garment"))
from rendered import rendered
from sewn_garments import GARMENTS

CLOTH, GROUND = (150, 60, 60), (236, 234, 228)


def picture_of(skirt: Any, k: float) -> tuple[np.ndarray, np.ndarray]:
    """The true mask of a skirt, k px a mm, and a photo of it: even cloth with noise on even ground."""
    h, w = skirt.size(k)[::-1]
    mask = np.zeros((h, w), np.uint8)
    every = np.concatenate(skirt.strokes)
    hull = cv2.convexHull(np.round(skirt.to_px(every, k)).astype(np.int32))
    cv2.fillPoly(mask, [hull], 255)
    photo = np.where(mask[..., None] > 0, CLOTH, GROUND) + np.random.default_rng(3).normal(0, 3, (h, w, 3))
    return mask, np.clip(photo, 0, 255).astype(np.uint8)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("photo")
    write_png(folder / "skirt.png", GARMENTS["plain skirt"].scan(k=0.45, width=2.0))
    mask, photo = picture_of(GARMENTS["plain skirt"], 0.25)
    write_png(folder / "photo.png", photo)
    write_png(folder / "mask.png", mask)
    assert run(["new", str(folder / "p"), "--front", str(folder / "skirt.png"), "--json"]) == 0
    assert run(["assign", str(folder / "p"), "front-1=#2040c0", "--json"]) == 0
    return folder


def told(capsys: pytest.CaptureFixture[str], *words: object) -> Any:
    capsys.readouterr()
    assert run([*map(str, words), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def painted(made: Path, capsys: pytest.CaptureFixture[str], view: str) -> np.ndarray:
    told(capsys, "paint", made / "p", "--view", view, "--out", made / f"{view}.png")
    return read_photo(made / f"{view}.png").rgb8


def test_a_skirts_line_counts_from_its_waist_along_side_and_centre(
    made: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(made / "p", made / "lined")
    ends = ["--start", "side:waist=120mm", "--end", "centre-front:waist=90mm"]
    assert run(["line", "add", str(made / "lined"), "--symmetric", *ends]) == 0
    assert "side 120 mm from the waist to centre-front 90 mm from the waist" in capsys.readouterr().out
    assert run(["line", "move", str(made / "lined"), "line-1", "--end", "centre-front:knee=90mm"]) == 2
    assert "on the centre front (hem, waist), got 'knee'" in capsys.readouterr().err


def test_a_photo_with_its_mask_is_painted(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = told(capsys, "photo", made / "p", made / "photo.png", "--mask", made / "mask.png")
    true = read_photo(made / "mask.png").rgb8[..., 0] > 127
    assert (found["view"], found["side"]) == ("photo", "front")
    assert found["share"] == pytest.approx(true.mean(), abs=1e-6)
    picture, before = painted(made, capsys, "photo"), read_photo(made / "photo.png").rgb8
    assert picture.shape == before.shape
    core = cv2.erode(true.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    assert (picture[core][:, 2] > picture[core][:, 0].astype(int) + 60).all()  # blue now, where the cloth was red
    outside = cv2.dilate(true.astype(np.uint8), np.ones((9, 9), np.uint8)) == 0
    assert np.array_equal(picture[outside], before[outside])


def test_a_box_and_an_outline_find_the_same_garment(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    true = read_photo(made / "mask.png").rgb8[..., 0] > 127
    y, x = np.nonzero(true)
    left, top, w, h = x.min() - 6, y.min() - 6, np.ptp(x) + 12, np.ptp(y) + 12
    ring = [[left, top], [left + w, top], [left + w, top + h], [left, top + h]]
    (made / "ring.json").write_text(json.dumps([[int(a), int(b)] for a, b in ring]), encoding="utf-8")
    for given in (["--box", f"{left},{top},{w},{h}"], ["--around", made / "ring.json"]):
        found = told(capsys, "photo", made / "p", made / "photo.png", "--side", "back", *given)
        assert found["view"] == "photo-back"
        kept = read_photo(Path(found["files"][1])).rgb8[..., 0] > 127
        assert (kept & true).sum() / (kept | true).sum() > 0.97


def test_dabs_go_on_from_a_mask(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mask = read_photo(made / "mask.png").rgb8.copy()
    h, w = mask.shape[:2]
    mask[: h // 5, : w // 5] = 255  # a corner of the ground, taken in by mistake
    write_png(made / "wrong.png", mask)
    (made / "drop.json").write_text(json.dumps([[4, 4], [w // 6, h // 6]]), encoding="utf-8")
    wrong = ["photo", made / "p", made / "photo.png", "--mask", made / "wrong.png"]
    assert told(capsys, *wrong)["share"] > told(capsys, *wrong, "--drop", made / "drop.json")["share"] + 0.01


def test_points_that_are_known_come_onto_the_outline_and_stay(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    y, x = np.nonzero(read_photo(made / "mask.png").rgb8[..., 0] > 127)
    foot, left = int(y.max()), int(x.max())  # in a front view the wearer's left is on the right of the picture
    words = ["photo", made / "p", made / "photo.png", "--mask", made / "mask.png"]
    for extra in (["--point", f"hem-left={left},{foot - 20}"], []):
        at = told(capsys, *words, *extra)["landmarks"]["hem-left"]
        assert np.linalg.norm(np.array(at) - (left, foot - 20)) < 12


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "one of --mask, --around or --box"),
        (["--mask", "mask.png", "--box", "1,1,9,9"], "--mask and --box"),
        (["--mask", "small.png"], "the photo's size"),
        (["--mask", "black.png"], "hardly any white"),
        (["--mask", "white.png"], "hardly any black"),
        (["--mask", "notes.txt"], "mask"),
        (["--box", "1,2,3"], "4 numbers"),
        (["--box", "9000,9000,5,5"], "outline on the photo"),
        (["--around", "notes.txt"], "--around"),
        (["--box", "4,4,90,90", "--keep", "notes.txt"], "--keep"),
        (["--mask", "mask.png", "--point", "knee-left=3,4"], "'knee-left=3,4'"),
        (["--mask", "mask.png", "--point", "hem-left=3"], "2 numbers"),
    ],
)
def test_bad_input_is_one_line_and_leaves_the_project(
    made: Path, words: list[str], said: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(made)
    h, w = read_photo(Path("photo.png")).rgb8.shape[:2]
    write_png(Path("small.png"), np.full((20, 20), 255, np.uint8))
    write_png(Path("black.png"), np.zeros((h, w), np.uint8))
    write_png(Path("white.png"), np.full((h, w), 255, np.uint8))
    Path("notes.txt").write_text("no list and no picture", encoding="utf-8")
    before = {p: p.read_bytes() for p in Path("p").rglob("*") if p.is_file()}
    capsys.readouterr()
    assert run(["photo", "p", "photo.png", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert len(err.strip().splitlines()) == 1
    assert {p: p.read_bytes() for p in Path("p").rglob("*") if p.is_file()} == before


def test_a_photo_that_fails_late_leaves_the_pictures_as_they_were(
    made: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from mockup import journey
    from swatches.errors import GeometryError

    told(capsys, "photo", made / "p", made / "photo.png", "--mask", made / "mask.png")
    before = {p: p.read_bytes() for p in (made / "p").rglob("*") if p.is_file()}

    def refuse(*_: object) -> None:
        raise GeometryError("line 'yoke'", expected="a line that fits", got="none", next_step="Move it")

    monkeypatch.setattr(journey, "panels_of", refuse)
    for side in ("front", "back"):
        (made / "p" / "pictures" / "photo-back.png").unlink(missing_ok=True)
        gone = {p: b for p, b in before.items() if p.name != "photo-back.png"}
        turned = made / "turned.png"
        write_png(turned, read_photo(made / "photo.png").rgb8[:, ::-1])
        assert run(["photo", str(made / "p"), str(turned), "--side", side, "--mask", str(made / "mask.png")]) == 2
        after = {p: p.read_bytes() for p in (made / "p").rglob("*") if p.is_file()}
        assert after == gone


def test_a_photo_is_no_drawing_unless_one_insists(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_png(tmp_path / "worn.png", rendered(3, size=400).photo)
    asked = ["new", str(tmp_path / "p"), "--front", str(tmp_path / "worn.png")]
    assert run(asked) == 2
    assert "looks like a photo, worn.png. Give a line drawing here" in capsys.readouterr().err
    assert not (tmp_path / "p").exists()
    assert run(["regions", str(tmp_path / "worn.png"), "--out", str(tmp_path / "areas")]) == 2
    assert "looks like a photo. Cut the garment out of a photo with 'mockup mask'" in capsys.readouterr().err
    plain = np.full((400, 400, 3), 200, np.uint8)  # a closed shape in soft light: it is read, and said
    plain[60:340, 120:280] = np.linspace(30, 130, 160).astype(np.uint8)[None, :, None]
    write_png(tmp_path / "plain.png", plain)
    assert run(["regions", str(tmp_path / "plain.png"), "--out", str(tmp_path / "areas")]) == 0
    assert "This looks like a photo" in capsys.readouterr().out
    assert run([*asked, "--drawing"]) == 2, "it is read, and there is no line in it that closes anything"
    assert "no closed area" in capsys.readouterr().err
