"""What garment? Pictures of it, the example, and, when somebody knows one, a length."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from mockup import journey
from mockup.garment.mask import SUGGESTED
from mockup.garment.scale import scale_doubts, set_measure
from mockup.project import Project
from mockup.stylelines.panels import primary_views
from mockup.stylelines.restate import restated
from swatches.errors import InputError
from swatches.job import Job
from swatches.units import length
from ui.parts.desk import Desk, uploaded
from ui.parts.known_panels import panels_of
from ui.parts.lengths import has_no_unit
from ui.parts.meanwhile import UNNAMED, Begun, begun, keep
from ui.parts.said import Said
from ui.parts.session import Session
from ui.questions.garment_found import PHOTO, areas_and_points, told_of
from ui.questions.pieces_own import recognised

PICTURES = [".png", ".jpg", ".jpeg", ".webp", ".heic", ".heif", ".svg", ".tif", ".tiff"]
A_PHOTO = "a photo"
MOST_LETTERS = 60
SHORT_MM = 100.0
"""A length of a garment below this is doubted: 68 typed where mm are read is 68 cm as a rule."""
LONG_MM = 2500.0
"""A length above this is doubted: longer than a coat for the tallest, if not than every train (our own choice)."""
MEASURES = [
    ("Centre front, neck or waist to hem", "front:centre-front"),
    ("Centre back, neck or waist to hem", "back:centre-back"),
    ("Side seam, front", "front:side-left"),
    ("Side seam, back", "back:side-left"),
]


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    with gr.Row(elem_classes="pair"):
        front = gr.UploadButton("Front picture", file_types=PICTURES, elem_id="add-front", elem_classes="main")
        back = gr.UploadButton("Back picture", file_types=PICTURES, elem_id="add-back")
    gr.HTML(
        '<p class="fine">A line drawing, scanned or exported, or a photo. Nothing leaves this computer.</p>',
        elem_classes="words",
    )
    demo = gr.Button("Open the choir’s tunic", elem_id="open-demo")
    with gr.Accordion("A photo of the garment", open=False, elem_id="photo-tools"):
        photo = gr.UploadButton("Add a photo", file_types=PICTURES, elem_id="add-photo")
        gr.HTML(
            '<p class="fine">On a form or laid flat. <span class="with-photo">Then say where the garment is:</span>'
            '<span class="without-photo">When it lies here, you show where the garment is in it.</span></p>'
            '<div class="row with-photo">'
            '<button type="button" data-mode="round" data-needs-photo>Draw round it</button>'
            '<button type="button" data-found="follow" data-needs-photo>Follow its edge</button>'
            '<button type="button" data-mode="keep" data-needs-photo>This too</button>'
            '<button type="button" data-mode="drop" data-needs-photo>Not this</button></div>',
            elem_classes="words",
        )
    areas_and_points(desk)
    with gr.Accordion("A length you know", open=False, elem_id="length-tools"):
        gr.HTML(
            '<p class="fine">Lines are placed by millimetres, and cloth is shown at its true scale, once one length is '
            "known. Until then all lengths are guesses, and say so.</p>",
            elem_classes="words",
        )
        which = gr.Dropdown(MEASURES, value=MEASURES[0][1], label="From where to where", elem_id="which-length")
        known = gr.Textbox(label="How long", placeholder="68 cm, or 26 3/4 in", max_length=40, elem_id="known-length")
        set_it = gr.Button("Use this length", elem_id="set-length")
    with gr.Accordion("Its name", open=False):
        name = gr.Textbox(
            label="Name of the garment", placeholder=UNNAMED, max_length=MOST_LETTERS, elem_id="garment-name"
        )
        name_it = gr.Button("Use this name", elem_id="name-garment")
    gr.HTML('<p class="said" data-said="garment" role="status"></p>', elem_classes="words")

    desk.slow(front.upload, "garment", "Reading the front", _read_front, keep_read, front)
    desk.slow(back.upload, "garment", "Reading the back", _read_back, keep_read, back)
    desk.slow(photo.upload, "garment", "Reading the photo", read_photo, keep_read, photo)

    def open_demo(session: Session, job: Job) -> tuple[Project, Path]:
        with session.new_garment(copy=False) as folder:
            return desk.example.open(session, folder, job), folder

    def keep_demo(session: Session, opened: tuple[Project, Path]) -> None:
        session.keep(opened[0], "laid out the choir's tunic", garment=opened[1].name)

    desk.slow(demo.click, "garment", "Laying out the choir's tunic", open_demo, keep_demo)
    desk.quick(set_it.click, "garment", _set_length, which, known)
    for event in (name.submit, name_it.click):
        desk.quick(event, "garment", _set_name, name)


@dataclass(frozen=True, slots=True)
class Read:
    """What reading a picture made.

    Attributes:
        begun: what was there when it began.
        project: the project with the picture.
        what: what was laid out, for the undo button.
        warnings: sentences for the person.
        photo: name of the view of a photo that a person has still to say the outline of, or empty.
    """

    begun: Begun
    project: Project
    what: str
    warnings: tuple[str, ...] = ()
    photo: str = ""


def _read_front(session: Session, job: Job, path: Any) -> Read:
    return _read(session, job, uploaded(path, "front picture"), "front")


def _read_back(session: Session, job: Job, path: Any) -> Read:
    return _read(session, job, uploaded(path, "back picture"), "back")


def _read(session: Session, job: Job, data: bytes, side: str) -> Read:
    """Read a picture of one side into a new project folder."""
    warnings: list[str] = []
    is_photo = journey.looks_like_photo(data, what=f"{side} picture")
    with begun(session) as start:
        if is_photo:
            name = PHOTO if side == "front" else f"{PHOTO}-back"
            project = journey.put_photo(
                start.folder, start.project, data, side=side, name=name, warnings=warnings, job=job
            )
            return Read(start, project, f"the {side}, {A_PHOTO}", _unsaid(warnings), name)
        project = journey.put_drawing(start.folder, start.project, side=side, picture=data, warnings=warnings, job=job)
        return Read(start, project, f"the {side}", tuple(warnings))


def read_photo(session: Session, job: Job, path: Any) -> Read:
    """Read a photo of the garment into a new project folder; its outline is a suggestion."""
    data = uploaded(path, "photo")
    with begun(session) as start:
        warnings: list[str] = []
        project = journey.put_photo(start.folder, start.project, data, name=PHOTO, warnings=warnings, job=job)
        return Read(start, project, "", _unsaid(warnings))


def _unsaid(warnings: list[str]) -> tuple[str, ...]:
    """What is said of a photo in words, without what stands below the photo itself."""
    return tuple(w for w in warnings if w != SUGGESTED)


def keep_read(session: Session, read: Read) -> Said | None:
    """Take what was read into the project as it is now; cloth, lines and choices stay."""
    stayed = keep(session, read.begun, read.project, f"laid out {read.what}" if read.what else "outline of the garment")
    if not read.what:
        session.remember(marks={})
    elif read.photo:
        session.remember(marks={**session.state.marks, read.photo: {"taken": True}})
    return told_of(read.warnings, stayed)


def _set_name(session: Session, text: object) -> Said | None:
    """Call the garment by the person's word; pages and prints show it."""
    project = session.need()
    said = "".join(c for c in " ".join(str(text or "").split()) if c.isprintable())[:MOST_LETTERS]
    if not said:
        raise InputError("name of the garment", expected="a word or a few", got="none",
                         next_step="Type one, such as winter tunic")  # fmt: skip
    if said != project.name:
        session.keep(replace(project, name=said), f"called it {said}")
    return Said("garment", f"It is called {said} now.")


