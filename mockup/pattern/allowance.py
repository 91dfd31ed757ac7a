"""The cut outline of a piece: every edge's own allowance outside its stitch line, by exact parallel curves.

The edge of a hole has its allowance inside the hole: run clockwise, it too has the cloth on its left.

Each edge is cut into runs without corners, each run's parallel is an analytic offset (never the chord normals of a
flattening), and :mod:`mockup.pattern.corners` closes the corners. A fold gets nothing and the outline is clipped at it;
an edge with allowance 0 keeps its stitch line, and its neighbours' allowances end on its tangent, run straight on.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.offset import (
    bridged,
    end_tangents,
    parallels,
    right_normal,
    start_tangents,
    too_tight,
    too_tight_error,
    turn,
)
from mockup.geometry.path import Path
from mockup.geometry.ruler import flat_of, polygon_of
from mockup.pattern.corners import MITRE_LIMIT, SMOOTH, Run, join
from mockup.pattern.piece import Edge, EdgeKind, Piece, counter_clockwise
from swatches.errors import GeometryError

TOLERANCE = 0.0005  # mm: of the parallels; the promise is 0.02
QUESTIONED_MM = 0.005  # of the flattening with which a finished cut line is questioned
_UNITED = 0.005  # mm: of the flattening, where strips must be united
_GRID = 1e-6  # mm
_REMEMBERED = 512
_MADE: dict[tuple[Edge, ...], list[Run]] = {}  # rings are immutable; filled by prepare()
_ONE_WRITER = threading.Lock()


@dataclass(frozen=True, slots=True, eq=False)
class CutOutline:
    """The cut outline.

    Attributes:
        path: closed, counter-clockwise, mm.
        notes: corners that were not made as asked, one sentence each.
        holes: cut lines of the piece's holes, each closed and clockwise.
    """

    path: Path
    notes: tuple[str, ...]
    holes: tuple[Path, ...] = ()

    @property
    def area_mm2(self) -> float:
        """Area of cloth inside the cut outline (of the half, where the piece is cut on the fold), holes taken off."""
        return paths.signed_area(self.path) + sum(paths.signed_area(hole) for hole in self.holes)


def cut_line(piece: Piece) -> Path:
    """Give the closed cut outline of a piece, counter-clockwise, mm; see :func:`cut_outline`."""
    return cut_outline(piece).path


@lru_cache(maxsize=512)  # pieces are immutable; sheets, lists, lays and the proof all ask for the same outline
def cut_outline(piece: Piece, *, mitre_limit: float = MITRE_LIMIT) -> CutOutline:
    """Put every edge's allowance outside the stitch line.

    Args:
        piece: the piece.
        mitre_limit: a mitre that reaches farther from its corner than this many allowances is cut off; a note says so.

    Returns:
        The outline; every point of an edge's parallel is at that edge's allowance ± 0.0005 mm.

    Raises:
        GeometryError: a negative allowance, a curve that bends more tightly than its allowance, or allowances that
            run into the piece itself; with the place.
    """
    piece = counter_clockwise(piece)
    found = [_ring(piece, ring, mitre_limit) for ring in piece.rings]
    notes = tuple(note for _, said in found for note in said)
    return CutOutline(found[0][0], notes, tuple(path for path, _ in found[1:]))


def _ring(piece: Piece, edges: tuple[Edge, ...], mitre_limit: float) -> tuple[Path, tuple[str, ...]]:
    """The cut line of one ring of edges, and notes."""
    runs = _runs(edges)
    if all(run.allowance == 0 for run in runs):
        return paths.joined([e.path for e in edges]), ()
    joins = [join(a, b, mitre_limit) for a, b in zip(runs, runs[1:] + runs[:1], strict=True)]
    parts: list[Path] = []
    whole = True
    for k, run in enumerate(runs):
        start = joins[k - 1].b_start or (0, 0.0)
        end = joins[k].a_end or (len(run.cut) - 1, 1.0)
        if start < end:
            parts.append(paths.sub_path(run.cut, start, end))
        elif start > end:
            whole = False
        middle = joins[k].middle
        if middle is not None:
            parts.append(middle)
    notes = tuple(j.note for j in joins if j.note)
    outline = _closed(parts)
    hole = edges is not piece.edges
    sound = whole and shapely.is_valid(polygon_of([outline], QUESTIONED_MM))
    if sound and not (hole and paths.signed_area(outline) >= 0):
        return outline, notes
    if hole:
        raise _too_small(runs)
    return _united(piece, runs), (*notes, "Allowances overlap at a short edge; their union is the cut edge.")


def _too_small(runs: list[Run]) -> GeometryError:
    """The error for a hole in which the allowances of its edges do not have room side by side."""
    widest = max(runs, key=lambda run: run.allowance)
    x, y = widest.stitch.start
    return GeometryError(
        f"allowance of {widest.edge.name}",
        expected="an opening that is wider than the allowances on both its sides",
        got=f"one with no room for {widest.allowance:g} mm all round",
        next_step="Make the allowance smaller there, or the shape larger",
        place=(float(x), float(y)),
    )


def prepare(pieces: Sequence[Piece]) -> None:
    """Offset the edges of several pieces at once, so that :func:`cut_outline` finds their parallels made.

    Raises:
        GeometryError: as :func:`cut_outline` does of a negative allowance or a bend that is too tight.
    """
    rings = [ring for piece in pieces for ring in counter_clockwise(piece).rings]
    fresh = list(dict.fromkeys(ring for ring in rings if ring not in _MADE))
    if fresh:
        made = _offset(fresh)
        with _ONE_WRITER:
            while len(_MADE) > _REMEMBERED:
                del _MADE[next(iter(_MADE))]
            _MADE.update(zip(fresh, made, strict=True))


def _runs(ring: tuple[Edge, ...]) -> list[Run]:
    """A ring cut at its edges' ends and at corners, with the parallels."""
    return _MADE.get(ring) or _offset([ring])[0]


