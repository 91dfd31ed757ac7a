"""Panels: what a garment is made of once its lines are drawn, with ids and numbers that hold while lines are dragged.

An id names a panel within its side or part: 'front-1', 'front-3L', 'back-2', 'sleeve-1R', 'pocket-1L'. A number is what
picture, piece, cutting list and handout share: it runs over the whole garment, front body first, then sleeves and all
that is sewn on, back body, facings last; twins have the same number. Left and right are the wearer's.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from mockup.garment.view import Area, PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.faces import faces
from mockup.geometry.path import Path
from mockup.stylelines import edges
from mockup.stylelines.drawn_seams import placed_seams
from mockup.stylelines.on_photo import OneSide, areas_on_photo, drawing_of, placed_lines
from mockup.stylelines.styleline import StyleLine
from mockup.stylelines.twins import Body, face_twins, order, straddles, touched

_BOTH_SIDES = ("sleeve", "cuff", "collar", "hood", "neck-facing", "hood-lining")  # one object, seen from both
_LAST = ("neck-facing", "hood-lining")
_TOLERANCE_MM = 0.02


@dataclass(frozen=True, slots=True)
class Panel:
    """An area bounded by seams and style lines, cut from one fabric, as one view shows it.

    Attributes:
        id: the same in every view of that side: 'front-2', 'front-3L', 'sleeve-1L'.
        number: shared with pieces and lists, and by twins.
        name: the person's word, without a side.
        view: name of the view.
        area: id of the view's area that it lies in; on a photo also of the drawing's, for a pocket carried over.
        part: the kind of pattern piece: 'body', 'sleeve', …
        side: 'left' or 'right' (the wearer's) for one of twins, else None.
        twin: id of its twin, or None.
        outline: closed, px of the view.
        share: of the visible cloth of the whole garment, front and back, 0 to 1.
        holes: outlines in it that are other panels or openings, px.
    """

    id: str
    number: int
    name: str
    view: str
    area: str
    part: str
    side: str | None
    twin: str | None
    outline: PathXY
    share: float
    holes: tuple[PathXY, ...] = ()


def garment_panels(views: Sequence[View], lines: Sequence[StyleLine]) -> dict[str, tuple[Panel, ...]]:
    """Cut every view by the lines of its side.

    Args:
        views: drawings and photos.
        lines: all style lines; those of a side that has no view are left out.

    Returns:
        View name → its panels by number, the left twin before the right.

    Raises:
        GeometryError: a line cannot be placed or cut, with the line's name and the place.
    """
    found = {view.name: _cut(OneSide.of(view, lines, views)) for view in views}
    for view in views:
        drawing = drawing_of(view, views)
        if drawing is not None and drawing.sections and not view.sections:  # a photo does not know what they are called
            called = {p.id: p.name for p in found[drawing.name]}
            found[view.name] = tuple(replace(p, name=called.get(p.id, p.name)) for p in found[view.name])
    numbers = _numbers(views, found)
    shares = _shares(views, found)
    return {
        name: tuple(
            sorted(
                (replace(p, number=numbers[_base(p.id)], share=shares.get(p.id, 0.0)) for p in panels),
                key=lambda p: (p.number, p.id),
            )
        )
        for name, panels in found.items()
    }


@lru_cache(maxsize=24)
def _cut(on: OneSide) -> tuple[Panel, ...]:
    """Panels of one view, without numbers and shares; kept, since a line that moves changes one side only."""
    views = (on.view,) if on.drawing is None else (on.view, on.drawing)
    return (*_body_panels(on.view, on.lines, views), *_area_panels(on.view, views))


def primary_views(views: Sequence[View]) -> tuple[View, ...]:
    """The view of each side that lines are drawn on: its drawing, else its first photo; front before back."""
    chosen = []
    for side in ("front", "back"):
        same = sorted((v for v in views if v.side == side), key=lambda v: v.kind != "drawing")
        chosen += same[:1]
    return tuple(chosen)


def cut_body(view: View, lines: Sequence[StyleLine], views: Sequence[View]) -> Body:
    """Cut a view's body by the lines of its side and its drawn seams; errors as :func:`garment_panels`."""
    placed = (*placed_lines(view, lines, views), *placed_seams(view, views))
    outline, named = _outline(view)
    cut = faces(
        outline,
        [path for _, path in placed],
        tolerance=_TOLERANCE_MM,
        names=[f"line {line.name!r}" for line, _ in placed],
    )
    middle, mirrored = edges.body_box(view)[0], view.mirror_x is not None
    return Body(outline, named, middle, mirrored, edges.left_sign(view), tuple(line for line, _ in placed), tuple(cut))


def _outline(view: View) -> tuple[Path, tuple[edges.MmEdge, ...]]:
    """The outline as its named edges where they close it, so that a distance along it tells the edge."""
    named = edges.edges_of(view)
    whole = _closed(named)
    return (edges.body_outline(view), ()) if whole is None else (whole, named)


@lru_cache(maxsize=64)
def _closed(named: tuple[edges.MmEdge, ...]) -> Path | None:
    """Edges as one outline, None where they make none; kept, so that what is measured along it is measured once."""
    if not named:
        return None
    joints = zip(named, (*named[1:], named[0]), strict=True)
    if not all(np.allclose(a.path.end, b.path.start, rtol=0, atol=1e-3) for a, b in joints):
        return None
    whole = paths.joined([e.path for e in named])
    return whole if paths.signed_area(whole) > 0 else None


def _body_panels(view: View, lines: Sequence[StyleLine], views: Sequence[View]) -> list[Panel]:
    body = cut_body(view, lines, views)
    twins = face_twins(body)
    local: dict[int, int] = {}
    walk = order(body)
    for k in walk:
        twin = twins[k][0]
        local[k] = local[twin] if twin in local else len(set(local.values())) + 1
    names = _names(view, body, local, walk)

    def panel_id(k: int) -> str:
        side = twins[k][1]
        return f"{view.side}-{local[k]}{side[0].upper() if side else ''}"

    made = []
    for k, face in enumerate(body.faces):
        twin, side = twins[k]
        rings = [paths.joined([p.path for p in ring]) for ring in (face.parts, *face.holes)]
        outline, *holes = (view.path_to_px(ring).to_tuples() for ring in rings)
        made.append(
            Panel(
                panel_id(k), 0, names[k], view.name, view.body.id, "body", side,
                None if twin is None else panel_id(twin), outline, 0.0, tuple(holes),
            )
        )  # fmt: skip
    return made


def _names(view: View, body: Body, local: dict[int, int], walk: list[int]) -> dict[int, str]:
    """Trade names where the lines tell them, else 'upper front', … for a stack, else by number."""
    names: dict[int, str] = {}
    if len(body.faces) == 1:
        return {0: view.side}
    for k, face in enumerate(body.faces):  # what lines alone enclose is called by the line around it
        if all(p.source >= 0 for p in face.parts) and len({p.source for p in face.parts}) == 1:
            name = body.lines[face.parts[0].source].name
            names[k] = name.removesuffix(", left").removesuffix(", right")
    patches = dict(names)
    walk = [k for k in walk if k not in patches]
    if len(walk) == 1:
        return patches | {walk[0]: view.side}
    stack = [k for k in walk if straddles(body.faces[k], body)]
    if len(stack) == len(walk) <= 3 and not view.sections:
        words = ("upper", "lower") if len(stack) == 2 else ("upper", "middle", "lower")
        names |= {k: f"{word} {view.side}" for k, word in zip(stack, words, strict=True)}
    drawn = {line.name.split(",")[0] for line in body.lines}
    for word in ("yoke", "hem band", "side panel", "centre panel"):
        if word not in drawn:
            continue
        fits = []
        for k, face in enumerate(body.faces):
            bounded = {body.lines[p.source].name.split(",")[0] for p in face.parts if p.source >= 0}
            at = {name for name, _ in touched(face, body)}
            ok = {
                "yoke": "shoulder" in at or "neck" in at,
                "hem band": at <= {"hem", "side"} and "hem" in at,
                "side panel": "side" in at and not straddles(face, body),
                "centre panel": straddles(face, body),
            }[word]
            if word in bounded and ok:
                fits.append(k)
        if fits and len({local[k] for k in fits}) == 1:
            names |= dict.fromkeys(fits, f"{view.side} {word}")
    if view.sections:
        names = _names_of_sections(view, body, local) | names
    return {k: names.get(k, f"{view.side} panel {local[k]}") for k in range(len(body.faces))} | patches


def _names_of_sections(view: View, body: Body, local: dict[int, int]) -> dict[int, str]:
    """Names by the section that a face lies in; where lines cut a section, numbered."""
    shapes = [polygon(a.outline, a.holes) for a in view.sections]
    within: dict[int, int] = {}
    for k, face in enumerate(body.faces):
        inner = polygon(view.path_to_px(face.outline).to_tuples()).representative_point()
        within[k] = min(range(len(shapes)), key=lambda i: float(shapes[i].distance(inner)))
    names = {}
    for k, i in within.items():
        area = view.sections[i]
        word = area.name.removeprefix(f"{area.side} ") if area.side else area.name
        if view.side not in word.split():  # 'lower back' says it by itself
            word = view.side if word == "section" else f"{view.side} {word}"
        alone = sum(j == i for j in within.values()) == 1
        names[k] = word if alone else f"{word} panel {local[k]}"
    return names


def _area_panels(view: View, views: Sequence[View]) -> list[Panel]:
    made = []
    areas = [a for a in view.areas if a.id != view.body.id]
    drawing = drawing_of(view, views)
    if drawing is not None:
        areas += areas_on_photo(drawing, view)
    for part in sorted({a.part for a in areas}):
        same = [a for a in areas if a.part == part]
        prefix = part if part in _BOTH_SIDES or view.side == "front" else f"back-{part}"
        same.sort(key=_top_then_middle(view))
        waiting: dict[str, list[int]] = {"left": [], "right": []}
        count = 0
        placed: list[tuple[Area, int, bool]] = []
        for area in same:
            if area.side is None:
                count += 1
                placed.append((area, count, False))
                continue
            other = "right" if area.side == "left" else "left"
            if waiting[other]:
                placed.append((area, waiting[other].pop(0), True))
            else:
                count += 1
                waiting[area.side].append(count)
                placed.append((area, count, True))
        ids = {f"{prefix}-{n}{a.side[0].upper() if a.side else ''}" for a, n, _ in placed}
        for area, n, _ in placed:
            letter = area.side[0].upper() if area.side else ""
            twin = f"{prefix}-{n}{'R' if letter == 'L' else 'L'}" if letter else ""
            made.append(
                Panel(
                    f"{prefix}-{n}{letter}", 0, prefix.replace("-", " "), view.name, area.id, area.part, area.side,
                    twin if twin in ids else None, area.outline, 0.0, area.holes,
                )
            )  # fmt: skip
    return made


def _top_then_middle(view: View) -> Callable[[Area], tuple[int, float, str]]:
    middle = view.size[0] / 2 if view.mirror_x is None else view.mirror_x

    def key(area: Area) -> tuple[int, float, str]:
        x0, y0, x1, _ = paths.bounds(paths.from_tuples(area.outline))
        return (round(y0 / (0.02 * view.size[1])), abs((x0 + x1) / 2 - middle), area.id)

    return key


def _base(panel_id: str) -> str:
    return panel_id[:-1] if panel_id[-1] in "LR" else panel_id


def _numbers(views: Sequence[View], found: Mapping[str, Sequence[Panel]]) -> dict[str, int]:
    """Number ids without their side letter, over the whole garment."""
    first = [v.name for v in primary_views(views)]
    rest = [v.name for v in views if v.name not in first]
    side_of = {v.name: v.side for v in views}

    def rank(p: Panel) -> int:
        back = side_of[p.view] == "back" and p.part not in _BOTH_SIDES
        if p.part in _LAST:
            return 4
        return (2 if back else 0) + (p.part != "body")

    panels = list(itertools.chain.from_iterable(found[name] for name in (*first, *rest)))
    ordered = sorted(panels, key=lambda p: (rank(p), _part_rank(p.part), p.part, _count(p.id)))
    return {base: n for n, base in enumerate(dict.fromkeys(_base(p.id) for p in ordered), 1)}


def _part_rank(part: str) -> int:
    usual = ("body", "sleeve", "cuff", "collar", "hood", "pocket")
    return usual.index(part) if part in usual else len(usual)


def _count(panel_id: str) -> int:
    return int(_base(panel_id).rpartition("-")[2])


def _shares(views: Sequence[View], found: Mapping[str, Sequence[Panel]]) -> dict[str, float]:
    """Share of the visible cloth by panel id; what lies on the body covers it."""
    sizes: dict[str, float] = {}
    for view in primary_views(views):
        shapes = {p.id: polygon(p.outline, p.holes) for p in found[view.name]}
        on_top = [shapes[p.id] for p in found[view.name] if p.part != "body"]
        cover = shapely.union_all([*on_top, *(polygon(h) for h in view.body.holes)])
        for p in found[view.name]:
            shape = shapely.difference(shapes[p.id], cover) if p.part == "body" else shapes[p.id]
            sizes[p.id] = sizes.get(p.id, 0.0) + float(shapely.area(shape)) * view.mm_per_px**2
    whole = sum(sizes.values())
    return {k: size / whole for k, size in sizes.items()}


def polygon(outline: PathXY, holes: Sequence[PathXY] = ()) -> shapely.Geometry:
    """A closed outline with holes as a polygon, flattened to 0.1 px."""
    rings = [paths.flatten(paths.from_tuples(ring), 0.1).points for ring in (outline, *holes)]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))
