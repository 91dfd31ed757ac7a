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
from mockup.geometry.ruler import flat_of, length_of
from mockup.pattern.allowance import cut_outline, prepare
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
    places, angles, at_line = [], [], []
    for ring in (ring for child in children for ring in child.rings):
        firsts = np.concatenate([e.path.cubics[:1] for e in ring])
        lasts = np.concatenate([e.path.cubics[-1:] for e in ring])
        bend = turn(np.roll(end_tangents(lasts), 1, axis=0), start_tangents(firsts))
        places.append(firsts[:, 0])
        angles.append(180 - np.degrees(bend))
        at_line += [bool(e.line_id or ring[k - 1].line_id) for k, e in enumerate(ring)]
    points, inner = np.concatenate(places), np.concatenate(angles)
    found = points[np.array(at_line)]
    outlines = parent.outlines
    joints = np.concatenate([path.cubics[:, 0] for path in outlines])
    bends = np.concatenate(
        [turn(np.roll(end_tangents(p.cubics), 1, axis=0), start_tangents(p.cubics)) for p in outlines]
    )
    inside = _to_nearest(outlines, found) > _PLACE_MM
    worst = 0.0
    for place, is_inside in zip(found, inside, strict=True):
        there = np.linalg.norm(points - place, axis=1) < _PLACE_MM
        corner = np.flatnonzero(np.linalg.norm(joints - place, axis=1) < _PLACE_MM)
        whole = 360.0 if is_inside else 180.0 - (float(np.degrees(bends[corner[0]])) if len(corner) else 0.0)
        miss = abs(float(inner[there].sum()) - whole)
        if (np.abs((inner[there] + 180) % 360 - 180) < ANGLE_DEG).any():
            # Where lines touch, a part ends in a point of 0°, which cannot be told from 360°.
            miss = abs((miss + 180) % 360 - 180)
        worst = max(worst, miss)
    return worst


def containment(piece: Piece) -> ProofRow:
    """Measure how far the stitch lines reach out of the cut lines (0 where they are inside)."""
    stitch = np.concatenate([flat_of(outline, _FLAT_MM).points for outline in piece.outlines])
    made = cut_outline(piece)
    cut, *holes = (flat_of(path, _FLAT_MM / 10).points for path in (made.path, *made.holes))
    cloth = shapely.Polygon(cut, holes)
    shapely.prepare(cloth)
    points = shapely.points(stitch)
    outside = points[~shapely.intersects(cloth, points)]
    figure = float(shapely.distance(cloth, outside).max()) if len(outside) else 0.0
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
    rings = [np.asarray(ring.coords)[:-1] for ring in (whole.exterior, *holes)]
    there = shapely.points(np.concatenate([flat_of(path, _FLAT_MM).points for path in parent]))
    chords = np.concatenate([np.stack([r, np.roll(r, -1, axis=0)], axis=1) for r in rings])
    tree = shapely.STRtree(shapely.linestrings(chords))
    back = float(tree.query_nearest(there, return_distance=True, all_matches=False)[1].max())
    if back > 2.1 * _FLAT_MM:
        return back
    return float(_to_nearest(parent, np.concatenate(rings)).max())


def _on_grid(outlines: Sequence[Path]) -> shapely.Polygon:
    """Flatten outlines onto a grid of 1e-9 mm: so a curve run both ways gives the same corners to the last bit."""
    shell, *holes = (np.round(flat_of(o, _FLAT_MM).points / _GRID_MM) * _GRID_MM for o in outlines)
    return shapely.Polygon(shell, holes)


def _to_nearest(outlines: Sequence[Path], points: Floats) -> Floats:
    """Distance of each point to the nearest of several outlines, shape (n,)."""
    return np.asarray(np.min([distances_to(outline, points) for outline in outlines], axis=0))


def distances_to(path: Path, points: Floats) -> Floats:
    """Distance of each point to the path's exact curves, shape (n,): nearest chord, then Newton's method."""
    flat = flat_of(path, _FLAT_MM)
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
        before, t = t, np.clip(t - np.where(bend > 0, (r * d).sum(axis=1) / np.where(bend > 0, bend, 1.0), 0.0), 0, 1)
        if np.abs(t - before).max(initial=0.0) < 1e-13:
            break
    return np.asarray(np.linalg.norm(paths.evaluate(cubics, t) - points, axis=1))


def _seams(children: Sequence[Piece]) -> list[tuple[str, str, str, float, float]]:
    """New seams once each: the two pieces, the edge's name, and its length on either side."""
    edges = {f"{c.name}:{e.name}": (c.name, e) for c in children for e in c.all_edges}
    seams = []
    for key, (name, edge) in edges.items():
        if edge.line_id and edge.mate in edges and key < edge.mate:
            other, twin = edges[edge.mate]
            seams.append((name, other, edge.name, length_of(edge.path), length_of(twin.path)))
    return seams
