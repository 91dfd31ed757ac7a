"""The proof of a change to a pattern: measured on the pieces that come out, not on how they were made.

Five questions, one row each a piece or seam: is the finished area what it was; are the two sides of every new seam
equally long; do the angles of the parts that meet at a line's end add up; do the children, put together again, give the
parent; does each cut outline contain its stitch outline. A failed proof stops the print: whoever prints raises
:class:`~swatches.errors.ProofError` with :meth:`Proof.sentence`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from mockup.geometry.cubics import Complexes, as_complex, as_points, bend, horner, powers, slope
from mockup.geometry.offset import end_ways, start_ways
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import flat_of, length_of, polygon_of
from mockup.pattern.allowance import QUESTIONED_MM, cut_outline, prepare
from mockup.pattern.piece import Piece

AREA_RELATIVE = 1e-9
STITCH_MM = 1e-3
REJOIN_MM = 1e-6
ANGLE_DEG = 1e-3
_FLAT_MM = 0.02
_GRID_MM = 1e-9
_PLACE_MM = 1e-5
_FEW_PAIRS = 20_000  # of points and chords: so many are measured sooner than a tree is planted


@dataclass(frozen=True, slots=True)
class ProofRow:
    """One measured figure with the most that it may be. ``what`` is a sentence's subject: 'front: finished area'."""

    what: str
    figure: float
    limit: float
    unit: str

    @property
    def ok(self) -> bool:
        """Whether the figure is within its limit."""
        return bool(self.figure <= self.limit)


@dataclass(frozen=True, slots=True)
class Proof:
    """All rows, with the worst of each kind.

    Attributes:
        area_error_mm2: sum of the differences of finished area before and after.
        stitch_difference_mm: greatest difference between the two sides of a new seam.
        rejoin_error_mm: greatest distance of the rejoined outline from the parent's.
        rows: every figure.
    """

    area_error_mm2: float
    stitch_difference_mm: float
    rejoin_error_mm: float
    rows: tuple[ProofRow, ...]

    @property
    def ok(self) -> bool:
        """Whether every row is within its limit."""
        return all(row.ok for row in self.rows)

    @property
    def sentence(self) -> str:
        """The proof in one sentence."""
        bad = [row for row in self.rows if not row.ok]
        if not bad:
            return (
                f"Proof passed: finished area within {_small(self.area_error_mm2)} mm², stitch lines within "
                f"{_small(self.stitch_difference_mm)} mm, rejoined within {_small(self.rejoin_error_mm)} mm."
            )
        row = bad[0]
        more = f" and {len(bad) - 1} more" if len(bad) > 1 else ""
        return f"Proof failed: {row.what} is off by {row.figure:.3g} {row.unit}, at most {row.limit:.3g} allowed{more}."


def _small(figure: float) -> str:
    """A figure that a person can read: to a thousandth, and never as a power of ten."""
    return "0.001" if figure < 0.001 else f"{figure:.3f}"


def together(proofs: Iterable[Proof]) -> Proof:
    """Make one proof of several."""
    listed = list(proofs)
    return Proof(
        sum((p.area_error_mm2 for p in listed), 0.0),
        max((p.stitch_difference_mm for p in listed), default=0.0),
        max((p.rejoin_error_mm for p in listed), default=0.0),
        tuple(row for p in listed for row in p.rows),
    )


def prove(parent: Piece, children: Sequence[Piece], *, contained: bool = True) -> Proof:
    """Prove that children are their parent, cut.

    Args:
        parent: the piece before, run counter-clockwise.
        children: the pieces after, in the parent's place; new edges have a ``line_id`` and a ``mate``.
        contained: whether the cut outlines are asked too.
    """
    area = abs(sum(c.finished_area_mm2 for c in children) - parent.finished_area_mm2)
    rows = [ProofRow(f"{parent.name}: finished area", area, AREA_RELATIVE * abs(parent.finished_area_mm2), "mm²")]
    worst = 0.0
    for a, b, name, size_a, size_b in _seams(children):
        rows.append(ProofRow(f"{a} to {b}: stitch line of {name}", abs(size_a - size_b), STITCH_MM, "mm"))
        worst = max(worst, abs(size_a - size_b))
    if any(e.line_id for c in children for e in c.all_edges):
        rows.append(ProofRow(f"{parent.name}: angles where parts meet", angle_error(parent, children), ANGLE_DEG, "°"))
    apart = rejoin_error(parent.outlines, [c.outlines for c in children])
    rows.append(ProofRow(f"{parent.name}: rejoined outline", apart, REJOIN_MM, "mm"))
    if contained:
        prepare(children)
        rows += [containment(child) for child in children]
    return Proof(area, worst, apart, tuple(rows))


