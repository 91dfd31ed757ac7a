"""Remnants on a wooden table beside a plain sheet of A4: found, measured, or gone round by hand."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon
from swatches_camera import looking_at, take

from swatches.cloth_place import find_cloth
from swatches.colour import delta_e_2000, linear_to_lab
from swatches.errors import PictureError
from swatches.fabric import Kind
from swatches.outline import trace_outlines
from swatches.photo import photo_from_array
from swatches.read_swatch import read_swatch
from swatches.setting import set_up

STEP = 1.0
SIZE = (1120, 860)
SHAPE = np.array([(60, 80), (640, 70), (650, 350), (420, 370), (410, 680), (230, 710), (70, 660)], float)
HOLE = [(180, 500), (240, 500), (240, 560), (180, 560)]
WINE, OAK = (0.16, 0.015, 0.03), (0.30, 0.18, 0.09)
SHEET = [(720, 400), (928.4, 425.6), (892.2, 720.4), (683.8, 694.8)]  # 210 × 297 mm (ISO 216), turned by 7°


def _lay(scene, points, colour):
    over = 4
    mask = np.zeros((SIZE[1] * over, SIZE[0] * over), np.uint8)
    cv2.fillPoly(mask, [np.rint(np.array(points) * over * 16).astype(np.int32)], 255, cv2.LINE_8, 4)
    cover = cv2.resize(mask, SIZE, interpolation=cv2.INTER_AREA).astype(np.float32)[..., None] / 255
    scene += (colour - scene) * cover


def _table():
    y, x = np.mgrid[: SIZE[1], : SIZE[0]].astype(np.float32)
    grain = 1 + 0.1 * np.sin(y / 9 + 2 * np.sin(x / 120))
    return np.array(OAK, np.float32) * grain[..., None]


def _stripes():
    """Wine with bands of the table's own colour, 8 of every 60 mm."""
    band = (np.arange(SIZE[0]) % 60 < 8)[None, :, None]
    return np.broadcast_to(np.where(band, OAK, WINE), (SIZE[1], SIZE[0], 3)).astype(np.float32)


def _photo(cloth, *, tilt=15.0, hole=True):
    scene = _table()
    under = scene.copy()
    _lay(scene, SHAPE, cloth)
    if hole:
        _lay(scene, HOLE, under)
    _lay(scene, SHEET, np.float32(0.85))
    camera = looking_at((500, 400), size=(1000, 760), width_mm=1050, tilt_deg=tilt, towards_deg=40, roll_deg=3, k=-0.02)
    return photo_from_array(take(camera, scene, STEP, ground=OAK)), camera


@pytest.fixture(scope="module")
def wine():
    return _photo(np.float32(WINE))


@pytest.fixture(scope="module")
def wine_setting(wine):
    return set_up(wine[0], "a4")


def test_a_remnant_beside_a4_is_found_measured_and_named_by_its_own_colour(wine):
    photo, camera = wine
    reading = read_swatch(photo, reference="a4")
    (piece,) = reading.outlines
    truth = Polygon(SHAPE, [HOLE])  # the drawn scene is the outside truth
    # within the 1 % of lengths that is said, which is 2 % of area
    assert piece.area_mm2 == pytest.approx(truth.area, rel=0.02)
    (hole,) = piece.holes
    assert Polygon(hole).area == pytest.approx(60 * 60, rel=0.1)
    found = Polygon(reading.plane.to_px(np.array(piece.points) * (1, -1)))
    seen = Polygon(camera.project(SHAPE))
    assert found.symmetric_difference(seen).area < 0.01 * seen.area, "it lies where the cloth lies in the photo"
    (said,) = reading.warnings
    assert "about 1 %" in said
    assert "6 mm on 6" in said  # its longer side is 64 cm
    # what fits on the safe outline fits on the cloth, though its lengths may be off by that much
    assert piece.safe_area_mm2 < truth.area - 2.5 * truth.exterior.length
    assert reading.fabric.kind is Kind.SOLID
    assert "red" in reading.fabric.name
    assert float(delta_e_2000(np.array(reading.fabric.colour.lab), linear_to_lab(np.array(WINE)))) < 4


def test_stripes_of_the_tables_colour_do_not_part_a_remnant():
    photo, _ = _photo(_stripes(), tilt=5.0, hole=False)
    place = find_cloth(photo, set_up(photo, "a4"), None)
    (piece,) = trace_outlines(place)
    assert piece.area_mm2 == pytest.approx(Polygon(SHAPE).area, rel=0.03)
    assert any("look like the table" in w for w in place.warnings)


def test_a_sheet_that_lies_on_the_cloth_still_has_the_cloth_all_round_it():
    scene = np.broadcast_to(np.float32(WINE), (SIZE[1], SIZE[0], 3)).copy()
    _lay(scene, SHEET, np.float32(0.85))
    camera = looking_at((700, 500), size=(900, 700), width_mm=700)
    photo = photo_from_array(take(camera, scene, STEP, ground=WINE))
    place = find_cloth(photo, set_up(photo, "a4"), None)
    assert not place.edge_seen
    assert any("all that lies round the reference" in w for w in place.warnings)


def test_what_is_drawn_round_the_cloth_follows_its_edge(wine, wine_setting):
    photo, camera = wine
    rough = camera.project(SHAPE) + np.array([[4, 3], [-4, 3], [-3, -4], [3, 3], [-3, -4], [3, -4], [4, -3]])
    place = find_cloth(photo, wine_setting, None, rough)
    (piece,) = trace_outlines(place)
    assert not any("as you drew it" in w for w in place.warnings)
    assert Polygon(piece.points).area == pytest.approx(Polygon(SHAPE).area, rel=0.02)
    assert len(piece.holes) == 1, "through the hole shows the table, though the outline goes round it"
    # a part of the cloth alone: there is no edge to follow, and the outline stays as it was drawn
    part = np.array([(100, 110), (380, 110), (380, 330), (100, 330)], float)
    place = find_cloth(photo, wine_setting, None, camera.project(part))
    (piece,) = trace_outlines(place)
    assert piece.area_mm2 == pytest.approx(280 * 220, rel=0.02)
    assert any("as you drew it" in w for w in place.warnings)


def test_the_sheet_itself_is_never_the_cloth(wine, wine_setting):
    photo, camera = wine
    sheet = camera.project(np.array(SHEET))
    for mark in (((*sheet.min(axis=0), *np.ptp(sheet, axis=0)), None), (None, sheet)):
        with pytest.raises(PictureError, match="mostly the paper"):
            find_cloth(photo, wine_setting, *mark)
    with_some = camera.project(
        np.array([(100, 110), (640, 110), (640, 330), (800, 420), (800, 500), (100, 480)], float)
    )
    place = find_cloth(photo, wine_setting, None, with_some)
    at = (
        wine_setting.plane.to_mm(camera.project(np.array([[770.0, 450.0], [300.0, 300.0]]))) - place.origin_mm
    ) / place.step_mm
    assert [bool(place.mask[int(y), int(x)]) for x, y in at] == [False, True]
    with pytest.raises(PictureError, match="lines that cross"):
        find_cloth(photo, wine_setting, None, camera.project(SHAPE)[[0, 2, 1, 3]])