def _offset(rings: Sequence[tuple[Edge, ...]]) -> list[list[Run]]:
    """Cut rings at their edges' ends and at corners, and offset all of them at once."""
    edges = [edge for ring in rings for edge in ring]
    for edge in edges:
        if not edge.allowance_mm >= 0:
            raise GeometryError(
                f"allowance of {edge.name}",
                expected="0 mm or more",
                got=f"{edge.allowance_mm:g} mm",
                next_step="Type 15mm, for example",
            )
    sizes = [len(e.path) for e in edges]
    firsts = np.cumsum([0, *sizes])
    cubics = np.concatenate([e.path.cubics for e in edges])
    owner = np.repeat(np.arange(len(sizes)), sizes)
    widths = np.array([0.0 if e.kind is EdgeKind.FOLD else e.allowance_mm for e in edges])[owner]
    tight = too_tight(cubics, widths)
    if tight is not None:
        raise too_tight_error(f"allowance of {edges[owner[tight.cubic]].name}", tight)
    offset, of = parallels(cubics, widths, TOLERANCE)
    turns = np.abs(turn(end_tangents(cubics[:-1]), start_tangents(cubics[1:])))
    starts = set(firsts.tolist())
    stops = sorted(starts.union((np.flatnonzero(turns > SMOOTH) + 1).tolist()))
    begins = np.searchsorted(of, stops)  # of rises
    ring_of = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    out: list[list[Run]] = [[] for _ in rings]
    for (a, b), (i, j) in zip(itertools.pairwise(stops), itertools.pairwise(begins.tolist()), strict=True):
        stitch = paths.made(cubics[a:b])
        cut = paths.connected(bridged(offset[i:j])) if widths[a] > 0 else stitch
        out[ring_of[owner[a]]].append(Run(edges[owner[a]], stitch, cut, a in starts))
    return out


