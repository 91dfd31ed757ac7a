"""From pictures to views: drawings and photos of the garment, and their scale."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockup.garment.area_record import done_again
from mockup.garment.drawing import DrawnView, sideways_said, view_from_drawing
from mockup.garment.follow_edge import follow_edge
from mockup.garment.mask import Mask, cut_out
from mockup.garment.mask_file import read_cut, write_cut
from mockup.garment.photo_view import view_from_mask
from mockup.garment.picture_svg import SvgDrawing, read_svg_drawing
from mockup.garment.regions import Regions, find_regions
from mockup.garment.roundness import turn_seen
from mockup.garment.scale import scale_doubts, scaled_like, set_measure
from mockup.garment.view import View
from mockup.journey.area_work import as_drawn, carried_over
from mockup.journey.known import Source, find
from mockup.journey.painting import labels_of
from mockup.journey.sewn_in import with_drawn_darts
from mockup.project import Project
from swatches.errors import InputError, PictureError
from swatches.job import QUIET, Job, Part
from swatches.photo import Photo, read_photo, write_png
from swatches.safe_write import write_whole
from swatches.units import Length, length

Points = Sequence[tuple[float, float]]
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


def put_photo(
    folder: Path,
    project: Project,
    photo: Source,
    *,
    around: Points | None = None,
    box: tuple[float, float, float, float] | None = None,
    along: Points | None = None,
    keep: Sequence[Points] = (),
    drop: Sequence[Points] = (),
    landmarks: Mapping[str, tuple[float, float]] | None = None,
    side: str = "front",
    name: str = "photo",
    turn_deg: float | None = None,
    warnings: list[str] | None = None,
    job: Job = QUIET,
) -> Project:
    """Add a photo of the garment, cut out; the lines of its side run over it too.

    Args:
        folder: the project's folder.
        project: the project.
        photo: the photo.
        around: rough outline round the garment, px; or
        box: x, y, width, height round it, px; or
        along: points on its edge, px, between which the edge is followed; none of them: an outline is suggested.
        keep: short strokes on what belongs to the garment, px.
        drop: strokes on what does not, px.
        landmarks: landmarks that are known, px.
        side: the side that it shows.
        name: name of the view.
        turn_deg: how far round the form the side seams are seen; 0 for a garment that lies flat; None: by its width.
        warnings: takes what a person should know, one sentence each.
        job: progress and cancellation.

    Raises:
        PictureError: the photo cannot be used, or nothing is left of it.
    """
    read = read_photo(photo, what="photo")
    if along is not None:
        around = [(x, y) for x, y in follow_edge(read, along, job=job).tolist()]
    mask = cut_out(read, around=around, box=box, keep=keep, drop=drop, job=job)
    if warnings is not None:
        warnings.extend(read.notes)
    return put_mask(
        folder, project, read, mask, landmarks=landmarks, side=side, name=name, turn_deg=turn_deg, warnings=warnings
    )


def dab(
    folder: Path,
    project: Project,
    name: str = "photo",
    *,
    keep: Sequence[Points] = (),
    drop: Sequence[Points] = (),
    warnings: list[str] | None = None,
    job: Job = QUIET,
) -> Project:
    """Put the outline of a photo right with dabs; it goes on from the cut that was made.

    Args:
        folder: the project's folder.
        project: the project.
        name: name of the photo's view.
        keep: short strokes on what belongs to the garment, px.
        drop: strokes on what does not, px.
        warnings: takes what a person should know, one sentence each.
        job: progress and cancellation.

    Raises:
        InputError: there is no such photo, or it was not cut out yet.
        PictureError: nothing is left of it.
    """
    view = find(project, "view", name)
    pictures = folder / "pictures"
    earlier = read_cut(pictures / f"{name}-cut.npz")
    if earlier is None or earlier.alpha.shape != view.size[::-1]:
        raise InputError(
            "dab", expected="a garment that was drawn round", got="none yet", next_step="Draw round the garment first"
        )
    read = read_photo(pictures / view.picture, what="photo")
    mask = cut_out(read, keep=keep, drop=drop, earlier=earlier, job=job)
    return put_mask(
        folder, project, read, mask, side=view.side, name=name, new_photo=False,
        warnings=warnings,
    )  # fmt: skip


def put_mask(
    folder: Path,
    project: Project,
    photo: Photo,
    mask: Mask,
    *,
    landmarks: Mapping[str, tuple[float, float]] | None = None,
    side: str = "front",
    name: str = "photo",
    turn_deg: float | None = None,
    new_photo: bool = True,
    warnings: list[str] | None = None,
) -> Project:
    """Add a photo with its mask as a view of the garment; scaled like the drawing of its side, where there is one.

    Points that the person placed on the same photo before stay, and so do its areas.
    """
    before = next((v for v in project.views if v.name == name and v.kind == "photo" and v.size == photo.size), None)
    known = dict(landmarks or {})
    if before is not None:
        known = {n: before.landmarks[n] for n in before.placed if n in before.landmarks} | known
    found = view_from_mask(mask, name=name, side=side, picture=f"{name}.png", landmarks=known or None)
    if warnings is not None:
        warnings.extend(w for w in found.warnings if w not in warnings)
    view = replace(found.view, placed=tuple(n for n in known if n in found.view.landmarks))
    drawing = next((v for v in project.views if v.side == side and v.kind == "drawing"), None)
    if drawing is not None:
        view = scaled_like(view, drawing)
        view = replace(view, turn_deg=turn_seen(view, drawing) if turn_deg is None else turn_deg)
    elif before is not None and before.scale_measured:
        view = replace(view, mm_per_px=before.mm_per_px, scale_measured=True)
    labels = found.labels
    if before is not None and before.edits:
        drawn = done_again(as_drawn(view, labels), before.edits, lambda: labels)
        view, labels = drawn.view, drawn.labels
    pictures = folder / "pictures"
    if new_photo:
        write_png(pictures / view.picture, photo.rgb8, compress=_QUICK)
    write_png(pictures / view.labels, labels, compress=_QUICK)
    write_png(pictures / f"{name}-mask.png", np.asarray(np.round(mask.alpha * 255), np.uint8), compress=_QUICK)
    write_cut(pictures / f"{name}-cut.npz", mask)
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
                str(picture), expected="a picture that can be read", got=str(error.strerror), next_step="Check its name"
            ) from error  # fmt: skip
    return bool(_SVG_HEAD.match(head.removeprefix(b"\xef\xbb\xbf")))
