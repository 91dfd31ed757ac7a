"""What becomes of lines, marks and cloth where areas of a picture change: what still has a place keeps it.

A line is kept where it lies in the picture, whatever its distances are counted from now; where that place is gone, it
follows the points of the garment; where these have none for it either, it is taken away and named. A mark of what is
sewn in stays at its place. Cloth stays where it lies.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.journey.design import panels_of
from mockup.journey.inherit import covers_most, keep_cloth
from mockup.project import Detail, Project
from mockup.stylelines import edges
from mockup.stylelines.anchor import end_at, place_line, placed_ends
from mockup.stylelines.panels import Panel, primary_views
from mockup.stylelines.styleline import FREE, End, StyleLine
from swatches.errors import MockupError
from swatches.units import MmPoints, PxPoints
from swatches.words import counted

Panels = Mapping[str, tuple[Panel, ...]]
_NEAR = 0.004  # of the picture's longer side: a line that lies no farther off lies where it lay
_SAME = 0.03  # of the garment's size: outlines that differ by less are of the same garment in the same place
_NAMED = 4  # things that a sentence names; the rest is counted


@dataclass(frozen=True, slots=True)
class Stayed:
    """A project in which all has its place, and what a person is told, a sentence each.

    Attributes:
        project: with the lines, marks and cloth that have a place.
        said: what changed beside the areas; empty where nothing did.
        lost: whether a line or a cloth could not be kept.
    """

    project: Project
    said: tuple[str, ...] = ()
    lost: bool = False


def stay(
    before: Project, after: Project, panels: Callable[[Project], Panels] = panels_of, *, follow: bool = False
) -> Stayed:
    """Put what belongs to a project's pictures to its place on pictures whose areas or points are others now.

    Args:
        before: the project as it was.
        after: with other views; its lines, marks and choices are those of before.
        panels: gives a project's panels by view.
        follow: whether lines follow the points of the garment instead of staying where they lie, as where a person
            moved a point.

    Raises:
        GeometryError: the body cannot be parted, even without a line.
    """
    if before.views == after.views:
        return Stayed(after)
    old = {v.side: v for v in primary_views(before.views) if v.edges}
    new = {v.side: v for v in primary_views(after.views) if v.edges}
    changed = {side for side in old.keys() & new.keys() if old[side] != new[side]}
    same = {side for side in changed if not follow and _in_place(old[side], new[side])}
    after = replace(after, details=tuple(_mark(d, old, new) if d.side in same else d for d in after.details))
    lines, anew, moved, gone = _lines(before, after, old, new, changed, same)
    after = replace(after, lines=lines)
    try:
        found = panels(after)
    except MockupError:
        after, found, more = _that_part(after, panels)
        gone += more
    said = _lines_said(anew, moved, gone)
    try:
        was = _over(panels(before), before, after)
    except MockupError:  # what could not be placed before may be put right now
        return Stayed(after, said, bool(gone))
    other = {v.name for v in after.views if v.name in was and v.areas and not _in_place(before.view(v.name), v)}
    kept = _called_alike(after, keep_cloth(after, was, found), was, found, other)
    cloth = _cloth_said(after, kept, was, found, other)
    others = any(_ids(was[name]) != _ids(found.get(name, ())) for name in was)
    if not said and not cloth and others and (after.lines or any(c.fabrics for c in after.colourways)):
        return Stayed(kept, ("Lines and cloth stay where they were.",))
    return Stayed(kept, (*said, *cloth), bool(gone or cloth))


def _ids(panels: Sequence[Panel]) -> set[str]:
    return {p.id for p in panels}


def _in_place(old: View, new: View) -> bool:
    """Whether two views show the same garment in the same place of pictures of one size."""
    a, b = (_box(v) for v in (old, new))
    most = _SAME * max(a[2] - a[0], a[3] - a[1])
    return old.size == new.size and bool(np.abs(np.subtract(a, b)).max() <= most)


def _box(view: View) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of all areas, px."""
    boxes = np.array([paths.bounds(paths.from_tuples(a.outline)) for a in view.areas])
    x0, y0 = boxes[:, :2].min(axis=0)
    x1, y1 = boxes[:, 2:].max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _shares(view: View, old: View, share: XY) -> XY:
    """The same place of the picture as shares of another view's body."""
    x, y = old.points_to_px(MmPoints(np.array([edges.shares_to_mm(old, share)])))[0]
    return edges.mm_to_shares(view, _mm(view, (float(x), float(y))))


def _mm(view: View, px: XY) -> XY:
    x, y = view.points_to_mm(PxPoints(np.array([px])))[0]
    return float(x), float(y)


