"""One person's work on one garment, kept on disk so that a reload or a restart loses nothing.

A session is named by the long random word in the page's address; who does not know the word does not find the work, and
two people never share one by accident. On disk it is a folder::

    sessions/<word>/
        state.json       which step is shown, the unit, the choice, what the cloth is measured by
        garment-1/ …     project folders as mockup.files.project_file writes them; a new picture begins a new one
        steps/0001.json  the project after every change: undo and redo walk along these
        painted/         pictures for the page, named by what they show
        made/            files to download
        cuts/5/ …        those of earlier cuts, by the step that they show: undo brings them back
        prints/          prints that were fetched, by the cut that they are of
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import shutil
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, replace
from itertools import count
from pathlib import Path
from typing import Any

from mockup.files import project_file
from mockup.project import Project
from mockup.proposals.lines import LineProposals
from swatches.errors import InputError, ProjectError
from swatches.safe_write import write_whole
from ui.parts.cut_like import cut_like
from ui.parts.earlier_cuts import bring_back
from ui.parts.settings import Settings, SettingsFile
from ui.parts.state import State as State
from ui.parts.state import Step, read_state

WORD = re.compile(r"[A-Za-z0-9_-]{16,40}")
STEPS_KEPT = 200
PAINTED_KEPT = 200


class Session:
    """The work behind one address. Use it inside :meth:`Sessions.open`, which holds its lock."""

    def __init__(self, word: str, home: Path, settings: SettingsFile | None = None) -> None:
        self.word, self.home = word, home
        self._settings = settings
        self.lock = threading.RLock()
        self.stop = threading.Event()
        self.working = threading.Lock()
        self.printing = threading.Lock()
        self._paint: dict[str, Callable[[Path], None]] = {}
        self._painting = threading.Lock()
        self._locks: dict[str, threading.Lock] = {}
        self.looked_at: frozenset[str] = frozenset()
        """Names of the views that a window shows, as it said last."""
        self.ahead = 0
        """How often painting ahead was begun: what was begun for an earlier number is for nobody any more."""
        self.ready_for = ""
        """The project folder for which everything that painting keeps is there."""
        self._begun: set[str] = set()
        """Names of project folders that slow work writes into and that no step shows yet."""
        self.edits: dict[tuple[str, str], int] = {}
        self.ideas: tuple[int, LineProposals] | None = None
        self.ideas_shown: tuple[object, list[dict[str, Any]]] | None = None
        self.state = read_state(home / "state.json", self.settings.unit)
        self._loaded: tuple[int, Project] | None = None
        self._held: tuple[tuple[int, int], bool] | None = None

    @property
    def settings(self) -> Settings:
        """What the person set for all their garments."""
        return Settings() if self._settings is None else self._settings.now

    @property
    def step(self) -> Step | None:
        """The step that is shown."""
        return self.state.steps[self.state.at] if 0 <= self.state.at < len(self.state.steps) else None

    @property
    def folder(self) -> Path:
        """The project folder that is shown."""
        step = self.step
        return self.home / (step.garment if step else "garment-1")

    @property
    def project(self) -> Project | None:
        """The project as it is shown, or None before there is a garment."""
        step = self.step
        if step is None:
            return None
        if self._loaded is None or self._loaded[0] != step.number:
            self._loaded = (step.number, self.project_of(step.number))
        return self._loaded[1]

    def project_of(self, number: int) -> Project:
        """Give the project as it was after the step of a number."""
        return project_file.parse(self._step_file(number).read_bytes())

    @property
    def joins(self) -> tuple[dict[str, Any], ...]:
        """Seams that are taken out of the cut pieces as they are shown."""
        return self.step.joins if self.step else ()

    @property
    def made_holds(self) -> bool:
        """Whether the files made last are of the garment as it is cut now.

        What is written down of a cloth, a limit or a name leaves the pieces as they are, and so do undo and redo of it.
        """
        return bool(self.state.made) and self.cut_alike(self.state.made_for)

    def cut_alike(self, number: int) -> bool:
        """Whether the pieces of the step of that number are those of the step that is shown."""
        now, step = self.project, self.step
        if now is None or step is None:
            return False
        if step.number == number:
            return True
        then = next((s for s in self.state.steps if s.number == number), None)
        if then is None or (then.garment, then.joins) != (step.garment, step.joins):
            return False
        if self._held is None or self._held[0] != (step.number, number):
            same = cut_like(self.project_of(number)) == cut_like(now)
            self._held = ((step.number, number), same)
        return self._held[1]

    def need(self) -> Project:
        """Give the project; ``ProjectError`` when there is no garment yet."""
        project = self.project
        if project is None:
            raise ProjectError(
                "garment",
                expected="a picture of the garment",
                got="none yet",
                next_step="Add a picture, or open the choir's tunic",
            )
        return project

    def keep(
        self,
        project: Project,
        label: str,
        *,
        garment: str | None = None,
        joins: Sequence[dict[str, Any]] | None = None,
    ) -> Project:
        """Save a change: it becomes the newest step, and what was undone before it is dropped.

        Args:
            project: the project after the change.
            label: what was done, for the undo button.
            garment: name of the project folder, where a new one was begun.
            joins: seams that are taken out of the cut pieces, where that is the change.
        """
        step = self.step
        taken_out = self.joins if garment is None and joins is None else tuple(joins or ())
        name = garment or (step.garment if step else "garment-1")
        saved = self._write(project, self.home / name)
        number = 1 + max((s.number for s in self.state.steps), default=0)
        write_whole(
            self._step_file(number), (self.home / name / project_file.PROJECT_FILE).read_bytes(), what="project"
        )
        kept = self.state.steps[: self.state.at + 1]
        dropped = self.state.steps[self.state.at + 1 :]
        steps = (*kept, Step(number, name, label, taken_out))
        dropped = (*dropped, *steps[:-STEPS_KEPT])
        steps = steps[-STEPS_KEPT:]
        self.remember(steps=steps, at=len(steps) - 1)
        for old in dropped:
            self._step_file(old.number).unlink(missing_ok=True)
        self._begun.discard(name)
        used = {s.garment for s in steps} | self._begun
        for folder in self.home.glob("garment-*"):
            if folder.name not in used:
                shutil.rmtree(folder, ignore_errors=True)
        self._loaded = (number, saved)
        return saved

    def undo(self) -> str:
        """Go one step back; gives what was undone, or an empty text at the start."""
        if self.state.at < 0:
            return ""
        label = self.state.steps[self.state.at].label
        self._go(self.state.at - 1)
        return label

    def redo(self) -> str:
        """Go one step forward again; gives what was done, or an empty text at the end."""
        if self.state.at + 1 >= len(self.state.steps):
            return ""
        self._go(self.state.at + 1)
        return self.state.steps[self.state.at].label

    def remember(self, **changes: object) -> None:
        """Change what the page remembers and write it down."""
        state = replace(self.state, **changes)  # type: ignore[arg-type]
        write_whole(self.home / "state.json", json.dumps(asdict(state), indent=1).encode(), what="your work")
        self.state = state

    @contextmanager
    def new_garment(self, *, copy: bool) -> Iterator[Path]:
        """Begin a new project folder, empty or a copy of the shown one; it is removed when the work in it fails."""
        folder = next(f for n in count(1) if not (f := self.home / f"garment-{n}").exists())
        self._begun.add(folder.name)
        try:
            if copy and self.folder.exists():
                shutil.copytree(self.folder, folder, copy_function=linked)
                project = self.project
                if project is not None:
                    self._write(project, folder)
            else:
                folder.mkdir(parents=True)
            yield folder
        except BaseException:
            self.leave(folder)
            raise

    def leave(self, folder: Path) -> None:
        """Remove a project folder that work began; one that a step shows by now stays."""
        if folder.name in self._begun:
            self._begun.discard(folder.name)
            shutil.rmtree(folder, ignore_errors=True)

    def to_paint(self, name: str, paint: Callable[[Path], None]) -> str:
        """Give the address of a picture for the page; ``paint`` is kept until the browser asks for the picture."""
        if not self.is_painted(name):
            self._paint[name] = paint
            while len(self._paint) > PAINTED_KEPT:
                self._paint.pop(next(iter(self._paint)))
        return f"/pictures/{self.word}/{name}"

    def is_painted(self, name: str) -> bool:
        """Whether a picture of that name is there."""
        return (self.home / "painted" / name).exists()

    def picture(self, name: str) -> Path | None:
        """Give the file of a picture, painted now if it is not there yet; None when there is no such picture.

        Two windows that ask at once wait for one painting.
        """
        target = self.home / "painted" / name
        with self._painting:
            mine = self._locks.setdefault(name, threading.Lock())
        with mine:
            paint = self._paint.get(name)
            if not target.exists() and paint is not None:
                target.parent.mkdir(parents=True, exist_ok=True)
                paint(target)
                _prune(target.parent, PAINTED_KEPT)
        with self._painting:
            self._paint.pop(name, None)
            self._locks.pop(name, None)
        return target if target.is_file() else None

    @property
    def made_folder(self) -> Path:
        """Where files to download lie."""
        return self.home / "made"

    def _go(self, at: int) -> None:
        before = self.state
        self.state = replace(before, at=at)
        try:
            project = self.project
            if project is not None:
                self._write(project, self.folder)
            self.remember(at=at)
        except BaseException:
            self.state = before
            raise
        bring_back(self)

    def _write(self, project: Project, folder: Path) -> Project:
        """Write a project over whatever revision the folder holds: the session's lock makes this its only writer."""
        return project_file.save(project, folder, over=True)

    def _step_file(self, number: int) -> Path:
        return self.home / "steps" / f"{number:05d}.json"


