"""Line drawing → areas, by one trapped ball.

A ball as wide as the largest gap that may stand in a line cannot roll from one area into the next. Its centres (the
distance transform above half the gap) fall into *cores*; the cores grow back to what the ball swept, the corners it
could not reach join the area they are most open to, and at last the ink itself goes to the nearest area, so that
borders lie on the middle of the lines. After Zhang, Chen, Zhang & Hu, *Vectorizing cartoon animations*, IEEE TVCG
15(4), 2009.

The topology of pictures above 2 megapixels is found at 1.6, whatever their size, and scaled back.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.ink import Bools, Ink, find_ink, flatten_light, grey_of, ink_strength
from mockup.garment.joining import (
    border_table,
    join_crumbs,
    join_dashed,
    join_leftovers,
    join_unparted,
    merged,
    nearest_label,
)
from mockup.garment.page import without_table
from mockup.garment.ruling import LEFT_OUT, without_ruling
from swatches.errors import PictureError
from swatches.job import QUIET, Job, check

WORKING_PIXELS = 2_000_000  # outlines are traced at this size
_TOPOLOGY_PIXELS = 1_600_000  # and areas found at this one, where the picture is larger than that
GAP_IN_LINE_WIDTHS = 4.0
_WIDEST_GAP, _LEAST_GAP = 0.03, 1.0  # of the drawing's long side; and in line widths, for pens thicker than that
MINIMUM_SIDE = 32
_MOST_AREAS = 400
Labels = NDArray[np.uint16]
Ints = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Regions:
    """The areas of a line drawing.

    Attributes:
        labels: uint16, shape (h, w), read-only; 0 is outside, 1 the largest area.
        ink: strength of the lines, float32 0..1, shape (h, w), read-only.
        line_width_px: width of the lines, estimated or as given, in px of the picture.
        gap_px: largest gap in a line that is taken as closed, px of the picture.
        topstitched: labels of areas that dashed lines run through, where the dashes were taken for topstitching.
        warnings: sentences for the person.
    """

    labels: Labels
    ink: NDArray[np.float32]
    line_width_px: float
    gap_px: float
    topstitched: tuple[int, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Number of areas, the outside not counted."""
        return int(self.labels.max())


def find_regions(
    picture: object,
    *,
    gap_px: float | None = None,
    line_px: float | None = None,
    dashes_are_seams: bool = False,
    job: Job = QUIET,
) -> Regions:
    """Find the areas of a line drawing.

    Args:
        picture: a :class:`~swatches.photo.Photo`, or an array: uint8 RGB (h, w, 3) or grey (h, w).
        gap_px: largest gap that still counts as a closed line, px; None: four line widths, at most 3 % of
            the drawing.
        line_px: width of the drawn lines, px; None: estimated.
        dashes_are_seams: keep the areas on both sides of a dashed line apart.
        job: told of progress.

    Raises:
        PictureError: the picture is too small, blank, or has no closed area.
    """
    pixels = pixels_of(picture)
    h, w = pixels.shape[:2]
    if min(h, w) < MINIMUM_SIDE:
        raise PictureError(
            "drawing",
            expected=f"at least {MINIMUM_SIDE} × {MINIMUM_SIDE} pixels",
            got=f"{w} × {h} pixels",
            next_step="Scan or photograph the drawing larger",
        )
    _positive("gap", gap_px, max(h, w) / 4)
    _positive("line width", line_px, max(h, w) / 8)
    job.step("Reading the lines", 0.05)
    grey = grey_of(pixels)
    unruled = without_ruling(pixels, grey)
    grey = without_table(grey if unruled is None else unruled)
    scale = 1.0 if h * w <= WORKING_PIXELS else float(np.sqrt(_TOPOLOGY_PIXELS / (h * w)))
    small = grey
    if scale < 1:
        small = cv2.resize(grey, (round(w * scale), round(h * scale)), interpolation=cv2.INTER_AREA)
    ink = find_ink(small, None if line_px is None else line_px * scale)
    share = float(ink.mask.mean())
    if share < 1e-4:
        raise _nothing("a blank picture", "Check that this is the drawing, or photograph it in even light")
    check(job)
    job.step("Finding the areas", 0.35)
    warnings = ["Light lines on dark ground were read as a drawing on dark paper."] if ink.inverted else []
    warnings += [] if unruled is None else [LEFT_OUT]
    if share > 0.45:
        warnings.append(
            "Almost half of this picture is dark: it looks like a photo. "
            "If it is one, add it as a photo and draw round the garment."
        )
    labels, gap, stitched = _areas_with_patience(ink, gap_px, scale, dashes_are_seams, warnings, job)
    warnings += _cut_off(labels)
    if labels.max() == 1 and not warnings:
        warnings.append(
            "Everything is one area. Lines that should divide it may stop short of each other: draw a stroke where it "
            "divides, or let wider gaps in the lines count as closed. Both are under 'What garment?', 'The areas in "
            "the picture'; by command they are 'mockup area split' and 'mockup area read' with --gap."
        )
    job.step("Drawing the lines", 0.8)
    reach = int(np.ceil(ink.line_width_px)) | 1
    near = cv2.dilate(ink.mask.view(np.uint8), np.ones((reach, reach), np.uint8))
    # the garment and its own lines; what else is on the paper stays away
    around = 2 * int(np.ceil(3 * ink.line_width_px)) + 1
    near = (near & cv2.dilate((labels > 0).view(np.uint8), np.ones((around, around), np.uint8))) > 0
    if scale < 1:
        full = np.asarray(255 - grey, np.uint8) if ink.inverted else grey
        # whole grey levels are fine enough here, and a float surface of a large picture is not small
        surface = np.clip(np.rint(ink.paper), 1, 255).astype(np.uint8)
        # only the box round the drawing: what lies about it has no ink
        part, box = _box_round(near, (w, h))
        paper = cv2.resize(surface[part], (box[1].stop - box[1].start, box[0].stop - box[0].start))
        strength = np.zeros((h, w), np.float32)
        strength[box] = ink_strength(flatten_light(full[box], paper), near[part])
        strength.flags.writeable = False
        labels = cv2.resize(labels, (w, h), interpolation=cv2.INTER_NEAREST)
    else:
        strength = ink_strength(ink.flat, near)
    labels.flags.writeable = False
    job.step("Areas found", 1.0)
    return Regions(labels, strength, ink.line_width_px / scale, gap / scale, stitched, tuple(warnings))


