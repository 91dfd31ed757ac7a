"""The whole way: photos of a camera of the tests' own, and the choir's eight swatches against their generator."""

import json
from dataclasses import replace

import cv2
import numpy as np
import pytest
import swatches_cloths as drawn
from skimage import data
from swatches_camera import decode, looking_at, random_camera, take

from swatches import reference as ref
from swatches.cloth import load_cloth
from swatches.colour import delta_e_2000, linear_to_lab, linear_to_srgb8, srgb_to_linear
from swatches.errors import Cancelled, InputError, PictureError
from swatches.fabric import Kind
from swatches.fabric_file import read_fabric, write_fabric
from swatches.find_chart import CHART_LAB
from swatches.photo import photo_from_array, read_photo
from swatches.read_swatch import read_swatch
from swatches.samples.cloths import CHECK_MM, CLOTHS, STRIPE_MM
from swatches.samples.cupboard import SWATCHES

KEYS = [
    "colour_lab", "expected_delta_e", "mm_per_px", "scale_error_percent", "kind", "repeat_mm", "outline_area_mm2",
    "safe_outline_area_mm2", "warnings",
]  # fmt: skip
STEP = 0.25


def on_sheet(cloth, box=(30, 60, 180, 235), paper="A4"):
    """A sheet with cloth laid in a box (mm)."""
    scene = decode(ref.sheet_picture(paper, STEP)) * np.float32(ref.PAPER_REFLECTANCE)
    left, top, right, bottom = (round(v / STEP) for v in box)
    scene[top:bottom, left:right] = cloth[: bottom - top, : right - left]
    return scene.astype(np.float32)


def stripes(seed=1, period=18.0):
    return drawn.stripe(np.random.default_rng(seed), (760, 760), STEP, period)


@pytest.fixture(scope="module")
def striped():
    scene = on_sheet(stripes())
    camera = random_camera(np.random.default_rng(2), (105, 148.5), size=(1200, 1600), width_mm=290)
    return photo_from_array(take(camera, scene, STEP, slope=0.35, light=(1.0, 0.92, 0.75), seed=3)), scene


@pytest.fixture(scope="module")
def striped_reading(striped):
    """Read once for all tests; nobody changes it."""
    return read_swatch(striped[0], reference="sheet", name="ticking")


def test_a_striped_swatch_on_the_sheet(striped, striped_reading):
    _, scene = striped
    reading = striped_reading
    answer = reading.to_json()
    assert list(answer) == KEYS
    json.dumps(answer)
    assert answer["kind"] == "stripe"
    assert answer["repeat_mm"][0] == pytest.approx(18.0, rel=0.002)
    assert answer["repeat_mm"][1] == 0
    assert answer["scale_error_percent"] == 1.0
    # the box is 150 × 175 mm; our aim: outline area within 0.5 %, safe outline inside it
    assert answer["outline_area_mm2"] == pytest.approx(150 * 175, rel=0.005)
    assert answer["safe_outline_area_mm2"] < 150 * 175
    truth = linear_to_lab(scene[240:816, 120:696].reshape(-1, 3).mean(axis=0))  # eight whole stripes
    assert float(delta_e_2000(reading.fabric.colour.lab, truth)) < 2.5
    assert reading.fabric.colour.expected_delta_e >= 4.8
    assert "may look" in reading.fabric.colour.reason
    assert reading.fabric.name == "ticking"
    assert not reading.tile.flags.writeable


def test_the_tile_is_at_true_scale_and_paints(striped_reading, tmp_path):
    reading = striped_reading
    file = write_fabric(reading.fabric, tmp_path, reading.tile)
    cloth = load_cloth(read_fabric(file), tmp_path)
    assert cloth.tile.shape[1] * cloth.mm_per_px == pytest.approx(18.0, rel=0.003)
    mean = linear_to_lab(cloth.tile.reshape(-1, 3).mean(axis=0).astype(float))
    assert float(delta_e_2000(mean, reading.fabric.colour.lab)) < 2


def test_the_same_photo_gives_the_same_reading(striped, striped_reading, tmp_path):
    first, second = striped_reading, read_swatch(striped[0], name="ticking")  # the sheet is found by itself
    assert first.to_json() == second.to_json()
    files = []
    for name, reading in (("a", first), ("b", second)):
        path = write_fabric(reading.fabric, tmp_path / name, reading.tile)
        files.append([p.read_bytes() for p in sorted(path.parent.iterdir())])
        assert read_fabric(path).texture.file == "tile.png"
    assert files[0] == files[1]


