"""Cloth stays where it lies when lines are added, moved or taken away: a new panel keeps what covered most of it."""

from __future__ import annotations

from collections.abc import Mapping
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
            shape = _shape(panel.outline)
            covers = [(shape.intersection(_shape(p.outline)).area, p.id) for p in old]
            if covers:
                area, parent = max(covers)
                if area > 0:
                    parents[panel.id] = parent
    return replace(project, colourways=tuple(_moved(c, parents) for c in project.colourways))


def _moved(colourway: Colourway, parents: Mapping[str, str]) -> Colourway:
    fabrics = {new: colourway.fabrics[old] for new, old in parents.items() if old in colourway.fabrics}
    laid = {new: colourway.laid[old] for new, old in parents.items() if old in colourway.laid}
    return replace(colourway, fabrics=fabrics, laid=laid)


@lru_cache(maxsize=128)  # what is new now is old at the next move
def _shape(outline: PathXY) -> shapely.Geometry:
    path = paths.from_tuples(outline)
    x0, y0, x1, y1 = paths.bounds(path)
    return shapely.make_valid(shapely.Polygon(paths.flatten(path, max(x1 - x0, y1 - y0) * _FLAT).points))
