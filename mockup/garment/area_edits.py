"""What a person changes about found areas: join two, divide one by a stroke, name one; and keep names over a re-run.

A body that is drawn in several areas has them as its sections: to join them takes the seam between them away, a stroke
across the body makes a seam. All work on a :class:`~mockup.garment.drawing.DrawnView` and give a new one; outlines,
landmarks and edges of what changed are made again, points that the person placed stay.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from mockup.garment.areas import PART_WORDS, areas_of
from mockup.garment.drawing import SMOOTH_IN_LINE_WIDTHS, DrawnView, at_working_size, find_landmarks
from mockup.garment.parts import SECTIONS
from mockup.garment.regions import Labels
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from swatches.errors import PictureError

_SAME = 0.6  # overlap of an area with the one before, from which it counts as the same
_UNNAMED = re.compile(r"((left|right) )?area \d+")
_LEAST = 40  # px: smaller halves of a division are no areas


def merge_areas(drawn: DrawnView, ids: Sequence[str]) -> DrawnView:
    """Join areas; the result keeps the id, name and part of the first, or is the body where one of them is.

    Raises:
        PictureError: fewer than two areas, an unknown one, or areas that do not touch.
    """
    chosen = [a for i in dict.fromkeys(ids) for a in _drawn_areas(drawn.view, i)]
    if len(chosen) < 2:
        raise _cannot("areas to join", "two or more", str(len(chosen)), "Choose two areas that touch")
    first = next((a for a in chosen if a.part == "body" or a in drawn.view.sections), chosen[0])
    mine = np.isin(drawn.labels, [a.label for a in chosen])
    near = cv2.dilate(mine.view(np.uint8), np.ones((3, 3), np.uint8))
    if cv2.connectedComponents(near, connectivity=4)[0] != 2:
        raise _cannot("areas to join", "areas that touch", ", ".join(a.name for a in chosen), "Choose neighbours")
    labels = drawn.labels.copy()
    labels[mine] = first.label
    known = {a.label: a for a in drawn.view.found_areas if a not in chosen or a is first}
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
    area = _one_area(drawn.view, area_id, stroke)
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
    largest = max(large, key=lambda i: stats[i, cv2.CC_STAT_AREA])
    return part_area(drawn, area.label, *((mine > 0) & (nearest == i) for i in large if i != largest))


def part_area(drawn: DrawnView, label: int, *parts: NDArray[np.bool_]) -> DrawnView:
    """Give parts of an area, each a mask (h, w), labels of their own; the rest keeps what it was called.

    Raises:
        PictureError: a part is hardly there, or all of the area.
    """
    labels = drawn.labels.copy()
    for part in parts:
        labels[part & (drawn.labels == label)] = int(labels.max()) + 1
    sizes = [int((labels == k).sum()) for k in (label, *range(int(drawn.labels.max()) + 1, int(labels.max()) + 1))]
    if len(sizes) <= len(parts) or min(sizes) < _LEAST:
        raise _cannot("area", "parts of some size", "next to nothing on one side", "Divide it elsewhere")
    return _again(drawn, labels, {a.label: a for a in drawn.view.found_areas})


def name_area(drawn: DrawnView, area_id: str, name: str, *, part: str | None = None) -> DrawnView:
    """Give an area a name, and say which part of the garment it is.

    Args:
        drawn: the drawing.
        area_id: the area.
        name: the person's word.
        part: one of :data:`~mockup.garment.areas.PART_WORDS`; None: as it is.

    Raises:
        PictureError: no such area or part, or a name that is empty or longer than 60 characters.
    """
    view = drawn.view
    plain = " ".join(name.split())
    if not 0 < len(plain) <= 60 or not plain.isprintable():
        raise _cannot("name", "1 to 60 characters", repr(name), "Type a short name")
    if part is not None and part not in PART_WORDS:
        raise _cannot("part", f"one of {', '.join(PART_WORDS)}", part, "Choose one of them")
    area = _area(view, area_id)
    changed = replace(area, name=plain, part=part or area.part)
    if changed.part == area.part:

        def put(areas: tuple[Area, ...]) -> tuple[Area, ...]:
            return tuple(changed if a is area else a for a in areas)

        return replace(drawn, view=replace(view, areas=put(view.areas), sections=put(view.sections)))
    if area.part == "body":
        raise _cannot("part", "the body to stay the body", changed.part, "Say it of another area")
    return _again(drawn, drawn.labels.copy(), {a.label: changed if a is area else a for a in view.found_areas})


def keep_names(drawn: DrawnView, before: View, labels: Labels) -> DrawnView:
    """Carry ids, names and parts over from an earlier reading of the same picture.

    Args:
        drawn: the new reading.
        before: the earlier view.
        labels: its label picture; of another size where the picture was scaled.
    """
    size = drawn.labels.shape[1::-1]
    old = labels if labels.shape == drawn.labels.shape else cv2.resize(labels, size, interpolation=cv2.INTER_NEAREST)
    known: dict[int, Area] = {}
    taken: set[str] = set()
    for area in drawn.view.found_areas:
        mine = drawn.labels == area.label
        best, overlap = None, _SAME
        for candidate in before.found_areas:
            theirs = old == candidate.label
            share = float((mine & theirs).sum()) / max(int((mine | theirs).sum()), 1)
            if share > overlap and candidate.id not in taken:
                best, overlap = candidate, share
        if best is not None:
            known[area.label] = replace(best, label=area.label, outline=area.outline, holes=area.holes)
            taken.add(best.id)
    return _again(drawn, drawn.labels.copy(), known)


def _again(drawn: DrawnView, labels: Labels, known: dict[int, Area]) -> DrawnView:
    """Make areas of changed labels; areas whose label is known keep what they were called and what they are."""
    view = drawn.view
    small, factor = at_working_size(labels)
    middle = (view.size[0] / 2 if view.mirror_x is None else view.mirror_x) / factor
    smooth = SMOOTH_IN_LINE_WIDTHS * drawn.line_width_px / factor
    # what could not be told before may be told now, unless the person has named it
    told = {label: a.part for label, a in known.items() if a.part != "area" or not _UNNAMED.fullmatch(a.name)}
    found = areas_of(small, middle, view.side, scale=factor, smooth_px=smooth, told=told)
    body = [a.label for a in found.sections] or [found.areas[0].label]
    body_stays = sorted(body) == sorted(view.body_labels) and all(_same(drawn.labels, labels, i) for i in body)
    taken = {a.id for a in known.values()}

    def named(area: Area) -> Area:
        earlier = known.get(area.label)
        if earlier is not None and earlier.part != "body":
            shape = earlier if _same(drawn.labels, labels, area.label) else area
            is_body = earlier.part in SECTIONS
            part = area.part if is_body != (area.part in SECTIONS) else earlier.part
            return replace(earlier, outline=shape.outline, holes=shape.holes, part=part)
        if area.id in taken:
            area = replace(area, id=_free(area.id, taken))
        taken.add(area.id)
        return area

    whole = found.areas[0]
    if body_stays:
        whole = replace(whole, outline=view.body.outline, holes=view.body.holes)
    if not found.sections and whole.label in known and known[whole.label].part == "body":
        whole = replace(whole, name=known[whole.label].name)
    sections = tuple(named(a) for a in found.sections)
    areas = (whole, *(named(a) for a in found.areas[1:]))
    labels.flags.writeable = False
    seams = view.seams if body_stays else found.seams
    changed = replace(view, areas=areas, sections=sections, seams=seams)
    if body_stays:
        return replace(drawn, view=changed, labels=labels)
    sided = {k: v for k, v in view.landmarks.items() if not k.endswith("-centre")}
    fresh, more = find_landmarks(changed, labels, line_px=drawn.line_width_px if view.kind == "drawing" else 0.0)
    # points stay where they were, as far as the new body has them; a body that gains a neck loses its waist
    stay = {k: v for k, v in _still_on(changed, labels, sided).items() if k in fresh.landmarks}
    changed, more = find_landmarks(changed, labels, stay) if stay else (fresh, more)
    return replace(drawn, view=changed, labels=labels, warnings=(*drawn.warnings, *found.warnings, *more))


def _same(before: Labels, after: Labels, label: int) -> bool:
    """Whether a label covers the same pixels as before."""
    return bool(((before == label) == (after == label)).all())


def _still_on(view: View, labels: Labels, landmarks: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    """Landmarks that still lie on the body's rim."""
    body = np.isin(labels, view.body_labels).astype(np.uint8)
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


