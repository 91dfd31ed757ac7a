"""The words and the place of a piece's label, the same in SVG, DXF and on paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from shapely import LineString, MultiPolygon, Polygon, maximum_inscribed_circle, union_all

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.pattern.darts import leg_lines
from mockup.pattern.piece import Piece

_ROOM = 1.0  # mm, how well the roomiest place is looked for
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)  # fmt: skip  the system's language must not change the file
_AWAY = 4.0  # mm between the label's circle and a line


def title(piece: Piece) -> str:
    """Name a piece with the wearer's side: 'side panel, left'."""
    return f"{piece.name}, {piece.side}" if piece.side and piece.side not in piece.name else piece.name


def fabric_name(piece: Piece, names: Mapping[str, str] | None = None) -> str:
    """The person's name of the piece's cloth; its id where there is none; empty when not chosen."""
    return (names or {}).get(piece.fabric, piece.fabric)


def label_place(piece: Piece, avoid: Sequence[Path] = ()) -> tuple[XY, float]:
    """Find the roomiest place in a piece for its label: centre and radius (mm) of the largest free circle.

    Args:
        piece: the piece, mm, y up.
        avoid: more lines that the label must not lie on; the grainline and the internal lines never are.
    """
    return roomiest(free_region(piece, avoid))


def free_region(piece: Piece, avoid: Sequence[Path] = ()) -> Polygon | MultiPolygon:
    """Where words may stand in a piece: inside its stitch line and 4 mm away from its lines.

    Where the lines leave less than a fifth of the piece, they are disregarded.
    """
    shell, *holes = (paths.flatten(outline, 0.5).points for outline in piece.outlines)
    outline = Polygon(shell, holes)
    outline = outline if outline.is_valid else outline.buffer(0)
    darts = [leg_lines(piece, dart) for dart in piece.darts]
    lines = [LineString(paths.flatten(p, 0.5).points) for p in (*(m.path for m in piece.marks), *darts, *avoid)]
    if piece.grainline is not None:
        lines.append(LineString(piece.grainline))
    free = outline.difference(union_all(lines).buffer(_AWAY)) if lines else outline
    return free if free.area > 0.2 * outline.area else outline


def roomiest(region: Polygon | MultiPolygon) -> tuple[XY, float]:
    """Centre and radius (mm) of the largest circle inside a region, to 1 mm."""
    radius_line = maximum_inscribed_circle(region, tolerance=_ROOM)
    (x, y), _ = radius_line.coords
    return (float(x), float(y)), float(radius_line.length)


def spoken_date(text: str) -> str:
    """Show an ISO date as people say it, '24 November 2026'; any other text stays as it is."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return text
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
