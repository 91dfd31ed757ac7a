"""Cloth stays where it lies when lines or areas change: a new panel keeps what covered most of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

import shapely

from mockup.colourways.colourway import Colourway
from mockup.garment.view import PathXY
from mockup.geometry import path as paths
from mockup.project import Project
from mockup.stylelines.panels import Panel

_FLAT = 1 / 400  # of the panel's size; the answer is which one covers most, so rough is enough


def keep_cloth(
    project: Project, before: Mapping[str, tuple[Panel, ...]], after: Mapping[str, tuple[Panel, ...]]
) -> Project:
    """Give every choice the cloth of the old panels that cover most of the new ones.

    Args:
        project: the project with the new lines and the old choices.
        before: panels by view as they were.
        after: panels by view as they are.
    """
    if not project.colourways:
        return project
    parents: dict[str, str] = {}
    for view, panels in after.items():
        old = before.get(view, ())
        if [(p.id, p.outline) for p in panels] == [(p.id, p.outline) for p in old]:
            parents.update({p.id: p.id for p in panels})
            continue
        for panel in panels:
            if panel.id in parents:
                continue  # as in the view before: a photo shows the panels of its drawing
            parent = covers_most(panel, old)
            if parent is not None:
                parents[panel.id] = parent.id
    for panel in (p for view, panels in after.items() if view not in before for p in panels):
        parents.setdefault(panel.id, panel.id)  # of another picture only the name tells
    return replace(project, colourways=tuple(_moved(c, parents) for c in project.colourways))


def covers_most(panel: Panel, others: tuple[Panel, ...]) -> Panel | None:
    """The one of other panels of the same picture that covers most of a panel; of two that lie on it, the upper.

    What is sewn on lies within the outline of what it is sewn to, and is the smaller one.
    """
    shape = shape_of(panel.outline)
    whole = max(float(shape.area), 1e-9)
    covers = [(shape.intersection(shape_of(p.outline)).area / whole, p) for p in others]
    best = max(covers, key=lambda each: (round(each[0], 1), -shape_of(each[1].outline).area), default=None)
    if best is not None and best[0] < 0.05:  # a sliver: the tenths do not tell
        best = max(covers, key=lambda each: float(each[0]))
    return best[1] if best is not None and best[0] > 0 else None


def none_bare(colourway: Colourway, panels: Mapping[str, tuple[Panel, ...]], cloths: Sequence[str] = ()) -> Colourway:
    """Give every panel that has no cloth that of its twin, else the one of which most is seen, else the first of some.

    Args:
        colourway: the choice.
        panels: all panels by view.
        cloths: ids of cloth, the main one first, for a choice that has none.
    """
    every = {p.id: p for each in panels.values() for p in each}
    seen: dict[str, float] = {}
    for i, p in every.items():
        if i in colourway.fabrics:
            seen[colourway.fabrics[i]] = seen.get(colourway.fabrics[i], 0.0) + p.share
    main = max(seen, key=lambda cloth: seen[cloth], default=next(iter(cloths), None))
    if main is None:
        return colourway
    given = {i: colourway.fabrics.get(p.twin or "", main) for i, p in every.items() if i not in colourway.fabrics}
    return replace(colourway, fabrics={**colourway.fabrics, **given}) if given else colourway


def _moved(colourway: Colourway, parents: Mapping[str, str]) -> Colourway:
    fabrics = {new: colourway.fabrics[old] for new, old in parents.items() if old in colourway.fabrics}
    laid = {new: colourway.laid[old] for new, old in parents.items() if old in colourway.laid}
    return replace(colourway, fabrics=fabrics, laid=laid)


@lru_cache(maxsize=128)  # what is new now is old at the next move
def shape_of(outline: PathXY) -> shapely.Geometry:
    """A panel's outline as a polygon, px."""
    path = paths.from_tuples(outline)
    x0, y0, x1, y1 = paths.bounds(path)
    return shapely.make_valid(shapely.Polygon(paths.flatten(path, max(x1 - x0, y1 - y0) * _FLAT).points))
