"""What a person does to the areas and points of a view that is in the project; and reading its drawing again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockup.garment.area_edits import keep_names
from mockup.garment.area_record import Parted, done, done_again, place_in
from mockup.garment.drawing import SMOOTH_IN_LINE_WIDTHS, DrawnView, view_from_drawing
from mockup.garment.landmarks import move_landmark
from mockup.garment.photo_view import SMOOTH_SHARE
from mockup.garment.picture_svg import read_svg_drawing
from mockup.garment.regions import find_regions
from mockup.garment.view import AreaEdit, View
from mockup.geometry.path import XY
from mockup.journey.known import find
from mockup.journey.painting import labels_of
from mockup.journey.sewn_in import with_drawn_darts
from mockup.project import Project
from mockup.stylelines.anchor import place_line
from mockup.stylelines.styleline import StyleLine
from swatches.errors import InputError, MockupError
from swatches.job import QUIET, Job
from swatches.photo import read_photo, write_png
from swatches.words import counted

Labels = NDArray[np.uint16]


def join_areas(
    folder: Path, project: Project, view: str, areas: Sequence[str], *, warnings: list[str] | None = None
) -> Project:
    """Join areas of a view, named by id.

    Raises:
        InputError: there is no such view.
        PictureError: there is no such area, or they do not touch.
    """
    seen = find(project, "view", view)
    every = [s.id for s in seen.sections]  # the body, where it has sections, is all of them
    ids = [i for a in areas for i in (every if a == seen.body.id and every else [a])]
    edit = AreaEdit("join", tuple(place_in(seen, i) for i in dict.fromkeys(ids)))
    return edit_areas(folder, project, view, edit, warnings=warnings)


def edit_areas(
    folder: Path, project: Project, view: str, edit: AreaEdit, *, warnings: list[str] | None = None
) -> Project:
    """Join, divide or name areas of a view by places in its picture; its label picture is written anew.

    Args:
        folder: the project's folder.
        project: the project.
        view: name of the view.
        edit: what to do.
        warnings: takes what a person should know.

    Raises:
        InputError: there is no such view.
        PictureError: it cannot be done; says why.
    """
    drawn = view_as_drawn(folder, find(project, "view", view))
    made = done(drawn, edit, lambda: _parted(folder, drawn.view))
    if warnings is not None:
        warnings.extend(w for w in made.warnings if w not in warnings)
    return _kept(folder, project, made)


def read_again(
    folder: Path,
    project: Project,
    view: str,
    *,
    gap_px: float | None = None,
    line_px: float | None = None,
    stitching_is_seam: bool = False,
    darts_are_areas: bool = False,
    warnings: list[str] | None = None,
    job: Job = QUIET,
) -> Project:
    """Read a drawing again with another gap size or line width; areas joined, divided and named stay so.

    Args:
        folder: the project's folder.
        project: the project.
        view: name of a drawing.
        gap_px: largest gap in a line that is taken as closed, px; None: by the line width.
        line_px: width of the lines, px; None: estimated.
        stitching_is_seam: whether dashed lines part areas.
        darts_are_areas: whether small wedges and spindles are areas, and no darts.
        warnings: takes what a person should know.
        job: progress and cancellation.

    Raises:
        InputError: there is no such drawing, or lines that lie on it have no place in the new reading.
        PictureError: nothing closed is found.
    """
    before = find(project, "view", view)
    if before.kind != "drawing":
        raise InputError(
            "drawing", expected="a line drawing", got=f"{view}, a photo", next_step="Draw round the garment again"
        )
    picture = folder / "pictures" / before.picture
    svg = folder / "pictures" / before.reading.source if before.reading and before.reading.source else None
    source = read_photo(picture, what=f"{view} drawing") if svg is None else read_svg_drawing(svg)
    drawn = view_from_drawing(
        source, name=before.name, side=before.side, picture=before.picture, gap_px=gap_px, line_px=line_px,
        dashes_are_seams=stitching_is_seam, darts_are_areas=darts_are_areas, job=job,
    )  # fmt: skip
    drawn = carried_over(
        drawn, before, labels_of(folder / "pictures" / before.labels), lambda: _parted(folder, drawn.view)
    )
    _lines_stay(project, project.put_view(drawn.view), before)
    if warnings is not None:
        warnings.extend(w for w in drawn.warnings if w not in warnings)
    write_png(folder / "pictures" / f"{view}-ink.png", np.asarray(np.round(np.clip(drawn.ink, 0, 1) * 255), np.uint8))
    return with_drawn_darts(_kept(folder, project, drawn), before.side, drawn.darts)


def _lines_stay(project: Project, again: Project, before: View) -> None:
    """Refuse a reading in which lines have lost their places, by the names of those lines."""

    def placed(line: StyleLine, where: Project) -> bool:
        try:
            place_line(line, where.view(before.name), where.lines)
        except MockupError:
            return False
        return True

    lines = [line for line in project.lines if line.side == before.side]
    lost = [line.name for line in lines if placed(line, project) and not placed(line, again)]
    if not lost:
        return
    names = ["'" + re.sub(r" \([^)]*\)", "", name) + "'" for name in lost]  # without what a preset explains in brackets
    gone = {e.name for e in before.edges} - {e.name for e in again.view(before.name).edges}
    why = f", since no {' and no '.join(sorted(gone))} is found in it" if gone else ""
    raise InputError(
        f"the {before.side} drawing, read like that",
        expected="a place for every line that lies on it",
        got=f"none for {counted(len(lost), 'line')}{why}",
        next_step=f"Remove {' and '.join(names)} first, under 'Where do the lines run?' or with 'mockup line remove', "
        "or leave the reading as it was",
    )


def carried_over(drawn: DrawnView, before: View, labels: Labels, parted: Parted) -> DrawnView:
    """Carry what the person did to an earlier reading of a picture over to a new one: areas, names, points, scale.

    Args:
        drawn: the new reading.
        before: the earlier view.
        labels: its label picture.
        parted: see :data:`~mockup.garment.area_record.Parted`.
    """
    drawn = done_again(drawn, before.edits, parted)
    drawn = keep_names(drawn, before, labels)
    view = replace(drawn.view, mm_per_px=before.mm_per_px, scale_measured=before.scale_measured)
    source = before.reading.source if before.reading else ""
    if view.reading is not None and source:
        view = replace(view, reading=replace(view.reading, source=source))
    lost = []
    for name in before.placed:
        try:
            view = move_landmark(view, name, before.landmarks[name])
        except MockupError:
            lost.append(name.replace("-", " "))
    said = [f"Not found on the outline any more: {', '.join(lost)}."] if lost else []
    return replace(drawn, view=view, warnings=(*drawn.warnings, *said))


def move_point(project: Project, view: str, name: str, to: XY) -> Project:
    """Move a landmark of a view; it stays on the body's outline.

    Raises:
        InputError: there is no such view.
        GeometryError: there is no such point, or it would pass its neighbour.
    """
    return project.put_view(move_landmark(find(project, "view", view), name, to))


def view_as_drawn(folder: Path, view: View) -> DrawnView:
    """Give a view as it was read, with its labels only: its pictures are not needed to edit areas.

    Raises:
        InputError: it has no areas.
    """
    if not view.labels or not view.areas:
        raise InputError(
            "areas", expected="a picture whose areas were found", got=view.name, next_step="Add the picture again"
        )
    return as_drawn(view, labels_of(folder / "pictures" / view.labels))


def as_drawn(view: View, labels: Labels) -> DrawnView:
    """A view with its labels as area edits take it; its other pictures are empty."""
    if view.kind == "photo":
        width = SMOOTH_SHARE * max(view.size) / SMOOTH_IN_LINE_WIDTHS
    else:
        width = view.reading.line_width_px if view.reading else max(2.0, 0.002 * max(view.size))
    gap = view.reading.gap_px if view.reading else 0.0
    nothing = np.zeros((0, 0), np.float32)
    return DrawnView(view, labels, nothing, np.zeros((0, 0, 3), np.uint8), width, gap)


def _parted(folder: Path, view: View) -> Labels:
    """Labels of a drawing with every dashed line taken as a seam."""
    if view.kind != "drawing":
        raise InputError(
            "stitching", expected="a line drawing", got="a photo", next_step="Draw a stroke across the area"
        )
    reading = view.reading
    if reading is not None and reading.source:
        drawing = read_svg_drawing(folder / "pictures" / reading.source, gap_px=reading.gap_px, dashes_are_seams=True)
        return drawing.regions().labels
    picture = read_photo(folder / "pictures" / view.picture, what="drawing")
    return find_regions(
        picture,
        gap_px=reading.gap_px if reading else None,
        line_px=reading.line_width_px if reading else None,
        dashes_are_seams=True,
    ).labels


def _kept(folder: Path, project: Project, drawn: DrawnView) -> Project:
    """Write a view's areas, and put it into the project."""
    write_png(folder / "pictures" / drawn.view.labels, drawn.labels)
    return project.put_view(drawn.view)
