"""A line drawing → a view: areas with names, the mirror line, landmarks and edges."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from mockup.garment import half as halves
from mockup.garment import landmarks as points
from mockup.garment.area_shapes import Shapes
from mockup.garment.areas import areas_of
from mockup.garment.drawn_darts import WithoutDarts, drawn_darts, px_points, without_darts
from mockup.garment.picture_svg import SvgDrawing
from mockup.garment.regions import WORKING_PIXELS, Labels, Regions, find_regions
from mockup.garment.sections import merged_labels
from mockup.garment.symmetry import STRAIGHT_DEG, Mirror, find_mirror, mirror_line_x, turned
from mockup.garment.view import Area, Reading, View
from mockup.geometry import path as paths
from mockup.geometry.curve import corners
from mockup.geometry.path import XY, Floats, Path
from swatches.errors import GeometryError
from swatches.job import QUIET, Job, Part, check

GUESSED_BODY_MM = 700.0
SMOOTH_IN_LINE_WIDTHS = 1.5  # outlines do not follow the hand's tremor and the ends of gaps
_ALIKE = 0.86
_SIDEWAYS = 0.03
_CLOSES_THE_TOP = ("neck-facing", "collar", "hood", "hood-lining", "waistband", "bodice")


@dataclass(frozen=True, slots=True, eq=False)
class DrawnView:
    """A view made from a line drawing, with the pictures that belong to it.

    Attributes:
        view: areas, landmarks, edges; its scale is a guess until a length is known.
        labels: uint16, shape (h, w), 0 outside; to be saved under ``view.labels``.
        ink: strength of the lines, float32 0..1, shape (h, w).
        picture: the straightened picture, uint8 RGB (h, w, 3): to be saved under ``view.picture``.
        line_width_px: width of the drawn lines.
        gap_px: largest gap that was taken as closed.
        warnings: sentences for the person.
        darts: legs of the darts that are drawn in it, px, each (n, 2); they are no areas.
    """

    view: View
    labels: Labels
    ink: NDArray[np.float32]
    picture: NDArray[np.uint8]
    line_width_px: float
    gap_px: float
    warnings: tuple[str, ...] = ()
    darts: tuple[NDArray[np.float64], ...] = ()


def view_from_drawing(
    photo: object,
    *,
    name: str,
    side: str,
    picture: str,
    gap_px: float | None = None,
    line_px: float | None = None,
    dashes_are_seams: bool = False,
    darts_are_areas: bool = False,
    job: Job = QUIET,
) -> DrawnView:
    """Read a line drawing.

    Args:
        photo: a :class:`~swatches.photo.Photo`, an RGB array, or a :class:`~mockup.garment.picture_svg.SvgDrawing`.
        name: the view's name, unique in the project.
        side: 'front' or 'back' of the garment.
        picture: file name that the picture is kept under.
        gap_px: see :func:`~mockup.garment.regions.find_regions`.
        line_px: the same.
        dashes_are_seams: the same.
        darts_are_areas: whether small wedges and spindles stay areas; else they are taken for darts.
        job: told of progress.

    Raises:
        PictureError: nothing closed is drawn.
    """
    regions: Regions
    if isinstance(photo, SvgDrawing):
        drawing = replace(
            photo,
            gap_px=photo.gap_px if gap_px is None else gap_px,
            dashes_are_seams=photo.dashes_are_seams or dashes_are_seams,
        )
        photo, pixels, regions = drawing, drawing.rgb8, drawing.regions()
    else:
        pixels = photo if isinstance(photo, np.ndarray) else photo.rgb8  # type: ignore[attr-defined]
        regions = find_regions(
            photo, gap_px=gap_px, line_px=line_px, dashes_are_seams=dashes_are_seams, job=Part(job, 0.0, 0.5)
        )
    check(job)
    warnings = list(regions.warnings)
    mirror = find_mirror(at_working_size(regions.labels)[0] > 0)
    if _lies_sideways(mirror):
        warnings.append(_LIES_SIDEWAYS)
    elif abs(mirror.tilt_deg) > STRAIGHT_DEG and mirror.likeness > _ALIKE and not isinstance(photo, SvgDrawing):
        job.step("Straightening", 0.5)
        pixels = turned(np.ascontiguousarray(pixels), mirror.tilt_deg)
        regions = find_regions(
            pixels,
            gap_px=gap_px or regions.gap_px,
            line_px=line_px or regions.line_width_px,
            dashes_are_seams=dashes_are_seams,
            job=Part(job, 0.5, 0.8),
        )
        warnings.append(f"The picture was tilted by {abs(mirror.tilt_deg):.1f}° and was straightened.")
    check(job)
    job.step("Naming the areas", 0.85)
    if mirror.likeness < _ALIKE:
        warnings.append("The two halves differ: look whether the middle of the garment is where it should be.")
    exact = photo if isinstance(photo, SvgDrawing) else None
    small, factor = at_working_size(regions.labels)
    darts = () if darts_are_areas else drawn_darts(small, mirror_line_x(small > 0))
    if darts:
        regions = replace(regions, labels=without_darts(regions.labels, darts))
        warnings.append(darts_said(len(darts)))
    shapes = exact if exact is None or not darts else WithoutDarts(exact, darts)
    view, more = _view(regions, shapes, name=name, side=side, picture=picture)
    if exact is not None:
        view = _with_exact_middle(view)
    how = Reading(
        float(regions.line_width_px), float(regions.gap_px), line_px is not None, gap_px is not None, dashes_are_seams,
        darts_are_areas=darts_are_areas,
    )  # fmt: skip
    view = replace(view, reading=how)
    job.step("Drawing read", 1.0)
    rgb = pixels if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=2)
    legs = tuple(px_points(d, factor) for d in darts)
    return DrawnView(
        view, regions.labels, regions.ink, rgb, regions.line_width_px, regions.gap_px, (*warnings, *more), legs
    )


_LIES_SIDEWAYS = "The drawing seems to lie on its side: turn the picture upright and add it again."


def sideways_said(labels: Labels) -> tuple[str, ...]:
    """What a person is told of a drawing that lies on its side; nothing of one that stands."""
    return (_LIES_SIDEWAYS,) if _lies_sideways(find_mirror(at_working_size(labels)[0] > 0)) else ()


def _lies_sideways(mirror: Mirror) -> bool:
    return mirror.sideways > mirror.likeness + _SIDEWAYS and mirror.sideways > _ALIKE


def darts_said(number: int) -> str:
    """What a person is told of darts that were found in a drawing."""
    return (
        f"{number} small wedges or spindles are taken for darts and marked as sewn in. If they are none, read the "
        "drawing again with 'Small wedges are no darts'; by command it is 'mockup area read' with --darts-are-areas."
    )


def at_working_size(labels: Labels) -> tuple[Labels, float]:
    """Give labels at working size, and how many px of the picture one of its px is."""
    h, w = labels.shape
    scale = min(1.0, float(np.sqrt(WORKING_PIXELS / (h * w))))
    if scale == 1:
        return labels, 1.0
    size = (round(w * scale), round(h * scale))
    return np.asarray(cv2.resize(labels, size, interpolation=cv2.INTER_NEAREST), np.uint16), w / size[0]


def _view(
    regions: Regions,
    exact: Shapes | None,
    *,
    name: str,
    side: str,
    picture: str,
) -> tuple[View, list[str]]:
    small, factor = at_working_size(regions.labels)
    mirror_x = mirror_line_x(small > 0)
    smooth = SMOOTH_IN_LINE_WIDTHS * regions.line_width_px / factor
    found = areas_of(small, mirror_x, side, scale=factor, smooth_px=smooth, exact=exact)
    body = found.areas[0]
    # the body's own middle, where it is nearly that of the whole
    own = mirror_line_x(np.isin(small, [a.label for a in found.sections] or [body.label]))
    if abs(own - mirror_x) < 0.02 * small.shape[1]:
        mirror_x = own
    h, w = regions.labels.shape
    view = View(
        name=name,
        side=side,
        picture=picture,
        kind="drawing",
        size=(w, h),
        labels=f"{name}-labels.png",
        areas=found.areas,
        landmarks={},
        mirror_x=mirror_x * factor,
        mm_per_px=guessed_scale(body),
        scale_measured=False,
        origin_px=(mirror_x * factor, 0.0),
        sections=found.sections,
        seams=found.seams,
    )
    view, warnings = find_landmarks(view, regions.labels, line_px=0.0 if exact else regions.line_width_px)
    return view, [*found.warnings, *warnings]


def guessed_scale(body: Area) -> float:
    """Scale for a body of ordinary height, until a length is known."""
    _, top, _, bottom = paths.bounds(paths.from_tuples(body.outline))
    return GUESSED_BODY_MM / max(bottom - top, 1.0)


def find_landmarks(
    view: View, labels: Labels, given: dict[str, XY] | None = None, *, line_px: float = 0.0
) -> tuple[View, list[str]]:
    """Find landmarks and edges of a view's body; given ones win.

    Args:
        view: the view.
        labels: its label picture.
        given: points that are known, px.
        line_px: width of the drawn lines, where they may run together in an underarm; 0: outlines are exact.

    Returns:
        The view, and warnings about what could not be found.
    """
    outline = paths.from_tuples(view.body.outline)
    left, top, right, bottom = paths.bounds(outline)
    reach = max(9.0, 0.016 * (bottom - top))
    beside = _beside(merged_labels(labels, view.body_labels), view.body_labels[0])
    middle = (left + right) / 2 if view.mirror_x is None else view.mirror_x
    try:
        on_right, on_left = halves.halves(outline, middle, beside, reach)
    except GeometryError:  # a body that lies beside the middle of the whole, such as one trouser leg
        middle = (left + right) / 2
        on_right, on_left = halves.halves(outline, middle, beside, reach)
    view = replace(view, mirror_x=middle)
    sleeves = frozenset(a.label for a in view.areas if a.part == "sleeve")
    above = frozenset(a.label for a in view.areas if a.part in _CLOSES_THE_TOP)
    found: dict[str, XY] = {}
    read = {}
    for half, word in ((on_right, "left"), (on_left, "right")):
        wearer = word if view.side == "front" else ("right" if word == "left" else "left")
        index = halves.read_half(half, sleeves=sleeves, top=above)
        if line_px and "underarm" in index:
            under = [a.outline for a in view.areas if a.part == "sleeve" and a.label in half.beside]
            index["underarm"] = halves.parting(half, index["underarm"], under, line_px)
        read[wearer] = (half, index)
    kinds = _agreed(read)
    for wearer, (half, index) in read.items():
        other = read["right" if wearer == "left" else "left"]
        for kind in kinds:
            if kind in index:
                found[f"{kind}-{wearer}"] = _xy(half.points[index[kind]])
            elif kind in other[1]:
                x, y = other[0].points[other[1][kind]]
                found[f"{kind}-{wearer}"] = (2 * middle - float(x), float(y))
    found = _on_corners(found, outline, reach / 4)
    found.update(given or {})
    warnings = []
    try:
        view = points.with_landmarks(view, found)
    except GeometryError:
        sure = {k: v for k, v in found.items() if k.startswith(("hem", "neck", "waist")) or k in (given or {})}
        try:
            view = points.with_landmarks(view, sure)
        except GeometryError:  # nothing fits, as where a garment lies on its side
            view = points.with_landmarks(view, {})
        warnings.append("Some points of the garment could not be told apart: place shoulder and underarm yourself.")
    missing = {"neck", "shoulder", "underarm"} - {k.rpartition("-")[0] for k in view.landmarks}
    if missing and not any(k.startswith("waist") for k in view.landmarks):
        named = ", ".join(points.WORDS[m] for m in ("neck", "shoulder", "underarm") if m in missing)
        warnings.append(
            f"Not found: {named}. Place what the garment has under 'What garment?', 'The points of the garment', "
            "or with 'mockup landmark move'."
        )
    return points.with_origin(view), warnings


def _agreed(read: dict[str, tuple[halves.Half, dict[str, int]]]) -> list[str]:
    """Kinds of points to use: those that both halves show, or one half where the other shows fewer."""
    a, b = (set(index) for _, index in read.values())
    if ("waist" in a) != ("waist" in b):
        # a skirt has no neck: believe the half that tells more
        return [k for k in points.ORDER if k in (a if "waist" not in a else b)]
    return [k for k in points.ORDER if k in a | b]


def _on_corners(found: dict[str, XY], outline: Path, reach: float) -> dict[str, XY]:
    """Move found points onto the outline's true corners, where one is within ``reach`` px."""
    places = corners(outline, least_deg=20)
    if not places:
        return found
    sharp = outline.cubics[[segment for segment, _ in places], 0]
    moved = {}
    for name, point in found.items():
        away = np.linalg.norm(sharp - point, axis=1)
        near = int(away.argmin())
        moved[name] = _xy(sharp[near]) if away[near] <= reach else point
    return moved


