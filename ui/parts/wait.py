"""Slow work behind the page: it tells its progress, can be stopped, and never holds the page up."""

from __future__ import annotations

import itertools
import logging
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

from mockup.checks.in_unit import in_unit
from swatches.errors import Cancelled, GeometryError, InputError, MockupError
from ui.parts.said import Said
from ui.parts.scene import scene
from ui.parts.session import Session
from ui.parts.words import sentence

log = logging.getLogger("mockup.page")
_BEAT_S = 0.2
ANSWERS = itertools.count(time.time_ns() // 1_000_000)
"""Numbers of scenes in the order in which they were made, also after the server was started anew."""


class PageJob:
    """The job of one piece of slow work: what it says last is shown, and it hears the session's stop."""

    def __init__(self, session: Session, first: str) -> None:
        self._stop = session.stop
        self.text = first
        self.share: float | None = None
        self.news = threading.Event()

    @property
    def cancelled(self) -> bool:
        """Whether the person pressed stop."""
        return self._stop.is_set()

    def step(self, text: str, done: float | None = None) -> None:
        """Say what is being done now."""
        self.text, self.share = text, done
        self.news.set()


def waited(
    session: Session,
    place: str,
    first: str,
    work: Callable[[PageJob], Any],
    finish: Callable[[Any], Said | None],
) -> Iterator[dict[str, Any]]:
    """Run slow work beside the page.

    Args:
        session: whose work it is.
        place: the question that it belongs to, for what is said when it fails.
        first: what is shown until the work speaks.
        work: does it, without the session's lock; it may not change the session.
        finish: takes the result into the session, with the lock held, and gives what to say.

    Yields:
        Patches of the scene that show the progress; last, the whole scene.
    """
    if not session.working.acquire(blocking=False):
        yield scene_now(session, Said(place, "One thing at a time: something is still being worked out here.", "error"))
        return
    try:
        session.stop.clear()
        job = PageJob(session, first)
        yield {"patch": True, "busy": {"text": job.text, "share": None}, "said": None}
        outcome: dict[str, Any] = {}
        thread = threading.Thread(target=_run, args=(work, job, outcome), daemon=True)
        thread.start()
        while thread.is_alive():
            job.news.wait(_BEAT_S)
            if job.news.is_set():
                job.news.clear()
                yield {"patch": True, "busy": {"text": job.text, "share": job.share}}
            thread.join(0.01)
        said = _end(session, place, outcome, finish)
    finally:
        session.working.release()
    yield scene_now(session, said)


def scene_now(session: Session, said: Said | None = None, **more: Any) -> dict[str, Any]:
    """Give the scene with the session's lock held."""
    with session.lock:
        return scene(session, said=said, **more) | {"answer": next(ANSWERS)}


def told(error: BaseException, place: str, unit: str = "mm") -> Said:
    """What to say about an error, lengths on the garment in the person's unit; an unforeseen one goes to the log."""
    if isinstance(error, Cancelled):
        return Said(place, str(error))
    if not isinstance(error, MockupError):
        log.error("unforeseen", exc_info=error)
    point, view = getattr(error, "point", None), getattr(error, "view", "")
    text = sentence(error)
    if isinstance(error, GeometryError):
        text = in_unit(text, unit)
    elif isinstance(error, InputError):
        text = text.replace(error.expected, in_unit(error.expected, unit), 1)
    return Said(place, text, "error", view=view, point=point)


def _run(work: Callable[[PageJob], Any], job: PageJob, outcome: dict[str, Any]) -> None:
    try:
        outcome["result"] = work(job)
    except BaseException as error:  # noqa: BLE001  a solver's panic must reach the person too
        outcome["error"] = error


def _end(session: Session, place: str, outcome: dict[str, Any], finish: Callable[[Any], Said | None]) -> Said | None:
    if "error" in outcome:
        return told(outcome["error"], place, session.state.unit)
    try:
        with session.lock:
            return finish(outcome["result"])
    except Exception as error:  # noqa: BLE001  the page goes on
        return told(error, place, session.state.unit)
