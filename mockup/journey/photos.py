"""Photos of the garment: cut out, put right with dabs, and added as a view that the lines of its side run over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from mockup.garment.area_record import done_again
from mockup.garment.follow_edge import follow_edge
from mockup.garment.mask import Mask, cut_out
from mockup.garment.mask_file import read_cut, write_cut
from mockup.garment.photo_view import view_from_mask
from mockup.garment.roundness import turn_seen
from mockup.garment.scale import scaled_like
from mockup.journey.area_work import as_drawn
from mockup.journey.known import Source, find
from mockup.project import Project
from swatches.errors import InputError
from swatches.job import QUIET, Job
from swatches.photo import Photo, read_photo, write_png

Points = Sequence[tuple[float, float]]
_QUICK = 1  # a photo is noisy: more effort hardly makes the file smaller


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
    edge = None if along is None else follow_edge(read, along, job=job)
    mask = cut_out(read, around=around, box=box, edge=edge, keep=keep, drop=drop, job=job)
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
