"""Speed of reading pictures, as ratios to plain library calls in the same run."""

import sys
import tracemalloc
from pathlib import Path

import cv2
import numpy as np
import pytest
from processor_time import best_of

sys.path.insert(0, str(Path(__file__).parent.parent / "garment"))

from random_drawings import random_drawing
from rendered import loose_outline, rendered, simulated_dabs

from mockup.garment.mask import cut_out
from mockup.garment.regions import find_regions

pytestmark = pytest.mark.bench


def scaled(picture, megapixels):
    h = int(np.sqrt(megapixels * 1e6 * 3 / 4))
    return cv2.resize(picture, (h * 4 // 3, h), interpolation=cv2.INTER_CUBIC)


@pytest.mark.parametrize(("megapixels", "most"), [(1, 200), (4, 60), (12, 11), (24, 10)])
def test_areas_of_a_drawing(benchmark, megapixels, most):
    """Against one connectedComponents pass over the picture. Reach: 12 at 12 MP; the others show the growth."""
    picture = scaled(random_drawing(8, kind="tee").picture, megapixels)
    ink = (cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY) > 100).astype(np.uint8)
    plain = best_of(lambda: cv2.connectedComponents(ink))

    def work():
        return find_regions(picture)

    benchmark.pedantic(work, rounds=4, warmup_rounds=1)
    ratio = best_of(work) / plain
    benchmark.extra_info["ratio to connectedComponents"] = ratio
    assert ratio <= most


def test_a_correction_is_faster_than_the_first_cut(benchmark):
    """Reach: ≤ 0.6 of the first cut."""
    scene = rendered(4, size=1600)
    ring = loose_outline(scene, np.random.default_rng(0))
    first = best_of(lambda: cut_out(scene.photo, around=ring), 4)
    mask = cut_out(scene.photo, around=ring)
    keep, drop = simulated_dabs(scene, mask.alpha)

    def work():
        return cut_out(scene.photo, earlier=mask, keep=keep, drop=drop)

    benchmark.pedantic(work, rounds=4, warmup_rounds=1)
    ratio = best_of(work) / first
    benchmark.extra_info["ratio to the first cut"] = ratio
    assert ratio <= 0.6


def test_memory_of_a_large_drawing(benchmark):
    """Python's and numpy's share of the peak at 12 MP, beside the picture itself."""
    picture = scaled(random_drawing(8, kind="tee").picture, 12)
    tracemalloc.start()
    find_regions(picture)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    benchmark.extra_info["peak MB"] = peak / 1e6
    benchmark.pedantic(lambda: find_regions(picture), rounds=1)
    assert peak < 350e6
