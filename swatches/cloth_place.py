"""Where the cloth lies in a photo: told from the sheet or a plain ground, round a paper or card, or marked by hand."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from shapely.geometry import Polygon

from swatches import reference as ref
from swatches.calibrate import SHEET_MM_PER_PX, SheetLight
from swatches.cloth_beside import beside, gone_round, without_reference
from swatches.cloth_shape import ClothPlace, Floats, Mask, placed, polygon_place
from swatches.colour import linear_to_lab
from swatches.errors import Failure, PictureError
from swatches.ground import MOST_SPREAD, cleaned, ground_difference, pieces
from swatches.photo import Photo
from swatches.setting import Setting, refused

Area = tuple[float, float, float, float]

LEAST_CLOTH_SHARE = 0.02
_LEAST_GUESSED = (
    0.06  # of a photo whose scale nothing tells: less is a leaf in the grass, and no cloth laid on a ground
)
GROUND_SIDE_PX = 1500
_CLEAN_MM = 0.8
CARD_COVER_MM, CARD_GROUND_MM = 60.0, 95.0
"""Round the middle of a loose card: within the first lies the card, within the second surely ground."""
CARDS_REACH_MM = 90.0
"""How far cloth may reach out between the cards."""


def find_cloth(photo: Photo, setting: Setting, area: Area | None, outline_px: Floats | None = None) -> ClothPlace:
    """Find the cloth on its ground, or take what was marked.

    Args:
        photo: the photo.
        setting: with its reference understood.
        area: where the person says that the cloth is, px: left, top, width, height.
        outline_px: what the person drew round the cloth, px, shape (n, 2); it counts before the area.

    Raises:
        PictureError: the mark lies outside the photo or goes round the reference, or the cloth cannot be told from the
            ground.
    """
    if outline_px is not None:
        return gone_round(photo, setting, _usable(outline_px, photo.size), _apart(photo, setting))
    if area is not None:
        return _marked(photo, setting, area)
    if setting.sheet_light is not None and setting.paper is not None:
        return _on_sheet(setting, setting.sheet_light, setting.paper) or _else_beside(photo, setting)
    if setting.reference == "paper" and setting.corners_mm is not None:
        inside = _on_paper(photo, setting, setting.corners_mm)
        if inside is not None:
            return inside
    found = beside(photo, setting)
    if found is not None:
        return found
    if setting.reference in ("paper", "card") and setting.corners_mm is not None:
        return _round_reference(photo, setting, setting.corners_mm)
    on_ground = _on_ground(photo, setting)
    if on_ground is not None:
        return on_ground
    if setting.cards_mm is not None:
        raise refused(
            Failure("The cloth cannot be told from the ground", "Lay it on a plain ground of quite another colour")
        )
    width, height = photo.size
    place = _marked(photo, setting, (0.2 * width, 0.2 * height, 0.6 * width, 0.6 * height))
    said = ("No area was marked: the middle of the picture is taken for the cloth.",)
    return replace(place, warnings=said)


def _else_beside(photo: Photo, setting: Setting) -> ClothPlace:
    """Cloth that lies beside a bare sheet.

    Raises:
        PictureError: there is none that could be told.
    """
    found = beside(photo, setting)
    if found is None:
        raise refused(
            Failure(
                "No cloth can be told from the white paper",
                "Mark the cloth in the photo, or lay it on darker paper with the sheet's corners in view",
            )
        )
    return found


def _apart(photo: Photo, setting: Setting) -> Floats | None:
    """Corners of the reference where it is sure that it lies beside the cloth or on it, and is none itself."""
    if setting.corners_mm is None or setting.reference == "sheet":
        return None
    under = setting.reference == "paper" and _on_paper(photo, setting, setting.corners_mm) is not None
    return None if under else setting.corners_mm


def _marked(photo: Photo, setting: Setting, area: Area) -> ClothPlace:
    x, y, w, h = area
    width, height = photo.size
    left, top, right, bottom = max(x, 0), max(y, 0), min(x + w, width), min(y + h, height)
    if w <= 0 or h <= 0 or right - left < 8 or bottom - top < 8:
        raise PictureError(
            "area of the cloth", expected=f"left,top,width,height within {width}×{height} px",
            got=",".join(f"{v:g}" for v in area), next_step="Mark a part of the photo that shows cloth",
        )  # fmt: skip
    mm = setting.plane.to_mm(np.array([[left, top], [right, top], [right, bottom], [left, bottom]], np.float64))
    return without_reference(mm, _apart(photo, setting))


def _usable(outline_px: Floats, size: tuple[int, int]) -> Floats:
    """The outline within the photo.

    Raises:
        PictureError: it has no area there, or crosses itself.
    """
    inside = np.clip(outline_px, 0, np.array(size, np.float64))
    shape = Polygon(inside) if len(inside) >= 3 else Polygon()
    if not shape.is_valid or shape.area < 64:
        raise PictureError(
            "outline of the cloth", expected="three points or more, one after the other round the cloth",
            got="lines that cross" if not shape.is_valid else "none with an area in the photo",
            next_step="Go round the cloth again",
        )  # fmt: skip
    return np.asarray(inside, np.float64)


def _on_sheet(setting: Setting, seen: SheetLight, paper: str) -> ClothPlace | None:
    """Cloth that lies on the printed sheet; None when the sheet is bare, or the cloth as white as it."""
    lab = linear_to_lab(np.clip(seen.sheet, 0, 1.2)).astype(np.float32)
    printed = ref.sheet_picture(paper, SHEET_MM_PER_PX)
    printed = np.asarray(cv2.resize(printed, (lab.shape[1], lab.shape[0]), interpolation=cv2.INTER_AREA), np.uint8)
    difference, limit = ground_difference(lab, seen.bare)
    left, top, right, bottom = (round(v / SHEET_MM_PER_PX) for v in ref.field(paper))
    faint = cv2.dilate((printed < 250).astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    differs = difference > np.where(faint, np.float32(limit + 14), np.float32(limit))
    differs |= _covered_print(difference > limit, faint)
    inked = faint.copy()
    inked[top + 4 : bottom - 4, left + 4 : right - 4] = False
    differs &= ~inked
    mask, said = pieces(
        cleaned(differs, _CLEAN_MM / SHEET_MM_PER_PX), 400 / SHEET_MM_PER_PX**2, 20 / SHEET_MM_PER_PX**2
    )
    if mask.sum() < LEAST_CLOTH_SHARE * (bottom - top) * (right - left):
        return None
    outside = mask.copy()
    outside[top - 8 : bottom + 8, left - 8 : right + 8] = False
    if outside.sum() > 200:
        said = (*said, "The cloth reaches over the sheet's print; the edge there is not measured.")
    return placed(mask, difference, limit, np.zeros(2), SHEET_MM_PER_PX * setting.factor, said)


def _covered_print(differs: Mask, faint: Mask) -> Mask:
    """Print that lies under cloth: what is not paper there, where the paper round it is covered too.

    Light cloth differs from paper no more than faint print does, so the print alone cannot tell.
    """
    count, labels = cv2.connectedComponents(faint.astype(np.uint8))
    near = cv2.dilate(labels.astype(np.float32), np.ones((9, 9), np.uint8)).astype(np.int64)
    ring = (near > 0) & ~faint
    around = np.bincount(near[ring], minlength=count)
    covered = np.bincount(near[ring & differs], minlength=count)
    under = covered > 0.6 * np.maximum(around, 1)
    under[0] = False
    return np.asarray(differs & under[labels], np.bool_)


def _on_paper(photo: Photo, setting: Setting, corners: Floats) -> ClothPlace | None:
    """Cloth that lies on a plain sheet of paper; None when the paper is bare."""
    width, height = corners[2]
    step = SHEET_MM_PER_PX
    box = (2.0, 2.0, float(width) - 2, float(height) - 2)
    seen = setting.plane.rectified(photo.rgb, box, step)
    lab = linear_to_lab(np.clip(seen / max(float(np.quantile(seen, 0.98)), 1e-3), 0, 1.2)).astype(np.float32)
    margin = np.zeros(lab.shape[:2], np.bool_)
    edge = round(9 / step)
    margin[:edge], margin[-edge:], margin[:, :edge], margin[:, -edge:] = True, True, True, True
    difference, limit = ground_difference(lab, margin)
    mask, said = pieces(cleaned(difference > limit, _CLEAN_MM / step), 400 / step**2, 20 / step**2)
    if not LEAST_CLOTH_SHARE < mask.mean() < 0.9:
        return None
    return placed(mask, difference, limit, np.array([2.0, 2.0]), step, said)


def _round_reference(photo: Photo, setting: Setting, corners: Floats) -> ClothPlace:
    """All that the photo shows round a paper or card that lies on the cloth."""
    width, height = photo.size
    inset = 0.02 * max(width, height)
    frame = np.array([[inset, inset], [width - inset, inset], [width - inset, height - inset], [inset, height - inset]])
    middle = corners.mean(axis=0)
    away = corners - middle
    grown = corners + away / np.linalg.norm(away, axis=1, keepdims=True) * 9.0
    place = polygon_place(setting.plane.to_mm(frame), grown)
    said: tuple[str, ...] = (
        "The cloth is taken to be all that lies round the reference: go round it if that is wrong.",
    )
    if setting.reference == "card":
        said += ("A card tells sizes only near itself: beyond 100 mm from it they are uncertain.",)
    return replace(place, warnings=said)


def _on_ground(photo: Photo, setting: Setting) -> ClothPlace | None:
    """Cloth on a plain ground that runs all round it; None when there is no such ground or nothing on it."""
    width, height = photo.size
    corners = setting.plane.to_mm(np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64))
    low, high = np.sort(corners, axis=0)[1], np.sort(corners, axis=0)[2]  # the upright box inside the photo
    if (high - low <= 0).any():
        return None
    step = float((high - low).max()) / GROUND_SIDE_PX
    step = max(step, setting.plane.mm_per_px((low + high) / 2))
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    seen = setting.plane.rectified(photo.rgb, box, step)
    if min(seen.shape[:2]) < 60:
        return None
    lab = linear_to_lab(np.clip(seen, 0, 1.2)).astype(np.float32)
    if setting.cards_mm is None:
        ground = np.zeros(lab.shape[:2], np.bool_)
        edge = max(4, round(0.035 * max(lab.shape)))
        ground[:edge], ground[-edge:], ground[:, :edge], ground[:, -edge:] = True, True, True, True
        covered = np.zeros_like(ground)
    else:
        ground, covered = _round_cards((setting.cards_mm - low) / step, lab.shape[:2], step)
    difference, limit = ground_difference(lab, ground & ~covered)
    if limit > MOST_SPREAD:
        return None
    differs = (difference > limit) & ~covered
    reach = _CLEAN_MM / step if setting.scale_known else 2.0
    small, tiny = (400 / step**2, 20 / step**2) if setting.scale_known else (400.0, 40.0)
    mask, said = pieces(cleaned(differs, reach), max(small, 400), max(tiny, 9))
    touching = max(float(side.mean()) for side in (mask[0], mask[-1], mask[:, 0], mask[:, -1]))
    least = LEAST_CLOTH_SHARE if setting.scale_known else _LEAST_GUESSED
    if not least < mask.mean() < 0.9 or touching > 0.02:
        return None
    return placed(mask, difference, limit, low, step, said)


def _round_cards(middles: Floats, shape: tuple[int, ...], step: float) -> tuple[Mask, Mask]:
    """Ground close to each card, and what is left out: the cards, and what is far outside the ring of them."""
    ground, cards, near = (np.zeros(shape[:2], np.uint8) for _ in range(3))
    places = np.rint(middles).astype(np.int32)
    for x, y in places:
        cv2.circle(ground, (int(x), int(y)), round(CARD_GROUND_MM / step), 1, -1)
        cv2.circle(cards, (int(x), int(y)), round(CARD_COVER_MM / step), 1, -1)
    hull = cv2.convexHull(places)
    cv2.fillConvexPoly(near, hull, 1)
    cv2.polylines(near, [hull], True, 1, round(2 * CARDS_REACH_MM / step))
    return ground.astype(np.bool_), cards.astype(np.bool_) | ~near.astype(np.bool_)
