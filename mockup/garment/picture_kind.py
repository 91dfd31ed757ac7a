"""Is a picture a photo of a garment, or a line drawing of it?

A drawing is lines on ground that is even, or evenly filled; light falls on the sheet as a whole. In a photo brightness
also runs softly over the cloth itself, away from any line, and shapes end in edges that no line is drawn along. Both
must be so: a lamp beside the sheet shades it softly but leaves no such edge, a hard shadow has the edge but no room.
Where fine texture is everywhere, as on a carpet or grass, every edge lies by something thin and cannot be told from a
line; there are more thin things then than anybody draws, and the light is as soft as on no flat sheet.

The limits are our own, between what was measured: shading at most 0.050 in drawings in even light (scans, ruled and
coloured papers, tables, white on black, areas filled with colour) and at least 0.098 in photos; thin things at most
0.19 in nearly all drawings on crumpled paper, and at least 0.22 in textured photos.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.ink import Bools, grey_of
from mockup.garment.page import without_table

Floats = NDArray[np.float32]

_READ_SIDE, _LINE_SIDE, _LIGHT_SIDE = 800, 480, 240  # px, long sides at which the picture is looked at
_LINE_CONTRAST, _LINE_ROOM = 0.12, 17  # of the brightness beside a line; px round it at the line side
_SOFT, _SHARP = 0.006, 0.05  # relative slope of brightness a px: what is shading, what is an edge
_BLACK = 20.0  # added to brightness, so that noise in the dark is no slope
_SHADED = 0.07  # shading from which a picture may be a photo
_LINES = (0.01, 0.1)  # share of lines as drawings have it: a shadow on the sheet is likelier then
_SHADED_DRAWN = 0.13  # shading that is needed with as many lines
_BARE = 0.001  # share of edges without a line
_TEXTURED = (0.21, 0.5)  # thin things, and shading, above which edges are not asked for


@dataclass(frozen=True, slots=True)
class Traits:
    """What tells a photo from a drawing, shares from 0 to 1.

    Attributes:
        lines: of the picture, what lies on a thin line, dark or light.
        shading: of what is not near a line, where brightness runs softly.
        bare_edges: of the same, where brightness jumps.
    """

    lines: float
    shading: float
    bare_edges: float

    @property
    def photo(self) -> bool:
        """Whether they are those of a photo."""
        least = _SHADED_DRAWN if _LINES[0] <= self.lines <= _LINES[1] else _SHADED
        textured = self.lines > _TEXTURED[0] and self.shading > _TEXTURED[1]
        return textured or (self.shading > least and self.bare_edges > _BARE)


def traits_of(pixels: NDArray[np.uint8]) -> Traits:
    """Measure a picture, uint8, RGB (h, w, 3) or grey (h, w)."""
    grey = without_table(grey_of(_at(pixels, _READ_SIDE, enlarge=False)))
    middle = _at(grey, _LINE_SIDE)
    lines = _thin(middle.astype(np.float32))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_LINE_ROOM, _LINE_ROOM))
    near = cv2.dilate(lines.view(np.uint8), kernel)
    edges = _slope(cv2.medianBlur(middle, 11).astype(np.float32)) > _SHARP  # medians take lines out and leave edges
    small = cv2.medianBlur(_at(grey, _LIGHT_SIDE), 9).astype(np.float32)
    soft = _slope(cv2.GaussianBlur(small, (0, 0), 1.5)) > _SOFT
    near_small = cv2.resize(near, soft.shape[::-1], interpolation=cv2.INTER_NEAREST)
    return Traits(float(lines.mean()), _share(soft, near_small == 0), _share(edges, near == 0))


def _at(picture: NDArray[np.uint8], side: int, *, enlarge: bool = True) -> NDArray[np.uint8]:
    h, w = picture.shape[:2]
    scale = side / max(h, w)
    if scale >= 1 and not enlarge:
        return np.ascontiguousarray(picture)
    size = (max(1, round(w * scale)), max(1, round(h * scale)))
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(picture, size, interpolation=way), np.uint8)


def _thin(grey: Floats) -> Bools:
    """What is darker, or lighter, than both its sides."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (11, 11))
    bright = cv2.morphologyEx(grey, cv2.MORPH_CLOSE, kernel)
    dark = cv2.morphologyEx(grey, cv2.MORPH_OPEN, kernel)
    depth = np.maximum((bright - grey) / (bright + _BLACK), (grey - dark) / (grey + _BLACK))
    return np.asarray(depth > _LINE_CONTRAST)


def _slope(grey: Floats) -> Floats:
    across, down = (cv2.Sobel(grey, cv2.CV_32F, dx, 1 - dx, ksize=3) / 8 for dx in (1, 0))
    return np.asarray(np.hypot(across, down) / (grey + _BLACK), np.float32)


def _share(what: Bools, of: Bools) -> float:
    return float((what & of).sum() / max(1, int(of.sum())))