def _box_round(near: Bools, size: tuple[int, int]) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
    """Rows and columns round what is True, in the small picture and, at the same places, in one of ``size``."""
    x, y, w, h = cv2.boundingRect(near.view(np.uint8))
    if not w or not h:
        x, y, w, h = 0, 0, near.shape[1], near.shape[0]
    down, across = size[1] / near.shape[0], size[0] / near.shape[1]
    whole = (
        slice(round(y * down), max(round((y + h) * down), round(y * down) + 1)),
        slice(round(x * across), max(round((x + w) * across), round(x * across) + 1)),
    )
    return (slice(y, y + h), slice(x, x + w)), whole


def _areas_with_patience(
    ink: Ink,
    gap_px: float | None,
    scale: float,
    dashes_are_seams: bool,
    warnings: list[str],
    job: Job,
) -> tuple[Labels, float, tuple[int, ...]]:
    """Find areas; where the gap is ours to choose and nothing is closed, try wider gaps before giving up."""
    gap = gap_px * scale if gap_px is not None else _usual_gap(ink)
    for factor in (1.0, 1.6, 2.5) if gap_px is None else (1.0,):
        check(job)
        labels, stitched = _areas(ink, gap * factor, dashes_are_seams)
        if labels.max() > _MOST_AREAS:
            raise _nothing(f"{labels.max()} areas", "Use a clean line drawing; add a photo as a photo")
        if labels.max() > 0:
            if factor > 1:
                warnings.append(
                    f"The outline has wide gaps: gaps up to {gap * factor / scale:.0f} px were taken as closed. "
                    "Look whether the areas are right."
                )
            return labels, gap * factor, stitched
    taken = f"gaps up to {(gap_px or gap * 2.5 / scale):.0f} px were taken as closed already"
    raise _nothing("lines but no closed area", f"Draw the outline closed: {taken}")


def _usual_gap(ink: Ink) -> float:
    """Gap size by line width; but lines of a thick pen are no reason to swallow collars, cuffs and bands."""
    widest = _WIDEST_GAP * max(cv2.boundingRect(ink.mask.view(np.uint8))[2:])
    return float(max(6.0, min(GAP_IN_LINE_WIDTHS * ink.line_width_px, max(widest, _LEAST_GAP * ink.line_width_px))))


def _areas(ink: Ink, gap: float, dashes_are_seams: bool) -> tuple[Labels, tuple[int, ...]]:
    """Find the areas between ink: uint16 labels at the ink's size, largest first, 0 outside."""
    whole = np.zeros(ink.mask.shape, np.uint16)
    box = _room_round(ink.mask, gap)
    part = replace(ink, mask=np.ascontiguousarray(ink.mask[box]), core=np.ascontiguousarray(ink.core[box]))
    whole[box], stitched = _areas_within(part, gap, dashes_are_seams)
    return whole, stitched


def _room_round(mask: Bools, gap: float) -> tuple[slice, slice]:
    """Rows and columns round all ink, with room for the ball to roll round the drawing."""
    x, y, w, h = cv2.boundingRect(mask.view(np.uint8))
    room = int(np.ceil(1.5 * gap)) + 8
    return slice(max(0, y - room), y + h + room), slice(max(0, x - room), x + w + room)


