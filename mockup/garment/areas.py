"""Which found area is which part of the garment: body, sleeves, pockets, neck facing, cuffs; and which are twins.

Everything is told from where an area lies and what it touches; nothing is learned. What cannot be told is 'area'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockup.garment.view import Area
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.geometry.trace import TOLERANCE_PX, trace_mask

Labels = NDArray[np.uint16]

_TWIN = 0.55  # overlap of an area with its twin's mirror image
_NAMES = {
    "body": "body",
    "sleeve": "sleeve",
    "cuff": "cuff",
    "pocket": "pocket",
    "neck-facing": "neck facing",
    "collar": "collar",
    "waistband": "waistband",
    "bodice": "bodice",
    "area": "area",
}


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where the areas lie and what they touch, by label (0 is outside).

    Attributes:
        size: px of each label, shape (n + 1,).
        box: left, top, right, bottom, shape (n + 1, 4).
        middle: centre of mass, shape (n + 1, 2).
        touch: length of the border between two labels, px, shape (n + 1, n + 1), symmetric.
        touch_top: smallest y of that border; infinity where there is none.
        touch_bottom: largest y of that border; minus infinity where there is none.
    """

    size: NDArray[np.int64]
    box: NDArray[np.float64]
    middle: NDArray[np.float64]
    touch: NDArray[np.int64]
    touch_top: NDArray[np.float64]
    touch_bottom: NDArray[np.float64]


def layout_of(labels: Labels) -> Layout:
    """Measure a label picture, shape (h, w)."""
    n = int(labels.max()) + 1
    size = np.bincount(labels.ravel(), minlength=n)
    box, middle = np.zeros((n, 4)), np.zeros((n, 2))
    per_row = np.stack([np.bincount(row, minlength=n) for row in labels])
    per_column = np.stack([np.bincount(column, minlength=n) for column in labels.T])
    for i in range(n):
        ys, xs = np.nonzero(per_row[:, i])[0], np.nonzero(per_column[:, i])[0]
        if len(ys):
            box[i] = xs[0], ys[0], xs[-1] + 1, ys[-1] + 1
            middle[i] = (
                per_column[:, i] @ (np.arange(labels.shape[1]) + 0.5) / size[i],
                per_row[:, i] @ (np.arange(labels.shape[0]) + 0.5) / size[i],
            )
    touch = np.zeros((n, n), np.int64)
    top, bottom = np.full((n, n), np.inf), np.full((n, n), -np.inf)
    for a, b in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        y, x = np.nonzero(labels[a] != labels[b])
        first, second = labels[a][y, x].astype(int), labels[b][y, x].astype(int)
        for one, other in ((first, second), (second, first)):
            np.add.at(touch, (one, other), 1)
            np.minimum.at(top, (one, other), y)
            np.maximum.at(bottom, (one, other), y + 1)
    return Layout(size, box, middle, touch, top, bottom)


def find_body(layout: Layout, mirror_x: float) -> int:
    """Give the label of the body: the largest area that the mirror line runs through, else the largest of all."""
    half_way = (layout.box[:, 0] + 2 < mirror_x) & (layout.box[:, 2] - 2 > mirror_x)
    wide = np.minimum(mirror_x - layout.box[:, 0], layout.box[:, 2] - mirror_x)
    central = half_way & (wide > 0.2 * (layout.box[:, 2] - layout.box[:, 0]))
    central[0] = False
    sizes = np.where(central, layout.size, 0)
    rest = layout.size.copy()
    rest[0] = 0
    return int(sizes.argmax()) if sizes.max() > 0.12 * rest.sum() else int(rest.argmax())


def find_twins(labels: Labels, layout: Layout, mirror_x: float) -> dict[int, int]:
    """Find areas that are each other's mirror image: label → label, both ways."""
    twins: dict[int, int] = {}
    for i in range(1, len(layout.size)):
        left, top, right, bottom = layout.box[i]
        if i in twins or layout.size[i] == 0 or left < mirror_x < right:
            continue
        y, x = np.nonzero(labels[int(top) : int(bottom), int(left) : int(right)] == i)
        over = np.round(2 * mirror_x - (x + left) - 1).astype(int)
        fits = (over >= 0) & (over < labels.shape[1])
        found = np.bincount(labels[(y + int(top))[fits], over[fits]], minlength=len(layout.size))
        found[[0, i]] = 0
        j = int(found.argmax())
        overlap = found[j] / (layout.size[i] + layout.size[j] - found[j])
        if overlap > _TWIN and j not in twins:
            twins[i], twins[j] = j, i
    return twins


