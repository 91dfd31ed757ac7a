"""Speed of laying, as ratios to plain library calls in the same run."""

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from processor_time import best_of
from scipy.signal import fftconvolve
from shapely.geometry import Polygon

sys.path.insert(0, str(Path(__file__).parent.parent / "lay"))

from planted import planted

from mockup.lay.exact import faults
from mockup.lay.greedy import by_size, lay_in_order, needed
from mockup.lay.lay import Answer, LayPiece, laid
from mockup.lay.raster import Raster
from mockup.lay.rows import cloth_of
from mockup.lay.scraps import lay_on_scraps

pytestmark = pytest.mark.bench


def test_all_places_of_a_piece_at_once(benchmark):
    """'Where may it lie?' for every cell, against one fftconvolve of the same arrays, which is what it amounts to."""
    pieces, scraps = planted(5, scraps=1, pieces=6, utilisation=0.7)
    raster = Raster(pieces, scraps, 1.5, 2.0)
    field = np.ones(raster.fits(0, 0).shape, np.float32)
    mask = raster.stances[0].body.astype(np.float32)
    plain = best_of(lambda: fftconvolve(field, mask, mode="valid"))

    def work():
        return raster._all_free(raster._free[0], raster.stances[0])

    benchmark(work)
    ratio = best_of(work) / plain
    benchmark.extra_info["ratio to fftconvolve"] = ratio
    assert ratio <= 3


@pytest.mark.parametrize("count", [5, 10, 20, 40])
def test_growth_from_5_to_40_pieces(benchmark, count):
    """A greedy lay on a width, a piece, against one fftconvolve of the cloth with a piece: without kept barriers each
    piece would need at least one.

    The figures of the four sizes side by side are the growth that is to be told.
    """
    rng = np.random.default_rng(1)
    kinds = [
        LayPiece(f"p{k}", tuple(map(tuple, rng.uniform(0.7, 1.3, (8, 1)) * ring(8, 90 + 12 * k))), count=count // 5)
        for k in range(5)
    ]
    wanted = needed(kinds)
    area = sum(Polygon(p.outline).area * p.count for p in kinds)
    length = 2.2 * area / 1400 + 500
    raster = Raster(kinds, [cloth_of(1400, length)], 4.0, 2.0)
    order = by_size(kinds, wanted)
    spots = lay_in_order(raster, wanted, order, np.pi / 2)  # barriers are made once and kept
    assert len(spots) == count
    field, mask = (np.ones(m.shape, np.float32) for m in (raster.fits(0, 0), raster.stances[0].body))
    plain = best_of(lambda: fftconvolve(field, mask, mode="valid"))

    def work():
        return lay_in_order(raster, wanted, order, np.pi / 2)

    benchmark.pedantic(work, rounds=5, warmup_rounds=1)
    spent = best_of(work)
    benchmark.extra_info["ratio to fftconvolve, a piece"] = spent / plain / count
    benchmark.extra_info["ms"] = 1000 * spent
    assert spent / plain / count <= 1.5


def ring(n, radius):
    angle = np.arange(n) * 2 * np.pi / n
    return radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


@pytest.mark.parametrize("why", ["area", "single fit"])
def test_what_cannot_be_is_proved_fast(benchmark, why):
    """Reach: ≤ 0.2 s; as a ratio, no more than 400 times the union of the same outlines."""
    pieces, scraps = planted(3, scraps=2, pieces=9, utilisation=0.7)
    if why == "area":
        pieces = [LayPiece(p.name, p.outline, p.grain_deg, p.turns, count=2) for p in pieces]
    else:
        pieces = [*pieces, LayPiece("too long", ((0, 0), (2000, 0), (2000, 30), (0, 30)))]
    plain = best_of(lambda: shapely.union_all([Polygon(p.outline) for p in pieces]))

    def work():
        lay = lay_on_scraps(pieces, scraps, clearance_mm=2)
        assert lay.answer is Answer.NO
        return lay

    benchmark(work)
    spent = best_of(work)
    benchmark.extra_info["s"] = spent
    benchmark.extra_info["ratio to union_all"] = spent / plain
    assert spent / plain <= 1500


def test_the_exact_check(benchmark):
    """Against one STRtree query and one covers() a piece, the least that such a check can be."""
    pieces, scraps = planted(4, scraps=1, pieces=10, utilisation=0.7)
    lay = lay_on_scraps(pieces, scraps, clearance_mm=2)
    assert lay.answer is Answer.YES
    by_name, cloth = {p.name: p for p in pieces}, {s.name: s for s in scraps}
    shapes = [laid(by_name[p.piece], p) for p in lay.placements]
    area = Polygon(scraps[0].outline, scraps[0].holes)
    plain = best_of(
        lambda: (shapely.STRtree(shapes).query(shapes, predicate="intersects"), shapely.covers(area, shapes).all())
    )

    def work():
        return faults(by_name, cloth, lay.placements, clearance_mm=2)

    benchmark(work)
    ratio = best_of(work) / plain
    benchmark.extra_info["ratio to query and covers"] = ratio
    assert ratio <= 60
