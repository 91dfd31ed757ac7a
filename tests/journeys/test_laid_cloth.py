"""The very cloth that a piece covers is what its panel shows."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from mockup import journey
from mockup.journey.laid_cloth import exact_cloths, off_mm
from mockup.lay.lay import Answer, Lay, LayPiece, points_placed
from mockup.lay.need import lay_pieces
from mockup.lay.scraps import lay_on_scraps
from mockup.lay.stock import stock_of
from mockup.pattern.piece import Piece
from mockup.samples import choir
from swatches.colour import linear_to_srgb8, srgb_to_linear
from swatches.fabric import Known, Origin, Remnant
from swatches.photo import png_bytes

SIDE = 1200  # px and mm of the remnants' pictures


@pytest.fixture(scope="module")
def cut_and_laid(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Any:
    """The choir's tunic in two cloths, each a large remnant whose picture tells by its colours where one is on it."""
    folder = tmp_path_factory.mktemp("tunic")
    project = put_tunic(folder)
    project, _ = journey.put_pieces(folder, project, choir.PIECES)
    columns, rows = np.meshgrid(np.arange(SIDE), np.arange(SIDE))
    shown = np.stack([columns * 255 / SIDE, rows * 255 / SIDE, np.full((SIDE, SIDE), 128)], axis=-1).astype(np.uint8)
    square = ((0.0, 0.0), (2400.0, 0.0), (2400.0, 2400.0), (0.0, 2400.0))
    for name, colour in (("one", "#336699"), ("two", "#996633")):
        fabric = journey.plain_fabric(colour, name)
        remnant = Remnant(
            "sheet", square, square, grain_deg=90.0 if name == "two" else 0.0, photo="sheet.png",
            photo_mm_per_px=2.0, photo_corner_mm=(0.0, 2400.0),
        )  # fmt: skip
        fabric = replace(fabric, remnants=(remnant,), nap=Known(False, "", Origin.MEASURED))
        project, kept = journey.put_fabric(folder, project, fabric, fabric_id=name)
        (folder / "fabrics" / kept.id / "sheet.png").write_bytes(png_bytes(shown))
    project = replace(project, lines=choir.LINES)
    ids = [p.id for members in journey.panels_of(project).values() for p in members]
    project = journey.assign(project, "A", {i: "one" if i in ("front-1", "back-1") else "two" for i in ids})
    made = journey.cut(project, folder, "A").pieces
    laid = {f: lay_pieces([p for p in made if p.fabric == f]) for f in ("one", "two")}
    lays = {f: lay_on_scraps(laid[f], stock_of(project.fabric(f)).scraps, time_s=3) for f in laid}
    assert all(lay.answer is Answer.YES for lay in lays.values())
    return project, folder, made, laid, lays


def seen_at(picture: np.ndarray, x: float, y: float) -> tuple[float, float]:
    """Where on the remnant (mm) the cloth at a px of the painted picture comes from, by its colours alone."""
    r, g = picture[round(y) - 1 : round(y) + 2, round(x) - 1 : round(x) + 2, :2].reshape(-1, 2).mean(axis=0)
    return float(r) / 255 * 2 * SIDE, 2 * SIDE - float(g) / 255 * 2 * SIDE


def test_every_panel_shows_the_place_that_its_piece_lies_on(cut_and_laid: Any) -> None:
    project, folder, made, laid, lays = cut_and_laid
    cloths = exact_cloths(project, folder, "A", made, laid, lays)
    panels = {p.id for v in ("front", "back") for p in journey.panels_of(project)[v]}
    assert set(cloths["front"]) | set(cloths["back"]) == panels
    view = project.view("front")
    picture = journey.paint_view(project, folder, "A", "front", cloths=cloths["front"])
    # the yoke's fold: its upper end is the neck's middle, (0, 0) of the view; 60 mm below it lies cloth
    yoke = next(p for p in made if p.fabric == "one" and p.view == "front" and p.fold is not None)
    down = fold_point(yoke, 40.0)
    placed = placed_at(yoke, down, laid["one"], lays["one"])
    px = view.points_to_px(np.array([(0.0, -40.0)]))[0]  # type: ignore[arg-type]
    assert seen_at(picture, px[0], px[1]) == pytest.approx(placed, abs=25.0)
    # and 80 mm to either side of it, so that it is not turned over
    for across in (-60.0, 60.0):
        placed = placed_at(yoke, (down[0] + across, down[1]), laid["one"], lays["one"])
        px = view.points_to_px(np.array([(across, -40.0)]))[0]  # type: ignore[arg-type]
        assert seen_at(picture, px[0], px[1]) == pytest.approx(placed, abs=25.0)


def fold_point(piece: Piece, below: float) -> tuple[float, float]:
    assert piece.fold is not None
    ends = sorted([piece.fold.path.start, piece.fold.path.end], key=lambda p: -p[1])
    return float(ends[0][0]), float(ends[0][1]) - below


