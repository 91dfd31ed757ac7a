"""Cut a piece along lines: exact sub-edges, everything inherited that should be, new seams marked and proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.faces import Face, FacePart, faces
from mockup.geometry.intersect import intersections
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import length_of
from mockup.geometry.similar import similar
from mockup.pattern.inherit import Origin, grainline_in, inherited_edges, inherited_marks, inherited_notches
from mockup.pattern.notches import notch_count, seam_notches
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Notch, Piece, counter_clockwise
from mockup.pattern.proof import Proof, prove
from mockup.split.split import Anchor
from swatches.errors import GeometryError

SNAP_MM = 2.0
FRAGMENT_MM = 5.0
TOLERANCE_MM = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class CutLine:
    """A line to cut along, in the piece's own mm, y up.

    Attributes:
        id: the style line's id.
        name: its name, which the new edges take.
        path: it may overshoot the piece, or end on an edge or on another line.
        start: where its first point was typed to be, or None when it was drawn freely.
        end: the same for its last point.
    """

    id: str
    name: str
    path: Path
    start: Anchor | None = None
    end: Anchor | None = None


@dataclass(frozen=True, slots=True, eq=False)
class CutResult:
    """What comes out of a cut.

    Attributes:
        children: pieces in order along the parent's outline, named '<parent> 1', '<parent> 2', …
        proof: measured on the children.
        notes: what was snapped, left, or lost, one sentence each.
        origins: where every inherited edge comes from.
    """

    children: tuple[Piece, ...]
    proof: Proof
    notes: tuple[str, ...]
    origins: tuple[Origin, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _NewEdge:
    """A new edge of one face: consecutive strands of one line with one neighbour."""

    line: int
    path: Path
    strands: frozenset[tuple[int, float]]


def cut_piece(
    piece: Piece, lines: Sequence[CutLine], allowance_mm: float = 15.0, *, allowance_text: str = "", number: int = 0
) -> CutResult:
    """Cut a piece along lines that may cross and branch.

    Inherited edges keep kind, name, allowance and mate, and their curves are exact parts of the parent's. A new edge is
    a seam named after its line, with the allowance given, its mate the sibling's edge. An end that was not typed and
    comes within 2 mm of a corner is moved into the corner; a typed distance never moves.

    Args:
        piece: the parent.
        lines: at least one.
        allowance_mm: of the new edges, ≥ 0.
        allowance_text: the allowance as typed, for labels.
        number: number of the first child; the others follow. 0 leaves them unnumbered.

    Raises:
        GeometryError: see :func:`mockup.geometry.faces.faces`; also a negative allowance, a fragment narrower than
            5 mm, a line within the depth of a hem that it does not cross, or a closed line (a piece has one outline).
    """
    if not allowance_mm >= 0:
        raise GeometryError(
            "allowance", expected="0 mm or more", got=f"{allowance_mm:g} mm", next_step="Type 15mm, for example"
        )
    piece = counter_clockwise(piece)
    outline = piece.outline
    placed, notes = [], []
    for line in lines:
        path, said = snapped(line, piece, outline)
        placed.append(path)
        notes += said
    found = faces(
        outline, placed, tolerance=TOLERANCE_MM, names=[f"line '{line.name}'" for line in lines], fragment=FRAGMENT_MM
    )
    for face in found:
        if face.holes:
            raise GeometryError(
                f"line '{lines[face.holes[0][0].source].name}'",
                expected="a line that reaches an edge",
                got="one that is closed inside the piece",
                next_step="Sew such a shape on top, or lead a line from it to an edge",
            )
    _check_hems(piece, found, lines)
    _check_darts(piece, placed, lines)
    rows = [_edges(piece, face, lines, allowance_mm, allowance_text) for face in found]
    names = [f"{piece.name} {k + 1}" for k in range(len(found))]
    homes: dict[tuple[int, float], list[tuple[int, int]]] = {}
    for k, row in enumerate(rows):
        for n, item in enumerate(row):
            if isinstance(item[1], _NewEdge):
                homes.setdefault(min(item[1].strands), []).append((k, n))
    labels = [_unique_names([edge.name for edge, _ in row]) for row in rows]
    marks = _new_notches(rows, homes, labels, piece)
    children, origins = [], []
    for k, (face, row) in enumerate(zip(found, rows, strict=True)):
        edges, own = [], []
        for n, (edge, source) in enumerate(row):
            label, mate = labels[k][n], edge.mate
            if isinstance(source, Origin):
                own.append(replace(source, child=names[k], child_edge=label))
            else:
                mate = next(
                    (f"{names[i]}:{labels[i][m]}" for i, m in homes[min(source.strands)] if (i, m) != (k, n)), ""
                )
            edges.append(replace(edge, name=label, mate=mate))
        inherited, lost = inherited_notches(piece, own, [o.child_edge for o in own])
        clipped, divided = inherited_marks(piece, face.outline)
        notes += [f"A notch on {name} lies where the cut is and is left out." for name in lost]
        notes += [f"{name} is crossed by a line and divided." for name in divided]
        origins += own
        children.append(
            replace(
                piece,
                name=names[k],
                edges=_with_corners(tuple(edges)),
                notches=(*inherited, *marks[k]),
                marks=clipped,
                grainline=grainline_in(face.outline, piece.grainline),
                how=_how(piece, edges),
                number=number + k if number else 0,
                parent=piece.name,
            )
        )
    result = tuple(children)
    return CutResult(result, prove(piece, result), tuple(dict.fromkeys(notes)), tuple(origins))


def snapped(line: CutLine, piece: Piece, outline: Path) -> tuple[Path, list[str]]:
    """Move ends that were not typed into a corner within 2 mm; gives the line and what was done, in sentences."""
    path = line.path
    if path.closed:
        return path, []
    corners = np.array([edge.path.start for edge in piece.edges])
    crossings = intersections(path, outline)
    if not crossings:
        return path, []
    ends: list[Floats] = []
    notes: list[str] = []
    moved: list[int] = []
    for anchor, (position, _), tip in (
        (line.start, crossings[0], path.start),
        (line.end, crossings[-1], path.end),
    ):
        at = paths.points_at(path, *position)
        gaps = np.linalg.norm(corners - at, axis=1)
        k = int(np.argmin(gaps))
        # Where the tip is inside, this end does not reach the outline and has nothing to do with the corner.
        far = len(crossings) == 1 and np.linalg.norm(tip - at) > SNAP_MM and _inside(outline, tip)
        between = f"the corner between {piece.edges[k - 1].name} and {piece.edges[k].name}"
        if gaps[k] > SNAP_MM or gaps[k] < 1e-9 or far:
            ends.append(at)
        elif anchor is not None:
            notes.append(f"{line.name} ends {gaps[k]:.2g} mm from {between}, as typed; it is left there.")
            ends.append(at)
        else:
            notes.append(f"{line.name} ended {gaps[k]:.2g} mm from {between} and now ends in it.")
            ends.append(corners[k])
            moved.append(k)
    if not moved:
        return path, notes
    if len(moved) == 2 and (moved[0] - moved[1]) % len(corners) in (0, 1, len(corners) - 1):
        return path, []  # both ends would go to one edge: what the line cuts off is a sliver, and is refused as one
    first = crossings[0][0] if not _inside(outline, path.start) else (0, 0.0)
    last = crossings[-1][0] if not _inside(outline, path.end) else (len(path) - 1, 1.0)
    if first >= last:
        return path, []
    body = paths.sub_path(path, first, last)
    start = ends[0] if first != (0, 0.0) or _on(crossings[0][0], first) else body.start
    end = ends[1] if last != (len(path) - 1, 1.0) or _on(crossings[-1][0], last) else body.end
    return similar(body, start, end), notes


def _on(a: tuple[int, float], b: tuple[int, float]) -> bool:
    return abs((a[0] + a[1]) - (b[0] + b[1])) < 1e-9


def _inside(outline: Path, point: Floats) -> bool:
    return bool(shapely.Polygon(paths.flatten(outline, TOLERANCE_MM).points).contains(shapely.Point(point)))


def _edges(
    piece: Piece, face: Face, lines: Sequence[CutLine], allowance_mm: float, allowance_text: str
) -> list[tuple[Edge, Origin | _NewEdge]]:
    """Edges of one child in order, before names are made unique and mates are known."""
    row: list[tuple[Edge, Origin | _NewEdge]] = []
    for k, part in enumerate(face.parts):
        if part.source == -1:
            for edge, origin in inherited_edges(piece, part, _cut_by(face, k, lines)):
                row.append((edge, origin))
            continue
        line = lines[part.source]
        new = _NewEdge(part.source, part.path, frozenset({(part.source, part.from_distance)}))
        edge = Edge(line.name, part.path, EdgeKind.SEAM, allowance_mm, allowance_text, line_id=line.id)
        row.append((edge, new))
    if len(row) > 1 and len(piece.edges) == 1:
        # A piece of one closed edge is broken at that edge's start, which is no corner of the child.
        (first, from_first), (last, from_last) = row[0], row[-1]
        if isinstance(from_first, Origin) and isinstance(from_last, Origin):
            row = [*row[1:-1], _grown(last, from_last, first, from_first)]
    return row


def _grown(a: Edge, from_a: Origin, b: Edge, from_b: Origin) -> tuple[Edge, Origin]:
    """One edge of two that follow each other along the parent's."""
    joined = replace(a, path=paths.joined([a.path, b.path]), end_name=b.end_name)
    return joined, replace(from_a, to_mm=from_a.to_mm + from_b.to_mm - from_b.from_mm)


