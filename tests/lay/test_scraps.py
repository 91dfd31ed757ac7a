"""Lays on remnants: three honest answers, each with what proves it."""

from __future__ import annotations

import time

import pytest
import shapely
from planted import planted
from shapely.geometry import Polygon

from mockup.lay.exact import faults
from mockup.lay.lay import Answer, Lay, LayPiece, Scrap, laid, missing
from mockup.lay.proofs import fits_nowhere
from mockup.lay.scraps import lay_on_scraps
from swatches.errors import Cancelled, InputError

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def verified(pieces: list[LayPiece], scraps: list[Scrap], lay: Lay, clearance: float = 0, border: float = 0) -> None:
    by_name, cloth = {p.name: p for p in pieces}, {s.name: s for s in scraps}
    assert faults(by_name, cloth, lay.placements, clearance_mm=clearance, border_mm=border) == []
    # and once more without our own check: shapely alone
    for placement in lay.placements:
        scrap = cloth[placement.remnant]
        area = Polygon(scrap.outline, scrap.holes)
        assert laid(by_name[placement.piece], placement).difference(area).area < 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_planted_instances_at_70_percent_are_laid(seed: int) -> None:
    pieces, scraps = planted(seed, scraps=1 + seed % 2, pieces=4 + 2 * seed, utilisation=0.70)
    lay = lay_on_scraps(pieces, scraps, clearance_mm=2, time_s=60)  # it takes one or two; a busy machine gets its time
    assert lay.answer is Answer.YES
    assert missing(pieces, lay.placements) == ()
    assert lay.density == pytest.approx(0.70, abs=0.01)
    verified(pieces, scraps, lay, clearance=2)


@pytest.mark.slow
@pytest.mark.parametrize(("utilisation", "seconds", "solved"), [(0.70, 10, 0.95), (0.77, 60, 0.60)])
def test_planted_instances_reach(utilisation: float, seconds: float, solved: float) -> None:
    answers = []
    for seed in range(40):
        pieces, scraps = planted(1000 + seed, scraps=1 + seed % 2, pieces=4 + seed % 9, utilisation=utilisation)
        lay = lay_on_scraps(pieces, scraps, clearance_mm=2, time_s=seconds)
        verified(pieces, scraps, lay, clearance=2)
        answers.append(lay.answer is Answer.YES)
    assert sum(answers) >= solved * len(answers)


def test_too_little_cloth_is_proved_by_area_and_fast() -> None:
    pieces, scraps = planted(3, scraps=2, pieces=9, utilisation=0.7)
    pieces = [LayPiece(p.name, p.outline, p.grain_deg, p.turns, count=2) for p in pieces]
    begin = time.process_time()
    lay = lay_on_scraps(pieces, scraps)
    assert lay.answer is Answer.NO
    assert "cm²" in lay.proof
    assert time.process_time() - begin < 2.0  # the bench holds it to 0.2 s; this only sees that nothing was searched


def test_a_piece_that_fits_nowhere_is_named() -> None:
    # 100 mm square on grain, on a disc-like scrap of 130 mm: its diagonal is 141.4 mm (derived)
    disc = Polygon(SQUARE).centroid.buffer(65, quad_segs=32)
    scrap = Scrap("round", tuple(disc.exterior.coords[:-1]))
    lay = lay_on_scraps([LayPiece("pocket", SQUARE), LayPiece("tab", ((0, 0), (20, 0), (20, 20)))], [scrap])
    assert lay.answer is Answer.NO
    assert "pocket" in lay.proof
    wider = Polygon(SQUARE).centroid.buffer(72, quad_segs=32)
    scrap = Scrap("round", tuple(wider.exterior.coords[:-1]))
    assert lay_on_scraps([LayPiece("pocket", SQUARE)], [scrap], time_s=2).answer is Answer.YES


