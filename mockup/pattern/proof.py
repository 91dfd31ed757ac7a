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

from mockup.geometry import path as paths
from mockup.geometry.offset import end_tangents, start_tangents, turn
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import Piece

AREA_RELATIVE = 1e-9
STITCH_MM = 1e-3
REJOIN_MM = 1e-6
ANGLE_DEG = 1e-3
_FLAT_MM = 0.02
_GRID_MM = 1e-9
_PLACE_MM = 1e-5


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
                f"Proof passed: finished area within {self.area_error_mm2:.1e} mm², stitch lines within "
                f"{self.stitch_difference_mm:.1e} mm, rejoined within {self.rejoin_error_mm:.1e} mm."
            )
        row = bad[0]
        more = f" and {len(bad) - 1} more" if len(bad) > 1 else ""
        return f"Proof failed: {row.what} is off by {row.figure:.3g} {row.unit}, at most {row.limit:.3g} allowed{more}."


def together(proofs: Iterable[Proof]) -> Proof:
    """Make one proof of several."""
    listed = list(proofs)
    return Proof(
        sum((p.area_error_mm2 for p in listed), 0.0),
        max((p.stitch_difference_mm for p in listed), default=0.0),
        max((p.rejoin_error_mm for p in listed), default=0.0),
        tuple(row for p in listed for row in p.rows),
    )


def prove(parent: Piece, children: Sequence[Piece]) -> Proof:
    """Prove that children are their parent, cut.

    Args:
        parent: the piece before, run counter-clockwise.
        children: the pieces after, in the parent's place; new edges have a ``line_id`` and a ``mate``.
    """
    area = abs(sum(c.finished_area_mm2 for c in children) - parent.finished_area_mm2)
    rows = [ProofRow(f"{parent.name}: finished area", area, AREA_RELATIVE * abs(parent.finished_area_mm2), "mm²")]
    worst = 0.0
    for a, b, name, size_a, size_b in _seams(children):
        rows.append(ProofRow(f"{a} to {b}: stitch line of {name}", abs(size_a - size_b), STITCH_MM, "mm"))
        worst = max(worst, abs(size_a - size_b))
    if any(e.line_id for c in children for e in c.edges):
        rows.append(ProofRow(f"{parent.name}: angles where parts meet", angle_error(parent, children), ANGLE_DEG, "°"))
    apart = rejoin_error(parent.outline, [c.outline for c in children])
    rows.append(ProofRow(f"{parent.name}: rejoined outline", apart, REJOIN_MM, "mm"))
    rows += [containment(child) for child in children]
    return Proof(area, worst, apart, tuple(rows))


def angle_error(parent: Piece, children: Sequence[Piece]) -> float:
    """Add up the inner angles of the parts that meet at every end of a new seam.

    They must give the parent's own angle there: of its corner, 180° along an edge, 360° inside.

    Returns:
        Greatest difference in degrees.
    """
    places, angles, at_line = [], [], []
    for child in children:
        firsts = np.concatenate([e.path.cubics[:1] for e in child.edges])
        lasts = np.concatenate([e.path.cubics[-1:] for e in child.edges])
        bend = turn(np.roll(end_tangents(lasts), 1, axis=0), start_tangents(firsts))
        places.append(firsts[:, 0])
        angles.append(180 - np.degrees(bend))
        at_line += [bool(e.line_id or child.edges[k - 1].line_id) for k, e in enumerate(child.edges)]
    points, inner = np.concatenate(places), np.concatenate(angles)
    found = points[np.array(at_line)]
    cubics = parent.outline.cubics
    joints, bends = cubics[:, 0], turn(np.roll(end_tangents(cubics), 1, axis=0), start_tangents(cubics))
    inside = distances_to(parent.outline, found) > _PLACE_MM
    worst = 0.0
    for place, is_inside in zip(found, inside, strict=True):
        there = np.linalg.norm(points - place, axis=1) < _PLACE_MM
        corner = np.flatnonzero(np.linalg.norm(joints - place, axis=1) < _PLACE_MM)
        whole = 360.0 if is_inside else 180.0 - (float(np.degrees(bends[corner[0]])) if len(corner) else 0.0)
        worst = max(worst, abs(float(inner[there].sum()) - whole))
    return worst