def _cut_by(face: Face, k: int, lines: Sequence[CutLine]) -> str:
    """Name of the line that cut an outline part of a face."""
    for n in (k + 1, k - 1):
        part = face.parts[n % len(face.parts)]
        if part.source >= 0:
            return lines[part.source].name
    return ""


def _unique_names(names: Sequence[str]) -> list[str]:
    seen: dict[str, int] = {}
    out = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        out.append(name if seen[name] == 1 else f"{name} {seen[name]}")
    return out


def _new_notches(
    rows: list[list[tuple[Edge, Origin | _NewEdge]]],
    homes: dict[tuple[int, float], list[tuple[int, int]]],
    labels: list[list[str]],
    piece: Piece,
) -> list[list[Notch]]:
    """Notches on both sides of every new seam, at the same place of the stitch line."""
    count = notch_count(piece)
    marks: list[list[Notch]] = [[] for _ in rows]
    for sides in homes.values():
        (k, n), *others = sides
        edge = rows[k][n][0]
        size = length_of(edge.path)
        for distance in seam_notches(edge.path, edge.allowance_mm):
            marks[k].append(Notch(labels[k][n], distance, count))
            for i, m in others:
                marks[i].append(Notch(labels[i][m], size - distance, count))
    return marks


def _with_corners(edges: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Choose the allowance's shape at corners that a line made: mirrored at a hem, mitred elsewhere."""
    out = []
    for k, edge in enumerate(edges):
        before = edges[k - 1]
        if bool(edge.line_id) or bool(before.line_id):
            at_hem = (edge.kind is EdgeKind.HEM) != (before.kind is EdgeKind.HEM)
            edge = replace(edge, corner=Corner.MIRRORED if at_hem else Corner.MITRE)
        out.append(edge)
    return tuple(out)


def _how(piece: Piece, edges: Sequence[Edge]) -> HowToCut:
    if piece.how is HowToCut.ON_FOLD and not any(e.kind is EdgeKind.FOLD for e in edges):
        return HowToCut.PAIR
    return piece.how


def _check_hems(piece: Piece, found: Sequence[Face], lines: Sequence[CutLine]) -> None:
    """Refuse a line that stays within the depth of a hem: the turned-up hem would reach across the seam."""
    hems = [(e, shapely.LineString(paths.flatten(e.path, 0.1).points)) for e in piece.edges if e.kind is EdgeKind.HEM]
    for edge, hem in hems:
        if edge.allowance_mm <= 0:
            continue
        for part in _strands(found):
            seam = shapely.LineString(paths.flatten(part.path, 0.1).points)
            gap = float(shapely.distance(seam, hem))
            if 0.05 < gap < edge.allowance_mm - 0.1 and not _reaches(lines[part.source].path, edge.path):
                raise GeometryError(
                    f"line '{lines[part.source].name}'",
                    expected=f"at least {edge.allowance_mm:g} mm, the depth of the hem, above {edge.name}",
                    got=f"{gap:.3g} mm",
                    next_step="Move the line up, or let it cross the hem",
                )


def _check_darts(piece: Piece, placed: Sequence[Path], lines: Sequence[CutLine]) -> None:
    """Refuse a line across a dart: it would be broken when the dart is sewn. One that ends in the apex is welcome."""
    for before, after in zip(piece.edges, (*piece.edges[1:], piece.edges[0]), strict=True):
        if f"{piece.name}:{after.name}" != before.mate and not (_is_dart(before) and _is_dart(after)):
            continue
        apex = before.path.end
        for line, path in zip(lines, placed, strict=True):
            for leg in (before, after):
                met = [paths.points_at(path, *p) for p, _ in intersections(path, leg.path)]
                away = [q for q in met if np.linalg.norm(q - apex) > SNAP_MM]
                if away:
                    raise GeometryError(
                        f"line '{line.name}'",
                        expected="a line that passes the dart or ends in its point",
                        got=f"one that crosses its leg {leg.name}",
                        next_step="Move the line, or turn the dart out of its way first",
                        place=(float(away[0][0]), float(away[0][1])),
                    )


def _is_dart(edge: Edge) -> bool:
    return edge.name.startswith("dart")


def _reaches(line: Path, edge: Path) -> bool:
    return bool(intersections(line, edge))


def _strands(found: Sequence[Face]) -> list[FacePart]:
    seen: dict[tuple[int, float], FacePart] = {}
    for face in found:
        for part in face.parts:
            if part.source >= 0:
                seen.setdefault((part.source, part.from_distance), part)
    return list(seen.values())