def angle_error(parent: Piece, children: Sequence[Piece]) -> float:
    """Add up the inner angles of the parts that meet at every end of a new seam.

    They must give the parent's own angle there: of its corner, 180° along an edge, 360° inside.

    Returns:
        Greatest difference in degrees.
    """
    firsts, lasts, at_line = [], [], []
    for ring in (ring for child in children for ring in child.rings):
        firsts += [e.path.z[0] for e in ring]
        lasts += [ring[k - 1].path.z[-1] for k in range(len(ring))]
        at_line += [bool(e.line_id or ring[k - 1].line_id) for k, e in enumerate(ring)]
    starts, befores = np.array(firsts), np.array(lasts)
    points, inner = starts[:, 0], 180 - _bends(befores, starts)
    found = points[np.array(at_line)]
    outlines = parent.outlines
    joints = np.concatenate([p.z for p in outlines])
    bends = _bends(np.concatenate([part for p in outlines for part in (p.z[-1:], p.z[:-1])]), joints)
    inside = _to_nearest(outlines, as_points(found)) > _PLACE_MM
    here = np.abs(found[:, None] - points) < _PLACE_MM
    at_joint = np.abs(found[:, None] - joints[:, 0]) < _PLACE_MM
    corner = np.where(at_joint.any(axis=1), bends[at_joint.argmax(axis=1)], 0.0)
    miss = np.abs(here @ inner - np.where(inside, 360.0, 180.0 - corner))
    # Where lines touch, a part ends in a point of 0°, which cannot be told from 360°.
    pointed = (here & (np.abs((inner + 180) % 360 - 180) < ANGLE_DEG)).any(axis=1)
    return float(np.where(pointed, np.abs((miss + 180) % 360 - 180), miss).max())


def _bends(before: Complexes, after: Complexes) -> Floats:
    """Turn from the end of each cubic to the start of another, shape (n, 4) each, in degrees, positive to the left."""
    return np.asarray(np.angle(start_ways(after) * end_ways(before).conj(), deg=True))


def containment(piece: Piece) -> ProofRow:
    """Measure how far the stitch lines reach out of the cut lines (0 where they are inside)."""
    made = cut_outline(piece)
    cloth = polygon_of((made.path, *made.holes), QUESTIONED_MM)
    shapely.prepare(cloth)
    figure = 0.0
    for outline in piece.outlines:
        stitch = flat_of(outline, _FLAT_MM).points
        outside = stitch[~shapely.intersects_xy(cloth, stitch)]
        if len(outside):
            figure = max(figure, float(shapely.distance(cloth, shapely.points(outside)).max()))
    # Where an edge has no allowance the two outlines are one curve, flattened twice.
    return ProofRow(f"{piece.name}: stitch outline outside the cut outline", figure, _FLAT_MM, "mm")


def rejoin_error(parent: Sequence[Path], children: Sequence[Sequence[Path]]) -> float:
    """Put pieces together and measure the result against another, on the exact curves.

    The children are flattened, united, and every corner of the union is measured to the parent's own Béziers; then
    every flattened point of the parent to the union, which must be near it as far as flattening allows.

    Args:
        parent: outline, and those of its holes.
        children: the same of each child.

    Returns:
        Greatest distance, in the outlines' unit; infinite where the union is not one outline with the parent's holes.
    """
    whole = shapely.union_all([_on_grid(rings) for rings in children])
    if whole.geom_type != "Polygon":
        return float("inf")
    holes = [ring for ring in whole.interiors if shapely.Polygon(ring).area > 1e-3]
    if len(holes) != len(parent) - 1:
        return float("inf")
    rings = [whole.exterior, *holes]
    corners = as_complex(shapely.get_coordinates(rings))
    there = as_complex(np.concatenate([_rounded(path) for path in parent]))
    # A corner of the one that is a corner of the other, to the grid, needs no search.
    lost = _not_among(there, corners)
    if len(lost):
        border = shapely.MultiLineString(rings) if holes else shapely.LineString(whole.exterior)
        shapely.prepare(border)
        points = shapely.points(as_points(lost))
        if not shapely.dwithin(border, points, 2.1 * _FLAT_MM).all():
            return float(shapely.distance(border, points).max())
    fresh = _not_among(corners, there)
    return float(_to_nearest(parent, as_points(fresh)).max(initial=_GRID_MM))


