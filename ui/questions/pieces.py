"""Print and cut: the pieces at full size, as paper, drawing files and the lines as a file."""

from __future__ import annotations

from typing import Any

from mockup import journey
from mockup.files.svg import read_pieces
from swatches.errors import InputError
from swatches.job import Job
from swatches.photo import png_bytes
from swatches.safe_write import write_whole
from ui.parts import making
from ui.parts.desk import Desk, uploaded
from ui.parts.lengths import with_unit
from ui.parts.scene import Said
from ui.parts.session import Session
from ui.parts.words import counted

PAPERS = [("A4", "A4"), ("Letter", "Letter")]


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    pieces = gr.UploadButton("Add your pattern pieces (SVG)", file_types=[".svg"], elem_id="add-pieces")
    with gr.Row(elem_classes="pair"):
        allowance = desk.length_field(
            gr.Textbox("15 mm", label="Seam allowance on new seams", max_length=40, elem_id="allowance"), "allowance"
        )
        paper = gr.Dropdown(PAPERS, value="A4", label="Paper", elem_id="paper")
    make = gr.Button("Make the pieces", elem_id="make-pieces", elem_classes="main")
    gr.HTML(
        '<p class="said" data-said="print" role="status"></p><ul data-slot="made" class="made"></ul>',
        elem_classes="words",
    )
    with gr.Accordion("All choices side by side", open=False):
        sheet = gr.Button("Make a sheet of the choices", elem_id="make-sheet")
    desk.slow(make.click, "print", "Cutting the pieces", _make, _keep, allowance, paper)
    desk.slow(sheet.click, "print", "Painting every choice", _sheet, _keep_sheet)
    desk.slow(pieces.upload, "print", "Reading the pieces", _read, _keep_pieces, pieces)


def _sheet(session: Session, job: Job) -> bytes:
    project = session.need()
    if not project.colourways:
        raise InputError("choices", expected="a choice", got="none yet", next_step="Give a panel a cloth first")
    return png_bytes(journey.compare(project, session.folder, job=job))


def _keep_sheet(session: Session, data: bytes) -> Said | None:
    write_whole(session.made_folder / "choices.png", data, what="sheet of the choices")
    step = session.step
    number = step.number if step else 0
    made = session.state.made if session.state.made_for == number else ()
    facts = session.state.facts if session.state.made_for == number else ()
    session.remember(made=(*(m for m in made if m != "choices.png"), "choices.png"), facts=facts, made_for=number)
    return Said("print", "The sheet is ready: every choice with its letter, front and back.")


def _make(session: Session, job: Job, allowance: str, paper: str) -> Any:
    project = session.need()
    return making.publish(project, session.folder, session.made_folder, session.state, allowance, paper, job), allowance


def _keep(session: Session, found: Any) -> Said | None:
    (names, facts), allowance = found
    step = session.step
    number = step.number if step else 0
    more = [m for m in session.state.made if m == "choices.png"] if session.state.made_for == number else []
    session.remember(
        made=(*names, *more), facts=facts, made_for=number, allowance=with_unit(allowance, session.state.unit)
    )
    return Said("print", "Cut, and proved: the pieces sew together to what they were cut from.")


def _read(session: Session, job: Job, path: Any) -> Any:
    data = uploaded(path, "pattern pieces")
    read_pieces(data)
    return data


def _keep_pieces(session: Session, data: bytes) -> Said | None:
    project, pieces = journey.put_pieces(session.folder, session.need(), data)
    session.keep(project, "pattern pieces")
    return Said("print", f"{counted(len(pieces), 'pattern piece')} laid by: {', '.join(p.name for p in pieces[:8])}.")
