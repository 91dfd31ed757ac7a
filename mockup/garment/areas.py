"""Found areas as a view has them: outlines, names, twins; the body first, with its sections and their seams."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from mockup.garment.area_shapes import Shapes, TracedShapes
from mockup.garment.layout import Labels, Layout, astride, layout_of
from mockup.garment.parts import find_parts
from mockup.garment.sections import body_seams
from mockup.garment.view import Area, DrawnSeam, PathXY
from mockup.geometry.path import Path
from mockup.geometry.trace import TOLERANCE_PX
from swatches.errors import PictureError

_TWIN = 0.55  # overlap of an area with its twin's mirror image
_NAMES = {
    "body": "body",
    "sleeve": "sleeve",
    "cuff": "cuff",
    "pocket": "pocket",
    "neck-facing": "neck facing",
    "collar": "collar",
    "hood": "hood",
    "hood-lining": "hood lining",
    "waistband": "waistband",
    "yoke": "yoke",
    "bodice": "bodice",
    "skirt": "skirt",
    "half": "half",
    "leg": "leg",
    "centre-panel": "centre panel",
    "side-panel": "side panel",
    "panel": "panel",
    "placket": "placket",
    "middle-band": "middle band",
    "hem-band": "hem band",
    "section": "section",
    "area": "area",
}
PART_WORDS = tuple(_NAMES)
"""All kinds of areas that are known, as the command and the page offer them."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundAreas:
    """Areas of a label picture.

    Attributes:
        areas: the body, as a whole, first.
        sections: the areas that make up the body, where there are several.
        seams: the seams between them.
        warnings: sentences for the person.
    """

    areas: tuple[Area, ...]
    sections: tuple[Area, ...] = ()
    seams: tuple[DrawnSeam, ...] = ()
    warnings: tuple[str, ...] = ()


def find_twins(labels: Labels, layout: Layout, mirror_x: float) -> dict[int, int]:
    """Find areas that are each other's mirror image: label → label, both ways."""
    twins: dict[int, int] = {}
    for i in range(1, len(layout.size)):
        left, top, right, bottom = layout.box[i]
        if i in twins or layout.size[i] == 0 or astride(layout, i, mirror_x):
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


def areas_of(
    labels: Labels,
    mirror_x: float,
    side: str,
    *,
    scale: float = 1.0,
    smooth_px: float = 0.0,
    exact: Shapes | None = None,
    told: Mapping[int, str] | None = None,
) -> FoundAreas:
    """Make areas of a label picture: outlines, parts, names, twins; the body first.

    Args:
        labels: shape (h, w).
        mirror_x: x of the mirror line, px of ``labels``.
        side: 'front' or 'back': in a front view the right of the picture is the wearer's left.
        scale: outlines are multiplied by it.
        smooth_px: see :func:`~mockup.geometry.trace.trace_mask`.
        exact: what is known exactly about the shapes, px of the whole picture.
        told: label → part, as the person said.

    Returns:
        Areas whose outlines run counter-clockwise as a person sees them.

    Raises:
        PictureError: no area has an outline.
    """
    layout = layout_of(labels)
    twins = find_twins(labels, layout, mirror_x)
    parts = find_parts(labels, layout, mirror_x, twins, side, told)
    others = dict(parts.others)
    for i, j in twins.items():
        # a twin is what its twin is, where only one of them could be told
        if others.get(i) == "area" and others.get(j, "area") != "area":
            others[i] = others[j]
    shapes: Shapes = exact if exact is not None else TracedShapes(labels, scale, smooth_px)
    outlines = shapes.outlines()
    if not any(k in outlines for k in parts.body_labels):
        raise PictureError("drawing", expected="an area of some size", got="specks", next_step="Use a larger picture")
    make = _Maker(layout, mirror_x, side, twins, outlines, {})
    if len(parts.body_labels) == 1:
        body = make.area(parts.body, "body")
        return FoundAreas((body, *make.all(others)))
    outer, holes = shapes.together(parts.body_labels)
    body = Area("body", "body", parts.body, outer.to_tuples(), "body", None, tuple(h.to_tuples() for h in holes))
    sections = _by_place(make.all(parts.sections), layout, side)
    known = [a.label for a in sections]
    seams, warnings = body_seams(
        shapes, known, outer, mirror_x=mirror_x * scale, side=side,
        smooth_px=0.0 if exact is not None else smooth_px * scale,
        tolerance=TOLERANCE_PX * scale if exact is None else 0.08, holes=holes,
    )  # fmt: skip
    return FoundAreas((body, *make.all(others)), sections, seams, tuple(warnings))


_PLACES = {1: ("lower",), 2: ("upper", "lower"), 3: ("upper", "middle", "lower")}


def _by_place(sections: tuple[Area, ...], layout: Layout, side: str) -> tuple[Area, ...]:
    """Give sections of which only the place is known the name that the trade has for that place.

    Between bodice and skirt it is the midriff; below a yoke, or between bands, the lower front; of two, the upper and
    the lower one; more than three of them are numbered panels.
    """
    plain = sorted((a for a in sections if a.part == "section"), key=lambda a: float(layout.middle[a.label, 1]))
    parts = {a.part for a in sections}
    if {"bodice", "skirt"} <= parts:
        words = ["midriff"] if len(plain) == 1 else [f"midriff {k + 1}" for k in range(len(plain))]
    elif len(plain) in _PLACES:
        words = [f"{place} {side}" for place in _PLACES[len(plain)]]
    else:
        words = [f"panel {k + 1}" for k in range(len(plain))]
    names = {a.label: word for a, word in zip(plain, words, strict=True)}
    return tuple(replace(a, name=names[a.label]) if a.label in names else a for a in sections)


@dataclass(frozen=True, slots=True, eq=False)
class _Maker:
    """What is needed to make areas of labels; ``used`` counts names."""

    layout: Layout
    mirror_x: float
    side: str
    twins: Mapping[int, int]
    outlines: Mapping[int, tuple[Path, tuple[Path, ...]]]
    used: dict[str, int]

    def all(self, parts: Mapping[int, str]) -> tuple[Area, ...]:
        """Areas of these labels that have an outline, by part and from the top."""
        order = sorted(parts, key=lambda k: (_rank(parts[k]), self.layout.middle[k, 1].round(-1), k))
        return tuple(self.area(i, parts[i]) for i in order if i in self.outlines)

    def area(self, i: int, part: str) -> Area:
        """The area of one label."""
        outer, holes = self.outlines[i]
        on_right = self.layout.middle[i, 0] > self.mirror_x
        wearer = ("left" if on_right else "right") if self.side == "front" else ("right" if on_right else "left")
        sided = i in self.twins or part in ("sleeve", "cuff")
        inner: tuple[PathXY, ...] = tuple(h.to_tuples() for h in holes)
        return _named(Area("", "", i, outer.to_tuples(), part, wearer if sided else None, inner), self.used, self.side)


def _rank(part: str) -> int:
    return PART_WORDS.index(part) if part in PART_WORDS else len(PART_WORDS)


def _named(area: Area, used: dict[str, int], side: str) -> Area:
    """Give an area an id and a name that no other has."""
    end = f"-{area.side}" if area.side else ""
    key = area.part + end
    used[key] = used.get(key, 0) + 1
    number = used[key]
    plain = area.part != "area" and number == 1
    ident = f"{area.part}{end}" if plain else f"{area.part}-{number}{end}"
    word = side if area.part == "half" else _NAMES.get(area.part, area.part)
    name = word + ("" if plain else f" {number}")
    return replace(area, id=ident, name=f"{area.side} {name}" if area.side else name)
