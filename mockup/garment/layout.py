"""Where the areas of a label picture lie and what they touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Labels = NDArray[np.uint16]

_ASTRIDE = 0.12  # of an area's width that must lie beyond the mirror line: a trouser leg may reach over it a little


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where the areas lie and what they touch, by label (0 is outside).

    Attributes:
        size: px of each label, shape (n + 1,).
        box: left, top, right, bottom, shape (n + 1, 4).
        middle: centre of mass, shape (n + 1, 2).
        touch: length of the border between two labels, px, shape (n + 1, n + 1), symmetric.
        reach: left, top, right, bottom of that border, shape (n + 1, n + 1, 4); ∞, ∞, −∞, −∞ without one.
    """

    size: NDArray[np.int64]
    box: NDArray[np.float64]
    middle: NDArray[np.float64]
    touch: NDArray[np.int64]
    reach: NDArray[np.float64]


def layout_of(labels: Labels) -> Layout:
    """Measure a label picture, shape (h, w)."""
    n = int(labels.max()) + 1
    size = np.bincount(labels.ravel(), minlength=n)
    box, middle = np.zeros((n, 4)), np.zeros((n, 2))
    per_row = np.stack([np.bincount(row, minlength=n) for row in labels])
    per_column = np.stack([np.bincount(column, minlength=n) for column in labels.T])
    for i in range(n):
        ys, xs = np.nonzero(per_row[:, i])[0], np.nonzero(per_column[:, i])[0]
        if len(ys):
            box[i] = xs[0], ys[0], xs[-1] + 1, ys[-1] + 1
            middle[i] = (
                per_column[:, i] @ (np.arange(labels.shape[1]) + 0.5) / size[i],
                per_row[:, i] @ (np.arange(labels.shape[0]) + 0.5) / size[i],
            )
    touch = np.zeros((n, n), np.int64)
    reach = np.full((n, n, 4), np.inf)
    reach[..., 2:] = -np.inf
    for a, b in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        y, x = np.nonzero(labels[a] != labels[b])
        first, second = labels[a][y, x].astype(int), labels[b][y, x].astype(int)
        for one, other in ((first, second), (second, first)):
            np.add.at(touch, (one, other), 1)
            np.minimum.at(reach[..., 0], (one, other), x)
            np.minimum.at(reach[..., 1], (one, other), y)
            np.maximum.at(reach[..., 2], (one, other), x + 1)
            np.maximum.at(reach[..., 3], (one, other), y + 1)
    return Layout(size, box, middle, touch, reach)


def astride(layout: Layout, label: int, mirror_x: float) -> bool:
    """Whether an area lies on both sides of the mirror line, by more than a hand's slip."""
    left, _, right, _ = layout.box[label]
    return bool(min(mirror_x - left, right - mirror_x) > _ASTRIDE * (right - left))
