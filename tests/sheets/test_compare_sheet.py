"""The comparison sheet: equal crops, letters burned in, shares, and the same pixels every time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from PIL import Image, ImageDraw

from mockup.sheets.compare import CHIP_MM, Choice, ClothShare, cloth_chip, compare_sheet
from mockup.sheets.compare_pdf import compare_pdf
from mockup.sheets.raster_pen import RasterPen
from swatches.errors import InputError

NAVY, MUSTARD, BERRY = (32, 44, 92), (204, 160, 70), (150, 40, 60)


def tunic_picture(body: tuple[int, int, int], yoke: tuple[int, int, int], *, back: bool = False) -> np.ndarray:
    """A small tunic in two colours on white paper, with a dark outline."""
    image = Image.new("RGB", (420, 360), "white")
    draw = ImageDraw.Draw(image)
    sleeve = [(120, 60), (40, 150), (90, 190), (130, 140)]
    for points in (sleeve, [(420 - x, y) for x, y in sleeve]):
        draw.polygon(points, fill=yoke, outline=(20, 20, 25))
    draw.polygon([(120, 60), (300, 60), (315, 310), (105, 310)], fill=body, outline=(20, 20, 25))
    draw.polygon([(120, 60), (300, 60), (304, 130), (116, 130)], fill=yoke, outline=(20, 20, 25))
    draw.ellipse((180, 40 if back else 30, 240, 80 if back else 100), fill="white", outline=(20, 20, 25))
    return np.asarray(image)


def stripe(period_mm: float, mm_per_px: float) -> np.ndarray:
    period = round(period_mm / mm_per_px)
    tile = np.full((period, period, 3), 235, dtype=np.uint8)
    tile[:, : period // 2] = NAVY
    return tile


@pytest.fixture
def choices() -> list[Choice]:
    pairs = [(NAVY, MUSTARD), (MUSTARD, NAVY), (BERRY, NAVY), (NAVY, BERRY)]
    names = ["Quiet navy", "Harvest", "", "A long name that somebody gave to this one for a reason of their own"]
    tile = stripe(4.0, 0.25)
    found = []
    for letter, name, (body, yoke) in zip("ABCD", names, pairs, strict=True):
        pictures = {"front": tunic_picture(body, yoke), "back": tunic_picture(body, yoke, back=True)}
        cloths = (
            ClothShare("Navy wool twill", 0.61, body),
            ClothShare("Ticking stripe from the old mattress", 0.11, (200, 200, 200), tile, 0.25),
            ClothShare("Mustard flannel", 0.28, yoke),
        )
        found.append(Choice(letter, name, pictures, cloths))
    return found


def test_four_choices_as_they_should_look(choices, same_picture):
    note = "Invented example: a village choir sews from its store cupboard."
    same_picture(compare_sheet(choices, title="Winter concert tunic", width_px=1100, note=note), "compare-four")


@pytest.mark.parametrize("count", [2, 3, 4, 6])
@pytest.mark.parametrize("tall", [1, 3])
def test_no_lettering_is_smaller_than_seven_points_on_a4(choices, monkeypatch, count, tall):
    # common practice, no source: smaller lettering is not read on a table
    many = [
        replace(
            c,
            pictures={v: np.repeat(p, tall, axis=0) for v, p in c.pictures.items()},
            fabrics=[replace(f, note="from the cupboard: at least 0.35 m² of 2.10 m² left") for f in c.fabrics],
        )
        for c in (choices * 2)[:count]
    ]
    sizes = []
    words = RasterPen.words

    def noted(self, text, x, y, size, *rest, **more):
        sizes.append((self.height, size))
        return words(self, text, x, y, size, *rest, **more)

    monkeypatch.setattr(RasterPen, "words", noted)
    sheet = compare_sheet(many, title="Tunic", width_px=1800, note="An invented example.")
    page = next(iter(pdfium.PdfDocument(compare_pdf([sheet], [], title="Tunic"))))
    left, _, right, _ = next(o for o in page.get_objects() if o.type == raw.FPDF_PAGEOBJ_IMAGE).get_bounds()
    shown = [size for height, size in sizes if height == sheet.shape[0]]
    assert len(shown) > 8 * count
    assert min(shown) * (right - left) / sheet.shape[1] > 7.0


def test_three_stand_in_a_row(choices, same_picture):
    same_picture(compare_sheet(choices[:3], title="Winter concert tunic", width_px=1100), "compare-three")


@pytest.mark.parametrize("count", [2, 3, 4])
def test_the_same_choices_give_the_same_pixels(choices, count):
    first = compare_sheet(choices[:count], title="x", width_px=700)
    assert first.dtype == np.uint8
    assert first.shape[1:] == (700, 3)
    assert np.array_equal(first, compare_sheet(choices[:count], title="x", width_px=700))


def test_every_choice_has_the_same_crop(choices):
    """A choice that differs only in colour has its outline at the same place in its card."""
    sheet = compare_sheet(choices[:2], title="x", width_px=1000).astype(int)
    card, gutter = (1000 - 2 * 55 - 50) // 2, 50
    left, right = sheet[:, 55 : 55 + card], sheet[:, 55 + card + gutter : 55 + 2 * card + gutter]
    dark = [(c < 60).all(axis=2) for c in (left, right)]
    rows = slice(round(0.12 * 1000) + 60, round(0.12 * 1000) + 150)  # below the letters, above the words
    assert dark[0][rows].any()
    assert (dark[0][rows] == dark[1][rows]).mean() > 0.995


def test_a_dark_ground_at_the_edge_of_a_scan_is_no_garment(choices):
    shadowed = []
    for c in choices[:2]:
        pictures = {v: p.copy() for v, p in c.pictures.items()}
        for p in pictures.values():
            p[:, -6:] = 70
        shadowed.append(Choice(c.letter, c.name, pictures, c.fabrics))
    assert np.array_equal(
        compare_sheet(shadowed, title="x", width_px=800), compare_sheet(choices[:2], title="x", width_px=800)
    )


def test_a_chip_shows_four_centimetres_of_the_cloth():
    size, period = 200, 4.0
    chip = cloth_chip(ClothShare("stripe", 1.0, NAVY, stripe(period, 0.25), 0.25), size)
    dark = (chip[size // 2, :, 0] < 128).astype(int)
    assert int((np.diff(dark) == 1).sum() + dark[0]) == round(CHIP_MM / period)
    assert (cloth_chip(ClothShare("plain", 1.0, NAVY), 9) == NAVY).all()


@pytest.mark.parametrize("count", [0, 1, 7])
def test_too_few_or_too_many(choices, count):
    with pytest.raises(InputError, match="2 to 6"):
        compare_sheet((choices * 2)[:count], title="x")


def test_views_that_differ(choices):
    other = Choice("B", "", {"front": choices[0].pictures["front"]})
    with pytest.raises(InputError, match="the same views"):
        compare_sheet([choices[0], other], title="x")


def test_an_odd_width(choices):
    with pytest.raises(InputError, match="600 to 6000"):
        compare_sheet(choices, title="x", width_px=100)


def test_a_blank_picture_is_shown_whole(choices):
    blank = {v: np.full_like(p, 255) for v, p in choices[0].pictures.items()}
    sheet = compare_sheet([Choice("A", "", blank), Choice("B", "", blank)], title="x", width_px=600)
    assert sheet.shape[1] == 600
