"""Which pixel belongs to which panel, with soft borders that leave no gap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
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
_SLIGHT = 1e-3
_REACH = 0.01  # of the long side: how far a photo's panels go on beyond the outline


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """The part of a mask that is not empty, and its left and top."""

    x: int
    y: int
    share: Mask

    def within(self, frame: _Part) -> Mask:
        """This part in another part's frame, cut off at its borders."""
        out = np.zeros_like(frame.share)
        x0, y0 = max(self.x, frame.x), max(self.y, frame.y)
        x1 = min(self.x + self.share.shape[1], frame.x + frame.share.shape[1])
        y1 = min(self.y + self.share.shape[0], frame.y + frame.share.shape[0])
        if x1 > x0 and y1 > y0:
            out[y0 - frame.y : y1 - frame.y, x0 - frame.x : x1 - frame.x] = self.share[
                y0 - self.y : y1 - self.y, x0 - self.x : x1 - self.x
            ]
        return out

    def with_share(self, share: Mask) -> _Part:
        """Another mask in the same frame, trimmed to what is not empty."""
        x, y, w, h = cv2.boundingRect((share > 0).view(np.uint8))
        return _Part(self.x + x, self.y + y, np.ascontiguousarray(share[y : y + h, x : x + w]))


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
    scale = np.array([[size[0] / view.size[0], 0, 0], [0, size[1] / view.size[1], 0]])
    raw = {p.id: _covered(p.outline, p.holes, scale, size) for p in panels}
    if labels is None:
        return PanelMasks(_by_outline(view, panels, raw, scale, size), size)
    known = {a.id: a.label for a in view.areas}
    body = _area_part(labels == view.body.label, size)
    result: dict[str, _Part] = {}
    rest = body.share
    for p in panels:
        if p.area not in known:
            mine = raw[p.id].within(body) * body.share
            rest = rest * (1 - mine)
            result[p.id] = body.with_share(mine)
    for area_id in dict.fromkeys(p.area for p in panels if p.area in known):
        inside = _Part(body.x, body.y, rest) if area_id == view.body.id else _area_part(labels == known[area_id], size)
        result |= _fill([p.id for p in panels if p.area == area_id], raw, inside)
    return PanelMasks({p.id: result[p.id] for p in panels}, size)


def _covered(outline: PathXY, holes: Sequence[PathXY], scale: NDArray[np.float64], size: tuple[int, int]) -> _Part:
    rings = [paths.transformed(paths.from_tuples(ring), scale) for ring in (outline, *holes)]
    sign = np.sign(paths.signed_area(rings[0]))
    return _Part(*coverage_part([rings[0], *(_run(ring, -sign) for ring in rings[1:])], size))


def _run(ring: Path, sign: float) -> Path:
    return ring if np.sign(paths.signed_area(ring)) == sign else paths.reversed_path(ring)


def _area_part(inside: NDArray[np.bool_], size: tuple[int, int]) -> _Part:
    """An area's share of every pixel of a picture of this size; in steps of 1/255 where the sizes differ."""
    pixels = inside.view(np.uint8)
    if (inside.shape[1], inside.shape[0]) != size:
        much_smaller = inside.shape[1] >= 2 * size[0]
        way = cv2.INTER_AREA if much_smaller else cv2.INTER_LINEAR  # by less than half, linear is as good and faster
        pixels = np.asarray(cv2.resize(pixels * np.uint8(255), size, interpolation=way))
    else:
        pixels = pixels * np.uint8(255)
    x, y, w, h = cv2.boundingRect(pixels)
    return _Part(x, y, pixels[y : y + h, x : x + w].astype(np.float32) / np.float32(255))


def _fill(ids: Sequence[str], raw: Mapping[str, _Part], inside: _Part) -> dict[str, _Part]:
    """Make the masks of one area sum to ``inside``."""
    if len(ids) == 1 or not inside.share.size:
        return dict.fromkeys(ids, inside)
    part, covered = inside.share, {i: raw[i].within(inside) for i in ids}
    total = np.sum(list(covered.values()), axis=0, dtype=np.float32)
    share = np.divide(part, total, out=np.zeros_like(part), where=total >= _SLIGHT)
    bare = (part > 0) & (total < _SLIGHT)
    known = total >= 0.5
    owner = source = None
    if bare.any() and known.any():
        _, nearest = cv2.distanceTransformWithLabels(
            (~known).view(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        place = np.zeros(int(nearest.max()) + 1, dtype=np.intp)
        at = np.flatnonzero(known)
        place[nearest.ravel()[at]] = at
        source = place[nearest[bare]]
        owner = np.stack([covered[i].ravel()[source] for i in ids]).argmax(axis=0)
    result = {}
    for k, i in enumerate(ids):
        mine = covered[i] * share
        if owner is not None:
            mine[bare] = np.where(owner == k, part[bare], 0)
        result[i] = inside.with_share(mine)
    return result


def _by_outline(
    view: View,
    panels: Sequence[Panel],
    raw: Mapping[str, _Part],
    scale: NDArray[np.float64],
    size: tuple[int, int],
) -> dict[str, _Part]:
    frame = _Part(0, 0, np.zeros((size[1], size[0]), dtype=np.float32))
    covered = {i: part.within(frame) for i, part in raw.items()}
    body_ids = [p.id for p in panels if p.area == view.body.id]
    body = np.sum([covered[i] for i in body_ids], axis=0)
    on_top = [i for i in covered if i not in body_ids and (covered[i] * body).sum() > 0.5 * covered[i].sum()]
    below = [i for i in covered if i not in on_top]
    result = {i: raw[i] for i in covered}
    left = np.ones_like(frame.share)
    for i in on_top:
        left *= 1 - covered[i]
    if view.kind == "photo":
        total = np.sum([covered[i] for i in below], axis=0)
        away = cv2.distanceTransform((total < 0.5).view(np.uint8), cv2.DIST_L2, 5)
        reached = _Part(0, 0, (away <= max(2.0, _REACH * max(size))).astype(np.float32) * left)
        return result | _fill(below, raw, reached)
    for hole in view.body.holes:
        left *= 1 - _covered(hole, (), scale, size).within(frame)
    for i in body_ids:
        result[i] = frame.with_share(covered[i] * left)
    return result
