"""What cannot be used is said in one sentence, with exit 2, and nothing is left half-written."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

RECTANGLE = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">{}</svg>'
OUTLINE = '<path d="M0 0H200V300H0Z"/>'


def png(size: tuple[int, int], colour: int = 255) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (colour,) * 3).save(out, "PNG")
    return out.getvalue()


def huge_png(width: int, height: int) -> bytes:
    """A valid one-bit PNG of that size whose file is small."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(9)
    row = b"\0" * (1 + (width + 7) // 8)
    data = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def drawing() -> bytes:
    picture = Image.new("L", (300, 300), 255)
    ImageDraw.Draw(picture).rectangle((60, 60, 240, 240), outline=0, width=4)
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


PICTURES = {
    "not an image": (b"this is a letter, not a picture", "picture"),
    "empty": (b"", "empty"),
    "one pixel": (png((1, 1)), "1"),
    "200 megapixels": (huge_png(20_000, 10_000), "20000"),
    "truncated": (drawing()[:-60], "cut off"),
}


@pytest.mark.parametrize("name", PICTURES)
def test_pictures_that_cannot_be_used(name: str, refused: Callable[..., str], tmp_path: Path) -> None:
    data, _ = PICTURES[name]
    path = tmp_path / "given.png"
    path.write_bytes(data)
    out = tmp_path / "out"
    for arguments in (
        ("regions", path, "--out", out),
        ("new", tmp_path / "project", "--front", path),
        ("swatch", path, "--reference", "sheet", "--out", out),
        ("mask", path, "--box", "0,0,100,100", "--out", tmp_path / "mask.png"),
        ("recolour", path, "--mask", path, "--fabric", "#336699", "--out", tmp_path / "painted.png"),
    ):
        refused(*arguments)


SVGS = {
    "doctype": '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x.dtd">' + RECTANGLE.format(OUTLINE),
    "entities": '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">]>' + RECTANGLE.format(OUTLINE + "&b;"),
    "outside file": '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>' + RECTANGLE.format("&x;" + OUTLINE),
    "script": RECTANGLE.format("<script>alert(1)</script>" + OUTLINE),
    "handler": RECTANGLE.format('<path d="M0 0H200V300H0Z" onclick="alert(1)"/>'),
    "no xml": "<svg",
    "empty drawing": RECTANGLE.format(""),
}


@pytest.mark.parametrize("name", SVGS)
def test_svg_files_of_strangers(name: str, refused: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / "given.svg"
    path.write_text(SVGS[name], encoding="utf-8")
    refused("pieces", "read", path)
    refused("cut", path, "--line", "M -10 150 L 210 150", "--out", tmp_path / "out")
    refused("regions", path, "--out", tmp_path / "out")
    refused("new", tmp_path / "project", "--front", path)


def test_a_drawing_without_a_closed_area(refused: Callable[..., str], tmp_path: Path) -> None:
    picture = Image.new("L", (300, 300), 255)
    ImageDraw.Draw(picture).line((30, 40, 250, 260), fill=0, width=4)
    picture.save(tmp_path / "open.png")
    assert "closed" in refused("regions", tmp_path / "open.png", "--out", tmp_path / "out")


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("M 300 0 L 300 400", "crosses nothing"),
        ("M 0 -10 L 0 310", "along an edge"),
        ("M 20 20 L 60 90", "inside"),
        ("M 0 0", "line"),
        ("no path", "path"),
        ("M -10 nan L 210 150", "path"),
    ],
)
def test_lines_that_cut_nothing(line: str, word: str, refused: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / "given.svg"
    path.write_text(RECTANGLE.format(OUTLINE), encoding="utf-8")
    assert word in refused("cut", path, "--line", line, "--out", tmp_path / "out")


@pytest.mark.parametrize("allowance", ["-15mm", "15 furlongs", "", "1/0 in", "1e400", "nan"])
def test_allowances_that_are_none(allowance: str, refused: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / "given.svg"
    path.write_text(RECTANGLE.format(OUTLINE), encoding="utf-8")
    message = refused("cut", path, "--line", "M -10 150 L 210 150", "--allowance", allowance, "--out", tmp_path / "out")
    assert "--allowance" in message


def test_a_folder_that_cannot_be_written(refused: Callable[..., str], tmp_path: Path) -> None:
    given, drawn, file = tmp_path / "given.svg", tmp_path / "drawn.png", tmp_path / "file"
    given.write_text(RECTANGLE.format(OUTLINE), encoding="utf-8")
    drawn.write_bytes(drawing())
    file.write_text("in the way", encoding="utf-8")
    inside = file / "out"
    for arguments in (
        ("cut", given, "--line", "M -10 150 L 210 150", "--out", inside),
        ("regions", drawn, "--out", inside),
        ("new", inside, "--front", drawn),
        ("demo", "--out", inside),
        ("print", given, "--out", inside / "p.pdf"),
        ("unfold", given, "--out", inside / "u.svg"),
        ("swatch", "--sheet", "A4", "--out", inside / "sheet.pdf"),
        ("lay", given, "--width", "140cm", "--time", "0", "--out", inside),
    ):
        assert "can be written" in refused(*arguments)


def test_both_or_neither_of_two_ways(refused: Callable[..., str], tmp_path: Path) -> None:
    given = tmp_path / "given.svg"
    given.write_text(RECTANGLE.format(OUTLINE), encoding="utf-8")
    assert "--split or --line" in refused("cut", given)
    assert "--width or --scraps" in refused("lay", given)
    drawn = tmp_path / "drawn.png"
    drawn.write_bytes(drawing())
    assert "--around, --box" in refused("mask", drawn, "--out", tmp_path / "m.png")
    refused("swatch")


@pytest.mark.parametrize("measure", ["front", "front:hem", "front=680mm", "front:centre-front=68 parsec", "x:hem=1m"])
def test_measures_that_are_none(measure: str, refused: Callable[..., str], tmp_path: Path) -> None:
    drawn = tmp_path / "drawn.png"
    drawn.write_bytes(drawing())
    refused("new", tmp_path / "project", "--front", drawn, "--measure", measure)


PIECES = {
    "no json": "x",
    "no list": "{}",
    "no outline": '[{"name": "a"}]',
    "crossing": '[{"name": "a", "outline": [[0, 0], [10, 10], [10, 0], [0, 10]]}]',
    "no area": '[{"name": "a", "outline": [[0, 0], [10, 10], [20, 20]]}]',
    "not a number": '[{"name": "a", "outline": [[0, 0], [10, 0], [NaN, 10]]}]',
    "unknown key": '[{"name": "a", "outline": [[0, 0], [10, 0], [10, 10]], "colour": 1}]',
    "count": '[{"name": "a", "outline": [[0, 0], [10, 0], [10, 10]], "count": 0}]',
    "twice": '[{"name": "a", "outline": [[0, 0], [9, 0], [9, 9]]}, {"name": "a", "outline": [[0, 0], [9, 0], [9, 9]]}]',
    "none": "[]",
}
SCRAPS = {
    "grain unknown": '[{"name": "s", "outline": [[0, 0], [99, 0], [99, 99]], "grain_deg": null}]',
    "crossing": '[{"name": "s", "outline": [[0, 0], [10, 10], [10, 0], [0, 10]]}]',
    "all hole": '[{"name": "s", "outline": [[0, 0], [9, 0], [9, 9]], "holes": [[[-1, -1], [99, -1], [99, 99]]]}]',
    "none": "[]",
}
GOOD = '[{"name": "a", "outline": [[0, 0], [10, 0], [10, 10]]}]'


@pytest.mark.parametrize("name", PIECES)
def test_pieces_that_cannot_be_laid(name: str, refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "p.json").write_text(PIECES[name], encoding="utf-8")
    refused("lay", tmp_path / "p.json", "--width", "140cm", "--time", "0", "--json")


@pytest.mark.parametrize("name", SCRAPS)
def test_scraps_that_cannot_be_laid_on(name: str, refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "p.json").write_text(GOOD, encoding="utf-8")
    (tmp_path / "s.json").write_text(SCRAPS[name], encoding="utf-8")
    refused("lay", tmp_path / "p.json", "--scraps", tmp_path / "s.json", "--time", "1", "--json")


def test_a_clearance_larger_than_the_piece(refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "p.json").write_text(GOOD, encoding="utf-8")
    (tmp_path / "s.json").write_text('[{"name": "s", "outline": [[0, 0], [99, 0], [99, 99]]}]', encoding="utf-8")
    for cloth in (("--scraps", tmp_path / "s.json"), ("--width", "100mm")):
        assert "clearance" in refused("lay", tmp_path / "p.json", *cloth, "--clearance", "50mm", "--time", "1")


def test_masks_of_another_size(refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "photo.png").write_bytes(png((64, 64), 90))
    (tmp_path / "mask.png").write_bytes(png((32, 64)))
    message = refused(
        "recolour", tmp_path / "photo.png", "--mask", tmp_path / "mask.png", "--fabric", "#336699",
        "--out", tmp_path / "painted.png",
    )  # fmt: skip
    assert "64 × 64" in message


def test_colours_and_points_that_are_none(refused: Callable[..., str], tmp_path: Path) -> None:
    photo, points = tmp_path / "photo.png", tmp_path / "points.json"
    photo.write_bytes(png((64, 64), 90))
    points.write_text("[[1, 2], [3]]", encoding="utf-8")
    out = tmp_path / "out.png"
    refused("recolour", photo, "--mask", photo, "--fabric", "#zz0000", "--out", out)
    refused("recolour", photo, "--mask", photo, "--fabric", tmp_path / "missing.json", "--out", out)
    refused("recolour", photo, "--mask", photo, "--fabric", "#336699", "--out", tmp_path / "out.bmp")
    refused("mask", photo, "--around", points, "--out", out)
    refused("mask", photo, "--box", "1,2,3", "--out", out)
    refused("swatch", photo, "--reference", "coin")


def test_projects_that_are_none(refused: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "p").mkdir()
    for arguments in (("panels",), ("line", "list"), ("split",), ("paint", "--out", tmp_path / "x.png")):
        words = [a for a in arguments if isinstance(a, str) and not a.startswith("-")]
        rest = arguments[len(words) :]
        refused(*words, tmp_path / "p", *rest)
    (tmp_path / "p" / "project.json").write_text('{"format": "something else"}', encoding="utf-8")
    refused("panels", tmp_path / "p")
