"""Speed of what runs between letting go of a handle and the repainted picture, as ratios to plain library calls."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from processor_time import best_of

from mockup.garment.drawing import view_from_drawing
from mockup.samples import choir
from mockup.stylelines import presets
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.panels import garment_panels
from swatches.photo import read_photo

pytestmark = pytest.mark.bench


@pytest.fixture(scope="module")
def drawn():
    """The choir's scanned drawing, the front."""
    found = view_from_drawing(read_photo(Path(choir.FRONT_PNG)), name="front", side="front", picture="front.png")
    return found.view, found.labels


def test_panels_of_a_dragged_line(benchmark, drawn):
    """Cutting a traced body into nine panels, against labelling the picture once."""
    view, labels = drawn
    lines = [*presets.princess(view, 60, 90), *presets.band(view, 60, 60, first=5)]
    garment_panels([view], lines)
    benchmark.pedantic(lambda: garment_panels([view], lines), rounds=5, warmup_rounds=1)
    plain = best_of(lambda: cv2.connectedComponents((labels > 0).astype(np.uint8)))
    ratio = benchmark.stats.stats.min / plain
    benchmark.extra_info["ratio to connectedComponents"] = ratio
    assert ratio < 60


def test_masks_of_a_picture(benchmark, drawn):
    """Masks of all panels at 1600 px, against scaling as many masks of the picture's size once."""
    view, labels = drawn
    lines = [*presets.princess(view, 60, 90), *presets.band(view, 60, 60, first=5)]
    panels = garment_panels([view], lines)["front"]
    size = (1600, round(1600 * view.size[1] / view.size[0]))
    full = np.ones(labels.shape, dtype=np.float32)
    plain = best_of(lambda: [cv2.resize(full, size, interpolation=cv2.INTER_AREA) for _ in panels])
    benchmark.pedantic(lambda: panel_masks(view, panels, labels, size), rounds=5, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / plain
    benchmark.extra_info["ratio to resize"] = ratio
    assert ratio < 4
