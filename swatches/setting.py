"""Where the cloth lies in a photo and in what light: the reference set up, the cloth found on its ground."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from swatches import reference as ref
from swatches.calibrate import SHEET_MM_PER_PX, Light, SheetLight, read_light
from swatches.colour import linear_to_lab
from swatches.errors import Failure, InputError, PictureError
from swatches.find_sheet import find_sheet
from swatches.ground import cleaned, ground_difference, largest, lie_angle
from swatches.photo import Photo
from swatches.plane import Plane, typed_plane

Floats = NDArray[np.float64]
Linear = NDArray[np.float32]
Mask = NDArray[np.bool_]

REFERENCES = ("none", "sheet", "a4", "letter", "card", "cards", "chart")
SCALE_ERROR_PERCENT = {"sheet": 1.0, "measured sheet": 0.3, "typed": 2.0}
"""Expected error of lengths: a print that was not measured is off by the printer's own error (our own choice)."""
LEAST_CLOTH_SHARE = 0.02


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
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Cloth:
    """Where the cloth is on the plane.

    Attributes:
        mask: shape (h, w), rows along y.
        value: how much each place differs from the ground, over the limit: 1 at the edge; float32, shape (h, w).
        origin_mm: plane position of the mask's outer corner.
        step_mm: mm per px of the mask.
        polygon_mm: its corners on the plane, shape (n, 2).
        angle_deg: how far it lies off square, y down.
        edge_seen: whether its edge is in view (else the mask is just an area that was marked).
        warnings: one sentence each.
    """

    mask: Mask
    value: NDArray[np.float32]
    origin_mm: Floats
    step_mm: float
    polygon_mm: Floats
    angle_deg: float
    edge_seen: bool
    warnings: tuple[str, ...] = ()

    @property
    def middle_mm(self) -> Floats:
        """The middle of its corners, shape (2,)."""
        return np.asarray(self.polygon_mm.mean(axis=0), np.float64)

    def mask_in(self, frame: Floats, shape: tuple[int, ...], inset_mm: float) -> Mask:
        """The mask in another upright or turned frame (top left, top right, bottom left corner, mm), moved inwards."""
        inner = self.mask
        if inset_mm > 0:
            far = ndimage.distance_transform_edt(np.pad(inner, 1))[1:-1, 1:-1] * self.step_mm
            keep = far > inset_mm
            inner = keep if keep.sum() > 0.3 * inner.sum() else far > inset_mm / 3
        rows, columns = shape[:2]
        across, down = (frame[1] - frame[0]) / columns, (frame[2] - frame[0]) / rows
        matrix = np.column_stack([across, down, frame[0] - self.origin_mm + 0.5 * (across + down)]) / self.step_mm
        matrix[:, 2] -= 0.5
        flags = cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
        return np.asarray(cv2.warpAffine(inner.astype(np.uint8), matrix, (columns, rows), flags=flags), np.bool_)


def set_up(
    photo: Photo,
    reference: str | float,
    *,
    bar_mm: float | None = None,
    distance_mm: float | None = None,
    paper_mm: tuple[float, float] | None = None,
) -> Setting:
    """Find the reference in the photo.

    Raises:
        InputError: no such reference.
        PictureError: it is not in the photo, or cannot be used; with advice.
    """
    if isinstance(reference, int | float):
        if not 1e-4 < reference < 100:
            raise InputError(
                "mm per pixel",
                expected="0.0001 to 100",
                got=str(reference),
                next_step="Type how many mm one pixel shows",
            )
        plane = typed_plane(float(reference), photo.size)
        return Setting(plane, "scale", True, SCALE_ERROR_PERCENT["typed"])
    if reference not in REFERENCES:
        raise InputError(
            "reference", expected=f"one of {', '.join(REFERENCES)}, or mm per pixel", got=repr(reference),
            next_step="Choose one of them",
        )  # fmt: skip
    if reference == "none":
        return Setting(typed_plane(1.0, photo.size), "none", False, None)
    return _on_sheet(photo, bar_mm)


def _on_sheet(photo: Photo, bar_mm: float | None) -> Setting:
    found = find_sheet(photo, bar_mm=ref.BAR_MM if bar_mm is None else bar_mm)
    if isinstance(found, Failure):
        raise refused(found)
    factor = 1.0 if bar_mm is None else bar_mm / ref.BAR_MM
    seen = read_light(photo.rgb, found.plane, found.paper, factor)
    width, height = (v * factor for v in ref.paper_size(found.paper))
    error = SCALE_ERROR_PERCENT["sheet" if bar_mm is None else "measured sheet"]
    if len(found.markers) < 4:
        error += 0.2
    return Setting(
        found.plane, "sheet", True, error, seen.light, seen, found.paper,
        np.array([[0, 0], [width, 0], [width, height], [0, height]]), factor, (*found.warnings, *seen.warnings),
    )  # fmt: skip


