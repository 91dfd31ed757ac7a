"""``mockup swatch``: what was found can be overridden, and pieces are kept as remnants."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from swatches.fabric_file import read_fabric
from swatches.photo import write_png
from swatches.samples.cupboard import SWATCHES

OAT = next(s.photo for s in SWATCHES if s.id == "oat")


def test_everything_can_be_overridden(mockup: Callable[..., Any], tmp_path: Path) -> None:
    plain = mockup("swatch", OAT, "--reference", "sheet", "--json").json
    ran = mockup(
        "swatch", OAT, "--reference", "sheet", "--bar", "98mm", "--kind", "stripe", "--repeat", "1.2 cm,0", "--pieces",
        "--out", tmp_path / "oat", "--json",
    ).json  # fmt: skip
    assert ran["kind"] == "stripe"
    assert ran["repeat_mm"] == [12.0, 0.0]
    assert ran["mm_per_px"] == pytest.approx(0.98 * plain["mm_per_px"], rel=1e-3)
    assert ran["scale_error_percent"] == 0.3
    assert ran["outline_area_mm2"] == pytest.approx(0.98**2 * plain["outline_area_mm2"], rel=0.01)
    fabric = read_fabric(tmp_path / "oat")
    (piece,) = fabric.remnants
    assert piece.name == "piece 1"
    x, y = zip(*piece.outline, strict=True)
    assert max(x) - min(x) == pytest.approx(150, abs=15)
    assert max(y) - min(y) == pytest.approx(160, abs=15)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--repeat", "12mm"), "two lengths"),
        (("--repeat", "wide,0"), "--repeat"),
        (("--corners", "1,2,3"), "8 numbers"),
        (("--outline", "10,20 30,40"), "three points or more"),
        (("--outline", "300,300,700,300,700,600", "--area", "300,300,400,300"), "one of the two"),
        (("--area", "300,300,400,300", "--pieces"), "go round it"),  # a box tells where the cloth is, not its outline
        (("--reference", "cards", "--distance", "1"), "distance between the cards"),
        (("--reference", "a4", "--paper-size", "1mm,2mm"), "size of the paper"),
        (("--kind", "glitter"), "glitter"),
    ],
)
def test_what_cannot_be_is_one_line(refused: Callable[..., str], arguments: tuple[str, ...], words: str) -> None:
    assert words in refused("swatch", OAT, *arguments)


def test_cloth_without_a_size_is_judged_in_words_and_gives_no_pieces(
    mockup: Callable[..., Any], refused: Callable[..., str], tmp_path: Path
) -> None:
    photo = tmp_path / "cloth.png"
    write_png(photo, np.full((160, 120, 3), (150, 60, 60), np.uint8))
    assert "measured in the photo" in refused("swatch", photo, "--pieces")
    said = mockup("swatch", photo).out.splitlines()[0]
    assert re.search(r"; its colour (may be|is) [a-z ]+ \(by \d+\.\d, as CIEDE2000 counts\)$", said), said
