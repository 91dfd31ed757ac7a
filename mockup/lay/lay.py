"""The records of a lay, and what a placement means.

Pieces are here with their allowances, as cut: closed outlines in mm, y up. A placement means: mirror about the
outline's own y axis if ``mirrored``, turn counter-clockwise by ``angle`` degrees about (0, 0), move by (x, y).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.geometry.path import XY, Floats

TOUCH_MM = 1e-6
"""What is closer than this touches."""
MATCH_MM = 1e-3
"""Prints that meet within this are matched; it is what rounding in a file may cost."""


class Answer(StrEnum):
    """What a lay says."""

    YES = "yes"
    NO = "no"
    NOT_FOUND = "not found"


def all_lie(count: int, what: str = "piece") -> str:
    """How a proof begins: 'All 4 pieces lie', and of a single one 'The one piece lies'."""
    return f"The one {what} lies" if count == 1 else f"All {count} {what}s lie"


@dataclass(frozen=True, slots=True)
class Match:
    """Where a print must meet: the points of all pieces with the same ``group`` lie at the same place of the repeat.

    Attributes:
        group: the person's word for what meets: 'side seam'.
        at: the point, usually a notch on the stitch line, in the piece's own mm.
    """

    group: str
    at: XY


@dataclass(frozen=True, slots=True)
class LayPiece:
    """A piece to lay.

    Attributes:
        name: unique in its lay.
        outline: cut outline, closed without repeating the first point, mm.
        grain_deg: direction of its grainline, counter-clockwise from +y.
        turns: turns from the cloth's grain that are allowed, degrees; (0, 180) where the cloth has no one way.
        count: how many are needed.
        mirror: whether half of them are mirrored (of an odd number, the smaller half).
        fold: both ends of the edge that must lie on the fold of cloth that lies double; the outline is then one half.
        match: where its print must meet the others', or None.
        either: whether it may be turned over: only where both faces of the cloth are alike.
    """

    name: str
    outline: tuple[XY, ...]
    grain_deg: float = 0.0
    turns: tuple[float, ...] = (0.0, 180.0)
    count: int = 1
    mirror: bool = False
    fold: tuple[XY, XY] | None = None
    match: Match | None = None
    either: bool = False


@dataclass(frozen=True, slots=True)
class Scrap:
    """A piece of cloth to lay on.

    Attributes:
        name: unique in its lay.
        outline: usable outline, mm.
        holes: holes in it, mm.
        grain_deg: direction of the lengthwise grain, counter-clockwise from +y.
        nap: whether all pieces must point one way on it.
        flaws: stains, faded places and the like, mm: nothing may lie there, as on a hole.
        repeat_mm: repeat of its stripe or check across and along the grain, 0 where there is none; None: no matching.
        print_at: a point at which the repeat begins; needed only where pieces on several scraps are matched.
        folded: whether it lies double, with the fold along the left side of its box.
    """

    name: str
    outline: tuple[XY, ...]
    holes: tuple[tuple[XY, ...], ...] = ()
    grain_deg: float = 0.0
    nap: bool = False
    flaws: tuple[tuple[XY, ...], ...] = ()
    repeat_mm: tuple[float, float] | None = None
    print_at: XY | None = None
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one copy of a piece lies; see the module's first lines."""

    piece: str
    remnant: str
    mirrored: bool
    angle: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Lay:
    """An answer with its reason.

    Attributes:
        answer: yes, no or not found.
        proof: why, in one sentence: what was checked, or why it cannot be.
        placements: the lay; for 'not found' the best partial one.
        short_mm: for 'not found': by how much the outlines of the pieces that are left out would have to move inward,
            so that each of them fits on what the partial lay leaves; None where nothing is missing or nothing can be
            said.
        length_mm: length used along the grain, for a lay on a width; else None.
        density: area of the laid pieces over the area of the cloth (on a width: of the length used), 0 to 1.
    """

    answer: Answer
    proof: str
    placements: tuple[Placement, ...] = ()
    short_mm: float | None = None
    length_mm: float | None = None
    density: float | None = None


