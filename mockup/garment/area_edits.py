"""What a person changes about found areas: join two, divide one by a stroke, name one; and keep names over a re-run.

All work on a :class:`~mockup.garment.drawing.DrawnView` and give a new one; outlines, landmarks and edges of what
changed are made again, points that the person placed stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockup.garment.areas import areas_of
from mockup.garment.drawing import SMOOTH_IN_LINE_WIDTHS, DrawnView, find_landmarks
from mockup.garment.regions import Labels
from mockup.garment.view import Area, View
from swatches.errors import PictureError

_SAME = 0.6  # overlap of an area with the one before, from which it counts as the same
_LEAST = 40  # px: smaller halves of a division are no areas


def merge_areas(drawn: DrawnView, ids: Sequence[str]) -> DrawnView:
    """Join areas; the result keeps the id, name and part of the first, or is the body where one of them is.

    Raises:
        PictureError: fewer than two areas, an unknown one, or areas that do not touch.
    """
    chosen = [_area(drawn.view, i) for i in dict.fromkeys(ids)]
    if len(chosen) < 2:
        raise _cannot("areas to join", "two or more", str(len(chosen)), "Choose two areas that touch")
    first = next((a for a in chosen if a.part == "body"), chosen[0])
    mine = np.isin(drawn.labels, [a.label for a in chosen])
    near = cv2.dilate(mine.view(np.uint8), np.ones((3, 3), np.uint8))
    if cv2.connectedComponents(near, connectivity=4)[0] != 2:
        raise _cannot("areas to join", "areas that touch", ", ".join(a.name for a in chosen), "Choose neighbours")
    labels = drawn.labels.copy()
    labels[mine] = first.label
    known = {a.label: a for a in drawn.view.areas if a not in chosen or a is first}
    return _again(drawn, labels, known)


def split_area(drawn: DrawnView, area_id: str, stroke: ArrayLike) -> DrawnView:
    """Divide an area by a stroke from rim to rim.

    Args:
        drawn: the drawing.
        area_id: the area.
        stroke: points, px, shape (n, 2), n ≥ 2; its ends are led on to the rim when they stop up to 3 % short.

    Raises:
        PictureError: no such area, or the stroke does not divide it.
    """
    area = _area(drawn.view, area_id)
    points = np.asarray(stroke, np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 2 or not np.isfinite(points).all():
        raise _cannot("stroke", "at least two points", f"shape {points.shape}", "Draw a stroke across the area")
    reach = 0.03 * max(drawn.view.size)
    ends = [_led_on(points[0], points[0] - points[1], reach), _led_on(points[-1], points[-1] - points[-2], reach)]
    row = np.vstack([ends[0], points, ends[1]])
    mine = (drawn.labels == area.label).astype(np.uint8)
    cut = mine.copy()
    cv2.polylines(cut, [np.round(np.clip(row - 0.5, -1e5, 1e5) * 16).astype(np.int32)], False, 0, 2, shift=4)
    count, part, stats, _ = cv2.connectedComponentsWithStats(cut, connectivity=4)
    large = [i for i in range(1, count) if stats[i, cv2.CC_STAT_AREA] >= _LEAST]
    if len(large) < 2:
        raise _cannot("stroke", f"one that divides the {area.name}", "one that does not", "Draw it from rim to rim")
    seeds = np.isin(part, large)
    _, index = cv2.distanceTransformWithLabels((~seeds).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    table = np.zeros(int(index.max()) + 1, np.int32)
    table[index[seeds]] = part[seeds]
    nearest = table[index]
    labels = drawn.labels.copy()
    largest = max(large, key=lambda i: stats[i, cv2.CC_STAT_AREA])
    new = int(labels.max())
    for i in large:
        if i != largest:
            new += 1
            labels[(mine > 0) & (nearest == i)] = new
    return _again(drawn, labels, {a.label: a for a in drawn.view.areas})


def name_area(view: View, area_id: str, name: str, *, part: str | None = None) -> View:
    """Give an area a name, and say which part of the garment it is.

    Raises:
        PictureError: no such area, or a name that is empty or longer than 60 characters.
    """
    plain = " ".join(name.split())
    if not 0 < len(plain) <= 60 or not plain.isprintable():
        raise _cannot("name", "1 to 60 characters", repr(name), "Type a short name")
    area = _area(view, area_id)
    changed = replace(area, name=plain, part=part or area.part)
    return replace(view, areas=tuple(changed if a is area else a for a in view.areas))


def keep_names(drawn: DrawnView, before: View, labels: Labels) -> DrawnView:
    """Carry ids, names and parts over from an earlier reading of the same picture.

    Args:
        drawn: the new reading.
        before: the earlier view.
        labels: its label picture; of another size where the picture was scaled.
    """
    size = drawn.labels.shape[1::-1]
    old = labels if labels.shape == drawn.labels.shape else cv2.resize(labels, size, interpolation=cv2.INTER_NEAREST)
    taken: set[str] = set()
    areas: list[Area] = []
    for area in drawn.view.areas:
        mine = drawn.labels == area.label
        best, overlap = None, _SAME
        for candidate in before.areas:
            theirs = old == candidate.label
            share = float((mine & theirs).sum()) / max(int((mine | theirs).sum()), 1)
            if share > overlap and candidate.id not in taken:
                best, overlap = candidate, share
        if best is not None:
            area = replace(area, id=best.id, name=best.name, part=best.part, side=best.side)
        elif area.id in taken or any(area.id == b.id for b in before.areas):
            area = replace(area, id=_free(area.id, {*taken, *(b.id for b in before.areas)}))
        taken.add(area.id)
        areas.append(area)
    areas.sort(key=lambda a: a.part != "body")
    return replace(drawn, view=replace(drawn.view, areas=tuple(areas)))


def _again(drawn: DrawnView, labels: Labels, known: dict[int, Area]) -> DrawnView:
    """Make areas of changed labels; areas whose label is known keep what they were called."""
    view = drawn.view
    middle = view.size[0] / 2 if view.mirror_x is None else view.mirror_x
    found = areas_of(labels, middle, view.side, smooth_px=SMOOTH_IN_LINE_WIDTHS * drawn.line_width_px)
    taken = {a.id for a in known.values()}
    areas = []
    for area in found:
        earlier = known.get(area.label)
        if earlier is not None:
            same = bool((drawn.labels == area.label).sum() == (labels == area.label).sum())
            shape = earlier if same else area
            area = replace(earlier, outline=shape.outline, holes=shape.holes)
        elif area.id in taken:
            area = replace(area, id=_free(area.id, taken), part="area" if area.part == "body" else area.part)
        taken.add(area.id)
        areas.append(area)
    areas.sort(key=lambda a: a.part != "body")
    labels.flags.writeable = False
    body_changed = bool(((drawn.labels == view.body.label) != (labels == view.body.label)).any())
    changed = replace(view, areas=tuple(areas))
    if body_changed:
        sided = {k: v for k, v in view.landmarks.items() if not k.endswith("-centre")}
        fresh, more = find_landmarks(changed, labels)
        # points stay where they were, as far as the new body has them; a body that gains a neck loses its waist
        stay = {k: v for k, v in _still_on(changed, labels, sided).items() if k in fresh.landmarks}
        changed, more = find_landmarks(changed, labels, stay) if stay else (fresh, more)
        return replace(drawn, view=changed, labels=labels, warnings=(*drawn.warnings, *more))
    return replace(drawn, view=changed, labels=labels)


def _still_on(view: View, labels: Labels, landmarks: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    """Landmarks that still lie on the body's rim."""
    body = (labels == view.body.label).astype(np.uint8)
    rim = cv2.morphologyEx(body, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    reach = max(3, round(0.004 * max(view.size)))
    rim = cv2.dilate(rim, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))
    h, w = labels.shape
    return {k: (x, y) for k, (x, y) in landmarks.items() if rim[min(max(int(y), 0), h - 1), min(max(int(x), 0), w - 1)]}


def _led_on(end: NDArray[np.float64], way: NDArray[np.float64], reach: float) -> NDArray[np.float64]:
    size = float(np.linalg.norm(way))
    return np.asarray(end + way / size * reach) if size > 1e-9 else end


def _free(ident: str, taken: set[str]) -> str:
    number = 2
    while f"{ident}-{number}" in taken:
        number += 1
    return f"{ident}-{number}"


def _area(view: View, ident: str) -> Area:
    try:
        return view.area(ident)
    except KeyError:
        names = ", ".join(a.id for a in view.areas)
        raise _cannot("area", f"one of {names}", ident, "Choose an area of this picture") from None


def _cannot(what: str, expected: str, got: str, next_step: str) -> PictureError:
    return PictureError(what, expected=expected, got=got, next_step=next_step)