def _set_length(session: Session, which: str, text: str) -> Said | None:
    project = session.need()
    if which not in {value for _, value in MEASURES}:
        raise InputError("length", expected="one of the lengths offered", got=which, next_step="Choose one of them")
    side, edge = which.split(":")
    typed = length(text or "", what="length", minimum_mm=20.0, bare=session.state.unit)
    short = typed.mm < SHORT_MM
    if short and has_no_unit(text):
        return Said(
            "garment",
            f"{typed} would fit a doll. Type the length with its unit, such as 68 cm or 26 3/4 in.",
            "error",
        )
    long = typed.mm > LONG_MM
    if long and has_no_unit(text):
        return Said(
            "garment",
            f"{typed} is {typed.mm / 1000:.3g} m. Type the length with its unit, such as 68 cm or 26 3/4 in.",
            "error",
        )
    view = next((v for v in project.views if v.side == side and v.edges), None)
    if view is None:
        return Said("garment", f"There is no picture of the {side} yet.", "error")
    new = project.put_view(set_measure(view, edge, typed.mm))
    others = [v for v in new.views if v.side != side and v.edges and not v.scale_measured]
    new = journey.follow_scale(new, new.view(view.name))
    factors = {
        after.side: after.mm_per_px / before.mm_per_px
        for before, after in zip(primary_views(project.views), primary_views(new.views), strict=True)
    }
    new = replace(new, lines=restated(project.lines, factors, side))
    panels_of(new)
    new = recognised(session.folder, project, new)
    session.keep(new, f"{edge.replace('-', ' ')} is {typed}")
    words = [f"Lengths of the {side} are now measured from that: {typed}."]
    if short:
        words.append("That is very short for a garment; Undo if a figure slipped.")
    if long:
        words.append(f"{typed.mm / 1000:.3g} m is very long for a garment; Undo if a figure slipped.")
    if project.lines:
        words.append("The lines keep their places, and their distances are stated anew.")
    words.extend(scale_doubts(new.views))
    if others:
        other_side = others[0].side
        words.append(
            f"Lengths of the {other_side} follow from the side seam: "
            f"give one of the {other_side} too before pieces are cut."
        )
    return Said("garment", " ".join(words))
