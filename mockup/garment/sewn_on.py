"""What is sewn onto a body without being one of its sections: a pocket laid on it, a hood that stands on its neckline.

Told from the label picture alone, by what lies round an area.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from mockup.garment.layout import Labels, Layout

_LOW = 0.3  # of the body's height below its top: a pocket's middle lies lower
_MOST = 0.35  # of the body's size: a larger area is a panel of it
_RISES = 0.17  # of the body's height: a stand collar rises a twentieth, a rolled one an eighth, a hood a third and more
_DIPS = 0.02  # of the body's height: so deep is a back neckline; a waist that carries a bib is nearly level
_NECK = 0.75  # of the body's width: a neckline is narrower, a waist that carries a bodice is not


def is_patch(
    labels: Labels, layout: Layout, i: int, twins: Mapping[int, int], body: Collection[int], top: float, bottom: float
) -> bool:
    """Whether an area is laid on the body: the same section lies beside it, on both sides or the outer, and over it.

    So is a kangaroo pocket, also where it stands on the rib at the hem, or where a zip parts it.

    Args:
        labels: shape (h, w).
        layout: as ``layout_of`` gives it.
        i: the area's label.
        twins: label → label of its mirror image.
        body: labels of the body's sections that are known.
        top: of the body, px.
        bottom: the same.
    """
    pair = {i, twins[i]} if layout.touch[i, twins.get(i, 0)] and i in twins else {i}
    rows = sorted(pair)
    size = int(layout.size[rows].sum())
    whole = int(layout.size[sorted(body)].sum())
    low = layout.middle[i, 1] > top + _LOW * (bottom - top)
    if layout.touch[rows, 0].any() or not low or size > _MOST * whole:
        return False
    x0, y0 = layout.box[rows, :2].min(axis=0).astype(int)
    x1, y1 = layout.box[rows, 2:].max(axis=0).astype(int)
    mine = np.isin(labels[y0:y1, x0:x1], rows)
    beside = [_ends(labels, mine, x0, y0, r) for r in (len(mine) // 4, len(mine) // 2, (3 * len(mine)) // 4)]
    left, right = {a for a, _ in beside}, {b for _, b in beside}
    columns = np.nonzero(mine[0])[0]
    over = int(labels[max(y0 - 1, 0), x0 + int(columns[len(columns) // 2])])
    if len(left) > 1 or len(right) > 1 or over not in body:
        return False
    (a,), (b,) = left, right
    if len(pair) == 1 and i in twins:  # beside a placket or a zip: the outer side tells
        return over in (a, b) and layout.box[over, 1] < y0
    same = a == b or twins.get(a) == b
    return a in body and same and over in (a, b) and bool(layout.box[over, 1] < y0)


def _ends(labels: Labels, mine: np.ndarray, x0: int, y0: int, row: int) -> tuple[int, int]:
    """Labels just left and right of an area in one row of its box."""
    at = np.nonzero(mine[row])[0]
    line = labels[y0 + row]
    left, right = x0 + int(at[0]) - 1, x0 + int(at[-1]) + 1
    return int(line[left]) if left >= 0 else 0, int(line[right]) if right < len(line) else 0


def is_hood(
    layout: Layout, i: int, twins: Mapping[int, int], body: Collection[int], box: tuple[float, float, float, float]
) -> bool:
    """Whether an area, alone or with its twin, stands on the body's neckline and rises high above it.

    A bodice spans its skirt, a bib stands on a level waist, a collar is low.

    Args:
        layout: as ``layout_of`` gives it.
        i: the area's label.
        twins: label → label of its mirror image.
        body: labels of the body's sections that are known.
        box: left, top, right, bottom of the body, px.
    """
    rows = sorted({i, twins.get(i, i)})
    left, top, right, bottom = box
    reach = layout.reach[np.ix_(rows, sorted(body))].reshape(-1, 4)
    low, high = reach[:, :2].min(axis=0), reach[:, 2:].max(axis=0)
    if not np.isfinite([*low, *high]).all() or not layout.touch[rows, 0].any():
        return False
    tall = bottom - top
    rises = top - layout.box[rows, 1].min() > _RISES * tall
    dips = high[1] - low[1] > _DIPS * tall and high[1] < top + 0.35 * tall
    return bool(rises and dips and high[0] - low[0] < _NECK * (right - left))


def with_hoods(layout: Layout, parts: dict[int, str], told: Collection[int]) -> None:
    """Name what belongs to hoods that are known: a panel of one, and the lining that is seen in its opening.

    Args:
        layout: as ``layout_of`` gives it.
        parts: label → part, of all that is not body; changed.
        told: labels of which a person said what they are.
    """
    hoods = [k for k, part in parts.items() if part == "hood"]
    for i in [k for k, part in parts.items() if hoods and k not in told and part in ("area", "neck-facing", "collar")]:
        rim = max(int(layout.touch[i].sum()), 1)
        if layout.touch[i, hoods].sum() > 0.5 * rim:
            parts[i] = "hood" if layout.touch[i, 0] else "hood-lining"
