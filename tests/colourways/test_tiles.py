"""Tiles kept from one picture to the next: the same picture, whatever changed in between, and little painted again."""

import numpy as np
import pytest
from rendered import rendered

from mockup.colourways.colourway import Laid
from mockup.colourways.paint import paint_drawing, paint_photo
from mockup.colourways.tiles import KeptTiles, digest
from mockup.garment.shading import shading
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from swatches.cloth import Cloth, plain

SIZE = (700, 600)


def cloth(seed):
    tile = np.random.default_rng(seed).random((30, 40, 3)).astype(np.float32)
    return Cloth(plain("c", "c", "#808080"), tile, 1.0, tile.reshape(-1, 3).mean(0))


def solid(*colour):
    return Cloth(plain("s", "s", "#808080"), None, 1.0, np.array(colour, np.float32))


def view(kind):
    w, h = SIZE
    outline = paths.polyline([(0, 0), (0, h), (w, h), (w, 0)], close=True).to_tuples()
    body = Area("body", "body", 1, outline, "body")
    return View("front", "front", "f.png", kind, SIZE, "", (body,), {}, w / 2, 1.0, True, (w / 2, 0.0))


def halves(at):
    """Two panels that meet at a column, softly."""
    x = np.arange(SIZE[0]) + 0.5
    left = np.clip(at - x + 0.5, 0, 1).astype(np.float32)[None].repeat(SIZE[1], 0)
    inside = np.zeros((SIZE[1], SIZE[0]), np.float32)
    inside[40:560, 50:650] = 1
    return {"a": left * inside, "b": (1 - left) * inside}


class Counting(KeptTiles):
    def __init__(self, most=500):
        super().__init__(most)
        self.painted = 0

    def tile(self, key, paint):
        def counted():
            self.painted += 1
            return paint()

        return super().tile(key, counted)


@pytest.mark.parametrize("kind", ["drawing", "photo"])
def test_every_change_is_seen_and_only_what_changed_is_painted(kind):
    ink = np.zeros((SIZE[1], SIZE[0]), np.float32)
    ink[300, 60:640] = 0.7
    scene = rendered(4, size=700)
    photo, alpha = np.ascontiguousarray(scene.photo[:600, :700]), np.ascontiguousarray(scene.alpha[:600, :700])
    photo = np.pad(photo, ((0, 600 - photo.shape[0]), (0, 700 - photo.shape[1]), (0, 0)), mode="edge")
    alpha = np.pad(alpha, ((0, 600 - alpha.shape[0]), (0, 700 - alpha.shape[1])), mode="edge")
    light = shading(photo, alpha)
    kept = Counting()
    seam, other = paths.polyline([(330, 0), (330, 600)]), paths.polyline([(200, 0), (260, 600)])
    one, two, dark = cloth(1), cloth(2), solid(0.01, 0.01, 0.02)

    def paint(masks, cloths, seams, kept):
        if kind == "drawing":
            return paint_drawing(view(kind), ink, masks, cloths, seams=seams, kept=kept)
        return paint_photo(view(kind), photo, alpha, light, masks, cloths, seams=seams, kept=kept)

    changes = [
        (halves(330), {"a": (one, Laid()), "b": (two, Laid())}, [seam]),
        (halves(330), {"a": (one, Laid()), "b": (dark, Laid())}, [seam]),  # another cloth
        (halves(330.5), {"a": (one, Laid()), "b": (dark, Laid())}, [seam]),  # a line by half a pixel
        (halves(330.5), {"a": (one, Laid(offset_mm=(1, 0))), "b": (dark, Laid())}, [seam]),  # a print moved
        (halves(330.5), {"a": (one, Laid(offset_mm=(1, 0)))}, [seam]),  # a panel left as it is
        (halves(330.5), {"a": (one, Laid(offset_mm=(1, 0)))}, [seam, other]),  # a seam more
        (halves(330), {"a": (one, Laid()), "b": (two, Laid())}, [seam]),  # back to the first
    ]
    counts = []
    for masks, cloths, seams in changes:
        before = kept.painted
        assert np.array_equal(paint(masks, cloths, seams, kept), paint(masks, cloths, seams, None))
        counts.append(kept.painted - before)
    assert counts[-1] == 0
    assert all(0 < n <= counts[0] for n in counts[1:-1])
    assert counts[2] < counts[0]  # a line that moved a little
    assert counts[3] < counts[0]  # a print that moved on one of two panels


def test_no_more_tiles_are_kept_than_said():
    kept = Counting(2)
    tile = np.zeros((1, 1, 3), np.uint8)
    for key in ("a", "b", "a", "c", "a", "b"):
        kept.tile(key, lambda: tile)
    assert kept.painted == 4  # a, b, c, and b again, which was the longest unused


def test_pixels_are_told_apart():
    rng = np.random.default_rng(0)
    a = rng.integers(0, 255, (20, 30)).astype(np.uint8)
    b = a.copy()
    b[19, 29] ^= 1
    assert digest(a) != digest(b)
    assert digest(a) != digest(a.reshape(30, 20))
    assert digest(np.full((4, 4), 7, np.uint8)) == digest(np.full((4, 4), 7, np.uint8))
    assert digest(np.full((4, 4), 7, np.uint8)) != digest(np.full((4, 4), 8, np.uint8))
    assert digest(np.zeros((0, 4), np.uint8)) != digest(np.zeros((0, 5), np.uint8))