def _closed(parts: list[Path]) -> Path:
    cubics = np.concatenate([p.cubics for p in parts])
    cubics[-1, 3] = cubics[0, 0]
    return paths.connected(cubics)


def _united(piece: Piece, runs: list[Run]) -> Path:
    """Unite the piece with every run's strip and every corner's patch, flattened: for edges shorter than their corners.

    Raises:
        GeometryError: a strip lies on the piece itself, so that there is no cloth for it.
    """
    body = shapely.Polygon(flat_of(piece.outline, _UNITED).points)
    strips = []
    for a, b in zip(runs, runs[1:] + runs[:1], strict=True):
        if a.allowance > 0:
            strip = _strip(a)
            shared = shapely.intersection(strip, body, grid_size=_GRID)
            if shapely.area(shared) > 0.01 * a.allowance**2:
                centre = shapely.centroid(shared)
                raise GeometryError(
                    f"allowance of {a.edge.name}",
                    expected="room for it outside the piece",
                    got=f"{a.allowance:g} mm that run into the piece itself",
                    next_step="Make the allowance smaller there",
                    place=(float(centre.x), float(centre.y)),
                )
            strips.append(strip)
        closing = join(a, b, MITRE_LIMIT)
        if closing.middle is not None and closing.a_end is None and closing.b_start is None:
            patch = np.vstack([a.stitch.end, flat_of(closing.middle, _UNITED).points])
            if len(patch) > 2:
                strips.append(shapely.make_valid(shapely.Polygon(patch)))
    whole = _on_the_fold(shapely.union_all([body, *strips], grid_size=_GRID), body, runs)
    # Slivers of rounding between strips are no slot.
    if whole.geom_type != "Polygon" or any(shapely.Polygon(ring).area > 1.0 for ring in whole.interiors):
        raise GeometryError(
            f"allowances of {piece.name}",
            expected="allowances that leave one outline",
            got="allowances that close over a slot",
            next_step="Make them smaller there",
        )
    outline = paths.polyline(np.asarray(whole.exterior.coords))
    return outline if paths.signed_area(outline) > 0 else paths.reversed_path(outline)


def _on_the_fold(whole: shapely.Geometry, body: shapely.Polygon, runs: Sequence[Run]) -> shapely.Geometry:
    """Cut off what lies beyond a fold, which a strip crosses that ends square on a seam that is not square to it."""
    for run in runs:
        if run.edge.kind is not EdgeKind.FOLD:
            continue
        start, way = run.stitch.start, run.stitch.end - run.stitch.start
        size = float(np.linalg.norm(way))
        if size == 0:
            continue
        along, out = way / size, right_normal(way / size)
        if ((shapely.get_coordinates(body) - start) @ out).max() > _GRID:
            continue  # the piece itself goes round the fold's line: what lies beyond is not all the fold's
        far = 4 * float(np.ptp(shapely.get_coordinates(whole), axis=0).sum())
        a, b = start - far * along, start + far * along
        whole = shapely.intersection(whole, shapely.Polygon([a, b, b - far * out, a - far * out]))
    return whole


def _strip(run: Run) -> shapely.Geometry:
    """The cloth of one allowance, from quadrilaterals: so it may meet itself in a bay narrower than two allowances."""
    flat = flat_of(run.stitch, _UNITED / 4)
    cubics = run.stitch.cubics[flat.segment]
    ways = paths.derivative(cubics, flat.t)
    still = np.linalg.norm(ways, axis=1) < 1e-9
    for k in np.flatnonzero(still):
        ways[k] = paths.tangent(run.stitch, int(flat.segment[k]), float(flat.t[k]))
    out = flat.points + run.allowance * right_normal(ways / np.linalg.norm(ways, axis=1, keepdims=True))
    quads = shapely.polygons(np.stack([flat.points[:-1], out[:-1], out[1:], flat.points[1:]], axis=1))
    return shapely.union_all(shapely.make_valid(quads), grid_size=_GRID)
