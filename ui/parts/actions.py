"""What a person does at the table, applied to the project: quick things, each one step that can be undone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from mockup.colourways.colourway import Colourway
from mockup.journey.choices import Follow, followers
from swatches.errors import InputError
from ui.parts import line_actions, line_ideas, print_actions
from ui.parts.asked import follow_of
from ui.parts.known_panels import panels_of
from ui.parts.lengths import restated
from ui.parts.line_actions import ABOUT_LINES, add_lines, commit, going_on
from ui.parts.line_keeping import free_number
from ui.parts.messages import text_of
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.settings import UNITS
from ui.parts.words import capital, counted

__all__ = ["ABOUT_LINES", "act", "add_lines", "commit", "free_number", "going_on", "take_unit"]


def act(session: Session, message: object) -> Said | None:
    """Do one thing that is not a moved line; ``message['do']`` says which."""
    if not isinstance(message, dict) or message.get("do") not in _DOES:
        raise InputError(
            "request", expected="something this page can do", got=str(message), next_step="Open the page again"
        )
    return _DOES[message["do"]](session, message)


def _undo(session: Session, message: dict[str, Any]) -> Said | None:
    label = session.undo()
    return Said("table", f"Undone: {label}.") if label else None


def _redo(session: Session, message: dict[str, Any]) -> Said | None:
    label = session.redo()
    return Said("table", f"Done again: {label}.") if label else None


def _assign(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    panel, cloth = text_of(message, "panel"), text_of(message, "cloth")
    known = {p.id: p for panels in panels_of(project).values() for p in panels}
    if panel not in known or (cloth != "none" and all(f.id != cloth for f in project.fabrics)):
        return Said("table", "That panel or that cloth is not here any more.", "error")
    letter = session.state.choice
    now = next((c for c in project.colourways if c.letter == letter), Colourway(letter))
    name = known[panel].name or f"panel {known[panel].number}"
    follow = follow_of(session)
    panels = (panel,) if follow == Follow.NONE else followers(project, panel, follow)
    more = f", and {counted(len(panels) - 1, 'panel')} with it" if len(panels) > 1 else ""
    for each in panels:
        now = now.assign(each, None if cloth == "none" else cloth)
    if cloth == "none":
        session.keep(project.put_colourway(now), f"{name} without cloth")
        return Said("table", f"{capital(name)}{more}: left as it is.")
    fabric = project.fabric(cloth)
    session.keep(project.put_colourway(now), f"{fabric.name} on {name}")
    return Said("table", f"{capital(name)}{more} is {fabric.name} now.")


def take_unit(session: Session, unit: str, fields: Sequence[tuple[str, str]]) -> list[str]:
    """Show lengths in another unit.

    Args:
        session: the session.
        unit: 'mm', 'cm' or 'in'; anything else changes nothing.
        fields: what stands in each field that takes a length, and the name of the state that remembers it, or ''.

    Returns:
        What is to stand in the fields now.
    """
    old = session.state.unit
    new = unit if unit in UNITS else old
    texts = [restated(text, old, new) for text, _ in fields]
    kept = {name: text for text, (_, name) in zip(texts, fields, strict=True) if name}
    if new != old:
        session.remember(unit=new, **kept)
    return texts


def _choose(session: Session, message: dict[str, Any]) -> Said | None:
    letter = text_of(message, "letter")
    if any(c.letter == letter for c in session.need().colourways):
        session.remember(choice=letter)
    return None


def _copy_choice(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    letters = {c.letter for c in project.colourways} | {session.state.choice}
    now = next((c for c in project.colourways if c.letter == session.state.choice), Colourway(session.state.choice))
    free = next((x for x in "ABCD" if x not in letters), None)
    if free is None:
        return Said("table", "There are four choices already: change one of them.", "error")
    session.keep(project.put_colourway(now).put_colourway(replace(now, letter=free, name="")), f"choice {free}")
    session.remember(choice=free)
    return Said("table", f"Choice {free} begins like {now.letter}. Change its cloth; {now.letter} stays as it is.")


def _remove_cloth(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    fabric = next((f for f in project.fabrics if f.id == text_of(message, "cloth")), None)
    if fabric is None:
        return None
    colourways = tuple(
        replace(c, fabrics={p: f for p, f in c.fabrics.items() if f != fabric.id}) for c in project.colourways
    )
    rest = tuple(f for f in project.fabrics if f.id != fabric.id)
    session.keep(replace(project, fabrics=rest, colourways=colourways), f"put {fabric.name} away")
    return Said("cloth", f"{fabric.name} is put away. Undo brings it back.")


def _look(session: Session, message: dict[str, Any]) -> Said | None:
    """Nothing but show what is so now: a phone sent something, or another window changed it."""
    return None


_DOES: dict[str, Callable[[Session, dict[str, Any]], Said | None]] = {
    **line_actions.DOES,
    **line_ideas.DOES,
    **print_actions.DOES,
    "look": _look, "undo": _undo, "redo": _redo, "assign": _assign, "choose": _choose, "copy-choice": _copy_choice,
    "remove-cloth": _remove_cloth,
}  # fmt: skip
