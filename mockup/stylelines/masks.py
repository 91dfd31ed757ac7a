"""Which pixel belongs to which panel, with soft borders that leave no gap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.view import PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.stylelines.raster import coverage_part

if TYPE_CHECKING:
    from mockup.stylelines.panels import Panel

Mask = NDArray[np.float32]
Indices = NDArray[np.intp]
Slices = tuple[slice, slice]
_SLIGHT = 1e-3
_REACH = 0.01  # of the long side: how far a photo's panels go on beyond the outline
_KEPT, _KEPT_PX = 32, 4_000_000
"""How many shares of outlines and areas are kept for the next picture, and up to which size: a line that moves changes
two of a garment's panels."""


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """The part of a mask that is not empty, and its left and top."""

    x: int
    y: int
    share: Mask

    def overlap(self, frame: _Part) -> tuple[Slices, Slices]:
        """Where this part and another frame share pixels: in this part, and in the frame."""
        x0, y0 = max(self.x, frame.x), max(self.y, frame.y)
        x1 = max(x0, min(self.x + self.share.shape[1], frame.x + frame.share.shape[1]))
        y1 = max(y0, min(self.y + self.share.shape[0], frame.y + frame.share.shape[0]))
        return (
            (slice(y0 - self.y, y1 - self.y), slice(x0 - self.x, x1 - self.x)),
            (slice(y0 - frame.y, y1 - frame.y), slice(x0 - frame.x, x1 - frame.x)),
        )

    def within(self, frame: _Part) -> Mask:
        """This part in another part's frame, cut off at its borders."""
        out = np.zeros_like(frame.share)
        here, there = self.overlap(frame)
        out[there] = self.share[here]
        return out

    def at(self, rows: Indices, columns: Indices) -> Mask:
        """Shares at pixels of the picture; 0 outside this part."""
        y, x = rows - self.y, columns - self.x
        inside = (y >= 0) & (y < self.share.shape[0]) & (x >= 0) & (x < self.share.shape[1])
        found = np.zeros(len(y), dtype=np.float32)
        found[inside] = self.share[y[inside], x[inside]]
        return found

    def trimmed(self) -> _Part:
        """This part without empty rows and columns at its borders."""
        if not self.share.size:
            return self
        x, y, w, h = cv2.boundingRect((self.share > 0).view(np.uint8))
        return _Part(self.x + x, self.y + y, np.ascontiguousarray(self.share[y : y + h, x : x + w]))


