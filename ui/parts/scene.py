"""The scene: everything the page shows of a session, as one JSON object for the scripts in ``ui/static``.

Pictures go by address, never inside the scene. Points are picture px, y down. What a person typed goes along as plain
text, and the scripts only ever set it as text.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from pydantic import TypeAdapter

from mockup import journey
from mockup.colourways.colourway import Colourway
from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.geometry.path import Path
from mockup.project import Project
from mockup.stylelines import anchor, edges
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel
from mockup.stylelines.styleline import End, StyleLine
from swatches.fabric import Fabric
from ui.parts import pictures, words
from ui.parts.session import Session

LONG_SIDE, QUICK_SIDE = 1600, 800
"""Long side of a painted picture on the page, px, and of the small one that is shown until it is there."""
_FLAT = 2e-4  # flattening of edges for the scripts, as a share of the picture's long side

_view = TypeAdapter(View)
_lines = TypeAdapter(tuple[StyleLine, ...])
_colourway = TypeAdapter(Colourway)
_fabrics = TypeAdapter(tuple[Fabric, ...])


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence beside the thing it is about: 'garment', 'cloth', 'lines', 'sew', 'print' or 'table'.

    ``kind`` is 'note', 'hint' or 'error'; ``in_hand`` is the id of a cloth that the person shall hold now.
    """

    place: str
    text: str
    kind: str = "note"
    in_hand: str = ""


def scene(session: Session, *, edit: int = 0, said: Said | None = None) -> dict[str, Any]:
    """Describe a session.

    Args:
        session: the session, its lock held.
        edit: number of the window's edit that this answers.
        said: a sentence to show.
    """
    project = session.project
    step = session.step
    state = session.state
    found: dict[str, Any] = {
        "revision": step.number if step else 0,
        "edit": edit,
        "word": session.word,
        "unit": state.unit,
        "choice": state.choice,
        "can_undo": state.at >= 0,
        "can_redo": state.at + 1 < len(state.steps),
        "undo_label": step.label if step else "",
        "said": {"place": said.place, "text": said.text, "kind": said.kind} if said else None,
        "in_hand": said.in_hand if said else "",
        "busy": None,
        "allowance": state.allowance,
        "width": state.width,
        "made": [],
        "facts": [],
    }
    if project is None:
        return found | {
            "views": [],
            "lines": [],
            "cloths": [],
            "choices": [],
            "name": "",
            "answers": _answers(None, {}, state),
        }
    panels = panels_of(project)
    colourway = _colourway_of(project, state.choice)
    names = {f.id: f.name for f in project.fabrics}
    fresh = state.made_for == found["revision"]
    return found | {
        "name": project.name,
        "views": [_view_scene(session, project, colourway, v, panels.get(v.name, ()), names) for v in project.views],
        "lines": [_line_scene(line) for line in project.lines],
        "cloths": [_cloth_scene(session, f, colourway) for f in project.fabrics],
        "choices": [{"letter": c.letter, "name": c.name} for c in project.colourways],
        "answers": _answers(project, panels, state),
        "made": [_made(session.word, name) for name in state.made] if fresh else [],
        "facts": list(state.facts) if fresh else [],
    }


def _made(word: str, name: str) -> dict[str, str]:
    return {"name": name, "href": f"/made/{word}/{name}", "about": words.made_label(name)}


@lru_cache(maxsize=32)
def _panels(key: bytes, project_of: _Keyed) -> dict[str, tuple[Panel, ...]]:
    return journey.panels_of(project_of.project)


class _Keyed:
    """A project that counts as equal for the cache; the key beside it says what matters."""

    def __init__(self, project: Project) -> None:
        self.project = project

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Keyed)

    def __hash__(self) -> int:
        return 0


def panels_of(project: Project) -> dict[str, tuple[Panel, ...]]:
    """Panels by view; worked out once for the same views and lines."""
    key = _digest(*(_view.dump_json(v) for v in project.views), _lines.dump_json(project.lines))
    return _panels(key, _Keyed(project))


