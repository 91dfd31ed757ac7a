"""What a person did to areas, kept by places in the picture and done again after every new reading.

A place names an area better than an id: areas are numbered anew when a picture is read again, the garment in it stays
where it is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockup.garment.area_edits import merge_areas, name_area, polygon_of, split_area
from mockup.garment.drawing import DrawnView
from mockup.garment.stitching import part_by_stitching
from mockup.garment.view import AreaEdit, View
from mockup.geometry.path import XY
from swatches.errors import MockupError, PictureError

Labels = NDArray[np.uint16]
Parted = Callable[[], Labels]
"""Gives the label picture of the same drawing with every dashed line taken as a seam."""

NO_DART = "no dart"
"""What an edit says that takes a drawn dart for none: its area stays with the body, and it is not marked again."""


def place_in(view: View, area_id: str) -> XY:
    """A place inside an area, px.

    Raises:
        PictureError: there is no such area.
    """
    try:
        area = view.area(area_id)
    except KeyError:
        names = ", ".join(a.id for a in view.found_areas)
        raise PictureError(
            "area", expected=f"one of {names}", got=area_id, next_step="Choose an area of this picture"
        ) from None
    inner = polygon_of(area).representative_point()
    return float(inner.x), float(inner.y)


def area_at(drawn: DrawnView, place: XY) -> str:
    """The id of the area at a place of the picture.

    Raises:
        PictureError: the place is outside of the garment.
    """
    h, w = drawn.labels.shape
    x, y = (int(np.floor(c)) if np.isfinite(c) else -1 for c in place)
    label = int(drawn.labels[y, x]) if 0 <= x < w and 0 <= y < h else 0
    for area in drawn.view.found_areas:
        if label and area.label == label:
            return area.id
    raise PictureError(
        "place", expected="a place inside the garment", got=f"({place[0]:.0f}, {place[1]:.0f})",
        next_step="Press inside an area",
    )  # fmt: skip


def done(drawn: DrawnView, edit: AreaEdit, parted: Parted) -> DrawnView:
    """Do one thing, and keep it with the view.

    Raises:
        PictureError: it cannot be done here; says why.
    """
    if edit.do == "join":
        made = merge_areas(drawn, [area_at(drawn, p) for p in edit.points])
    elif edit.do == "split":
        made = split_area(drawn, area_at(drawn, _middle(edit.points)), edit.points)
    elif edit.do == "seam":
        made = part_by_stitching(drawn, parted(), edit.points[0])
    elif edit.do == NO_DART:
        made = replace(drawn, darts=tuple(d for d in drawn.darts if not _lies_at(d, edit.points[0])))
    elif edit.do == "name":
        made = name_area(drawn, area_at(drawn, edit.points[0]), edit.name, part=edit.part or None)
    else:
        raise PictureError(
            "change of areas", expected="join, split, seam or name", got=edit.do, next_step="Choose one of them"
        )
    return replace(made, view=replace(made.view, edits=(*drawn.view.edits, edit)))


def done_again(drawn: DrawnView, edits: tuple[AreaEdit, ...], parted: Parted) -> DrawnView:
    """Do everything again on a new reading; what cannot be done any more is told and left out."""
    lost = []
    for edit in edits:
        try:
            drawn = done(drawn, edit, parted)
        except MockupError:
            lost.append(_WORDS.get(edit.do, edit.do))
    if not lost:
        return drawn
    said = f"Not done again, since the areas are others now: {', '.join(dict.fromkeys(lost))}."
    return replace(drawn, warnings=(*drawn.warnings, said))


_WORDS = {"join": "areas joined", "split": "an area divided", "seam": "stitching made a seam", "name": "a name"}


def _lies_at(dart: NDArray[np.float64], place: XY) -> bool:
    """Whether a dart lies at a place, which is the middle of its corners in an earlier reading."""
    return bool(np.hypot(*(dart.mean(axis=0) - place)) < np.ptp(dart, axis=0).max() / 3)


def _middle(points: tuple[XY, ...]) -> XY:
    """The middle of a stroke, along it."""
    p = np.asarray(points, np.float64)
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))]
    x, y = (float(np.interp(along[-1] / 2, along, p[:, k])) for k in (0, 1))
    return x, y
