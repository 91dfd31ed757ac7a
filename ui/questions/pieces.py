"""Print and cut: the pieces at full size, as paper, drawing files and the lines as a file."""

from __future__ import annotations

from typing import Any

from mockup import journey
from mockup.files.svg import read_pieces
from swatches.job import Job
from ui.parts import making
from ui.parts.desk import Desk, uploaded
from ui.parts.scene import Said
from ui.parts.session import Session
from ui.parts.words import counted

PAPERS = [("A4", "A4"), ("Letter", "Letter")]


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    pieces = gr.UploadButton("Add your pattern pieces (SVG)", file_types=[".svg"], elem_id="add-pieces")
    with gr.Row(elem_classes="pair"):
        allowance = gr.Textbox("15 mm", label="Seam allowance on new seams", max_length=40, elem_id="allowance")
        paper = gr.Dropdown(PAPERS, value="A4", label="Paper", elem_id="paper")
    make = gr.Button("Make the pieces", elem_id="make-pieces", elem_classes="main")
    gr.HTML(
        '<p class="said" data-said="print" role="status"></p><ul data-slot="made" class="made"></ul>',
        elem_classes="words",
    )
    desk.slow(make.click, "print", "Cutting the pieces", _make, _keep, allowance, paper)
    desk.slow(pieces.upload, "print", "Reading the pieces", _read, _keep_pieces, pieces)


def _make(session: Session, job: Job, allowance: str, paper: str) -> Any:
    project = session.need()
    return making.publish(project, session.folder, session.made_folder, session.state, allowance, paper, job), allowance


def _keep(session: Session, found: Any) -> Said | None:
    (names, facts), allowance = found
    step = session.step
    session.remember(made=tuple(names), facts=facts, made_for=step.number if step else 0, allowance=allowance)
    return Said("print", "Cut, and proved: the pieces sew together to what they were cut from.")


def _read(session: Session, job: Job, path: Any) -> Any:
    data = uploaded(path, "pattern pieces")
    read_pieces(data)
    return data


def _keep_pieces(session: Session, data: bytes) -> Said | None:
    project, pieces = journey.put_pieces(session.folder, session.need(), data)
    session.keep(project, "pattern pieces")
    return Said("print", f"{counted(len(pieces), 'pattern piece')} laid by: {', '.join(p.name for p in pieces[:8])}.")
