"""Prints of the cut pieces on the papers that were not chosen: made when somebody fetches them, and kept from then on.

Beside the files of a cut lies what its prints say. A print is made from that, never from the project, which may have
changed since; and it is kept under a name of that content, so that undo and redo find the prints of their own cut.
"""

from __future__ import annotations

import hashlib
import shutil
import threading
from pathlib import Path

from mockup.journey.to_print import read_to_print
from mockup.sheets.papers import PAPERS
from swatches.job import Job, check
from swatches.safe_write import write_whole
from ui.parts.session import Session

TO_PRINT = "to-print.json"
"""What the prints of a cut say; beside the files to download, and none of them."""
PRINTS = {f"pieces-{p.name.lower()}.pdf": p.name for p in PAPERS.values()}
"""Name of the file → paper."""
KEPT = 6
"""Of so many cuts the prints are kept: as many as undo brings back, the one that is shown, and one in the making."""


class WhileAsked:
    """The job of a print that somebody waits for: it stops when they have gone."""

    def __init__(self) -> None:
        self._gone = threading.Event()

    @property
    def cancelled(self) -> bool:
        """Whether nobody waits any more."""
        return self._gone.is_set()

    def stop(self) -> None:
        """Nobody waits any more."""
        self._gone.set()

    def step(self, text: str, done: float | None = None) -> None:
        """Nobody watches: the browser shows a file that is on its way."""


def print_of(session: Session, name: str, *, job: Job) -> Path | None:
    """Give the file of a print of the pieces as they were cut last, made now where it is not there yet.

    It may take a second or two, without the session's lock: whatever else is done meanwhile goes on.

    Args:
        session: whose pieces.
        name: of the file, 'pieces-a0.pdf'; anything may be asked for.
        job: of whoever waits.

    Returns:
        The file, or None where there is no print of that name.

    Raises:
        InputError: a piece is too wide for the roll, or what was kept of the cut cannot be read.
        Cancelled: the job says so.
    """
    paper = PRINTS.get(name)
    if paper is None:
        return None
    with session.lock:  # a cut that takes the place of this one does so as a whole
        ready = session.made_folder / name
        if name in session.state.made and ready.is_file():
            return ready
        record = session.made_folder / TO_PRINT
        if TO_PRINT not in session.state.made or not record.is_file():
            return None
        said = record.read_bytes()
    home = session.home / "prints"
    target = home / hashlib.sha256(said).hexdigest()[:24] / name
    with session.printing:  # two windows that ask at once wait for one print
        check(job)
        if not target.is_file():
            data = read_to_print(said).pdf(paper, job=job)
            target.parent.mkdir(parents=True, exist_ok=True)
            write_whole(target, data, what=name)
            _tidy(home)
    return target


def _tidy(home: Path) -> None:
    """Remove the prints of all but the newest cuts."""
    newest = sorted(home.iterdir(), key=lambda folder: folder.stat().st_mtime_ns, reverse=True)
    for folder in newest[KEPT:]:
        shutil.rmtree(folder, ignore_errors=True)
