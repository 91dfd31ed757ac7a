"""What each area of a drawing shows: the body with its sections, sleeves, pockets, neck facing, cuffs.

Everything is told from where an area lies and what it touches; nothing is learned. What cannot be told is 'area'.

A body may be drawn in several areas: bodice and skirt, a yoke, two fronts with a placket between them, panels. All of
them together are the body, that landmarks, lengths and lines belong to; the seams between them are there already.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockup.garment.layout import Labels, Layout, astride
from mockup.garment.sewn_on import is_hood, is_patch, with_hoods

_LEAST_SECTION = 0.012  # of the body's size: smaller areas on it are trimmings
_LEAST_CONTACT = 0.10  # of its own rim: what hangs on by less is a strap or a loop
_SPANS = 0.8  # of the body's width: a seam that parts upper from lower


@dataclass(frozen=True, slots=True)
class Parts:
    """What the areas show.

    Attributes:
        body: label of the body, or of the largest of its sections.
        sections: label → 'bodice', 'skirt', 'yoke', …, where the body has more than one; else empty.
        others: label → part, for all that is not body.
    """

    body: int
    sections: Mapping[int, str]
    others: Mapping[int, str]

    @property
    def body_labels(self) -> tuple[int, ...]:
        """Labels of the body, the main one first."""
        return (self.body, *(k for k in self.sections if k != self.body))


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


def find_parts(
    labels: Labels,
    layout: Layout,
    mirror_x: float,
    twins: Mapping[int, int],
    side: str = "front",
    told: Mapping[int, str] | None = None,
) -> Parts:
    """Say which part of the garment every label shows.

    Args:
        labels: shape (h, w).
        layout: as :func:`layout_of` gives it.
        mirror_x: x of the mirror line, px.
        twins: label → label of its mirror image.
        side: 'front' or 'back'.
        told: what the person said of a label; it stands. The part 'body', or a section's, makes it one of the body.
    """
    said = dict(told or {})
    on_body = {k for k, part in said.items() if part == "body" or part in SECTIONS}
    elsewhere = set(said) - on_body
    seed = next(iter(sorted(on_body, key=lambda k: -layout.size[k])), 0) or find_body(layout, mirror_x)
    group = _Group.of(layout, {seed} | on_body)
    seen = _Seen(labels, layout, mirror_x, twins)
    grown = True
    while grown:
        grown = False
        for i in np.argsort(-layout.size, kind="stable").tolist():
            if i == 0 or i in group.labels or i in elsewhere or not layout.size[i]:
                continue
            twin_of_section = twins.get(i) in group.labels and layout.box[i, 1] < group.bottom
            if (twin_of_section and layout.touch[i, list(group.labels)].any()) or seen.is_section(i, group):
                group = _Group.of(layout, {*group.labels, i})
                grown = True
    body = max(group.labels, key=lambda k: (layout.size[k], -k))
    others = {i: said.get(i) or seen.part(i, group) for i in _present(layout) if i not in group.labels}
    _hung_on_others(layout, others, group)
    with_hoods(layout, others, elsewhere)
    sections = {}
    if len(group.labels) > 1:
        sections = {k: said[k] if said.get(k) in SECTIONS else v for k, v in _section_names(seen, group, twins).items()}
    return Parts(body, sections, others)


SECTIONS = (
    "yoke", "bodice", "skirt", "half", "leg", "centre-panel", "side-panel", "panel", "placket", "middle-band",
    "hem-band", "section",
)  # fmt: skip
"""Kinds of a body's sections."""