def name_parts(layout: Layout, body: int, mirror_x: float) -> dict[int, str]:
    """Say for every label which part of the garment it shows."""
    parts = {body: "body"}
    left, top, right, bottom = layout.box[body]
    high, wide = bottom - top, right - left
    for i in range(1, len(layout.size)):
        if i == body or layout.size[i] == 0:
            continue
        x, y = layout.middle[i]
        whole = max(int(layout.touch[i].sum()), 1)
        on_body = layout.touch[i, body]
        inside = on_body > 0.8 * whole and layout.touch[i, 0] == 0
        central = layout.box[i, 0] < mirror_x < layout.box[i, 2]
        across = layout.box[i, 2] - layout.box[i, 0]
        reach = (layout.touch_bottom[i, body] - layout.touch_top[i, body]) / high if on_body else 0.0
        if inside and y > top + 0.3 * high:
            parts[i] = "pocket"
        elif on_body and central and y < top and across > 0.2 * wide:
            # sits on top of the body, not in its neck
            parts[i] = "waistband" if layout.box[i, 3] - layout.box[i, 1] < 0.3 * across else "bodice"
        elif on_body and central and y < top + 0.25 * high and layout.size[i] < 0.25 * layout.size[body]:
            parts[i] = "neck-facing"
        elif (
            on_body > 0.08 * high
            and not central
            and abs(x - mirror_x) > 0.3 * wide
            and layout.touch_bottom[i, body] < top + 0.75 * high
            and 0.08 < reach < 0.7
        ):
            parts[i] = "sleeve"
        else:
            parts[i] = "area"
    for i in [k for k, part in parts.items() if part == "area"]:
        onto = {parts.get(int(j)) for j in np.nonzero(layout.touch[i])[0] if j not in (0, i)}
        if onto == {"sleeve"}:
            parts[i] = "cuff"
        elif "neck-facing" in onto and "body" not in onto:
            parts[i] = "collar"
        elif "bodice" in onto and "body" not in onto:
            bodice = next(k for k, part in parts.items() if part == "bodice")
            if layout.box[i, 0] < mirror_x < layout.box[i, 2] and layout.middle[i, 1] < layout.middle[bodice, 1]:
                parts[i] = "neck-facing"
    return parts


def areas_of(
    labels: Labels,
    mirror_x: float,
    side: str,
    *,
    scale: float = 1.0,
    smooth_px: float = 0.0,
    exact: Mapping[int, tuple[Path, tuple[Path, ...]]] | None = None,
) -> tuple[Area, ...]:
    """Make areas of a label picture: outlines, parts, names, twins; the body first.

    Args:
        labels: shape (h, w).
        mirror_x: x of the mirror line, px of ``labels``.
        side: 'front' or 'back': in a front view the right of the picture is the wearer's left.
        scale: outlines are multiplied by it.
        smooth_px: see :func:`~mockup.geometry.trace.trace_mask`.
        exact: outlines by label that are known already, in the px of the whole picture: outer and holes.

    Returns:
        Areas whose outlines run counter-clockwise as a person sees them.
    """
    layout = layout_of(labels)
    body = find_body(layout, mirror_x)
    twins = find_twins(labels, layout, mirror_x)
    parts = name_parts(layout, body, mirror_x)
    for i, j in twins.items():
        # a twin is what its twin is, where only one of them could be told
        if parts.get(i) == "area" and parts.get(j, "area") != "area":
            parts[i] = parts[j]
    made: list[Area] = []
    used: dict[str, int] = {}
    order = sorted(parts, key=lambda k: (k != body, list(_NAMES).index(parts[k]), layout.middle[k, 1].round(-1), k))
    for i in order:
        if exact is not None and i in exact:
            outer, inner = exact[i][0].to_tuples(), tuple(h.to_tuples() for h in exact[i][1])
        else:
            left, top, right, bottom = layout.box[i].astype(int)
            traced = trace_mask(labels[top:bottom, left:right] == i, tolerance=TOLERANCE_PX, smooth_px=smooth_px)
            if not traced:
                continue
            move = np.array([[scale, 0, left * scale], [0, scale, top * scale]])
            outer, *rest = (
                paths.reversed_path(paths.transformed(p, move)).to_tuples() for p in (traced[0][0], *traced[0][1])
            )
            inner = tuple(rest)
        on_right = layout.middle[i, 0] > mirror_x
        wearer = ("left" if on_right else "right") if side == "front" else ("right" if on_right else "left")
        sided = i in twins or parts[i] in ("sleeve", "cuff")
        made.append(_named(Area("", "", i, outer, parts[i], wearer if sided else None, inner), used))
    return tuple(made)


def _named(area: Area, used: dict[str, int]) -> Area:
    """Give an area an id and a name that no other has."""
    end = f"-{area.side}" if area.side else ""
    key = area.part + end
    used[key] = used.get(key, 0) + 1
    number = used[key]
    plain = area.part != "area" and number == 1
    ident = f"{area.part}{end}" if plain else f"{area.part}-{number}{end}"
    name = _NAMES[area.part] + ("" if plain else f" {number}")
    return replace(area, id=ident, name=f"{area.side} {name}" if area.side else name)
