"""Lays on a width: exact, on the grain, and near the best that the literature knows."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from mockup.lay import strip
from mockup.lay.exact import faults
from mockup.lay.lay import Answer, Lay, LayPiece, Scrap, missing
from mockup.lay.rows import CLOTH, simple_lay
from mockup.lay.strip import lay_on_width
from swatches.errors import Cancelled, InputError

L_SHAPE = ((0.0, 0.0), (150.0, 0.0), (150.0, 40.0), (50.0, 40.0), (50.0, 200.0), (0.0, 200.0))
YOKE = ((0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (150.0, 90.0), (0.0, 120.0))
PIECES = (
    LayPiece("yoke", YOKE, count=2, mirror=True),
    LayPiece("pocket", L_SHAPE, count=4, mirror=True, grain_deg=10.0),
)
# best known densities of the ESICUP instances
BEST_KNOWN = {"shirts": 0.9092, "dagli": 0.9017, "marques": 0.9201}
INSTANCES = Path(__file__).parents[3] / "shared" / "data" / "nesting"


def exactly_right(
    pieces: tuple[LayPiece, ...], lay: Lay, width: float, clearance: float = 0, border: float = 0, nap: bool = False
) -> bool:
    assert lay.answer is Answer.YES
    assert lay.length_mm is not None
    cloth = Scrap(CLOTH, ((0, 0), (width, 0), (width, lay.length_mm), (0, lay.length_mm)), nap=nap)
    found = faults(
        {p.name: p for p in pieces}, {CLOTH: cloth}, lay.placements, clearance_mm=clearance, border_mm=border
    )
    assert found == []
    assert missing(pieces, lay.placements) == ()
    return True


@pytest.mark.parametrize(("clearance", "border", "nap"), [(0, 0, False), (2, 5, False), (3.5, 0, True), (0, 12, True)])
def test_the_simple_lay_is_exact_and_the_same_every_time(clearance: float, border: float, nap: bool) -> None:
    lays = [simple_lay(PIECES, 600, clearance_mm=clearance, border_mm=border, nap=nap, tries=6) for _ in range(2)]
    assert lays[0] is not None
    assert lays[0] == lays[1]
    assert exactly_right(PIECES, lays[0], 600, clearance, border, nap)
    assert lays[0].density is not None
    assert 0.4 < lays[0].density < 1


def test_the_solvers_lay_is_exact_and_no_longer_than_the_simple_one() -> None:
    found = lay_on_width(PIECES, 600, clearance_mm=2, border_mm=5, time_s=2)
    simple = simple_lay(PIECES, 600, clearance_mm=2, border_mm=5)
    assert isinstance(found, Lay)
    assert simple is not None
    assert exactly_right(PIECES, found, 600, 2, 5)
    assert found.length_mm is not None
    assert simple.length_mm is not None
    assert found.length_mm <= simple.length_mm + 1e-6
    assert "fault" not in found.proof


def test_a_rectangle_that_fills_the_width_needs_its_own_length() -> None:
    found = simple_lay([LayPiece("band", ((0, 0), (600, 0), (600, 80), (0, 80)))], 600.0 + 4)
    assert found is not None
    assert found.length_mm == pytest.approx(80, abs=1e-6)


def test_a_piece_wider_than_the_cloth_is_a_no_with_the_missing_mm() -> None:
    found = lay_on_width(PIECES, 290, border_mm=5)
    assert isinstance(found, Lay)
    assert found.answer is Answer.NO
    assert found.short_mm == pytest.approx(20)
    assert "yoke" in found.proof


@pytest.mark.parametrize(
    ("width", "clearance", "border", "word"),
    [(0, 0, 0, "width"), (600, -1, 0, "clearance"), (600, 0, 300, "border"), (float("nan"), 0, 0, "width")],
)
def test_lengths_that_make_no_sense_are_refused(width: float, clearance: float, border: float, word: str) -> None:
    with pytest.raises(InputError, match=word):
        lay_on_width(PIECES, width, clearance_mm=clearance, border_mm=border)


def test_a_solver_that_crashes_is_said_and_a_simpler_lay_stands_in(monkeypatch: pytest.MonkeyPatch) -> None:
    real = subprocess.Popen

    def crashing(command: list[str], **options: object) -> object:
        return real([sys.executable, "-c", "import os; os.abort()"], **options)  # type: ignore[call-overload]

    monkeypatch.setattr(strip.subprocess, "Popen", crashing)
    found = lay_on_width(PIECES, 600, time_s=1)
    assert isinstance(found, Lay)
    assert "stopped with a fault" in found.proof
    assert exactly_right(PIECES, found, 600)


def test_cancelling_stops_the_solver_at_once() -> None:
    class Stop:
        cancelled = False

        def step(self, text: str, done: float | None = None) -> None:
            if "so far" in text:
                self.cancelled = True

    before = {t.name for t in threading.enumerate()}
    begin = time.monotonic()
    with pytest.raises(Cancelled):
        lay_on_width(PIECES, 600, time_s=30, job=Stop())
    assert time.monotonic() - begin < 15, "cancelled, yet it ran to the end"
    assert {t.name for t in threading.enumerate()} == before


def literature(name: str) -> tuple[tuple[LayPiece, ...], float]:
    path = INSTANCES / f"{name}.json"
    if not path.exists():
        pytest.skip("the literature's instances are not beside this checkout")
    data = json.loads(path.read_text())
    pieces = []
    for item in data["items"]:
        ring = [tuple(p) for p in item["shape"]["data"]]
        ring = ring[:-1] if ring[0] == ring[-1] else ring
        # the instances' strips run along +x, ours along +y: their pieces' grain is +x
        turns = tuple(item["allowed_orientations"])
        pieces.append(LayPiece(str(item["id"]), tuple(ring), grain_deg=-90.0, turns=turns, count=item["demand"]))
    return tuple(pieces), data["strip_height"]


@pytest.mark.slow
@pytest.mark.parametrize("name", BEST_KNOWN)
def test_sixty_seconds_reach_93_percent_of_the_best_known_density(name: str) -> None:
    pieces, width = literature(name)
    found = lay_on_width(pieces, width, time_s=60)
    assert isinstance(found, Lay)
    assert exactly_right(pieces, found, width)
    area = sum(abs(_shoelace(p.outline)) * p.count for p in pieces)
    assert found.density == pytest.approx(area / width / (found.length_mm or np.nan))
    assert found.density >= 0.93 * BEST_KNOWN[name]


def _shoelace(outline: tuple[tuple[float, float], ...]) -> float:
    x, y = np.array(outline).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
