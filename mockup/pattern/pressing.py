"""The shape of an allowance's ends by what becomes of the seam: pressed open, to one side, turned back as a hem."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum

from mockup.pattern.piece import Corner, Edge, EdgeKind, Piece
from mockup.pattern.proof import Proof, containment
from swatches.errors import GeometryError


class Pressing(StrEnum):
    """What becomes of a seam's allowances."""

    OPEN = "open"
    ONE_SIDE = "one side"
    ENCLOSED = "enclosed"


_SHAPE = {
    # Folded back onto its own panel: the ends must be the mirror image of the panel's cut edge.
    Pressing.OPEN: Corner.MIRRORED,
    # Both lie on one panel, whose neighbouring cut edge runs straight on over the seam.
    Pressing.ONE_SIDE: Corner.MITRE,
    # Turned in completely, at a sharp corner: square to the seam, so that both allowances lie flat in it.
    Pressing.ENCLOSED: Corner.SQUARED,
}


def pressed(
    pieces: Sequence[Piece], pressing: Mapping[str, Pressing], default: Pressing = Pressing.ONE_SIDE
) -> tuple[tuple[Piece, ...], Proof]:
    """Shape the corners of a whole garment's style seams by what becomes of them, and prove the new cut outlines.

    Args:
        pieces: after the cut.
        pressing: style line id or name → what becomes of its seam.
        default: for seams that are not named.

    Raises:
        GeometryError: a name that no seam has, or a corner that cannot be drawn.
    """
    known = {name for p in pieces for e in p.all_edges if e.line_id for name in (e.line_id, e.name)}
    unknown = next((name for name in pressing if name not in known), None)
    if unknown is not None:
        raise GeometryError(
            "pressing",
            expected=f"a seam that a line made: {', '.join(sorted(known)) or 'there is none'}",
            got=unknown,
            next_step="Choose one of these",
        )
    shaped = tuple(with_pressing(piece, pressing, default) for piece in pieces)
    return shaped, Proof(0.0, 0.0, 0.0, tuple(containment(piece) for piece in shaped))


def with_pressing(piece: Piece, pressing: Mapping[str, Pressing], default: Pressing = Pressing.ONE_SIDE) -> Piece:
    """Shape the corners at both ends of every seam that a style line made.

    Args:
        piece: the piece.
        pressing: style line id or edge name → what becomes of the seam.
        default: for seams that are not named.

    Returns:
        The piece with its corners set. A hem keeps its mirrored corners whatever the seam; corners between inherited
        edges stay as they are.
    """
    rings = [_shaped(ring, pressing, default) for ring in piece.rings]
    return replace(piece, edges=rings[0], holes=tuple(rings[1:]))


def _shaped(edges: tuple[Edge, ...], pressing: Mapping[str, Pressing], default: Pressing) -> tuple[Edge, ...]:
    out = []
    for k, edge in enumerate(edges):
        before = edges[k - 1]
        hems = EdgeKind.HEM in (edge.kind, before.kind)
        seam = _seam(edge, before)
        if seam is None or hems or EdgeKind.FOLD in (edge.kind, before.kind):
            out.append(edge)
            continue
        what = pressing.get(seam.line_id, pressing.get(seam.name, default))
        out.append(replace(edge, corner=_SHAPE[what]))
    return tuple(out)


def _seam(edge: Edge, before: Edge) -> Edge | None:
    """The style line's seam at a corner; where two meet, the one that starts there."""
    if edge.line_id:
        return edge
    return before if before.line_id else None
