"""What is wrong with a file or an option is said in a person's words, never in those of the library that met it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

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
