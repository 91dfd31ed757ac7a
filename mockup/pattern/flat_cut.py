"""Cut a piece that lies flat: exact sub-edges, everything inherited that should be, new seams marked and proven.

Darts that a line meets are folded and opened round this by :mod:`mockup.pattern.cut`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mockup.geometry import path as paths
from mockup.geometry.faces import FacePart, faces
from mockup.geometry.ruler import length_of
from mockup.pattern.cut_checks import check_hems, check_points
from mockup.pattern.inherit import (
    Origin,
    grainline_in,
    inherited_darts,
    inherited_edges,
    inherited_marks,
    inherited_notches,
)
from mockup.pattern.notches import notch_count, seam_notches
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Notch, Piece
from mockup.pattern.proof import Proof, prove
from mockup.pattern.snap import TOLERANCE_MM, CutLine, snapped

FRAGMENT_MM = 5.0


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


@dataclass(frozen=True, slots=True)
class _NewEdge:
    """A new edge of one face: the strand of a line that begins at ``from_mm`` along it."""

    line: int
    from_mm: float


_Item = tuple[Edge, Origin | _NewEdge]


def cut_flat(
    piece: Piece, lines: Sequence[CutLine], allowance_mm: float, allowance_text: str, *, contained: bool = True
) -> CutResult:
    """Cut a piece along lines, its darts taken for paper; see :func:`mockup.pattern.cut.cut_piece`.

    Args:
        piece: the parent, counter-clockwise.
        lines: at least one.
        allowance_mm: of the new edges.
        allowance_text: the same as typed.
        contained: whether the proof asks of the cut outlines too, which are not final while darts are to be folded.

    Raises:
        GeometryError: see :func:`mockup.geometry.faces.faces`; also a fragment narrower than 5 mm, or a line within
            the depth of a hem that it does not cross.
    """
    outline, *holes = piece.outlines
    placed, notes = [], []
    for line in lines:
        path, said = snapped(line, piece, outline)
        placed.append(path)
        notes += said
    called = [f"line '{line.name}'" for line in lines]
    found = faces(outline, placed, tolerance=TOLERANCE_MM, names=called, fragment=FRAGMENT_MM, holes=holes)
    check_hems(piece, found, lines)
    check_points(found, lines)
    rings = [
        [_items(piece, parts, lines, allowance_mm, allowance_text) for parts in (face.parts, *face.holes)]
        for face in found
    ]
    rows = [[item for ring in child for item in ring] for child in rings]
    names = [f"{piece.name} {k + 1}" for k in range(len(found))]
    homes: dict[_NewEdge, list[tuple[int, int]]] = {}
    for k, row in enumerate(rows):
        for n, (_, source) in enumerate(row):
            if isinstance(source, _NewEdge):
                homes.setdefault(source, []).append((k, n))
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
                mate = next((f"{names[i]}:{labels[i][m]}" for i, m in homes[source] if (i, m) != (k, n)), "")
            edges.append(edge if (label, mate) == (edge.name, edge.mate) else replace(edge, name=label, mate=mate))
        known = [o.child_edge for o in own]
        inherited, lost = inherited_notches(piece, own, known)
        outlines = face.rings
        clipped, divided = inherited_marks(piece, outlines)
        notes += [f"A notch on {name} lies where the cut is and is left out." for name in lost]
        notes += [f"{name} is crossed by a line and divided." for name in divided]
        origins += own
        first, *inner = _regrouped(edges, [len(ring) for ring in rings[k]])
        children.append(
            replace(
                piece,
                name=names[k],
                edges=first,
                holes=tuple(inner),
                notches=(*inherited, *marks[k]),
                marks=clipped,
                darts=inherited_darts(piece, own, known),
                grainline=grainline_in(outlines, piece.grainline),
                how=_how(piece, edges),
                parent=piece.name,
            )
        )
    result = tuple(children)
    return CutResult(result, prove(piece, result, contained=contained), tuple(dict.fromkeys(notes)), tuple(origins))


def _items(
    piece: Piece, parts: Sequence[FacePart], lines: Sequence[CutLine], allowance_mm: float, allowance_text: str
) -> list[_Item]:
    """Edges of one ring of a child in order, before names are made unique and mates are known."""
    row: list[_Item] = []
    for k, part in enumerate(parts):
        if part.source < 0:
            row += inherited_edges(piece.rings[-1 - part.source], part, _cut_by(parts, k, lines))
            continue
        line = lines[part.source]
        edge = Edge(line.name, part.path, EdgeKind.SEAM, allowance_mm, allowance_text, line_id=line.id)
        row.append((edge, _NewEdge(part.source, part.from_distance)))
    alone = {ring[0].name for ring in piece.rings if len(ring) == 1}
    k = 0
    while len(row) > 1 and k < len(row):
        # A ring of one closed edge is broken at that edge's start, which is no corner of the child.
        (a, from_a), (b, from_b) = row[k - 1], row[k]
        if isinstance(from_a, Origin) and isinstance(from_b, Origin) and from_a.edge == from_b.edge in alone:
            joined = replace(a, path=paths.joined([a.path, b.path]), end_name=b.end_name)
            row[k - 1] = (joined, replace(from_a, to_mm=from_a.to_mm + from_b.to_mm - from_b.from_mm))
            del row[k]
        else:
            k += 1
    return row


def _cut_by(parts: Sequence[FacePart], k: int, lines: Sequence[CutLine]) -> tuple[str, str]:
    """Names of the lines that cut an outline part of a face at its start and at its end; empty where none did."""
    beside = (parts[n % len(parts)].source for n in (k - 1, k + 1))
    start, end = (lines[source].name if source >= 0 else "" for source in beside)
    return start, end


def _regrouped(edges: Sequence[Edge], sizes: Sequence[int]) -> list[tuple[Edge, ...]]:
    """Edges of a child, one after the other, as its rings, with their corners chosen."""
    out, at = [], 0
    for size in sizes:
        out.append(_with_corners(tuple(edges[at : at + size])))
        at += size
    return out


def _unique_names(names: Sequence[str]) -> list[str]:
    seen: dict[str, int] = {}
    out = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        out.append(name if seen[name] == 1 else f"{name} {seen[name]}")
    return out


def _new_notches(
    rows: list[list[_Item]], homes: dict[_NewEdge, list[tuple[int, int]]], labels: list[list[str]], piece: Piece
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
            corner = Corner.MIRRORED if at_hem else Corner.MITRE
            edge = edge if edge.corner is corner else replace(edge, corner=corner)
        out.append(edge)
    return tuple(out)


def _how(piece: Piece, edges: Sequence[Edge]) -> HowToCut:
    if piece.how is HowToCut.ON_FOLD and not any(e.kind is EdgeKind.FOLD for e in edges):
        return HowToCut.PAIR
    return piece.how