def find_cloth(photo: Photo, setting: Setting, area: tuple[float, float, float, float] | None) -> Cloth:
    """Find the cloth on its ground, or take the area that was marked.

    Raises:
        PictureError: the area lies outside the photo, or the cloth cannot be told from the ground.
    """
    if area is not None:
        return _marked(photo, setting, area)
    if setting.sheet_light is not None and setting.paper is not None:
        return _cloth_on_sheet(setting, setting.sheet_light, setting.paper)
    width, height = photo.size
    middle = (0.2 * width, 0.2 * height, 0.6 * width, 0.6 * height)
    cloth = _marked(photo, setting, middle)
    said = ("No area was marked: the middle of the picture is taken for the cloth.",)
    return Cloth(
        cloth.mask, cloth.value, cloth.origin_mm, cloth.step_mm, cloth.polygon_mm, 0.0, False, cloth.warnings + said
    )


def refused(failure: Failure) -> PictureError:
    """A failure as an error that stops the reading."""
    return _Refused(failure)


class _Refused(PictureError):
    """A photo in which the reference or the cloth cannot be found: reason and advice are the sentence."""

    def __init__(self, failure: Failure) -> None:
        super().__init__("photo", expected="a usable reference", got=failure.reason, next_step=failure.advice)
        self.args = (f"{failure.reason}. {failure.advice}.",)


def _marked(photo: Photo, setting: Setting, area: tuple[float, float, float, float]) -> Cloth:
    x, y, w, h = area
    width, height = photo.size
    left, top, right, bottom = max(x, 0), max(y, 0), min(x + w, width), min(y + h, height)
    if w <= 0 or h <= 0 or right - left < 8 or bottom - top < 8:
        raise PictureError(
            "area of the cloth", expected=f"left,top,width,height within {width}×{height} px",
            got=",".join(f"{v:g}" for v in area), next_step="Mark a part of the photo that shows cloth",
        )  # fmt: skip
    px = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], np.float64)
    mm = setting.plane.to_mm(px)
    low, high = mm.min(axis=0), mm.max(axis=0)
    step = float((high - low).max()) / 600
    shape = np.maximum(np.ceil((high - low) / step).astype(int), 1)
    mask = np.zeros((shape[1], shape[0]), np.uint8)
    cv2.fillPoly(mask, [np.rint((mm - low) / step * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    inside = mask.astype(np.bool_)
    return Cloth(inside, inside.astype(np.float32) * 2, low, step, mm, 0.0, False)


def _cloth_on_sheet(setting: Setting, seen: SheetLight, paper: str) -> Cloth:
    lab = linear_to_lab(np.clip(seen.sheet, 0, 1.2)).astype(np.float32)
    printed = ref.sheet_picture(paper, SHEET_MM_PER_PX)
    printed = cv2.resize(printed, (lab.shape[1], lab.shape[0]), interpolation=cv2.INTER_AREA)
    difference, limit = ground_difference(lab, seen.bare)
    left, top, right, bottom = (round(v / SHEET_MM_PER_PX) for v in ref.field(paper))
    faint = cv2.dilate((printed < 250).astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    differs = difference > np.where(faint, np.float32(limit + 14), np.float32(limit))
    inked = faint.copy()
    inked[top + 4 : bottom - 4, left + 4 : right - 4] = False
    differs &= ~inked
    mask = largest(cleaned(differs, 0.8 / SHEET_MM_PER_PX))
    step = SHEET_MM_PER_PX * setting.factor
    if mask.sum() < LEAST_CLOTH_SHARE * (bottom - top) * (right - left):
        raise refused(
            Failure(
                "No cloth can be told from the white paper",
                "Mark the cloth in the photo, or lay it on darker paper with the sheet's corners in view",
            )
        )
    warnings = []
    if _touches_markers(mask, paper):
        warnings.append("The cloth reaches over the sheet's print; the edge there is not measured.")
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outline = max(contours, key=cv2.contourArea)[:, 0].astype(np.float64) + 0.5
    hull = cv2.convexHull(outline.astype(np.float32))[:, 0].astype(np.float64)
    return Cloth(
        mask, (difference / limit).astype(np.float32), np.zeros(2), step, hull * step, lie_angle(mask), True,
        tuple(warnings),
    )  # fmt: skip


def _touches_markers(mask: Mask, paper: str) -> bool:
    left, top, right, bottom = (round(v / SHEET_MM_PER_PX) for v in ref.field(paper))
    outside = mask.copy()
    outside[top - 8 : bottom + 8, left - 8 : right + 8] = False
    return bool(outside.sum() > 200)