def _drawn_areas(view: View, ident: str) -> tuple[Area, ...]:
    """The area of this id; of the body, its sections where it has any."""
    area = _area(view, ident)
    return view.sections if area.part == "body" and view.sections else (area,)


def _one_area(view: View, ident: str, stroke: ArrayLike) -> Area:
    """The area of this id; of the body, the section that the middle of a stroke lies in."""
    areas = _drawn_areas(view, ident)
    points = np.asarray(stroke, np.float64)
    if len(areas) < 2 or points.ndim != 2 or len(points) < 2:
        return areas[0]
    middle = shapely.LineString(points[:, :2]).interpolate(0.5, normalized=True)
    return min(areas, key=lambda a: polygon_of(a).distance(middle))


def polygon_of(area: Area) -> shapely.Geometry:
    """An area's outline with its holes as a polygon, px, flattened to 0.5 px."""
    rings = [paths.flatten(paths.from_tuples(ring), 0.5).points for ring in (area.outline, *area.holes)]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))


def _area(view: View, ident: str) -> Area:
    try:
        return view.area(ident)
    except KeyError:
        names = ", ".join(a.id for a in (*view.areas, *view.sections))
        raise _cannot("area", f"one of {names}", ident, "Choose an area of this picture") from None


def _cannot(what: str, expected: str, got: str, next_step: str) -> PictureError:
    return PictureError(what, expected=expected, got=got, next_step=next_step)
