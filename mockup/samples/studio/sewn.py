"""The tunic's pieces as one triangle mesh, sewn together along their seams and slipped loosely over the dress form.

World coordinates are mm: x to the viewer's right, y up with 0 at the form's neck, z toward the viewer. The wearer's
left is at positive x, as on the front piece.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.pattern.piece import Piece
from mockup.samples import draft
from mockup.samples.studio.dummy import ARM_DOWN, ARM_OUT, SHOULDER

Ints = NDArray[np.int64]
FRONT, BACK, SLEEVE_LEFT, SLEEVE_RIGHT = range(4)
_RAISED_MM = 12.0  # how far above its place the tunic starts to fall


@dataclass(frozen=True, slots=True, eq=False)
class Sewn:
    """A garment as a mesh.

    Attributes:
        start: world positions before it falls, shape (n, 3), mm; seams are shared vertices.
        corner_vertex: vertex of each flat corner, shape (m,).
        flat: place of each corner on its piece, shape (m, 2), mm.
        panel: which piece each corner belongs to, shape (m,).
        faces: corners of each triangle, shape (k, 3), counter-clockwise seen from outside.
        loops: named rows of vertices along edges, for landmarks and drawing.
    """

    start: Floats
    corner_vertex: Ints
    flat: Floats
    panel: Ints
    faces: Ints
    loops: dict[str, Ints]


@dataclass(frozen=True, slots=True, eq=False)
class _Flat:
    """One piece, triangulated: points, triangles, and the points of each named edge in the piece's own direction."""

    points: Floats
    faces: Ints
    edges: dict[str, Ints]


def sew(spacing: float) -> Sewn:
    """Triangulate the pieces with edges of about ``spacing`` mm and sew them."""
    made = {p.name: p for p in draft.pieces()}
    flats = [
        _triangulate(_both_halves(made["front"]), spacing),
        _triangulate(_both_halves(made["back"]), spacing),
        _triangulate({e.name: e.path for e in made["sleeve"].edges}, spacing),
        _triangulate({e.name: e.path for e in made["sleeve"].edges}, spacing),
    ]
    first = np.cumsum([0, *(len(f.points) for f in flats)])
    owner = _Union(int(first[-1]))
    rows = {(k, name): first[k] + row for k, f in enumerate(flats) for name, row in f.edges.items()}
    for side, sleeve in (("left", SLEEVE_LEFT), ("right", SLEEVE_RIGHT)):
        for name in ("side", "shoulder"):
            owner.join(rows[FRONT, f"{name}-{side}"], rows[BACK, f"{name}-{side}"])
        owner.join(rows[FRONT, f"armhole-{side}"], rows[sleeve, "cap-front"])
        owner.join(rows[BACK, f"armhole-{side}"], rows[sleeve, "cap-back"][::-1])
        owner.join(rows[sleeve, "underarm-front"], rows[sleeve, "underarm-back"][::-1])
    vertex, count = owner.numbered()
    flat = np.concatenate([f.points for f in flats])
    panel = np.repeat(np.arange(4), np.diff(first))
    placed = _around_the_form(flat, panel)
    total = np.stack([np.bincount(vertex, placed[:, k], count) for k in range(3)], axis=1)
    start = np.asarray(total / np.bincount(vertex, minlength=count)[:, None], dtype=np.float64)
    outward = [f.faces + first[k] for k, f in enumerate(flats)]
    outward[BACK] = outward[BACK][:, ::-1]
    outward[SLEEVE_LEFT] = outward[SLEEVE_LEFT][:, ::-1]
    loops = {f"{_PANELS[k]}:{name}": vertex[row] for (k, name), row in rows.items()}
    return Sewn(start, vertex, flat, panel, np.concatenate(outward), loops)


_PANELS = ("front", "back", "sleeve-left", "sleeve-right")


def _both_halves(piece: Piece) -> dict[str, Path]:
    """Edges of an unfolded body piece; each runs as on the half, the mirrored ones too."""
    found: dict[str, Path] = {}
    for edge in piece.edges[:5]:
        found[f"{edge.name}-left"] = edge.path
        found[f"{edge.name}-right"] = paths.transformed(edge.path, [[-1, 0, 0], [0, 1, 0]])
    return found


