"""'This stitching is a seam': dashed topstitching that parts an area after all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockup.garment.area_edits import part_area
from mockup.garment.drawing import DrawnView
from mockup.garment.layout import layout_of
from mockup.geometry.path import XY
from swatches.errors import PictureError

Labels = NDArray[np.uint16]
_REACH = 0.03  # of the picture's long side: how far from the stitching one may press


def part_by_stitching(drawn: DrawnView, parted: Labels, at: XY) -> DrawnView:
    """Part an area by the dashed line at a place, and by no other.

    Args:
        drawn: the drawing.
        parted: labels of the same picture with every dashed line taken as a seam, shape (h, w).
        at: a place on the stitching or near it, px.

    Raises:
        PictureError: there is no stitching near that parts the area.
    """
    h, w = drawn.labels.shape
    reach = int(np.ceil(_REACH * max(h, w)))
    x, y = int(np.clip(at[0], 0, w - 1)), int(np.clip(at[1], 0, h - 1))
    top, left = max(0, y - reach), max(0, x - reach)
    window = np.s_[top : y + reach + 1, left : x + reach + 1]
    near, whole = parted[window].astype(int), drawn.labels[window]
    best: tuple[float, int, int, int] | None = None
    for a, b in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        rows, columns = np.nonzero(
            (near[a] != near[b]) & (near[a] > 0) & (near[b] > 0) & (whole[a] == whole[b]) & (whole[a] > 0)
        )
        if len(rows):
            away = np.hypot(columns + left + 0.5 - at[0], rows + top + 0.5 - at[1])
            k = int(away.argmin())
            i = rows[k], columns[k]
            if best is None or away[k] < best[0]:
                best = float(away[k]), int(whole[a][i]), int(near[a][i]), int(near[b][i])
    if best is None or best[0] > reach:
        raise PictureError(
            "stitching", expected="a dashed line that runs across an area", got="none at this place",
            next_step="Press on the dashes, or draw a stroke along them",
        )  # fmt: skip
    _, label, one, other = best
    inside = np.where(drawn.labels == label, parted, 0).astype(np.uint16)
    return part_area(drawn, label, _halves(inside, one, other))


def _halves(inside: Labels, one: int, other: int) -> NDArray[np.bool_]:
    """True on the side of ``one``: every further part joins the side that it touches most."""
    touch = layout_of(inside).touch.copy()
    touch[0] = touch[:, 0] = 0
    sides = {one: True, other: False}
    waiting = [int(k) for k in np.unique(inside) if k and k not in sides]
    while waiting:
        pull = {k: (sum(touch[k, j] for j in sides), k) for k in waiting}
        nearest = max(waiting, key=lambda k: pull[k])
        mine = {s: sum(int(touch[nearest, j]) for j, v in sides.items() if v is s) for s in (True, False)}
        sides[nearest] = mine[True] >= mine[False]
        waiting.remove(nearest)
    return np.isin(inside, [k for k, v in sides.items() if v])
