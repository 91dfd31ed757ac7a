"""Photo → which pixels are the garment: drawn round loosely, put right with dabs, refined at the edge.

The cut is GrabCut (Rother, Kolmogorov & Blake, SIGGRAPH 2004) at 400 px on the long side, where it is as good as at
full size and answers while the hand is still there. A correction goes on from the earlier colours. The edge is then
found again at full size from the colours on both sides of it, see :mod:`mockup.garment.edge`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockup.garment.edge import refine_edge
from swatches.errors import PictureError
from swatches.job import QUIET, Job, check

SUGGESTED = "This outline is only a suggestion: draw round the garment to be sure."
"""What is said of an outline for which nothing was drawn."""

Floats = NDArray[np.float32]
Points = ArrayLike
Trimap = NDArray[np.uint8]

LONG_SIDE = 400
_FIRST, _AGAIN = 5, 2  # GrabCut rounds
_SLIP = 8  # px at 400: how far a hand-drawn outline may cut into the garment
_FOLLOWED = 2  # px at 400: how far a followed edge may be off
_DAB = 5  # px at 400, width of a dab
_ALIKE = (18.0, 5.0, 5.0)  # 8-bit Lab, beside 1.5 times the dab's own spread: light varies more over a cloth than hue
_ALIKE_MOST = 0.25  # of garment or ground that one dab may bring over to the other; more is a colour that both have
_BOX_CUTS = 0.04  # of a side of the box that the garment may touch
_WEAK_EDGE = 9.0  # of 255: mean step across the found edge, below which garment and ground look alike


@dataclass(frozen=True, slots=True, eq=False)
class Mask:
    """Which pixels are the garment.

    Attributes:
        alpha: float32 0..1, shape (h, w), read-only.
        sure: GrabCut's four classes at working size, uint8: what was drawn and dabbed, and what was found.
        ground: model of the ground's colours, to go on from.
        cloth: model of the garment's colours.
        suggestion: True where nothing was drawn: a guess that a person must look at.
        warnings: sentences for the person.
    """

    alpha: Floats
    sure: Trimap
    ground: NDArray[np.float64]
    cloth: NDArray[np.float64]
    suggestion: bool = False
    warnings: tuple[str, ...] = ()


def cut_out(
    photo: object,
    *,
    around: Points | None = None,
    box: tuple[float, float, float, float] | None = None,
    edge: Points | None = None,
    keep: Sequence[Points] = (),
    drop: Sequence[Points] = (),
    earlier: Mask | None = None,
    job: Job = QUIET,
) -> Mask:
    """Cut a garment out of its photo.

    Args:
        photo: a :class:`~swatches.photo.Photo` or an sRGB uint8 array (h, w, 3).
        around: loose outline round the garment, px, shape (n, 2), n ≥ 3.
        box: x, y, width, height round it, px.
        edge: outline that was led along its edge, px, shape (n, 2), n ≥ 3: the cut stays within a few px of it. With
            none of the three, a suggestion is made, unless ``earlier`` is given.
        keep: short strokes, each (n, 2) px, on what belongs to the garment; one bare stroke is taken too.
        drop: strokes on what does not.
        earlier: the cut that the dabs put right; it is much faster.
        job: told of progress.

    Raises:
        PictureError: the outline or box misses the photo, or nothing is left as garment.
    """
    pixels = np.ascontiguousarray(photo if isinstance(photo, np.ndarray) else photo.rgb8)  # type: ignore[attr-defined]
    if pixels.ndim != 3 or min(pixels.shape[:2]) < 16:
        raise PictureError(
            "photo",
            expected="a colour photo of at least 16 × 16 pixels",
            got=" × ".join(str(n) for n in pixels.shape[1::-1]),
            next_step="Take a larger photo",
        )
    given = getattr(photo, "alpha", None)
    if (
        given is not None
        and around is None
        and box is None
        and edge is None
        and earlier is None
        and not (given.min() > 250)
    ):
        return _transparent(given)
    job.step("Cutting out", 0.05)
    scale = LONG_SIDE / max(pixels.shape[:2])
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR)
    lab = np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2Lab), np.uint8)
    suggestion = False
    if earlier is not None:
        if earlier.alpha.shape != pixels.shape[:2]:
            raise PictureError(
                "earlier outline",
                expected="one of this photo",
                got="one of another size",
                next_step="Draw round it again",
            )
        state, ground, cloth = earlier.sure.copy(), earlier.ground.copy(), earlier.cloth.copy()
        suggestion = earlier.suggestion and not len(keep) and not len(drop)
    else:
        whole = np.array(pixels.shape[1::-1])
        state, suggestion = (_along(edge, size, whole), False) if edge is not None else _start(around, box, size, whole)
        ground, cloth = np.zeros((1, 65)), np.zeros((1, 65))
    for strokes, value in ((keep, cv2.GC_FGD), (drop, cv2.GC_BGD)):
        _dab(state, strokes, value, np.array(size) / np.array(pixels.shape[1::-1]), None if earlier is None else lab)
    check(job)
    mode = cv2.GC_EVAL if earlier is not None else cv2.GC_INIT_WITH_MASK
    cv2.setRNGSeed(0)  # GrabCut starts its colour clusters at random
    if np.isin(state, (cv2.GC_FGD, cv2.GC_PR_FGD)).any() and np.isin(state, (cv2.GC_BGD, cv2.GC_PR_BGD)).any():
        rounds = _AGAIN if earlier is not None else _FIRST
        cv2.grabCut(lab, state, None, ground, cloth, rounds, mode)
    job.step("Refining the edge", 0.7)
    inside = _cleaned(np.isin(state, (cv2.GC_FGD, cv2.GC_PR_FGD)), state == cv2.GC_FGD, state == cv2.GC_BGD)
    if inside.mean() < 1e-3:
        raise PictureError(
            "photo",
            expected="a garment that stands out from its ground",
            got="no garment found",
            next_step="Draw round the garment, and dab on it: this too",
        )
    check(job)
    alpha = _as_dabbed(refine_edge(pixels, inside), state)
    warnings = []
    if _edge_step(lab, inside) < _WEAK_EDGE:
        warnings.append(
            "Garment and background have nearly the same colour, so the edge is uncertain: put it right with dabs, "
            "or photograph it on another ground."
        )
    if box is not None and earlier is None:
        warnings += _cut_by_box(inside, np.array(box) * scale)
    if suggestion:
        warnings.append(SUGGESTED)
    alpha.flags.writeable = False
    job.step("Cut out", 1.0)
    return Mask(alpha, state, ground, cloth, suggestion, tuple(warnings))


def _transparent(alpha: NDArray[np.uint8]) -> Mask:
    """A picture whose ground is transparent is cut out already."""
    if alpha.max() < 128:
        raise PictureError(
            "photo", expected="a visible garment", got="a wholly transparent picture", next_step="Use another picture"
        )
    scale = LONG_SIDE / max(alpha.shape)
    size = (max(1, round(alpha.shape[1] * scale)), max(1, round(alpha.shape[0] * scale)))
    small = cv2.resize(alpha, size, interpolation=cv2.INTER_AREA)
    state = np.where(small > 127, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    soft = alpha.astype(np.float32) / np.float32(255)
    soft.flags.writeable = False
    return Mask(soft, state, np.zeros((1, 65)), np.zeros((1, 65)))


def _start(
    around: Points | None, box: tuple[float, float, float, float] | None, size: tuple[int, int], whole: NDArray[np.intp]
) -> tuple[Trimap, bool]:
    """GrabCut's classes before the first cut: what is well outside of the drawn outline is ground for sure."""
    scale = np.array(size) / whole
    suggestion = around is None and box is None
    if around is not None:
        ring = _ring(around)
    else:
        x, y, w, h = box or (0.04 * whole[0], 0.04 * whole[1], 0.92 * whole[0], 0.92 * whole[1])
        if not (np.isfinite([x, y, w, h]).all() and w > 0 and h > 0):
            raise _missed("a box with a width and a height", f"{w:g} × {h:g}")
        ring = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
    drawn = _filled(ring * scale, size)
    # a loose outline leaves a rim of ground inside: start it as ground, the cut may still take it
    depth = cv2.distanceTransform(cv2.copyMakeBorder(drawn, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0), cv2.DIST_L2, 5)
    depth = depth[1:-1, 1:-1]
    rim = (0.10 if around is None else 0.06) * float(depth.max()) + 1
    state = np.full(drawn.shape, cv2.GC_BGD, np.uint8)
    if around is not None:
        # a hurried hand cuts across a cuff here and there: just outside of the outline the cut may still take it
        slip = 2 * _SLIP + 1
        near = cv2.dilate(drawn, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (slip, slip)))
        state[near > 0] = cv2.GC_PR_BGD
    state[drawn > 0] = cv2.GC_PR_BGD
    state[depth > rim] = cv2.GC_PR_FGD
    if not (state == cv2.GC_BGD).any():
        # nothing is outside: the picture's own rim must do
        state[[0, -1]] = state[:, [0, -1]] = cv2.GC_BGD
    return state, suggestion


