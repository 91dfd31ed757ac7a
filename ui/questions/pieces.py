"""Print and cut: the pattern with the lines on it, the cut pieces, and everything to print and sew from."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from mockup import journey
from mockup.journey.joining import DIFFERED, Join
from mockup.project import Project
from swatches.errors import GeometryError, InputError, MockupError
from swatches.job import Job
from swatches.photo import png_bytes
from swatches.safe_write import write_whole
from swatches.units import length
from ui.parts.desk import Desk, board_for
from ui.parts.earlier_cuts import put_in_place, taken_again
from ui.parts.lengths import with_unit
from ui.parts.making import Facts
from ui.parts.messages import read
from ui.parts.said import Said
from ui.parts.scripts import shim
from ui.parts.session import Session
from ui.questions import lay, pieces_make, pieces_own, stash
from ui.questions.pieces_asked import trouble
from ui.questions.pieces_make import SHOWN
from ui.questions.pieces_print import PRINTS

SHIM = shim("pieces_board.js", "piece")
"""Loads the board's script; the events' names stand in quotes so that Python can listen to them."""
PAPERS = [("A4", "A4"), ("US Letter", "Letter"), ("A0", "A0"), ("36 in roll", "roll36"), ("Projector", "projector")]


class JoinSaid(BaseModel):
    """Two edges that were picked on the board, or the last pair that comes apart again."""

    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)
    do: Literal["join", "part"]
    one: str = Field(default="", max_length=200)
    other: str = Field(default="", max_length=200)
    allow_mm: float = Field(default=0.5, ge=0, le=2)
    grain_of: Literal["first", "second"] = "first"
    sew_fold_of: Literal["", "first", "second"] = ""
    cloth_of: Literal["first", "second"] = "first"


@dataclass(frozen=True, slots=True)
class Made:
    """A cut that is done: of which step it is, its files, what it says, how it was cut, and the seams taken out."""

    number: int
    folder: Path
    names: tuple[str, ...]
    facts: Facts
    cutting: dict[str, Any]
    joins: tuple[dict[str, Any], ...] = ()


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    board = board_for(SHIM, "pieces-board")
    pieces_own.build(desk)
    with gr.Row(elem_classes="pair"):
        allowance = desk.length_field(
            gr.Textbox("15 mm", label="Seam allowance on new seams", max_length=40, elem_id="allowance")
        )
        paper = gr.Dropdown(PAPERS, value="A4", label="Paper", elem_id="paper")
    own = gr.Checkbox(False, label="The pattern is my own: show its outlines in the handout", elem_id="own-pattern")
    make = gr.Button("Make the pieces", elem_id="make-pieces", elem_classes="main")
    gr.HTML('<p class="said" data-said="print" role="status"></p><div data-slot="outcome"></div>', elem_classes="words")
    with gr.Accordion("All choices side by side", open=False):
        sheet = gr.Button("Make a sheet of the choices", elem_id="make-sheet")
    desk.slow(make.click, "print", "Cutting the pieces", _make, _keep, allowance, paper, own)
    desk.slow(sheet.click, "print", "Painting every choice", _sheet, _keep_sheet)
    desk.slow_message(board.piece, "print", "Changing the pieces", _act, _kept)
    lay.build(desk)
    stash.build(desk)


def _sheet(session: Session, job: Job) -> tuple[int, bytes]:
    with session.lock:
        project, number = session.need(), _number(session)
    if not project.colourways:
        raise InputError("choices", expected="a choice", got="none yet", next_step="Give a panel a cloth first")
    return number, png_bytes(journey.compare(project, session.folder, job=job))


def _keep_sheet(session: Session, painted: tuple[int, bytes]) -> Said | None:
    number, data = painted
    if not session.cut_alike(number):
        return Said("print", "Something was changed while the choices were painted. Make the sheet again.", "hint")
    write_whole(session.made_folder / "choices.png", data, what="sheet of the choices")
    fresh = session.made_holds  # what was cut before stays listed as long as it is cut so still
    made = session.state.made if fresh else ()
    pieces_make.add_file(session.made_folder, "choices.png", fresh=fresh)
    session.remember(
        made=tuple(dict.fromkeys((*made, "choices.png", SHOWN))), made_for=session.state.made_for if fresh else number
    )
    return Said("print", "The sheet is ready: every choice with its letter, front and back.")


def _make(session: Session, job: Job, allowance: str, paper: str, own: bool) -> Any:
    allowance = with_unit(allowance, session.state.unit)
    paper = paper if paper in PRINTS.values() else "A4"
    return _made(session, job, {"allowance": allowance, "paper": paper, "own": bool(own)})


def _act(session: Session, job: Job, message: object) -> Any:
    """What was done on the board: a seam that goes; what a piece or an edge is said to be waits for :func:`_kept`."""
    if isinstance(message, dict) and message.get("do") in ("which", "edge", "line-is"):
        return message
    return _join(session, job, message)


def _kept(session: Session, found: Any) -> Said | None:
    if isinstance(found, Made):
        return _keep(session, found)
    project, label = pieces_own.act(session, found)  # with the lock held: nothing changes the garment meanwhile
    session.keep(project, label)
    return Said("print", f"Taken: {label}.")


def _join(session: Session, job: Job, message: object) -> Any:
    """Take a seam out, or put the last one back, and cut anew."""
    said = read(JoinSaid, message)
    now = session.state.cutting
    joins = list(session.joins)
    if said.do == "part":
        joins = joins[:-1]
    else:
        typed = length(now.get("allowance", session.state.allowance), what="seam allowance", bare=session.state.unit)
        wanted = Join(
            said.one,
            said.other,
            said.allow_mm,
            grain_of=said.grain_of,
            sew_fold_of=said.sew_fold_of,
            cloth_of=said.cloth_of,
            allowance_mm=typed.mm,
            allowance_text="" if typed.unit == "mm" else str(typed),
        )
        joins.append(asdict(wanted))
    return _made(session, job, now, joins, strict=said.do == "join")


def _made(
    session: Session,
    job: Job,
    cutting: dict[str, Any],
    joins: Sequence[dict[str, Any]] | None = None,
    *,
    strict: bool = False,
) -> Made:
    with session.lock:  # a line may be moved while the pieces are cut: what is cut is what is shown now
        project, number, state = session.need(), _number(session), session.state
        joins = session.joins if joins is None else joins
        garment, folder = session.folder.name, session.folder
    before = state.cutting if state.cutting.get("garment") == garment else {}
    known = {"allowance": state.allowance, "paper": "A4", "own": False, **before, **cutting, "garment": garment}
    known |= {"choice": state.choice, "unit": state.unit}
    work = session.home / "cutting"
    again = taken_again(session, project, joins, known, work)
    if again is not None:
        return Made(number, work, again.made, again.facts, known, tuple(joins))
    try:
        names, facts = pieces_make.publish(
            project,
            folder,
            work,
            state,
            allowance=known["allowance"],
            paper=known["paper"],
            joins=[Join(**j) for j in joins],
            own_pattern=known["own"],
            strict=strict,
            job=job,
        )
    except GeometryError as error:
        told = _edges_to_name(project, folder)
        if told:
            raise MockupError(told) from error  # it names edges and a file; what can be done is at the drawing
        raise
    return Made(number, work, tuple(names), facts, known, tuple(joins))


def _edges_to_name(project: Project, folder: Path) -> str:
    """What is to be named on the first piece whose edges are not as the picture's; empty where all are."""
    split = journey.split_of(project)
    return next((said for p in journey.pieces_of(project, folder) if (said := trouble(p, split))), "")


