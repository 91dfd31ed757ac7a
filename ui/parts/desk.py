"""What the questions of the page share: the sessions, the table component, and how an event is wired to them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from swatches.errors import InputError, MockupError
from ui.gate import UPLOAD_LIMIT
from ui.parts.ahead import Ahead, paint_ahead
from ui.parts.example import Example
from ui.parts.lengths import LengthField
from ui.parts.said import Said
from ui.parts.scene import scene
from ui.parts.scripts import shim
from ui.parts.session import Session, Sessions
from ui.parts.wait import ANSWERS, told, waited

SHIM = shim("table.js", "outline", "unit", "all", "cloth", "swatch")
"""Loads the table's script. The names of the events stand in quotes so that Python can listen to them; what happens at
the picture goes another way (:mod:`ui.table`)."""

Quick = Callable[..., Said | None]


def board_for(script: str, name: str) -> Any:
    """Lay out an empty place that a script of ``ui/static`` fills, and through which it speaks.

    The template is fixed, since what stands in a template is executed.

    Args:
        script: what :func:`~ui.parts.scripts.shim` gave, with the names of its events.
        name: id of the element.
    """
    from gradio import HTML

    return HTML(html_template='<div class="mount"></div>', js_on_load=script, apply_default_css=False, elem_id=name)


@dataclass(frozen=True, slots=True)
class Desk:
    """Handed to every question.

    Attributes:
        sessions: all work in the data folder.
        example: the choir's tunic, ready to be copied.
        table: the component that shows the scene; every answer goes to it.
        word: hidden text box with the session's word, an input of every event.
        lengths: every field that takes a length; they follow the person's unit.
    """

    sessions: Sessions
    example: Example
    table: Any
    word: Any
    lengths: list[LengthField] = field(default_factory=list)

    def length_field(self, component: Any, kept: str = "") -> Any:
        """Let a field that takes a length follow the person's unit; ``kept``: the state that remembers its text."""
        self.lengths.append(LengthField(component, kept))
        return component

    def quick(self, event: Any, place: str, do: Quick, *inputs: Any) -> None:
        """Answer an event at once: ``do(session, *values)`` with the session's lock held."""
        sessions = self.sessions

        def handle(word: str, *values: Any) -> dict[str, Any]:
            return at_once(sessions, word, place, lambda session: do(session, *values))

        event(handle, [self.word, *inputs], [self.table], **QUIET_EVENT)

    def quick_message(self, event: Any, place: str, do: Callable[[Session, Any], Said | None]) -> None:
        """Answer a message of a board at once: ``do(session, message)`` with the session's lock held."""
        sessions = self.sessions

        def handle(word: str, told_by: Any) -> dict[str, Any]:
            return at_once(sessions, word, place, lambda session: do(session, told_by._data))

        self._hears(event, handle)

    def slow(
        self,
        event: Any,
        place: str,
        first: str,
        work: Callable[..., Any],
        finish: Callable[[Session, Any], Said | None],
        *inputs: Any,
    ) -> None:
        """Answer an event with slow work: ``work(session, job, *values)``, then ``finish(session, result)``."""

        def handle(word: str, *values: Any) -> Iterator[dict[str, Any]]:
            yield from self._waited(word, place, first, work, finish, *values)

        event(handle, [self.word, *inputs], [self.table], **QUIET_EVENT)

    def slow_message(
        self,
        event: Any,
        place: str,
        first: str,
        work: Callable[..., Any],
        finish: Callable[[Session, Any], Said | None],
    ) -> None:
        """Answer a message of a board with slow work: ``work(session, job, message)``."""

        def handle(word: str, told_by: Any) -> Iterator[dict[str, Any]]:
            yield from self._waited(word, place, first, work, finish, told_by._data)

        self._hears(event, handle)

    def _waited(
        self,
        word: str,
        place: str,
        first: str,
        work: Callable[..., Any],
        finish: Callable[[Session, Any], Said | None],
        *values: Any,
    ) -> Iterator[dict[str, Any]]:
        session = self.sessions.get(word)
        return waited(
            session, place, first, lambda job: work(session, job, *values), lambda result: finish(session, result)
        )

    def _hears(self, event: Any, handle: Callable[..., Any]) -> None:
        """Let ``handle(word, told_by)`` hear the messages of a board."""
        from gradio import EventData

        handle.__annotations__["told_by"] = EventData  # found by its annotation, which is a string in this module
        event(handle, [self.word], [self.table], **QUIET_EVENT)


QUIET_EVENT: dict[str, Any] = {
    "show_progress": "hidden",
    "trigger_mode": "multiple",
    "concurrency_limit": 8,
    "api_visibility": "private",
}
"""The page shows its own progress; events are never dropped; nothing is offered to programs."""


def at_once(
    sessions: Sessions, word: str, place: str, do: Callable[[Session], Said | None], *, edit: int = 0
) -> dict[str, Any]:
    """Do something to a session and give its scene; what goes wrong is said beside ``place``.

    Every answer has a number of its own: the interface library does not hand on a value that equals the one before, so
    that a moved piece of a lay, or the same mistake twice, would go unanswered. By it the page knows a late answer.
    """
    session = sessions.get(word)
    with session.lock:
        said, _ = done(session, place, do)
        return answered(session, said, edit=edit)


def done(session: Session, place: str, do: Callable[[Session], Said | None]) -> tuple[Said | None, Ahead]:
    """Do something to a session and begin to paint what comes of it; gives what to say."""
    with session.lock:
        try:
            said = do(session)
        except Exception as error:  # noqa: BLE001  one bad request must not stop the page
            said = told(error, place, session.state.unit)
        return said, paint_ahead(session, session.project)


def answered(session: Session, said: Said | None, *, edit: int = 0) -> dict[str, Any]:
    """Give the scene, numbered."""
    with session.lock:
        return _scene(session, edit, said) | {"answer": next(ANSWERS)}


def _scene(session: Session, edit: int, said: Said | None) -> dict[str, Any]:
    try:
        return scene(session, edit=edit, said=said)
    except MockupError as error:
        # The newest step cannot be shown: go back to the one before, which could.
        session.undo()
        return scene(session, edit=edit, said=told(error, "table"))


def uploaded(path: object, what: str) -> bytes:
    """Read what was uploaded and take it away from the upload folder.

    Raises:
        InputError: nothing was uploaded, or too much.
    """
    if isinstance(path, list):
        path = path[0] if path else None
    if not isinstance(path, str | Path):
        raise InputError(what, expected="a picture file", got="nothing", next_step="Choose a file")
    file = Path(path)
    try:
        if file.stat().st_size > UPLOAD_LIMIT:
            raise InputError(
                what, expected=f"at most {UPLOAD_LIMIT // 1_000_000} MB", got="more", next_step="Use a smaller picture"
            )
        return file.read_bytes()
    finally:
        file.unlink(missing_ok=True)


def named(path: object, what: str) -> str:
    """What to call an upload in a sentence, so that among several it is plain which one is meant: 'photo oat.jpg'.

    Without a name to print, what it is: ``what``.
    """
    name = "".join(c for c in Path(path).name if c.isprintable()) if isinstance(path, str | Path) else ""
    return f"photo {name}" if name and len(name) <= 60 else what
