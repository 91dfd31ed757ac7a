"""Cloth that lies on a table beside a paper, card or chart: told from the table, or gone round by hand.

The table is what reaches the photo's border all round; what differs from it, but for the reference itself, is cloth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from swatches.cloth_shape import ClothPlace, Floats, Mask, Values, filled, placed, polygon_place
from swatches.colour import linear_to_lab
from swatches.errors import PictureError
from swatches.ground import MOST_SPREAD, cleaned, ground_difference, pieces
from swatches.photo import Photo
from swatches.plane import Plane
from swatches.setting import Setting

SIDE_PX = 900
"""How many px the photo's longer side has where cloth is looked for: finer found no other edges, only more slowly."""
OFF_PERCENT = {"paper": 1.0, "sheet": 1.0, "card": 4.0}
"""Expected error of lengths of half a metre beside the reference, where the photo was taken up to 20° off from above.
Measured over 12 views of 58 × 64 cm beside A4: worst 0.6 % (area 1.1 %), to which ISO 216 adds up to 1 % of the sheet's
own; over 8 views beside an ID-1 card: worst 3.9 % (area 6.5 %)."""
HAND_SHARE = 0.003
"""Of the photo's longer side: how far off the edge an outline may be that was drawn by hand (our own choice)."""
MOST_PIECES = 6
LEAST_SHARE, LEAST_PIECE = 0.03, 0.004
"""Of the photo: of all cloth together, and of one piece. Motifs of a print that fills the photo are smaller."""
TOUCHES = 0.03
"""A piece of whose edge more than this lies on the photo's border is not all in view."""
CLOSED_SHARES = (0.0008, 0.003, 0.006, 0.012)
"""Of the photo's longer side: gaps of up to twice as much are closed, as stripes of the table's colour leave them."""
STREAK = 0.008
"""Of the photo's longer side: half the width of streaks of the table that are not taken for tips of the cloth."""
REFERENCE_ROOM = 0.03
"""Of the reference's longer side: so much round it is not looked at, for its shadow."""
NOT_CLEAR = "Parts of this cloth look like the table: where its outline is wrong, go round the cloth yourself."
AS_DRAWN = "The outline is as you drew it: no edge of the cloth was found along it."
CUT_OFF = "Cloth that reaches out of the photo has no outline: take the whole piece into view."
MOSTLY_REFERENCE = 0.5
_SNAP = 0.008  # of the photo's longer side: how far off the cloth's edge an outline drawn by hand may run


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """The whole photo from straight above; ``inside`` is False where the photo shows nothing."""

    lab: NDArray[np.float32]
    inside: Mask
    low: Floats
    step: float
    side: float

    def polygon(self, mm: Floats) -> Mask:
        return filled(mm, self.low, self.step, np.array(self.inside.shape[::-1]))


def beside(photo: Photo, setting: Setting) -> ClothPlace | None:
    """Find the pieces of cloth that lie on the table beside the reference.

    Returns:
        their place; None when nothing differs from what reaches the border, or so much that it is no plain table.
    """
    if setting.corners_mm is None:
        return None
    view = _view(photo, setting.plane)
    if view is None:
        return None
    covered = view.polygon(_grown(setting.corners_mm))
    depth = ndimage.distance_transform_edt(np.pad(view.inside, 1))[1:-1, 1:-1]
    table = view.inside & (depth < 0.035 * view.side / view.step) & ~covered
    difference, limit = ground_difference(view.lab, table)
    limit = _above_grain(difference[table], limit)
    if limit > MOST_SPREAD:
        return None
    mask, said = _told(view, (difference > limit) & view.inside & ~covered)
    mask = _without_streaks(mask, difference, STREAK * view.side / view.step)
    whole, cut_off, count = _in_view(mask, depth)
    found = whole if whole.any() else cut_off
    if not 1 <= count <= MOST_PIECES or found.sum() < LEAST_SHARE * view.inside.sum():
        return None
    if float(difference[found].mean()) < 1.5 * limit:
        return None
    said += (CUT_OFF,) if cut_off.any() else ()
    place = _placed(found, difference, limit, view, said)
    return _with_error(replace(place, edge_seen=bool(whole.any())), setting)


