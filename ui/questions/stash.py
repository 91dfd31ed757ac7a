"""Print and cut: what could be made from the cloth that there is, and the simple questions about it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from mockup.checks.in_unit import in_unit, length_said
from mockup.colourways.colourway import Colourway
from mockup.journey.choices import LETTERS
from mockup.journey.inherit import keep_cloth, none_bare
from mockup.journey.stash_designs import from_stash, how_far, remnants_for, sizes_that_fit, stock_in
from mockup.lay.lay import Answer, missing
from mockup.project import Project
from mockup.proposals.families import KINDS, ranged
from mockup.proposals.from_stash import Designs
from mockup.proposals.line_range import LineRange, Spot, moved_up
from swatches.errors import InputError
from swatches.job import Job
from swatches.units import length
from ui.parts.desk import Desk, board_for
from ui.parts.known_panels import panels_of
from ui.parts.lengths import with_unit
from ui.parts.messages import read
from ui.parts.said import Said
from ui.parts.scripts import shim
from ui.parts.session import Session
from ui.parts.words import capital, counted
from ui.questions.lay_state import Laid, board_of, found_of, keep, key_of
from ui.questions.stash_state import Answered, Made, chosen, design_name, keep_made, made_of, stock_key

SHIM = shim("stash_board.js", "stash", "look")
"""Loads the board's script; the events' names stand in quotes so that Python can listen to them."""
SECONDS = (20, 60, 180)
_MANY = 6


class FamilySaid(BaseModel):
    """Lines to try, and the range that was typed; an empty text: as usual."""

    model_config = ConfigDict(extra="ignore")
    kind: Literal["own", "yoke", "hem band", "band"]
    low: str = Field(default="", max_length=40)
    high: str = Field(default="", max_length=40)


class Looked(BaseModel):
    """Slow things: look for designs, or ask one of the simple questions."""

    model_config = ConfigDict(extra="ignore")
    do: Literal["designs", "line", "piece", "sizes"]
    families: list[FamilySaid] = Field(default=[], max_length=len(KINDS))
    cloth: list[str] = Field(default=[], max_length=400)
    seconds: int = Field(default=60, ge=5, le=600)
    again: int = Field(default=0, ge=0, le=1_000_000)
    name: str = Field(default="", max_length=200)


class Took(BaseModel):
    """Quick things: take a design, or move a line as far as was found."""

    model_config = ConfigDict(extra="ignore")
    do: Literal["take", "move"]
    index: int = Field(default=0, ge=0, le=100)
    where: str = Field(default="", max_length=40)


def build(desk: Desk) -> None:
    """Lay out the board and wire it."""
    import gradio as gr

    gr.HTML('<h3 class="lay-head stash-head" hidden>What could be made from my cloth</h3>', elem_classes="words")
    board = board_for(SHIM, "stash-board")
    desk.slow_message(board.look, "stash", "Looking through your cloth", _look, _keep_found)
    desk.quick_message(board.stash, "stash", _take)


class _Told:
    """A job that says its lengths in the person's unit."""

    def __init__(self, job: Job, unit: str) -> None:
        self._job, self._unit = job, unit

    @property
    def cancelled(self) -> bool:
        """Whether the person pressed stop."""
        return self._job.cancelled

    def step(self, text: str, done: float | None = None) -> None:
        """Pass it on."""
        self._job.step(in_unit(text, self._unit), done)


