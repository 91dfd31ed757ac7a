"""Close a wedge for good: the part behind it is turned about the dart's tip until both legs are one."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.offset import turn
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler
from mockup.pattern.darts import LEGS_MM, end_of, located, openings, turned_about
from mockup.pattern.inherit import clipped, grainline_in
from mockup.pattern.join import KINK_DEG
from mockup.pattern.piece import Dart, Edge, EdgeKind, Mark, Notch, Piece
from mockup.pattern.proof import AREA_RELATIVE, ProofRow
from swatches.errors import GeometryError


@dataclass(frozen=True, slots=True)
class _Place:
    """Where something on an edge comes to lie: its new distance, and whether it was on the part behind ``a``."""

    distance: float
    behind: bool


def closed_wedge(piece: Piece, a: Dart, b: Dart) -> tuple[Piece, list[ProofRow], list[str]]:
    """Close the wedge between two openings of one dart.

    Args:
        piece: with both openings among its darts, on different edges of its outline.
        a: one opening.
        b: the other; both have the dart's tip, which lies outside the piece.

    Returns:
        The piece without the wedge, the rows that prove it, and a sentence for every edge that has a point where the
        wedge was. The part with the fold stays where it is, since its grain is the piece's; else the larger one.

    Raises:
        GeometryError: the openings are on one edge or on a hole, or the legs miss each other by more than 0.5 mm.
    """
    names = [e.name for e in piece.edges]
    if a.edge == b.edge or a.edge not in names or b.edge not in names:
        raise GeometryError(
            f"dart {a.name} of {piece.name}",
            expected="a wedge from one edge of the outline to another",
            got=f"one on {a.edge} and {b.edge}",
            next_step="Cut the piece by one line after the other",
            place=a.tip,
        )
    tip = np.array(a.tip)
    i = names.index(a.edge)
    ring = [*piece.edges[i:], *piece.edges[:i]]
    j = [e.name for e in ring].index(b.edge)
    first, last = _parted(ring[0], a), _parted(ring[j], b)
    behind = [first[1], *(e.path for e in ring[1:j]), last[0]]
    before = [last[1], *(e.path for e in ring[j + 1 :]), first[0]]
    gap_a, gap_b = openings(piece, a), openings(piece, b)
    closing = turned_about(tip, gap_a[1], gap_a[0])
    missed = max(_apart(closing, gap_a[1], gap_a[0]), _apart(closing, gap_b[0], gap_b[1]))
    if missed > LEGS_MM:
        raise GeometryError(
            f"dart {a.name} of {piece.name}",
            expected=f"legs that meet within {LEGS_MM:g} mm when it is folded",
            got=f"{missed:.2f} mm between them",
            next_step="Make both legs one length",
            place=a.tip,
        )
    rear_stays = _stays(ring[1:j], ring[j + 1 :], behind, before)
    rear = np.eye(3)[:2] if rear_stays else closing
    front = turned_about(tip, gap_a[0], gap_a[1]) if rear_stays else np.eye(3)[:2]
    edges = [
        replace(ring[0], path=_one(first[0], front, first[1], rear)),
        *(replace(e, path=paths.transformed(e.path, rear)) for e in ring[1:j]),
        replace(ring[j], path=_one(last[0], rear, last[1], front)),
        *(replace(e, path=paths.transformed(e.path, front)) for e in ring[j + 1 :]),
    ]
    edges = _rounded(edges)
    rear_names = {e.name for e in ring[1:j]}
    rear_outline, front_outline = _closed_outline(behind), _closed_outline(before)
    darts = []
    for dart in piece.darts:
        if dart is a or dart is b:
            continue
        low = _place(dart.from_mm, dart.edge, a, b, rear_names)
        high = _place(dart.to_mm, dart.edge, a, b, rear_names)
        x, y = _at(rear if low.behind else front, np.array(dart.tip))
        darts.append(replace(dart, from_mm=low.distance, to_mm=high.distance, tip=(float(x), float(y))))
    shaped = piece.with_(
        edges=tuple(edges),
        holes=tuple(_turned_hole(hole, rear_outline, rear, front) for hole in piece.holes),
        notches=tuple(
            replace(n, distance_mm=_place(n.distance_mm, n.edge, a, b, rear_names).distance)
            for n in piece.notches
            if not _on_cap(n, a, b)
        ),
        marks=tuple(
            Mark(m.name, paths.transformed(part, matrix), m.kind)
            for m in piece.marks
            for outline, matrix in ((rear_outline, rear), (front_outline, front))
            for part in clipped(m.path, [outline])
        ),
        darts=tuple(darts),
    )
    shaped = shaped.with_(grainline=grainline_in(shaped.outlines, piece.grainline))
    wedge = [first[2], paths.polyline([gap_a[1], gap_b[0]]), last[2]]
    error = abs(piece.finished_area_mm2 - abs(_area(wedge)) - shaped.finished_area_mm2)
    limit = AREA_RELATIVE * abs(piece.finished_area_mm2) + missed * float(np.linalg.norm(gap_a[0] - gap_b[1]))
    rows = [
        ProofRow(f"{piece.name}: finished area with the {a.name} folded away", error, limit, "mm²"),
        ProofRow(f"{piece.name}: legs of the {a.name} apart", missed, LEGS_MM, "mm"),
    ]
    bends = ((a.edge, edges[0].path, len(first[0])), (b.edge, edges[j].path, len(last[0])))
    return shaped, rows, [_bend_note(name, path, at) for name, path, at in bends if _bend(path, at) > KINK_DEG]


def _stays(behind: list[Edge], before: list[Edge], rear: list[Path], front: list[Path]) -> bool:
    """Whether the part behind the wedge stays: the one with the fold, which tells the grain, else the larger one."""
    folds = [any(e.kind is EdgeKind.FOLD for e in part) for part in (behind, before)]
    return folds[0] if folds[0] != folds[1] else abs(_area(rear)) > abs(_area(front))


def _bend(path: Path, joint: int) -> float:
    """Degrees by which a path turns at the start of a segment."""
    return abs(float(np.degrees(turn(paths.tangent(path, joint - 1, 1.0), paths.tangent(path, joint, 0.0)))))


def _bend_note(name: str, path: Path, joint: int) -> str:
    return f"{name} bends by {_bend(path, joint):.0f}° where the dart was: true it to a smooth line."


def _parted(edge: Edge, dart: Dart) -> tuple[Path, Path, Path]:
    """An edge before its opening, behind it, and across it."""
    ruler = Ruler(edge.path)
    low, high = located(ruler, dart.from_mm), located(ruler, dart.to_mm)
    return (
        paths.sub_path(edge.path, (0, 0.0), low),
        paths.sub_path(edge.path, high, end_of(edge.path)),
        paths.sub_path(edge.path, low, high),
    )


def _one(before: Path, of_before: Floats, after: Path, of_after: Floats) -> Path:
    return paths.joined([paths.transformed(before, of_before), paths.transformed(after, of_after)])


def _rounded(edges: list[Edge]) -> list[Edge]:
    """Let every edge start in the very point in which the one before it ends, where rounding has moved them apart."""
    out = []
    for k, edge in enumerate(edges):
        cubics = edge.path.cubics.copy()
        cubics[0, 0] = edges[k - 1].path.end
        out.append(replace(edge, path=Path(cubics)))
    return out


def _place(distance: float, edge: str, a: Dart, b: Dart, rear: set[str]) -> _Place:
    if edge == a.edge:
        over = distance >= a.to_mm - 1e-9
        return _Place(distance - (a.to_mm - a.from_mm) if over else distance, over)
    if edge == b.edge:
        over = distance >= b.to_mm - 1e-9
        return _Place(distance - (b.to_mm - b.from_mm) if over else distance, not over)
    return _Place(distance, edge in rear)


def _on_cap(notch: Notch, a: Dart, b: Dart) -> bool:
    return any(d.edge == notch.edge and d.from_mm < notch.distance_mm < d.to_mm for d in (a, b))


def _turned_hole(hole: tuple[Edge, ...], rear_outline: Path, rear: Floats, front: Floats) -> tuple[Edge, ...]:
    inside = shapely.Polygon(paths.flatten(rear_outline, 0.02).points)
    matrix = rear if shapely.contains_xy(inside, *hole[0].path.start) else front
    return tuple(replace(e, path=paths.transformed(e.path, matrix)) for e in hole)


def _closed_outline(parts: list[Path]) -> Path:
    path = paths.joined(parts)
    return path if path.closed else paths.joined([path, paths.polyline([path.end, path.start])])


def _area(parts: list[Path]) -> float:
    return paths.signed_area(paths.joined(parts))


def _apart(matrix: Floats, point: Floats, target: Floats) -> float:
    return float(np.linalg.norm(_at(matrix, point) - target))


def _at(matrix: Floats, point: Floats) -> Floats:
    return np.asarray(matrix[:, :2] @ point + matrix[:, 2])
