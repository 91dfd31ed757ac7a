"""The split's types: what the picture side hands to the pattern engine, in mm, y up.

The same records are the model of ``split.json`` (see :mod:`mockup.files.split_file`), which other programs may read.
A view's coordinates are those of the picture; only the *distances of the line ends from landmarks, along edges* are
exact on the pattern. Left and right are the wearer's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from mockup.geometry.path import XY, CubicXY

PathXY = tuple[CubicXY, ...]


@dataclass(frozen=True, slots=True)
class Anchor:
    """Where a line's end is: ``distance_mm`` along the stitch line of ``edge`` from the landmark ``start``.

    In JSON ``start`` is called ``from``. ``edge`` is the edge's name without its side ('side', 'centre-front');
    a landmark is named the same way ('underarm', 'hem', 'neck').
    """

    edge: str
    start: Annotated[str, Field(alias="from")]
    distance_mm: float


@dataclass(frozen=True, slots=True)
class SplitEdge:
    """A named edge of a view's outline. ``name`` carries the side where there are two: 'side-left'."""

    name: str
    path: PathXY


@dataclass(frozen=True, slots=True)
class SplitLine:
    """A style line.

    Attributes:
        id: unique in the split.
        name: the person's word for it.
        path: the *whole* visible line, mirrored half included, cubic segments in view mm.
        symmetric: whether it is mirrored about the view's mirror line; then ``start`` is at a side and ``end`` on the
            mirror line, and both describe the half.
        start: anchor of the first point, or None where the end is on another line or free.
        end: anchor of the last point of the half (symmetric) or of the whole.
        start_side: 'left' or 'right' where ``start.edge`` exists on both sides and the line is not symmetric.
        end_side: the same for the end.
        on_top: whether what it encloses is sewn onto the cloth below, which stays whole, instead of being let in.
    """

    id: str
    name: str
    path: PathXY
    symmetric: bool
    start: Anchor | None = None
    end: Anchor | None = None
    start_side: str | None = None
    end_side: str | None = None
    on_top: bool = False


@dataclass(frozen=True, slots=True)
class LaidPrint:
    """How a panel's print lies, where a person has laid it: as it looks from the right side.

    Attributes:
        start: a point where the print's repeat starts, view mm; it need not be on the panel.
        grain_deg: direction of the cloth's length from upright, counter-clockwise.
        mirrored: whether the print runs the other way across, as on cloth that was folded along its length.
        repeat_mm: the repeat across and along the cloth's length, 0 where there is none; None when it is not known.
    """

    start: XY
    grain_deg: float = 0.0
    mirrored: bool = False
    repeat_mm: XY | None = None


@dataclass(frozen=True, slots=True)
class SplitPanel:
    """A panel: cut from one fabric.

    Attributes:
        id: unique in the split, e.g. 'front-2' or 'front-3L'.
        name: the person's word.
        outline: closed path in view mm.
        fabric: fabric id, or None when not chosen yet.
        number: the number that piece, picture and lists share; twins share it.
        side: 'left' or 'right' for one of a pair of twins, else None.
        area: the area of the view that it lies in: 'body', 'sleeve', 'pocket', …; matches the piece's ``area``.
        laid: how its print lies; None where nobody has laid it.
    """

    id: str
    name: str
    outline: PathXY
    fabric: str | None
    number: int = 0
    side: str | None = None
    area: str = "body"
    laid: LaidPrint | None = None


@dataclass(frozen=True, slots=True)
class SplitSection:
    """A part of a view's body between seams that the garment has already: a bodice, a skirt, a yoke, one of two fronts.

    Attributes:
        area: what kind of part it is; a pattern piece of its own says the same as its ``area``.
        name: the person's word.
        outline: closed, counter-clockwise, view mm.
        edges: the outline from corner to corner: parts of the view's edges under their names, seams under their ids.
        side: 'left' or 'right' (the wearer's) for one of twins, else None.
    """

    area: str
    name: str
    outline: PathXY
    edges: tuple[SplitEdge, ...]
    side: str | None = None


@dataclass(frozen=True, slots=True)
class SplitView:
    """One side of the garment: the outline of its body, named edges, landmarks, lines, panels (mm, y up).

    ``sections`` is empty where the body is one part.
    """

    name: str
    outline: PathXY
    edges: tuple[SplitEdge, ...]
    landmarks: dict[str, XY]
    mirror_line: tuple[XY, XY] | None
    lines: tuple[SplitLine, ...]
    panels: tuple[SplitPanel, ...]
    sections: tuple[SplitSection, ...] = ()


@dataclass(frozen=True, slots=True)
class Split:
    """All style lines of one garment."""

    views: tuple[SplitView, ...]
    format: str = "garment split"
    version: int = 1
    unit: str = "mm"
