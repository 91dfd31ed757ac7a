"""The points between go along when an end of a line is moved, so that a line keeps its shape.

A hem band has points between its ends that hold it parallel to the hem. If only its ends moved when a new distance is
typed, it would become a wave; so each point moves by what the two ends moved, shared out linearly along the line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mockup.garment.view import View
from mockup.stylelines import edges
from mockup.stylelines.anchor import placed_ends
from mockup.stylelines.carry import keep_together
from mockup.stylelines.styleline import StyleLine
from swatches.errors import GeometryError

_STILL_MM = 1e-6


def points_along(old: StyleLine, new: StyleLine, views: Sequence[View], lines: Sequence[StyleLine]) -> StyleLine:
    """Give the points between the ends of a moved line the places that its moved ends ask for.

    Args:
        old: the line as it was.
        new: the same line with one or both ends moved. If its points differ from the old ones, somebody has moved
            them on purpose, and they stay.
        views: one drawing of each side; where the line's side has none, the points stay.
        lines: all lines, as they were, for ends that lie on other lines.

    Raises:
        GeometryError: a moved end cannot be placed.
    """
    view = next((v for v in views if v.side == new.side and v.edges), None)
    if view is None or not old.through or old.through != new.through or (old.start, old.end) == (new.start, new.end):
        return new
    after = np.array(placed_ends(new, view, lines))
    try:
        before = np.array(placed_ends(old, view, lines))
    except GeometryError:
        return new  # it lay nowhere on this drawing: nothing says by how much it moved
    by = after - before
    if np.abs(by).max() < _STILL_MM:
        return new
    inner = np.array([edges.shares_to_mm(view, share) for share in old.through])
    steps = np.hypot(*np.diff(np.vstack([before[:1], inner, before[1:]]), axis=0).T)
    if steps.sum() < _STILL_MM:
        return new
    share = (np.cumsum(steps)[:-1] / steps.sum())[:, None]
    moved = inner + (1.0 - share) * by[0] + share * by[1]
    through = tuple(edges.mm_to_shares(view, (float(x), float(y))) for x, y in moved)
    if new.symmetric:  # its points stay on the half that is drawn
        through = tuple((max(x, 0.0), y) for x, y in through)
    return replace(new, through=through)


def stay_together(lines: Sequence[StyleLine], changed_id: str, views: Sequence[View]) -> tuple[StyleLine, ...]:
    """As :func:`~mockup.stylelines.carry.keep_together`, and the points of the lines that follow go along.

    Args:
        lines: all lines, the changed one among them.
        changed_id: its id.
        views: one drawing of each side.

    Raises:
        GeometryError: an end of a line that follows cannot be placed.
    """
    kept = keep_together(lines, changed_id)
    return tuple(points_along(a, b, views, lines) for a, b in zip(lines, kept, strict=True))
