"""Which piece is which: a suggestion for outlines that carry no names, for the person to confirm.

A piece's corners are tied to the landmarks of a view, in their order round the outline, so that shapes and lengths
agree best; the edges between them take the view's names. What fits no body is compared with the outlines of the other
areas, a sleeve or a pocket. Nothing here is certain: whoever asks shows the suggestion and lets it be changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece, counter_clockwise
from mockup.pattern.sections import section_rings
from mockup.pattern.view_half import CENTRE, Half, half_of_view, whole
from mockup.split.split import Split, SplitView
from swatches.errors import GeometryError

LIKELY = 0.12  # mean miss of landmarks and lengths, in shares of the height, below which a suggestion is worth making
_LENGTHS = 2.0  # weight of an edge's share of the way round, against the miss of a landmark
_STRETCHED = 0.1  # weight of a difference in width: a factor e counts as much as a tenth of the height
_STRAIGHT_MM = 1.0  # a centre that leaves its chord by less lies on the fold
_OTHER = 0.35  # of the areas: above this difference two outlines are not the same kind of thing
_SIZES = 0.3  # weight of a difference in size: a factor e counts as much as so much of the area


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What a piece may be.

    Attributes:
        view: name of the view.
        area: 'body', a section of it such as 'bodice', or another area of the picture.
        side: the wearer's side that the piece shows, where the view has two halves; else empty.
        corners: for every edge of the view's ring, its name and the index of the piece's edge at which it begins;
            empty for other areas than the body and its sections.
        miss: how badly it fits, 0 for perfectly; for sorting and for saying 'not sure'.
    """

    view: str
    area: str
    side: str
    corners: tuple[tuple[str, int], ...]
    miss: float

    @property
    def sure(self) -> bool:
        """Whether the fit is good enough to be offered without a warning."""
        return self.miss < LIKELY / 2


def suggest(piece: Piece, split: Split, *, likely: float = LIKELY) -> tuple[Suggestion, ...]:
    """Say what a piece may be, the likeliest first; empty where nothing is like it.

    Args:
        piece: with edges from corner to corner, mm, upright as it is worn.
        split: the picture's views.
        likely: the miss from which on a body is not suggested; infinite where a person says that it is one.
    """
    piece = counter_clockwise(piece)
    found = []
    lopsided = _lopsided(piece.outline)
    for view in split.views:
        for half in _rings(view):
            tied = _tied(piece, half)
            if tied is None:
                continue
            miss = tied[0]
            if not half.side:  # a half piece is no whole view, however well its corners lie
                miss += max(0.0, lopsided - _lopsided(paths.from_tuples(view.outline)))
            if miss < likely:
                found.append(Suggestion(view.name, "body", half.side, tied[1], miss))
        for section in view.sections:
            for half in section_rings(view, section):
                tied = _tied(piece, half)
                if tied is not None and tied[0] < likely:
                    found.append(Suggestion(view.name, section.area, half.side or section.side or "", tied[1], tied[0]))
    if not found:
        found = _other_areas(piece, split)
    return tuple(sorted(found, key=lambda s: s.miss))


def named_as(piece: Piece, suggestion: Suggestion, split: Split) -> Piece:
    """Give a piece the names of a suggestion: its view and area, and for a body its edges between the landmarks.

    Edges between two landmarks become one edge; the centre is the fold where it is straight and the piece a half.
    """
    piece = counter_clockwise(piece)
    known = replace(piece, view=suggestion.view, area=suggestion.area)
    if not suggestion.corners:
        return known
    view = next(v for v in split.views if v.name == suggestion.view)
    n, edges = len(piece.edges), []
    names = [name for name, _ in suggestion.corners]
    for k, (name, first) in enumerate(suggestion.corners):
        last = suggestion.corners[(k + 1) % len(suggestion.corners)][1]
        run = [piece.edges[i % n] for i in range(first, last if last > first else last + n)]
        edge = _named_edge(name, run, view, suggestion.side)
        if name == CENTRE:  # between a waist seam and another it ends at no landmark; a skirt's top counts as its neck
            known_ends = ("hem", "neck") if suggestion.area != "body" else ("hem", "neck", "waist")
            ends = [names[k - 1], names[(k + 1) % len(names)]]
            start, end = (("hem" if e == "hem" else "neck") if e in known_ends else "" for e in ends)
            edge = replace(edge, start_name=start, end_name=end)
        before = names[:k].count(name)
        edges.append(replace(edge, name=f"{edge.name} {before + 1}") if before else edge)
    fold = any(e.kind is EdgeKind.FOLD for e in edges)
    return replace(known, edges=tuple(edges), notches=(), how=HowToCut.ON_FOLD if fold else piece.how)


def _named_edge(name: str, run: Sequence[Edge], view: SplitView, side: str) -> Edge:
    path = paths.joined([e.path for e in run])
    first = run[0]
    if name == CENTRE:
        straight = _sagitta(path) < _STRAIGHT_MM
        kind = EdgeKind.FOLD if straight and side else EdgeKind.SEAM
        path = paths.polyline([path.start, path.end]) if kind is EdgeKind.FOLD else path
        return replace(first, name=f"centre-{view.name}", path=path, kind=kind)
    kind = EdgeKind.HEM if name.split("-")[0] == "hem" else EdgeKind.SEAM
    return replace(first, name=name, path=path, kind=kind)