def _present(layout: Layout) -> list[int]:
    return [i for i in range(1, len(layout.size)) if layout.size[i]]


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    """Labels taken together: what a layout says of one label, of several."""

    labels: frozenset[int]
    left: float
    top: float
    right: float
    bottom: float
    size: int
    touch: NDArray[np.int64]
    reach: NDArray[np.float64]

    @classmethod
    def of(cls, layout: Layout, labels: set[int]) -> _Group:
        rows = sorted(labels)
        box = layout.box[rows]
        touch = layout.touch[rows].sum(axis=0)
        touch[rows] = 0
        reach = layout.reach[rows]
        edges = np.concatenate([reach[..., :2].min(axis=0), reach[..., 2:].max(axis=0)], axis=1)
        left, top = box[:, :2].min(axis=0)
        right, bottom = box[:, 2:].max(axis=0)
        return cls(
            frozenset(labels), float(left), float(top), float(right), float(bottom),
            int(layout.size[rows].sum()), touch, edges,
        )  # fmt: skip

    @property
    def high(self) -> float:
        return max(self.bottom - self.top, 1.0)

    @property
    def wide(self) -> float:
        return max(self.right - self.left, 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """A label picture and what is asked of it."""

    labels: Labels
    layout: Layout
    mirror_x: float
    twins: Mapping[int, int]

    def central(self, i: int) -> bool:
        return astride(self.layout, i, self.mirror_x)

    def across(self, i: int) -> float:
        return float(self.layout.box[i, 2] - self.layout.box[i, 0])

    def tall(self, i: int) -> float:
        return float(self.layout.box[i, 3] - self.layout.box[i, 1])

    def spans(self, i: int, group: _Group) -> str:
        """'above' or 'below' where the border parts this area from all of the group's width there; else ''."""
        if not group.touch[i]:
            return ""
        x0, y0, x1, y1 = group.reach[i]
        step = max(3.0, 0.02 * group.high)
        for word, row in (("above", y1 + step), ("below", y0 - step)):
            above = self.layout.middle[i, 1] < (y0 + y1) / 2
            if above != (word == "above") or not 0 <= row < self.labels.shape[0]:
                continue
            inside = np.nonzero(np.isin(self.labels[int(row)], list(group.labels)))[0]
            if len(inside) and x1 - x0 > _SPANS * (inside[-1] - inside[0]):
                return word
        return ""

    def is_placket(self, i: int, group: _Group) -> bool:
        """A narrow upright strip in the middle."""
        full = self.layout.size[i] / max(self.across(i) * self.tall(i), 1.0)
        narrow = self.across(i) < min(0.35 * group.wide, self.tall(i) / 1.3)
        near = abs(self.layout.middle[i, 0] - self.mirror_x) < 0.12 * group.wide
        return bool(narrow and near and full > 0.8 and self.tall(i) > 0.12 * group.high)

    def is_waistband(self, i: int, group: _Group) -> bool:
        """A low band on top that rises to its ends or lies level; a yoke falls off from the neck to the shoulders.

        Where more of the garment stands on it, a bodice on its midriff, it is none.
        """
        if self.tall(i) > 0.35 * self.across(i) or self.carries(i, group):
            return False
        x0, x1 = int(self.layout.box[i, 0]), int(self.layout.box[i, 2])
        y0, y1 = int(self.layout.box[i, 1]), int(self.layout.box[i, 3])
        mine = self.labels[y0:y1, x0:x1] == i
        profile = np.where(mine.any(axis=0), mine.argmax(axis=0), mine.shape[0]).astype(float)
        n = len(profile)
        ends = (float(np.median(profile[: max(1, n // 12)])) + float(np.median(profile[-max(1, n // 12) :]))) / 2
        dip = profile[min(max(int(self.mirror_x) - x0, 0), n - 1)] - profile.min()
        sleeves = any(
            self.layout.touch[i, j] > 0.4 * self.tall(i) and not self.central(j) and j not in group.labels
            for j in _present(self.layout)
        )
        is_yoke = sleeves or (ends - profile.min() > 0.2 * self.tall(i) and dip > 0.015 * self.across(i))
        return not is_yoke

    def carries(self, i: int, group: _Group) -> bool:
        """Whether an area that is at least as high stands on most of this one's width."""
        on_it = (
            self.layout.touch[i, j]
            for j in _present(self.layout)
            if j not in group.labels
            and self.layout.middle[j, 1] < self.layout.box[i, 1]
            and self.tall(j) > self.tall(i)
        )
        return bool(sum(on_it) > 0.6 * self.across(i))

    def is_inside(self, i: int, group: _Group) -> bool:
        whole = max(int(self.layout.touch[i].sum()), 1)
        return bool(group.touch[i] > 0.8 * whole and self.layout.touch[i, 0] == 0)

    def is_sleeve(self, i: int, group: _Group) -> bool:
        """Beside the body, along the armhole only, and reaching out beyond it."""
        if self.central(i) or group.touch[i] <= 0.05 * group.high or not self._reaches_out(i, group):
            return False
        share = (group.reach[i, 3] - group.reach[i, 1]) / group.high
        return bool(group.reach[i, 3] < group.top + 0.75 * group.high and 0.05 < share < 0.7)

    def _reaches_out(self, i: int, group: _Group) -> bool:
        """Whether the area goes on outwards well beyond where it touches the group."""
        box, edge = self.layout.box[i], group.reach[i]
        on_right = self.layout.middle[i, 0] > self.mirror_x
        out = box[2] - edge[2] if on_right else edge[0] - box[0]
        return bool(out > 0.2 * self.across(i))

    def is_patch(self, i: int, group: _Group) -> bool:
        return is_patch(self.labels, self.layout, i, self.twins, group.labels, group.top, group.bottom)

    def is_hood(self, i: int, group: _Group) -> bool:
        box = (group.left, group.top, group.right, group.bottom)
        return is_hood(self.layout, i, self.twins, group.labels, box) and self.spans(i, group) != "above"

    def is_section(self, i: int, group: _Group) -> bool:
        """Whether an area is one more section of the body."""
        contact = int(group.touch[i])
        rim = max(int(self.layout.touch[i].sum()), 1)
        if contact < _LEAST_CONTACT * rim or self.layout.size[i] < _LEAST_SECTION * group.size:
            return False
        if self.is_placket(i, group):
            return True
        if self.is_sleeve(i, group) or self.is_patch(i, group) or self.is_hood(i, group):
            return False
        y = self.layout.middle[i, 1]
        if self.is_inside(i, group):
            return False
        if self.central(i):
            word = self.spans(i, group)
            if word == "above":
                return not self.is_waistband(i, group)
            if word == "below":
                return True
            # in a neckline: facing or collar; a panel runs on down the body
            return bool(y > group.top + 0.25 * group.high or self.layout.size[i] > 0.25 * group.size)
        # beside the middle: a panel shares a long border with the body, from high up or far down
        return contact > 0.3 * self.tall(i)

    def part(self, i: int, group: _Group) -> str:
        """The part of an area that is not body."""
        y = self.layout.middle[i, 1]
        on_body = group.touch[i]
        if (self.is_inside(i, group) and y > group.top + 0.3 * group.high) or self.is_patch(i, group):
            return "pocket"
        if self.is_hood(i, group):
            return "hood"
        if on_body and self.central(i) and self.spans(i, group) == "above" and self.is_waistband(i, group):
            return "waistband"
        small = self.layout.size[i] < 0.25 * group.size
        if on_body and self.central(i) and y < group.top + 0.25 * group.high and small:
            return "neck-facing"
        return "sleeve" if self.is_sleeve(i, group) else "area"


def _hung_on_others(layout: Layout, parts: dict[int, str], group: _Group) -> None:
    """Name what touches parts that are known by now."""
    for i in [k for k, part in parts.items() if part == "area"]:
        onto = {"body" if int(j) in group.labels else parts.get(int(j)) for j in np.nonzero(layout.touch[i])[0] if j}
        onto.discard(None)
        if onto == {"sleeve"}:
            parts[i] = "cuff"
        elif "neck-facing" in onto and "body" not in onto:
            parts[i] = "collar"


def _section_names(seen: _Seen, group: _Group, twins: Mapping[int, int]) -> dict[int, str]:
    """Say what the sections of a body are."""
    layout = seen.layout
    found: dict[int, str] = {}
    central = [i for i in sorted(group.labels) if seen.central(i) and i not in twins]
    stack = []
    for i in central:
        if seen.is_placket(i, group):
            found[i] = "placket"
        else:
            stack.append(i)
    for i in sorted(group.labels - set(central)):
        pair = twins.get(i)
        both = layout.size[i] + (layout.size[pair] if pair in group.labels else 0)
        if not stack and pair in group.labels and both > 0.55 * group.size and seen.tall(i) > 0.5 * group.high:
            found[i] = "leg" if _parted_below(seen, group) else "half"
        else:
            found[i] = "side-panel" if seen.tall(i) > 0.45 * group.high else "panel"
    stack.sort(key=lambda i: layout.middle[i, 1])
    for k, i in enumerate(stack):
        low, first, last = seen.tall(i) < 0.3 * seen.across(i), k == 0, k == len(stack) - 1
        if len(stack) == 1:
            at_top = layout.box[i, 1] < group.top + 0.08 * group.high and seen.tall(i) < 0.35 * group.high
            found[i] = "yoke" if at_top else "centre-panel" if layout.size[i] < 0.9 * group.size else "section"
        elif first:
            found[i] = "yoke" if seen.tall(i) < 0.55 * seen.across(i) else "bodice"
        elif last and low:
            found[i] = "hem-band"
        elif low:
            found[i] = "middle-band"
        else:
            found[i] = "skirt" if "bodice" in found.values() and last else "section"
    below = [i for i in stack if found[i] == "section"]
    if below and "bodice" in found.values() and "skirt" not in found.values():
        found[below[-1]] = "skirt"  # a band at the hem lies below it
    if any(p in found.values() for p in ("side-panel", "half")):
        found = {i: "centre-panel" if part == "section" else part for i, part in found.items()}
    return found


def _parted_below(seen: _Seen, group: _Group) -> bool:
    """Whether the middle of the garment is outside near its foot: two legs."""
    row = seen.labels[min(int(group.top + 0.9 * group.high), seen.labels.shape[0] - 1)]
    at = int(np.clip(seen.mirror_x, 0, len(row) - 1))
    there = int(row[at])
    return bool(row[max(at - 1, 0) : at + 2].max() == 0) or not (there in group.labels or seen.is_patch(there, group))
