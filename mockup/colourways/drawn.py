"""A drawing painted: cloth in its panels, paper around them, seams and ink on top."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.colourways.laying import Window
from mockup.colourways.parts import Frame, Part, Seen, fingerprint, gathered, in_light, seen_in
from mockup.colourways.seams import Sewn, SewnHere
from mockup.colourways.tiles import KeptTiles, Same, digest, each_tile, encoded
from swatches.colour import srgb_to_linear
from swatches.job import Job

RGB = NDArray[np.uint8]
Floats = NDArray[np.float32]

PAPER = (250, 249, 246)
_PAPER = np.asarray(srgb_to_linear(np.array(PAPER, np.uint8)), np.float32).reshape(1, 1, 3)
_DARK_INK = 0.011  # linear light
_PALE_INK = 0.16
_DARK_CLOTH = 0.045  # linear luminance; on darker cloth lines are drawn pale, or nobody sees them
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
_SEAM, _SHADOW = 0.8, 0.22  # strength of a seam's line, and of the shadow beside it


def on_paper(
    ink: Floats, parts: Sequence[Part], frame: Frame, sewn: Sewn | None, job: Job, kept: KeptTiles | None = None
) -> RGB:
    """Paint on paper.

    Args:
        ink: strength of the lines 0..1, shape (h, w) of the output.
        parts: the panels; one without cloth stays paper.
        frame: the output's scale and origin.
        sewn: seams.
        job: told of progress.
        kept: tiles of earlier pictures; ``ink`` and the cloths must then be the same objects to be known again.

    Returns:
        uint8 sRGB, shape (h, w, 3).
    """
    height, width = ink.shape
    cut = [p for p in parts if p.cloth is not None]
    dark = _dark_ground(cut, (width, height))
    out = np.empty((height, width, 3), np.uint8)

    def paint(tile: Window) -> None:
        at = np.s_[tile[1] : tile[3], tile[0] : tile[2]]
        here = seen_in(cut, tile)
        seams = None if sewn is None else sewn.within(tile)
        ground = None if dark is None else dark[at]
        if not here and not ink[at].any():
            out[at] = PAPER
        elif kept is None:
            out[at] = _tile(ink[at], here, tile, frame, seams, ground)
        else:
            key = (
                "drawn",
                tile,
                frame,
                Same(ink),
                fingerprint(here),
                None if seams is None else seams.fingerprint,
                None if ground is None else digest(ground),
            )
            out[at] = kept.tile(key, lambda: _tile(ink[at], here, tile, frame, seams, ground))

    each_tile((0, 0, width, height), paint, job)
    return out


def _tile(
    ink: Floats, here: Sequence[Seen], tile: Window, frame: Frame, seams: SewnHere | None, dark: RGB | None
) -> RGB:
    found = gathered(here, tile, frame)
    light = found.cloth
    if found.share is not None:
        light = cv2.add(light, in_light(_PAPER, 1 - found.share))
    lines = _lines(ink, seams, dark)
    if lines is None:
        return np.broadcast_to(encoded(light), (*ink.shape, 3))
    through, pen = lines
    return encoded(cv2.add(in_light(light, through), cv2.merge([pen, pen, pen])))


def _lines(ink: Floats, seams: SewnHere | None, dark: RGB | None) -> tuple[Floats, Floats] | None:
    """How much of the ground shows through seams and ink, and how light they are themselves; None where none are."""
    inked = float(ink.max()) > 0
    if not inked and seams is None:
        return None
    pen: Floats | np.float32 = np.float32(_DARK_INK)
    if dark is not None:
        pen = _DARK_INK + np.float32((_PALE_INK - _DARK_INK) / 255) * dark
    through = np.ones(ink.shape, np.float32)
    own = np.zeros(ink.shape, np.float32)
    if seams is not None:
        through = (1 - np.float32(_SHADOW) * seams.shadow) * (1 - np.float32(_SEAM) * seams.line)
        own = np.float32(_SEAM) * seams.line * pen
    if inked:
        rest = 1 - ink
        through *= rest
        own = own * rest + ink * pen
    return np.asarray(through, np.float32), np.asarray(own, np.float32)


def _dark_ground(parts: Sequence[Part], size: tuple[int, int]) -> RGB | None:
    """Where lines must be pale to be seen: on dark cloth, but not at its edge, where the cloth's own contrast shows."""
    dark = [p for p in parts if p.cloth and float(p.cloth[0].colour @ _LUMINANCE) < _DARK_CLOTH]
    if not dark:
        return None
    ground = np.zeros((size[1], size[0]), np.uint8)
    for part in dark:
        left, top, right, bottom = part.window
        cv2.add(ground[top:bottom, left:right], part.share, dst=ground[top:bottom, left:right])
    reach = 2 * max(2, round(max(size) / 400)) + 1
    ground = np.asarray(cv2.erode(ground, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))), np.uint8)
    return np.asarray(cv2.blur(ground, (3, 3)), np.uint8)