def _placed(mask: Mask, difference: Values, limit: float, view: _View, said: tuple[str, ...]) -> ClothPlace:
    place = placed(mask, difference, limit, view.low, view.step, said)
    if NOT_CLEAR not in said:
        return place
    # the difference tells nothing of the edge where the cloth has the table's colour
    soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 1.0)
    value = np.where(mask, np.maximum(soft, 0.51), np.minimum(soft, 0.49)).astype(np.float32)
    return replace(place, value=value)


def gone_round(photo: Photo, setting: Setting, outline_px: Floats, apart: Floats | None) -> ClothPlace:
    """Take what lies within an outline that the person drew, and let it follow the cloth's edge where there is one.

    Args:
        photo: the photo.
        setting: with its reference understood.
        outline_px: the outline, px, shape (n, 2).
        apart: corners of the reference on the plane, shape (4, 2), where it is no cloth; or None.

    Raises:
        PictureError: what it goes round is mostly the reference.
    """
    mm = setting.plane.to_mm(outline_px)
    drawn = without_reference(mm, apart)
    view = _view(photo, setting.plane)
    place = None if view is None else _snapped(view, mm, None if apart is None else _grown(apart))
    if place is None:
        by_hand = HAND_SHARE * setting.plane.mm_per_px(drawn.middle_mm) * max(photo.size)
        place = replace(drawn, edge_seen=True, inset_mm=by_hand, warnings=(AS_DRAWN,))
    return _with_error(place, setting)


def without_reference(mm: Floats, apart: Floats | None) -> ClothPlace:
    """Everything within a mark on the plane, shape (n, 2), but for the reference.

    Raises:
        PictureError: less than half of the mark is left then.
    """
    whole = polygon_place(mm)
    place = whole if apart is None else polygon_place(mm, _grown(apart))
    if place.mask.sum() < MOSTLY_REFERENCE * whole.mask.sum():
        raise PictureError(
            "area of the cloth", expected="cloth", got="mostly the paper, card or chart itself",
            next_step="Mark the cloth that lies beside it",
        )  # fmt: skip
    return place


def _with_error(place: ClothPlace, setting: Setting) -> ClothPlace:
    """The place with what lengths on it may be off by, as the safe outline's inset and in words."""
    percent = OFF_PERCENT.get(setting.reference)
    if percent is None or not setting.scale_known or not place.edge_seen:
        return place
    long = float(max(cv2.minAreaRect(place.polygon_mm.astype(np.float32))[1]))
    name = {"paper": "sheet of paper", "sheet": "printed sheet", "card": "card"}[setting.reference]
    off = percent / 100 * long
    said = (
        f"The pieces are measured by the {name} beside them: lengths may be off by about {percent:g} %, "
        f"which is {off:.0f} mm on {long / 10:.0f} cm."
    )
    if setting.reference == "card":
        said += " A sheet of A4 beside them measures better."
    return replace(place, inset_mm=place.inset_mm + off / 2, warnings=(*place.warnings, said))


def _grown(corners: Floats) -> Floats:
    """The reference with some room round it."""
    away = corners - corners.mean(axis=0)
    room = REFERENCE_ROOM * float(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).max())
    return np.asarray(corners + away / np.linalg.norm(away, axis=1, keepdims=True) * room, np.float64)


def _view(photo: Photo, plane: Plane) -> _View | None:
    """The photo from above; None where it was taken so flatly along the table that this would be no use."""
    width, height = photo.size
    t = np.linspace(0, 1, 9)
    rim = np.concatenate([
        np.column_stack([t * width, 0 * t]), np.column_stack([0 * t + width, t * height]),
        np.column_stack([t[::-1] * width, 0 * t + height]), np.column_stack([0 * t, t[::-1] * height]),
    ])  # fmt: skip
    mm = plane.to_mm(rim)
    low, high = mm.min(axis=0), mm.max(axis=0)
    middle = plane.mm_per_px(plane.to_mm(np.array([[width / 2, height / 2]]))[0])
    side = middle * max(width, height)
    if not np.isfinite(mm).all() or float((high - low).max()) > 3 * side:
        return None
    step = max(side / SIDE_PX, middle)
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    seen = plane.rectified(photo.rgb, box, step)
    if min(seen.shape[:2]) < 60:
        return None
    inside = filled(mm, low, step, np.array(seen.shape[1::-1]))
    inside &= ndimage.binary_erosion(inside, iterations=2)
    lab = linear_to_lab(np.clip(seen, 0, 1.2)).astype(np.float32)
    return _View(lab, inside, low, step, side)


