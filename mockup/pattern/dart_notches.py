"""Darts as notches of the outline, and back: a pattern may be drawn either way, and a line may end in a dart's tip."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.ruler import Ruler, length_of
from mockup.pattern.dart_pressing import pressed_leg
from mockup.pattern.darts import LEGS_MM, cap_over, end_of, located, openings
from mockup.pattern.piece import Dart, Edge, Notch, Piece

_LEGS = (", first leg", ", second leg")


def dart_of_leg(edge: Edge) -> str:
    """The dart that an edge is a leg of, where a line was drawn into its tip; otherwise empty."""
    name, comma, leg = edge.name.rpartition(", ")
    return name if comma + leg in _LEGS else ""


def gathered(piece: Piece) -> Piece:
    """Give a piece whose darts are drawn as notches of its outline the same darts as records, with caps drawn.

    A notch is two edges after each other that are each other's mates, or whose names begin with 'dart', between two
    parts of one edge ('side', 'side 2'). The piece itself where it has none.
    """
    k = next((k for k in range(len(piece.edges)) if _is_notch(piece, k)), None)
    if k is None:
        return piece
    n = len(piece.edges)
    before, one, two, after = (piece.edges[(k + m) % n] for m in range(-1, 3))
    size = length_of(before.path)
    onto = pressed_leg(piece, one.path.end, (before.path.end, after.path.start))
    across = cap_over(before.path, after.path, one.path.end, onto)
    width = length_of(across)
    whole = replace(
        before,
        path=paths.joined([before.path, across, after.path]),
        end_name=after.end_name,
        mate=before.mate or after.mate,
    )
    name = one.name if one.name.startswith("dart") else "dart"
    names = {before.name: 0.0, after.name: size + width}
    tip = (float(one.path.end[0]), float(one.path.end[1]))
    gone = {one.name, two.name, before.name, after.name}
    order = [piece.edges[(k + m) % n] for m in range(2, n - 1)]
    edges = (whole, *(e for e in order if e.name not in gone))
    moved = piece.with_(
        edges=edges,
        notches=tuple(_renamed(m, names, before.name) for m in piece.notches if m.edge not in (one.name, two.name)),
        darts=(
            *(
                replace(d, edge=before.name, from_mm=d.from_mm + names[d.edge], to_mm=d.to_mm + names[d.edge])
                if d.edge in names
                else d
                for d in piece.darts
            ),
            Dart(_free(name, piece), before.name, size, size + width, tip),
        ),
    )
    return gathered(moved)


def as_notch(piece: Piece, dart: Dart, allowance_mm: float, allowance_text: str) -> Piece:
    """Give the piece with a dart's legs as edges of its outline: for a line that runs on into its tip."""
    edge = piece.edge(dart.edge)
    ruler = Ruler(edge.path)
    first, second = located(ruler, dart.from_mm), located(ruler, dart.to_mm)
    ends, tip = openings(piece, dart), np.array(dart.tip)
    names = [dart.name + leg for leg in _LEGS]
    legs = [
        Edge(
            names[m],
            paths.polyline(line),
            allowance_mm=allowance_mm,
            allowance_text=allowance_text,
            mate=f"{piece.name}:{names[1 - m]}",
        )
        for m, line in enumerate(([ends[0], tip], [tip, ends[1]]))
    ]
    rest = _free_edge(edge.name, piece)
    before = replace(edge, path=paths.sub_path(edge.path, (0, 0.0), first), end_name="")
    after = replace(edge, name=rest, path=paths.sub_path(edge.path, second, end_of(edge.path)), start_name="")
    k = piece.edges.index(edge)
    return piece.with_(
        edges=(*piece.edges[:k], before, *legs, after, *piece.edges[k + 1 :]),
        notches=tuple(
            n
            if n.edge != edge.name or n.distance_mm <= dart.from_mm
            else replace(n, edge=rest, distance_mm=n.distance_mm - dart.to_mm)
            for n in piece.notches
            if n.edge != edge.name or not dart.from_mm < n.distance_mm < dart.to_mm
        ),
        darts=tuple(
            d
            if d.edge != edge.name or d.from_mm < dart.from_mm
            else replace(d, edge=rest, from_mm=d.from_mm - dart.to_mm, to_mm=d.to_mm - dart.to_mm)
            for d in piece.darts
            if d is not dart
        ),
    )


def _is_notch(piece: Piece, k: int) -> bool:
    n = len(piece.edges)
    if n < 5:
        return False
    before, one, two, after = (piece.edges[(k + m) % n] for m in range(-1, 3))
    paired = f"{piece.name}:{two.name}" == one.mate or (one.name.startswith("dart") and two.name.startswith("dart"))
    if not paired or not (paths.is_straight(one.path).all() and paths.is_straight(two.path).all()):
        return False
    alike = (before.kind, before.allowance_mm) == (after.kind, after.allowance_mm)
    legs = abs(length_of(one.path) - length_of(two.path)) <= LEGS_MM
    return alike and legs and _plain(before.name) == _plain(after.name)


def _plain(name: str) -> str:
    head, _, tail = name.rpartition(" ")
    return head if head and tail.isdigit() else name


def _renamed(notch: Notch, starts: dict[str, float], name: str) -> Notch:
    return (
        replace(notch, edge=name, distance_mm=notch.distance_mm + starts[notch.edge]) if notch.edge in starts else notch
    )


def _free(name: str, piece: Piece) -> str:
    taken = {d.name for d in piece.darts}
    return name if name not in taken else next(f"{name} {n}" for n in range(2, 99) if f"{name} {n}" not in taken)


def _free_edge(name: str, piece: Piece) -> str:
    taken = {e.name for e in piece.all_edges}
    return next(f"{_plain(name)} {n}" for n in range(2, 999) if f"{_plain(name)} {n}" not in taken)
