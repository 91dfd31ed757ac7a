"""A style line as the person gave it: ends by distance from a landmark, and the points it passes through.

It is independent of any picture's pixels: :mod:`mockup.stylelines.anchor` places it on a view.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from mockup.geometry.path import XY


class LineKind(StrEnum):
    """How the points are joined."""

    STRAIGHT = "straight"
    ARC = "arc"  # a circle through start, one point, end
    CURVE = "curve"  # smooth through any number of points
    POLYLINE = "polyline"


@dataclass(frozen=True, slots=True)
class End:
    """Where a line ends: on an edge, ``distance_mm`` along the stitch line from a landmark.

    Attributes:
        edge: 'side', 'armhole', 'shoulder', 'neck', 'hem', or 'centre-front', 'centre-back' (mirror line); no side.
        landmark: where the distance starts: one end of that edge, e.g. 'underarm', 'hem', 'neck', 'shoulder'.
        distance_mm: along the edge, ≥ 0.
        side: 'left' or 'right' (the wearer's); None for a symmetric line and for the mirror line.
        text: the distance as typed, for showing it again; empty: in mm.
    """

    edge: str
    landmark: str
    distance_mm: float
    side: str | None = None
    text: str = ""


@dataclass(frozen=True, slots=True)
class StyleLine:
    """One style line.

    Attributes:
        id: unique in the project, e.g. 'line-1'.
        name: the person's word: 'yoke'.
        side: 'front' or 'back' of the garment.
        kind: how the points are joined.
        start: where it starts.
        end: where it ends. A symmetric line's end is on the mirror line.
        through: points between, or all points of a closed shape (:func:`is_free`), as shares of the body's box in view
            mm: x in half widths from the mirror line (wearer's left positive), y in heights from the hem (0) to the
            neck point (1). So a line fits every view of that side.
        symmetric: half drawn, mirrored, and square to the mirror line unless ``kinked``.
        kinked: whether a symmetric line may meet the mirror line at an angle.
        carries: id of the line in the other side that it goes on from at the shared seam, or empty. Their start
            distances are kept equal.
        enclosed: of a line that encloses cloth (:func:`encloses`): whether that is 'let in' or applied 'on top';
            empty where nobody has said yet.
    """

    id: str
    name: str
    side: str
    kind: LineKind
    start: End
    end: End
    through: tuple[XY, ...] = ()
    symmetric: bool = False
    kinked: bool = False
    carries: str = ""
    enclosed: str = ""


FREE = "free"
"""Edge of both ends of a closed shape that lies anywhere: it ends on none."""
FREE_END = End(FREE, "", 0.0)


def is_free(line: StyleLine) -> bool:
    """Whether a line is a closed shape that ends on no edge; see :mod:`mockup.stylelines.shapes`."""
    return line.start.edge == FREE == line.end.edge


def encloses(line: StyleLine) -> bool:
    """Whether a line comes back to where it began: a mirrored one from the middle to the middle is a closed shape."""
    if line.symmetric:
        return line.start.edge == line.end.edge
    return line.start.edge == line.end.edge and line.start.side == line.end.side


def with_end(line: StyleLine, which: str, end: End) -> StyleLine:
    """The line with its 'start' or its 'end' put elsewhere; the points between stay."""
    return replace(line, start=end) if which == "start" else replace(line, end=end)
