"""The remnant itself from above: each piece of cloth in a photo as a picture to scale, in its outline's own mm.

A lay is drawn over it, and a garment is painted with just the cloth that a piece covers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from swatches.cloth_place import find_cloth
from swatches.colour import linear_to_srgb8
from swatches.errors import InputError
from swatches.fabric import XY, Fabric, Remnant
from swatches.find_chart import corrected
from swatches.job import QUIET, Job, check
from swatches.kept import NAME as READING
from swatches.kept import Kept, kept_photo, load_reading
from swatches.outline import Outline, trace_outlines
from swatches.photo import Photo, Picture, read_photo
from swatches.setting import set_up

LONG_SIDE_PX = 1600
_AROUND_MM = 4.0  # of the ground is shown round the cloth
_MAX_MEGAPIXELS = 24.0


@dataclass(frozen=True, slots=True, eq=False)
class RemnantPicture:
    """A remnant from straight above.

    Attributes:
        rgb: sRGB, uint8, shape (h, w, 3), read-only.
        mm_per_px: its scale.
        corner_mm: where its upper left corner lies in the outline's mm, y up.
    """

    rgb: Picture
    mm_per_px: float
    corner_mm: XY

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Left, lower, right and upper side in the outline's mm."""
        h, w = self.rgb.shape[:2]
        x, y = self.corner_mm
        return x, y - h * self.mm_per_px, x + w * self.mm_per_px, y


def read_remnants(
    photo: Photo,
    *,
    reference: str | float = "cards",
    distance_mm: float | None = None,
    bar_mm: float | None = None,
    job: Job = QUIET,
) -> tuple[tuple[Outline, RemnantPicture], ...]:
    """Read every piece of cloth in a photo: its outline, and its picture from above in even light.

    Args:
        photo: the photo; the reference tells its scale.
        reference: as for :func:`swatches.read_swatch.read_swatch`.
        distance_mm: for 'cards': typed distance between the middles of cards 1 and 2.
        bar_mm: for 'sheet': what the person measured of its 100 mm bar.
        job: progress and cancelling.

    Returns:
        Outlines with their lower left corner at (0, 0), largest first.

    Raises:
        PictureError: no such reference, or no cloth to be told from the ground.
    """
    job.step("Finding the reference", 0.1)
    setting = set_up(photo, reference, bar_mm=bar_mm, distance_mm=distance_mm)
    if not setting.scale_known:
        raise InputError(
            "reference", expected="one that tells the scale", got=str(reference),
            next_step="Lay the printed sheet or its cards beside the cloth",
        )  # fmt: skip
    check(job)
    job.step("Finding the cloth", 0.4)
    place = find_cloth(photo, setting, None)
    found = []
    for outline in trace_outlines(place) if place.edge_seen else ():
        check(job)
        points = np.array(outline.points)
        low, high = points.min(axis=0), points.max(axis=0)
        left, top = low[0] - _AROUND_MM, -high[1] - _AROUND_MM
        right, bottom = high[0] + _AROUND_MM, -low[1] + _AROUND_MM
        middle = np.array([(left + right) / 2, (top + bottom) / 2])
        step = max(setting.plane.mm_per_px(middle), max(right - left, bottom - top) / LONG_SIDE_PX)
        seen = setting.plane.rectified(photo.rgb, (float(left), float(top), float(right), float(bottom)), step)
        if setting.light is not None:
            seen = setting.light.even(seen, np.array([[left, top], [right, top], [left, bottom]]))
        if setting.correction is not None:
            seen = np.maximum(corrected(seen, setting.correction), 0).astype(np.float32)
        rgb = linear_to_srgb8(np.clip(seen, 0, 1))
        rgb.flags.writeable = False
        corner = (float(left - low[0]), float(-top - low[1]))
        found.append((_moved(outline, low), RemnantPicture(rgb, float(step), corner)))
    return tuple(found)


def picture_of(remnant: Remnant, folder: Path, fabric: Fabric | None = None) -> RemnantPicture | None:
    """Load a remnant's picture from the folder of its fabric or stash; None when it has none to scale.

    A remnant that was traced in a photo which is kept with its fabric is seen from above out of that photo.

    Raises:
        PictureError: the picture cannot be read.
        InputError: the remnant names a file outside that folder.
    """
    if fabric is not None and READING.fullmatch(remnant.photo):
        kept = load_reading(folder, replace(fabric, reading=remnant.photo))
        return None if kept is None or not kept.scale_known else _from_kept(remnant, folder, kept)
    if not remnant.photo or remnant.photo_mm_per_px is None or remnant.photo_corner_mm is None:
        return None
    name = remnant.photo
    if Path(name).name != name or name in (".", ".."):
        raise InputError(
            f"picture of '{remnant.name}'", expected="a file name in the cloth's folder", got=name,
            next_step="Add the remnant again",
        )  # fmt: skip
    if not (Path(folder) / name).exists():
        return None
    photo = read_photo(Path(folder) / name, what=f"picture of {remnant.name}", max_megapixels=_MAX_MEGAPIXELS)
    return RemnantPicture(photo.rgb8, remnant.photo_mm_per_px, remnant.photo_corner_mm)


def _from_kept(remnant: Remnant, folder: Path, kept: Kept) -> RemnantPicture:
    """See the remnant from above in the photo that is kept; its light stays as it was."""
    points = np.array(remnant.outline)
    low, high = points.min(axis=0) - _AROUND_MM, points.max(axis=0) + _AROUND_MM
    box = (float(low[0]), float(-high[1]), float(high[0]), float(-low[1]))
    middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
    step = float(max(kept.plane.mm_per_px(middle), (high - low).max() / LONG_SIDE_PX))
    rgb = linear_to_srgb8(np.clip(kept.plane.rectified(kept_photo(folder, kept).rgb, box, step), 0, 1))
    rgb.flags.writeable = False
    return RemnantPicture(rgb, step, (box[0], float(high[1])))


def _moved(outline: Outline, by: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Outline:
    def ring(points: tuple[XY, ...]) -> tuple[XY, ...]:
        return tuple((round(x - float(by[0]), 3), round(y - float(by[1]), 3)) for x, y in points)

    return Outline(
        ring(outline.points),
        tuple(ring(h) for h in outline.holes),
        ring(outline.safe),
        tuple(ring(h) for h in outline.safe_holes),
    )
