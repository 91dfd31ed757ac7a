"""Which pixel belongs to which panel, with soft borders that leave no gap."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment.view import PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.stylelines.raster import coverage

if TYPE_CHECKING:
    from mockup.stylelines.panels import Panel

Mask = NDArray[np.float32]
_SLIGHT = 1e-3


def panel_masks(
    view: View,
    panels: Sequence[Panel],
    labels: NDArray[np.uint16] | None = None,
    size: tuple[int, int] | None = None,
) -> dict[str, Mask]:
    """Share of every pixel that each panel covers.

    Inside an area of the label picture the panels of that area sum to 1 everywhere, also where the smooth outline and
    the pixels of the area differ: such pixels go to the nearest panel. Outside its area a panel covers nothing. Without
    a label picture the outlines decide, and what lies on the body is taken off the body's panels.

    Args:
        view: the view.
        panels: the view's panels.
        labels: the view's label picture, shape (height, width) of the view, or None.
        size: width and height of the masks in px; None: the view's.

    Returns:
        Panel id → float32 of shape (height, width), 0 to 1.
    """
    size = size or view.size
    scale = np.array([[size[0] / view.size[0], 0, 0], [0, size[1] / view.size[1], 0]])
    raw = {p.id: _covered(p.outline, p.holes, scale, size) for p in panels}
    by_area: dict[str, list[Panel]] = {}
    for p in panels:
        by_area.setdefault(p.area, []).append(p)
    if labels is None:
        return _by_outline(view, by_area, raw, scale, size)
    known = {a.id: a.label for a in view.areas}
    result: dict[str, Mask] = {}
    body = _area_share(labels == view.body.label, size)
    for area_id, mine in by_area.items():
        if area_id not in known:  # lies on the body, without a label of its own
            for p in mine:
                result[p.id] = raw[p.id] * body
    for p_id in list(result):
        body = body * (1 - raw[p_id])
    for area_id, mine in by_area.items():
        if area_id in known:
            inside = body if area_id == view.body.id else _area_share(labels == known[area_id], size)
            result |= _fill([p.id for p in mine], raw, inside)
    return result


def _covered(outline: PathXY, holes: Sequence[PathXY], scale: NDArray[np.float64], size: tuple[int, int]) -> Mask:
    rings = [paths.transformed(paths.from_tuples(ring), scale) for ring in (outline, *holes)]
    sign = np.sign(paths.signed_area(rings[0]))
    return coverage([rings[0], *(_run(ring, -sign) for ring in rings[1:])], size)


def _run(ring: Path, sign: float) -> Path:
    return ring if np.sign(paths.signed_area(ring)) == sign else paths.reversed_path(ring)


def _area_share(inside: NDArray[np.bool_], size: tuple[int, int]) -> Mask:
    share = inside.astype(np.float32)
    if (inside.shape[1], inside.shape[0]) == size:
        return share
    smaller = size[0] <= inside.shape[1]
    return np.asarray(cv2.resize(share, size, interpolation=cv2.INTER_AREA if smaller else cv2.INTER_LINEAR))


def _fill(ids: Sequence[str], raw: dict[str, Mask], inside: Mask) -> dict[str, Mask]:
    """Make the masks of one area sum to ``inside``."""
    if len(ids) == 1:
        return {ids[0]: inside.copy()}
    result = {i: np.zeros_like(inside) for i in ids}
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    if not len(rows):
        return result
    box = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    part, covered = inside[box], {i: raw[i][box] for i in ids}
    total = np.sum([covered[i] for i in ids], axis=0, dtype=np.float32)
    share = np.divide(part, total, out=np.zeros_like(part), where=total >= _SLIGHT)
    for i in ids:
        np.multiply(covered[i], share, out=result[i][box])
    bare = (part > 0) & (total < _SLIGHT)
    known = total >= 0.5
    if bare.any() and known.any():
        _, nearest = cv2.distanceTransformWithLabels(
            (~known).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        place = np.zeros(int(nearest.max()) + 1, dtype=np.intp)
        at = np.flatnonzero(known)
        place[nearest.ravel()[at]] = at
        source = place[nearest[bare]]
        owner = np.stack([covered[i].ravel()[source] for i in ids]).argmax(axis=0)
        for k, i in enumerate(ids):
            result[i][box][bare] = np.where(owner == k, part[bare], 0)
    return result


def _by_outline(
    view: View,
    by_area: dict[str, list[Panel]],
    raw: dict[str, Mask],
    scale: NDArray[np.float64],
    size: tuple[int, int],
) -> dict[str, Mask]:
    result = dict(raw)
    body = view.body.id
    left = np.ones((size[1], size[0]), dtype=np.float32)
    for area_id, mine in by_area.items():
        if area_id != body:
            for p in mine:
                left *= 1 - raw[p.id]
    for hole in view.body.holes:
        left *= 1 - _covered(hole, (), scale, size)
    for p in by_area.get(body, ()):
        result[p.id] = raw[p.id] * left
    return result
