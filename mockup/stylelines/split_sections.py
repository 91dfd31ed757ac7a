"""The sections of a drawn body for the split: what a pattern piece of its own shows, with its edges, mm, y up."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.geometry.faces import Face, FacePart
from mockup.geometry.path import Path
from mockup.split.split import SplitEdge, SplitSection
from mockup.stylelines.panels import cut_body, polygon
from mockup.stylelines.twins import Body


def sections_in_mm(view: View, views: Sequence[View]) -> tuple[SplitSection, ...]:
    """Give the sections of a view's body; empty where it is one part, or where its edges are not known.

    Every edge is an exact part of the view's edge or of the drawn seam; two sections share their seam's very points.
    """
    if not view.sections:
        return ()
    body = cut_body(view, (), views)
    if not body.edges:
        return ()
    shapes = [polygon(a.outline, a.holes) for a in view.sections]
    made: dict[int, SplitSection] = {}
    for face in body.faces:
        inner = polygon(view.path_to_px(face.outline).to_tuples()).representative_point()
        k = min(range(len(shapes)), key=lambda i: float(shapes[i].distance(inner)))
        area = view.sections[k]
        if k in made:
            return ()  # a seam goes through a section, so nothing certain can be said of either part
        edges = _edges(face, body)
        made[k] = SplitSection(area.part, area.name, face.outline.to_tuples(), edges, area.side)
    return tuple(made[k] for k in sorted(made))


def _edges(face: Face, body: Body) -> tuple[SplitEdge, ...]:
    """The boundary of a face as named edges, in its order; what belongs together is one edge."""
    stops = np.r_[0.0, np.cumsum([e.length for e in body.edges])]
    found: list[tuple[str, Path]] = []
    for part in face.parts:
        if part.source >= 0:
            found.append((body.lines[part.source].id, part.path))
        else:
            found += _of_outline(part, body, stops)
    runs: list[tuple[str, Path]] = []
    for name, path in found:
        if runs and runs[-1][0] == name:
            runs[-1] = name, paths.joined([runs[-1][1], path])
        else:
            runs.append((name, path))
    if len(runs) > 1 and runs[0][0] == runs[-1][0]:
        runs[0] = runs[0][0], paths.joined([runs.pop()[1], runs[0][1]])
    return tuple(SplitEdge(name, path.to_tuples()) for name, path in runs)


def _of_outline(
    part: FacePart, body: Body, stops: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> list[tuple[str, Path]]:
    """A part of the outline, parted at the corners between named edges; it runs as the outline does."""
    segments = np.cumsum([len(e.path) for e in body.edges])
    first = np.r_[0, segments]
    found = []
    for k, edge in enumerate(body.edges):
        if part.to_distance <= stops[k] + 1e-6 or part.from_distance >= stops[k + 1] - 1e-6:
            continue
        low = (0, 0.0) if part.start < (int(first[k]), 0.0) else (part.start[0] - int(first[k]), part.start[1])
        end = (len(edge.path) - 1, 1.0)
        high = end if part.end >= (int(first[k + 1]), 0.0) else (part.end[0] - int(first[k]), part.end[1])
        name = edge.name if edge.side is None else f"{edge.name}-{edge.side}"
        found.append((name, edge.path if (low, high) == ((0, 0.0), end) else paths.sub_path(edge.path, low, high)))
    return found
