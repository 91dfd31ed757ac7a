"""Join two pieces along a seam: the seam disappears, and one piece comes out.

The second piece is turned (and mirrored where the two are drawn from opposite sides of the wearer) so that its stitch
line lies on the first's as well as a rigid motion can. What is left between the two is the gap and the overlap: up to
0.5 mm is closed without a word, up to 2 mm when the person says so, and more is refused, since then the seam shapes the
garment.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.offset import turn
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.geometry.similar import similar
from mockup.pattern.join_ring import (
    Part,
    bend,
    edge_names,
    hole_notches,
    kept_darts,
    kept_holes,
    kept_notches,
    merged,
    plain,
    renamed,
)
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Notch, Piece, counter_clockwise, mirrored, moved
from mockup.pattern.proof import Proof, ProofRow, containment, rejoin_error
from mockup.pattern.seam_fit import Fit, fit
from mockup.split.words import tenths
from swatches.errors import GeometryError

SILENT_MM = 0.5
ASKED_MM = 2.0
_SAME_CURVE_MM = 1e-6
KINK_DEG = 3.0  # our own choice: an edge that bends this much where the seam was wants to be trued


@dataclass(frozen=True, slots=True, eq=False)
class JoinResult:
    """What comes out of a join.

    Attributes:
        piece: the joined piece.
        fit: how well the two stitch lines lay on each other.
        proof: of its area and outline.
        notes: what the person should know, one sentence each.
        renamed: 'piece:edge' before → 'piece:edge' now, of every edge that is still there.
    """

    piece: Piece
    fit: Fit
    proof: Proof
    notes: tuple[str, ...]
    renamed: Mapping[str, str] = field(default_factory=dict)


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
    _check(a, b, edge_a, edge_b, laid, min(allow_mm, ASKED_MM))
    second = moved(mirrored(b) if laid.mirror else b, laid.matrix)
    own, other = _after(a, edge_a), _after(second, edge_b)
    own, other = _end_to_end(own, other)
    ring = merged(own, other, bool(a.parent) and a.parent == b.parent)
    names = edge_names(ring, a, second)
    edges = tuple(replace(p.edge, name=n) for p, n in zip(ring, names, strict=True))
    holes = kept_holes(a, second, names)
    notches = [
        *kept_notches(ring, names, a, second),
        *hole_notches(holes, a, second),
        *(
            Notch(names[k], 0.0)
            for k, p in enumerate(ring)
            if p.at_joint and EdgeKind.FOLD not in (p.edge.kind, ring[k - 1].edge.kind)
        ),
    ]
    notes = _joint_notes(ring)
    grain, said = _grain(a, second, grain_of)
    how = a.how if a.how is b.how or any(e.kind is EdgeKind.FOLD for e in edges) else HowToCut.SINGLE
    if how is HowToCut.ON_FOLD and not any(e.kind is EdgeKind.FOLD for e in edges):
        how = HowToCut.PAIR
    piece = replace(
        a,
        name=name or f"{a.name} and {b.name}",
        edges=edges,
        notches=tuple(notches),
        marks=(*a.marks, *second.marks),
        grainline=grain,
        how=how,
        holes=holes,
        darts=kept_darts(ring, names, a, second),
        right_side_up=a.right_side_up or b.right_side_up,
        parent="",
    )
    proof = _proof(a, second, piece, laid)
    return JoinResult(piece, laid, proof, tuple(dict.fromkeys([*notes, *said])), renamed(ring, names, a, b, piece))


def _check(a: Piece, b: Piece, edge: str, other: str, laid: Fit, allow_mm: float) -> None:
    worst = max(laid.gap_mm, laid.overlap_mm, laid.apart_mm)
    folds = [p for p in (a, b) if p.fold is not None]
    darts = [d for p, e in ((a, edge), (b, other)) for d in p.darts if d.edge == e]
    if darts:
        raise GeometryError(
            f"seam {edge} between {a.name} and {b.name}",
            expected="a seam without darts",
            got=f"one that the {darts[0].name} opens on",
            next_step="Leave the seam: it shapes the garment with its dart",
            place=darts[0].tip,
        )
    if worst > allow_mm:
        eased = abs(laid.longer_mm) > laid.gap_mm + laid.overlap_mm
        longer = b.name if laid.longer_mm > 0 else a.name
        got = f"a gap of {laid.gap_mm:.2f} mm and an overlap of {laid.overlap_mm:.2f} mm"
        if eased:
            got = f"one that is {abs(laid.longer_mm):.2f} mm longer on {longer}, where it is eased in"
        raise GeometryError(
            f"seam {edge} between {a.name} and {b.name}",
            expected=f"two stitch lines that lie on each other within {allow_mm:g} mm",
            got=got,
            next_step="Leave the seam: it shapes the garment"
            if worst > ASKED_MM
            else f"Allow {tenths(worst)} if that may be evened out",
        )
    if len(folds) == 2 and not _one_fold(a, b, laid):
        raise GeometryError(
            f"{a.name} and {b.name}",
            expected="at most one fold in the joined piece",
            got="two that do not lie on one line",
            next_step="Unfold one of the pieces first",
        )


def _one_fold(a: Piece, b: Piece, laid: Fit) -> bool:
    second = moved(mirrored(b) if laid.mirror else b, laid.matrix)
    if a.fold is None or second.fold is None:
        return False
    ends = np.array([a.fold.path.start, a.fold.path.end, second.fold.path.start, second.fold.path.end])
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    return bool(np.abs((ends - ends[0]) @ np.array([-way[1], way[0]])).max() < SILENT_MM)


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


def _joint_notes(ring: list[Part]) -> list[str]:
    """Say where an edge bends at an end of the former seam."""
    notes = []
    for k, part in enumerate(ring):
        before, after = ring[k - 1].edge, part.edge
        angle = abs(bend(before, after))
        if part.at_joint and plain(before.name) == plain(after.name) and angle > KINK_DEG:
            notes.append(f"{after.name} bends by {angle:.0f}° where the seam was: true it to a smooth line.")
    return notes


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
