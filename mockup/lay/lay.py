"""The records of a lay, and what a placement means.

Pieces are here with their allowances, as cut: closed outlines in mm, y up. A placement means: mirror about the
outline's own y axis if ``mirrored``, turn counter-clockwise by ``angle`` degrees about (0, 0), move by (x, y).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.geometry.path import XY, Floats
from swatches.errors import GeometryError, InputError

TOUCH_MM = 1e-6
"""What is closer than this touches."""

_MAX_POINTS, _MAX_PIECES = 20_000, 2_000
_MAX_MM = 200_000.0


class Answer(StrEnum):
    """What a lay says."""

    YES = "yes"
    NO = "no"
    NOT_FOUND = "not found"


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
    """

    name: str
    outline: tuple[XY, ...]
    grain_deg: float = 0.0
    turns: tuple[float, ...] = (0.0, 180.0)
    count: int = 1
    mirror: bool = False


@dataclass(frozen=True, slots=True)
class Scrap:
    """A piece of cloth to lay on.

    Attributes:
        name: unique in its lay.
        outline: usable outline, mm.
        holes: holes and flaws, mm.
        grain_deg: direction of the lengthwise grain, counter-clockwise from +y.
        nap: whether all pieces must point one way on it.
    """

    name: str
    outline: tuple[XY, ...]
    holes: tuple[tuple[XY, ...], ...] = ()
    grain_deg: float = 0.0
    nap: bool = False


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


def checked_piece(piece: LayPiece) -> LayPiece:
    """Give the piece if it can be laid.

    Raises:
        GeometryError: zero area, self-crossing, not finite, too large or with too many points.
        InputError: a count below 1, no turn, or an angle that is no number.
    """
    _outline(piece.name, piece.outline)
    if not 1 <= piece.count <= _MAX_PIECES:
        raise InputError(
            f"piece '{piece.name}', count",
            expected=f"1 to {_MAX_PIECES}",
            got=str(piece.count),
            next_step="Say how many are needed",
        )
    angles = [piece.grain_deg, *piece.turns]
    if not piece.turns or len(piece.turns) > 360 or not all(math.isfinite(a) for a in angles):
        raise InputError(
            f"piece '{piece.name}', grain and turns",
            expected="angles in degrees and at least one turn",
            got=f"grain {piece.grain_deg}, turns {list(piece.turns)}",
            next_step="Give turns such as [0, 180]",
        )
    return piece


def checked_scrap(scrap: Scrap) -> Scrap:
    """Give the scrap if it can be laid on.

    Raises:
        GeometryError: outline or hole with zero area or crossing itself, or holes that use up the whole scrap.
        InputError: the grain is no number.
    """
    _outline(scrap.name, scrap.outline)
    for number, hole in enumerate(scrap.holes, 1):
        _outline(f"{scrap.name}, hole {number}", hole)
    if not math.isfinite(scrap.grain_deg):
        raise InputError(
            f"scrap '{scrap.name}', grain",
            expected="an angle in degrees",
            got=str(scrap.grain_deg),
            next_step="Find the grain by the selvedge or by pulling a thread, and give its angle from upright",
        )
    if free_area(scrap).area <= 0:
        raise GeometryError(
            f"scrap '{scrap.name}'",
            expected="cloth outside its holes",
            got="holes that cover it",
            next_step="Leave this scrap out",
        )
    return scrap


def checked(pieces: Sequence[LayPiece], scraps: Sequence[Scrap] = ()) -> None:
    """Check pieces and scraps together: each usable, names unique, scraps apart, not too many.

    Raises:
        InputError: with the first fault found.
    """
    for kind, items in (("piece", pieces), ("scrap", scraps)):
        names = [item.name for item in items]
        twice = next((n for n in names if names.count(n) > 1), None)
        if twice is not None:
            raise InputError(
                f"{kind} '{twice}'",
                expected="a name of its own for each",
                got="the same name twice",
                next_step="Rename one of them",
            )
    if not pieces:
        raise InputError("pieces", expected="at least one piece", got="none", next_step="Add a piece to lay")
    for piece in pieces:
        checked_piece(piece)
    total = sum(piece.count for piece in pieces)
    if total > _MAX_PIECES:
        raise InputError(
            "pieces", expected=f"at most {_MAX_PIECES} in all", got=str(total), next_step="Lay them in several goes"
        )
    for scrap in scraps:
        checked_scrap(scrap)


