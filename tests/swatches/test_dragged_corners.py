"""Corners as a person dragged them, where the reference is not found by itself."""

import numpy as np
import pytest
import swatches_cloths as drawn
from swatches_camera import decode, looking_at, take

from swatches import reference as ref
from swatches.errors import PictureError
from swatches.photo import photo_from_array
from swatches.read_swatch import read_swatch

STEP = 0.25


@pytest.fixture(scope="module", params=["A4", pytest.param("Letter", marks=pytest.mark.slow)])
def hidden(request):
    """A sheet with cloth on it, two of its markers hidden, on its side or upside down; and where its corners are."""
    paper = request.param
    width, height = ref.paper_size(paper)
    scene = decode(ref.sheet_picture(paper, STEP)) * np.float32(ref.PAPER_REFLECTANCE)
    scene[260:900, 140:700] = drawn.stripe(np.random.default_rng(1), (640, 560), STEP, 18.0)
    for corner in (0, 3):
        x, y = list(ref.marker_corners(paper).values())[corner].mean(axis=0) / STEP
        scene[round(y) - 60 : round(y) + 60, round(x) - 60 : round(x) + 60] = drawn.linear([60, 30, 30])[0]
    camera = looking_at(
        (width / 2, height / 2), size=(1400, 1400), width_mm=380, tilt_deg=7, roll_deg=90 if paper == "A4" else 180
    )
    corners = camera.project(np.array([[0.0, 0], [width, 0], [width, height], [0, height]]))
    return photo_from_array(take(camera, scene.astype(np.float32), STEP)), corners


def test_a_sheet_whose_markers_are_hidden(hidden):
    photo, corners = hidden
    with pytest.raises(PictureError, match="corner markers can be seen"):
        read_swatch(photo, reference="sheet")
    start = int(np.argmin(corners.sum(axis=1)))  # the person begins at the top left as the photo shows it
    dragged = np.roll(corners, -start, axis=0) + np.array([[6, -5], [-4, 7], [5, 6], [-7, -4]])
    reading = read_swatch(photo, reference="sheet", corners_px=dragged)
    assert reading.to_json()["repeat_mm"][0] == pytest.approx(18.0, rel=0.005)
    assert reading.to_json()["repeat_mm"][1] == 0, "it is turned as the sheet is"
    assert reading.outline.area_mm2 == pytest.approx(160 * 140, rel=0.01)
    assert reading.scale_error_percent == 1.2
    assert any("edges" in w for w in reading.warnings)


def test_corners_on_something_else_are_refused(hidden):
    photo, corners = hidden
    middle = corners.mean(axis=0)
    with pytest.raises(PictureError):
        read_swatch(photo, reference="sheet", corners_px=middle + 0.3 * (corners - middle))
