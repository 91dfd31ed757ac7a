"""A photo with its reference understood: what tells its scale, and in what light it was taken."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from swatches import reference as ref
from swatches.calibrate import SHEET_MM_PER_PX, Light, SheetLight, fit_light, read_light
from swatches.errors import Failure, InputError, PictureError
from swatches.find_cards import find_cards
from swatches.find_chart import find_chart
from swatches.find_paper import CARD_MM, find_rectangle
from swatches.find_sheet import find_sheet
from swatches.photo import Photo
from swatches.plane import Plane, typed_plane

Floats = NDArray[np.float64]

REFERENCES = ("none", "sheet", "a4", "letter", "card", "cards", "chart")
SCALE_ERROR_PERCENT = {
    "sheet": 1.0,
    "measured sheet": 0.3,
    "paper": 1.0,
    "measured paper": 0.3,
    "card": 2.0,
    "cards": 1.0,
    "measured cards": 0.3,
    "chart": 2.0,
    "typed": 2.0,
}
"""Expected error of lengths. A print that was not measured is off by the printer's own error (our own choice); ISO 216
allows 2 mm on a side of A4; a card sees tilt badly (measured: 2 mm on 100 mm at 200 mm from it)."""


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """A photo with its reference understood.

    Attributes:
        plane: photo px ↔ mm, y down; px ↔ px when the scale is unknown.
        reference: the key of :data:`swatches.calibrate.EXPECTED_DELTA_E`.
        scale_known: whether the plane's unit is really mm.
        scale_error_percent: expected error of lengths, None when unknown.
        light: how light falls, or None.
        sheet_light: what a reference sheet told of it, or None.
        paper: 'A4' or 'Letter' of a reference sheet, or None.
        corners_mm: corners of the reference on the plane, shape (4, 2), or None.
        factor: printed size of the sheet over nominal size.
        correction: of colours by a chart, shape (6, 3), or None.
        cards_mm: middles of loose cards on the plane, shape (n, 2), or None.
        warnings: one sentence each.
    """

    plane: Plane
    reference: str
    scale_known: bool
    scale_error_percent: float | None
    light: Light | None = None
    sheet_light: SheetLight | None = None
    paper: str | None = None
    corners_mm: Floats | None = None
    factor: float = 1.0
    correction: Floats | None = None
    cards_mm: Floats | None = None
    warnings: tuple[str, ...] = ()


def set_up(
    photo: Photo,
    reference: str | float,
    *,
    bar_mm: float | None = None,
    distance_mm: float | None = None,
    paper_mm: tuple[float, float] | None = None,
    corners_px: Floats | None = None,
) -> Setting:
    """Find the reference in the photo. The arguments are those of :func:`swatches.read_swatch.read_swatch`.

    Raises:
        InputError: no such reference.
        PictureError: it is not in the photo, or cannot be used; with advice.
    """
    if isinstance(reference, int | float):
        plane = typed_plane(_usable_scale(float(reference)), photo.size)
        return Setting(plane, "scale", True, SCALE_ERROR_PERCENT["typed"])
    if reference not in REFERENCES:
        raise InputError(
            "reference", expected=f"one of {', '.join(REFERENCES)}, or mm per pixel", got=repr(reference),
            next_step="Choose one of them",
        )  # fmt: skip
    if reference == "none":
        return Setting(typed_plane(1.0, photo.size), "none", False, None)
    if reference in ("a4", "letter"):
        return _with_paper(photo, reference, paper_mm, corners_px)
    if reference == "card":
        return _with_card(photo, corners_px)
    if reference == "cards":
        return _with_cards(photo, distance_mm)
    if reference == "chart":
        return _with_chart(photo, corners_px)
    return _on_sheet(photo, bar_mm) if corners_px is None else _on_sheet_by_corners(photo, bar_mm, corners_px)


def with_scale(setting: Setting, mm_per_px: float) -> Setting:
    """Give a photo whose plane was in px its scale, as the person typed it or a length from which it follows.

    Raises:
        InputError: no photo has such a scale.
    """
    scale = _usable_scale(mm_per_px)
    return replace(
        setting,
        plane=setting.plane.scaled(scale),
        scale_known=True,
        scale_error_percent=SCALE_ERROR_PERCENT["typed"],
        corners_mm=None if setting.corners_mm is None else setting.corners_mm * scale,
    )


def _usable_scale(mm_per_px: float) -> float:
    if not 1e-4 < mm_per_px < 100:
        raise InputError(
            "mm per pixel",
            expected="0.0001 to 100",
            got=str(mm_per_px),
            next_step="Type how many mm one pixel shows",
        )
    return mm_per_px


def _with_paper(photo: Photo, paper: str, paper_mm: tuple[float, float] | None, corners_px: Floats | None) -> Setting:
    size = ref.paper_size(paper) if paper_mm is None else paper_mm
    if min(size) < 50 or max(size) > 2000:
        raise InputError(
            "size of the paper",
            expected="50 to 2000 mm",
            got=f"{size[0]:g} × {size[1]:g} mm",
            next_step="Measure it again",
        )
    found = find_rectangle(photo, size, "paper", corners_px)
    if isinstance(found, Failure):
        raise refused(found)
    plane, corners, _ = found
    error = SCALE_ERROR_PERCENT["paper" if paper_mm is None else "measured paper"]
    return Setting(plane, "paper", True, error, paper_light(photo, plane, corners), corners_mm=corners)


def _with_card(photo: Photo, corners_px: Floats | None) -> Setting:
    found = find_rectangle(photo, CARD_MM, "card", corners_px)
    if isinstance(found, Failure):
        raise refused(found)
    plane, corners, _ = found
    return Setting(plane, "card", True, SCALE_ERROR_PERCENT["card"], corners_mm=corners)


def _with_cards(photo: Photo, distance_mm: float | None) -> Setting:
    if distance_mm is not None and not 80 <= distance_mm <= 10_000:
        raise InputError(
            "distance between the cards", expected="80 to 10000 mm", got=f"{distance_mm:g} mm",
            next_step="Measure from the middle of card 1 to the middle of card 2",
        )  # fmt: skip
    found = find_cards(photo, distance_mm)
    if isinstance(found, Failure):
        raise refused(found)
    plane, middles = found
    said: tuple[str, ...] = ()
    if distance_mm is None:
        said = ("The size rests on the printed cards alone: type the tape distance between cards 1 and 2.",)
    error = SCALE_ERROR_PERCENT["cards" if distance_mm is None else "measured cards"]
    return Setting(plane, "scale", True, error, cards_mm=middles, warnings=said)


def _with_chart(photo: Photo, corners_px: Floats | None) -> Setting:
    found = find_chart(photo, corners_px)
    if isinstance(found, Failure):
        raise refused(found)
    return Setting(
        typed_plane(1.0, photo.size), "chart", False, None, corners_mm=found.corners_px, correction=found.correction
    )


def paper_light(photo: Photo, plane: Plane, corners: Floats) -> Light:
    """How light falls on a plain sheet of paper, from a band of 12 mm along its edges."""
    box = (0.0, 0.0, float(corners[2, 0]), float(corners[2, 1]))
    seen = plane.rectified(photo.rgb, box, SHEET_MM_PER_PX)
    white = np.zeros(seen.shape[:2], np.bool_)
    inner, outer = round(2 / SHEET_MM_PER_PX), round(14 / SHEET_MM_PER_PX)
    white[inner:-inner, inner:-inner] = True
    white[outer:-outer, outer:-outer] = False
    return fit_light(seen, white, box, SHEET_MM_PER_PX)[0]


def _on_sheet(photo: Photo, bar_mm: float | None) -> Setting:
    found = find_sheet(photo, bar_mm=ref.BAR_MM if bar_mm is None else bar_mm)
    if isinstance(found, Failure):
        raise refused(found)
    return _sheet_setting(
        photo, found.plane, found.paper, bar_mm, 0.0 if len(found.markers) == 4 else 0.2, found.warnings
    )


def _sheet_setting(
    photo: Photo, plane: Plane, paper: str, bar_mm: float | None, more_error: float, said: tuple[str, ...]
) -> Setting:
    factor = 1.0 if bar_mm is None else bar_mm / ref.BAR_MM
    seen = read_light(photo.rgb, plane, paper, factor)
    width, height = (v * factor for v in ref.paper_size(paper))
    error = SCALE_ERROR_PERCENT["sheet" if bar_mm is None else "measured sheet"] + more_error
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    return Setting(
        plane, "sheet", True, error, seen.light, seen, paper, corners, factor, warnings=(*said, *seen.warnings)
    )


def _on_sheet_by_corners(photo: Photo, bar_mm: float | None, corners_px: Floats) -> Setting:
    """The sheet by its paper's corners as the person dragged them, where too few of its markers can be seen.

    Which paper it is, and which way round it lies, is told by its print outside the free field.
    """
    best: tuple[float, Plane, str] | None = None
    failed: Failure | None = None
    for paper in ref.SHEET_IDS:
        width, height = ref.paper_size(paper)
        found = find_rectangle(photo, (width, height), "paper", corners_px)
        if isinstance(found, Failure):
            failed = failed or found
            continue
        plane, corners, _ = found
        wide, high = corners[2]
        turns = {0: np.eye(3), 2: np.array([[-1, 0, wide], [0, -1, high], [0, 0, 1]])}
        if wide > high:  # it lies on its side
            turns = {
                1: np.array([[0, 1, 0], [-1, 0, wide], [0, 0, 1]]),
                3: np.array([[0, -1, high], [1, 0, 0], [0, 0, 1]]),
            }
        for turn in turns.values():
            turned = Plane(turn @ plane.matrix, plane.k1, plane.size)
            likeness = _print_likeness(photo, turned, paper)
            if best is None or likeness > best[0]:
                best = (likeness, turned, paper)
    if best is None:
        raise refused(failed or Failure("The sheet cannot be told there", "Drag its corners again"))
    if best[0] < 0.3:
        raise refused(
            Failure("What lies there is not the printed sheet", "Say which paper it is, or drag the corners again")
        )
    said = ("The sheet is taken from its paper's edges: its markers could not all be seen.",)
    factor = 1.0 if bar_mm is None else bar_mm / ref.BAR_MM
    return _sheet_setting(photo, best[1].scaled(factor), best[2], bar_mm, 0.2, said)


def _print_likeness(photo: Photo, plane: Plane, paper: str) -> float:
    """Correlation of what is seen outside the free field with what is printed there, −1..1."""
    width, height = ref.paper_size(paper)
    printed = ref.sheet_picture(paper, 1.0).astype(np.float64)
    seen = plane.rectified(photo.rgb, (0.0, 0.0, float(width), float(height)), 1.0).mean(axis=2)
    rows, columns = min(seen.shape[0], printed.shape[0]), min(seen.shape[1], printed.shape[1])
    outside = np.ones((rows, columns), np.bool_)
    left, top, right, bottom = (round(v) for v in ref.field(paper))
    outside[top:bottom, left:right] = False
    a, b = seen[:rows, :columns][outside], printed[:rows, :columns][outside]
    return float(np.corrcoef(np.sqrt(a), b)[0, 1]) if a.std() > 0 else 0.0


def refused(failure: Failure) -> PictureError:
    """A failure as an error that stops the reading."""
    return PhotoRefused(failure)


class PhotoRefused(PictureError):
    """A photo in which the reference or the cloth cannot be found: reason and advice are the sentence."""

    def __init__(self, failure: Failure) -> None:
        super().__init__("photo", expected="a usable reference", got=failure.reason, next_step=failure.advice)
        self.args = (f"{failure.reason}. {failure.advice}.",)
