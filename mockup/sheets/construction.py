"""The order of construction of a cut garment, as sentences: style seams flat first, then the garment's own seams.

Common practice, no source: new seams are sewn while the parts are flat, then shoulders, sleeves, sides, hems;
allowances are pressed toward the darker cloth, and where two seams cross they lie to opposite sides, so that they nest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from mockup.files.words import title
from mockup.geometry import path as paths
from mockup.pattern.piece import Edge, EdgeKind, Piece

_ORDER = ("shoulder", "neck", "armhole", "underarm", "side")
_SAME = {"cap": "armhole", "sleeve": "armhole"}  # one seam, named from either piece
_CURVED_DEG = 25.0  # a seam that turns by more is eased by clipping (our own choice)
CLIP = "every 10 to 12 mm (3/8 to 1/2 in)"  # published handouts agree on ¼ to ½ in


@dataclass(frozen=True, slots=True)
class Seam:
    """Two edges that are sewn together: names of the pieces, of the edges, and what it needs.

    Attributes:
        first: name of one piece, with its number.
        second: name of the other piece; empty for a seam within one piece.
        edge: the edge's name.
        new: whether a style line made it.
        press: name of the piece toward which it is pressed, or empty: open.
        curved: whether it is staystitched and clipped.
    """

    first: str
    second: str
    edge: str
    new: bool
    press: str
    curved: bool


def seams(pieces: Sequence[Piece], lightness: Mapping[str, float] | None = None) -> tuple[Seam, ...]:
    """List the seams in the order in which they are sewn.

    Args:
        pieces: of one garment, with mates.
        lightness: fabric id → L* of its colour; without it, or between cloths that are equally dark, seams are pressed
            open.
    """
    place = {f"{p.name}:{e.name}": (i, k) for i, p in enumerate(pieces) for k, e in enumerate(p.edges)}
    seen: set[frozenset[tuple[int, int]]] = set()
    found: list[tuple[tuple[int, int, int], Seam]] = []
    for i, piece in enumerate(pieces):
        for k, edge in enumerate(piece.edges):
            mate = place.get(edge.mate)
            if mate is None or edge.kind is EdgeKind.FOLD or frozenset({(i, k), mate}) in seen:
                continue
            seen.add(frozenset({(i, k), mate}))
            other = pieces[mate[0]]
            new = bool(edge.line_id)
            press = _darker(piece, other, lightness or {}) if new else ""
            seam = Seam(named(piece), "" if other is piece else named(other), edge.name, new, press, _curved(edge))
            kind = _kind(edge.name)
            rank = -1 if new else _ORDER.index(kind) if kind in _ORDER else len(_ORDER)
            found.append(((rank, i, k), seam))
    return tuple(seam for _, seam in sorted(found, key=lambda f: f[0]))


def construction(pieces: Sequence[Piece], lightness: Mapping[str, float] | None = None) -> tuple[str, ...]:
    """Give the order of construction as numbered sentences without their numbers."""
    listed = seams(pieces, lightness)
    steps = []
    new = [s for s in listed if s.new]
    if any(s.curved for s in listed):
        steps.append(f"Staystitch the curved edges inside their allowance. After sewing, clip inward curves {CLIP}.")
    for s in new:
        press = f"Press the allowances toward {s.press}, the darker cloth" if s.press else "Press the allowances open"
        steps.append(f"{_sewn(s)}, while the parts are flat. {press}; where several layers meet, trim them in steps.")
    if len(new) > 1:
        steps.append(
            "Where two new seams cross, press one up and one down, so that they nest; this comes before colour."
        )
    rest: dict[str, list[Seam]] = {}
    for s in listed:
        if not s.new:
            rest.setdefault(_kind(s.edge), []).append(s)
    for name, group in rest.items():
        pairs = "; ".join(f"{s.first} to {s.second}" if s.second else f"{s.first} to itself" for s in group)
        steps.append(f"Sew the {name} seams: {pairs}. New seams that end there must meet: pin them first.")
    if any(e.kind is EdgeKind.HEM for p in pieces for e in p.edges):
        steps.append("Turn up the hems last.")
    return tuple(steps)


def named(piece: Piece) -> str:
    """A piece's number and name: '3 front hem band'."""
    return f"{piece.number} {title(piece)}" if piece.number else title(piece)


def _kind(edge: str) -> str:
    """The seam's common name: 'cap-front' and 'armhole' are one seam."""
    word = edge.split("-")[0]
    return _SAME.get(word, word)


def _sewn(seam: Seam) -> str:
    return f"Sew {seam.first} to {seam.second} along the {seam.edge}" if seam.second else f"Sew the {seam.edge}"


def _darker(one: Piece, other: Piece, lightness: Mapping[str, float]) -> str:
    a, b = lightness.get(one.fabric), lightness.get(other.fabric)
    if a is None or b is None or abs(a - b) < 1.0:
        return ""
    return named(one if a < b else other)


def _curved(edge: Edge) -> bool:
    ways = [paths.tangent(edge.path, i, t) for i in range(len(edge.path)) for t in (0.0, 0.5, 1.0)]
    angles = np.unwrap([float(np.arctan2(w[1], w[0])) for w in ways])
    return bool(np.degrees(np.ptp(angles)) > _CURVED_DEG)