def test_a_measured_bar_and_overrides(striped):
    reading = read_swatch(striped[0], bar_mm=98.0, kind=Kind.CHECK, repeat_mm=(36.0, 20.0))
    assert reading.to_json()["repeat_mm"] == [36.0, 20.0]
    assert reading.to_json()["kind"] == "check"
    assert reading.scale_error_percent == 0.3
    assert reading.outline.area_mm2 == pytest.approx(150 * 175 * 0.98**2, rel=0.005)


def test_uneven_light_and_white_balance_are_taken_out():
    # findings: a quadratic on the log of the margin; under a slope of 35 % the even cloth stays even
    base = drawn.linear([150, 60, 70])[0]
    scene = on_sheet(np.ones((760, 760, 3)) * base)
    camera = looking_at((105, 148.5), size=(900, 1200), width_mm=270, tilt_deg=6)
    plain = read_swatch(photo_from_array(take(camera, scene, STEP, slope=0.0)))
    lamp = read_swatch(photo_from_array(take(camera, scene, STEP, slope=0.5, light=(1.0, 0.75, 0.45))))
    for reading in (plain, lamp):
        assert reading.fabric.kind is Kind.SOLID
        assert float(delta_e_2000(reading.fabric.colour.lab, linear_to_lab(base))) < 1.0
    assert "lamp light" in lamp.fabric.colour.reason
    assert lamp.fabric.colour.expected_delta_e > plain.fabric.colour.expected_delta_e


def test_a_leaf_in_the_grass_is_no_cloth():
    """scikit-image's photograph of grass: the whole is one texture, and a clump of leaves in it was taken for cloth."""
    reading = read_swatch(photo_from_array(np.repeat(data.grass()[..., None], 3, axis=2)), reference="none")
    assert any(w.startswith("No area was marked: the middle") for w in reading.warnings)
    assert min(reading.tile.shape[:2]) >= 100, "a tile of a few px shows nothing but its own grid"


def test_without_any_reference():
    cloth = drawn.stripe(np.random.default_rng(5), (600, 600), STEP, 12.0)
    photo = photo_from_array(np.rint(255 * np.clip(cloth, 0, 1) ** (1 / 2.2)).astype(np.uint8))
    reading = read_swatch(photo, reference="none", area=(20, 20, 560, 560))
    answer = reading.to_json()
    assert answer["mm_per_px"] is None
    assert answer["repeat_mm"] is None
    assert answer["kind"] == "stripe"
    assert answer["expected_delta_e"] >= 10
    assert any("tells its size" in w for w in answer["warnings"])
    typed = read_swatch(photo, reference=STEP, area=(20, 20, 560, 560)).to_json()
    assert typed["repeat_mm"][0] == pytest.approx(12.0, rel=0.005)


def test_a_plain_sheet_of_paper():
    scene = np.full((1188, 840, 3), 0.85, np.float32)
    base = drawn.linear([60, 90, 150])[0]
    scene[300:900, 200:640] = base
    camera = random_camera(np.random.default_rng(4), (105, 148.5), size=(1200, 1600), width_mm=300)
    reading = read_swatch(photo_from_array(take(camera, scene, STEP, slope=0.2)), reference="a4")
    assert reading.outline.area_mm2 == pytest.approx(150 * 110, rel=0.005)
    assert float(delta_e_2000(reading.fabric.colour.lab, linear_to_lab(base))) < 3
    measured = read_swatch(
        photo_from_array(take(camera, scene, STEP)), reference="a4", paper_mm=(211.0, 298.4)
    )  # a sheet at the edge of ISO 216
    assert measured.scale_error_percent == 0.3


def test_a_card_on_the_cloth():
    cloth = drawn.stripe(np.random.default_rng(6), (1200, 1200), STEP, 24.0).astype(np.float32)
    left, top = 600 - 171, 600 - 108
    cloth[top : top + 216, left : left + 342] = (0.02, 0.05, 0.3)
    camera = looking_at((150, 150), size=(1600, 1200), width_mm=240, tilt_deg=5)
    photo = photo_from_array(take(camera, cloth, STEP))
    reading = read_swatch(photo, reference="card", area=(60, 60, 500, 1000))
    assert reading.to_json()["repeat_mm"][0] == pytest.approx(24.0, rel=0.02)
    around = read_swatch(photo, reference="card")
    assert any("100 mm" in w for w in around.warnings)
    assert around.to_json()["kind"] == "stripe"