def copies(piece: LayPiece) -> tuple[bool, ...]:
    """Say for each needed copy whether it is mirrored."""
    mirrored = piece.count // 2 if piece.mirror else 0
    return (False,) * (piece.count - mirrored) + (True,) * mirrored


def allowed_turns(piece: LayPiece, *, nap: bool) -> tuple[float, ...]:
    """Turns within 0 ≤ turn < 360 that the piece may lie at; on one-way cloth only those below 180, or the first."""
    turns = tuple(sorted({turn % 360.0 for turn in piece.turns}))
    return (tuple(t for t in turns if t < 180.0) or turns[:1]) if nap else turns


def turns_on(piece: LayPiece, scrap: Scrap) -> tuple[float, ...]:
    """Turns that a piece may lie at on a scrap.

    Pieces whose print is matched all lie along the grain and point one way: only then do their stripes run on alike
    from the point where they meet.
    """
    if piece.match is not None and scrap.repeat_mm is not None and max(scrap.repeat_mm) > 0:
        return (0.0,)
    return allowed_turns(piece, nap=scrap.nap)


def angle_of(piece: LayPiece, scrap_grain_deg: float, turn: float, *, mirrored: bool) -> float:
    """Angle of a placement, 0 ≤ angle < 360: scrap grain − piece grain + turn.

    The grain of a mirrored piece is the mirrored grain: the sign of its angle changes.
    """
    grain = -piece.grain_deg if mirrored else piece.grain_deg
    return (scrap_grain_deg - grain + turn) % 360.0 % 360.0


def points_placed(outline: Sequence[XY] | Floats, *, mirrored: bool, angle: float, x: float, y: float) -> Floats:
    """Apply a placement to points, shape (n, 2)."""
    p = np.asarray(outline, dtype=np.float64)
    if mirrored:
        p = p * (-1.0, 1.0)
    c, s = _cos_sin(angle)
    return np.asarray(p @ np.array([[c, s], [-s, c]]) + (x, y))


def laid(piece: LayPiece, placement: Placement) -> Polygon:
    """Give a placed piece as a polygon on its cloth."""
    return Polygon(
        points_placed(piece.outline, mirrored=placement.mirrored, angle=placement.angle, x=placement.x, y=placement.y)
    )


def free_area(scrap: Scrap, *, border_mm: float = 0.0) -> Polygon:
    """Give what may be used of a scrap, a polygon or multipolygon: without holes, flaws and border.

    The fold of cloth that lies double is no edge: no border is kept from it.
    """
    area = Polygon(scrap.outline)
    if scrap.holes or scrap.flaws:
        area = area.difference(shapely.union_all([Polygon(h) for h in (*scrap.holes, *scrap.flaws)]))
    if scrap.folded and border_mm > 0:
        x0, y0, _, y1 = area.bounds
        beyond = area.union(shapely.box(x0 - 2 * border_mm, y0, x0, y1)).buffer(-border_mm, quad_segs=32)
        return beyond.intersection(area)
    return area.buffer(-border_mm, quad_segs=32) if border_mm > 0 else area


def missing(pieces: Sequence[LayPiece], placements: Sequence[Placement]) -> tuple[str, ...]:
    """Names of the pieces, once a copy, that the placements leave out, the right hand and the mirrored alike."""
    out: list[str] = []
    for piece in pieces:
        need = list(copies(piece))
        either = piece.either or piece.fold is not None  # a half on the fold gives the same whole piece either way
        for placement in placements:
            if placement.piece == piece.name and (placement.mirrored in need or (either and need)):
                need.remove(placement.mirrored if placement.mirrored in need else need[0])
        out.extend([piece.name] * len(need))
    return tuple(out)


def _cos_sin(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at the quarter turns."""
    quarter, rest = divmod(degrees % 360.0 % 360.0, 90.0)  # −1e-300 % 360 is 360
    if rest == 0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    angle = math.radians(degrees)
    return math.cos(angle), math.sin(angle)
