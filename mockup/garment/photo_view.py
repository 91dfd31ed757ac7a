"""The mask of a garment in a photo → a view: outline, sleeves parted at the armholes, landmarks and edges."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.drawing import find_landmarks, guessed_scale
from mockup.garment.mask import Mask
from mockup.garment.regions import WORKING_PIXELS, Labels
from mockup.garment.symmetry import find_mirror, mirror_line_x
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats
from mockup.geometry.trace import trace_mask
from swatches.errors import PictureError

SMOOTH_SHARE = 0.004
"""Outlines of a photo are evened out over this share of its long side."""
_ALIKE = 0.75
_ROUND_A_SLEEVE = 1.6  # an armhole is at most this many times as long as its chord


@dataclass(frozen=True, slots=True, eq=False)
class PhotoView:
    """A view made from a photo, with its label picture.

    Attributes:
        view: body and, where they could be parted, sleeves; landmarks and edges; its scale is a guess.
        labels: uint16, shape (h, w), 0 outside; to be saved under ``view.labels``.
        warnings: sentences for the person.
    """

    view: View
    labels: Labels
    warnings: tuple[str, ...] = ()


def view_from_mask(
    mask: Mask | NDArray[np.float32],
    *,
    name: str,
    side: str,
    picture: str,
    landmarks: dict[str, XY] | None = None,
) -> PhotoView:
    """Make a view of a cut-out garment.

    Where shoulder tips and underarms are known, found or given, a slightly hollow armhole between them parts sleeves
    from the body, so that a photo has the same parts as a drawing.

    Args:
        mask: the cut, or its alpha, shape (h, w).
        name: the view's name.
        side: 'front' or 'back' of the garment.
        picture: file name that the photo is kept under.
        landmarks: points that the person placed, px; they win over found ones.

    Raises:
        PictureError: the mask is empty.
    """
    alpha = mask.alpha if isinstance(mask, Mask) else mask
    h, w = alpha.shape
    scale = min(1.0, float(np.sqrt(WORKING_PIXELS / (h * w))))
    size = (max(1, round(w * scale)), max(1, round(h * scale)))
    small = (alpha if scale == 1 else cv2.resize(alpha, size, interpolation=cv2.INTER_AREA)) > 0.5
    small = _largest(small)
    if small.mean() < 1e-3:
        raise PictureError(
            "outline of the garment", expected="an area", got="an empty one", next_step="Draw round the garment again"
        )
    factor = w / size[0]
    warnings = list(mask.warnings) if isinstance(mask, Mask) else []
    mirror = find_mirror(small)
    if mirror.sideways > mirror.likeness + 0.05 and mirror.sideways > 0.88:
        warnings.append("The garment seems to lie on its side: turn the photo upright and add it again.")
    if mirror.likeness < _ALIKE:
        warnings.append("The two halves differ: look whether the middle of the garment is where it should be.")
    given = _checked(landmarks or {}, (w, h))
    middle = given.get("neck-centre") or given.get("hem-centre")
    mirror_x = middle[0] if middle else mirror_line_x(small) * factor
    labels = np.zeros((h, w), np.uint16)
    if scale < 1:
        labels[cv2.resize(small.view(np.uint8), (w, h), interpolation=cv2.INTER_NEAREST) > 0] = 1
    else:
        labels[small] = 1
    body = _area(small, factor, Area("body", "body", 1, (), "body"))
    view = View(
        name=name,
        side=side,
        picture=picture,
        kind="photo",
        size=(w, h),
        labels=f"{name}-labels.png",
        areas=(body,),
        landmarks={},
        mirror_x=mirror_x,
        mm_per_px=guessed_scale(body),
        scale_measured=False,
        origin_px=(mirror_x, 0.0),
    )
    view, more = find_landmarks(view, labels, given)
    parted = _with_sleeves(view, small, factor, given)
    if parted is not None:
        view, labels = parted
        view, more = find_landmarks(view, labels, given)
    elif "sleeve-hem-left" in {e.name for e in view.edges}:
        more.append("If it has sleeves, they could not be told from the body: place shoulder tips and underarms.")
    return PhotoView(view, labels, (*warnings, *more))


def _checked(landmarks: dict[str, XY], size: tuple[int, int]) -> dict[str, XY]:
    for name, (x, y) in landmarks.items():
        if not (np.isfinite([x, y]).all() and 0 <= x <= size[0] and 0 <= y <= size[1]):
            raise PictureError(
                f"point {name}", expected="a place in the photo", got=f"({x:g}, {y:g})", next_step="Place it again"
            )
    return dict(landmarks)


def _largest(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    count, part, stats, _ = cv2.connectedComponentsWithStats(inside.view(np.uint8), connectivity=4)
    if count < 3:
        return inside
    return np.asarray(part == 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax()))


def _area(inside: NDArray[np.bool_], factor: float, area: Area) -> Area:
    smooth = max(2.0, SMOOTH_SHARE * max(inside.shape))
    traced = trace_mask(inside, smooth_px=smooth)
    if not traced:
        raise PictureError(
            "outline of the garment", expected="an area", got="an empty one", next_step="Draw round the garment again"
        )
    move = np.array([[factor, 0, 0], [0, factor, 0]])
    outer, *inner = (paths.reversed_path(paths.transformed(p, move)).to_tuples() for p in (traced[0][0], *traced[0][1]))
    return replace(area, outline=outer, holes=tuple(inner))


def _with_sleeves(
    view: View, inside: NDArray[np.bool_], factor: float, given: dict[str, XY]
) -> tuple[View, Labels] | None:
    """Part sleeves from the body at the armholes, where both ends of both are known."""
    points = {**view.landmarks, **given}
    need = [f"{p}-{s}" for p in ("shoulder", "underarm") for s in ("left", "right")]
    if any(n not in points for n in need) or not _has_sleeves(view):
        return None
    part = inside.astype(np.uint8)
    outside = np.argwhere(cv2.morphologyEx(part, cv2.MORPH_DILATE, np.ones((3, 3), np.uint8)) - part)[:, ::-1] + 0.5
    for side in ("left", "right"):
        tip, arm = (np.array(points[f"{p}-{side}"]) / factor for p in ("shoulder", "underarm"))
        seam = _armhole(tip, arm, view.mirror_x or 0, factor)
        # a sleeve that hangs hides the underarm: from there to where sleeve and body part, they only touch
        ends = [outside[np.argmin(np.linalg.norm(outside - end, axis=1))] for end in (tip, arm)]
        cv2.polylines(part, [_fixed(np.vstack([ends[0], seam, ends[1]]))], False, 0, 2, shift=4)
    count, found, stats, middles = cv2.connectedComponentsWithStats(part, connectivity=4)
    if count < 4:
        return None
    at = (view.mirror_x or 0) / factor
    hem = np.array(view.landmarks["hem-centre"]) / factor if "hem-centre" in view.landmarks else None
    body = _label_at(found, hem) if hem is not None else 0
    body = body or 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())
    least = 0.01 * inside.sum()
    sleeves = [i for i in range(1, count) if i != body and stats[i, cv2.CC_STAT_AREA] > least]
    if len(sleeves) != 2 or (middles[sleeves[0]][0] < at) == (middles[sleeves[1]][0] < at):
        return None
    # the armhole's own pixels and crumbs go to the nearest part
    seeds = np.isin(found, [body, *sleeves])
    _, index = cv2.distanceTransformWithLabels((~seeds).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    table = np.zeros(int(index.max()) + 1, np.int32)
    table[index[seeds]] = found[seeds]
    whole = np.where(inside, table[index], 0)
    labels = np.zeros(inside.shape, np.uint16)
    areas = []
    for value, i in enumerate([body, *sorted(sleeves, key=lambda k: -middles[k][0])], 1):
        labels[whole == i] = value
        if i == body:
            area = Area("body", "body", value, (), "body")
        else:
            on_right = middles[i][0] > at
            side = ("left" if on_right else "right") if view.side == "front" else ("right" if on_right else "left")
            area = Area(f"sleeve-{side}", f"{side} sleeve", value, (), "sleeve", side)
        areas.append(_area(whole == i, factor, area))
    if factor != 1:
        labels = np.asarray(cv2.resize(labels, view.size, interpolation=cv2.INTER_NEAREST), np.uint16)
    view = replace(view, areas=tuple(areas), landmarks={}, edges=())
    return replace(view, mm_per_px=guessed_scale(view.body)), labels


def _armhole(tip: Floats, arm: Floats, middle: float, factor: float) -> Floats:
    """A hollow curve from the shoulder tip to the underarm, shape (n, 2)."""
    down = arm - tip
    inward = np.array([np.sign(middle / factor - tip[0]), 0.0]) * 0.12 * abs(down[1])
    first, second = tip + down * 0.35 + inward, tip + down * 0.8 + inward * 0.9
    t = np.linspace(0, 1, 60)[:, None]
    return np.asarray((1 - t) ** 3 * tip + 3 * (1 - t) ** 2 * t * first + 3 * (1 - t) * t**2 * second + t**3 * arm)


def _has_sleeves(view: View) -> bool:
    """Whether the outline runs out round a sleeve between shoulder tip and underarm, not along an armhole."""
    for edge in view.edges:
        if edge.name.startswith("armhole"):
            path = paths.from_tuples(edge.path)
            if paths.length(path) < _ROUND_A_SLEEVE * float(np.linalg.norm(path.end - path.start)):
                return False
    return True


def _fixed(points: Floats) -> NDArray[np.int32]:
    return np.round((points - 0.5) * 16).astype(np.int32)


def _label_at(labels: NDArray[np.int32], point: Floats) -> int:
    """Label just above a point of the hem."""
    for up in range(3, 40, 3):
        x, y = int(point[0]), int(point[1]) - up
        if 0 <= y < labels.shape[0] and 0 <= x < labels.shape[1] and labels[y, x]:
            return int(labels[y, x])
    return 0
