"""The line drawing is the pattern, drawn; and the scanned page is one that a region finder has to work for."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy import ndimage

from mockup.garment.regions import find_regions
from mockup.geometry import path as paths
from mockup.samples import choir, draft, flat, make, scan
from swatches.photo import read_photo

PNG = {True: choir.FRONT_PNG, False: choir.BACK_PNG}
SVG = {True: choir.FRONT_SVG, False: choir.BACK_SVG}
sides = pytest.mark.parametrize("front", [True, False], ids=["front", "back"])


@sides
def test_body_is_the_unfolded_piece_to_scale(front: bool) -> None:
    piece = next(p for p in draft.pieces() if p.name == ("front" if front else "back"))
    drawn = {s.name: flat.to_px(s.path) for s in flat.strokes(front)}
    for name in ("side", "armhole", "shoulder"):
        for side in ("left", "right"):
            length = paths.length(drawn[f"{name}-{side}"]) * flat.MM_PER_PX
            assert length == pytest.approx(paths.length(piece.edge(name).path), abs=1e-6)
    assert paths.length(drawn["neck"]) * flat.MM_PER_PX == pytest.approx(2 * paths.length(piece.edge("neck").path))
    outline = flat.body_outline(front)
    assert paths.signed_area(outline) == pytest.approx(2 * piece.finished_area_mm2, rel=1e-12)


@sides
def test_everything_is_in_the_picture_and_mirrored(front: bool) -> None:
    width, height = flat.SIZE_PX
    found = {s.name: paths.flatten(flat.to_px(s.path), 0.1).points for s in flat.strokes(front)}
    for name, points in found.items():
        assert points[:, 0].min() > 40, name
        assert points[:, 0].max() < width - 40, name
        assert points[:, 1].min() > 40, name
        assert points[:, 1].max() < height - 40, name
    left, right = found["sleeve-top-left"], found["sleeve-top-right"]
    np.testing.assert_allclose(np.sort(left[:, 0] + right[::-1, 0]), width, atol=1e-6)
    assert (left[:, 0].mean() > right[:, 0].mean()) == front, "the left of a front picture is the wearer's right"


@sides
def test_svg_is_made_again_byte_for_byte(front: bool) -> None:
    assert SVG[front].read_text(encoding="utf-8") == flat.drawing_svg(front), "run python -m mockup.samples.make"


@sides
def test_scan_is_made_again(front: bool) -> None:
    got, kept = scan.scanned(front), read_photo(PNG[front]).rgb8
    assert got.shape == kept.shape
    assert np.abs(got.astype(int) - kept).mean() < 0.5


@sides
def test_scan_looks_scanned(front: bool) -> None:
    grey = read_photo(PNG[front]).rgb8.mean(axis=2)
    paper = ndimage.percentile_filter(grey[::8, ::8], 90, size=9)
    assert paper.max() - paper.min() > 12, "uneven paper"
    assert grey[200:400, 900:1200].std() > 1.0, "grain"
    ink = grey < 128
    _, lines = ndimage.label(ink, np.ones((3, 3)))
    _, closed = ndimage.label(ndimage.binary_dilation(ink, iterations=5))
    assert lines > closed + 100, "dashes and gaps"


@sides
def test_its_areas_are_found(front: bool) -> None:
    # The gaps leak through a plain fill; the areas are the garment's parts all the same.
    labels = find_regions(read_photo(PNG[front])).labels
    assert labels.max() == (6 if front else 3)
    body = shapely.Polygon(flat.points_px(paths.flatten(flat.body_outline(front), 0.05).points)).area
    pockets = 2 * draft._pocket().finished_area_mm2 / flat.MM_PER_PX**2 if front else 0.0
    assert np.bincount(labels.ravel())[1:].max() == pytest.approx(body - pockets, rel=0.01)


def test_a_picture_of_too_many_tones_is_refused() -> None:
    with pytest.raises(ValueError, match="256 tones"):
        make.palette_png(np.stack(np.indices((20, 20, 1)), axis=-1)[:, :, 0].astype(np.uint8))


def test_a_palette_picture_keeps_every_tone() -> None:
    picture = np.stack([np.arange(240).reshape(12, 20)] * 3, axis=-1).astype(np.uint8)
    data = make.palette_png(picture)
    assert data == make.palette_png(picture), "the same call, the same bytes"
    np.testing.assert_array_equal(read_photo(data).rgb8, picture)