def _look(session: Session, job: Job, message: object) -> Any:
    said = read(Looked, message)
    job = _Told(job, session.state.unit)
    with session.lock:
        project, folder, letter = session.need(), session.folder, session.state.choice
        before, belongs, now, unit = made_of(session), stock_key(session), key_of(session), session.state.unit
        allowance = length(session.state.allowance, what="seam allowance", minimum_mm=0.0).mm
    if said.do == "designs":
        families = [ranged(project, f.kind, *(_typed(t, unit) for t in (f.low, f.high))) for f in said.families]
        if not families:
            raise InputError("lines", expected="lines to try", got="none ticked", next_step="Tick at least one kind")
        stock = chosen(stock_in(project), said.cloth)
        found = from_stash(
            project, folder, families=families, stock=stock, count=_MANY, allowance_mm=allowance,
            time_s=float(said.seconds), seed=said.again, job=job,
        )  # fmt: skip
        return Made(belongs, found.designs, _searched(found, project), allowance, before.answers, _figures(found)), now
    if said.do == "line":
        answer = _answer_line(project, said.name, how_far(project, folder, said.name, letter, job=job), now)
    elif said.do == "piece":
        answer = _answer_piece(project, said.name, remnants_for(project, folder, letter, said.name, job=job), now)
    else:
        fits = sizes_that_fit(project, folder, letter, job=job)
        rows = (f"Size {s}: {'yes' if f.answer is Answer.YES else f.answer}. {f.proof}" for s, f in fits.items())
        answer = Answered(now, " ".join(rows))
    return replace(before, answers={**before.answers, said.do: answer}), now


def _typed(text: str, unit: str) -> float | None:
    return length(with_unit(text, unit), what="end of the range").mm if text.strip() else None


def _searched(found: Designs, project: Project) -> str:
    """What was found, or what was short most often and the next step; never the search's own figures."""
    count = len(found.designs)
    if count:
        return f"Found {counted(count, 'design')} that can be cut, in {found.seconds:.0f} seconds."
    if found.short is None:
        return "No design was found that can be cut. Look longer, or let the lines run in a wider range."
    return f"No design was found that can be cut. {found.short.said({f.id: f.name for f in project.fabrics})}"


def _figures(found: Designs) -> str:
    none = "" if found.designs else f" That took {found.seconds:.0f} seconds, and does not prove that there is none."
    return f"{found.said}{none}"


def _keep_found(session: Session, outcome: tuple[Made, str]) -> Said | None:
    made, now = outcome
    if made.key not in ("", stock_key(session)) or now != key_of(session):
        return Said("stash", "The garment was changed meanwhile; look again.", "hint")
    keep_made(session, made)
    return None


def _answer_line(project: Project, line_id: str, found: LineRange, key: str) -> Answered:
    name = next(line.name for line in project.lines if line.id == line_id)
    looked = f"Looked at {counted(len(found.looked_at), 'position')}, {found.step_mm:g} mm apart at the closest."
    if found.highest is None or found.lowest is None:
        reach = max((abs(x) for x in found.looked_at), default=0.0)
        text = f"With this cloth no place was found for '{name}' within {reach:g} mm of where it is. {looked}"
        return Answered(key, text, line_id)
    up, down = found.highest.up_mm, found.lowest.up_mm
    moves = {"the highest": up, "the lowest": down}
    text = f"'{name}' fits from {_place(down)} to {_place(up)}. {_beyond('higher', found.beyond_high, found.step_mm)}"
    text += f"{_beyond('lower', found.beyond_low, found.step_mm)}{looked}"
    return Answered(key, text, line_id, {words: up_mm for words, up_mm in moves.items() if up_mm})


def _place(up_mm: float) -> str:
    return "where it is" if up_mm == 0 else f"{abs(up_mm):g} mm {'higher' if up_mm > 0 else 'lower'}"


def _beyond(way: str, spot: Spot | None, step_mm: float) -> str:
    if spot is None:
        return f"Any {way} was not looked at, or would leave its edge. "
    proved = "it cannot be" if spot.fits.answer is Answer.NO else "no lay was found"
    return f"{step_mm:g} mm {way} still, {proved}: {spot.fits.proof.partition(': ')[2] or spot.fits.proof} "


