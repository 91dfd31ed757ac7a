"""A view: one picture of one side of the garment, with its areas, landmarks and scale.

Pixel coordinates: y down, (0, 0) at the outer corner of the first pixel. View mm: y up, origin at ``origin_px``.
Until a length was measured, the scale is a guess and everything in mm is provisional.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import XY, CubicXY, Path
from swatches.units import MmPoints, PxPoints

PathXY = tuple[CubicXY, ...]


@dataclass(frozen=True, slots=True)
class Area:
    """A found area of the picture.

    Attributes:
        id: 'body', 'sleeve-left', 'pocket', 'neck-facing', 'area-7', …
        name: the person's word.
        label: its value in the view's label picture; 0 is outside.
        outline: smooth closed outline, px.
        part: the kind of pattern piece that it shows: 'body', 'sleeve', 'pocket', …; ties it to ``Piece.area``.
        side: 'left' or 'right' (the wearer's) for one of twins, else None.
        holes: outlines of openings in it, px.
    """

    id: str
    name: str
    label: int
    outline: PathXY
    part: str
    side: str | None = None
    holes: tuple[PathXY, ...] = ()


@dataclass(frozen=True, slots=True)
class ViewEdge:
    """A named edge of the body's outline, px, run counter-clockwise as seen by a person (y up).

    Its first point is landmark ``start``, its last ``end``; ``name`` carries the side: 'side-left'.
    """

    name: str
    path: PathXY
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class DrawnSeam:
    """A seam that the garment has already, where two sections of its body meet; it parts panels, and is no new seam.

    Attributes:
        id: 'seam-1', unique in the view.
        name: 'waist seam', 'yoke seam', …; twins share it.
        path: px, from rim to rim or to another seam, its ends exactly on them.
        side: 'left' or 'right' (the wearer's) for one of twins, else None.
        symmetric: whether it is its own mirror image.
    """

    id: str
    name: str
    path: PathXY
    side: str | None = None
    symmetric: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """How a line drawing was read.

    Attributes:
        line_width_px: width of its lines, px of the picture.
        gap_px: largest gap in a line that was taken as closed, px.
        line_given: whether the person gave that width; else it was estimated.
        gap_given: whether the person gave that gap.
        stitching_is_seam: whether dashed lines part areas.
        darts_are_areas: whether drawn darts were left as areas of their own.
        source: file name of the SVG in the ``pictures`` folder, or empty where the picture itself was read.
    """

    line_width_px: float
    gap_px: float
    line_given: bool = False
    gap_given: bool = False
    stitching_is_seam: bool = False
    source: str = ""
    darts_are_areas: bool = False


@dataclass(frozen=True, slots=True)
class AreaEdit:
    """What a person did to the areas of a view, by places in its picture, so that it can be done again.

    Attributes:
        do: 'join', 'split', 'seam', 'name' or 'no dart'.
        points: px; one in each area to join; the stroke; a place on the stitching; a place in the area to name; the
            middle of a drawn dart.
        name: the person's word.
        part: the part that they say it is, or empty.
    """

    do: str
    points: tuple[XY, ...]
    name: str = ""
    part: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """One picture of one side of the garment.

    Attributes:
        name: unique: 'front', 'back', 'photo'.
        side: 'front' or 'back' of the garment.
        picture: file name in the project's ``pictures`` folder.
        kind: 'drawing' or 'photo'.
        size: width and height in px.
        labels: file name of the 16-bit label picture (0 outside), or empty when there is only an outline.
        areas: found areas, the body first.
        landmarks: name → px. Sided names carry the side: 'underarm-left'.
        mirror_x: x (px) of the upright mirror line of the straightened picture, or None.
        mm_per_px: scale.
        scale_measured: False while the scale is a guess.
        origin_px: the point that is (0, 0) in view mm.
        edges: named edges of the body.
        turn_deg: how far round the form the visible half of the garment reaches: its middle is seen straight on, its
            side seams at this angle. 0: laid flat, as every drawing is.
        sections: the areas that the body is made of, where seams are drawn in it: bodice and skirt, yoke, two fronts.
            Empty: the body is one area. Landmarks, edges and lines belong to the body as a whole.
        seams: those seams.
        reading: how the drawing was read; None for a photo and in older files.
        edits: what the person did to the areas since, in order.
        placed: names of the landmarks that the person placed; they stay where they are when a picture is read again.
        flare: of a photo: share, 0 to 1, of its darkest grey that is taken for haze in the camera; None: as usual.
        printed: of a photo: whether the garment in it has a print; None: as its colours tell.
    """

    name: str
    side: str
    picture: str
    kind: str
    size: tuple[int, int]
    labels: str
    areas: tuple[Area, ...]
    landmarks: dict[str, XY]
    mirror_x: float | None
    mm_per_px: float
    scale_measured: bool
    origin_px: XY
    edges: tuple[ViewEdge, ...] = ()
    turn_deg: float = 0.0
    sections: tuple[Area, ...] = ()
    seams: tuple[DrawnSeam, ...] = ()
    reading: Reading | None = None
    edits: tuple[AreaEdit, ...] = ()
    placed: tuple[str, ...] = ()
    flare: float | None = None
    printed: bool | None = None

    @property
    def body(self) -> Area:
        """The area that style lines cut: the whole body, also where it has sections."""
        return next(a for a in self.areas if a.part == "body")

    @property
    def body_labels(self) -> tuple[int, ...]:
        """The values that the body has in the label picture: one, or one a section."""
        return tuple(a.label for a in self.sections) or (self.body.label,)

    @property
    def found_areas(self) -> tuple[Area, ...]:
        """The areas as they are drawn, each with a label of its own: the body's sections in place of the body."""
        return (*self.sections, *(a for a in self.areas if a.part != "body")) if self.sections else self.areas

    def area(self, area_id: str) -> Area:
        """Find an area or a section of the body by id; ``KeyError`` when there is none."""
        for a in (*self.areas, *self.sections):
            if a.id == area_id:
                return a
        raise KeyError(area_id)

    @property
    def px_to_mm(self) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
        """Affine map from picture px (y down) to view mm (y up), shape (2, 3)."""
        k, (ox, oy) = self.mm_per_px, self.origin_px
        return np.array([[k, 0.0, -ox * k], [0.0, -k, oy * k]])

    @property
    def mm_to_px(self) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
        """Affine map from view mm to picture px, shape (2, 3)."""
        k, (ox, oy) = self.mm_per_px, self.origin_px
        return np.array([[1 / k, 0.0, ox], [0.0, -1 / k, oy]])

    def points_to_mm(self, points: PxPoints) -> MmPoints:
        """Map picture points to view mm, shape (n, 2)."""
        m = self.px_to_mm
        return MmPoints(points @ m[:, :2].T + m[:, 2])

    def points_to_px(self, points: MmPoints) -> PxPoints:
        """Map view mm to picture points, shape (n, 2)."""
        m = self.mm_to_px
        return PxPoints(points @ m[:, :2].T + m[:, 2])

    def path_to_mm(self, px: PathXY | Path) -> Path:
        """Map a path of picture px to view mm."""
        return paths.transformed(px if isinstance(px, Path) else paths.from_tuples(px), self.px_to_mm)

    def path_to_px(self, mm: PathXY | Path) -> Path:
        """Map a path of view mm to picture px."""
        return paths.transformed(mm if isinstance(mm, Path) else paths.from_tuples(mm), self.mm_to_px)

    def with_scale(self, mm_per_px: float) -> View:
        """Give the view with a measured scale."""
        return replace(self, mm_per_px=mm_per_px, scale_measured=True)
