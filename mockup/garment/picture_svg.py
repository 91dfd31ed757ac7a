"""An SVG line drawing → areas, exactly: lines are noded and polygonized, no raster decides.

Ends that stop short of another line by up to the gap size are led on to it first, as the trapped ball does for scans.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path as FilePath

import cv2
import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

from mockup.garment.regions import GAP_IN_LINE_WIDTHS, Regions
from mockup.garment.strokes import Stroke, dashed
from mockup.garment.svg_lines import read_lines
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.trace import fit_cubics
from swatches.errors import GeometryError, PictureError

_FLAT = 0.03  # px: lines are flattened this finely to be noded
_GRID = 1e-4  # px: nearer than this is the same point
_FIT = 0.08  # px: and fitted again this closely
_CORNER_DEG = 12.0
_MOST_AREAS = 400
Outline = tuple[Path, tuple[Path, ...]]


@dataclass(frozen=True, eq=False)
class SvgDrawing:
    """A line drawing read from SVG.

    Attributes:
        strokes: its lines, px, y down.
        size: width and height, px.
        gap_px: largest gap between the end of a line and another line that is closed; None: four line widths.
        dashes_are_seams: whether dashed lines divide.
    """

    strokes: tuple[Stroke, ...]
    size: tuple[int, int]
    gap_px: float | None = None
    dashes_are_seams: bool = False

    @property
    def line_width_px(self) -> float:
        """Width of the drawn solid lines, px: the median by length."""
        solid = [s for s in self.strokes if s.width > 0 and not s.dashes]
        if not solid:
            return 2.0
        widths = np.array([s.width for s in solid])
        lengths = np.array([np.linalg.norm(np.diff(s.path.cubics, axis=1), axis=2).sum() for s in solid])
        order = np.argsort(widths, kind="stable")
        along = np.cumsum(lengths[order])
        return float(widths[order][int(np.searchsorted(along, along[-1] / 2))])

    @cached_property
    def ink(self) -> NDArray[np.float32]:
        """Strength of the lines, float32 0..1, shape (h, w), read-only."""
        canvas = np.zeros((self.size[1], self.size[0]), np.uint8)
        for stroke in self.strokes:
            if stroke.width <= 0:
                continue
            for points in dashed(stroke):
                if len(points) > 1:
                    _fill(canvas, shapely.LineString(points).buffer(max(stroke.width, 0.8) / 2, quad_segs=6))
        ink = canvas.astype(np.float32) / np.float32(255)
        ink.flags.writeable = False
        return ink

    @property
    def rgb8(self) -> NDArray[np.uint8]:
        """The drawing as a picture, black on white, uint8, shape (h, w, 3)."""
        grey = cv2.convertScaleAbs(self.ink, alpha=-255, beta=255)
        return np.asarray(cv2.cvtColor(grey, cv2.COLOR_GRAY2RGB), np.uint8)

    @cached_property
    def _faces(self) -> tuple[shapely.Polygon, ...]:
        return _faces(self)

    def regions(self) -> Regions:
        """The areas as labels, the largest first.

        Raises:
            PictureError: nothing closed is drawn, or far too much.
        """
        labels = np.zeros((self.size[1], self.size[0]), np.uint16)
        for number, face in enumerate(self._faces, 1):
            rings = [np.asarray(r.coords) for r in (face.exterior, *face.interiors)]
            patch = np.zeros(labels.shape, np.uint8)
            cv2.fillPoly(patch, [np.round((r - 0.5) * 64).astype(np.int32) for r in rings], 1, cv2.LINE_8, 6)
            labels[(patch > 0) & (labels == 0)] = number
        labels.flags.writeable = False
        return Regions(labels, self.ink, self.line_width_px, self.gap, (), ())

    @property
    def gap(self) -> float:
        """The gap size in use, px."""
        return self.gap_px if self.gap_px is not None else GAP_IN_LINE_WIDTHS * self.line_width_px

    def outlines(self) -> dict[int, Outline]:
        """Exact outlines by label, counter-clockwise as a person sees them (holes the other way round)."""
        found = {}
        for number, face in enumerate(self._faces, 1):
            # shapely's sign is that of a plane with y up; here y is down
            outer = _fitted(np.asarray(face.exterior.coords), clockwise_in_px=False)
            holes = tuple(_fitted(np.asarray(r.coords), clockwise_in_px=True) for r in face.interiors)
            found[number] = (outer, holes)
        return found

    def together(self, labels: Sequence[int]) -> Outline:
        """Exact outline and holes of areas taken together, run as :meth:`outlines` runs them.

        Raises:
            GeometryError: they do not hang together.
        """
        whole = shapely.union_all([self._faces[k - 1] for k in labels], grid_size=_GRID)
        if not isinstance(whole, shapely.Polygon):
            raise GeometryError(
                "areas", expected="areas that touch", got="areas apart", next_step="Choose areas beside each other"
            )
        holes = tuple(_fitted(np.asarray(r.coords), clockwise_in_px=True) for r in whole.interiors)
        return _fitted(np.asarray(whole.exterior.coords), clockwise_in_px=False), holes

    def borders(self, a: int, b: int) -> list[Floats]:
        """Where two areas meet, as rows of points of the noded lines, each (n, 2)."""
        shared = shapely.intersection(self._faces[a - 1].boundary, self._faces[b - 1].boundary, grid_size=_GRID)
        lines = [g for g in shapely.get_parts(shared) if g.length > 0]
        if not lines:
            return []
        merged = shapely.line_merge(shapely.union_all(lines))
        return [np.asarray(g.coords, np.float64)[:, :2] for g in shapely.get_parts(merged)]


def read_svg_drawing(
    source: FilePath | str | bytes, *, gap_px: float | None = None, dashes_are_seams: bool = False
) -> SvgDrawing:
    """Read an SVG line drawing.

    Args:
        source: the file, or its bytes.
        gap_px: see :class:`SvgDrawing`.
        dashes_are_seams: the same.

    Raises:
        PictureError: see :func:`~mockup.garment.svg_lines.read_lines`.
    """
    strokes, size = read_lines(source)
    return SvgDrawing(strokes, size, gap_px, dashes_are_seams)


def _faces(drawing: SvgDrawing) -> tuple[shapely.Polygon, ...]:
    """Bounded faces between the solid lines, crumbs joined to their neighbours, the largest first."""
    w, h = drawing.size
    page = shapely.box(0, 0, w, h)
    lines = []
    for stroke in drawing.strokes:
        if stroke.dashes and not drawing.dashes_are_seams:
            continue
        line = shapely.LineString(paths.flatten(stroke.path, _FLAT).points)
        frame = shapely.Polygon(line.coords).envelope if stroke.path.closed and len(line.coords) > 3 else None
        if (
            frame is not None
            and frame.area > 0.96 * page.area
            and frame.symmetric_difference(page).area < 0.08 * page.area
        ):
            continue  # the sheet itself
        lines.append(line)
    if not lines:
        raise _nothing("no solid lines", "Draw the outline with solid lines")
    noded = shapely.union_all(lines, grid_size=_GRID)
    noded = shapely.union_all([noded, *_closings(noded, drawing.gap)], grid_size=_GRID)
    faces = [g for g in shapely.get_parts(shapely.polygonize([noded])).tolist() if isinstance(g, shapely.Polygon)]
    closed = f"Draw the outline closed: gaps up to {drawing.gap:.0f} px were taken as closed already"
    many = "Use a clean line drawing; add a photo as a photo"
    if not faces:
        raise _nothing("lines but no closed area", closed)
    if len(faces) > 4 * _MOST_AREAS:
        raise _nothing(f"{len(faces)} areas", many)
    least = (2 * drawing.line_width_px) ** 2
    faces = _without_crumbs(faces, max(least, 4.0))
    if not faces or len(faces) > _MOST_AREAS:
        raise _nothing(f"{len(faces) or 'no'} areas", many if faces else closed)
    return tuple(sorted(faces, key=lambda f: -f.area))


def _closings(noded: shapely.Geometry, gap: float) -> list[shapely.Geometry]:
    """Short lines that lead loose ends on to the nearest other line within the gap size."""
    parts = [p for p in shapely.get_parts(noded) if p.length > 0]
    ends: dict[tuple[float, float], int] = {}
    for part in parts:
        for point in (part.coords[0], part.coords[-1]):
            key = (round(point[0], 4), round(point[1], 4))
            ends[key] = ends.get(key, 0) + 1
    loose = [np.array(k) for k, n in ends.items() if n == 1]
    if not loose:
        return []
    tree = shapely.STRtree(parts)
    made = []
    for end in loose[:4000]:
        point = shapely.Point(end)
        best: tuple[float, shapely.Point] | None = None
        for i in tree.query(point.buffer(gap)):
            part = parts[int(i)]
            rest = part
            if min(np.hypot(*(end - part.coords[0])), np.hypot(*(end - part.coords[-1]))) < 1e-3:
                if part.length < 2 * gap:
                    continue
                # its own line counts only farther along, where it comes back
                at = part.project(point)
                rest = (
                    shapely.ops.substring(part, gap * 1.5, part.length)
                    if at < 1e-3
                    else (shapely.ops.substring(part, 0, part.length - gap * 1.5))
                )
            away = rest.distance(point)
            if 1e-6 < away <= gap and (best is None or away < best[0]):
                best = (away, shapely.ops.nearest_points(rest, point)[0])
        if best is not None:
            target = np.array(best[1].coords[0])
            beyond = target + (target - end) / best[0] * 0.01  # crosses, so that noding finds it
            made.append(shapely.LineString([end, beyond]))
    return made


def _without_crumbs(faces: list[shapely.Polygon], least: float) -> list[shapely.Polygon]:
    big = [f for f in faces if f.area >= least]
    for crumb in (f for f in faces if f.area < least):
        shared = [f.boundary.intersection(crumb.boundary).length for f in big]
        if shared and max(shared) > 0.25 * crumb.length:
            i = int(np.argmax(shared))
            joined = big[i].union(crumb)
            if isinstance(joined, shapely.Polygon):
                big[i] = joined
    return big


def _fitted(ring: Floats, *, clockwise_in_px: bool) -> Path:
    """Fit cubics to an exact ring; vertices where it turns sharply are corners and stay."""
    points = ring[:-1]
    area = np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1])
    if (area > 0) != clockwise_in_px:
        points = points[::-1]
    back, forth = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.abs(np.arctan2(back[:, 0] * forth[:, 1] - back[:, 1] * forth[:, 0], np.einsum("ij,ij->i", back, forth)))
    corners = np.nonzero(turn > np.deg2rad(_CORNER_DEG))[0]
    start = int(corners[0]) if len(corners) else 0
    loop = np.vstack([np.roll(points, -start, axis=0), points[start][None]])
    marks = sorted({int((c - start) % len(points)) for c in corners} - {0})
    dense, at = [loop[0]], []
    for i in range(1, len(loop)):
        n = max(1, int(np.ceil(np.linalg.norm(loop[i] - loop[i - 1]) / 3.0)))
        dense.extend(loop[i - 1] + (loop[i] - loop[i - 1]) * (k + 1) / n for k in range(n))
        if i in marks:
            at.append(len(dense) - 1)
    path = fit_cubics(np.array(dense), _FIT, corners=at)
    cubics = path.cubics.copy()
    cubics[-1, 3] = cubics[0, 0]
    return Path(cubics)


def _fill(canvas: NDArray[np.uint8], shape: shapely.Geometry) -> None:
    for part in shapely.get_parts(shape):
        rings = [np.asarray(r.coords) for r in (part.exterior, *part.interiors)]
        patch = [np.round((r - 0.5) * 64).astype(np.int32) for r in rings]
        cv2.fillPoly(canvas, patch, 255, cv2.LINE_AA, 6)


def _nothing(got: str, next_step: str) -> PictureError:
    return PictureError(
        "drawing",
        expected="lines that close at least one area",
        got=got,
        next_step=next_step,
    )
