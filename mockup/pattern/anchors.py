"""Where a line's end is on a piece: at its typed distance from a landmark, along the piece's own stitch line."""

from __future__ import annotations

import numpy as np

from mockup.geometry.path import Floats
from mockup.geometry.ruler import Ruler
from mockup.pattern.darts import drawn_at, sewn_length
from mockup.pattern.piece import Edge, EdgeKind, Piece
from mockup.pattern.view_half import CENTRE, base_name
from mockup.split.split import Anchor
from mockup.split.words import edge_said, room_said
from swatches.errors import GeometryError


def ring_name(edge: Edge) -> str:
    """Name of a piece's edge when rings of edges are matched: the fold, and a seam in its place, is the centre."""
    return CENTRE if edge.kind is EdgeKind.FOLD or edge.name.startswith("centre-") else edge.name


def anchored(anchor: Anchor, side: str | None, piece: Piece, what: str) -> Floats:
    """Point of a piece at a typed distance along the stitch line of an edge, shape (2,).

    Raises:
        GeometryError: no such edge or landmark on the piece, or the distance is longer than the edge.
    """
    edge = _find_edge(anchor.edge, side, piece)
    if edge is None:
        if anchor.edge.startswith("centre-"):
            return _on_unfolded_centre(anchor, piece, what)
        raise GeometryError(
            what,
            expected=f"an edge '{anchor.edge}' on {piece.name}",
            got=", ".join(e.name for e in piece.edges),
            next_step="Name the piece's edges like the picture's",
        )
    ruler = Ruler(edge.path)
    total = sewn_length(piece, edge.name)  # distances are counted with the darts closed
    from_start = _from_start(anchor, edge, side, piece)
    at = total / 2 if anchor.start.endswith("-centre") and edge.start_name == edge.end_name else None
    if at is not None and not any(ring_name(e) == CENTRE for e in piece.edges):
        forward = _runs_to(edge, side, piece)
        room, distance = total / 2, at + anchor.distance_mm if forward else at - anchor.distance_mm
    else:
        room = total
        distance = anchor.distance_mm if from_start else total - anchor.distance_mm
    if not -1e-9 <= anchor.distance_mm <= room + 1e-6:
        raise GeometryError(
            what,
            expected=f"{room_said(room)} along the {edge_said(anchor.edge)} of {piece.name}",
            got=f"{anchor.distance_mm:g} mm from the {anchor.start}",
            next_step="Type a shorter distance",
        )
    return ruler.point(drawn_at(piece, edge.name, distance))


def _find_edge(name: str, side: str | None, piece: Piece) -> Edge | None:
    wanted = (f"{name}-{side}", name) if side else (name,)
    for w in wanted:
        for edge in piece.edges:
            if edge.name == w or (name.startswith("centre-") and ring_name(edge) == CENTRE):
                return edge
    return None


def _from_start(anchor: Anchor, edge: Edge, side: str | None, piece: Piece) -> bool:
    """Whether a distance counts from the edge's first point."""
    if edge.start_name != edge.end_name and anchor.start in (edge.start_name, edge.end_name):
        return anchor.start == edge.start_name
    k = piece.edges.index(edge)
    before, after = piece.edges[k - 1], piece.edges[(k + 1) % len(piece.edges)]
    if anchor.start.endswith("-centre"):
        return ring_name(before) == CENTRE
    if edge.start_name == edge.end_name == anchor.start:
        # Neck and hem have one landmark's name at both ends: on a half it is the end away from the fold.
        if ring_name(after) == CENTRE:
            return True
        if ring_name(before) == CENTRE:
            return False
        return not _runs_to(edge, side, piece)
    # No landmark names: the corner with the edge that the landmark is the other end of.
    return anchor.start in _landmarks_of(before) or anchor.start not in _landmarks_of(after)


_USUAL = {
    "side": ("underarm", "waist", "hem"),
    "armhole": ("shoulder", "underarm"),
    "shoulder": ("neck", "shoulder"),
    "neck": ("neck",),
    "waist": ("waist",),
    "hem": ("hem",),
    CENTRE: ("neck", "hem"),
}


def _landmarks_of(edge: Edge) -> tuple[str, ...]:
    return _USUAL.get(base_name(ring_name(edge)), ())


def _runs_to(edge: Edge, side: str | None, piece: Piece) -> bool:
    """Whether an edge with both ends alike runs towards the wearer's ``side``."""
    after = piece.edges[(piece.edges.index(edge) + 1) % len(piece.edges)]
    return side is None or after.name.endswith(f"-{side}")


def _on_unfolded_centre(anchor: Anchor, piece: Piece, what: str) -> Floats:
    """Point on the middle of an unfolded piece: between the middles of its neck, or a skirt's waist, and its hem."""
    ends = {}
    top = "waist" if _find_edge("neck", None, piece) is None and _find_edge("waist", None, piece) else "neck"
    for name in (top, "hem"):
        edge = _find_edge(name, None, piece)
        if edge is None:
            raise GeometryError(
                what,
                expected=f"an edge '{name}' on {piece.name}, to find its middle",
                got=", ".join(e.name for e in piece.edges),
                next_step="Name the piece's edges like the picture's",
            )
        ruler = Ruler(edge.path)
        ends[name] = ruler.point(ruler.total / 2)
    start, stop = (ends[top], ends["hem"]) if anchor.start != "hem" else (ends["hem"], ends[top])
    return np.asarray(start + (stop - start) * anchor.distance_mm / np.linalg.norm(stop - start))