def _above_grain(table: Values, limit: float) -> float:
    """A limit above the streaks of a wooden table, which are rarer than its spread tells; cloth over it counts not."""
    own = table[table < 2.5 * limit]
    return max(limit, 1.1 * float(np.quantile(own, 0.995))) if len(own) else limit


def _told(view: _View, differs: Mask) -> tuple[Mask, tuple[str, ...]]:
    """Pieces of cloth as a mask, with as little closed as will do, and sentences for the person."""
    px = view.side / view.step
    small, tiny = LEAST_PIECE * float(view.inside.sum()), max(9.0, 2e-5 * float(view.inside.sum()))
    tried = []
    for share in CLOSED_SHARES:
        tried.append(pieces(cleaned(differs, share * px) & view.inside, small, tiny))
    most = tried[-1][0].sum()
    for k, (mask, said) in enumerate(tried):
        if mask.sum() >= 0.98 * most:
            return mask, (NOT_CLEAR,) if k > 0 or said else ()
    return tried[-1][0], (NOT_CLEAR,)


def _without_streaks(mask: Mask, difference: Values, reach_px: float) -> Mask:
    """The mask without thin parts that differ from the table much less than the cloth does."""
    size = 2 * max(1, round(reach_px)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    broad = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, disc).astype(np.bool_)
    if not broad.any():
        return mask
    labels, count = ndimage.label(mask & ~broad)
    clear = np.array(ndimage.mean(difference, labels, np.arange(count + 1))) > 0.5 * np.median(difference[broad])
    return np.asarray(broad | (clear[labels] & (labels > 0)), np.bool_)


def _in_view(mask: Mask, depth: NDArray[np.float64]) -> tuple[Mask, Mask, int]:
    """Pieces that are whole in view, pieces that the photo's border cuts off, and how many there are of both."""
    labels, count = ndimage.label(mask)
    edge = mask & ~ndimage.binary_erosion(mask)
    length = np.bincount(labels[edge], minlength=count + 1)
    rim = np.bincount(labels[edge & (depth < 4)], minlength=count + 1)
    off = rim > TOUCHES * np.maximum(length, 1)
    return mask & ~off[labels], mask & off[labels], int(count)


def _snapped(view: _View, mm: Floats, without: Floats | None) -> ClothPlace | None:
    """The cloth whose edge runs close to the outline; None where there is no such edge all round.

    Someone may well go round a part of the cloth only: then what lies just outside is cloth as well, and nothing snaps.
    """
    drawn = view.polygon(mm) & view.inside
    reach = max(3.0, _SNAP * view.side / view.step)
    out, within = (ndimage.distance_transform_edt(m) for m in (~drawn, drawn))
    barred = np.zeros_like(drawn) if without is None else view.polygon(without)
    round_it = (out > reach) & (out < 4 * reach) & view.inside & ~barred
    core = within > reach
    if round_it.sum() < 100 or core.sum() < 100:
        return None
    difference, limit = ground_difference(view.lab, round_it)
    limit = _above_grain(difference[round_it], limit)
    differs = (difference > limit) & (out < reach) & ~barred & view.inside
    if limit > MOST_SPREAD or float(differs[core].mean()) < 0.5 or float((difference > limit)[round_it].mean()) > 0.2:
        return None
    mask, said = _told(view, differs)
    mask = _largest(mask)
    if not 0.9 < mask.sum() / max(drawn.sum(), 1) < 1.1:
        return None
    return _placed(mask, difference, limit, view, said)


def _largest(mask: Mask) -> Mask:
    labels, _ = ndimage.label(mask)
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    return np.asarray(labels == sizes.argmax(), np.bool_)