def _rings(view: SplitView) -> list[Half]:
    rings = []
    for side in ("left", "right", ""):
        try:
            rings.append(half_of_view(view, side) if side else whole(view))
        except GeometryError:  # a view without sides has no halves
            continue
    return rings if view.mirror_line is not None else rings[-1:]


def _tied(piece: Piece, half: Half) -> tuple[float, tuple[tuple[str, int], ...]] | None:
    """Tie the ring's landmarks to corners of the piece, in their order; gives the miss and the edges' beginnings."""
    # cloth that lies flat is wider than the garment as it is drawn: a flared skirt by more than half
    own = [e.path for e in piece.edges]
    wider = _slimness(half.edges) / _slimness(own)
    stretched = _STRETCHED * abs(float(np.log(wider)))
    marks, mark_share = _ring(half.edges)
    corners, share = _ring([paths.transformed(p, np.array([[wider, 0.0, 0.0], [0.0, 1.0, 0.0]])) for p in own])
    m, n = len(marks), len(corners)
    if n < m or m < 3:
        return None
    far = np.linalg.norm(corners[:, None] - marks[None], axis=2)  # [corner, landmark]
    best: tuple[float, tuple[tuple[str, int], ...]] | None = None
    for first in range(n):
        order = (first + np.arange(n)) % n
        at = np.concatenate([(share[order] - share[first]) % 1.0, [1.0]])
        miss, chosen = _cheapest(far[order], at, mark_share)
        if best is None or miss + stretched < best[0]:
            best = miss + stretched, tuple((half.names[k], int(order[c])) for k, c in enumerate(chosen))
    return best


def _cheapest(far: Floats, at: Floats, mark_share: Floats) -> tuple[float, list[int]]:
    """The best rising row of corners for the landmarks, the first tied to the first (dynamic programming)."""
    n, m = far.shape
    sizes = np.diff(np.concatenate([mark_share, [1.0]]))  # share of the way round of every edge of the view
    cost = np.full((m, n), np.inf)
    back = np.zeros((m, n), np.int64)
    cost[0, 0] = far[0, 0]
    for k in range(1, m):
        for c in range(k, n):
            ways = cost[k - 1, :c] + _LENGTHS * np.abs(at[c] - at[:c] - sizes[k - 1])
            back[k, c] = int(ways.argmin())
            cost[k, c] = ways.min() + far[c, k]
    ends = cost[m - 1] + _LENGTHS * np.abs(1.0 - at[:n] - sizes[m - 1])
    c = int(ends.argmin())
    chosen = [c]
    for k in range(m - 1, 0, -1):
        c = int(back[k, c])
        chosen.append(c)
    return float(ends.min()) / m, chosen[::-1]


def _slimness(edges: Sequence[Path]) -> float:
    """Width of a ring in shares of its height."""
    x0, y0, x1, y1 = paths.bounds(paths.joined(list(edges)))
    return max(x1 - x0, 1e-9) / max(y1 - y0, 1e-9)


def _ring(edges: Sequence[Path]) -> tuple[Floats, Floats]:
    """Where a ring's edges begin, in shares of its height from its middle; and the share of the way round there."""
    x0, y0, x1, y1 = paths.bounds(paths.joined(list(edges)))
    starts = (np.array([e.start for e in edges]) - ((x0 + x1) / 2, (y0 + y1) / 2)) / max(y1 - y0, 1e-9)
    sizes = np.array([length_of(e) for e in edges])
    return starts, np.concatenate([[0.0], np.cumsum(sizes)[:-1]]) / sizes.sum()


def _lopsided(path: Path) -> float:
    """How unlike an outline is to its own mirror image, as a share of its area."""
    return _unlike(_shape(path), _shape(path, 4))


def _other_areas(piece: Piece, split: Split) -> list[Suggestion]:
    """Other areas of the picture with an outline like the piece's, of about its size, either way round.

    A picture shows a sleeve folded, so half the piece's size is as good as all of it.
    """
    own, size = _shape(piece.outline), piece.finished_area_mm2
    found: list[Suggestion] = []
    for view in split.views:
        for panel in view.panels:
            if panel.area == "body" or any(s.view == view.name and s.area == panel.area for s in found):
                continue
            path = paths.from_tuples(panel.outline)
            shown = abs(paths.signed_area(path))
            away = min(abs(float(np.log(size / (times * shown)))) for times in (1.0, 2.0))
            miss = min(_unlike(own, _shape(path, turn)) for turn in range(8)) + _SIZES * away
            if miss < _OTHER:
                found.append(Suggestion(view.name, panel.area, "", (), miss))
    return found


def _shape(path: Path, turn: int = 0) -> shapely.Geometry:
    """An outline of area 1 about the origin, turned by quarters and, from 4 on, mirrored."""
    points = paths.flatten(path, 1.0).points
    polygon = shapely.make_valid(shapely.Polygon(points))
    middle = np.array(polygon.centroid.coords[0])
    points = (points - middle) / np.sqrt(polygon.area)
    points = points * (-1.0, 1.0) if turn >= 4 else points
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[turn % 4]
    return shapely.make_valid(shapely.Polygon(points @ np.array([[c, s], [-s, c]])))


def _unlike(a: shapely.Geometry, b: shapely.Geometry) -> float:
    return float(shapely.area(shapely.symmetric_difference(a, b))) / 2


def _sagitta(path: Path) -> float:
    points = paths.flatten(path, 0.05).points
    chord = path.end - path.start
    away = (points - path.start) @ np.array([-chord[1], chord[0]]) / max(float(np.linalg.norm(chord)), 1e-9)
    return float(np.abs(away).max())
