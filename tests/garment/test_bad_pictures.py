"""Pictures that cannot be used, or hardly: one clear sentence for each."""

import io
import re

import cv2
import numpy as np
import pytest
from PIL import Image
from random_drawings import random_drawing
from rendered import loose_outline, rendered

from mockup import journey
from mockup.garment import svg_lines
from mockup.project import Project
from swatches.errors import PictureError
from swatches.photo import png_bytes

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="900" height="900">'
WHITE = np.full((300, 300, 3), 255, np.uint8)
ROUND = [(50, 50), (250, 50), (250, 250), (50, 250)]


def laid(folder, picture):
    """Warnings about a drawing that is laid in."""
    (folder / "pictures").mkdir(exist_ok=True)
    warnings = []
    data = picture if isinstance(picture, bytes) else png_bytes(picture)
    journey.put_drawing(folder, Project("x"), side="front", picture=data, warnings=warnings)
    return warnings


def cut(folder, picture, **given):
    """Warnings about a photo that is cut out."""
    (folder / "pictures").mkdir(exist_ok=True)
    warnings = []
    data = picture if isinstance(picture, bytes) else png_bytes(picture)
    journey.put_photo(folder, Project("x"), data, warnings=warnings, **given)
    return warnings


def one_sentence(error):
    """Says what was expected and what to do next, on one line."""
    text = str(error.value)
    assert "\n" not in text
    assert re.fullmatch(r"[^:]+: expected .+, got .+\. [A-Z].+\.", text), text
    return text


@pytest.mark.parametrize(
    ("picture", "word"),
    [
        (WHITE, "blank picture"),
        (np.zeros((300, 300, 3), np.uint8), "blank picture"),
        (np.zeros((300, 300, 4), np.uint8), "blank picture"),  # wholly transparent
        (WHITE[:8, :8], "32 × 32"),
        (b"hello", "no picture"),
        (SVG + b'<path d="M0 0h1"/>' * 700_000 + b"</svg>", "at most 12 MB"),
        (SVG + b'<path d="M0 0h1"/>' * 501 + b"</svg>", "at most 500 elements"),
        (SVG.replace(b"900", b"99999999", 1) + b'<path d="M0 0h1"/></svg>', "width and a height"),
        (SVG + b'<use xlink:href="http://example.org/x.svg#a"/></svg>', "outside the file"),
        (SVG + b'<use href="other.svg#a"/></svg>', "outside the file"),
        (SVG + b'<style>@import url("x.css");</style></svg>', "outside the file"),
        (SVG + b'<image href="data:image/png;base64,AAAA"/></svg>', "<image>"),
    ],
    ids=["white", "black", "transparent", "tiny", "text", "huge file", "huge tree", "huge size", "far", "near", "style",
         "picture"],
)  # fmt: skip
def test_drawings_that_cannot_be_used(tmp_path, picture, word, monkeypatch):
    assert svg_lines.MAX_ELEMENTS == 20_000
    monkeypatch.setattr(svg_lines, "MAX_ELEMENTS", 500)  # so many are walked through before the limit is met
    with pytest.raises(PictureError) as error:
        laid(tmp_path, picture)
    assert word in one_sentence(error)


def test_nothing_outside_an_svg_is_fetched(tmp_path, monkeypatch):
    """A refused file opens no connection."""

    def refuse(*_args, **_kw):
        raise AssertionError("a connection was tried")

    monkeypatch.setattr("socket.socket.connect", refuse)
    with pytest.raises(PictureError, match="outside the file"):
        laid(tmp_path, SVG + b'<path d="M0 0h9" style="filter:url(http://example.org/f.svg#a)"/></svg>')


@pytest.mark.parametrize(
    ("picture", "given", "word"),
    [
        (WHITE, {}, "no garment found"),
        (WHITE, {"around": ROUND}, "no garment found"),
        (np.zeros((300, 300, 4), np.uint8), {}, "wholly transparent"),
        (WHITE, {"box": (400, 400, 50, 50)}, "misses it"),
    ],
    ids=["empty", "empty, drawn round", "transparent", "box beside it"],
)
def test_photos_that_cannot_be_used(tmp_path, picture, given, word):
    with pytest.raises(PictureError) as error:
        cut(tmp_path, picture, **given)
    assert word in one_sentence(error)


def test_everything_one_area(tmp_path):
    picture = np.full((300, 300, 3), 255, np.uint8)
    cv2.rectangle(picture, (60, 45), (240, 255), (0, 0, 0), 3)
    (told,) = [w for w in laid(tmp_path, picture) if "Everything is one area" in w]
    assert "'The areas in the picture'" in told, "where it is done on the page"
    assert "'mockup area read' with --gap" in told


def test_photographed_sideways(tmp_path):
    tee = random_drawing(16, kind="tee", side="front", size=600)
    assert any("lie on its side" in w for w in laid(tmp_path, np.ascontiguousarray(np.rot90(tee.picture))))
    scene = rendered(20, size=400)
    ring = loose_outline(scene, np.random.default_rng(0))
    turned = [(float(y), scene.photo.shape[1] - float(x)) for x, y in ring]
    said = cut(tmp_path, np.ascontiguousarray(np.rot90(scene.photo)), around=turned)
    assert any("lie on its side" in w for w in said)


def test_white_on_white(tmp_path):
    scene = rendered(20, size=400)
    pale = np.clip(240 + (scene.photo.astype(float) - scene.photo.mean()) * 0.02, 0, 255).astype(np.uint8)
    said = cut(tmp_path, pale, around=loose_outline(scene, np.random.default_rng(0)))
    assert any("nearly the same colour" in w for w in said)


@pytest.mark.parametrize("kind", ["GIF", "PNG", "WEBP"])
def test_animated_pictures_show_their_first(tmp_path, kind):
    tee = random_drawing(11, kind="tee", side="back", size=500, clean=True).picture
    file = io.BytesIO()
    Image.fromarray(tee).save(file, kind, save_all=True, append_images=[Image.fromarray(tee[::-1])])
    assert any("the first is used" in w for w in laid(tmp_path, file.getvalue()))


def test_a_drawing_on_a_transparent_ground_lies_on_white(tmp_path):
    tee = random_drawing(11, kind="tee", side="back", size=500, clean=True).picture
    clear = np.dstack([np.zeros_like(tee), 255 - tee[..., 0]])
    assert laid(tmp_path, clear) == []