def _digest(*parts: bytes) -> bytes:
    h = hashlib.sha256()
    for p in parts:
        h.update(len(p).to_bytes(8, "big"))
        h.update(p)
    return h.digest()


def _colourway_of(project: Project, letter: str) -> Colourway:
    return next((c for c in project.colourways if c.letter == letter), Colourway(letter))


def _view_scene(
    session: Session,
    project: Project,
    colourway: Colourway,
    view: View,
    panels: tuple[Panel, ...],
    names: dict[str, str],
) -> dict[str, Any]:
    outlines = [np.array(a.outline) for a in view.areas]
    points = np.concatenate([o.reshape(-1, 2) for o in outlines]) if outlines else np.array([[0, 0], view.size])
    low, high = points.min(axis=0), points.max(axis=0)
    pad = 0.02 * float(max(high - low))
    body = None
    edge_list: list[dict[str, Any]] = []
    # The drawing's lines are carried onto a photo of the same side.
    placed = placed_lines(view, project.lines, project.views) if view.edges else ()
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
    full, quick = _painted(session, project, colourway, view, panels)
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
        "picture": full,
        "quick": quick,
        "mm_per_px": view.mm_per_px,
        "scale_measured": view.scale_measured,
        "mirror_x": view.mirror_x,
        "body": body,
        "edges": edge_list,
        "paths": {line.id: path_data(view.path_to_px(path)) for line, path in placed},
        "panels": [_panel_scene(p, panels, colourway, names) for p in panels],
    }


def _edges(view: View, placed: Sequence[tuple[StyleLine, Path]]) -> list[dict[str, Any]]:
    """What a line can end on, as polylines in px: the garment's edges, its middle, and other lines.

    Neck, hem and symmetrical lines come in two halves from the middle, so that each has one way to count.
    """
    named = [(e, words.edge_label(e.name)) for e in edges.edges_of(view, centre=True)]
    named += [(anchor.line_as_edge(line, path), line.name) for line, path in placed]
    return [part for e, label in named for part in _halves(view, e, label)]


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
    tolerance = _FLAT * max(view.size)
    from_end = ("hem", "neck-centre", "hem-centre", "middle")
    return [
        {
            "name": e.name,
            "side": side,
            "label": label,
            "start": start,
            "end": end,
            "middle": e.name in edges.CENTRES,
            "measure": "end" if start in from_end and end != "hem" else "start",
            "words_start": words.from_words(e.name, start),
            "words_end": words.from_words(e.name, end),
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


def _end(end: End) -> dict[str, Any]:
    return {
        "edge": end.edge,
        "landmark": end.landmark,
        "distance_mm": end.distance_mm,
        "side": end.side,
        "text": end.text,
        "label": words.edge_label(end.edge),
        "from": words.from_words(end.edge, end.landmark),
    }


def _line_scene(line: StyleLine) -> dict[str, Any]:
    return {
        "id": line.id,
        "name": line.name,
        "side": line.side,
        "kind": str(line.kind),
        "start": _end(line.start),
        "end": _end(line.end),
        "through": [list(p) for p in line.through],
        "symmetric": line.symmetric,
        "kinked": line.kinked,
        "carries": line.carries,
    }


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
                panel.outline, tuple(p.outline for p in others if p.area != panel.area and p.share < panel.share)
            )
        ),
        "cloth": cloth,
        "cloth_name": names.get(cloth or "", ""),
    }


@lru_cache(maxsize=512)
def _label_place(outline: tuple[Any, ...], over: tuple[tuple[Any, ...], ...]) -> tuple[float, float]:
    """The middle of the largest circle inside a panel and beside what lies on it, for its number."""
    path = paths.from_tuples(outline)
    x0, y0, x1, y1 = paths.bounds(path)
    whole = _polygon(path)
    shape = whole.difference(shapely.union_all([_polygon(paths.from_tuples(o)) for o in over]))
    shape = whole if shape.area < 0.05 * whole.area else shape
    radius = shapely.maximum_inscribed_circle(shape, tolerance=max(x1 - x0, y1 - y0) / 100)
    x, y = radius.coords[0]
    return float(x), float(y)


