"""From pictures to views: drawings and photos of the garment, and their scale."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from mockup.garment.drawing import DrawnView, view_from_drawing
from mockup.garment.mask import Mask, cut_out
from mockup.garment.photo_view import view_from_mask
from mockup.garment.picture_svg import SvgDrawing, read_svg_drawing
from mockup.garment.regions import Regions, find_regions
from mockup.garment.scale import scale_doubts, scaled_like, set_measure
from mockup.garment.view import View
from mockup.journey.known import Source, find
from mockup.project import Project
from swatches.errors import InputError, PictureError
from swatches.job import QUIET, Job, Part
from swatches.photo import Photo, read_photo, write_png
from swatches.units import Length, length

Points = Sequence[tuple[float, float]]
_SVG_HEAD = re.compile(rb"^\s*(<\?xml|<!--|<!DOCTYPE|<svg)", re.IGNORECASE)
_QUICK = 1  # the working copy of a scan is noisy: more effort hardly makes it smaller
_SIDES = ("front", "back")
ON_A_FORM_DEG = 65.0
"""Our own choice: a garment with some ease does not turn quite to the side of the form."""


def new_project(
    folder: Path,
    front: Source,
    back: Source | None = None,
    *,
    measures: Sequence[tuple[str, str, Length | float | str]] = (),
    name: str = "",
    date: str = "",
    warnings: list[str] | None = None,
    job: Job = QUIET,
) -> Project:
    """Make a project of one or two drawings; gives it unsaved.

    Args:
        folder: the project's folder; pictures are written into it.
        front: drawing of the front, a file or its bytes: PNG, JPEG, SVG, …
        back: drawing of the back, or None.
        measures: known lengths as (view, edge, length): ('front', 'centre-front', '680mm').
        name: the person's word for the garment; empty: the folder's name.
        date: ISO date for prints, or empty.
        warnings: takes what a person should know of the drawings, one sentence each.
        job: progress and cancellation.

    Raises:
        PictureError: a drawing cannot be used.
        InputError: a measure is none.
    """
    project = Project(name or folder.name, date=date)
    project = put_drawing(folder, project, side="front", picture=front, warnings=warnings, job=Part(job, 0.0, 0.5))
    if back is not None:
        project = put_drawing(folder, project, side="back", picture=back, warnings=warnings, job=Part(job, 0.5, 1.0))
    for view, edge, value in measures:
        project = measure(project, view, edge, value, warnings=warnings)
    return project


def put_drawing(
    folder: Path,
    project: Project,
    *,
    side: str,
    picture: Source,
    warnings: list[str] | None = None,
    job: Job = QUIET,
) -> Project:
    """Add the drawing of one side, or put another in its place; its view is named after the side.

    ``warnings`` takes what a person should know of it, one sentence each.

    Raises:
        PictureError: the picture cannot be used, or no area is closed in it.
    """
    if side not in _SIDES:
        raise InputError("side", expected="front or back", got=side, next_step="Say which side the picture shows")
    drawn = drawn_view(picture, name=side, side=side, job=job)
    if warnings is not None:
        warnings.extend(f"{side}: {sentence}" for sentence in drawn.warnings)
    pictures = folder / "pictures"
    view = drawn.view
    ink = np.asarray(np.round(np.clip(drawn.ink, 0, 1) * 255), np.uint8)
    write_png(pictures / view.picture, drawn.picture, compress=_QUICK)
    write_png(pictures / view.labels, drawn.labels)
    write_png(pictures / f"{view.name}-ink.png", ink)
    known = next((v for v in project.views if v.scale_measured and v.edges and v.side != side), None)
    if known is not None and view.edges:
        view = scaled_like(view, known)
    return project.put_view(view)


def drawn_view(picture: Source, *, name: str = "drawing", side: str = "front", job: Job = QUIET) -> DrawnView:
    """Read a drawing and find what it shows.

    Raises:
        PictureError: it cannot be used, or no area is closed in it.
    """
    source = read_drawing(picture, what=f"{side} drawing")
    return view_from_drawing(source, name=name, side=side, picture=f"{name}.png", job=job)


def read_drawing(picture: Source, *, what: str = "drawing") -> Photo | SvgDrawing:
    """Read a drawing: SVG by its lines, anything else by its pixels.

    Raises:
        PictureError: it cannot be used.
    """
    return read_svg_drawing(picture) if _is_svg(picture) else read_photo(picture, what=what)


def regions_of(picture: Source, *, gap_px: float | None = None, job: Job = QUIET) -> Regions:
    """Find the closed areas of a drawing.

    Raises:
        PictureError: it cannot be used, or nothing closed is drawn.
    """
    source = read_drawing(picture)
    return source.regions() if isinstance(source, SvgDrawing) else find_regions(source, gap_px=gap_px, job=job)


def put_photo(
    folder: Path,
    project: Project,
    photo: Source,
    *,
    around: Points | None = None,
    box: tuple[float, float, float, float] | None = None,
    keep: Sequence[Points] = (),
    drop: Sequence[Points] = (),
    landmarks: Mapping[str, tuple[float, float]] | None = None,
    side: str = "front",
    name: str = "photo",
    turn_deg: float = ON_A_FORM_DEG,
    job: Job = QUIET,
) -> Project:
    """Add a photo of the garment, cut out; the lines of its side run over it too.

    Args:
        folder: the project's folder.
        project: the project.
        photo: the photo.
        around: rough outline round the garment, px; or
        box: x, y, width, height round it, px; neither: the whole picture but its margin.
        keep: short strokes on what belongs to the garment, px.
        drop: strokes on what does not, px.
        landmarks: landmarks that are known, px.
        side: the side that it shows.
        name: name of the view.
        turn_deg: how far round the form the side seams are seen; 0 for a garment that lies flat.
        job: progress and cancellation.

    Raises:
        PictureError: the photo cannot be used, or nothing is left of it.
    """
    read = read_photo(photo, what="photo")
    if around is None and box is None:
        w, h = read.size
        box = (0.04 * w, 0.04 * h, 0.92 * w, 0.92 * h)
    mask = cut_out(read, around=around, box=box, keep=keep, drop=drop, job=job)
    return put_mask(folder, project, read, mask, landmarks=landmarks, side=side, name=name, turn_deg=turn_deg)


def put_mask(
    folder: Path,
    project: Project,
    photo: Photo,
    mask: Mask,
    *,
    landmarks: Mapping[str, tuple[float, float]] | None = None,
    side: str = "front",
    name: str = "photo",
    turn_deg: float = ON_A_FORM_DEG,
) -> Project:
    """Add a photo with its mask as a view of the garment; scaled like the drawing of its side, where there is one."""
    found = view_from_mask(
        mask, name=name, side=side, picture=f"{name}.png", landmarks=None if landmarks is None else dict(landmarks)
    )
    view = found.view
    drawing = next((v for v in project.views if v.side == side and v.kind == "drawing"), None)
    if drawing is not None and not view.scale_measured:
        view = replace(scaled_like(view, drawing), turn_deg=turn_deg)
    pictures = folder / "pictures"
    write_png(pictures / view.picture, photo.rgb8, compress=_QUICK)
    write_png(pictures / view.labels, found.labels)
    write_png(pictures / f"{name}-mask.png", np.asarray(np.round(mask.alpha * 255), np.uint8))
    return project.put_view(view)


def measure(
    project: Project, view: str, edge: str, value: Length | float | str, *, warnings: list[str] | None = None
) -> Project:
    """Give a view its scale by one known length along an edge; views without a length of their own follow it.

    ``warnings`` takes a sentence where two lengths do not fit each other.

    Raises:
        InputError: there is no such view or edge, or the length is none.
    """
    known = length(value, what=f"{view}:{edge}", minimum_mm=1.0)
    scaled = set_measure(find(project, "view", view), edge, known.mm)
    project = follow_scale(project.put_view(scaled), scaled)
    if warnings is not None:
        warnings.extend(w for w in scale_doubts(project.views) if w not in warnings)
    return project


def follow_scale(project: Project, known: View) -> Project:
    """Let the views whose scale nobody measured follow one that was: photos of its side, and the other side."""
    for view in project.views:
        photo = view.kind == "photo" and known.kind == "drawing" and view.side == known.side
        if view.name != known.name and view.edges and (photo or not view.scale_measured):
            project = project.put_view(scaled_like(view, known))
    return project


def _is_svg(picture: Source) -> bool:
    if isinstance(picture, bytes):
        head = picture[:512]
    else:
        try:
            with picture.open("rb") as file:
                head = file.read(512)
        except OSError as error:
            raise PictureError(
                str(picture),
                expected="a picture that can be read",
                got=error.strerror or "an error",
                next_step="Check the name of the file",
            ) from error
    return bool(_SVG_HEAD.match(head.removeprefix(b"\xef\xbb\xbf")))