def cards_scene(piece, hole=None):
    """Four loose cards at the corners of 1.3 m × 0.9 m of table, a piece of cloth between them; 1 mm a px."""
    scene = np.full((1000, 1400, 3), drawn.linear([150, 140, 125])[0], np.float32)
    places = ((150, 130), (1250, 160), (1230, 860), (170, 840))
    for marker, (x, y), turn in zip(ref.CARD_IDS, places, (5, -12, 20, 8), strict=True):
        card = decode(ref.card_picture(marker, 0.5)) * np.float32(0.876)
        warp = cv2.getRotationMatrix2D((79.5, 79.5), turn, 0.5)
        warp[:, 2] += np.array([x - 0.5, y - 0.5]) - 79.5
        lay = lambda a, w=warp: cv2.warpAffine(a, w, (1400, 1000), flags=cv2.INTER_AREA)  # noqa: E731
        cover = lay(np.ones_like(card))
        scene = scene * (1 - cover) + lay(card)
    over = np.zeros((4000, 5600), np.uint8)
    cv2.fillPoly(over, [np.rint(np.array(piece) * 4).astype(np.int32)], 255)
    if hole is not None:
        cv2.fillPoly(over, [np.rint(np.array(hole) * 4).astype(np.int32)], 0)
    cover = (cv2.resize(over, (1400, 1000), interpolation=cv2.INTER_AREA) / 255.0)[..., None]
    scene = scene * (1 - cover) + drawn.linear([40, 60, 110])[0] * cover
    return scene.astype(np.float32), float(np.hypot(1100, 30))


PIECE = ((320, 300), (700, 220), (1080, 330), (1010, 560), (1100, 760), (640, 700), (380, 780))
HOLE = ((600, 420), (720, 420), (720, 520), (600, 520))


def polygon_area(points):
    x, y = np.array(points, float).T
    return abs(float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2)


def test_a_remnant_among_loose_cards():
    scene, distance = cards_scene(PIECE, HOLE)
    camera = random_camera(np.random.default_rng(8), (700, 500), size=(1800, 1350), width_mm=1500)
    photo = photo_from_array(take(camera, scene, 1.0, seed=1))
    reading = read_swatch(photo, reference="cards", distance_mm=distance)
    assert len(reading.outlines) == 1
    outline = reading.outline
    truth = polygon_area(PIECE) - polygon_area(HOLE)
    assert outline.area_mm2 == pytest.approx(truth, rel=0.005)  # our aim
    assert len(outline.holes) == 1
    assert outline.safe_area_mm2 < truth
    assert reading.scale_error_percent == 0.3
    # y is turned up, so the outline runs counter-clockwise
    x, y = np.array(outline.points).T
    assert float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) > 0
    with pytest.raises(PictureError, match="does not fit the photo"):
        read_swatch(photo, reference="cards", distance_mm=700)


def test_cloth_like_its_ground_is_refused_with_advice():
    scene, distance = cards_scene(PIECE)
    alike = np.where(scene[..., 2:] > scene[..., :1] * 1.5, drawn.linear([152, 141, 124])[0], scene).astype(np.float32)
    camera = looking_at((700, 500), size=(1400, 1050), width_mm=1500)
    with pytest.raises(PictureError, match="another colour"):
        read_swatch(photo_from_array(take(camera, alike, 1.0)), reference="cards", distance_mm=distance)
    white = on_sheet(np.full((760, 760, 3), 0.86))
    camera = looking_at((105, 148.5), size=(900, 1200), width_mm=270)
    with pytest.raises(PictureError, match="told from the white paper"):
        read_swatch(photo_from_array(take(camera, white, STEP)))


def test_a_colour_chart_mends_the_light():
    scene = np.full((900, 1900, 3), 0.02, np.float32)
    patches = np.clip(drawn.linear(*np.zeros((1, 3)))[0] + lab_to_light(CHART_LAB), 0, 1)
    for i, value in enumerate(patches):
        row, column = divmod(i, 6)
        scene[50 + row * 205 : 235 + row * 205, 50 + column * 205 : 235 + column * 205] = value
    base = drawn.linear([140, 90, 50])[0]
    scene[100:800, 1380:1850] = base
    camera = looking_at((190, 90), size=(1600, 900), width_mm=440, tilt_deg=4)
    photo = photo_from_array(take(camera, scene, 0.2, light=(1.0, 0.8, 0.5)))
    corner = camera.project(np.array([[290.0, 40], [355, 140]]))
    area = (*corner[0], *(corner[1] - corner[0]))
    with_chart = read_swatch(photo, reference="chart", area=area)
    without = read_swatch(photo, reference="none", area=area)
    truth = linear_to_lab(base)
    errors = [float(delta_e_2000(r.fabric.colour.lab, truth)) for r in (with_chart, without)]
    assert errors[0] < 1.0
    assert errors[1] > 3
    assert with_chart.fabric.colour.expected_delta_e == 2.6


