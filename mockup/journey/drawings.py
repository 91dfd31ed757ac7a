"""Drawings of the garment: from a picture to a view with areas, and a project of one or two of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockup.files.given import first_bytes
from mockup.garment.drawing import DrawnView, sideways_said, view_from_drawing
from mockup.garment.picture_svg import SvgDrawing, read_svg_drawing
from mockup.garment.regions import Regions, find_regions
from mockup.garment.scale import scaled_like
from mockup.garment.view import View
from mockup.journey.area_work import carried_over
from mockup.journey.known import Source
from mockup.journey.painting import labels_of
from mockup.journey.scale import measure
from mockup.journey.sewn_in import with_drawn_darts
from mockup.project import Project
from swatches.errors import InputError, PictureError
from swatches.job import QUIET, Job, Part
from swatches.photo import Photo, read_photo, write_png
from swatches.safe_write import write_whole
from swatches.units import Length

_SVG_HEAD = re.compile(rb"^\s*(<\?xml|<!--|<!DOCTYPE|<svg)", re.IGNORECASE)
_QUICK = 1  # the working copy of a scan is noisy: more effort hardly makes it smaller
_SIDES = ("front", "back")
_THE_SAME = 0.9  # overlap from which a drawing that is laid in again shows the same garment in the same place


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
    pictures = folder / "pictures"
    before = next((v for v in project.views if v.name == side), None)
    if before is not None:
        drawn = _as_before(pictures, drawn, before, picture)
    if warnings is not None:
        warnings.extend(f"{side}: {sentence}" for sentence in drawn.warnings)
    view = drawn.view
    ink = np.asarray(np.round(np.clip(drawn.ink, 0, 1) * 255), np.uint8)
    write_png(pictures / view.picture, drawn.picture, compress=_QUICK)
    write_png(pictures / view.labels, drawn.labels)
    write_png(pictures / f"{view.name}-ink.png", ink)
    if _is_svg(picture) and view.reading is not None:  # its lines are exact: it is read again from them
        data = picture if isinstance(picture, bytes) else picture.read_bytes()
        view = replace(view, reading=replace(view.reading, source=f"{side}.svg"))
        write_whole(pictures / f"{side}.svg", data, what=f"{side} drawing")
    known = next((v for v in project.views if v.scale_measured and v.edges and v.side != side), None)
    if known is not None and view.edges and not view.scale_measured:
        view = scaled_like(view, known)
    return with_drawn_darts(project.put_view(view), side, drawn.darts)


def _as_before(pictures: Path, drawn: DrawnView, before: View, picture: Source) -> DrawnView:
    """Carry areas, names and points over, where a drawing that is laid in again shows the same garment."""
    if before.size != drawn.view.size or before.kind != "drawing" or not (pictures / before.labels).exists():
        return drawn
    labels = labels_of(pictures / before.labels)
    both, either = ((labels > 0) & (drawn.labels > 0)).sum(), ((labels > 0) | (drawn.labels > 0)).sum()
    if both < _THE_SAME * either:
        return drawn

    def parted() -> NDArray[np.uint16]:
        source = read_drawing(picture)
        if isinstance(source, SvgDrawing):
            return replace(source, dashes_are_seams=True).regions().labels
        return find_regions(drawn.picture, gap_px=drawn.gap_px, dashes_are_seams=True).labels

    return carried_over(drawn, before, labels, parted)


def drawn_view(picture: Source, *, name: str = "drawing", side: str = "front", job: Job = QUIET) -> DrawnView:
    """Read a drawing and find what it shows.

    Raises:
        PictureError: it cannot be used, or no area is closed in it.
    """
    source = read_drawing(picture, what=f"{side} drawing")
    drawn = view_from_drawing(source, name=name, side=side, picture=f"{name}.png", job=job)
    notes = source.notes if isinstance(source, Photo) else ()
    return replace(drawn, warnings=(*notes, *drawn.warnings))


def read_drawing(picture: Source, *, what: str = "drawing") -> Photo | SvgDrawing:
    """Read a drawing: SVG by its lines, anything else by its pixels.

    Raises:
        PictureError: it cannot be used.
    """
    return read_svg_drawing(picture) if _is_svg(picture) else read_photo(picture, what=what)


def regions_of(
    picture: Source,
    *,
    gap_px: float | None = None,
    line_px: float | None = None,
    stitching_is_seam: bool = False,
    job: Job = QUIET,
) -> Regions:
    """Find the closed areas of a drawing; see :func:`~mockup.garment.regions.find_regions`.

    Raises:
        PictureError: it cannot be used, or nothing closed is drawn.
    """
    source = read_drawing(picture)
    if isinstance(source, SvgDrawing):
        found = replace(source, gap_px=gap_px, dashes_are_seams=stitching_is_seam).regions()
    else:
        found = find_regions(source, gap_px=gap_px, line_px=line_px, dashes_are_seams=stitching_is_seam, job=job)
        found = replace(found, warnings=(*source.notes, *found.warnings))
    return replace(found, warnings=found.warnings + sideways_said(found.labels))


def _is_svg(picture: Source) -> bool:
    head = first_bytes(picture, 512, error=PictureError)
    return bool(_SVG_HEAD.match(head.removeprefix(b"\xef\xbb\xbf")))
