"""The edges of a joined piece and what lies on them: two rows of edges, end to end."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.offset import turn
from mockup.geometry.ruler import length_of
from mockup.pattern.piece import Dart, Edge, EdgeKind, Notch, Piece


@dataclass(slots=True)
class Part:
    """An edge of the result, and the former edges along it: (side, name there, where on it that begins)."""

    side: str
    edge: Edge
    former: list[tuple[str, str, float]]
    at_joint: bool = False


def merged(own: list[Edge], other: list[Edge], one_parent: bool) -> list[Part]:
    """The result's edges in order; two that meet at an end of the former seam become one where they were one before."""
    ring = [Part("first", e, [("first", e.name, 0.0)]) for e in own]
    ring += [Part("second", e, [("second", e.name, 0.0)]) for e in other]
    ring[0].at_joint = ring[len(own)].at_joint = True
    out: list[Part] = []
    for part in ring:
        if out and part.at_joint and _were_one(out[-1].edge, part.edge, one_parent):
            out[-1] = _one(out[-1], part)
        else:
            out.append(part)
    if len(out) > 1 and out[0].at_joint and _were_one(out[-1].edge, out[0].edge, one_parent):
        out[0] = _one(out.pop(), out[0])
    return out


def _one(before: Part, after: Part) -> Part:
    size = length_of(before.edge.path)
    edge = replace(
        before.edge,
        path=paths.joined([before.edge.path, after.edge.path]),
        end_name=after.edge.end_name,
        mate=before.edge.mate or after.edge.mate,
    )
    former = [*before.former, *((side, name, d + size) for side, name, d in after.former)]
    return Part(before.side, edge, former, before.at_joint)


def bend(before: Edge, after: Edge) -> float:
    """Degrees by which the second edge turns from the first where they meet."""
    ta = paths.tangent(before.path, len(before.path) - 1, 1.0)
    return float(np.degrees(turn(ta, paths.tangent(after.path, 0, 0.0))))


def _were_one(before: Edge, after: Edge, one_parent: bool) -> bool:
    """Parts of one edge that a line had cut: same name and kind, of one parent, and going straight on."""
    if before is after or abs(bend(before, after)) > 0.1:
        return False
    if before.kind is EdgeKind.FOLD and after.kind is EdgeKind.FOLD:
        return True
    return one_parent and before.kind is after.kind and plain(before.name) == plain(after.name)


def plain(name: str) -> str:
    """An edge's name without its count."""
    head, _, tail = name.rpartition(" ")
    return head if head and tail.isdigit() else name


def edge_names(ring: list[Part], a: Piece, b: Piece) -> list[str]:
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


def kept_notches(ring: list[Part], names: list[str], a: Piece, b: Piece) -> list[Notch]:
    """Notches of both pieces on the result's outline."""
    kept = []
    for part, name in zip(ring, names, strict=True):
        for side, old, start in part.former:
            piece = a if side == "first" else b
            kept += [replace(n, edge=name, distance_mm=n.distance_mm + start) for n in piece.notches if n.edge == old]
    return kept


def hole_notches(holes: tuple[tuple[Edge, ...], ...], a: Piece, b: Piece) -> list[Notch]:
    """Notches on the holes of both pieces."""
    now = iter(e.name for hole in holes for e in hole)
    kept = []
    for piece in (a, b):
        for edge in (e for hole in piece.holes for e in hole):
            name = next(now)
            kept += [replace(n, edge=name) for n in piece.notches if n.edge == edge.name]
    return kept


def kept_darts(ring: list[Part], names: list[str], a: Piece, b: Piece) -> tuple[Dart, ...]:
    """Darts of both pieces on the result's outline."""
    kept: list[Dart] = []
    for part, name in zip(ring, names, strict=True):
        for side, old, start in part.former:
            for dart in (a if side == "first" else b).darts:
                if dart.edge == old:
                    title = dart.name if all(d.name != dart.name for d in kept) else f"{dart.name}, 2"
                    low, high = dart.from_mm + start, dart.to_mm + start
                    kept.append(replace(dart, name=title, edge=name, from_mm=low, to_mm=high))
    return tuple(kept)


def kept_holes(a: Piece, b: Piece, names: list[str]) -> tuple[tuple[Edge, ...], ...]:
    """The holes of both; an edge whose name is taken has a count."""
    taken = set(names)
    holes = []
    for hole in (*a.holes, *b.holes):
        edges = []
        for edge in hole:
            name, n = edge.name, 2
            while name in taken:
                name, n = f"{edge.name} {n}", n + 1
            taken.add(name)
            edges.append(replace(edge, name=name))
        holes.append(tuple(edges))
    return tuple(holes)


def renamed(ring: list[Part], names: list[str], a: Piece, b: Piece, joined: Piece) -> dict[str, str]:
    """'piece:edge' before → 'piece:edge' now."""
    found = {}
    for part, name in zip(ring, names, strict=True):
        for side, old, _ in part.former:
            found[f"{(a if side == 'first' else b).name}:{old}"] = f"{joined.name}:{name}"
    holes = [(p.name, e.name) for p in (a, b) for hole in p.holes for e in hole]
    now = [e.name for hole in joined.holes for e in hole]
    return found | {f"{piece}:{old}": f"{joined.name}:{new}" for (piece, old), new in zip(holes, now, strict=True)}
