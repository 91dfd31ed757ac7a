"""Will it sew? What cutting the real pieces by these lines shows: the proof, the seams, and how much cloth it takes."""

from __future__ import annotations

from typing import Any

from swatches.job import Job
from ui.parts import making
from ui.parts.desk import Desk
from ui.parts.lengths import with_unit
from ui.parts.scene import Said
from ui.parts.session import Session


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    gr.HTML(
        '<p class="fine">Cuts the pattern pieces by your lines, on trial, and says what comes of it.</p>',
        elem_classes="words",
    )
    width = desk.length_field(
        gr.Textbox("140 cm", label="Usable width of the cloth", max_length=40, elem_id="cloth-width"), "width"
    )
    ask = gr.Button("Try it", elem_id="try-sewing", elem_classes="main")
    gr.HTML(
        '<p class="said" data-said="sew" role="status"></p><ul data-slot="facts" class="facts"></ul>',
        elem_classes="words",
    )
    desk.slow(ask.click, "sew", "Cutting the pieces on trial", _try, _keep, width)


def _try(session: Session, job: Job, width: str) -> Any:
    project = session.need()
    return making.trial(project, session.folder, session.state, width=width, job=job), width


def _keep(session: Session, found: Any) -> Said | None:
    facts, width = found
    step = session.step
    number = step.number if step else 0
    made = session.state.made if session.state.made_for == number else ()
    session.remember(facts=facts, made=made, made_for=number, width=with_unit(width, session.state.unit))
    return None
