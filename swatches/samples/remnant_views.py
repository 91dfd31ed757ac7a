"""The two remnants of the choir's photo from straight above, each in the frame of its own outline."""

from __future__ import annotations

import cv2
import numpy as np
from shapely.geometry import Polygon

from swatches.photo import Picture, read_photo
from swatches.remnant_photo import RemnantPicture, read_remnants
from swatches.samples.cupboard import CARD_DISTANCE_MM, REMNANT_PHOTO, VIEW_AROUND_MM, VIEW_MM_PER_PX
from swatches.samples.laid_out import PLACED


def view_remnants() -> dict[str, Picture]:
    """Give each remnant's picture by the id of its cloth, sRGB; the same call gives the same pictures."""
    found = list(read_remnants(read_photo(REMNANT_PHOTO), reference="cards", distance_mm=CARD_DISTANCE_MM))
    out = {}
    for cloth, remnant, _, turn in PLACED:
        shape = Polygon(remnant.outline, remnant.holes)
        outline, picture = min(found, key=lambda f: abs(f[0].area_mm2 - shape.area))
        there = np.array(Polygon(outline.points, outline.holes).centroid.coords[0])
        out[cloth] = _turned(picture, there, np.array(shape.centroid.coords[0]), turn, remnant.outline)
    return out


def _turned(
    picture: RemnantPicture,
    there: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    here: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    turn_deg: float,
    outline: tuple[tuple[float, float], ...],
) -> Picture:
    """The picture turned back so that the remnant lies as its outline has it."""
    points = np.array(outline)
    low, high = points.min(axis=0) - VIEW_AROUND_MM, points.max(axis=0) + VIEW_AROUND_MM
    columns, rows = np.round((high - low) / VIEW_MM_PER_PX).astype(int)
    x = low[0] + (np.arange(columns) + 0.5) * VIEW_MM_PER_PX
    y = high[1] - (np.arange(rows) + 0.5) * VIEW_MM_PER_PX
    at = np.stack(np.meshgrid(x, y), axis=-1) - here
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    source = at @ np.array([[c, s], [-s, c]]) + there
    px = (source[..., 0] - picture.corner_mm[0]) / picture.mm_per_px - 0.5
    py = (picture.corner_mm[1] - source[..., 1]) / picture.mm_per_px - 0.5
    return np.asarray(
        cv2.remap(
            np.ascontiguousarray(picture.rgb),
            px.astype(np.float32),
            py.astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        ),
        np.uint8,
    )