def _mark(detail: Detail, old: Mapping[str, View], new: Mapping[str, View]) -> Detail:
    view, was = new[detail.side], old[detail.side]
    if edges.body_box(view) == edges.body_box(was) and view.origin_px == was.origin_px:
        return detail
    return replace(detail, points=tuple(_shares(view, was, p) for p in detail.points))


def _lines(
    before: Project, after: Project, old: Mapping[str, View], new: Mapping[str, View], changed: set[str], same: set[str]
) -> tuple[tuple[StyleLine, ...], list[str], list[str], list[str]]:
    """Lines that have a place, and the names of those counted anew, moved and gone."""
    kept: list[StyleLine] = []
    anew: list[str] = []
    moved: list[str] = []
    gone: list[str] = []
    for line in _base_first(after.lines):
        was, view = old.get(line.side), new.get(line.side)
        if was is None or view is None or line.side not in changed:
            kept.append(line)
            continue
        try:
            lay = was.path_to_px(place_line(line, was, before.lines))
        except MockupError:  # it had no place before
            lay = None
        now = _placed(line, view, kept)
        if lay is not None and line.side in same and not _lies_at(now, lay, view):
            again = _counted_anew(line, was, view, before.lines, kept)
            if again is not None and _lies_at(_placed(again, view, kept), lay, view):
                kept.append(again)
                anew.append(line.name)
                continue
        if now is None and lay is not None:
            gone.append(line.name)
            continue
        kept.append(line)
        if lay is not None and line.side in same and not _lies_at(now, lay, view):
            moved.append(line.name)
    order = {line.id: k for k, line in enumerate(after.lines)}
    stay_ids = {line.id for line in kept}
    kept = [replace(x, carries="") if x.carries and x.carries not in stay_ids else x for x in kept]
    return tuple(sorted(kept, key=lambda x: order[x.id])), anew, moved, gone


def _base_first(lines: Sequence[StyleLine]) -> list[StyleLine]:
    """Lines after those on which they end."""
    known = {x.id for x in lines}
    done: list[StyleLine] = []
    waiting = list(lines)
    while waiting:
        ready = [x for x in waiting if not ({x.start.edge, x.end.edge} & known) - {d.id for d in done}] or waiting
        done += ready
        waiting = [x for x in waiting if x not in ready]
    return done


def _placed(line: StyleLine, view: View, others: Sequence[StyleLine]) -> Path | None:
    """Where a line lies, px; None where it has no place."""
    try:
        return view.path_to_px(place_line(line, view, others))
    except MockupError:
        return None


def _lies_at(path: Path | None, lay: Path, view: View) -> bool:
    if path is None:
        return False
    a, b = (shapely.LineString(paths.flatten(p, 0.5).points) for p in (path, lay))
    return bool(a.hausdorff_distance(b) <= max(2.0, _NEAR * max(view.size)))


def _counted_anew(
    line: StyleLine, was: View, view: View, before: Sequence[StyleLine], others: Sequence[StyleLine]
) -> StyleLine | None:
    """A line of the same place in the picture, stated by the points that the garment has now; None where none is."""
    try:
        ends = placed_ends(line, was, before)
        start, end = (
            _end(given, at, was, view, line, others) for given, at in zip((line.start, line.end), ends, strict=True)
        )
    except MockupError:
        return None
    return replace(line, start=start, end=end, through=tuple(_shares(view, was, p) for p in line.through))


def _end(given: End, at: XY, was: View, view: View, line: StyleLine, others: Sequence[StyleLine]) -> End:
    if given.edge == FREE:
        return given
    x, y = was.points_to_px(MmPoints(np.array([at])))[0]
    point = _mm(view, (float(x), float(y)))
    on = [(x, place_line(x, view, others)) for x in others if x.id == given.edge]
    among = {given.edge} if on or given.edge in edges.CENTRES else None
    found = end_at(
        view, point, among=among, landmark=given.landmark, symmetric=line.symmetric, snap_mm=0.5, lines=on
    )  # fmt: skip
    alike = (found.edge, found.landmark) == (given.edge, given.landmark)
    return given if alike and abs(found.distance_mm - given.distance_mm) < 0.5 else found


def _that_part(project: Project, panels: Callable[[Project], Panels]) -> tuple[Project, Panels, list[str]]:
    """The lines with which the body can be parted, tried one after the other; and the names of the others."""
    kept: list[StyleLine] = []
    gone: list[str] = []
    found = panels(replace(project, lines=()))
    for line in _base_first(project.lines):
        try:
            found = panels(replace(project, lines=(*kept, line)))
        except MockupError:
            gone.append(line.name)
        else:
            kept.append(line)
    stay_ids = {x.id for x in kept}
    kept = [replace(x, carries="") if x.carries and x.carries not in stay_ids else x for x in kept]
    return replace(project, lines=tuple(kept)), found, gone