def _along(edge: Points, size: tuple[int, int], whole: NDArray[np.intp]) -> Trimap:
    """GrabCut's classes where the edge was followed: only a narrow band along it is still to be found."""
    drawn = _filled(_ring(edge) * (np.array(size) / whole), size)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * _FOLLOWED + 1, 2 * _FOLLOWED + 1))
    state = np.where(drawn > 0, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    state[cv2.erode(drawn, disc) > 0] = cv2.GC_FGD
    state[cv2.dilate(drawn, disc) == 0] = cv2.GC_BGD
    return state


def _ring(points: Points) -> NDArray[np.float64]:
    ring = np.asarray(points, np.float64)
    if ring.ndim != 2 or ring.shape[1] != 2 or len(ring) < 3 or not np.isfinite(ring).all():
        raise _missed("an outline of at least 3 points", f"{ring.size // 2} points")
    return ring


def _filled(ring: NDArray[np.float64], size: tuple[int, int]) -> Trimap:
    """What lies within a ring, as 0 and 1."""
    drawn = np.zeros(size[::-1], np.uint8)
    cv2.fillPoly(drawn, [np.round(np.clip(ring, -1e4, 1e4) * 16 - 8).astype(np.int32)], 1, shift=4)
    if drawn.sum() < 20:
        raise _missed("an outline on the photo", "one that misses it")
    return drawn


def _cut_by_box(inside: NDArray[np.bool_], box: NDArray[np.float64]) -> list[str]:
    """Warn where the garment goes on over a side of the box that lies within the photo."""
    h, w = inside.shape
    left, top = max(0, round(box[0])), max(0, round(box[1]))
    right, bottom = min(w, round(box[0] + box[2])), min(h, round(box[1] + box[3]))
    sides = {
        "left": left > 2 and inside[top:bottom, left : left + 2],
        "right": right < w - 2 and inside[top:bottom, right - 2 : right],
        "top": top > 2 and inside[top : top + 2, left:right],
        "bottom": bottom < h - 2 and inside[bottom - 2 : bottom, left:right],
    }
    cut = [word for word, rim in sides.items() if rim is not False and np.mean(rim) > _BOX_CUTS]
    if not cut:
        return []
    return [f"The box cuts the garment off ({', '.join(cut)}): draw it larger, so that all of the garment is inside."]


def _dab(
    state: Trimap,
    strokes: Sequence[Points],
    value: int,
    scale: NDArray[np.float64],
    lab: NDArray[np.uint8] | None,
) -> None:
    """Take strokes as sure; where an earlier cut is put right (``lab``), what is like them beside them goes along."""
    rows: Sequence[Any] = [strokes] if _is_one_stroke(strokes) else strokes
    for stroke in rows:
        points = np.atleast_2d(np.asarray(stroke, np.float64))
        if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
            raise _missed("a stroke of points in the photo", f"shape {points.shape}")
        at = np.round(np.clip(points * scale, -1e4, 1e4) * 16 - 8).astype(np.int32)
        if len(at) == 1:
            at = np.repeat(at, 2, axis=0)
        touched = np.zeros_like(state)
        cv2.polylines(touched, [at], False, 1, _DAB - 1, shift=4)
        if lab is not None:
            state[_alike(state, lab, touched > 0, value)] = cv2.GC_PR_BGD if value == cv2.GC_BGD else cv2.GC_PR_FGD
        state[touched > 0] = value


def _alike(state: Trimap, lab: NDArray[np.uint8], touched: NDArray[np.bool_], value: int) -> NDArray[np.bool_]:
    """What was taken for the other thing, hangs together with a stroke and has its colours; nothing where that is much.

    Left as it was, it would go on teaching the cut the colours of the wrong side, and only the stroke itself would go.
    """
    unsure, sure = (cv2.GC_PR_FGD, cv2.GC_FGD) if value == cv2.GC_BGD else (cv2.GC_PR_BGD, cv2.GC_BGD)
    wrong: NDArray[np.bool_] = touched & ((state == unsure) | (state == sure))
    if not wrong.any():
        return wrong
    own = lab[wrong].astype(np.float32)
    reach = np.array(_ALIKE) + 1.5 * own.std(axis=0)
    near = (np.abs(lab.astype(np.float32) - np.median(own, axis=0)) <= reach).all(axis=2) & ((state == unsure) | wrong)
    part = cv2.connectedComponents(near.view(np.uint8), connectivity=4)[1]
    found = np.asarray(near & np.isin(part, part[wrong & near]))
    return found if found.sum() <= _ALIKE_MOST * np.isin(state, (unsure, sure)).sum() else np.zeros_like(found)


def _is_one_stroke(strokes: Sequence[Points]) -> bool:
    """Whether this is one stroke (n, 2), not a row of strokes."""
    return len(strokes) > 0 and np.ndim(strokes[0]) == 1 and np.size(strokes[0]) == 2


def _missed(expected: str, got: str) -> PictureError:
    return PictureError("outline round the garment", expected=expected, got=got, next_step="Draw round the garment")


def _cleaned(inside: NDArray[np.bool_], dabbed: NDArray[np.bool_], ground: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Keep the largest part and all that was dabbed on; fill pin holes, but no real ones and none that was dabbed."""
    count, part, stats, _ = cv2.connectedComponentsWithStats(inside.view(np.uint8), connectivity=4)
    if count < 2:
        return inside
    area = stats[:, cv2.CC_STAT_AREA].copy()
    area[0] = 0
    keep = area > 0.25 * area.max()
    keep[np.unique(part[dabbed])] = True
    keep[0] = False
    found = keep[part]
    count, hole, stats, _ = cv2.connectedComponentsWithStats((~found).view(np.uint8), connectivity=4)
    tiny = stats[:, cv2.CC_STAT_AREA] < 0.0015 * found.sum()
    tiny[np.unique(hole[ground])] = False
    return np.asarray(found | (tiny[hole] & ~found))


def _as_dabbed(alpha: Floats, state: Trimap) -> Floats:
    """Let what was drawn or dabbed stand, softly at its edge, over what the refining found."""
    size = alpha.shape[1::-1]
    for value in (cv2.GC_BGD, cv2.GC_FGD):
        chosen = (state == value).astype(np.float32)
        if not chosen.any():
            continue
        soft = cv2.resize(cv2.GaussianBlur(chosen, (0, 0), 0.7), size, interpolation=cv2.INTER_LINEAR)
        alpha = np.minimum(alpha, 1 - soft) if value == cv2.GC_BGD else np.maximum(alpha, soft)
    return np.asarray(alpha, np.float32)


def _edge_step(lab: NDArray[np.uint8], inside: NDArray[np.bool_]) -> float:
    """Mean colour step, 8-bit Lab, between 3 px inside and 3 px outside of the edge."""
    kernel = np.ones((7, 7), np.uint8)
    core = cv2.erode(inside.view(np.uint8), kernel)
    rim_in = inside & (core == 0)
    rim_out = (cv2.dilate(inside.view(np.uint8), kernel) > 0) & ~inside
    if not rim_in.any() or not rim_out.any():
        return 255.0
    near = []
    for rim in (rim_in, rim_out):
        weight = rim.astype(np.float32)
        sums = cv2.blur(lab.astype(np.float32) * weight[..., None], (9, 9))
        near.append(sums / np.maximum(cv2.blur(weight, (9, 9)), 1e-6)[..., None])
    edge = (cv2.dilate(inside.view(np.uint8), np.ones((3, 3), np.uint8)) > 0) & ~inside
    return float(np.median(np.linalg.norm(near[0][edge] - near[1][edge], axis=1)))
