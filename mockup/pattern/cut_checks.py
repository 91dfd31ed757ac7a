"""What a cut refuses before it is made: lines that stay within the depth of a hem, and lines across folded paper."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from mockup.geometry.faces import Face, FacePart
from mockup.geometry.intersect import boxes_meet, hull_box, intersections
from mockup.geometry.ruler import flat_of, polygon_of
from mockup.pattern.piece import EdgeKind, Piece
from mockup.pattern.snap import TOLERANCE_MM, CutLine
from swatches.errors import GeometryError


def check_hems(piece: Piece, found: Sequence[Face], lines: Sequence[CutLine]) -> None:
    """Refuse a line that stays within the depth of a hem: the turned-up hem would reach across the seam.

    Raises:
        GeometryError: the line, the hem's depth, and how near it comes.
    """
    for edge in piece.all_edges:
        if edge.kind is not EdgeKind.HEM or edge.allowance_mm <= 0:
            continue
        box = hull_box(edge.path)
        for part in _strands(found):
            if not boxes_meet(box, hull_box(part.path), edge.allowance_mm):
                continue
            hem, seam = (shapely.linestrings(flat_of(path, 0.1).points) for path in (edge.path, part.path))
            gap = float(shapely.distance(seam, hem))
            if 0.05 < gap < edge.allowance_mm - 0.1 and not intersections(lines[part.source].path, edge.path):
                raise GeometryError(
                    f"line '{lines[part.source].name}'",
                    expected=f"at least {edge.allowance_mm:g} mm, the depth of the hem, above {edge.name}",
                    got=f"{gap:.3g} mm",
                    next_step="Move the line up, or let it cross the hem",
                )


def check_points(found: Sequence[Face], lines: Sequence[CutLine]) -> None:
    """Refuse a part that runs out into a point so thin that its two edges cannot be told apart.

    Raises:
        GeometryError: the lines, and where they run into each other.
    """
    for face in found:
        polygon = polygon_of(face.rings, TOLERANCE_MM)
        if shapely.is_valid(polygon):
            continue
        names = sorted({lines[p.source].name for ring in (face.parts, *face.holes) for p in ring if p.source >= 0})
        place = shapely.point_on_surface(shapely.make_valid(polygon))
        raise GeometryError(
            " and ".join(f"line '{name}'" for name in names) or "outline",
            expected="lines that leave each other, and the edges, at an angle",
            got="edges that run into each other and leave no cloth between them",
            next_step="Move the end of one line along the other, or turn it",
            place=(float(place.x), float(place.y)),
        )


def _strands(found: Sequence[Face]) -> list[FacePart]:
    seen: dict[tuple[int, float], FacePart] = {}
    for face in found:
        for part in (p for ring in (face.parts, *face.holes) for p in ring):
            if part.source >= 0:
                seen.setdefault((part.source, part.from_distance), part)
    return list(seen.values())