def _triangulate(edges: dict[str, Path], spacing: float) -> _Flat:
    points: list[Floats] = []
    rows: dict[str, Ints] = {}
    for name, path in edges.items():
        n = max(2, round(paths.length(path) / spacing))
        run = np.array([paths.point_at_distance(path, d) for d in np.linspace(0, paths.length(path), n + 1)])
        run[0], run[-1] = path.start, path.end
        row = []
        for p in run:
            near = next((i for i, q in enumerate(points) if np.hypot(*(q - p)) < 1e-3), None)
            if near is None:
                points.append(p)
                near = len(points) - 1
            row.append(near)
        rows[name] = np.array(row, dtype=np.int64)
    segments = [shapely.LineString(np.array(points)[row]) for row in rows.values()]
    shape = max(shapely.polygonize(segments).geoms, key=lambda g: g.area)
    left, low, right, high = shape.bounds
    ys = np.arange(low, high, spacing * np.sqrt(3) / 2)
    grid = np.concatenate(
        [
            np.stack([np.arange(left + (0.5 * spacing if k % 2 else 0), right, spacing)] * 2, axis=1) * (1, 0) + (0, y)
            for k, y in enumerate(ys)
        ]
    )
    inner = shape.buffer(-0.55 * spacing)
    grid = grid[shapely.contains_xy(inner, grid[:, 0], grid[:, 1])]
    every = np.concatenate([np.array(points), grid])
    faces = Delaunay(every).simplices
    middle = every[faces].mean(axis=1)
    faces = faces[shapely.contains_xy(shape, middle[:, 0], middle[:, 1])]
    a, b, c = (every[faces[:, k]] for k in range(3))
    cross = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    faces = faces[np.abs(cross) > 1e-3]
    cross = cross[np.abs(cross) > 1e-3]
    faces[cross < 0] = faces[cross < 0][:, ::-1]
    return _Flat(every, faces.astype(np.int64), rows)


def _around_the_form(flat: Floats, panel: Ints) -> Floats:
    """Where every corner starts: body as a tube round the form, sleeves as tubes round the arms."""
    x, y = flat[:, 0], flat[:, 1]
    world = np.zeros((len(flat), 3))
    body = panel <= BACK
    wide, deep = 245.0, 152.0
    half = np.interp(y, [0, draft.UNDERARM[1]], [draft.HEM_SIDE[0], draft.UNDERARM[0]])
    turn = np.clip(x / half, -1, 1) * np.pi / 2
    over = np.clip((y - draft.UNDERARM[1]) / (draft.LENGTH_MM - draft.UNDERARM[1]), 0, 1)  # 1 at the shoulder
    depth = deep * np.cos(turn) * (1 - 0.55 * over)
    shoulder_y = draft.LENGTH_MM - (np.abs(x) - draft.NECK_HALF_MM) * 0.36
    depth *= np.sqrt(np.clip((shoulder_y - y) / 130.0, 0.0, 1.0) + 1e-9)
    depth *= 1 + 0.05 * np.sin(x / 47.0 + 0.9) * np.clip(1 - y / 620, 0, 1)  # where the first folds start
    world[body, 0] = (wide * np.sin(turn) * (1 - over) + x * over)[body]
    world[body, 1] = (y - draft.LENGTH_MM + _RAISED_MM - 22.0)[body]
    world[body, 2] = np.where(panel == BACK, -depth, depth)[body]
    widths = draft.sleeve_widths()
    half_width = np.where(x > 0, widths[0], widths[1]) - draft.SLEEVE_TAPER_MM * np.clip(-y / 336, 0, 1)
    phi = x / half_width * np.pi
    radius = half_width / np.pi
    along = draft.CAP_HEIGHT_MM - y
    for which, sign in ((SLEEVE_LEFT, 1.0), (SLEEVE_RIGHT, -1.0)):
        here = panel == which
        axis = SHOULDER + np.array([48.0, -6.0, 0.0]) + along[:, None] * ARM_DOWN
        place = (
            axis + (radius * np.cos(phi))[:, None] * ARM_OUT + (radius * np.sin(phi))[:, None] * np.array([0, 0, 1.0])
        )
        place = place * np.array([sign, 1.0, 1.0])
        world[here] = place[here]
    return world


class _Union:
    """Corners that are one vertex after sewing."""

    def __init__(self, n: int) -> None:
        self._parent = np.arange(n)

    def _root(self, i: int) -> int:
        while self._parent[i] != i:
            self._parent[i] = self._parent[self._parent[i]]
            i = int(self._parent[i])
        return i

    def join(self, a: Ints, b: Ints) -> None:
        """Sew row ``a`` to row ``b``, vertex by vertex."""
        if len(a) != len(b):
            raise ValueError(f"rows of {len(a)} and {len(b)} vertices cannot be sewn")
        for i, j in zip(a, b, strict=True):
            self._parent[self._root(int(i))] = self._root(int(j))

    def numbered(self) -> tuple[Ints, int]:
        """Give every corner its vertex number, and the count of vertices."""
        roots = np.array([self._root(i) for i in range(len(self._parent))])
        used, vertex = np.unique(roots, return_inverse=True)
        return vertex.astype(np.int64), len(used)