def _with_exact_middle(view: View) -> View:
    """Put the mirror line of an exact drawing midway between its twin points, where they agree."""
    names = {k.rpartition("-")[0] for k in view.landmarks if k.endswith("-left")}
    pairs = [(view.landmarks[f"{n}-left"], view.landmarks.get(f"{n}-right")) for n in names]
    middles = [(a[0] + b[0]) / 2 for a, b in pairs if b is not None]
    if view.mirror_x is None or len(middles) < 2 or np.ptp(middles) > 0.5:
        return view
    middle = float(np.median(middles))
    if abs(middle - view.mirror_x) > 3:
        return view
    return points.with_origin(points.with_landmarks(replace(view, mirror_x=middle), view.landmarks))


def _xy(point: Floats) -> XY:
    return float(point[0]), float(point[1])


def _beside(labels: Labels, own: int) -> Callable[[Floats, Floats], NDArray[np.intp]]:
    """Give a function that looks up which label lies just outside of outline points."""
    h, w = labels.shape

    def look(at: Floats, normal: Floats) -> NDArray[np.intp]:
        found = np.full(len(at), own, np.intp)
        for step in (2.0, 3.5, 5.0, 8.0):
            spot = at + normal * step * max(1.0, np.sqrt(h * w / WORKING_PIXELS))
            x, y = np.floor(spot[:, 0]).astype(int), np.floor(spot[:, 1]).astype(int)
            inside = (x >= 0) & (y >= 0) & (x < w) & (y < h)
            value = np.where(inside, labels[np.clip(y, 0, h - 1), np.clip(x, 0, w - 1)], 0)
            found = np.where(found == own, value, found)
        return found

    return look
