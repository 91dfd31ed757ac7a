"""Pictures that are painted before the browser asks for them, and what the first painting would have to wait for.

A picture of moved lines is begun as soon as the lines are known: while the work is saved and the page is told, it is
painted. Pictures that nobody waits for any more are not begun.
"""

from __future__ import annotations

import logging
import threading
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace

from mockup import journey
from mockup.checks.scene import frame_of
from mockup.garment.view import View
from mockup.project import Project
from mockup.stylelines.panels import primary_views
from swatches.errors import Cancelled, MockupError
from swatches.job import check
from ui.parts.judged import shown_choice
from ui.parts.known_panels import panels_of
from ui.parts.session import Session
from ui.parts.view_scene import LONG_SIDE, painted

log = logging.getLogger("mockup.page")
_POOL = ThreadPoolExecutor(2, thread_name_prefix="ahead")
_PATIENCE_S = 0.5  # then the rest is told all the same
_REST_S = 0.3  # after the first picture was fetched the browser still fetches the others, and draws


@dataclass(frozen=True, slots=True)
class Ahead:
    """Pictures that the page will ask for: view name → address, and the painting of those that are not there yet."""

    pictures: dict[str, str]
    painting: tuple[Future[None], ...] = ()

    def wait(self) -> None:
        """Wait until they are painted, within reason."""
        wait(self.painting, timeout=_PATIENCE_S)


def paint_ahead(session: Session, project: Project | None) -> Ahead:
    """Begin to paint the pictures that the page will ask for when it is told of ``project``."""
    if project is None:
        return Ahead({})
    try:
        panels, choice = panels_of(project), shown_choice(project, session.state)
    except MockupError:
        return Ahead({})  # what is wrong is said when the scene is made
    shown = _looked_at(session, project)
    pictures = {v.name: painted(session, project, choice, v, panels.get(v.name, ())) for v in shown}
    names = [name for _, _, name in (a.rpartition("/") for a in pictures.values()) if not session.is_painted(name)]
    if names:
        session.ahead += 1
    return Ahead(pictures, tuple(_POOL.submit(_paint, session, name, session.ahead) for name in names))


def get_ready(session: Session) -> None:
    """Fill what is kept for painting, in the background: pictures that were there already had filled nothing.

    Without it the first line that is let go is waited for several times as long as the next.
    """
    garment = session.folder.name
    if session.ready_for != garment:
        session.ready_for = garment
        timer = threading.Timer(_REST_S, _fill, (session, session.ahead))
        timer.daemon = True
        timer.start()


@dataclass(frozen=True, slots=True)
class _WhileQuiet:
    """A job that stops as soon as somebody moves something."""

    session: Session
    number: int

    @property
    def cancelled(self) -> bool:
        return self.session.ahead != self.number

    def step(self, text: str, done: float | None = None) -> None:
        """Nobody watches."""


def _fill(session: Session, number: int) -> None:
    job = _WhileQuiet(session, number)
    try:
        with session.lock:
            project, folder = session.project, session.folder
            choice = None if project is None else shown_choice(project, session.state)
        if project is None or choice is None:
            return
        panels = panels_of(project)
        for view in _looked_at(session, project):
            shown = replace(project.put_colourway(choice), views=_with_drawing(project, view))
            journey.paint_view(
                shown, folder, choice.letter, view.name, long_side=LONG_SIDE, panels=panels.get(view.name, ()), job=job
            )
        check(job)
        frame_of(project)
    except Cancelled:
        session.ready_for = ""  # the rest is for a quieter moment
    except (MockupError, OSError) as error:
        log.info("not made ready: %s", error)  # whoever needs it hears of it


def _paint(session: Session, name: str, number: int) -> None:
    if session.ahead != number:
        return  # moved again meanwhile
    try:
        session.picture(name)
    except (MockupError, OSError) as error:
        log.info("not painted ahead: %s", error)  # whoever asks for it hears of it


def _looked_at(session: Session, project: Project) -> list[View]:
    """The views that a window shows; as long as none said so, one a side, the drawing rather than the photo."""
    shown = [v for v in project.views if v.name in session.looked_at]
    return shown or list(primary_views(project.views))


def _with_drawing(project: Project, view: View) -> tuple[View, ...]:
    return tuple(v for v in project.views if v.name == view.name or (v.kind == "drawing" and v.side == view.side))