def _keep(session: Session, found: Made) -> Said | None:
    if not session.cut_alike(found.number):
        return Said("print", "Something was changed while the pieces were cut. Make the pieces again.", "hint")
    names, number = found.names, found.number
    if session.made_holds and "choices.png" in session.state.made and (session.made_folder / "choices.png").is_file():
        shutil.copy2(session.made_folder / "choices.png", found.folder)
        pieces_make.add_file(found.folder, "choices.png", fresh=True)
        names = tuple(dict.fromkeys((*names, "choices.png")))
    if found.joins != session.joins:
        label = "took a seam out" if len(found.joins) > len(session.joins) else "put a seam back"
        session.keep(session.need(), label, joins=found.joins)
        number = _number(session)
    put_in_place(session, found.folder, names, made_for=number, facts=found.facts, cutting=found.cutting)
    if not found.facts:
        return Said("print", "The lines are ready, as a file and as a handout. With pattern pieces there is more.")
    if found.joins:
        cloth = "".join(f" {fact['text']}" for fact in found.facts if DIFFERED in fact["text"])
        return Said("print", f"Cut, joined and proved: what went is one piece now, and the rest still fits it.{cloth}")
    return Said("print", "Cut, and proved: the pieces sew together to what they were cut from.")


def _number(session: Session) -> int:
    step = session.step
    return step.number if step else 0
