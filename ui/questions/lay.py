"""Print and cut: how the pieces lie on the cloth that there is; by hand, or found; and cut at last."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from mockup.journey.stash_designs import enough_cloth
from mockup.lay.finish import finish
from mockup.lay.lay import Answer, Placement
from mockup.split.words import tenths
from swatches.errors import InputError
from swatches.job import Job
from swatches.units import length
from ui.parts.desk import Desk, board_for
from ui.parts.messages import read
from ui.parts.said import Said
from ui.parts.scripts import shim
from ui.parts.session import Session
from ui.parts.words import counted
from ui.questions.cloth_store import store_folder
from ui.questions.lay_buy import on_widths, to_buy
from ui.questions.lay_cut import use_in_store, used_up
from ui.questions.lay_state import (
    CLEARANCE_MM,
    MOVES,
    Board,
    LaySaid,
    board_of,
    found_of,
    keep,
    laid_of,
    taken,
    with_cloth,
)

SHIM = shim("lay_board.js", "lay", "search")
"""Loads the board's script; the events' names stand in quotes so that Python can listen to them."""
SEARCH_S, HELP_S = 12.0, 40.0


class Searched(LaySaid):
    """Slow things: finish the rest of one cloth, say how much to buy, here or on other widths, or what would help."""

    do: Literal["finish", "buy", "widths", "help"]
    again: int = Field(default=0, ge=0, le=1_000_000)


class Moved(LaySaid):
    """Quick things: what lies was changed by hand, or cut; ``edit`` counts a window's moves, ``client`` names it."""

    do: Literal["moved", "cut"]
    edit: int = Field(default=0, ge=0, le=2**53)
    client: str = Field(default="", max_length=20)


def build(desk: Desk) -> None:
    """Lay out the board and wire it."""
    import gradio as gr

    gr.HTML('<h3 class="lay-head" hidden>How the pieces lie</h3>', elem_classes="words")
    board = board_for(SHIM, "lay-board")
    desk.slow_message(board.search, "lay", "Laying the pieces", _search, _keep_search)
    data = desk.sessions.home.parent
    desk.quick_message(board.lay, "lay", lambda session, message: _change(session, data, message))


def _need(session: Session) -> Board:
    board = board_of(session)
    if board is None:
        raise InputError(
            "lay", expected="pattern pieces, a known length and a choice of cloth", got="only some of them",
            next_step="Add your pattern pieces, and give the panels their cloth",
        )  # fmt: skip
    return board


def _search(session: Session, job: Job, message: object) -> Any:
    said = read(Searched, message)
    with session.lock:
        board, before = _need(session), laid_of(session)
    if said.do == "buy":
        return replace(before, buy=to_buy(board, session.state.unit, job))
    if said.do == "widths":
        return replace(before, widths=on_widths(board, session.state.unit, job))
    if said.do == "help":
        return with_cloth(before, said.cloth, before.placements.get(said.cloth, ()), _help(session, board, said, job))
    pieces, scraps = board.pieces.get(said.cloth), board.scraps.get(said.cloth, ())
    if pieces is None or not scraps:
        raise InputError(
            "cloth", expected="a remnant, or what is left on the roll", got="nothing of this cloth to lay on",
            next_step="Measure a remnant or what is left under 'Which cloth?', or see how much to buy",
        )  # fmt: skip
    fixed = taken(board, said)
    found = finish(pieces, scraps, fixed, clearance_mm=CLEARANCE_MM, time_s=SEARCH_S, seed=said.again, job=job)
    text = found.proof
    if found.answer is Answer.NOT_FOUND and found.short_mm is not None:
        text += f" The pieces left out are short of room by {tenths(found.short_mm)}."
    return with_cloth(before, said.cloth, found.placements, text)


def _keep_search(session: Session, found: Any) -> Said | None:
    if found.key != laid_of(session).key:
        return Said("lay", "The garment was changed meanwhile; lay it again.", "hint")
    keep(session, found)
    return None


def _change(session: Session, data: Path, message: object) -> Said | None:
    said = read(Moved, message)
    if said.do == "moved" and not _newest(session, said):
        return None
    board = _need(session)
    placements = taken(board, said)
    if said.do == "moved":
        keep(session, with_cloth(laid_of(session), said.cloth, placements, ""))
        return None
    return _cut(session, data, board, said.cloth, placements)


def _newest(session: Session, said: Moved) -> bool:
    """Whether no later move of the same window was taken already: a busy machine hands messages on in any order."""
    key = (said.client, MOVES)
    if said.client and session.edits.get(key, -1) >= said.edit:
        return False
    session.edits[key] = said.edit
    return True


def _cut(session: Session, data: Path, board: Board, fabric: str, placements: tuple[Placement, ...]) -> Said:
    """Take what was cut off the remnants, which get smaller or come apart, and off the roll; in the store too."""
    if not placements:
        raise InputError("pieces", expected="pieces that lie on the cloth", got="none", next_step="Lay them first")
    wrong = found_of(board, fabric, placements)
    if wrong and any("grain" not in w or "lies off" in w for w in wrong):
        raise InputError(
            "lay", expected="pieces that lie inside and apart", got=wrong[0], next_step="Move that piece, then cut"
        )
    before = board.project.fabric(fabric)
    after = used_up(before, board.pieces[fabric], placements)
    kept = use_in_store(store_folder(data), before, board.pieces[fabric], placements)
    session.keep(session.need().put_fabric(after), f"cut {counted(len(placements), 'piece')} from {before.name}")
    left = ", ".join(r.name for r in after.remnants) or "no remnant"
    roll = after.length_left.value
    on_roll = f", and {roll / 10:.0f} cm on the roll" if roll else ""
    also = " Your store of cloth is changed too." if kept else ""
    return Said("lay", f"Cut. Of {before.name} there is left: {left}{on_roll}.{also} Undo brings it back here.")


def _help(session: Session, board: Board, said: Searched, job: Job) -> str:
    """What would help where a cloth is short, in sentences; each was laid before it is said."""
    typed = length(session.state.allowance, what="seam allowance", minimum_mm=0.0)
    found = enough_cloth(
        board.project, session.folder, board.letter, allowance_mm=typed.mm, time_s=HELP_S, seed=said.again, job=job
    )
    if said.cloth not in found.short:
        return "It is enough: take all off, and let the rest be found."
    texts = [s.text.partition(": ")[2] for s in found.suggestions if s.fabric == said.cloth]
    short = found.lays[said.cloth].short_mm
    room = "" if short is None else f" Short of room by {tenths(short)}."
    if not texts:
        return f"Nothing was found in the time that would help.{room} See how much to buy."
    return f"{room.strip()} What would help, any one of these: {' '.join(texts)}".strip()
