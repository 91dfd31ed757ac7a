"""What the page shows of one view: its picture, its panels, the edges on which lines end, and the lines as placed.

Points are picture px, y down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from pydantic import TypeAdapter

from mockup import journey
from mockup.colourways.colour_vision import Sight, picture_as_seen
from mockup.colourways.colourway import Colourway
from mockup.garment.mask_file import is_suggestion
from mockup.garment.view import PathXY, View
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.project import Project
from mockup.stylelines import anchor, edges
from mockup.stylelines.panels import Panel
from mockup.stylelines.starts import is_waisted
from mockup.stylelines.styleline import StyleLine
from swatches.fabric import Fabric
from ui.parts import pictures, words
from ui.parts.found_scene import found_scene
from ui.parts.known_panels import LINES, digest, placed_of, view_text
from ui.parts.print_actions import laid_scene
from ui.parts.session import Session

LONG_SIDE = 1600
"""Long side of a painted picture on the page, px."""
_FLAT = 2e-4  # flattening of edges for the scripts, as a share of the picture's long side

FABRICS = TypeAdapter(tuple[Fabric, ...])


def view_scene(
    session: Session,
    project: Project,
    colourway: Colourway,
    view: View,
    panels: tuple[Panel, ...],
    names: dict[str, str],
) -> dict[str, Any]:
    """Everything of one view for the scripts, as JSON takes it; ``names`` are those of the cloths by id."""
    outlines = [np.array(a.outline) for a in view.areas]
    points = np.concatenate([o.reshape(-1, 2) for o in outlines]) if outlines else np.array([[0, 0], view.size])
    low, high = points.min(axis=0), points.max(axis=0)
    pad = 0.02 * float(max(high - low))
    body = None
    edge_list: list[dict[str, Any]] = []
    placed = placed_of(project)[view.name]
    if view.edges:
        x, foot, half, height = edges.body_box(view)
        (px, bottom), (_, top) = view.points_to_px(np.array([[x, foot], [x, foot + height]]))  # type: ignore[arg-type]
        body = {
            "x": float(px),
            "half": half / view.mm_per_px,
            "bottom": float(bottom),
            "top": float(top),
            "sign": edges.left_sign(view),
        }
        edge_list = _edges(view, placed)
    return {
        "name": view.name,
        "side": view.side,
        "kind": view.kind,
        "carried": view.kind == "photo" and any(v.kind == "drawing" and v.side == view.side for v in project.views),
        "title": words.VIEWS.get(view.side, view.name),
        "size": list(view.size),
        "frame": [
            float(low[0] - pad),
            float(low[1] - pad),
            float(high[0] - low[0] + 2 * pad),
            float(high[1] - low[1] + 2 * pad),
        ],
        "picture": painted(session, project, colourway, view, panels),
        "plain": plain_photo(session, project, colourway, view, panels),
        "mm_per_px": view.mm_per_px,
        "origin": list(view.origin_px),
        "light": {"flare": view.flare, "printed": view.printed} if view.kind == "photo" else None,
        "guessed": view.kind == "photo" and is_suggestion(session.folder / "pictures" / f"{view.name}-cut.npz"),
        "taken": bool(session.state.marks.get(view.name, {}).get("taken")),
        "scale_measured": view.scale_measured,
        "mirror_x": view.mirror_x,
        "body": body,
        "edges": edge_list,
        "paths": {line.id: path_data(view.path_to_px(path)) for line, path in placed},
        **found_scene(view),
        "panels": [_panel_scene(p, panels, colourway, names) for p in panels],
    }


def _edges(view: View, placed: Sequence[tuple[StyleLine, Path]]) -> list[dict[str, Any]]:
    """What a line can end on, as polylines in px: the garment's edges, its middle, and other lines.

    Neck, hem and symmetrical lines come in two halves from the middle, so that each has one way to count.
    """
    own = [part for e in edges.edges_of(view) for part in _kept_halves(_Own(view, e))]
    named = [(e, words.edge_label(e.name)) for e in edges.edges_of(view, centre=True)[len(edges.edges_of(view)) :]]
    named += [(anchor.line_as_edge(line, path), line.name) for line, path in placed if not path.closed]
    return own + [part for e, label in named for part in _halves(view, e, label)]


class _Own:
    """An edge of the garment on its view; named edges are kept by :mod:`mockup.stylelines.edges`, so identity tells."""

    def __init__(self, view: View, edge: edges.MmEdge) -> None:
        self.view, self.edge = view, edge
        self._key = (
            id(edge),
            id(view.body.outline),
            view.mirror_x,
            view.size,
            view.side,
            view.mm_per_px,
            view.origin_px,
        )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Own) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@lru_cache(maxsize=256)
def _kept_halves(own: _Own) -> list[dict[str, Any]]:
    return _halves(own.view, own.edge, words.edge_label(own.edge.name))


def _halves(view: View, e: edges.MmEdge, label: str) -> list[dict[str, Any]]:
    marks = edges.landmarks_on(view, e)
    centre, middle = next(
        ((n, at) for (n, _), at in marks.items() if n == "middle" or n.endswith("-centre")), ("", 0.0)
    )
    parts: list[tuple[Path, str | None, str, str]] = [(e.path, e.side, e.start, e.end)]
    if centre and 0 < middle < e.length:
        first, last = sorted((at, side or "") for (name, side), at in marks.items() if name != centre)
        parts = [
            (paths.between(e.path, 0, middle), first[1], e.start, centre),
            (paths.between(e.path, middle, e.length), last[1], centre, e.end),
        ]
    tolerance, waisted = _FLAT * max(view.size), is_waisted(view)
    from_end = ("hem", "neck-centre", "waist-centre", "hem-centre", "middle")
    return [
        {
            "name": e.name,
            "side": side,
            "label": label,
            "start": start,
            "end": end,
            "middle": e.name in edges.CENTRES,
            "measure": "end" if start in from_end and end != "hem" else "start",
            "words_start": words.from_words(e.name, start, waisted=waisted),
            "words_end": words.from_words(e.name, end, waisted=waisted),
            "points": np.round(paths.flatten(view.path_to_px(path), tolerance).points, 3).tolist(),
        }
        for path, side, start, end in parts
    ]


def path_data(path: Path) -> str:
    """A path as the ``d`` attribute of an SVG path, px to 1/1000."""
    x, y = path.cubics[0, 0]
    parts = [f"M{x:.3f} {y:.3f}"]
    parts += ["C" + " ".join(f"{v:.3f}" for v in c[1:].ravel()) for c in path.cubics]
    return "".join(parts)


def _panel_scene(
    panel: Panel, others: tuple[Panel, ...], colourway: Colourway, names: dict[str, str]
) -> dict[str, Any]:
    path = paths.from_tuples(panel.outline)
    cloth = colourway.fabrics.get(panel.id)
    return {
        "id": panel.id,
        "number": panel.number,
        "name": panel.name,
        "d": path_data(path) + "Z",
        "label": list(
            _label_place(
                panel.outline,
                (*panel.holes, *(p.outline for p in others if p.area != panel.area and p.share < panel.share)),
            )
        ),
        "cloth": cloth,
        "cloth_name": names.get(cloth or "", ""),
        "twin": panel.twin,
        "laid": laid_scene(panel, colourway),
    }


@lru_cache(maxsize=512)
def _label_place(outline: tuple[Any, ...], over: tuple[tuple[Any, ...], ...]) -> tuple[float, float]:
    """The middle of the largest circle inside a panel and beside what lies on it, for its number."""
    path = paths.from_tuples(outline)
    x0, y0, x1, y1 = paths.bounds(path)
    whole = _polygon(outline)
    shape = whole.difference(shapely.union_all([_polygon(o) for o in over]))
    shape = whole if shape.area < 0.05 * whole.area else shape
    radius = shapely.maximum_inscribed_circle(shape, tolerance=max(x1 - x0, y1 - y0) / 100)
    x, y = radius.coords[0]
    return float(x), float(y)


@lru_cache(maxsize=256)  # what lies on panels is taken off each of them
def _polygon(outline: PathXY) -> shapely.Geometry:
    path = paths.from_tuples(outline)
    x0, y0, x1, y1 = paths.bounds(path)
    return shapely.make_valid(shapely.Polygon(paths.flatten(path, max(x1 - x0, y1 - y0) / 200).points))


def plain_photo(
    session: Session, project: Project, colourway: Colourway, view: View, panels: tuple[Panel, ...]
) -> str | None:
    """Give the address of a photo as it was taken, to be held against what is painted on it; None where nothing is."""
    if view.kind != "photo" or not any(p.id in colourway.fabrics for p in panels):
        return None
    return painted(session, project, replace(colourway, fabrics={}, laid={}), view, panels)


def painted(session: Session, project: Project, colourway: Colourway, view: View, panels: tuple[Panel, ...]) -> str:
    """Give the address of a view's picture, which is painted when the browser asks for it."""
    ids = {p.id for p in panels}
    used = {colourway.fabrics[i] for i in ids if i in colourway.fabrics}
    sight = session.settings.sight
    key = digest(
        session.folder.name.encode(),
        view_text(view),
        LINES.dump_json(tuple(line for line in project.lines if line.side == view.side)),
        repr(sorted((k, v) for k, v in colourway.fabrics.items() if k in ids)).encode(),
        repr(sorted((k, v) for k, v in colourway.laid.items() if k in ids)).encode(),
        FABRICS.dump_json(tuple(f for f in project.fabrics if f.id in used)),
        *([sight.encode()] if sight != Sight.USUAL else []),
    )
    letter, folder = colourway.letter, session.folder
    # Only this picture, and the drawing whose lines it shows.
    views = tuple(v for v in project.views if v.name == view.name or (v.kind == "drawing" and v.side == view.side))
    shown = replace(project.put_colourway(colourway), views=views)
    return session.to_paint(
        f"{view.side}-{key.hex()[:24]}.jpg",
        lambda target: pictures.save(
            target,
            picture_as_seen(
                journey.paint_view(shown, folder, letter, view.name, long_side=LONG_SIDE, panels=panels), sight
            ),
        ),
    )
