"""Join two pieces along a seam: the seam disappears, and one piece comes out.

The second piece is turned (and mirrored where the two are drawn from opposite sides of the wearer) so that its stitch
line lies on the first's as well as a rigid motion can. What is left between the two is the gap and the overlap: up to
0.5 mm is closed without a word, up to 2 mm when the person says so, and more is refused, since then the seam shapes the
garment.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.offset import turn
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.geometry.similar import similar
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Mark, Notch, Piece, counter_clockwise, mirrored
from mockup.pattern.proof import Proof, ProofRow, containment, rejoin_error
from mockup.pattern.seam_fit import Fit, fit
from swatches.errors import GeometryError

SILENT_MM = 0.5
ASKED_MM = 2.0
_SAME_CURVE_MM = 1e-6
KINK_DEG = 3.0  # our own choice: an edge that bends this much where the seam was wants to be trued


@dataclass(frozen=True, slots=True, eq=False)
class JoinResult:
    """What comes out of a join: the piece, its fit, a proof, and what the person should know."""

    piece: Piece
    fit: Fit
    proof: Proof
    notes: tuple[str, ...]


def join(
    a: Piece,
    edge_a: str,
    b: Piece,
    edge_b: str,
    *,
    allow_mm: float = SILENT_MM,
    name: str = "",
    grain_of: str = "first",
) -> JoinResult:
    """Join two pieces along a seam.

    Args:
        a: the first; it stays where it is.
        edge_a: its edge.
        b: the second.
        edge_b: its edge.
        allow_mm: how much gap or overlap may be closed, ≤ 2 mm; above 0.5 mm the person has to have said so.
        name: of the result; empty: both names.
        grain_of: whose grainline the result has, 'first' or 'second'.

    Returns:
        The piece. A notch is left at each end of the seam that is gone, where the neighbouring edges meet, so that
        sleeve or collar still finds its place; where they are parts of one former edge, they become that edge again.

    Raises:
        GeometryError: the lines do not lie on each other, or the pieces cannot be one.
    """
    a, b = counter_clockwise(a), counter_clockwise(b)
    laid = fit(a, edge_a, b, edge_b)
    _check(a, b, edge_a, laid, min(allow_mm, ASKED_MM))
    moved = _moved(mirrored(b) if laid.mirror else b, laid.matrix)
    own, other = _after(a, edge_a), _after(moved, edge_b)
    own, other = _end_to_end(own, other)
    ring = _merged(own, other, bool(a.parent) and a.parent == b.parent)
    names = _names(ring, a, moved)
    edges = tuple(replace(p.edge, name=n) for p, n in zip(ring, names, strict=True))
    notches = [
        *_kept_notches(ring, names, a, moved),
        *(
            Notch(names[k], 0.0)
            for k, p in enumerate(ring)
            if p.at_joint and EdgeKind.FOLD not in (p.edge.kind, ring[k - 1].edge.kind)
        ),
    ]
    notes = _joint_notes(ring)
    grain, said = _grain(a, moved, grain_of)
    how = a.how if a.how is b.how or any(e.kind is EdgeKind.FOLD for e in edges) else HowToCut.SINGLE
    if how is HowToCut.ON_FOLD and not any(e.kind is EdgeKind.FOLD for e in edges):
        how = HowToCut.PAIR
    piece = replace(
        a,
        name=name or f"{a.name} and {b.name}",
        edges=edges,
        notches=tuple(notches),
        marks=(*a.marks, *moved.marks),
        grainline=grain,
        how=how,
        right_side_up=a.right_side_up or b.right_side_up,
        parent="",
    )
    return JoinResult(piece, laid, _proof(a, moved, piece, laid), tuple(dict.fromkeys([*notes, *said])))


def _check(a: Piece, b: Piece, edge: str, laid: Fit, allow_mm: float) -> None:
    worst = max(laid.gap_mm, laid.overlap_mm, laid.apart_mm)
    folds = [p for p in (a, b) if p.fold is not None]
    if worst > allow_mm:
        shapes = worst > ASKED_MM
        raise GeometryError(
            f"seam {edge} between {a.name} and {b.name}",
            expected=f"two stitch lines that lie on each other within {allow_mm:g} mm",
            got=f"a gap of {laid.gap_mm:.2f} mm and an overlap of {laid.overlap_mm:.2f} mm",
            next_step="Leave the seam: it shapes the garment"
            if shapes
            else f"Allow {worst:.1f} mm if that may be evened out",
        )
    if len(folds) == 2 and not _one_fold(a, b, laid):
        raise GeometryError(
            f"{a.name} and {b.name}",
            expected="at most one fold in the joined piece",
            got="two that do not lie on one line",
            next_step="Unfold one of the pieces first",
        )


def _one_fold(a: Piece, b: Piece, laid: Fit) -> bool:
    moved = _moved(mirrored(b) if laid.mirror else b, laid.matrix)
    if a.fold is None or moved.fold is None:
        return False
    ends = np.array([a.fold.path.start, a.fold.path.end, moved.fold.path.start, moved.fold.path.end])
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    return bool(np.abs((ends - ends[0]) @ np.array([-way[1], way[0]])).max() < SILENT_MM)


def _moved(piece: Piece, matrix: Floats) -> Piece:
    grain = piece.grainline
    if grain is not None:
        ends = np.array(grain) @ matrix[:, :2].T + matrix[:, 2]
        grain = ((float(ends[0, 0]), float(ends[0, 1])), (float(ends[1, 0]), float(ends[1, 1])))
    return replace(
        piece,
        edges=tuple(replace(e, path=paths.transformed(e.path, matrix)) for e in piece.edges),
        marks=tuple(Mark(m.name, paths.transformed(m.path, matrix), m.kind) for m in piece.marks),
        grainline=grain,
    )


def _after(piece: Piece, name: str) -> list[Edge]:
    """All other edges, from the one after the seam round to the one before it."""
    k = next(n for n, e in enumerate(piece.edges) if e.name == name)
    return [*piece.edges[k + 1 :], *piece.edges[:k]]


def _end_to_end(own: list[Edge], other: list[Edge]) -> tuple[list[Edge], list[Edge]]:
    """Bring the ends of the second piece's row onto the first's."""
    if not own or not other:
        raise GeometryError(
            "seam",
            expected="pieces with other edges besides the seam",
            got="a piece that is all seam",
            next_step="Choose another edge",
        )
    start, end = own[-1].path.end, own[0].path.start
    if len(other) == 1:
        return own, [replace(other[0], path=similar(other[0].path, start, end))]
    first = replace(other[0], path=_with_start(other[0].path, start))
    last = replace(other[-1], path=paths.reversed_path(_with_start(paths.reversed_path(other[-1].path), end)))
    return own, [first, *other[1:-1], last]


def _with_start(path: Path, start: Floats) -> Path:
    """Move a path's start a little and let the rest of it follow, less and less, up to its end."""
    shift = np.linalg.norm(start - path.start)
    if shift == 0:
        return path
    if shift < 1e-9:
        cubics = path.cubics.copy()
        cubics[0, 0] = start
        return Path(cubics)
    return similar(path, start, path.end)


