"""Odd pictures through `regions`, `mask`, `recolour` and `photo`: taken with a note, or refused in a sentence."""

from __future__ import annotations

import io
import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw

from swatches.photo import png_bytes, read_photo

HEIC = Path(__file__).parents[1] / "reference" / "gradient.heic"
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="900" height="900">{}</svg>'
SIZE, GARMENT = (240, 200), (70, 40, 170, 160)


def saved(picture: Image.Image, kind: str, **options: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def scene(cloth: str = "#7a2230", ground: str = "#c9ccd2") -> Image.Image:
    """A garment on even ground, with noise, and an ink line round it, so that it is a drawing too."""
    picture = Image.new("RGB", SIZE, ground)
    ImageDraw.Draw(picture).rectangle(GARMENT, fill=cloth)
    noisy = np.asarray(picture, np.float64) + np.random.default_rng(0).normal(0, 3, (SIZE[1], SIZE[0], 3))
    return Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8))


def drawing() -> Image.Image:
    picture = Image.new("RGB", SIZE, "white")
    ImageDraw.Draw(picture).rectangle(GARMENT, outline="black", width=3)
    return picture


def clear(picture: Image.Image) -> Image.Image:
    """The picture with everything but the garment transparent."""
    share = Image.new("L", SIZE, 0)
    ImageDraw.Draw(share).rectangle(GARMENT, fill=255)
    return Image.merge("RGBA", (*picture.split(), share))


def sixteen(picture: Image.Image) -> bytes:
    return png_bytes(np.asarray(picture, np.uint16) * 257)


BOX = "60,30,120,140"
TAKEN = {
    "animated GIF": (lambda p: saved(p, "GIF", save_all=True, append_images=[p.rotate(180)]), "the first is used"),
    "animated WebP": (lambda p: saved(p, "WEBP", save_all=True, append_images=[p.rotate(180)]), "the first is used"),
    "printing inks": (lambda p: saved(p.convert("CMYK"), "JPEG", quality=95), "printing inks"),
    "16 bit": (sixteen, ""),
    "AVIF": (lambda p: saved(p, "AVIF", quality=90), ""),
}


@pytest.mark.parametrize("name", TAKEN)
def test_odd_files_are_read_and_noted(name: str, mockup: Callable[..., Any], tmp_path: Path) -> None:
    make, note = TAKEN[name]
    (tmp_path / "photo").write_bytes(make(scene()))
    (tmp_path / "drawing").write_bytes(make(drawing()))
    drawn = mockup("regions", tmp_path / "drawing", "--out", tmp_path / "areas", "--json").json
    cut = mockup("mask", tmp_path / "photo", "--box", BOX, "--out", tmp_path / "mask.png", "--json").json
    painted = mockup(
        "recolour", tmp_path / "photo", "--mask", tmp_path / "mask.png", "--fabric", "#22407a",
        "--out", tmp_path / "painted.png", "--json",
    ).json  # fmt: skip
    assert drawn["regions"] == 1
    left, top, right, bottom = GARMENT
    assert cut["share"] == pytest.approx((right - left + 1) * (bottom - top + 1) / (SIZE[0] * SIZE[1]), rel=0.03)
    r, _, b = read_photo(tmp_path / "painted.png").rgb8[100, 120]
    assert b > r + 40
    for answer in (drawn, cut, painted):
        told = [w for w in answer["warnings"] if "Everything is one area" not in w]
        assert [note in w for w in told] == [True] * bool(note), told


REFUSED = {
    "HEIC without a line": ("regions", HEIC.read_bytes(), "a blank picture"),
    "one pixel": ("mask", saved(Image.new("RGB", (1, 1)), "PNG"), "more than one pixel"),
    "a sliver": ("regions", saved(Image.new("RGB", (900, 20), "white"), "PNG"), "at least 32 × 32"),
    "half a JPEG": ("mask", saved(scene(), "JPEG")[:1500], "breaks off"),
    "wholly clear": ("mask", saved(Image.new("RGBA", SIZE, (0, 0, 0, 0)), "PNG"), "no garment found"),
    "nothing on it": ("photo", saved(Image.new("RGB", SIZE, "white"), "PNG"), "no garment found"),
    "a drawing as a photo": ("photo", SVG.format("").encode(), "a drawing in SVG"),
    "no numbers": ("regions", SVG.format('<path stroke="red" d="M0 0 L nan 5"/>').encode(), "got M0 0 L nan 5"),
    "far away": ("regions", SVG.format('<use href="http://example.org/a.svg#a"/>').encode(), "example.org/a.svg#a)"),
    "a mask in colour": ("recolour", saved(scene("#7a2230", "#22407a"), "PNG"), "a picture in colour"),
    "an empty mask": ("recolour", saved(Image.new("L", SIZE), "PNG"), "an empty mask"),
    "a small mask": ("recolour", saved(Image.new("L", (9, 9), 255), "PNG"), "the photo's size"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_odd_files_that_cannot_be_used(
    name: str, mockup: Callable[..., Any], refused: Callable[..., str], tmp_path: Path
) -> None:
    command, data, word = REFUSED[name]
    given, photo = tmp_path / "given", tmp_path / "photo.png"
    given.write_bytes(data)
    photo.write_bytes(saved(scene(), "PNG"))
    out = tmp_path / "out.png"
    if command == "photo":
        (tmp_path / "front.png").write_bytes(saved(drawing(), "PNG"))
        assert mockup("new", tmp_path / "p", "--front", tmp_path / "front.png").code == 0
    words = {
        "regions": (given, "--out", tmp_path / "out"),
        "mask": (given, "--box", BOX, "--out", out),
        "recolour": (photo, "--mask", given, "--fabric", "#22407a", "--out", out),
        "photo": (tmp_path / "p", given, "--box", BOX),
    }[command]
    said = refused(command, *words)
    assert word in said
    assert said.strip().endswith(".")


@pytest.mark.parametrize(
    "drawn",
    ["<path stroke='red' d='M0 0{}'/>".format("l1 1" * 400_000), "<polygon points='{}'/>".format("1 1 " * 400_000)],
    ids=["path", "polygon"],
)
def test_a_shape_of_too_many_points_is_refused_before_it_is_read(
    drawn: str, refused: Callable[..., str], tmp_path: Path
) -> None:
    (tmp_path / "long.svg").write_text(SVG.format(drawn), encoding="utf-8")
    before = time.process_time()
    assert "at most 60,000 points" in refused("regions", tmp_path / "long.svg", "--out", tmp_path / "out")
    assert time.process_time() - before < 2  # reading it takes 9 s


def test_a_cut_out_on_a_clear_ground_is_a_mask(mockup: Callable[..., Any], tmp_path: Path) -> None:
    """Other programs write the garment on a transparent ground; what is not clear is then the garment."""
    (tmp_path / "photo.png").write_bytes(saved(scene(), "PNG"))
    (tmp_path / "cut.png").write_bytes(saved(clear(scene()), "PNG"))
    out = tmp_path / "painted.png"
    ran = mockup(
        "recolour",
        tmp_path / "photo.png",
        "--mask",
        tmp_path / "cut.png",
        "--fabric",
        "#22407a",
        "--out",
        out,
        "--json",
    )
    assert json.loads(ran.out)["warnings"] == []
    before, after = (read_photo(p).rgb8.astype(int) for p in (tmp_path / "photo.png", out))
    assert np.array_equal(before[:, :60], after[:, :60])
    assert (after[60:140, 90:150, 2] > after[60:140, 90:150, 0] + 40).mean() > 0.99
