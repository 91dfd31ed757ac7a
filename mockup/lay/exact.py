"""The exact check that every answer passes: by shapely, on the full outlines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from mockup.lay.lay import (
    MATCH_MM,
    TOUCH_MM,
    LayPiece,
    Placement,
    Scrap,
    angle_of,
    free_area,
    laid,
    points_placed,
    turns_on,
)


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
    the same 1e-6 mm. Angles must be an allowed turn from the grain, nothing is turned over that must not be, a piece on
    the fold lies on the fold, and matched prints meet.
    """
    found: list[str] = []
    shapes = [laid(pieces[p.piece], p) for p in placements]
    for placement, shape in zip(placements, shapes, strict=True):
        piece, scrap = pieces[placement.piece], scraps[placement.remnant]
        turns = turns_on(piece, scrap)
        if not any(
            abs((placement.angle - angle_of(piece, scrap.grain_deg, t, mirrored=placement.mirrored) + 180) % 360 - 180)
            < 1e-6
            for t in turns
        ):
            found.append(f"{placement.piece} lies off its grain on {placement.remnant}")
        if placement.mirrored and not (piece.mirror or piece.either or piece.fold):
            found.append(f"{placement.piece} is turned over on {placement.remnant}, and must lie right side up")
        if piece.fold is not None and not _on_fold(piece, placement, scrap):
            found.append(f"{placement.piece} does not lie on the fold of {placement.remnant}")
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
    return found + unmatched(pieces, scraps, placements)


def print_place(piece: LayPiece, placement: Placement, scrap: Scrap) -> tuple[float, float] | None:
    """Where in the repeat the point lies at which a piece's print is matched: mm across and along, 0 to the repeat.

    None where nothing is to be matched. Where the cloth has no repeat that way, 0.
    """
    if piece.match is None or scrap.repeat_mm is None or max(scrap.repeat_mm) <= 0:
        return None
    at = points_placed(
        [piece.match.at], mirrored=placement.mirrored, angle=placement.angle, x=placement.x, y=placement.y
    )[0]
    begin = np.array(scrap.print_at or (0.0, 0.0))
    grain = np.deg2rad(scrap.grain_deg)
    across, along = np.array([np.cos(grain), np.sin(grain)]), np.array([-np.sin(grain), np.cos(grain)])
    u, v = float((at - begin) @ across), float((at - begin) @ along)
    wide, high = scrap.repeat_mm
    return (u % wide if wide > 0 else 0.0), (v % high if high > 0 else 0.0)


def unmatched(
    pieces: Mapping[str, LayPiece], scraps: Mapping[str, Scrap], placements: Sequence[Placement]
) -> list[str]:
    """Say of every piece whose print does not meet that of the first of its group, within 1e-3 mm."""
    first: dict[str, tuple[str, tuple[float, float]]] = {}
    found = []
    for placement in placements:
        piece, scrap = pieces[placement.piece], scraps[placement.remnant]
        place = print_place(piece, placement, scrap)
        if place is None or piece.match is None or scrap.repeat_mm is None:
            continue
        name, other = first.setdefault(piece.match.group, (placement.piece, place))
        for a, b, repeat in zip(place, other, scrap.repeat_mm, strict=True):
            if repeat > 0 and abs((a - b + repeat / 2) % repeat - repeat / 2) > MATCH_MM:
                found.append(f"the print of {placement.piece} does not meet that of {name} at '{piece.match.group}'")
                break
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


def _on_fold(piece: LayPiece, placement: Placement, scrap: Scrap) -> bool:
    """Whether the fold edge lies on the fold, which is the left side of a folded cloth's box."""
    if not scrap.folded or piece.fold is None:
        return False
    ends = points_placed(piece.fold, mirrored=placement.mirrored, angle=placement.angle, x=placement.x, y=placement.y)
    return bool(np.abs(ends[:, 0] - min(x for x, _ in scrap.outline)).max() <= MATCH_MM)


def _inside(shape: Polygon, scrap: Scrap, border_mm: float) -> bool:
    area = free_area(scrap)
    if not area.buffer(TOUCH_MM, join_style="mitre").covers(shape):
        return False
    if border_mm <= 0:
        return True
    if scrap.folded:  # the fold is no edge of the cloth
        x0, y0, _, y1 = area.bounds
        area = area.union(shapely.box(x0 - 2 * border_mm - 1, y0, x0, y1))
        x0 = area.bounds[0]
        edge = area.boundary.difference(shapely.box(x0 - 1, y0 - 1, x0 + border_mm, y1 + 1))
        return bool(edge.distance(shape) >= border_mm - TOUCH_MM)
    return bool(area.boundary.distance(shape) >= border_mm - TOUCH_MM)


def _overlap(a: Polygon, b: Polygon) -> bool:
    if not a.intersects(b) or a.touches(b):
        return False
    return bool(a.buffer(-TOUCH_MM).intersects(b.buffer(-TOUCH_MM)))
