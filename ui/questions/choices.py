"""Which cloth? Choices as a whole: what follows, cloth swapped, and suggestions that are good in different ways."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from mockup.colourways.colourway import Colourway
from mockup.journey.choices import Follow, swap
from mockup.journey.suggesting import suggest
from mockup.project import Project
from mockup.proposals.pairings import Pairings
from swatches.errors import InputError
from swatches.job import Job, Part
from ui.parts.asked import SMALL_SIDE, follow_of, matters, remember, save_small
from ui.parts.desk import Desk, board_for
from ui.parts.known_panels import panels_of
from ui.parts.messages import read
from ui.parts.said import Said
from ui.parts.scripts import shim
from ui.parts.session import Session
from ui.parts.words import capital

SHIM = shim("choices_board.js", "choice")
"""Loads the script of choices; the event's name stands in quotes for Python to listen."""
LETTERS = "ABCDEF"
"""As many choices as a poll and a sheet take."""
_MOST = 6


class ChoiceSaid(BaseModel):
    """Something that the board of choices says."""

    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)
    do: Literal["follow", "swap", "name", "use"]
    follow: str = Field(default="", max_length=20)
    one: str = Field(default="", max_length=80)
    other: str = Field(default="", max_length=80)
    name: str = Field(default="", max_length=200)
    number: int = Field(default=0, ge=0, le=100)


def build(desk: Desk) -> None:
    """Lay out the part of the question and wire it."""
    import gradio as gr

    gr.HTML(
        '<details class="fold"><summary>Choices: name, swap, follow</summary><div data-slot="choices"></div></details>',
        elem_classes="words",
    )
    ask = gr.Button("Suggest cloth for the panels", elem_id="suggest-cloth")
    gr.HTML(
        '<p class="said" data-said="choices" role="status"></p><ul data-slot="suggested" class="suggested"></ul>'
        '<div data-slot="suggested-notes"></div>',
        elem_classes="words",
    )
    board = board_for(SHIM, "choices-board")
    desk.slow(ask.click, "choices", "Looking at every choice of cloth", _suggest, _keep)
    desk.quick_message(board.choice, "choices", take)


def take(session: Session, message: object) -> Said | None:
    """Take what the board says into the session."""
    said = read(ChoiceSaid, message)
    return {"follow": _follow, "swap": _swap, "name": _name, "use": _use}[said.do](session, said)


def _follow(session: Session, said: ChoiceSaid) -> Said | None:
    if said.follow not in tuple(Follow):
        raise InputError("panels", expected="one of those offered", got=said.follow, next_step="Choose one of them")
    remember(session, follow=said.follow)
    return None


def _swap(session: Session, said: ChoiceSaid) -> Said | None:
    project = session.need()
    letter = session.state.choice
    known = {p.id: p for panels in panels_of(project).values() for p in panels}
    if said.one not in known or said.other not in known or said.one == said.other:
        return Said("choices", "Choose two different panels first.", "error")
    new = swap(project.put_colourway(_now(project, letter)), letter, said.one, said.other, follow_of(session))
    names = [known[p].name or f"panel {known[p].number}" for p in (said.one, said.other)]
    session.keep(new, f"swapped {names[0]} and {names[1]}")
    return Said("choices", f"{capital(names[0])} and {names[1]} have changed their cloth.")


def _name(session: Session, said: ChoiceSaid) -> Said | None:
    project = session.need()
    name = " ".join(said.name.split())[:60]
    now = _now(project, session.state.choice)
    if name != now.name:
        session.keep(project.put_colourway(replace(now, name=name)), f"named choice {now.letter}")
    return None


def _use(session: Session, said: ChoiceSaid) -> Said | None:
    """Make a choice of a suggestion: the shown one where it has no cloth yet, else the next free letter."""
    project = session.need()
    offered: Sequence[dict[str, Any]] = session.state.asked.get("suggested", ())
    if session.state.asked.get("suggested_for") != matters(project) or not 1 <= said.number <= len(offered):
        return Said("choices", "These suggestions are out of date. Ask for new ones.", "error")
    fabrics = dict(offered[said.number - 1]["fabrics"])
    now = _now(project, session.state.choice)
    taken = {c.letter for c in project.colourways if c.fabrics}
    letter = now.letter if not now.fabrics else next((x for x in LETTERS if x not in taken), now.letter)
    session.keep(project.put_colourway(Colourway(letter, "", fabrics)), f"suggestion {said.number} as choice {letter}")
    session.remember(choice=letter)
    return Said("choices", f"Suggestion {said.number} is choice {letter} now.")


def _suggest(session: Session, job: Job) -> tuple[Project, Pairings, list[list[str]]]:
    project = session.need()
    if not project.fabrics:
        raise InputError("cloth", expected="cloth on the shelf", got="none yet", next_step="Add a photo or a colour")
    found = suggest(project, session.folder, most=_MOST, allowance=session.state.allowance, job=Part(job, 0.0, 0.6))
    names = []
    for n, one in enumerate(found.found):
        job.step(f"Painting suggestion {n + 1} of {len(found.found)}", 0.6 + 0.4 * n / len(found.found))
        names.append(save_small(session, project, one.fabrics, SMALL_SIDE))
    return project, found, names


def _keep(session: Session, made: tuple[Project, Pairings, list[list[str]]]) -> Said | None:
    project, found, names = made
    cloth = {f.id: f.name for f in project.fabrics}
    shown = [
        {
            "number": n,
            "fabrics": one.fabrics,
            "cloths": list(dict.fromkeys(cloth[f] for f in one.fabrics.values())),
            "pictures": pictures,
            "best_for": list(one.best_for),
            "gives_up": list(one.gives_up),
            "why": list(one.why),
        }
        for n, (one, pictures) in enumerate(zip(found.found, names, strict=True), 1)
    ]
    remember(session, suggested=shown, suggested_for=matters(project), notes=list(found.notes))
    if not shown:
        return Said("choices", "No choice of this cloth passes. Add another cloth, or take a line away.", "error")
    return Said("choices", f"{len(shown)} suggestions, each good in its own way. None is the best in everything.")


def _now(project: Project, letter: str) -> Colourway:
    return next((c for c in project.colourways if c.letter == letter), Colourway(letter))