@dataclass(slots=True)
class _Part:
    """An edge of the result, and the former edges along it: (side, name there, where on it that begins)."""

    side: str
    edge: Edge
    former: list[tuple[str, str, float]]
    at_joint: bool = False


def _merged(own: list[Edge], other: list[Edge], one_parent: bool) -> list[_Part]:
    """The result's edges in order; two that meet at an end of the former seam become one where they were one before."""
    ring = [_Part("first", e, [("first", e.name, 0.0)]) for e in own]
    ring += [_Part("second", e, [("second", e.name, 0.0)]) for e in other]
    ring[0].at_joint = ring[len(own)].at_joint = True
    out: list[_Part] = []
    for part in ring:
        if out and part.at_joint and _were_one(out[-1].edge, part.edge, one_parent):
            out[-1] = _one(out[-1], part)
        else:
            out.append(part)
    if len(out) > 1 and out[0].at_joint and _were_one(out[-1].edge, out[0].edge, one_parent):
        out[0] = _one(out.pop(), out[0])
    return out


def _one(before: _Part, after: _Part) -> _Part:
    size = length_of(before.edge.path)
    edge = replace(
        before.edge,
        path=paths.joined([before.edge.path, after.edge.path]),
        end_name=after.edge.end_name,
        mate=before.edge.mate or after.edge.mate,
    )
    former = [*before.former, *((side, name, d + size) for side, name, d in after.former)]
    return _Part(before.side, edge, former, before.at_joint)