def containment(piece: Piece) -> ProofRow:
    """Measure how far the stitch outline reaches out of the cut outline (0 where it is inside)."""
    stitch = paths.flatten(piece.outline, _FLAT_MM).points
    cut = shapely.Polygon(paths.flatten(cut_line(piece), _FLAT_MM / 10).points)
    shapely.prepare(cut)
    points = shapely.points(stitch)
    outside = points[~shapely.intersects(cut, points)]
    figure = float(shapely.distance(cut, outside).max()) if len(outside) else 0.0
    # Where an edge has no allowance the two outlines are one curve, flattened twice.
    return ProofRow(f"{piece.name}: stitch outline outside the cut outline", figure, _FLAT_MM, "mm")


def rejoin_error(parent: Path, children: Sequence[Path]) -> float:
    """Put outlines together and measure the result against another, on the exact curves.

    The children are flattened, united, and every corner of the union is measured to the parent's own Béziers; then
    every flattened point of the parent to the union, which must be near it as far as flattening allows.

    Returns:
        Greatest distance, in the outlines' unit; infinite where the union is not one outline of the parent's area.
    """
    whole = shapely.union_all([_on_grid(c) for c in children])
    if whole.geom_type != "Polygon" or any(shapely.Polygon(r).area > 1e-3 for r in whole.interiors):
        return float("inf")
    corners = np.asarray(whole.exterior.coords)[:-1]
    there = shapely.points(paths.flatten(parent, _FLAT_MM).points)
    ring = shapely.linestrings(np.stack([corners, np.roll(corners, -1, axis=0)], axis=1))
    back = float(shapely.STRtree(ring).query_nearest(there, return_distance=True, all_matches=False)[1].max())
    if back > 2.1 * _FLAT_MM:
        return back
    return float(distances_to(parent, corners).max())


def _on_grid(outline: Path) -> shapely.Polygon:
    """Flatten an outline onto a grid of 1e-9 mm: so a curve run both ways gives the same corners to the last bit."""
    points = np.round(paths.flatten(outline, _FLAT_MM).points / _GRID_MM) * _GRID_MM
    return shapely.Polygon(points)


def distances_to(path: Path, points: Floats) -> Floats:
    """Distance of each point to the path's exact curves, shape (n,): nearest chord, then Newton's method."""
    flat = paths.flatten(path, _FLAT_MM)
    chords = shapely.linestrings(np.stack([flat.points[:-1], flat.points[1:]], axis=1))
    chord = shapely.STRtree(chords).nearest(shapely.points(points))
    a, b = flat.points[chord], flat.points[chord + 1]
    share = np.clip(((points - a) * (b - a)).sum(axis=1) / np.maximum(((b - a) ** 2).sum(axis=1), 1e-300), 0, 1)
    t0 = flat.t[chord]
    t1 = np.where(flat.segment[chord + 1] == flat.segment[chord], flat.t[chord + 1], 1.0)
    cubics, t = path.cubics[flat.segment[chord]], t0 + share * (t1 - t0)
    for _ in range(8):
        r, d = paths.evaluate(cubics, t) - points, paths.derivative(cubics, t)
        bend = (d * d).sum(axis=1) + (r * paths.second_derivative(cubics, t)).sum(axis=1)
        t = np.clip(t - np.where(bend > 0, (r * d).sum(axis=1) / np.where(bend > 0, bend, 1.0), 0.0), 0, 1)
    return np.asarray(np.linalg.norm(paths.evaluate(cubics, t) - points, axis=1))


def _seams(children: Sequence[Piece]) -> list[tuple[str, str, str, float, float]]:
    """New seams once each: the two pieces, the edge's name, and its length on either side."""
    edges = {f"{c.name}:{e.name}": (c.name, e) for c in children for e in c.edges}
    seams = []
    for key, (name, edge) in edges.items():
        if edge.line_id and edge.mate in edges and key < edge.mate:
            other, twin = edges[edge.mate]
            seams.append((name, other, edge.name, length_of(edge.path), length_of(twin.path)))
    return seams