class PanelMasks(Mapping[str, Mask]):
    """Panel id → float32 of shape (height, width), 0 to 1.

    Only the part of each mask that is not empty is kept; the whole is made when it is asked for, so that many panels
    of a large picture take little memory.
    """

    def __init__(self, parts: Mapping[str, _Part], size: tuple[int, int]) -> None:
        self._parts, self._size = dict(parts), size

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the masks in px."""
        return self._size

    def part(self, panel_id: str) -> tuple[int, int, Mask]:
        """Left, top and shares of the part of a mask that is not empty."""
        found = self._parts[panel_id]
        return found.x, found.y, found.share

    def __getitem__(self, panel_id: str) -> Mask:
        """The whole mask of one panel; ``KeyError`` when there is none."""
        return self._parts[panel_id].within(_Part(0, 0, np.empty((self._size[1], self._size[0]), dtype=np.float32)))

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


def panel_masks(
    view: View,
    panels: Sequence[Panel],
    labels: NDArray[np.uint16] | None = None,
    size: tuple[int, int] | None = None,
) -> PanelMasks:
    """Share of every pixel that each panel covers.

    Inside an area of the label picture the panels of that area sum to 1 everywhere, also where the smooth outline and
    the pixels of the area differ: such pixels go to the nearest panel. Outside its area a panel covers nothing. What
    lies on the body without a label of its own is taken off the body's panels.

    Without a label picture the outlines decide; a photo's panels then go on a little beyond them, since the photo's own
    mask says where the garment ends, softly.

    Args:
        view: the view.
        panels: the view's panels.
        labels: the view's label picture, shape (height, width) of the view, or None.
        size: width and height of the masks in px; None: the view's.
    """
    size = size or view.size
    scale = size[0] / view.size[0], size[1] / view.size[1]
    raw = {p.id: _covered(p.outline, p.holes, scale, size) for p in panels}
    if labels is None:
        return PanelMasks(_by_outline(view, panels, raw, scale, size), size)
    known = {a.id: a.label for a in view.areas}
    picture = _Labels(labels)
    body = _area_part(picture, view.body_labels, size)
    result: dict[str, _Part] = {}
    rest = body.share
    for p in panels:
        if p.area not in known:
            mine = raw[p.id].within(body) * body.share
            rest = rest * (1 - mine)
            result[p.id] = _Part(body.x, body.y, mine).trimmed()
    for area_id in dict.fromkeys(p.area for p in panels if p.area in known):
        inside = (
            _Part(body.x, body.y, rest) if area_id == view.body.id else _area_part(picture, (known[area_id],), size)
        )
        result |= _fill([p.id for p in panels if p.area == area_id], raw, inside)
    return PanelMasks({p.id: result[p.id] for p in panels}, size)


def _covered(outline: PathXY, holes: Sequence[PathXY], scale: tuple[float, float], size: tuple[int, int]) -> _Part:
    cover = _cover if size[0] * size[1] <= _KEPT_PX else _cover.__wrapped__
    return cover(outline, tuple(holes), scale, size)


@lru_cache(maxsize=_KEPT)
def _cover(outline: PathXY, holes: tuple[PathXY, ...], scale: tuple[float, float], size: tuple[int, int]) -> _Part:
    grown = np.array([[scale[0], 0, 0], [0, scale[1], 0]])
    rings = [paths.transformed(paths.from_tuples(ring), grown) for ring in (outline, *holes)]
    sign = np.sign(paths.signed_area(rings[0]))
    return _kept(*coverage_part([rings[0], *(_run(ring, -sign) for ring in rings[1:])], size))


def _run(ring: Path, sign: float) -> Path:
    return ring if np.sign(paths.signed_area(ring)) == sign else paths.reversed_path(ring)


class _Labels:
    """A label picture that is equal to itself only, so that what was made of it can be kept."""

    def __init__(self, labels: NDArray[np.uint16]) -> None:
        self.labels = labels

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Labels) and self.labels is other.labels

    def __hash__(self) -> int:
        return id(self.labels)


def _area_part(picture: _Labels, labels: tuple[int, ...], size: tuple[int, int]) -> _Part:
    """The share that areas have of every pixel of a picture of this size; in steps of 1/255 where sizes differ."""
    # one that can be written to may change under the same name
    lasting = size[0] * size[1] <= _KEPT_PX and not picture.labels.flags.writeable
    return (_area if lasting else _area.__wrapped__)(picture, labels, size)


@lru_cache(maxsize=_KEPT)
def _area(picture: _Labels, labels: tuple[int, ...], size: tuple[int, int]) -> _Part:
    inside = picture.labels == labels[0] if len(labels) == 1 else np.isin(picture.labels, labels)
    pixels = inside.view(np.uint8) * np.uint8(255)
    if (inside.shape[1], inside.shape[0]) != size:
        much_smaller = inside.shape[1] >= 2 * size[0]
        way = cv2.INTER_AREA if much_smaller else cv2.INTER_LINEAR  # by less than half, linear is as good and faster
        pixels = np.asarray(cv2.resize(pixels, size, interpolation=way))
    x, y, w, h = cv2.boundingRect(pixels)
    return _kept(x, y, pixels[y : y + h, x : x + w].astype(np.float32) / np.float32(255))


def _kept(x: int, y: int, share: Mask) -> _Part:
    share.flags.writeable = False
    return _Part(x, y, share)


def _fill(ids: Sequence[str], raw: Mapping[str, _Part], inside: _Part) -> dict[str, _Part]:
    """Make the masks of one area sum to ``inside``; each panel is worked on only where it is."""
    if len(ids) == 1 or not inside.share.size:
        return dict.fromkeys(ids, inside)
    part, total = inside.share, np.zeros_like(inside.share)
    for i in ids:
        here, there = raw[i].overlap(inside)
        total[there] += raw[i].share[here]
    share = np.divide(part, total, out=np.zeros_like(part), where=total >= _SLIGHT)
    rows, columns, owner = _owners(ids, raw, inside, total)
    result = {}
    for k, i in enumerate(ids):
        here, there = raw[i].overlap(inside)
        y, x = rows[owner == k], columns[owner == k]
        top, left = (min(s.start, v.min(initial=s.start)) for s, v in zip(there, (y, x), strict=True))
        bottom, right = (max(s.stop, v.max(initial=-1) + 1) for s, v in zip(there, (y, x), strict=True))
        frame = _Part(inside.x + left, inside.y + top, np.zeros((bottom - top, right - left), dtype=np.float32))
        at = tuple(slice(s.start - o, s.stop - o) for s, o in zip(there, (top, left), strict=True))
        frame.share[at] = raw[i].share[here] * share[there]
        frame.share[y - top, x - left] = part[y, x]
        result[i] = frame.trimmed()
    return result


def _owners(
    ids: Sequence[str], raw: Mapping[str, _Part], inside: _Part, total: Mask
) -> tuple[Indices, Indices, Indices]:
    """Pixels of an area that no panel's outline covers: their rows and columns in it, and which panel is nearest."""
    bare, known = (inside.share > 0) & (total < _SLIGHT), total >= 0.5
    rows, columns = np.nonzero(bare)
    if not len(rows) or not known.any():
        none = np.zeros(0, dtype=np.intp)
        return none, none, none
    _, nearest = cv2.distanceTransformWithLabels(
        (~known).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    place = np.zeros(int(nearest.max()) + 1, dtype=np.intp)
    at = np.flatnonzero(known)
    place[nearest.ravel()[at]] = at
    y, x = np.divmod(place[nearest[rows, columns]], total.shape[1])
    covers = np.stack([raw[i].at(y + inside.y, x + inside.x) for i in ids])
    return rows, columns, covers.argmax(axis=0)


def _by_outline(
    view: View,
    panels: Sequence[Panel],
    raw: Mapping[str, _Part],
    scale: tuple[float, float],
    size: tuple[int, int],
) -> dict[str, _Part]:
    whole = _Part(0, 0, np.zeros((size[1], size[0]), dtype=np.float32))
    body_ids = [p.id for p in panels if p.area == view.body.id]
    body = np.zeros_like(whole.share)
    for i in body_ids:
        here, there = raw[i].overlap(whole)
        body[there] += raw[i].share[here]
    on_top = []
    for i, part in raw.items():
        here, there = part.overlap(whole)
        if i not in body_ids and float((part.share[here] * body[there]).sum()) > 0.5 * float(part.share.sum()):
            on_top.append(i)
    below = [i for i in raw if i not in on_top]
    left = np.ones_like(whole.share)
    for i in on_top:
        here, there = raw[i].overlap(whole)
        left[there] *= 1 - raw[i].share[here]
    if view.kind == "photo":
        total = body  # of what lies below: the body, and what lies beside it
        for i in below:
            if i not in body_ids:
                here, there = raw[i].overlap(whole)
                total[there] += raw[i].share[here]
        away = cv2.distanceTransform((total < 0.5).view(np.uint8), cv2.DIST_L2, 5)
        reached = _Part(0, 0, (away <= max(2.0, _REACH * max(size))).astype(np.float32) * left)
        return dict(raw) | _fill(below, raw, reached)
    for hole in view.body.holes:
        part = _covered(hole, (), scale, size)
        here, there = part.overlap(whole)
        left[there] *= 1 - part.share[here]
    result = dict(raw)
    for i in body_ids:
        here, there = raw[i].overlap(whole)
        result[i] = _Part(there[1].start, there[0].start, raw[i].share[here] * left[there]).trimmed()
    return result
