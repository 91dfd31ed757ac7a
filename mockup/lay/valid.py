"""What can be laid at all: outlines, counts, grain, fold and distances are looked at before any search."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.geometry.path import XY
from mockup.lay.lay import LayPiece, Scrap, free_area
from mockup.split.words import tenths
from swatches.errors import GeometryError, InputError

_MAX_POINTS, _MAX_PIECES = 20_000, 2_000
_MAX_MM = 200_000.0


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
    if piece.fold is not None:
        _checked_fold(piece)
    if piece.match is not None and not np.isfinite(piece.match.at).all():
        raise InputError(
            f"piece '{piece.name}', match",
            expected="a point in mm",
            got=str(piece.match.at),
            next_step="Give the place of its notch",
        )
    return piece


def checked_scrap(scrap: Scrap) -> Scrap:
    """Give the scrap if it can be laid on.

    Raises:
        GeometryError: outline or hole with zero area or crossing itself, or holes that use up the whole scrap.
        InputError: the grain is no number.
    """
    _outline(scrap.name, scrap.outline)
    for kind, rings in (("hole", scrap.holes), ("flaw", scrap.flaws)):
        for number, ring in enumerate(rings, 1):
            _outline(f"{scrap.name}, {kind} {number}", ring)
    if not math.isfinite(scrap.grain_deg):
        raise InputError(
            f"scrap '{scrap.name}', grain",
            expected="an angle in degrees",
            got=str(scrap.grain_deg),
            next_step="Find the grain by the selvedge or by pulling a thread, and give its angle from upright",
        )
    numbers = [*(scrap.repeat_mm or ()), *(scrap.print_at or ())]
    if not np.isfinite(numbers).all() or any(r < 0 or 0 < r < 1 for r in scrap.repeat_mm or ()):
        raise InputError(
            f"scrap '{scrap.name}', repeat",
            expected="lengths of 1 mm or more, or 0 for none",
            got=str(numbers),
            next_step="Measure the repeat across and along the cloth",
        )
    if free_area(scrap).area <= 0:
        raise GeometryError(
            f"scrap '{scrap.name}'",
            expected="cloth outside its holes",
            got="holes and flaws that cover it" if scrap.flaws else "holes that cover it",
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
                expected=f"less than the size of '{piece.name}', {tenths(size)}",
                got=f"{clearance_mm:g} mm",
                next_step="Use a smaller clearance, such as 2mm",
            )


def checked_width(width_mm: float, border_mm: float) -> None:
    """Check a usable width and the border.

    Raises:
        InputError: no length, or a border that leaves nothing.
    """
    if not (np.isfinite(width_mm) and 0 < width_mm <= 100_000):
        raise InputError("width", expected="a length above 0", got=f"{width_mm:g} mm", next_step="Type it like 140cm")
    if 2 * border_mm >= width_mm:
        raise InputError(
            "border",
            expected="less than half the width",
            got=f"{border_mm:g} mm on {width_mm:g} mm",
            next_step="Use a smaller border",
        )


def _checked_fold(piece: LayPiece) -> None:
    assert piece.fold is not None  # noqa: S101 - asked only of pieces with one
    (x0, y0), (x1, y1) = piece.fold
    line = shapely.LineString(piece.fold)
    usable = math.isfinite(x0 + y0 + x1 + y1) and line.length >= 1.0
    if not usable or not Polygon(piece.outline).boundary.buffer(1e-3).covers(line):
        raise GeometryError(
            f"fold of '{piece.name}'",
            expected="two ends of a straight edge of its outline",
            got=str(piece.fold),
            next_step="Give the edge that lies on the fold, or open the piece out",
        )
    off = (math.degrees(math.atan2(x0 - x1, y1 - y0)) - piece.grain_deg + 90.0) % 180.0 - 90.0
    if abs(off) > 0.5:
        raise GeometryError(
            f"fold of '{piece.name}'",
            expected="a fold along its grainline",
            got=f"one that is {abs(off):.1f}° off it",
            next_step="Open the piece out and cut it in a single layer",
        )


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
