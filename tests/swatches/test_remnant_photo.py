"""Remnants from a photo: outline and picture lie on one another, and the picture shows the cloth."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from swatches.errors import InputError
from swatches.fabric import Remnant
from swatches.kept import Asked, keep_reading, load_reading
from swatches.photo import png_bytes, read_photo
from swatches.read_swatch import read_swatch
from swatches.remnant_photo import picture_of, read_remnants
from swatches.remnants import remnant_of
from swatches.samples.cupboard import CARD_DISTANCE_MM, HERE, REMNANT_PHOTO, REMNANTS, SEEN_REMNANTS


def test_the_choirs_remnants_are_read_with_their_pictures(tmp_path: Path) -> None:
    found = read_remnants(read_photo(REMNANT_PHOTO), reference="cards", distance_mm=CARD_DISTANCE_MM)
    # outside truth: the outlines that the rendered photo was made from
    truth = [REMNANTS["check"][0], REMNANTS["cord"][0]]
    areas = sorted(o.area_mm2 for o, _ in found)
    expected = sorted(Polygon(r.outline, r.holes).area for r in truth)
    assert areas == pytest.approx(expected, rel=0.02)
    for outline, picture in found:
        points = np.array(outline.points)
        assert points.min(axis=0) == pytest.approx((0, 0), abs=1e-3)
        left, low, right, high = picture.box_mm
        assert left < 0 and low < 0  # noqa: PT018
        assert right > points[:, 0].max()
        assert high > points[:, 1].max()
        # what lies 5 mm inside the outline looks like cloth, what lies outside like the pale ground
        rows, columns = np.mgrid[: picture.rgb.shape[0], : picture.rgb.shape[1]]
        x = left + (columns + 0.5) * picture.mm_per_px
        y = high - (rows + 0.5) * picture.mm_per_px
        shape = Polygon(outline.points, outline.holes)

        inside = shapely.contains_xy(shape.buffer(-5), x, y)
        outside = ~shapely.contains_xy(shape.buffer(2), x, y)
        assert picture.rgb[outside].mean() > picture.rgb[inside].mean() + 30
    outline, picture = found[0]
    seen = {"photo": "leg.png", "photo_mm_per_px": picture.mm_per_px, "photo_corner_mm": picture.corner_mm}
    remnant = replace(remnant_of(outline, "leg", grain_deg=0.0), **seen)
    assert picture_of(remnant, tmp_path) is None, "its file is not there yet"
    (tmp_path / "leg.png").write_bytes(png_bytes(picture.rgb))
    again = picture_of(remnant, tmp_path)
    assert again is not None
    assert np.array_equal(again.rgb, picture.rgb)
    assert again.box_mm == picture.box_mm


def test_a_photo_without_scale_and_a_file_elsewhere_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="scale"):
        read_remnants(read_photo(REMNANT_PHOTO), reference="none")
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0))
    away = Remnant("r", square, square, photo="../x.png", photo_mm_per_px=1.0, photo_corner_mm=(0.0, 0.0))
    with pytest.raises(InputError, match="folder"):
        picture_of(away, tmp_path)
    assert picture_of(Remnant("r", square, square), tmp_path) is None


def test_a_piece_traced_in_a_photo_that_is_kept_is_seen_out_of_it(tmp_path: Path) -> None:
    photo = read_photo(REMNANT_PHOTO)
    asked = Asked(reference="cards", distance_mm=CARD_DISTANCE_MM)
    reading = read_swatch(photo, name="two", **asked.options())
    name = keep_reading(tmp_path, photo, reading, asked)
    fabric = replace(reading.fabric, reading=name)
    outline = reading.outlines[0]
    remnant = remnant_of(outline, "piece 1", photo=name)
    picture = picture_of(remnant, tmp_path, fabric)
    assert picture is not None
    # its middle shows what the photo shows where the outline's middle lies
    x, y = Polygon(outline.points).representative_point().coords[0]
    left, _, _, high = picture.box_mm
    seen = picture.rgb[round((high - y) / picture.mm_per_px), round((x - left) / picture.mm_per_px)]
    kept = load_reading(tmp_path, fabric)
    assert kept is not None
    ((px, py),) = kept.to_px(((x, y),))
    assert np.abs(seen.astype(int) - photo.rgb8[round(py), round(px)].astype(int)).max() < 40


@pytest.mark.parametrize("cloth", ["cord", "check"])
def test_the_choirs_pictures_lie_on_the_outlines_of_their_remnants(cloth: str) -> None:
    (remnant,) = SEEN_REMNANTS[cloth]
    picture = picture_of(remnant, HERE)
    assert picture is not None
    left, _, _, high = picture.box_mm
    rows, columns = np.mgrid[: picture.rgb.shape[0], : picture.rgb.shape[1]]
    x, y = left + (columns + 0.5) * picture.mm_per_px, high - (rows + 0.5) * picture.mm_per_px
    shape = Polygon(remnant.outline, remnant.holes)
    blue = picture.rgb[..., 2].astype(int) - picture.rgb[..., 0]  # the sheet is pale blue, the cloths are red and tan
    assert (blue[shapely.contains_xy(shape.buffer(-4), x, y)] < 15).mean() > 0.95
    assert (blue[~shapely.contains_xy(shape.buffer(4), x, y)] > 15).mean() > 0.95
