"""What the person says of pieces that were read: names, the fold, allowances, cut line or stitch line, a known length.

Every function gives new pieces; a place is written 'piece:edge', a piece alone 'piece'.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.ruler import length_of
from mockup.pattern.darts import with_dart
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece, moved
from mockup.pattern.take_off import take_off
from mockup.split.words import tenths
from swatches.errors import InputError
from swatches.units import Length

SAME = 0.01  # a known length and the file's agree within this share


@dataclass(frozen=True, slots=True)
class SaidDart:
    """A dart as a person measures it.

    Attributes:
        place: 'piece:edge' that it opens on.
        from_mm: where it begins along that stitch line, the darts before it closed.
        width_mm: how wide it opens there.
        depth_mm: how deep it is, straight in.
        name: empty: after the edge.
    """

    place: str
    from_mm: float
    width_mm: float
    depth_mm: float
    name: str = ""


_UNITS = {
    25.4: "inches",
    10.0: "centimetres",
    0.1: "tenths of a mm",
    1000.0: "metres",
    25.4 / 72: "points of 1/72 in",
    25.4 / 96: "pixels of 1/96 in",
    72 / 25.4: "mm where points were taken for mm",
    96 / 25.4: "mm where pixels were taken for mm",
    1 / 25.4: "mm where inches were said",
    96 / 72: "pixels of 1/96 in where points were said",
    72 / 96: "points where pixels were said",
}


def named(
    pieces: Sequence[Piece],
    names: Mapping[str, str],
    *,
    views: Mapping[str, str] | None = None,
    areas: Mapping[str, str] | None = None,
) -> tuple[Piece, ...]:
    """Give pieces and edges the person's names.

    Args:
        pieces: what was read.
        names: 'piece' or 'piece:edge' as read → new name.
        views: piece as read → view of the picture that it belongs to.
        areas: piece as read → area of that view.

    Raises:
        InputError: a place that is not there, or a name that is taken.
    """
    for place in [*names, *(views or {}), *(areas or {})]:
        found(pieces, place)
    out = []
    for piece in pieces:
        edges = tuple(replace(e, name=names.get(f"{piece.name}:{e.name}", e.name)) for e in piece.edges)
        renamed = {e.name: names.get(f"{piece.name}:{e.name}", e.name) for e in piece.edges}
        taken = [e.name for e in edges]
        twice = next((n for n in taken if taken.count(n) > 1), None)
        if twice is not None:
            raise _bad(f"edges of {piece.name}", "a name of its own for every edge", f"'{twice}' twice", "Change one")
        changed = piece.with_(
            name=names.get(piece.name, piece.name),
            edges=tuple(
                replace(e, kind=_kind(e)) if e.name != o.name else e for e, o in zip(edges, piece.edges, strict=True)
            ),
            notches=tuple(replace(n, edge=renamed.get(n.edge, n.edge)) for n in piece.notches),
            darts=tuple(replace(d, edge=renamed.get(d.edge, d.edge)) for d in piece.darts),
            view=(views or {}).get(piece.name, piece.view),
            area=(areas or {}).get(piece.name, piece.area),
        )
        out.append(changed)
    all_names = [p.name for p in out]
    twice = next((n for n in all_names if all_names.count(n) > 1), None)
    if twice is not None:
        raise _bad("pieces", "a name of its own for every piece", f"'{twice}' twice", "Change one of the names")
    return tuple(out)


def folded(pieces: Sequence[Piece], places: Sequence[str]) -> tuple[Piece, ...]:
    """Lay edges on the fold of the cloth: they are straight, not sewn, and their piece is cut on the fold.

    Raises:
        InputError: an edge that is not there, or is not straight to 1 mm.
    """
    wanted = {place: found(pieces, place) for place in places}
    out = []
    for piece in pieces:
        mine = [edge for owner, edge in wanted.values() if owner is piece and edge is not None]
        for edge in mine:
            chord = edge.path.end - edge.path.start
            points = paths.flatten(edge.path, 0.05).points - edge.path.start
            away = np.abs(points @ np.array([-chord[1], chord[0]])) / max(float(np.linalg.norm(chord)), 1e-9)
            if away.max() > 1.0:
                raise _bad(
                    f"fold {piece.name}:{edge.name}",
                    "a straight edge",
                    f"{tenths(float(away.max()))} of bend",
                    "Choose another",
                )
        edges = tuple(
            replace(e, kind=EdgeKind.FOLD, allowance_mm=0.0, allowance_text="", path=_straight(e)) if e in mine else e
            for e in piece.edges
        )
        out.append(piece.with_(edges=edges, how=HowToCut.ON_FOLD) if mine else piece)
    return tuple(out)


def darted(pieces: Sequence[Piece], darts: Sequence[SaidDart]) -> tuple[Piece, ...]:
    """Put darts on edges, their caps drawn anew.

    Raises:
        InputError: an edge that is not there.
        GeometryError: an opening that does not fit on its edge.
    """
    out = list(pieces)
    for dart in darts:
        _, edge = found(out, dart.place)
        if edge is None:
            raise _bad("dart", "piece:edge", dart.place, "Name the edge that it opens on")
        k = next(n for n, p in enumerate(out) if any(e is edge for e in p.edges))
        name = dart.name or f"{edge.name} dart"
        out[k] = with_dart(out[k], name, edge.name, dart.from_mm, dart.width_mm, dart.depth_mm)
    return tuple(out)


def with_allowances(
    pieces: Sequence[Piece],
    line_is: str,
    common: Length | None,
    each: Mapping[str, Length],
    *,
    sewn: Sequence[str] = (),
) -> tuple[Piece, ...]:
    """Say what the drawn outline is, and how wide the allowances are.

    Args:
        pieces: what was read.
        line_is: 'stitch': the outline is sewn on, the allowances are put on outside it; 'cut': the outline is cut,
            and the stitch line lies inside it by the allowances.
        common: allowance of every edge that is not named in ``each`` and carries none yet; None: none.
        each: 'piece:edge' → its allowance.
        sewn: names of pieces that lie on their stitch line whatever the others do: their file draws both lines.

    Returns:
        The pieces on their stitch lines. The unit that was typed stays with each edge.

    Raises:
        InputError: an edge that is not there.
        GeometryError: an allowance that cannot be taken off.
    """
    for place in each:
        found(pieces, place)
    out = []
    for piece in pieces:
        edges = []
        for edge in piece.edges:
            typed = each.get(f"{piece.name}:{edge.name}", common if edge.allowance_mm == 0 else None)
            if edge.kind is EdgeKind.FOLD or typed is None:
                edges.append(edge)
                continue
            text = "" if typed.unit == "mm" else str(typed)
            kind = edge.kind if edge.kind is not EdgeKind.CUT else _kind(edge)
            edges.append(replace(edge, kind=kind, allowance_mm=typed.mm, allowance_text=text))
        changed = piece.with_(edges=tuple(edges))
        out.append(take_off(changed) if line_is == "cut" and piece.name not in sewn else changed)
    return tuple(out)


def scaled(pieces: Sequence[Piece], factor: float, *, measured: Sequence[str] = ()) -> tuple[Piece, ...]:
    """Give the pieces with all lengths times a factor; allowances stay as they were typed.

    Args:
        pieces: what was read.
        factor: above 0.
        measured: names of pieces whose allowances were measured in the file, and grow with it.
    """
    if factor == 1.0:
        return tuple(pieces)
    pieces = [_wider(p, factor) if p.name in measured else p for p in pieces]
    grow = np.array([[factor, 0.0, 0.0], [0.0, factor, 0.0]])
    return tuple(
        moved(p, grow).with_(
            notches=tuple(replace(n, distance_mm=n.distance_mm * factor) for n in p.notches),
            darts=tuple(replace(d, from_mm=d.from_mm * factor, to_mm=d.to_mm * factor) for d in moved(p, grow).darts),
        )
        for p in pieces
    )


def _wider(piece: Piece, factor: float) -> Piece:
    return piece.with_(
        edges=tuple(replace(e, allowance_mm=e.allowance_mm * factor, allowance_text="") for e in piece.edges)
    )


def confirmed(
    pieces: Sequence[Piece], place: str, known: Length, *, measured: Sequence[str] = ()
) -> tuple[tuple[Piece, ...], str]:
    """Hold the file's unit against a length that the person knows.

    Args:
        pieces: what was read.
        place: 'piece:edge' for the length of an edge, 'piece' for the longer side of a piece.
        known: what it measures.
        measured: names of pieces whose allowances were measured in the file.

    Returns:
        The pieces, at another scale where the file was in another unit or was not printed true, and one sentence.

    Raises:
        InputError: the place is not there, or the two differ so much that neither can be believed.
    """
    piece, edge = found(pieces, place)
    x0, y0, x1, y1 = paths.bounds(piece.outline)
    there = length_of(edge.path) if edge is not None else max(x1 - x0, y1 - y0)
    ratio = known.mm / there
    if abs(ratio - 1) <= SAME:
        return tuple(pieces), f"Confirmed: {place} measures {tenths(there)} in the file, {known} by your word."
    for unit, words in _UNITS.items():
        if abs(ratio / unit - 1) <= SAME:
            grown = scaled(pieces, unit, measured=measured)
            return grown, f"The file counts in {words}: everything was taken {unit:.4g} times as large."
    if 0.85 <= ratio <= 1.18:
        more = "larger" if ratio > 1 else "smaller"
        return scaled(pieces, ratio, measured=measured), (
            f"{place} measures {tenths(there)} in the file and {known} by your word, so everything was made "
            f"{100 * abs(ratio - 1):.1f} % {more}: measure a second length before cutting."
        )
    raise _bad(
        f"known length of {place}", f"about {there:.0f} mm, as the file has it", str(known), "Check place and unit"
    )


def found(pieces: Sequence[Piece], place: str) -> tuple[Piece, Edge | None]:
    """Find 'piece' or 'piece:edge'.

    Raises:
        InputError: it is not there; the sentence names what is.
    """
    for piece in pieces:
        if piece.name == place:
            return piece, None
    name, colon, wanted = place.rpartition(":")
    for piece in pieces:
        if colon and piece.name == name:
            for edge in piece.edges:
                if edge.name == wanted:
                    return piece, edge
            listed = ", ".join(e.name for e in piece.edges)
            raise _bad(f"edge of {piece.name}", f"one of {listed}", repr(wanted), "Name one of them")
    raise _bad("piece", "one of " + ", ".join(p.name for p in pieces), repr(place), "Name one of them")


def _kind(edge: Edge) -> EdgeKind:
    """What a plain outline's edge is by its new name: a hem, or a seam."""
    if edge.kind is not EdgeKind.CUT:
        return edge.kind
    return EdgeKind.HEM if edge.name.split("-")[0] == "hem" else EdgeKind.SEAM


def _straight(edge: Edge) -> paths.Path:
    return paths.polyline([edge.path.start, edge.path.end])


def _bad(what: str, expected: str, got: str, next_step: str) -> InputError:
    return InputError(what, expected=expected, got=got, next_step=next_step)
