"""A pattern piece: named edges of Bézier segments in mm, counter-clockwise, y up, on the stitch line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from mockup.geometry.ruler import length_of


class EdgeKind(StrEnum):
    """What an edge is for. ``CUT`` is an outer edge with nothing to sew (a plain outline's edge)."""

    SEAM = "seam"
    FOLD = "fold"
    HEM = "hem"
    CUT = "cut"


class HowToCut(StrEnum):
    """How a piece is cut from cloth."""

    ON_FOLD = "on fold"
    PAIR = "pair"
    SINGLE = "single"


class Corner(StrEnum):
    """Shape of the allowance at the corner where an edge starts."""

    MITRE = "mitre"
    BEVEL = "bevel"
    SQUARED = "squared"
    MIRRORED = "mirrored"


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """One edge of a piece, run counter-clockwise.

    Attributes:
        name: 'side', 'armhole', 'hem', … ; after a cut also the style line's name.
        path: on the stitch line, mm.
        kind: what it is for.
        allowance_mm: distance from stitch line to cut line; 0 for a fold.
        allowance_text: the allowance as typed ('5/8 in'), for labels; empty: in mm.
        mate: the edge it is sewn to, as 'piece name:edge name', or empty.
        start_name: landmark at its first point ('underarm', 'hem'), or empty.
        end_name: landmark at its last point, or empty.
        line_id: id of the style line that made it, or empty for an inherited edge.
        corner: shape of the allowance at its start.
    """

    name: str
    path: Path
    kind: EdgeKind = EdgeKind.SEAM
    allowance_mm: float = 0.0
    allowance_text: str = ""
    mate: str = ""
    start_name: str = ""
    end_name: str = ""
    line_id: str = ""
    corner: Corner = Corner.MITRE


@dataclass(frozen=True, slots=True)
class Notch:
    """A balance mark at ``distance_mm`` along the stitch line of ``edge`` from its first point. ``count``: 1, 2."""

    edge: str
    distance_mm: float
    count: int = 1


@dataclass(frozen=True, slots=True)
class Dart:
    """A wedge that is sewn closed, from an opening on an edge to its tip inside the piece.

    The edge's path runs on across the opening, along the cap, which is cut but not sewn: so lengths along an edge are
    measured with its darts closed (:func:`mockup.pattern.darts.sewn_length`).

    Attributes:
        name: 'bust dart', …
        edge: the edge that it opens on.
        from_mm: distance along the edge's path, cap and all, where its first leg begins.
        to_mm: where its second leg begins.
        tip: where the legs meet, mm.
    """

    name: str
    edge: str
    from_mm: float
    to_mm: float
    tip: XY


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """An internal line: topstitching, pocket placing, a button. ``kind`` names it."""

    name: str
    path: Path
    kind: str = "placing"


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One pattern part.

    Attributes:
        name: 'front', 'back yoke', …
        edges: counter-clockwise, end to start, closed; at least one.
        view: name of the split view whose lines cut it, or empty.
        area: the area of that view: 'body', 'sleeve', …
        grainline: two points, from tail to head, or None when not known.
        notches: balance marks.
        marks: internal lines.
        how: on fold, a pair, or single.
        right_side_up: whether a single piece must be cut with the cloth's right side up.
        count: how many times the whole instruction is cut (1 for 'cut 1 on fold', 1 for 'cut a pair').
        number: shared with panel, picture and lists; 0 when not numbered.
        side: 'left' or 'right' (the wearer's) for one of two that differ, else empty.
        fabric: fabric id, or empty.
        parent: name of the piece it was cut from, or empty.
        layer: 'shell', 'lining', 'interfacing', …
        size: label of the size, as the person typed it.
        holes: openings inside it, each a closed ring of edges run clockwise, so that the cloth lies on the left of
            every edge and the allowance on its right, as on the outline. Names are unique over the whole piece.
        darts: wedges that are sewn closed.
    """

    name: str
    edges: tuple[Edge, ...]
    view: str = ""
    area: str = "body"
    grainline: tuple[XY, XY] | None = None
    notches: tuple[Notch, ...] = ()
    marks: tuple[Mark, ...] = ()
    how: HowToCut = HowToCut.SINGLE
    right_side_up: bool = False
    count: int = 1
    number: int = 0
    side: str = ""
    fabric: str = ""
    parent: str = ""
    layer: str = "shell"
    size: str = ""
    holes: tuple[tuple[Edge, ...], ...] = ()
    darts: tuple[Dart, ...] = ()

    @property
    def outline(self) -> Path:
        """The whole outer stitch line, closed."""
        return _outlines(self.rings)[0]

    @property
    def rings(self) -> tuple[tuple[Edge, ...], ...]:
        """The outline's edges, then those of every hole."""
        return (self.edges, *self.holes)

    @property
    def outlines(self) -> tuple[Path, ...]:
        """The stitch lines of all rings, closed; those of holes run clockwise."""
        return _outlines(self.rings)

    @property
    def all_edges(self) -> tuple[Edge, ...]:
        """Every edge, those of holes last."""
        return tuple(e for ring in self.rings for e in ring)

    @property
    def finished_area_mm2(self) -> float:
        """Area inside the stitch line, holes taken off (a half, where the piece is cut on the fold)."""
        return sum(paths.signed_area(ring) for ring in self.outlines)

    @property
    def fold(self) -> Edge | None:
        """The fold edge, if there is one."""
        return next((e for e in self.edges if e.kind is EdgeKind.FOLD), None)

    def edge(self, name: str) -> Edge:
        """Find an edge by name; ``KeyError`` when there is none."""
        for e in self.all_edges:
            if e.name == name:
                return e
        raise KeyError(name)

    def with_(self, **changes: object) -> Piece:
        """Give a copy with fields changed."""
        return replace(self, **changes)  # type: ignore[arg-type]


@lru_cache(maxsize=512)  # edges are immutable, and every question about a piece begins with its outline
def _outlines(rings: tuple[tuple[Edge, ...], ...]) -> tuple[Path, ...]:
    return tuple(paths.joined([e.path for e in ring]) for ring in rings)


@lru_cache(maxsize=512)
def counter_clockwise(piece: Piece) -> Piece:
    """Give the piece with its edges run counter-clockwise (y up), its holes clockwise, no segment that goes nowhere.

    The piece itself where it is so already.
    """
    if any((np.abs(outline.z - outline.z[:, :1]).max(axis=1) < 1e-9).any() for outline in piece.outlines):
        piece = _with_rings(piece, [_moving(ring) for ring in piece.rings])
    wrong = [(paths.signed_area(outline) < 0) == (k == 0) for k, outline in enumerate(piece.outlines)]
    if not any(wrong):
        return piece
    there = {e.name for ring, w in zip(piece.rings, wrong, strict=True) if w for e in ring}
    rings = [_turned(ring) if w else ring for ring, w in zip(piece.rings, wrong, strict=True)]
    return _with_rings(_counted_back(piece, there), rings)


def mirrored(piece: Piece, about_x: float = 0.0) -> Piece:
    """Give the piece as its mirror image about an upright line, edges again counter-clockwise, names unchanged."""
    turned = moved(piece, np.array([[-1.0, 0.0, 2 * about_x], [0.0, 1.0, 0.0]]))
    names = {e.name for e in piece.all_edges}
    return _with_rings(_counted_back(turned, names), [_turned(ring) for ring in turned.rings])


def moved(piece: Piece, matrix: Floats) -> Piece:
    """Move everything on a piece by an affine map, shape (2, 3); edges keep their sense and their names."""

    def point(xy: XY) -> XY:
        x, y = matrix[:, :2] @ np.array(xy) + matrix[:, 2]
        return float(x), float(y)

    grain = piece.grainline
    rings = [tuple(replace(e, path=paths.transformed(e.path, matrix)) for e in ring) for ring in piece.rings]
    return replace(
        _with_rings(piece, rings),
        marks=tuple(replace(m, path=paths.transformed(m.path, matrix)) for m in piece.marks),
        grainline=None if grain is None else (point(grain[0]), point(grain[1])),
        darts=tuple(replace(d, tip=point(d.tip)) for d in piece.darts),
    )


def _with_rings(piece: Piece, rings: Sequence[tuple[Edge, ...]]) -> Piece:
    return replace(piece, edges=rings[0], holes=tuple(rings[1:]))


def _moving(ring: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Leave out segments, and edges, that go nowhere."""
    still = [np.abs(e.path.cubics - e.path.cubics[:, :1]).max(axis=(1, 2)) < 1e-9 for e in ring]
    return tuple(
        replace(e, path=Path(e.path.cubics[~s])) if s.any() else e
        for e, s in zip(ring, still, strict=True)
        if not s.all()
    )


def _counted_back(piece: Piece, names: set[str]) -> Piece:
    """Count notches and darts on the named edges from their other ends."""
    sizes = {e.name: length_of(e.path) for e in piece.all_edges if e.name in names}
    return replace(
        piece,
        notches=tuple(
            replace(n, distance_mm=sizes[n.edge] - n.distance_mm) if n.edge in names else n for n in piece.notches
        ),
        darts=tuple(
            replace(d, from_mm=sizes[d.edge] - d.to_mm, to_mm=sizes[d.edge] - d.from_mm) if d.edge in names else d
            for d in piece.darts
        ),
    )


def _turned(edges: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Run edges the other way round; a corner belongs to the edge that starts there, so it moves to the next."""
    turned = [
        replace(e, path=paths.reversed_path(e.path), start_name=e.end_name, end_name=e.start_name)
        for e in reversed(edges)
    ]
    corners = [edges[(len(edges) - k) % len(edges)].corner for k in range(len(edges))]
    return tuple(replace(e, corner=c) for e, c in zip(turned, corners, strict=True))