def _answer_piece(project: Project, piece: str, found: Any, key: str) -> Answered:
    names = {f.id: f.name for f in project.fabrics}
    places = {Answer.YES: list[str](), Answer.NO: list[str](), Answer.NOT_FOUND: list[str]()}
    for fabric, remnant, lay in found:
        places[lay.answer].append(f"{names[fabric]}, {'what is on the roll' if remnant == 'roll' else remnant}")
    if not found:
        return Answered(key, "There is no remnant and nothing on a roll yet: measure some under 'Which cloth?'.")
    text = (
        f"All of '{piece}' can be cut from any one of these: {'; '.join(places[Answer.YES])}."
        if places[Answer.YES]
        else f"No remnant alone makes '{piece}'."
    )
    if places[Answer.NOT_FOUND]:
        text += f" No lay was found, which proves nothing, on: {'; '.join(places[Answer.NOT_FOUND])}."
    if places[Answer.NO] and places[Answer.YES]:
        text += f" It cannot be on: {'; '.join(places[Answer.NO])}."
    return Answered(key, text)


def _take(session: Session, message: object) -> Said | None:
    said = read(Took, message)
    made, project = made_of(session), session.need()
    if said.do == "move":
        return _moved(session, project, made.answers.get("line"), said.where)
    if said.index >= len(made.designs):
        return Said("stash", "The garment or its cloth was changed meanwhile. Look again.", "error")
    design = made.designs[said.index]
    own = design.lines == project.lines
    new = project if own else replace(project, lines=design.lines)
    if not own:
        new = keep_cloth(new, panels_of(project), panels_of(new))
    letter = _letter(new)
    name = in_unit(design_name(design), session.state.unit)
    dealt = none_bare(Colourway(letter, name, dict(design.colourway.fabrics)), panels_of(new))
    session.keep(new.put_colourway(dealt), f"{name}, from my cloth")
    session.remember(choice=letter)
    left = _laid(session, design.fits.lays)
    end = "" if left is None else " Its pieces lie on their cloth above."
    if left:
        end = f"{end[:-1]}, but for {counted(left, 'piece')}: 'Finish the rest' lays {'it' if left == 1 else 'them'}."
    rest = "" if own else " Its lines are the garment's now; the other choices keep their cloth where it lies."
    return Said("stash", f"{name} is choice {letter} now.{rest}{end} Undo brings back what was.")


def _letter(project: Project) -> str:
    taken = {c.letter for c in project.colourways if c.fabrics}
    free = next((x for x in LETTERS if x not in taken), "")
    if not free:
        raise InputError("choice", expected="a free letter", got="26 choices", next_step="Take one of them away")
    return free


def _laid(session: Session, lays: Any) -> int | None:
    """Have the board show the lay that was found with the design, if its pieces are the board's own.

    Gives how many of the board's pieces are still without a place, since the design says nothing of them; None where
    the board does not show it.
    """
    board = board_of(session)
    if board is None:
        return None
    placements = {f: lay.placements for f, lay in lays.items()}
    same = all(f in board.pieces and {p.piece for p in ps} <= {p.name for p in board.pieces[f]}
               for f, ps in placements.items())  # fmt: skip
    if not same or any("grain" not in w for f, ps in placements.items() for w in found_of(board, f, ps)):
        return None
    keep(session, Laid(key_of(session), placements, {f: lay.proof for f, lay in lays.items()}))
    return sum(len(missing(pieces, placements.get(f, ()))) for f, pieces in board.pieces.items())


def _moved(session: Session, project: Project, answer: Answered | None, where: str) -> Said:
    if answer is None or where not in answer.moves:
        return Said("stash", "The garment was changed meanwhile. Ask again.", "error")
    moved = next(line for line in project.lines if line.id == answer.line)
    which = [line.id for line in project.lines if line.name == moved.name]
    lines = moved_up(project.lines, which, answer.moves[where], project.views)
    new = keep_cloth(replace(project, lines=lines), panels_of(project), panels_of(replace(project, lines=lines)))
    session.keep(new, f"{moved.name} to {where} that fits")
    far = length_said(abs(answer.moves[where]), session.state.unit)
    way = "higher" if answer.moves[where] > 0 else "lower"
    return Said("stash", f"{capital(moved.name)} runs {far} {way} now. Undo brings it back.")