def _not_among(some: Complexes, others: Complexes) -> Complexes:
    """Those of some corners on the grid that are none of the others."""
    known = set(others.tolist())
    return np.array([z for z in some.tolist() if z not in known], dtype=np.complex128)


def _rounded(path: Path) -> Floats:
    """A path flattened onto a grid of 1e-9 mm: so a curve run both ways gives the same corners to the last bit."""
    return np.asarray(np.round(flat_of(path, _FLAT_MM).points / _GRID_MM) * _GRID_MM)


def _on_grid(outlines: Sequence[Path]) -> shapely.Polygon:
    shell, *holes = (_rounded(outline) for outline in outlines)
    return shapely.Polygon(shell, holes)


def _to_nearest(outlines: Sequence[Path], points: Floats) -> Floats:
    """Distance of each point to the nearest of several outlines, shape (n,)."""
    return np.asarray(np.min([distances_to(outline, points) for outline in outlines], axis=0))


def distances_to(path: Path, points: Floats) -> Floats:
    """Distance of each point to the path's exact curves, shape (n,): nearest chord, then Newton's method."""
    if not len(points):
        return np.zeros(0)
    flat = flat_of(path, _FLAT_MM)
    z, at = as_complex(flat.points), as_complex(points)
    chord = _nearest_chords(z, at)
    way = z[chord + 1] - z[chord]
    share = ((at - z[chord]) * way.conj()).real / np.maximum(np.abs(way) ** 2, 1e-300)
    t0, segment = flat.t[chord], flat.segment[chord]
    t1 = np.where(flat.segment[chord + 1] == segment, flat.t[chord + 1], 1.0)
    curve, t = powers(path.z[segment]), t0 + np.minimum(np.maximum(share, 0.0), 1.0) * (t1 - t0)
    for _ in range(8):
        away, speed = horner(curve, t) - at, slope(curve, t)
        rate = np.abs(speed) ** 2 + (away.conj() * bend(curve, t)).real
        step = np.where(rate > 0, (away.conj() * speed).real / np.where(rate > 0, rate, 1.0), 0.0)
        before, t = t, np.minimum(np.maximum(t - step, 0.0), 1.0)
        if np.abs(t - before).max(initial=0.0) < 1e-13:
            break
    return np.asarray(np.abs(horner(curve, t) - at))


def _nearest_chords(z: Complexes, points: Complexes) -> NDArray[np.intp]:
    """Index of the chord of a polyline that is nearest to each point."""
    starts, ways = z[:-1], z[1:] - z[:-1]
    if len(starts) * len(points) <= _FEW_PAIRS:
        along = (points[:, None] - starts) * (1 / np.where(ways == 0, 1.0, ways))
        off = along - np.minimum(np.maximum(along.real, 0.0), 1.0)
        return np.asarray((np.abs(off) * np.abs(ways)).argmin(axis=1))
    chords = shapely.linestrings(np.stack([as_points(starts), as_points(z[1:])], axis=1))
    return np.asarray(shapely.STRtree(chords).nearest(shapely.points(as_points(points))))


def _seams(children: Sequence[Piece]) -> list[tuple[str, str, str, float, float]]:
    """New seams once each: the two pieces, the edge's name, and its length on either side."""
    edges = {f"{c.name}:{e.name}": (c.name, e) for c in children for e in c.all_edges}
    seams = []
    for key, (name, edge) in edges.items():
        if edge.line_id and edge.mate in edges and key < edge.mate:
            other, twin = edges[edge.mate]
            seams.append((name, other, edge.name, length_of(edge.path), length_of(twin.path)))
    return seams