def lab_to_light(lab):
    import colour

    illuminant = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    return colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab, illuminant), apply_cctf_encoding=False)


def test_wrong_arguments_are_said(striped):
    photo = striped[0]
    for options, words in (
        ({"reference": "tape"}, "one of none, sheet"),
        ({"reference": 0.0}, "mm per pixel"),
        ({"reference": "none", "area": (5000, 0, 10, 10)}, "area of the cloth"),
        ({"reference": "none", "area": (0, 0, -5, 10)}, "area of the cloth"),
        ({"reference": "none", "area": (0, 0, 12, 12)}, "at least 24 px"),
        ({"reference": "a4", "paper_mm": (1.0, 2.0)}, "size of the paper"),
        ({"reference": "cards"}, "Only 0 of the four cards"),
        ({"reference": "chart"}, "No colour chart"),
        ({"reference": "cards", "distance_mm": -4.0}, "distance between the cards"),
    ):
        with pytest.raises(InputError, match=words):
            read_swatch(photo, **options)


def test_it_can_be_stopped(striped):
    class Impatient:
        cancelled = True

        def step(self, text, done=None):
            assert text

    with pytest.raises(Cancelled):
        read_swatch(striped[0], job=Impatient())


KINDS = {
    "spruce": Kind.SOLID, "ochre": Kind.SOLID, "oat": Kind.MELANGE, "ticking": Kind.STRIPE, "check": Kind.CHECK,
    "stars": Kind.PRINT, "sprig": Kind.PRINT, "cord": Kind.SOLID,
}  # fmt: skip
REPEATS = {"ticking": (STRIPE_MM, 0), "check": (CHECK_MM, CHECK_MM), "sprig": (38.0, 50.0), "stars": (15.0, 15.0)}


@pytest.mark.parametrize(
    "sample", [pytest.param(s, marks=[] if s.id in ("check", "oat") else pytest.mark.slow, id=s.id) for s in SWATCHES]
)
def test_the_choirs_swatches_come_back_as_they_were_made(sample):
    reading = read_swatch(read_photo(sample.photo))
    made = CLOTHS[sample.id]((1100, 1000), 0.125)
    truth = linear_to_lab(made.reshape(-1, 3).mean(axis=0).astype(float))
    assert reading.fabric.kind is KINDS[sample.id]
    assert float(delta_e_2000(reading.fabric.colour.lab, truth)) < 2.5
    for got, want in zip(reading.to_json()["repeat_mm"] or (0, 0), REPEATS.get(sample.id, (0, 0)), strict=True):
        assert got == pytest.approx(want, rel=0.004, abs=1e-6)
    assert all(not outline.holes for outline in reading.outlines), "the sheet's own print is no hole in light cloth"
    assert any("one-way" in w for w in reading.warnings) is (sample.id == "cord")  # the only one with ribs
    if sample.id in ("check", "oat"):
        assert not reading.warnings
    assert replace(sample.complete(reading.fabric), id="x").id == "x"
    tile = linear_to_lab(srgb_to_linear(reading.tile).reshape(-1, 3).mean(axis=0).astype(float))
    assert float(delta_e_2000(tile, reading.fabric.colour.lab)) < 1.5


def test_repeats_both_ways_where_the_picture_is_made_smaller():
    # 1000 × 1200 px are looked at as 433 × 520: of 433.33, so that repeats along were short by 0.08 %
    y, x = (np.mgrid[0:1000, 0:1200] + 0.5) * 0.15
    light, dark = drawn.linear([236, 232, 224], [52, 70, 128])
    inks = ((t % period < period / 2)[..., None] for t, period in ((x, 17.0), (y, 13.0)))
    share = sum(ink.astype(float) for ink in inks) / 2
    picture = linear_to_srgb8((light * (1 - share) + dark * share).astype(np.float32))
    reading = read_swatch(photo_from_array(picture), reference=0.15, area=(0, 0, 1200, 1000))
    assert reading.fabric.texture.repeat_mm == pytest.approx((17.0, 13.0), rel=3e-4)