def rectangle(width: float, height: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


class Told:
    """A job that counts what it is told."""

    cancelled = False
    steps = 0

    def step(self, text: str, done: float | None = None) -> None:
        self.steps += 1


@pytest.mark.parametrize(
    ("count", "room", "clearance", "border"),
    [(1, (100, 100), 0, 0), (2, (200, 100), 0, 0), (2, (202, 100), 2, 0), (2, (212, 110), 2, 5), (3, (320, 106), 7, 3)],
)
def test_what_just_fits_is_found(count: int, room: tuple[float, float], clearance: float, border: float) -> None:
    pieces, scraps = [LayPiece("square", SQUARE, count=count)], [Scrap("room", rectangle(*room))]
    told = Told()
    lay = lay_on_scraps(pieces, scraps, clearance_mm=clearance, border_mm=border, time_s=60, job=told)
    assert lay.answer is Answer.YES
    verified(pieces, scraps, lay, clearance, border)
    assert told.steps < 20  # cells with room for no more are given up at once, not tried for a share of the time


def test_what_is_a_tenth_of_a_millimetre_too_large_is_proved() -> None:
    for outline in (rectangle(100.1, 100), rectangle(100, 100.1)):
        lay = lay_on_scraps([LayPiece("p", outline)], [Scrap("room", SQUARE)], time_s=2)
        assert lay.answer is Answer.NO


@pytest.mark.parametrize("gap", [0.05, 0.5, 3.0])
def test_no_proof_is_given_for_a_piece_that_does_fit(gap: float) -> None:
    scrap = Scrap("s", ((0, 0), (100 + gap, 0), (100 + gap, 100 + gap), (0, 100 + gap)))
    assert fits_nowhere([LayPiece("p", SQUARE)], [scrap], border_mm=0)[0] == ""


def test_not_found_gives_the_best_partial_and_the_missing_mm() -> None:
    # rooms of 104 and of 90 mm, and a tail that has area enough to forbid the proof; the second square of 100 mm needs
    # 10 mm more in both directions, that is 5 mm all round (derived)
    rooms = shapely.union_all(
        [
            shapely.box(0, 0, 104, 104),
            shapely.box(114, 0, 204, 90),
            shapely.box(104, 0, 114, 10),
            shapely.box(204, 0, 604, 10),
        ]
    )
    scrap = Scrap("two rooms", tuple(rooms.exterior.coords[:-1]))
    lay = lay_on_scraps([LayPiece("square", SQUARE, count=2)], [scrap], time_s=1)
    assert lay.answer is Answer.NOT_FOUND
    assert len(lay.placements) == 1
    assert lay.short_mm == pytest.approx(5.0 + 0.7, abs=0.8)  # rounded up by its cells
    verified([LayPiece("square", SQUARE, count=2)], [scrap], lay)


def test_one_way_cloth_turns_no_piece_upside_down() -> None:
    wedge = ((0.0, 0.0), (100.0, 0.0), (50.0, 100.0))
    scrap = Scrap("s", ((0, 0), (320, 0), (320, 120), (0, 120)), grain_deg=0, nap=True)
    lay = lay_on_scraps([LayPiece("wedge", wedge, count=3)], [scrap], time_s=2)
    assert lay.answer is Answer.YES
    assert {p.angle for p in lay.placements} == {0.0}


@pytest.mark.parametrize(
    ("clearance", "border", "word"), [(-1, 0, "clearance"), (0, -2, "border"), (101, 0, "clearance")]
)
def test_distances_that_make_no_sense_are_refused(clearance: float, border: float, word: str) -> None:
    scrap = Scrap("s", ((0, 0), (320, 0), (320, 120), (0, 120)))
    with pytest.raises(InputError, match=word):
        lay_on_scraps([LayPiece("p", SQUARE)], [scrap], clearance_mm=clearance, border_mm=border)


def test_cancelling_stops_the_search() -> None:
    class Stop:
        cancelled = False

        def step(self, text: str, done: float | None = None) -> None:
            self.cancelled = True

    pieces, scraps = planted(3, scraps=1, pieces=8, utilisation=0.8)
    with pytest.raises(Cancelled):
        lay_on_scraps(pieces, scraps, time_s=60, job=Stop())