def checked_distances(pieces: Sequence[LayPiece], clearance_mm: float, border_mm: float) -> None:
    """Check clearance and border.

    Raises:
        InputError: one is negative, no number or huge, or the clearance is larger than a piece.
    """
    for what, value in (("clearance", clearance_mm), ("border", border_mm)):
        if not (np.isfinite(value) and 0 <= value <= 10_000):
            raise InputError(what, expected="a length of 0 or more", got=f"{value:g} mm", next_step="Type it like 2mm")
    for piece in pieces:
        size = float(np.ptp(np.asarray(piece.outline), axis=0).max())
        if clearance_mm > size:
            raise InputError(
                "clearance",
                expected=f"less than the size of '{piece.name}', {size:.1f} mm",
                got=f"{clearance_mm:g} mm",
                next_step="Use a smaller clearance, such as 2mm",
            )


def copies(piece: LayPiece) -> tuple[bool, ...]:
    """Say for each needed copy whether it is mirrored."""
    mirrored = piece.count // 2 if piece.mirror else 0
    return (False,) * (piece.count - mirrored) + (True,) * mirrored


def allowed_turns(piece: LayPiece, *, nap: bool) -> tuple[float, ...]:
    """Turns within 0 ≤ turn < 360 that the piece may lie at; on one-way cloth only those below 180, or the first."""
    turns = tuple(sorted({turn % 360.0 for turn in piece.turns}))
    return (tuple(t for t in turns if t < 180.0) or turns[:1]) if nap else turns


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
    """Give what may be used of a scrap, a polygon or multipolygon: without holes and border."""
    area = Polygon(scrap.outline)
    if scrap.holes:
        area = area.difference(shapely.union_all([Polygon(h) for h in scrap.holes]))
    return area.buffer(-border_mm, quad_segs=32) if border_mm > 0 else area


def missing(pieces: Sequence[LayPiece], placements: Sequence[Placement]) -> tuple[str, ...]:
    """Names of the pieces, once a copy, that the placements leave out, the right hand and the mirrored alike."""
    out: list[str] = []
    for piece in pieces:
        need = list(copies(piece))
        for placement in placements:
            if placement.piece == piece.name and placement.mirrored in need:
                need.remove(placement.mirrored)
        out.extend([piece.name] * len(need))
    return tuple(out)


def _cos_sin(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at the quarter turns."""
    quarter, rest = divmod(degrees % 360.0 % 360.0, 90.0)  # −1e-300 % 360 is 360
    if rest == 0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    angle = math.radians(degrees)
    return math.cos(angle), math.sin(angle)


def _outline(name: str, outline: Sequence[XY]) -> None:
    _checked_outline(name, tuple((float(x), float(y)) for x, y in outline))


@lru_cache(maxsize=4096)
def _checked_outline(name: str, outline: tuple[XY, ...]) -> None:
    def fault(expected: str, got: str, next_step: str) -> GeometryError:
        return GeometryError(f"outline of '{name}'", expected=expected, got=got, next_step=next_step)

    if not 3 <= len(outline) <= _MAX_POINTS:
        raise fault(f"3 to {_MAX_POINTS} points", f"{len(outline)}", "Draw the outline as a closed line")
    if not np.isfinite(outline).all() or np.abs(outline).max() > _MAX_MM:
        raise fault("numbers of mm below 200 m", "a point beyond that, or no number", "Check the unit of the file")
    polygon = Polygon(outline)
    if not polygon.is_valid:
        raise fault(
            "a line that does not cross or touch itself",
            shapely.is_valid_reason(polygon),
            "Draw the outline without crossings",
        )
    if polygon.area <= 1e-9:
        raise fault("an area", "none", "Leave this piece out, or draw its outline again")