class Sessions:
    """All work in one data folder."""

    def __init__(self, data: Path) -> None:
        self.home = Path(data) / "sessions"
        self.settings = SettingsFile(data)
        self._open: dict[str, Session] = {}
        self._lock = threading.Lock()

    @staticmethod
    def new_word() -> str:
        """Make up the word for a new session; 128 random bits."""
        return secrets.token_urlsafe(16)

    def get(self, word: object) -> Session:
        """Find or begin the session of a word. Nothing is written before the first change.

        Raises:
            InputError: the word is none that this page gave out.
        """
        if not isinstance(word, str) or not WORD.fullmatch(word):
            raise InputError(
                "address", expected="the page's own address", got=str(word), next_step="Open the page again"
            )
        with self._lock:
            if word not in self._open:
                self._open[word] = Session(word, self.home / word, self.settings)
            return self._open[word]

    def close(self, word: str) -> None:
        """Forget a session's object; its folder stays as it is, and is read anew when somebody asks for it."""
        with self._lock:
            self._open.pop(word, None)

    @contextmanager
    def open(self, word: object) -> Iterator[Session]:
        """Hold a session's lock, so that two windows on one garment change it one after the other."""
        session = self.get(word)
        with session.lock:
            yield session


def linked(source: str, target: str) -> str:
    """Link a file instead of copying it: whoever writes a project's files puts a new one in the old one's place."""
    try:
        os.link(source, target)
    except FileExistsError:
        pass
    except OSError:
        shutil.copy2(source, target)
    return target


def _prune(folder: Path, keep: int) -> None:
    """Remove all but the newest pictures; others may be written and removed at the same time."""
    ages = []
    for file in folder.iterdir():
        if not file.name.startswith("."):
            with contextlib.suppress(FileNotFoundError):
                ages.append((file.stat().st_mtime_ns, file.name))
    for _, name in sorted(ages, reverse=True)[keep:]:
        (folder / name).unlink(missing_ok=True)
