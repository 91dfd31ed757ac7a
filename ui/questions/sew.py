"""Will it sew? What the checks say of the choice that is shown, at every change; the pieces cut on trial when asked.

The list follows every change of cloth with the scene itself. After a change of lines the page's script asks for panels
and seams to be measured (GET ``/sew/<word>/measured``, without holding anybody up) and shows what comes of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from mockup import journey
from mockup.checks.scene import frame_of
from mockup.journey.checking import can_cut, trial_cut
from mockup.journey.knowing import set_closures, set_limits, set_stretch
from mockup.project import Closure, Project
from swatches.errors import MockupError
from swatches.job import Job, Part, check
from swatches.units import length
from ui.parts.desk import Desk, board_for
from ui.parts.judged import answer_of, judged_scene, keep_lays, plain_fact, shown_choice
from ui.parts.lengths import with_unit
from ui.parts.making import cut_facts
from ui.parts.messages import read
from ui.parts.said import Said
from ui.parts.scripts import shim
from ui.parts.session import WORD, Session, Sessions

if TYPE_CHECKING:
    from fastapi import FastAPI

SHIM = shim("sew_board.js", "sew")
"""Loads the script of limits and of what the garment needs; the event's name stands in quotes for Python to listen."""


class SewSaid(BaseModel):
    """Something that the board of this question says."""

    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)
    do: Literal["limit", "opens", "stretch"]
    name: str = Field(default="", max_length=40)
    value: float | None = None
    text: str = Field(default="", max_length=40)
    kind: str = Field(default="", max_length=20)
    edge: str = Field(default="", max_length=40)
    begin: str = Field(default="0", max_length=40)
    end: str = Field(default="0", max_length=40)


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    gr.HTML(
        '<p class="fine">Looks at lines and cloth at every change. With pattern pieces it can also cut them on trial, '
        "compare their seams, and lay them on your cloth.</p>",
        elem_classes="words",
    )
    width = desk.length_field(
        gr.Textbox("140 cm", label="Width of cloth whose own is not known", max_length=40, elem_id="cloth-width"),
        "width",
    )
    ask = gr.Button("Try it", elem_id="try-sewing", elem_classes="main")
    gr.HTML(
        '<p class="said" data-said="sew" role="status"></p><ul data-slot="facts" class="facts"></ul>'
        '<details class="fold"><summary>What the garment needs</summary><div data-slot="known"></div></details>'
        '<details class="fold"><summary>Limits, and where they come from</summary><div data-slot="limits"></div>'
        "</details>",
        elem_classes="words",
    )
    board = board_for(SHIM, "sew-board")
    desk.slow(ask.click, "sew", "Cutting the pieces on trial", _try, _keep, width)
    desk.quick_message(board.sew, "sew", take)


def take(session: Session, message: object) -> Said | None:
    """Take what the board says into the session: a limit, how the garment opens, how far it must stretch."""
    said = read(SewSaid, message)
    project = session.need()
    if said.do == "limit":
        value = length(said.text, what="limit", bare=session.state.unit).mm if said.text else said.value
        new, label = set_limits(project, {said.name: value}), "a limit"
        text = "That limit is yours now." if value is not None else "That limit is ours again."
    elif said.do == "stretch":
        new, label = set_stretch(project, said.value), "needed stretch"
        text = "The cloth is judged by that stretch now." if said.value is not None else "Not known: noted."
    else:
        new, label, text = _opened(project, said, session.state.unit)
    if new != project:
        session.keep(new, label)
    return Said("sew", text)


def _opened(project: Project, said: SewSaid, unit: str) -> tuple[Project, str, str]:
    if said.kind == "unknown":
        return set_closures(project, None), "how it opens", "Not known: noted."
    if said.kind == "pulled on":
        return set_closures(project, ()), "how it opens", "Pulled on: no line meets a closure."
    low, high = (
        length(text, what="closure", minimum_mm=0.0, bare=unit).mm for text in (said.begin or "0", said.end or "0")
    )
    one = Closure(said.kind, said.edge, low, high)
    return set_closures(project, (one,)), "how it opens", f"Lines that meet the {said.kind} are looked at now."


def _try(session: Session, job: Job, width: str) -> Any:
    """Cut the pieces on trial and lay them on each cloth's own width."""
    with session.lock:  # a line may be moved meanwhile: what is said is of what is shown now
        project, state, number = session.need(), session.state, session.step.number if session.step else 0
    usable = length(width, what="usable width", minimum_mm=100.0, bare=state.unit)
    job.step("Measuring panels and seams", 0.02)
    frame_of(project)
    if not can_cut(project):
        return number, (), {}, width
    choice = shown_choice(project, state)
    shown = project.put_colourway(choice)
    trial_cut(project, session.folder, allowance=state.allowance, job=Part(job, 0.05, 0.35))
    check(job)
    job.step("Cutting the pieces on trial", 0.35)
    cut = journey.cut(shown, session.folder, choice.letter, allowance=state.allowance, job=Part(job, 0.35, 0.6))
    check(job)
    job.step("Laying the pieces on the cloth", 0.6)
    found = journey.need_of(shown, cut.pieces, usual_mm=usable.mm, job=Part(job, 0.6, 1.0))
    judged_by_lay = {f.id for f in project.fabrics if f.owned and f.length_left.value is not None}
    facts = cut_facts(cut, [n for n in found if n.fabric not in judged_by_lay], project, state.unit)
    facts = tuple({**plain_fact(f["grade"], f["text"]), **f} for f in facts)
    return number, facts, {n.fabric: n for n in found}, width


def _keep(session: Session, found: Any) -> Said | None:
    number, facts, lays, width = found
    session.remember(width=with_unit(width, session.state.unit))
    if number != (session.step.number if session.step else 0):
        return Said("sew", "Something was changed while the pieces were cut on trial. Try it again.", "hint")
    session.remember(facts=facts, facts_for=number)
    if lays:
        keep_lays(session, lays)
        return None
    project = session.need()
    if not project.pieces:
        return Said("sew", "Lines and cloth are judged. Add pattern pieces under 'Print and cut' to judge seams too.")
    return Said("sew", "Lines and cloth are judged. Give a length under 'What garment?' to judge the seams too.")


def serve_sew(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``/sew/<word>/measured`` with the findings when the panels and seams of the shown lines are measured."""
    from fastapi.responses import JSONResponse, PlainTextResponse, Response

    @app.get("/sew/{word}/measured")
    def measured(word: str) -> Response:
        if not WORD.fullmatch(word):
            return PlainTextResponse("There is nothing here.", 404)
        fresh = {"cache-control": "no-store"}
        with sessions.open(word) as session:
            project = session.project
        try:
            if project is not None:
                frame_of(project)  # without the session's lock: a dragged line need not wait for it
        except MockupError:
            return JSONResponse({"measured": False}, headers=fresh)
        with sessions.open(word) as session:
            shown = judged_scene(session)
            number = session.step.number if session.step else 0
        if project is None or shown["facts_pending"]:
            return JSONResponse({"measured": False}, headers=fresh)
        said = {"measured": True, "revision": number, "facts": shown["facts"], "answer": answer_of(shown["facts"])}
        return JSONResponse(said, headers=fresh)
