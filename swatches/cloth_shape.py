"""Where cloth lies on the plane, as a mask with a soft edge: what the search for it gives and the tracing takes."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from swatches.ground import lie_angle

Floats = NDArray[np.float64]
Values = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class ClothPlace:
    """Where the cloth is on the plane.

    Attributes:
        mask: shape (h, w), rows along y; several pieces, holes left open.
        value: 0 on the ground, 1 on the cloth, 0.5 at its edge; float32, shape (h, w).
        origin_mm: plane position of the mask's outer corner.
        step_mm: mm per px of the mask.
        polygon_mm: corners of the piece that is read, on the plane, shape (n, 2).
        angle_deg: how far it lies off square, y down.
        edge_seen: whether its edge is in view (else the mask is just an area that was marked).
        warnings: one sentence each.
        inset_mm: how much further inside the safe outline has to be, since the cloth is measured no better.
    """

    mask: Mask
    value: Values
    origin_mm: Floats
    step_mm: float
    polygon_mm: Floats
    angle_deg: float
    edge_seen: bool
    warnings: tuple[str, ...] = ()
    inset_mm: float = 0.0

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


def polygon_place(mm: Floats, without: Floats | None = None) -> ClothPlace:
    """Everything within a polygon on the plane, shape (n, 2), but for another polygon."""
    low, high = mm.min(axis=0), mm.max(axis=0)
    step = float((high - low).max()) / 600
    shape = np.maximum(np.ceil((high - low) / step).astype(int), 1)
    mask = filled(mm, low, step, shape)
    if without is not None:
        mask &= ~filled(without, low, step, shape)
    return ClothPlace(mask, mask.astype(np.float32), low, step, mm, 0.0, False)


def filled(mm: Floats, low: Floats, step: float, shape: NDArray[np.int_]) -> Mask:
    """A polygon on the plane as a mask of ``shape`` (columns, rows) whose outer corner lies at ``low``."""
    mask = np.zeros((int(shape[1]), int(shape[0])), np.uint8)
    cv2.fillPoly(mask, [np.rint((mm - low) / step * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    return mask.astype(np.bool_)


def placed(
    mask: Mask, difference: Values, limit: float, origin: Floats, step: float, said: tuple[str, ...]
) -> ClothPlace:
    """A mask told from its ground, with the edge to a fraction of a pixel out of the difference from that ground."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outline = max(contours, key=cv2.contourArea)[:, 0].astype(np.float64) + 0.5
    hull = cv2.convexHull(outline.astype(np.float32))[:, 0].astype(np.float64)
    only = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(only, [max(contours, key=cv2.contourArea)], -1, 1, -1)
    value = edge_value(mask, difference, limit, max(1.0, 1.2 / step))
    return ClothPlace(mask, value, origin, step, hull * step + origin, lie_angle(only.astype(np.bool_)), True, said)


def edge_value(mask: Mask, difference: Values, limit: float, reach: float) -> Values:
    """Share of cloth at each place: 0.5 where the difference is half of what the cloth near there has."""
    far_in = ndimage.distance_transform_edt(mask)
    inner = (far_in > reach) & (far_in < 5 * reach)
    weight = cv2.GaussianBlur(inner.astype(np.float32), (0, 0), 2.5 * reach)
    near = cv2.GaussianBlur(np.where(inner, difference, 0).astype(np.float32), (0, 0), 2.5 * reach)
    own = np.where(weight > 0.01, near / np.maximum(weight, 1e-6), difference[mask].mean())
    value = np.clip(difference / np.maximum(own, limit), 0, 1)
    value = np.where(far_in > 1.5 * reach, 1.0, value)
    far_out = ndimage.distance_transform_edt(~mask)
    return np.where(far_out > 1.5 * reach, 0.0, value).astype(np.float32)
