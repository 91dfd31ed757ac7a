"""Which way a dart is pressed when it is sewn: level ones down, upright ones toward the centre.

That is common practice, no source. The cap across the opening is drawn for that side, so that the pressed cloth reaches
into the seam and no farther.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from mockup.geometry.path import Floats
from mockup.geometry.ruler import flat_of
from mockup.pattern.piece import EdgeKind, Piece

_SQUARE = 0.94  # of a grainline's length along one axis of the sheet: within 20° of it; a bias piece is drawn upright


def lies_level(piece: Piece, tip: Floats, ends: tuple[Floats, Floats]) -> bool:
    """Whether a dart points more to the side than up or down, as a bust or an elbow dart does."""
    axis, up = (ends[0] + ends[1]) / 2 - tip, _up(piece)
    return bool(abs(axis @ up) < abs(axis[0] * up[1] - axis[1] * up[0]))


def pressed_leg(piece: Piece, tip: Floats, ends: tuple[Floats, Floats]) -> int:
    """On which leg's side the folded cloth lies: 0 the leg that comes first along the edge, 1 the second.

    Args:
        piece: the piece; its hem tells which way is down, its fold or an edge 'centre…' where the centre is.
        tip: of the dart.
        ends: of its legs on the edge.
    """
    up = _up(piece)
    if lies_level(piece, tip, ends):
        return int(ends[1] @ up < ends[0] @ up)
    across = np.array([up[1], -up[0]])
    centre = _centre(piece, across)
    return int(abs(ends[1] @ across - centre) < abs(ends[0] @ across - centre))


@lru_cache(maxsize=64)
def _up(piece: Piece) -> Floats:
    """Which way is up on a piece: along its grainline, away from its hem where it has one."""
    way = np.array([0.0, 1.0])
    if piece.grainline is not None:
        grain = np.subtract(piece.grainline[1], piece.grainline[0])
        grain = grain / np.linalg.norm(grain)
        if np.abs(grain).max() > _SQUARE:
            way = grain if grain[1] > -_SQUARE else -grain
    hems = [flat_of(e.path, 0.5).points for e in piece.edges if e.kind is EdgeKind.HEM]
    if hems:
        away = flat_of(piece.outline, 0.5).points.mean(axis=0) - np.concatenate(hems).mean(axis=0)
        way = way if away @ way >= 0 else -way
    return way


def _centre(piece: Piece, across: Floats) -> float:
    """Where the garment's centre is, along a direction: the fold, or a centre seam, or the middle of a whole piece."""
    lines = [e.path for e in piece.edges if e.kind is EdgeKind.FOLD or e.name.startswith("centre")]
    along = np.concatenate([flat_of(p, 0.5).points for p in lines or [piece.outline]]) @ across
    return float(along.max() + along.min()) / 2
