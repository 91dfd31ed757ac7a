"""How long a photo takes to become a fabric, as a ratio to plain OpenCV work on the same pixels in the same run."""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "swatches"))

import swatches_cloths as drawn
from swatches_camera import decode, random_camera, take

from swatches import reference as ref
from swatches.photo import jpeg_bytes, read_photo
from swatches.read_swatch import read_swatch

STEP = 0.1


@pytest.fixture(scope="module")
def twelve_megapixels():
    scene = decode(ref.sheet_picture("A4", STEP)) * np.float32(ref.PAPER_REFLECTANCE)
    cloth = drawn.check(np.random.default_rng(3), (1750, 1500), STEP, (22.0, 30.0))
    scene[600:2350, 300:1800] = cloth
    camera = random_camera(np.random.default_rng(1), (105, 148.5), size=(3000, 4000), width_mm=300)
    return jpeg_bytes(take(camera, scene.astype(np.float32), STEP, slope=0.3), quality=90)


def plain_work(rgb):
    """One Lab round trip and one perspective warp of the whole photo."""
    back = cv2.cvtColor(cv2.cvtColor(rgb, cv2.COLOR_RGB2LAB), cv2.COLOR_LAB2RGB)
    warp = np.array([[1, 0.05, 3], [0.02, 1, 5], [1e-6, 2e-6, 1]])
    return cv2.warpPerspective(back, warp, (rgb.shape[1], rgb.shape[0]))


def seconds(work, times):
    """Median processor time: how much work it is, whatever else the machine does and however many cores help OpenCV."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


@pytest.mark.bench
def test_a_twelve_megapixel_photo_becomes_a_fabric(benchmark, twelve_megapixels):
    # our aim: ≤ 6 × (one cv2.cvtColor Lab round trip + one warpPerspective)
    rgb = read_photo(twelve_megapixels).rgb8
    read_swatch(read_photo(twelve_megapixels))
    base = seconds(lambda: plain_work(rgb), 9)
    benchmark.pedantic(lambda: read_swatch(read_photo(twelve_megapixels)), rounds=5, iterations=1)
    whole = seconds(lambda: read_swatch(read_photo(twelve_megapixels)), 3)
    benchmark.extra_info["ratio"] = round(whole / base, 2)
    assert whole / base <= 6
