"""Carry the split's lines from a view onto the pattern piece that the view shows.

The view shows the whole garment body, the piece is often its half on the fold. Both are rings of named edges, run
counter-clockwise; the piece matches that half of the view whose names come in the same order. So which side of the
wearer a drawn half is follows from the view's own names ('side-left'), never from a guess: a piece is drawn as it looks
with its right side up, exactly like the view.

The inside is carried by mean value coordinates over the matched outlines; a line's ends are put at their typed distance
along the piece's own stitch line; straight lines stay straight, and a line that is square to the mirror line is square
to the fold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.place import MeanValueMap, carry_path, matched
from mockup.geometry.similar import similar
from mockup.pattern.anchors import anchored, ring_name
from mockup.pattern.cut import CutLine
from mockup.pattern.piece import Edge, Piece
from mockup.pattern.unfold import reflection
from mockup.pattern.view_half import CENTRE, Half, half_line, half_of_view, mirror_pairs, side_of, whole
from mockup.split.split import Anchor, SplitLine, SplitView
from swatches.errors import GeometryError

STEP_MM = 8.0
CARRY_MM = 0.005
_SQUARE_DEG = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Registered:
    """A piece laid onto a view.

    Attributes:
        half: the part of the view that it shows.
        names: the matched edges.
        on_view: their paths in the view.
        on_piece: their paths on the piece.
    """

    half: Half
    names: tuple[str, ...]
    on_view: tuple[Path, ...]
    on_piece: tuple[Path, ...]

    def to_piece(self) -> MeanValueMap:
        """Map from view mm to piece mm."""
        return MeanValueMap(*matched(self.on_view, self.on_piece, STEP_MM))

    def to_view(self) -> MeanValueMap:
        """Map from piece mm to view mm."""
        return MeanValueMap(*matched(self.on_piece, self.on_view, STEP_MM))


def carried_lines(view: SplitView, piece: Piece, on: Registered) -> tuple[CutLine, ...]:
    """Give the lines of a view that cross a piece, in the piece's mm.

    Args:
        view: of the split.
        piece: a body piece of that view, on the fold or whole, run counter-clockwise.
        on: where it lies in the view; see :func:`register`.

    Returns:
        One line each; for a half only the half of symmetrical lines, and of two lines that are each other's mirror
        image the one on that half.

    Raises:
        GeometryError: a distance is longer than its edge, or a line is not symmetrical and the piece is a half (unfold
            it first).
    """
    pairs = mirror_pairs(view)
    mapped = on.to_piece()
    done: list[CutLine] = []
    for line in view.lines:
        if not on.half.side:
            if line.symmetric and view.mirror_line is not None:
                done.append(_both_halves(line, view, on, piece, mapped))
            else:
                done.append(carried(line, paths.from_tuples(line.path), line.start, line.end, on, piece, mapped))
            continue
        if line.symmetric:
            path = half_line(line, view, on.half.side)
        elif line.id in pairs:
            if side_of(line, view) != on.half.side:
                continue
            path = paths.from_tuples(line.path)
            line = replace(line, name=line.name.removesuffix(f", {on.half.side}"))  # it stands for both
        else:
            raise GeometryError(
                f"line '{line.name}'",
                expected=f"a symmetrical line, since {piece.name} is cut on the fold",
                got="one that is not",
                next_step="Unfold the piece first",
            )
        done.append(carried(line, path, line.start, line.end, on, piece, mapped))
    return tuple(done)


def mirrored_lines(halves: Sequence[CutLine], fold: Edge, side: str) -> tuple[CutLine, ...]:
    """Open out the halves of symmetrical lines with the piece that they lie on.

    Args:
        halves: from the outline to the fold.
        fold: the fold edge of the piece on which they lie.
        side: the wearer's side that the piece shows.

    Returns:
        The same lines from the wearer's left to the right, both ends at the start's distance.
    """
    flip = reflection(fold.path)
    made = []
    for line in halves:
        other = paths.transformed(line.path, flip)
        left, right = (line.path, other) if side == "left" else (other, line.path)
        whole = paths.joined([left, paths.reversed_path(right)])
        made.append(CutLine(line.id, line.name, whole, line.start, line.start, line.on_top))
    return tuple(made)


def _both_halves(line: SplitLine, view: SplitView, on: Registered, piece: Piece, mapped: MeanValueMap) -> CutLine:
    """Carry a symmetrical line onto a whole piece: its two halves, each with its own ends, joined in the middle."""
    if paths.from_tuples(line.path).closed:
        return carried(line, paths.from_tuples(line.path), None, None, on, piece, mapped)
    left, right = (
        carried(
            replace(line, start_side=side, end_side=side),
            half_line(line, view, side),
            line.start,
            line.end,
            on,
            piece,
            mapped,
        ).path
        for side in ("left", "right")
    )
    # Without a typed place in the middle the two meet half way.
    middle = (left.end + right.end) / 2
    left, right = similar(left, left.start, middle), similar(right, right.start, middle)
    whole = paths.joined([left, paths.reversed_path(right)])
    return CutLine(line.id, line.name, whole, line.start, line.start, line.on_top)


def register(view: SplitView, piece: Piece) -> Registered:
    """Find which part of a view a piece shows, edge by edge.

    Raises:
        GeometryError: neither the whole view nor one of its halves has the piece's edges in the same order.
    """
    own = [(ring_name(e), e.path) for e in piece.edges]
    candidates = [whole(view)]
    if view.mirror_line is not None:
        candidates += [half_of_view(view, "left"), half_of_view(view, "right")]
    for strict in (True, False):
        for candidate in candidates:
            found = match_rings(candidate, own, strict=strict)
            if found is not None:
                return Registered(candidate, *found)
    raise GeometryError(
        f"edges of {piece.name}",
        expected=f"the edges of the {view.name} in the same order ({', '.join(candidates[-1].names)})",
        got=", ".join(name for name, _ in own),
        next_step="Name the piece's edges like the picture's",
    )


def match_rings(
    half: Half, own: Sequence[tuple[str, Path]], *, strict: bool
) -> tuple[tuple[str, ...], tuple[Path, ...], tuple[Path, ...]] | None:
    """Match two rings of names; leniently, an edge that only one has is taken together with the one before it."""
    theirs = list(zip(half.names, half.edges, strict=True))
    mine = list(own)
    if not strict:
        common = {n for n, _ in theirs} & {n for n, _ in mine}
        if len(common) < 3 or CENTRE in {n for n, _ in theirs} ^ {n for n, _ in mine}:
            return None
        theirs, mine = _merged(theirs, common), _merged(mine, common)
    if len(theirs) != len(mine):
        return None
    names = [n for n, _ in theirs]
    for k in range(len(mine)):
        turned = mine[k:] + mine[:k]
        if [n for n, _ in turned] == names:
            return tuple(names), tuple(p for _, p in theirs), tuple(p for _, p in turned)
    return None


def _merged(ring: list[tuple[str, Path]], common: set[str]) -> list[tuple[str, Path]]:
    first = next(k for k, (n, _) in enumerate(ring) if n in common)
    out: list[tuple[str, Path]] = []
    for name, path in ring[first:] + ring[:first]:
        if name in common:
            out.append((name, path))
        else:
            out[-1] = (out[-1][0], paths.joined([out[-1][1], path]))
    return out


def carried(
    line: SplitLine,
    path: Path,
    start: Anchor | None,
    end: Anchor | None,
    on: Registered,
    piece: Piece,
    mapped: MeanValueMap,
    *,
    ends: tuple[Floats | None, Floats | None] | None = None,
) -> CutLine:
    """Carry one path of a line onto a piece.

    Args:
        line: the line.
        path: what of it is carried, view mm.
        start: where its first point was typed to be, or None.
        end: the same for its last point.
        on: the piece on the view.
        piece: the piece.
        mapped: the map from view mm to piece mm.
        ends: where both ends are on the piece, where that is known; None within: as mapped.
    """
    what = f"line '{line.name}'"
    if ends is None:
        a = None if start is None else anchored(start, line.start_side, piece, what)
        b = None if end is None else anchored(end, line.end_side or _other(line, end), piece, what)
    else:
        a, b = ends
    straight = paths.is_straight(path)
    if path.closed:
        placed = _carried_round(path, mapped)
    elif straight.all():
        points = mapped.apply(np.vstack([path.cubics[:, 0], path.cubics[-1:, 3]]))
        points[0] = points[0] if a is None else a
        points[-1] = points[-1] if b is None else b
        placed = paths.polyline(_without_flat_joints(points, path))
    else:
        placed = carry_path(path, mapped, a, b, tolerance=CARRY_MM)
    if on.half.side and line.symmetric:
        placed = _squared_to_fold(placed, path, on, piece)
    return CutLine(line.id, line.name, placed, start, end, line.on_top)


def _carried_round(path: Path, mapped: MeanValueMap) -> Path:
    """Carry a closed line: in two halves, so that both of them have ends to keep."""
    middle = len(path) // 2
    if middle == 0:
        first, second = (paths.sub_path(path, *ends) for ends in (((0, 0.0), (0, 0.5)), ((0, 0.5), (0, 1.0))))
    else:
        first, second = Path(path.cubics[:middle]), Path(path.cubics[middle:])
    start, turn = mapped.apply(np.array([first.start, second.start]))
    halves = [
        carry_path(first, mapped, start, turn, tolerance=CARRY_MM),
        carry_path(second, mapped, turn, start, tolerance=CARRY_MM),
    ]
    return paths.joined(halves)


def _other(line: SplitLine, end: Anchor) -> str | None:
    """Side of the end of a line that goes right across, where only its start's side is said."""
    return {"left": "right", "right": "left"}.get(line.start_side or "") if end == line.start else line.start_side