def _polygon(path: Path) -> shapely.Geometry:
    x0, y0, x1, y1 = paths.bounds(path)
    return shapely.make_valid(shapely.Polygon(paths.flatten(path, max(x1 - x0, y1 - y0) / 200).points))


def _painted(
    session: Session, project: Project, colourway: Colourway, view: View, panels: tuple[Panel, ...]
) -> tuple[str, str]:
    """Addresses of a view's picture and, where that is still to be painted, of a small one that is there sooner."""
    ids = {p.id for p in panels}
    used = {colourway.fabrics[i] for i in ids if i in colourway.fabrics}
    key = _digest(
        session.folder.name.encode(),
        _view.dump_json(view),
        _lines.dump_json(tuple(line for line in project.lines if line.side == view.side)),
        repr(sorted((k, v) for k, v in colourway.fabrics.items() if k in ids)).encode(),
        repr(sorted((k, v) for k, v in colourway.laid.items() if k in ids)).encode(),
        _fabrics.dump_json(tuple(f for f in project.fabrics if f.id in used)),
    )
    letter, folder = colourway.letter, session.folder
    # Only this picture, and the drawing whose lines it shows: the panels of the others need not be cut for it.
    views = tuple(v for v in project.views if v.name == view.name or (v.kind == "drawing" and v.side == view.side))
    shown = replace(project.put_colourway(colourway), views=views)
    name = f"{view.side}-{key.hex()[:24]}"

    def address(suffix: str, long_side: int) -> str:
        return session.to_paint(
            f"{name}{suffix}.jpg",
            lambda target: pictures.save(
                target, journey.paint_view(shown, folder, letter, view.name, long_side=long_side)
            ),
        )

    full = address("", LONG_SIDE)
    return full, "" if session.is_painted(f"{name}.jpg") else address("s", QUICK_SIDE)


def _cloth_scene(session: Session, fabric: Fabric, colourway: Colourway) -> dict[str, Any]:
    key = _digest(session.folder.name.encode(), _fabrics.dump_json((fabric,)))
    folder = session.folder
    return {
        "id": fabric.id,
        "name": fabric.name,
        "word": fabric.colour.word,
        "panels": sum(f == fabric.id for f in colourway.fabrics.values()),
        "error": round(fabric.colour.expected_delta_e, 1),
        "scaled": fabric.texture is None or fabric.texture.scale_error_percent is not None,
        "swatch": session.to_paint(
            f"cloth-{key.hex()[:24]}.png", lambda target: pictures.save_swatch(target, fabric, folder)
        ),
    }


def _answers(project: Project | None, panels: dict[str, tuple[Panel, ...]], state: Any) -> dict[str, str]:
    """What each question's answer is now, in a few words."""
    if project is None:
        return {"garment": "none yet", "cloth": "none yet", "lines": "none yet", "sew": "", "print": ""}
    sides = [words.VIEWS.get(v.side, v.side).lower() if v.kind == "drawing" else "photo" for v in project.views]
    colourway = _colourway_of(project, state.choice)
    drawings = [v for v in project.views if v.kind == "drawing"] or list(project.views)
    drawn = {p.id for v in drawings for p in panels.get(v.name, ())}
    bare = len([i for i in drawn if i not in colourway.fabrics])
    cloth = words.counted(len(project.fabrics), "cloth", "cloths") + " on the shelf"
    if drawn:
        cloth += f", {words.counted(bare, 'panel')} without" if bare else ", every panel has one"
    fresh = state.made_for == (state.steps[state.at].number if state.at >= 0 else 0)
    return {
        "garment": f"{project.name or 'A garment'}: {', '.join(dict.fromkeys(sides))}",
        "cloth": cloth,
        "lines": f"{words.counted(len(project.lines), 'line')}, {words.counted(len(drawn), 'panel')}",
        "sew": words.counted(len(state.facts), "answer") if fresh and state.facts else "not asked yet",
        "print": words.counted(len(state.made), "file") + " ready" if fresh and state.made else "nothing cut yet",
    }