def _joint_notes(ring: list[_Part]) -> list[str]:
    """Say where an edge bends at an end of the former seam."""
    notes = []
    for k, part in enumerate(ring):
        before, after = ring[k - 1].edge, part.edge
        angle = abs(_bend(before, after))
        if part.at_joint and _plain(before.name) == _plain(after.name) and angle > KINK_DEG:
            notes.append(f"{after.name} bends by {angle:.0f}° where the seam was: true it to a smooth line.")
    return notes


def _bend(before: Edge, after: Edge) -> float:
    ta = paths.tangent(before.path, len(before.path) - 1, 1.0)
    return float(np.degrees(turn(ta, paths.tangent(after.path, 0, 0.0))))


def _were_one(before: Edge, after: Edge, one_parent: bool) -> bool:
    """Parts of one edge that a line had cut: same name and kind, of one parent, and going straight on."""
    if before is after or abs(_bend(before, after)) > 0.1:
        return False
    if before.kind is EdgeKind.FOLD and after.kind is EdgeKind.FOLD:
        return True
    return one_parent and before.kind is after.kind and _plain(before.name) == _plain(after.name)


def _plain(name: str) -> str:
    head, _, tail = name.rpartition(" ")
    return head if head and tail.isdigit() else name


def _names(ring: list[_Part], a: Piece, b: Piece) -> list[str]:
    """Give every edge a name of its own: two of the same name take their pieces' views, else a count."""
    plain = [p.edge.name for p in ring]
    out: list[str] = []
    for name, part in zip(plain, ring, strict=True):
        view = (a if part.side == "first" else b).view
        if plain.count(name) > 1 and a.view != b.view and view:
            name = f"{name}-{view}"
        base, n = name, 2
        while name in out:
            name, n = f"{base} {n}", n + 1
        out.append(name)
    return out


def _kept_notches(ring: list[_Part], names: list[str], a: Piece, b: Piece) -> list[Notch]:
    kept = []
    for part, name in zip(ring, names, strict=True):
        for side, old, start in part.former:
            piece = a if side == "first" else b
            kept += [replace(n, edge=name, distance_mm=n.distance_mm + start) for n in piece.notches if n.edge == old]
    return kept


def _grain(
    a: Piece, b: Piece, grain_of: str
) -> tuple[tuple[tuple[float, float], tuple[float, float]] | None, list[str]]:
    if a.grainline is None or b.grainline is None:
        return a.grainline or b.grainline, []
    first, second = (np.subtract(g[1], g[0]) for g in (a.grainline, b.grainline))
    angle = abs(float(np.degrees(turn(first, second))))
    notes = []
    chosen, left = (a, b) if grain_of == "first" else (b, a)
    if angle > 90:
        notes.append(
            f"On one-way cloth {left.name} would hang upside down: its grain runs {angle:.0f}° from {chosen.name}'s."
        )
    elif angle > 2:
        notes.append(f"The grain of {left.name} turns by {angle:.0f}°, to {chosen.name}'s.")
    return chosen.grainline, notes


def _proof(a: Piece, b: Piece, joined: Piece, laid: Fit) -> Proof:
    """Area before and after, and the outline against the two pieces laid together, as far as the gap allows."""
    area = abs(joined.finished_area_mm2 - a.finished_area_mm2 - b.finished_area_mm2)
    slack = max(laid.gap_mm, laid.overlap_mm, laid.apart_mm)
    exact = slack <= _SAME_CURVE_MM
    whole = abs(joined.finished_area_mm2)
    limit = 1e-9 * whole if exact else 1e-9 * whole + 2 * slack * length_of(joined.outline)
    rows = [
        ProofRow(f"{joined.name}: finished area", area, limit, "mm²"),
        ProofRow(f"{joined.name}: gap", laid.gap_mm, ASKED_MM, "mm"),
        ProofRow(f"{joined.name}: overlap", laid.overlap_mm, ASKED_MM, "mm"),
        containment(joined),
    ]
    apart = 0.0
    if exact:
        apart = rejoin_error(joined.outlines, [a.outlines, b.outlines])
        rows.append(ProofRow(f"{joined.name}: outline of the two together", apart, 1e-6, "mm"))
    return Proof(area, laid.apart_mm, apart, tuple(rows))
