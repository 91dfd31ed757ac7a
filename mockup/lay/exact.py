"""The exact check that every answer passes: by shapely, on the full outlines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely
from shapely.geometry import Polygon

from mockup.lay.lay import TOUCH_MM, LayPiece, Placement, Scrap, allowed_turns, angle_of, free_area, laid


def faults(
    pieces: Mapping[str, LayPiece],
    scraps: Mapping[str, Scrap],
    placements: Sequence[Placement],
    *,
    clearance_mm: float = 0.0,
    border_mm: float = 0.0,
) -> list[str]:
    """Check a lay exactly, by shapely on the full outlines; an empty list means it is good.

    Overlap is measured as distance into one another: two outlines may touch, within 1e-6 mm. The clearance is kept to
    the same 1e-6 mm. Angles must be an allowed turn from the grain.
    """
    found: list[str] = []
    shapes = [laid(pieces[p.piece], p) for p in placements]
    for placement, shape in zip(placements, shapes, strict=True):
        piece, scrap = pieces[placement.piece], scraps[placement.remnant]
        turns = allowed_turns(piece, nap=scrap.nap)
        if not any(
            abs((placement.angle - angle_of(piece, scrap.grain_deg, t, mirrored=placement.mirrored) + 180) % 360 - 180)
            < 1e-6
            for t in turns
        ):
            found.append(f"{placement.piece} lies off its grain on {placement.remnant}")
        if not _inside(shape, scrap, border_mm):
            found.append(f"{placement.piece} reaches over the edge of {placement.remnant}")
    tree = shapely.STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in tree.query(shape.buffer(clearance_mm + 1e-3)):
            if j <= i or placements[i].remnant != placements[j].remnant:
                continue
            other = shapes[j]
            if _overlap(shape, other):
                found.append(f"{placements[i].piece} and {placements[j].piece} overlap")
            elif clearance_mm > 0 and shape.distance(other) < clearance_mm - TOUCH_MM:
                found.append(f"{placements[i].piece} and {placements[j].piece} are nearer than the clearance")
    return found


def off_grain(
    pieces: Mapping[str, LayPiece], scraps: Mapping[str, Scrap], placements: Sequence[Placement]
) -> tuple[str, ...]:
    """Say of every piece that lies across the grain or askew what that means, one sentence a piece; it was allowed."""
    found: dict[str, float] = {}
    for placement in placements:
        piece, scrap = pieces[placement.piece], scraps[placement.remnant]
        straight = angle_of(piece, scrap.grain_deg, 0.0, mirrored=placement.mirrored)
        off = abs((placement.angle - straight + 90.0) % 180.0 - 90.0)
        if off > 0.5:
            found[piece.name] = max(off, found.get(piece.name, 0.0))
    return tuple(
        f"'{name}' lies {'across the grain' if off > 89.5 else f'{off:.0f}° off the grain'}: it hangs and stretches"
        " otherwise than the others, and a knit may not go round the body."
        for name, off in found.items()
    )


def _inside(shape: Polygon, scrap: Scrap, border_mm: float) -> bool:
    area = free_area(scrap)
    if not area.buffer(TOUCH_MM, join_style="mitre").covers(shape):
        return False
    return border_mm <= 0 or bool(area.boundary.distance(shape) >= border_mm - TOUCH_MM)


def _overlap(a: Polygon, b: Polygon) -> bool:
    if not a.intersects(b) or a.touches(b):
        return False
    return bool(a.buffer(-TOUCH_MM).intersects(b.buffer(-TOUCH_MM)))