def _over(panels: Panels, before: Project, after: Project) -> dict[str, tuple[Panel, ...]]:
    """The old panels where they lie in the new pictures: moved with the garment where a picture shows it elsewhere."""
    put: dict[str, tuple[Panel, ...]] = {}
    for name, each in panels.items():
        old = before.view(name)
        new = next((v for v in after.views if v.name == name), None)
        if new is None or not new.areas or _in_place(old, new):
            put[name] = each
            continue
        a, b = (paths.bounds(paths.from_tuples(v.body.outline)) for v in (old, new))
        k = [(b[2] - b[0]) / max(a[2] - a[0], 1e-9), (b[3] - b[1]) / max(a[3] - a[1], 1e-9)]
        matrix = np.array([[k[0], 0, b[0] - k[0] * a[0]], [0, k[1], b[1] - k[1] * a[1]]])
        put[name] = tuple(
            replace(p, outline=paths.transformed(paths.from_tuples(p.outline), matrix).to_tuples()) for p in each
        )
    return put


def _called_alike(after: Project, kept: Project, was: Panels, now: Panels, other: set[str]) -> Project:
    """In another picture, give what is sewn on its own cloth: a sleeve is the sleeve, wherever it hangs there."""
    alike = {p.id for view in other for p in was[view] if p.part != "body"}
    alike &= {p.id for view in other for p in now.get(view, ())}
    choices = (
        replace(new, fabrics={**new.fabrics, **{i: f for i, f in old.fabrics.items() if i in alike}})
        for old, new in zip(after.colourways, kept.colourways, strict=True)
    )
    return replace(kept, colourways=tuple(choices))


def _cloth_said(after: Project, kept: Project, was: Panels, now: Panels, other: set[str]) -> tuple[str, ...]:
    """What lies elsewhere or nowhere now, choice by choice; of another picture, that it has other panels."""
    names = {f.id: f.name for f in after.fabrics}
    views = [v.name for v in primary_views(after.views) if v.name not in other]
    if any(_ids(was[name]) != _ids(now.get(name, ())) for name in other) and any(c.fabrics for c in after.colourways):
        return ("The new picture has other panels: they have the cloth that lay there in the one before.",)
    said = []
    for old, new in zip(after.colourways, kept.colourways, strict=True):
        told: dict[tuple[str, str, str, str], set[str]] = {}
        for view in views:
            for p in was.get(view, ()):
                cloth = old.fabrics.get(p.id)
                there = covers_most(p, now.get(view, ()))
                if cloth is None or there is None or new.fabrics.get(there.id) == cloth:
                    continue
                if any(new.fabrics.get(q.id) == cloth and covers_most(q, was[view]) is p for q in now.get(view, ())):
                    continue  # a part of it has that cloth still
                has = names.get(new.fabrics.get(there.id, ""), "no cloth")
                part = "" if p.name == there.name else f", part of the {there.name} now,"
                told.setdefault((p.name, part, has, names.get(cloth, cloth)), set()).add(p.side or "")
        if told:
            choice = f"Choice {old.letter}: " if len(after.colourways) > 1 else ""
            more = len(told) - _NAMED
            listed = [
                f"the {_one_of_twins(sides)}{name}{part} has {has} instead of {had}"
                for (name, part, has, had), sides in list(told.items())[:_NAMED]
            ]
            parts = [*listed, *([f"likewise {counted(more, 'more panel')}"] if more > 0 else [])]
            text = f"{choice}{'; '.join(parts)}."
            said.append(text[0].upper() + text[1:])
    return tuple(said)


def _one_of_twins(sides: set[str]) -> str:
    """'left ' where of twins only that one is meant."""
    return f"{next(iter(sides))} " if sides in ({"left"}, {"right"}) else ""


def _lines_said(anew: list[str], moved: list[str], gone: list[str]) -> tuple[str, ...]:
    said = []
    if anew:
        verb = (
            "stays where it was; its distances are" if len(anew) == 1 else "stay where they were; their distances are"
        )
        said.append(f"{_named(anew)} {verb} counted anew.")
    if moved:
        said.append(f"{_named(moved)} moved along with the points of the garment.")
    if gone:
        verb = "has no place any more and was" if len(gone) == 1 else "have no place any more and were"
        said.append(f"{_named(gone)} {verb} taken away.")
    return tuple(said)


def _named(lines: list[str]) -> str:
    """Lines by name: "The lines 'yoke' and 'hem band'"."""
    names = list(dict.fromkeys(f"'{name}'" for name in lines))
    return f"The line{'s' if len(names) > 1 else ''} {_listed(names)}"


def _listed(words: list[str]) -> str:
    shown = words[:_NAMED] + ([f"{len(words) - _NAMED} more"] if len(words) > _NAMED else [])
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
