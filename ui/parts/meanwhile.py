"""Slow work on a garment's pictures, taken into the project as it is when the work ends.

While a picture is read, lines are drawn and cloth is laid on. So the work notes what was there when it began, and only
what it changed itself is put into what is there now.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from mockup import journey
from mockup.garment.view import View
from mockup.project import Project
from ui.parts.known_panels import panels_of
from ui.parts.session import Session, linked

T = TypeVar("T")
UNNAMED = "My garment"
_Stamp = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Begun:
    """What was there when slow work began.

    Attributes:
        folder: new project folder that the work writes into; a copy of the one that was shown.
        project: the project as it was; an empty one where there was none.
        step: number of the step that was shown; 0: none.
        files: what lay in the folder: path in it → time of its last change, ns, and size.
    """

    folder: Path
    project: Project
    step: int
    files: dict[Path, _Stamp]


@contextmanager
def begun(session: Session) -> Iterator[Begun]:
    """Begin work on the garment in a folder of its own; the folder is removed when the work fails."""
    with ExitStack() as stack:
        with session.lock:
            project, step = session.project, session.step
            folder = stack.enter_context(session.new_garment(copy=project is not None))
            start = Begun(folder, project or Project(UNNAMED), step.number if step else 0, _files(folder))
        yield start


def keep(session: Session, start: Begun, read: Project, label: str, *, follow: bool = False) -> journey.Stayed:
    """Keep what slow work made as one step, with all that was done meanwhile; the session's lock is held.

    Args:
        session: the session.
        start: what was there when the work began.
        read: the project that the work gave.
        label: what was done, for the undo button.
        follow: see :func:`mockup.journey.stay`.
    """
    try:
        now, step = session.project, session.step
        if (step.number if step else 0) != start.step and now is not None:
            _bring(session.folder, start)
            read = merged(start.project, read, now)
        stayed = journey.stay(now or start.project, read, panels_of, follow=follow)
        session.keep(stayed.project, label, garment=start.folder.name, joins=session.joins)
    except BaseException:
        session.leave(start.folder)
        raise
    return stayed


def merged(base: Project, mine: Project, theirs: Project) -> Project:
    """Put what was changed from ``base`` to ``mine`` in views and marks into ``theirs``."""
    views = []
    for view in _merged(base.views, mine.views, theirs.views, "name"):
        was, other = (next((v for v in p.views if v.name == view.name), None) for p in (base, theirs))
        views.append(_with_theirs(view, was, other) if was is not None and other is not None else view)
    return replace(theirs, views=tuple(views), details=_merged(base.details, mine.details, theirs.details, "id"))


def _merged(base: tuple[T, ...], mine: tuple[T, ...], theirs: tuple[T, ...], key: str) -> tuple[T, ...]:
    was, made = ({getattr(x, key): x for x in each} for each in (base, mine))
    kept = [
        made[k] if k in made and made[k] != was.get(k) else x
        for x in theirs
        if (k := getattr(x, key)) in made or k not in was
    ]
    there = {getattr(x, key) for x in theirs}
    return (*kept, *(x for k, x in made.items() if k not in there and x != was.get(k)))


def _with_theirs(view: View, was: View, other: View) -> View:
    """A view that was read anew, with the scale and the words about darts that came meanwhile."""
    measured = (other.mm_per_px, other.scale_measured)
    if measured != (was.mm_per_px, was.scale_measured) and view.size == other.size:
        view = replace(view, mm_per_px=other.mm_per_px, scale_measured=other.scale_measured)
    more = tuple(e for e in other.edits if e not in was.edits and e not in view.edits)
    return replace(view, edits=(*view.edits, *more)) if more else view


def _files(folder: Path) -> dict[Path, _Stamp]:
    return {p.relative_to(folder): (p.stat().st_mtime_ns, p.stat().st_size) for p in folder.rglob("*") if p.is_file()}


def _bring(current: Path, start: Begun) -> None:
    """Lay the files that are there now into the work's folder, but for those that the work wrote."""
    there = _files(start.folder)
    written = {p for p, stamp in there.items() if start.files.get(p) != stamp}
    for path, stamp in _files(current).items():
        if path in written or there.get(path) == stamp:
            continue
        target = start.folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.unlink(missing_ok=True)
        linked(str(current / path), str(target))