def _areas_within(ink: Ink, gap: float, dashes_are_seams: bool) -> tuple[Labels, tuple[int, ...]]:
    free = np.asarray(~ink.mask)
    radius = gap / 2 + 0.5
    room = cv2.distanceTransform(free.view(np.uint8), cv2.DIST_L2, 5)
    cores = np.asarray(room > radius)
    count, numbered = cv2.connectedComponents(cores.view(np.uint8), connectivity=4, ltype=cv2.CV_32S)
    if count < 2:
        return np.zeros(free.shape, np.uint16), ()
    away, nearest = nearest_label(numbered, cores)
    swept = np.where(free & (away <= radius), nearest, 0).astype(np.int32)
    found = int(swept.max())
    swept = join_leftovers(swept, free, gap)
    swept = _with_solids(swept, ink.mask, ink.line_width_px, gap)
    _, labels = nearest_label(swept, swept > 0)
    borders = border_table(labels, np.asarray(~ink.core))
    target = join_unparted(borders, labels, gap, _outside(labels), found)
    labels, borders = merged(labels, borders, target)
    stitched: NDArray[np.intp] = np.zeros(0, np.intp)
    if not dashes_are_seams:
        target, stitched = join_dashed(borders, labels, gap, _outside(labels))
        labels, borders = merged(labels, borders, target)
        stitched = target[stitched]
    target = join_crumbs(borders, labels, 4 * gap * gap, _outside(labels))
    labels, _ = merged(labels, borders, target)
    stitched = target[stitched] if len(stitched) else stitched
    sizes = np.bincount(labels.ravel())
    sizes[list(_outside(labels))] = 0
    order = np.argsort(-sizes, kind="stable")
    order = order[sizes[order] > 0]
    rank = np.zeros(len(sizes), np.uint16)
    rank[order] = np.arange(1, len(order) + 1)
    return rank[labels], tuple(sorted({int(rank[s]) for s in stitched if rank[s]}))


def _with_solids(swept: Ints, ink: Bools, line: float, gap: float) -> Ints:
    """Make areas of what is inked all over: far wider than a line, and no part of a dark table round the paper."""
    depth = cv2.distanceTransform(ink.view(np.uint8), cv2.DIST_L2, 5)
    solid = np.asarray(depth > 1.5 * line + 1)
    if not solid.any():
        return swept
    count, numbered, stats, _ = cv2.connectedComponentsWithStats(solid.view(np.uint8), connectivity=4)
    h, w = ink.shape
    margin = 2 * line + 2
    x, y, wide, high = (stats[:, k] for k in range(4))
    keep = (stats[:, cv2.CC_STAT_AREA] > gap * gap) & (x > margin) & (y > margin)
    keep &= (x + wide < w - margin) & (y + high < h - margin)
    keep[0] = False
    value = np.zeros(count, np.int32)
    value[keep] = int(swept.max()) + 1 + np.arange(int(keep.sum()), dtype=np.int32)
    return np.where(value[numbered] > 0, value[numbered], swept).astype(np.int32)


def _outside(labels: Ints) -> set[int]:
    """Labels that own a corner of the picture: what lies round the garment."""
    return {int(labels[y, x]) for y in (0, -1) for x in (0, -1)}


def _cut_off(labels: Labels) -> list[str]:
    edge = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    if (edge > 0).mean() < 0.002:
        return []
    return [
        "The garment touches the edge of the picture, so a part of it is cut off. "
        "Take the picture again with a margin round it."
    ]


def pixels_of(picture: object) -> NDArray[np.uint8]:
    """Give the pixels of a photo or an array, uint8; what is clear lies on white.

    Raises:
        PictureError: it is neither.
    """
    alpha = getattr(picture, "alpha", None)
    found = picture if isinstance(picture, np.ndarray) else getattr(picture, "rgb8", None)
    if not isinstance(found, np.ndarray) or found.dtype != np.uint8 or found.ndim not in (2, 3) or found.size == 0:
        shape = getattr(found, "shape", type(picture).__name__)
        raise PictureError(
            "drawing",
            expected="a picture with 8 bits a channel, grey or RGB",
            got=str(shape),
            next_step="Open the file with the photo reader first",
        )
    if alpha is not None and (alpha < 255).any():
        # a transparent drawing lies on white paper
        a = alpha[..., None].astype(np.uint16)
        found = ((found * a + 255 * (255 - a)) // 255).astype(np.uint8)
    return found


def _positive(what: str, value: float | None, most: float) -> None:
    if value is not None and not (np.isfinite(value) and 0.5 <= value <= most):
        raise PictureError(
            what,
            expected=f"between 0.5 and {most:.0f} px",
            got=f"{value:g} px",
            next_step="Leave it out to have it estimated",
        )


def _nothing(got: str, next_step: str) -> PictureError:
    return PictureError("drawing", expected="lines that close at least one area", got=got, next_step=next_step)
