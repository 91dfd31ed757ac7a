"""A picture painted tile by tile on all cores: a tile's arrays stay in the processor's cache and take little memory."""

from __future__ import annotations

import hashlib
import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.colourways.laying import Window
from swatches.colour import srgb_to_linear
from swatches.job import Job, check

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]
Pixels = TypeVar("Pixels", Floats, RGB)

TILE = 256
_WORKERS = min(4, os.cpu_count() or 1)
_STEPS = 4095  # 12 bits: the darkest sRGB steps are a little more than one of these apart


def each_tile(area: Window, paint: Callable[[Window], None], job: Job) -> None:
    """Call ``paint`` for every tile of an area (left, top, right, bottom); tiles write to places of their own."""
    left, top, right, bottom = area
    with ThreadPoolExecutor(max_workers=_WORKERS) as pool:
        for y in range(top, bottom, TILE):
            check(job)
            job.step("Painting", (y - top) / (bottom - top))
            row = [(x, y, min(x + TILE, right), min(y + TILE, bottom)) for x in range(left, right, TILE)]
            list(pool.map(paint, row))
    job.step("Painted", 1.0)


class KeptTiles:
    """Painted tiles for the next picture: when one line moves, or one panel gets another cloth, most tiles stay.

    A tile is known by everything that it was painted from. Pictures may be painted at the same time.

    Args:
        most: how many are kept, the last used ones; one is 0.2 MB.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._tiles: OrderedDict[Hashable, RGB] = OrderedDict()
        self._lock = threading.Lock()

    def tile(self, key: Hashable, paint: Callable[[], RGB]) -> RGB:
        """Give the tile of that key, painted now if it is not there."""
        with self._lock:
            found = self._tiles.get(key)
            if found is not None:
                self._tiles.move_to_end(key)
                return found
        made = paint()
        with self._lock:
            self._tiles[key] = made
            while len(self._tiles) > self._most:
                self._tiles.popitem(last=False)
        return made


class Same:
    """A picture or cloth as part of a key: equal to itself only."""

    __slots__ = ("thing",)

    def __init__(self, thing: object) -> None:
        self.thing = thing

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.thing is other.thing

    def __hash__(self) -> int:
        return id(self.thing)


def digest(pixels: NDArray[np.uint8]) -> Hashable:
    """What tells pixels apart: their shape, and one value where they are all alike, else a hash."""
    first = int(pixels.flat[0]) if pixels.size else 0
    if pixels.size == 0 or (int(pixels.min()) == first and int(pixels.max()) == first):
        return pixels.shape, first
    return pixels.shape, hashlib.blake2b(pixels.tobytes(), digest_size=16).digest()


def fitted(picture: Pixels, size: tuple[int, int]) -> Pixels:
    """A picture at the output's size, width and height."""
    if picture.shape[1::-1] == size:
        return picture
    return cv2.resize(picture, size, interpolation=cv2.INTER_AREA)  # type: ignore[no-any-return]


def encoded(light: Floats) -> RGB:
    """Turn linear light (h, w, 3) into 8-bit sRGB through a table of 12 bits."""
    index = cv2.multiply(light, (float(_STEPS),) * 4, dtype=cv2.CV_16U)  # rounds, and cuts off at both ends
    return np.asarray(cv2.LUT(index, _TABLE), np.uint8)


def decoded(picture: RGB) -> Floats:
    """Turn 8-bit sRGB (h, w, 3) into linear light."""
    return np.asarray(cv2.LUT(np.ascontiguousarray(picture), _DECODING), np.float32)


def _table() -> RGB:
    linear = np.arange(65536) / _STEPS
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(np.clip(curve, 0, 1) * 255), np.uint8)


_TABLE = _table()
_DECODING = srgb_to_linear(np.arange(256, dtype=np.uint8)).astype(np.float32).reshape(1, 256)