def _without_flat_joints(points: Floats, path: Path) -> Floats:
    """Leave out joints at which the drawn line goes straight on, so that one straight line stays one."""
    ways = path.cubics[:, 3] - path.cubics[:, 0]
    ways = ways / np.linalg.norm(ways, axis=1, keepdims=True)
    bends = np.abs(ways[:-1, 0] * ways[1:, 1] - ways[:-1, 1] * ways[1:, 0]) > 1e-6
    return points[np.r_[True, bends, True]]


def _squared_to_fold(placed: Path, drawn: Path, on: Registered, piece: Piece) -> Path:
    """Let a line that meets the mirror line square meet the fold square, by turning its last handle."""
    fold = next((e for e in piece.edges if ring_name(e) == CENTRE), None)
    if fold is None:
        return placed
    centre = on.on_view[on.names.index(CENTRE)]
    if _off_square(drawn, centre) > _SQUARE_DEG or _off_square(placed, fold.path) < 1e-7:
        return placed
    way = fold.path.end - fold.path.start
    normal = np.array([-way[1], way[0]]) / np.linalg.norm(way)
    cubics = placed.cubics.copy()
    handle = cubics[-1, 2] - cubics[-1, 3]
    size = float(np.linalg.norm(handle)) or float(np.linalg.norm(cubics[-1, 0] - cubics[-1, 3])) / 3
    cubics[-1, 2] = cubics[-1, 3] + normal * np.sign(normal @ (cubics[-1, 0] - cubics[-1, 3])) * size
    return Path(cubics)


def _off_square(path: Path, centre: Path) -> float:
    """Degrees by which a path's end is off square to a straight edge."""
    way = centre.end - centre.start
    tangent = paths.tangent(path, len(path) - 1, 1.0)
    return float(np.degrees(np.arcsin(min(1.0, abs(float(tangent @ way)) / float(np.linalg.norm(way))))))
