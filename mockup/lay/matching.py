"""Stripes and checks on scraps: what is to be matched, and the scraps turned so that their repeat runs upright."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mockup.geometry.path import XY
from mockup.lay.lay import LayPiece, Placement, Scrap, points_placed
from swatches.errors import InputError


def any_matched(pieces: Sequence[LayPiece], scraps: Sequence[Scrap]) -> bool:
    """Whether some piece is to be matched on some scrap with a repeat."""
    return any(p.match for p in pieces) and any(s.repeat_mm is not None and max(s.repeat_mm) > 0 for s in scraps)


def checked_prints(pieces: Sequence[LayPiece], scraps: Sequence[Scrap]) -> None:
    """Check that prints on several scraps can be compared.

    Raises:
        InputError: there are several, and of one it is not known where its repeat begins.
    """
    if not any_matched(pieces, scraps):
        return
    printed = [s for s in scraps if s.repeat_mm is not None and max(s.repeat_mm) > 0]
    unknown = next((s for s in printed if s.print_at is None), None)
    if len(printed) > 1 and unknown is not None:
        raise InputError(
            f"scrap '{unknown.name}', print",
            expected="a point at which its repeat begins, since prints are matched over several scraps",
            got="none",
            next_step="Mark the same point of the print on every scrap, or lay the matched pieces on one",
        )


def upright(scrap: Scrap) -> Scrap:
    """Give the scrap turned about (0, 0) so that its grain is upright."""
    if scrap.grain_deg % 360 == 0:
        return replace(scrap, grain_deg=0.0)

    def turned(ring: Sequence[XY]) -> tuple[XY, ...]:
        points = points_placed(ring, mirrored=False, angle=-scrap.grain_deg, x=0.0, y=0.0)
        return tuple((float(x), float(y)) for x, y in points)

    return replace(
        scrap,
        outline=turned(scrap.outline),
        holes=tuple(turned(h) for h in scrap.holes),
        flaws=tuple(turned(f) for f in scrap.flaws),
        print_at=None if scrap.print_at is None else turned([scrap.print_at])[0],
        grain_deg=0.0,
    )


def turned_back(placement: Placement, degrees: float) -> Placement:
    """Give the placement with its scrap turned about (0, 0)."""
    if degrees == 0:
        return placement
    ((x, y),) = points_placed([(placement.x, placement.y)], mirrored=False, angle=degrees, x=0.0, y=0.0)
    return replace(placement, angle=(placement.angle + degrees) % 360.0 % 360.0, x=float(x), y=float(y))
