"""Numbers, names and which edge is sewn to which, after pieces were cut, renamed, or made two of."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from mockup.geometry.ruler import length_of
from mockup.pattern.inherit import Origin
from mockup.pattern.piece import Edge, Piece
from mockup.pattern.view_half import base_name


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A finished piece and where it comes from.

    Attributes:
        piece: with its final name; mates still say the old ones.
        key: the name under which siblings know it.
        parent: the piece that it was cut from, or itself where it was not cut.
        origins: of its inherited edges.
    """

    piece: Piece
    key: str
    parent: Piece
    origins: tuple[Origin, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """An edge of a finished piece as a stretch of an edge of an original piece, counted from one named landmark."""

    made: Made
    edge: Edge
    low: float
    high: float


def with_mates(made: Sequence[Made]) -> tuple[Piece, ...]:
    """Give the pieces with every mate's name brought up to date; a mate that is no more, or cut away, becomes empty.

    An inherited edge's mate may have been cut too: of its parts the one that lies along most of this edge is named,
    by distance from the landmark that both share, and on the same side of the wearer where there are two.
    """
    by_key: dict[str, list[Made]] = {}
    for m in made:
        by_key.setdefault(m.key, []).append(m)
    places: dict[tuple[str, str], list[_Place]] = {}
    for m in made:
        for origin in m.origins:
            edge = m.piece.edge(origin.child_edge)
            key = (m.parent.name, base_name(origin.edge))
            places.setdefault(key, []).append(_place(m, edge, origin))
    mates: dict[str, str] = {}
    for m in made:
        known = {o.child_edge: o for o in m.origins}
        for edge in m.piece.all_edges:
            mates[f"{m.piece.name}:{edge.name}"] = _resolved(m, edge, known.get(edge.name), by_key, places)
    _named_back(made, mates, places)
    out = []
    for m in made:
        rings = [tuple(replace(e, mate=mates[f"{m.piece.name}:{e.name}"]) for e in ring) for ring in m.piece.rings]
        out.append(replace(m.piece, edges=rings[0], holes=tuple(rings[1:])))
    return tuple(out)


def _named_back(made: Sequence[Made], mates: dict[str, str], places: dict[tuple[str, str], list[_Place]]) -> None:
    """Let every part of an edge that was cut name what is sewn to all of it, where it names nothing yet.

    So a facing that says 'front:neck' is walked against both parts of the neck, though the front says nothing of it.
    """
    for m in made:
        known = {o.child_edge: o for o in m.origins}
        for edge in m.piece.all_edges:
            if edge.name not in known or not edge.mate:
                continue
            name, _, other = edge.mate.partition(":")
            mine = _place(m, edge, known[edge.name])
            for place in places.get((name, base_name(other)), []):
                key = f"{place.made.piece.name}:{place.edge.name}"
                if min(mine.high, place.high) - max(mine.low, place.low) > 1e-6 and not mates[key]:
                    mates[key] = f"{m.piece.name}:{edge.name}"


def _place(m: Made, edge: Edge, origin: Origin) -> _Place:
    """Count from the landmark that comes first in the alphabet, whichever way the edge runs."""
    parent = m.parent.edge(origin.edge)
    if parent.start_name <= parent.end_name:
        return _Place(m, edge, origin.from_mm, origin.to_mm)
    size = length_of(parent.path)
    return _Place(m, edge, size - origin.to_mm, size - origin.from_mm)


def _resolved(
    m: Made,
    edge: Edge,
    origin: Origin | None,
    by_key: dict[str, list[Made]],
    places: dict[tuple[str, str], list[_Place]],
) -> str:
    if not edge.mate:
        return ""
    name, _, other = edge.mate.partition(":")
    if origin is None:
        found = [n for n in by_key.get(name, []) if any(e.name == other for e in n.piece.all_edges)]
        same = [n for n in found if n.piece.side == m.piece.side] or found
        return f"{same[0].piece.name}:{other}" if same else ""
    mine = _place(m, edge, origin)
    side = m.piece.side or _side(edge.name)
    best, most = "", 1e-6
    for place in places.get((name, base_name(other)), []):
        shared = min(mine.high, place.high) - max(mine.low, place.low)
        if side and side in (place.made.piece.side, _side(place.edge.name)):
            shared += 1e-3  # of two that match as well, the one on the same side
        if shared > most:
            best, most = f"{place.made.piece.name}:{place.edge.name}", shared
    return best


def _side(name: str) -> str:
    return name.rpartition("-")[2] if name.endswith(("-left", "-right")) else ""


def uniquely_numbered(made: list[Made], taken: Sequence[int]) -> list[Made]:
    """Number the pieces that share no panel, after the panels: one number for each, two singles of a pair together."""
    following = max([0, *taken]) + 1
    owner: dict[int, str] = {}
    fresh: dict[str, int] = {}
    out = []
    for m in made:
        number = m.piece.number
        base = m.piece.name.removesuffix(", left").removesuffix(", right")
        if number and owner.setdefault(number, m.key) != m.key and m.piece.area != "body":
            number = 0
        if not number:
            if base not in fresh:
                fresh[base], following = following, following + 1
            number = fresh[base]
        out.append(replace(m, piece=replace(m.piece, number=number)))
    return out


def uniquely_named(made: list[Made]) -> list[Made]:
    """Name the pieces apart: by the wearer's side where that tells them apart, else counted."""
    count: dict[str, int] = {}
    for m in made:
        count[m.piece.name] = count.get(m.piece.name, 0) + 1
    seen: dict[str, int] = {}
    out = []
    for m in made:
        name = m.piece.name
        if count[name] > 1:
            sided = f"{name}, {m.piece.side}" if m.piece.side else name
            seen[sided] = seen.get(sided, 0) + 1
            name = sided if m.piece.side and seen[sided] == 1 else f"{sided} {seen[sided]}"
        out.append(replace(m, piece=replace(m.piece, name=name)))
    return out


def in_finished_names(texts: Iterable[str], made: Sequence[Made]) -> list[str]:
    """Say the finished names of parts where sentences written during the cut have the parts' inner ones ('front 2').

    Args:
        texts: sentences.
        made: with their final names.
    """
    finished: dict[str, dict[str, None]] = {}
    for m in made:
        if m.key != m.parent.name:  # a piece that was not cut has no inner name
            finished.setdefault(m.key, {})[m.piece.name] = None
    if not finished:
        return list(texts)
    longest_first = sorted(finished, key=len, reverse=True)
    inner = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)")
    return [inner.sub(lambda found: " and ".join(finished[found[0]]), text) for text in texts]