def placed_at(piece: Piece, at: tuple[float, float], laid: tuple[LayPiece, ...], lay: Lay) -> tuple[float, float]:
    name = next(p.name for p in laid if p.name.endswith(piece.name))
    p = next(p for p in lay.placements if p.piece == name)
    x, y = points_placed([at], mirrored=p.mirrored, angle=p.angle, x=p.x, y=p.y)[0]
    return float(x), float(y)


def test_a_motion_and_how_the_cloth_lies_are_the_same(cut_and_laid: Any) -> None:
    # against cv2's own sampling in paint: a turned and mirrored motion, told back from a painted plain square
    from mockup.colourways.laying import lay as lay_cloth
    from mockup.journey.laid_cloth import _laid
    from swatches.cloth import load_cloth

    project, folder, *_ = cut_and_laid
    cloth = load_cloth(project.fabric("one"), folder / "fabrics" / "one")
    columns, rows = np.meshgrid(np.arange(400), np.arange(400))
    tile = np.stack([columns / 400, rows / 400, np.zeros((400, 400))], axis=-1).astype(np.float32)
    cloth = replace(cloth, tile=tile, mm_per_px=1.0)
    for over in (False, True):
        angle = np.radians(30.0)
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        turn = turn @ np.diag([-1.0, 1.0]) if over else turn
        move, corner = np.array([210.0, 190.0]), (10.0, 395.0)
        shown = lay_cloth(cloth, _laid(turn, move, corner), (0, 0, 40, 40), mm_per_px=1.0, origin=(20.0, 20.0))
        for px, py in ((5, 5), (30, 12), (17, 33)):
            there = turn @ np.array([px + 0.5 - 20.0, -(py + 0.5 - 20.0)]) + move
            expected = (there[0] - corner[0] - 0.5) / 400, (corner[1] - there[1] - 0.5) / 400
            assert shown[py, px, :2] == pytest.approx(expected, abs=2e-3)


def test_the_photo_shows_the_same_cloth_in_the_middle_of_its_panels(cut_and_laid: Any) -> None:
    project, folder, made, laid, lays = cut_and_laid
    project = journey.put_photo(
        folder, project, choir.FORM_PHOTO, around=choir.FORM_AROUND, landmarks=choir.FORM_LANDMARKS
    )
    photo = next(v for v in project.views if v.kind == "photo")
    cloths = exact_cloths(project, folder, "A", made, laid, lays)
    body = {p.id for p in journey.panels_of(project)[photo.name] if p.part == "body"}
    assert body <= set(cloths[photo.name])
    picture = journey.paint_view(project, folder, "A", photo.name, cloths=cloths[photo.name])
    # Where a place of the tunic is in the photo comes from the rendered photo's own truth, not from our map: on the
    # centre line, between neck and hem, by its share of that length
    top, foot = (np.array(choir.FORM_LANDMARKS[n]) for n in ("neck-centre", "hem-centre"))
    length = choir.MEASURES["front"][1]
    middle = next(p for p in made if p.number == 2)
    yoke = next(p for p in made if p.number == 1)
    for piece, down in ((yoke, 40.0), (middle, 250.0)):
        fabric = piece.fabric
        # both pieces lie in the frame of the pattern, so that one is as far below the other's neck as on the paper
        placed = placed_at(piece, fold_point(yoke, down), laid[fabric], lays[fabric])
        x, y = top + (foot - top) * down / length
        assert lit_place(picture, x, y) == pytest.approx(placed, abs=40.0), piece.name
    # how far whole panels are off: nothing to speak of on the drawing, on the form more towards the sides
    off = off_mm(project, folder, "A", made, laid, lays)
    assert max(most for _, most in off["front"].values()) < 0.1
    assert max(off[photo.name][i][0] for i in body) < 30.0  # measured: 10 to 25 mm
    assert 30.0 < max(off[photo.name][i][1] for i in body) < 70.0  # 59 mm, at the side seams: a form is no board


def lit_place(picture: np.ndarray, x: float, y: float) -> tuple[float, float]:
    """As :func:`seen_at`, in a photo: light takes the same share of all three colours, and blue is 128 all over."""
    patch = picture[round(y) - 6 : round(y) + 7, round(x) - 6 : round(x) + 7].reshape(-1, 3)
    light = srgb_to_linear(patch.astype(np.uint8)).mean(axis=0)
    blue = float(srgb_to_linear(np.array([[128, 128, 128]], np.uint8))[0, 2])
    r, g, _ = linear_to_srgb8(np.asarray(light * blue / light[2], np.float32).reshape(1, 1, 3))[0, 0]
    return float(r) / 255 * 2 * SIDE, 2 * SIDE - float(g) / 255 * 2 * SIDE
