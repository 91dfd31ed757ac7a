"""What is wrong with a file or an option is said in a person's words, never in those of the library that met it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from mockup.samples import choir

MACHINE = re.compile(
    r"Expecting|codec|column \d|Input should|validation|_io|errno|dict|NoneType|\bchar\b|BytesIO|invalid start byte"
)
FILES = {
    "letter": b"dear choir",
    "bytes": b"\xff\xfe\x00\xd8",
    "empty": b"",
    "breaks off": b'{"format": "garment split", "version": 1',
    "number for a name": b'{"format": "garment split", "version": 1, "views": [{"name": 3}]}',
    "fabric": b'{"format": "fabric", "version": 1, "name": 4}',
    "list": b'[{"name": 3}]',
}


@pytest.mark.parametrize("name", FILES)
def test_files_are_refused_in_plain_words(name: str, refused: Callable[..., str], tmp_path: Path) -> None:
    path, photo, cloth = tmp_path / "given.json", tmp_path / "photo.png", tmp_path / "fabric.json"
    path.write_bytes(FILES[name])
    cloth.write_bytes(FILES[name])
    Image.new("RGB", (64, 64), (120, 60, 60)).save(photo)
    (tmp_path / "project").mkdir()
    (tmp_path / "project" / "project.json").write_bytes(FILES[name])
    for arguments in (
        ("lay", path, "--width", "140cm", "--time", "0"),
        ("lay", choir.PIECES, "--scraps", path, "--time", "0"),
        ("cut", choir.PIECES, "--split", path),
        ("handout", path, "--out", tmp_path / "h.pdf"),
        ("poll", "count", path),
        ("recolour", photo, "--mask", photo, "--fabric", cloth, "--out", tmp_path / "o.png"),
        ("panels", tmp_path / "project"),
        ("mask", photo, "--around", path, "--out", tmp_path / "m.png"),
        ("new", tmp_path / "tunic", "--front", path),
    ):
        said = refused(*arguments)
        assert not MACHINE.search(said), said
        assert "expected" in said, said


def test_a_picture_is_no_pattern_piece(refused: Callable[..., str], tmp_path: Path) -> None:
    Image.new("RGB", (300, 300), (250, 250, 250)).save(tmp_path / "front.png")
    for arguments in (
        ("cut", tmp_path / "front.png", "--line", "M 0 0 L 9 9"),
        ("print", tmp_path / "front.png", "--out", tmp_path / "p.pdf"),
        ("order", tmp_path / "front.png"),
        ("lay", tmp_path / "front.png", "--width", "140cm"),
    ):
        assert "got a picture" in refused(*arguments)


def test_limits_and_lengths_that_cannot_be_meant(refused: Callable[..., str], tmp_path: Path) -> None:
    from mockup.checks.limits import limits
    from swatches.errors import InputError

    with pytest.raises(InputError, match="such as weight-ratio, got 'weight-ration'"):
        limits({"weight-ration": 2.0})
    with pytest.raises(InputError, match="a number above 0"):
        limits({"weight-ratio": -2.0})
    assert "at most 20 cm" in refused("pieces", "read", choir.PIECES, "--line-is", "cut", "--allowance", "50cm")
    assert "at most 20 cm" in refused("pieces", "read", choir.PIECES, "--allowance-of", "front:hem=3 yd")
    assert "at most 20 cm" in refused("cut", choir.PIECES, "--line", "M 0 0 L 9 9", "--allowance", "5 m")


def test_options_that_do_not_go_together(refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "s.json").write_text("[]", encoding="utf-8")
    said = refused("lay", choir.PIECES, "--width", "140cm", "--scraps", tmp_path / "s.json")
    assert "Keep one of them" in said
    assert "whose choices have letters" in refused(
        "handout", tmp_path / "s.json", "--choice", "A", "--out", tmp_path / "h.pdf"
    )


def test_a_cloth_is_shown_as_it_would_be_written_down(mockup: Callable[..., Any], tmp_path: Path) -> None:
    data = ("--data", tmp_path / "stash")
    mockup("stash", "add", "#c79a3b", "--name", "ochre", *data)
    mockup("stash", "edit", "ochre", "weight=180", "length_left=2 1/2 yd", "nap=no", "fibre=80 % cotton, 20 % linen",
           "care.wash=40 °C", "faces_alike=yes", *data)  # fmt: skip
    said = mockup("stash", "show", "ochre", *data).out
    assert "length left: 228.6 cm" in said  # 2.5 × 914.4 mm, exact by definition
    for words in ("weight: 180 g/m²", "one-way cloth: no", "fibre: 80 % cotton, 20 % linen", "care: wash: 40 °C"):
        assert words in said
    assert "thickness" in said.partition("Not known: ")[2]
    assert not re.search(r"None|True|False|[{}]|_", said), said
    assert "2.19 m are left" in mockup("stash", "use", "ochre", "--length", "10cm", *data).out


def test_what_is_not_known_of_a_cloth_is_one_line_with_ways_to_find_out() -> None:
    from mockup.checks.finding import Finding, Grade, Place
    from mockup.checks.spoken import spoken
    from ui.commands.check import _said

    def silent(what: str, about: str) -> Finding:
        place = Place("panel 1")
        return Finding(what, Grade.CANNOT_TELL, place, "", "", "", f"Look at {what}.", about=about, missing=what)

    lines = [_said(x) for x in spoken([silent("weight", "oat"), silent("bulk", "oat"), silent("weight", "ochre")])]
    assert len(lines) == 2
    assert "Oat: weight and bulk are not known" in lines[0]
    assert lines[0].splitlines()[1:] == [" " * 15 + "Weight: Look at weight.", " " * 15 + "Bulk: Look at bulk."]
    assert not any("Open this" in line for line in lines)


def test_votes_are_counted_in_words(mockup: Callable[..., Any]) -> None:
    assert mockup("poll", "count", "--totals", "A=1").out.startswith("1 vote\n")
    assert mockup("poll", "count", "--totals", "A=1,B=1").out.startswith("2 votes\n")


def test_distances_are_said_as_a_tape_tells_them() -> None:
    from ui.commands.lines import _distance

    for end, said in (
        ({"text": "", "distance_mm": 165.001}, "165 mm"),
        ({"text": "165.001 mm", "distance_mm": 165.001}, "165 mm"),
        ({"text": "4 1/2 in", "distance_mm": 114.3}, "4 1/2 in"),
    ):
        assert _distance(end) == said


def test_a_cloth_that_nobody_measured_is_no_proof_that_a_line_cannot_move() -> None:
    from dataclasses import replace

    from mockup.colourways.colourway import Colourway
    from mockup.journey import plain_fabric
    from mockup.project import Project
    from swatches.errors import InputError
    from swatches.fabric import Known, Origin
    from ui.commands.from_stash import _amounts_known

    oat = plain_fabric("#cbb592", "oat")
    project = Project("p", fabrics=(oat,), colourways=(Colourway("A", "", {"front-1": oat.id}),))
    with pytest.raises(InputError, match="nothing written down of 'oat'"):
        _amounts_known(project, "A", roll=True)
    amount = {"usable_width": Known(1400.0, "mm", Origin.MEASURED), "length_left": Known(2000.0, "mm", Origin.MEASURED)}
    measured = replace(project, fabrics=(replace(oat, **amount),))
    _amounts_known(measured, "A", roll=True)
    with pytest.raises(InputError, match="remnants of each cloth"):
        _amounts_known(measured, "A", roll=False)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("panels", "nix"), "PROJECT: there is nothing called 'nix'."),
        (("cut", "."), "PIECES: a file is expected, and '.' is a folder."),
        (("suggest", ".", "--take", "99"), "--take: expected from 1 to 24, got 99."),
        (("suggest", ".", "--count", "x"), "expected a number, got 'x'."),
        (("lay", choir.PIECES, "--width", "99999999m"), "at most 1000 cm"),
        (("walk", choir.PIECES, "--nix"), "No such option '--nix'."),
    ],
)
def test_wrong_usage_is_said_in_plain_words(refused: Callable[..., str], arguments: tuple[Any, ...], said: str) -> None:
    assert said in refused(*arguments)
