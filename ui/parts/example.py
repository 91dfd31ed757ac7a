"""The choir's tunic, laid out once and copied from then on, so that it is there as soon as somebody asks for it."""

from __future__ import annotations

import hashlib
import os
import shutil
import threading
from pathlib import Path

import mockup
import swatches
from mockup import journey
from mockup.files import project_file
from mockup.project import Project
from swatches.job import QUIET, Job


class Example:
    """The example in a data folder. It is laid out anew when its samples or the engine have changed.

    Args:
        data: the data folder.
    """

    def __init__(self, data: Path) -> None:
        self._home = Path(data) / "example"
        self._lock = threading.Lock()

    def prepare(self, job: Job = QUIET) -> Path:
        """Give the folder of the laid-out example; lay it out where it is not there yet."""
        with self._lock:
            folder = self._home / _mark()
            if not (folder / project_file.PROJECT_FILE).exists():
                shutil.rmtree(self._home, ignore_errors=True)
                part = self._home / f".{os.getpid()}"
                part.mkdir(parents=True)
                project_file.save(journey.open_choir(part, job=job), part)
                part.rename(folder)
            return folder

    def open(self, folder: Path, job: Job) -> Project:
        """Copy the example into a project folder; gives its project unsaved."""
        ready = self.prepare(job)
        shutil.copytree(
            ready, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns(project_file.PROJECT_FILE, ".*")
        )
        return project_file.load(ready)


def _mark() -> str:
    """A short name for what the example is made from: every file of the engine and its samples."""
    h = hashlib.sha256()
    for package in (swatches, mockup):
        root = Path(str(package.__file__)).parent
        for file in sorted(root.rglob("*")):
            if file.suffix in (".py", ".png", ".jpg", ".svg", ".json"):
                h.update(str(file.relative_to(root)).encode() + file.read_bytes())
    return h.hexdigest()[:16]
