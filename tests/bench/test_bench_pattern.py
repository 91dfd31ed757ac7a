"""Speed of cutting, as ratios to shapely's split and mitred buffer on the same input in the same run (issue 6, Reach).

The plain call gets the same outline, flattened as finely as our parallels are exact (0.0005 mm): that is what it would
take to cut a polygon as well. Its ratio to a 0.02 mm flattening is recorded beside it.
"""

import sys
import time
from pathlib import Path as FilePath

import numpy as np
import pytest
import shapely
from shapely.ops import split

sys.path.insert(0, str(FilePath(__file__).parents[1] / "pattern"))
from tunic import half

from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.pattern import allowance
from mockup.pattern.cut import CutLine, cut_piece

pytestmark = pytest.mark.bench

WAVE = CutLine("l", "band", Path(np.array([[(-10, 200), (100, 230), (200, 180), (310, 210)]], dtype=float)))


def best_of(work, times):
    spent = []
    for _ in range(times):
        start = time.process_time()  # processor time: the machine may have other work
        work()
        spent.append(time.process_time() - start)
    return max(min(spent), 1e-9)


def plain_cut(piece, line, tolerance):
    polygon = shapely.Polygon(paths.flatten(piece.outline, tolerance).points)
    knife = shapely.LineString(paths.flatten(line.path, tolerance).points)
    return lambda: [shapely.buffer(p, 15, join_style="mitre", mitre_limit=2.5) for p in split(polygon, knife).geoms]


def cut_and_allow(piece, lines):
    allowance.cut_outline.cache_clear()  # nothing remembered from the round before
    return [allowance.cut_line(child) for child in cut_piece(piece, lines, 15).children]


def test_one_piece_cut_and_allowance_with_its_proof(benchmark):
    piece = half()
    benchmark.pedantic(lambda: cut_and_allow(piece, [WAVE]), rounds=10, warmup_rounds=3)
    ours = best_of(lambda: cut_and_allow(piece, [WAVE]), 40)
    fine = best_of(plain_cut(piece, WAVE, allowance.TOLERANCE), 40)
    coarse = best_of(plain_cut(piece, WAVE, 0.02), 40)
    benchmark.extra_info["ratio to shapely, flattened at 0.0005 mm"] = ours / fine
    benchmark.extra_info["ratio to shapely, flattened at 0.02 mm"] = ours / coarse
    assert ours / fine <= 45  # with the whole proof, which shapely's call has not


def test_200_pieces_by_3_lines_grow_linearly(benchmark):
    # Issue 6, Reach: 200 pieces × 3 lines, linear growth, ≤ 5 s on two cores.
    lines = [
        CutLine(str(k), f"line {k}", paths.polyline([(-10, y), (320, y + 5)])) for k, y in enumerate((150, 250, 350))
    ]

    def work(count):
        for _ in range(count):
            cut_and_allow(half(), lines)

    few = best_of(lambda: work(20), 3)
    many = best_of(lambda: work(200), 1)
    benchmark.pedantic(lambda: work(1), rounds=3)
    benchmark.extra_info["processor seconds for 200"] = many
    assert many / few <= 14  # ten times the pieces
