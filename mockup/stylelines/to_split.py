"""Make the split: what the pattern side reads of all this, in mm, y up, with the wearer's left and right."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Protocol

import numpy as np

from mockup.garment.view import View
from mockup.geometry.path import XY
from mockup.split.split import Anchor, LaidPrint, Split, SplitEdge, SplitLine, SplitPanel, SplitView
from mockup.stylelines import edges
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel, primary_views
from mockup.stylelines.split_sections import sections_in_mm
from mockup.stylelines.styleline import FREE, End, StyleLine, encloses
from swatches.units import PxPoints


class Choice(Protocol):
    """What is needed of a colourway: panel id → fabric id."""

    @property
    def fabrics(self) -> Mapping[str, str]:
        """Panel id → fabric id; a panel that is not there has none yet."""


def make_split(
    views: Sequence[View],
    lines: Sequence[StyleLine],
    panels: Mapping[str, Sequence[Panel]],
    colourway: Choice | None = None,
    prints: Mapping[str, LaidPrint] | None = None,
) -> Split:
    """Make the split of a garment: one view for each side, named 'front' and 'back'.

    Of several views of one side the drawing counts; photos add nothing to the split.

    Args:
        views: drawings and photos.
        lines: style lines.
        panels: view name → panels, as ``panels.garment_panels`` gives them.
        colourway: the choice whose fabrics are written; None: no fabrics.
        prints: panel id → how its print lies, where a person has laid it.

    Raises:
        GeometryError: a line cannot be placed.
    """
    fabrics = {} if colourway is None else dict(colourway.fabrics)
    return Split(tuple(_view(v, lines, panels[v.name], views, fabrics, prints or {}) for v in primary_views(views)))


def _view(
    view: View,
    lines: Sequence[StyleLine],
    panels: Sequence[Panel],
    views: Sequence[View],
    fabrics: Mapping[str, str],
    prints: Mapping[str, LaidPrint],
) -> SplitView:
    mirror = None
    if view.mirror_x is not None:
        centre = edges.centre_line(view)
        mirror = (_xy(centre.start), _xy(centre.end))
    named = edges.edges_of(view)
    names = sorted(view.landmarks)
    at = view.points_to_mm(PxPoints(np.array([view.landmarks[n] for n in names], dtype=np.float64).reshape(-1, 2)))
    placed = placed_lines(view, lines, views)
    ids = {line.id for line, _ in placed}
    return SplitView(
        name=view.side,
        outline=edges.body_outline(view).to_tuples(),
        edges=tuple(SplitEdge(e.name if e.side is None else f"{e.name}-{e.side}", e.path.to_tuples()) for e in named),
        landmarks={n: _xy(p) for n, p in zip(names, at, strict=True)},
        mirror_line=mirror,
        lines=tuple(
            SplitLine(
                id=line.id,
                name=line.name,
                path=path.to_tuples(),
                symmetric=line.symmetric,
                start=_anchor(line.start, ids),
                end=_anchor(line.end, ids),
                start_side=None if line.symmetric or line.start.edge in ids else line.start.side,
                end_side=None if line.symmetric or line.end.edge in ids else line.end.side,
                on_top=line.enclosed == "on top" and encloses(line),
            )
            for line, path in placed
        ),
        panels=tuple(
            SplitPanel(
                id=p.id,
                name=p.name,
                outline=view.path_to_mm(p.outline).to_tuples(),
                fabric=fabrics.get(p.id),
                number=p.number,
                side=p.side,
                area=p.part,
                laid=prints.get(p.id),
            )
            for p in panels
        ),
        sections=sections_in_mm(view, views),
    )


def _anchor(end: End, lines: Collection[str]) -> Anchor | None:
    if end.edge in lines or end.edge == FREE:
        return None
    return Anchor(end.edge, edges.without_side(end.landmark)[0], end.distance_mm)


def _xy(point: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> XY:
    return float(point[0]), float(point[1])
