"""A pair that is not cut alike: two single pieces, right side up, and which side of the wearer the drawn one is."""

from __future__ import annotations

from dataclasses import replace

import shapely

from mockup.geometry import path as paths
from mockup.pattern.piece import Edge, HowToCut, Piece, mirrored


def two_singles(piece: Piece, side: str, fabric: str, other_fabric: str) -> list[Piece]:
    """Make two single pieces of a pair: as drawn for one side of the wearer, mirrored for the other."""
    other = "right" if side == "left" else "left"
    single = replace(piece, how=HowToCut.SINGLE, right_side_up=True)
    return [
        replace(single, name=f"{piece.name}, {side}", side=side, fabric=fabric),
        replace(mirrored(single, middle_of(piece)), name=f"{piece.name}, {other}", side=other, fabric=other_fabric),
    ]


def middle_of(piece: Piece) -> float:
    """The upright line about which one of two is mirrored: the middle of the piece as it is drawn, mm."""
    x0, _, x1, _ = paths.bounds(piece.outline)
    return (x0 + x1) / 2


def drawn_side(piece: Piece) -> str | None:
    """The wearer's side that one of a pair is, as it is drawn, right side up; None when nothing tells.

    Seen from outside, a left sleeve has its front edge on the looker's left. Run counter-clockwise with the cap above,
    the cap's back then comes before its front.
    """
    if piece.side:
        return piece.side
    caps = [_front_or_back(e) for e in piece.edges if e.name.startswith("cap")]
    if caps in (["front", "back"], ["back", "front"]):
        k = next(n for n, e in enumerate(piece.edges) if e.name.startswith("cap"))
        wraps = k == 0 and piece.edges[-1].name.startswith("cap")
        order = caps[::-1] if wraps else caps
        return "right" if order == ["front", "back"] else "left"
    return None


def own_mirror_image(piece: Piece) -> bool:
    """Whether a piece is the same on both sides, to half a percent of its area: then left and right do not matter."""
    x0, _, x1, _ = paths.bounds(piece.outline)
    drawn, twin = (
        shapely.Polygon(paths.flatten(p.outline, 0.1).points) for p in (piece, mirrored(piece, (x0 + x1) / 2))
    )
    return bool(shapely.area(shapely.symmetric_difference(drawn, twin)) < 0.005 * shapely.area(drawn))


def _front_or_back(edge: Edge) -> str:
    for word in ("front", "back"):
        if edge.name.endswith(f"-{word}") or edge.mate.startswith(f"{word}"):
            return word
    return ""
