"""What was found in a picture, put right on the page: the outline of a photo, areas, points, a drawing read again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from mockup import journey
from mockup.garment.area_record import place_in
from mockup.garment.mask_file import read_cut, write_cut
from mockup.garment.view import AreaEdit, View
from mockup.project import Project
from swatches.errors import InputError
from swatches.job import Job
from ui.parts.desk import Desk
from ui.parts.found_scene import PARTS, point_words
from ui.parts.known_panels import panels_of
from ui.parts.meanwhile import Begun, begun
from ui.parts.meanwhile import keep as keep_made
from ui.parts.said import Said
from ui.parts.session import Session

PHOTO = "photo"
"""Name of the view that shows a photo."""
Point = tuple[float, float]


class Drawn(BaseModel):
    """What a person drew or pressed on a picture of the garment, or typed about it.

    Attributes:
        do: 'round', 'follow' and 'dab' are about the outline of a photo, 'point' moves a landmark, 'read' reads a
            drawing again, 'right' lets a suggested outline stand, 'drawing' reads a photo as a drawing, the
            others are about areas.
        view: name of the view.
        says: whether a dab keeps or drops.
        points: px of the picture.
        area: id of the area to name.
        name: its name, or that of the point to move.
        part: what the area is said to be, or empty.
        gap_px: largest gap to close; None: by the line width.
        line_px: width of the lines; None: estimated.
        stitching: whether all stitching is a seam.
        no_darts: whether small wedges and spindles are areas, and no darts.
    """

    model_config = ConfigDict(allow_inf_nan=False)

    do: Literal["round", "follow", "dab", "join", "split", "seam", "name", "point", "read", "right", "drawing"]
    view: str = Field(default=PHOTO, max_length=60)
    says: Literal["keep", "drop"] = "keep"
    points: list[Point] = Field(default=[], max_length=10_000)
    area: str = Field(default="", max_length=80)
    name: str = Field(default="", max_length=200)
    part: str = Field(default="", max_length=40)
    gap_px: float | None = None
    line_px: float | None = None
    stitching: bool = False
    no_darts: bool = False


@dataclass(frozen=True, slots=True)
class Found:
    """What slow work at a picture made.

    Attributes:
        begun: what was there when it began.
        project: the project with it.
        label: what was done, for the undo button.
        warnings: sentences for the person.
        marks: the marks on photos to remember, where they changed.
        follow: whether lines follow the points of the garment.
    """

    begun: Begun
    project: Project
    label: str
    warnings: tuple[str, ...] = ()
    marks: dict[str, Any] | None = None
    follow: bool = False


_LABELS = {
    "join": "joined areas", "split": "divided an area", "seam": "made stitching a seam", "name": "named an area",
    "read": "read the drawing again",
}  # fmt: skip


def areas_and_points(desk: Desk) -> None:
    """Lay out what was found: areas to join, divide and name, and points to move."""
    import gradio as gr

    parts = escape(json.dumps(PARTS))
    with gr.Accordion("The areas in the picture", open=False):
        gr.HTML(
            '<p class="fine">A seam that is drawn in the body parts its panels, and is no new one.</p>'
            '<div class="row with-picture"><button type="button" data-found="join">Join areas</button>'
            '<button type="button" data-found="divide">Divide by a stroke</button>'
            '<button type="button" data-found="stitching">This stitching is a seam</button></div>'
            f'<div id="found-areas" data-parts="{parts}"></div>',
            elem_classes="words",
        )
    with gr.Accordion("The points of the garment", open=False):
        gr.HTML(
            '<p class="fine">Lines count from neck, shoulder, underarm and hem. Where one was found wrong, drag it '
            'along the outline. <span class="without-picture">Add a picture first.</span></p>'
            '<div class="row with-picture"><button type="button" data-found="points">Move points</button></div>',
            elem_classes="words",
        )
    desk.slow_message(desk.table.outline, "garment", "Finding the garment", work, keep)


def work(session: Session, job: Job, message: object) -> Found:
    """Do what a message of the table says, in a new project folder.

    Raises:
        InputError: the message is none, or there is no such picture.
        PictureError: it cannot be done there.
    """
    try:
        drawn = Drawn.model_validate(message)
    except ValidationError as error:
        raise InputError(
            "what was drawn", expected="up to 10,000 points", got="something else", next_step="Draw it again"
        ) from error
    project = session.need()
    view = next((v for v in project.views if v.name == drawn.view), None)
    if view is None:
        raise InputError("picture", expected="a picture to draw on", got="none yet", next_step="Add a picture first")
    if drawn.do not in ("name", "read", "right", "drawing") and not drawn.points:
        raise InputError("what was drawn", expected="at least one point", got="none", next_step="Draw it again")
    with begun(session) as start:
        project, folder = start.project, start.folder
        if drawn.do in ("round", "follow", "dab"):
            return _outlined(session, start, view, drawn, job)
        if drawn.do in ("right", "drawing"):
            return _settled(session, start, view, drawn.do, job)
        warnings: list[str] = []
        if drawn.do == "point":
            new = journey.move_point(project, view.name, drawn.name, drawn.points[0])
            label = f"moved the {point_words(drawn.name)}"
            panels_of(new)  # lines that no longer fit are refused before anything is kept
        elif drawn.do == "read":
            new = journey.read_again(
                folder, project, view.name, gap_px=drawn.gap_px, line_px=drawn.line_px,
                stitching_is_seam=drawn.stitching, darts_are_areas=drawn.no_darts, warnings=warnings, job=job,
            )  # fmt: skip
            label = _LABELS["read"]
        else:
            places = (place_in(view, drawn.area),) if drawn.do == "name" else tuple(drawn.points)
            edit = AreaEdit(drawn.do, places, drawn.name, drawn.part)
            new = journey.edit_areas(folder, project, view.name, edit, warnings=warnings)
            label = _LABELS[drawn.do]
        return Found(start, new, label, tuple(warnings), follow=drawn.do == "point")


def _settled(session: Session, start: Begun, view: View, do: str, job: Job) -> Found:
    """Let the suggested outline of a photo stand, or read the photo as the drawing that it is."""
    project, folder = start.project, start.folder
    pictures = folder / "pictures"
    cut = read_cut(pictures / f"{view.name}-cut.npz") if view.kind == "photo" else None
    if cut is None:
        raise InputError("photo", expected="a photo to speak of", got="none", next_step="Add a photo first")
    marks = {name: said for name, said in session.state.marks.items() if name != view.name}
    if do == "right":
        write_cut(pictures / f"{view.name}-cut.npz", replace(cut, suggestion=False))
        return Found(start, project, "outline of the garment", marks=marks)
    warnings: list[str] = []
    new = journey.put_drawing(
        folder, replace(project, views=tuple(v for v in project.views if v.name != view.name)), side=view.side,
        picture=pictures / view.picture, warnings=warnings, job=job,
    )  # fmt: skip
    return Found(start, new, "read a photo as a drawing", tuple(warnings), marks)


def _outlined(session: Session, start: Begun, view: View, drawn: Drawn, job: Job) -> Found:
    """Cut a photo out anew, or put its outline right with a dab."""
    project, folder = start.project, start.folder
    if view.kind != "photo":
        raise InputError("photo", expected="a photo to draw on", got="a drawing", next_step="Add a photo first")
    before = session.state.marks.get(view.name, {})
    marks: dict[str, Any] = {
        "around": before.get("around"), "along": before.get("along"), "keep": before.get("keep", []),
        "drop": before.get("drop", []),
    }  # fmt: skip
    warnings: list[str] = []
    if drawn.do == "dab":
        marks[drawn.says] = [*marks[drawn.says], drawn.points]
        strokes: dict[str, Any] = {drawn.says: [drawn.points]}
        new = journey.dab(folder, project, view.name, **strokes, warnings=warnings, job=job)
    else:
        way = "around" if drawn.do == "round" else "along"
        marks = {"around": None, "along": None, "keep": [], "drop": []} | {way: drawn.points}
        new = journey.put_photo(
            folder, project, folder / "pictures" / view.picture, around=marks["around"], along=marks["along"],
            side=view.side, name=view.name, warnings=warnings, job=job,
        )  # fmt: skip
    words = (*warnings, "Something missing, or too much? Dab on it with 'This too' or 'Not this'.")
    return Found(start, new, "outline of the garment", words, {**session.state.marks, view.name: marks}, follow=True)


def keep(session: Session, found: Found) -> Said | None:
    """Keep what was done, as one step that can be undone."""
    stayed = keep_made(session, found.begun, found.project, found.label, follow=found.follow)
    if found.marks is not None:
        session.remember(marks=found.marks)
    return told_of(found.warnings, stayed)


def told_of(warnings: Sequence[str], stayed: journey.Stayed) -> Said | None:
    """What to say of a picture that was read or put right; nothing where nothing is to be said."""
    words = [*warnings, *stayed.said, *(["Undo brings back what was."] if stayed.lost else [])]
    return Said("garment", " ".join(words)) if words else None
