"""The choir's tunic, laid out once and copied from then on, so that it is there as soon as somebody asks for it."""

from __future__ import annotations

import hashlib
import os
import shutil
import threading
from functools import lru_cache
from pathlib import Path

import mockup
import swatches
from mockup import journey
from mockup.files import project_file
from mockup.project import Project
from swatches.job import QUIET, Job, Part
from ui.parts.scene import scene
from ui.parts.session import Session, linked


class Example:
    """The example in a data folder, with its first choice painted. It is made anew when samples or engine change.

    Args:
        data: the data folder.
    """

    def __init__(self, data: Path) -> None:
        self._home = Path(data) / "example"
        self._lock = threading.Lock()

    def prepare(self, job: Job = QUIET) -> Path:
        """Give the folder of a session that shows the example; lay it out where it is not there yet."""
        with self._lock:
            ready = self._home / _mark()
            if not ready.exists():
                shutil.rmtree(self._home, ignore_errors=True)
                part = self._home / f".{os.getpid()}"
                session = Session("example", part)
                with session.new_garment(copy=False) as folder:
                    project = journey.open_choir(folder, job=Part(job, 0.0, 0.9))
                session.keep(project, "laid out", garment=folder.name)
                found = scene(session)
                shown = [v["picture"] for v in found["views"]] + [c["swatch"] for c in found["cloths"]]
                for at, address in enumerate(shown):
                    job.step("Painting the choir's first choice", 0.9 + 0.1 * at / len(shown))
                    session.picture(address.rsplit("/", 1)[1])
                part.rename(ready)
            return ready

    def open(self, session: Session, folder: Path, job: Job) -> Project:
        """Copy the example into a session's new project folder; gives its project unsaved."""
        ready = self.prepare(job)
        shutil.copytree(
            ready / "garment-1",
            folder,
            dirs_exist_ok=True,
            copy_function=linked,
            ignore=shutil.ignore_patterns(project_file.PROJECT_FILE, ".*"),
        )
        shutil.copytree(ready / "painted", session.home / "painted", dirs_exist_ok=True, copy_function=linked)
        return project_file.load(ready / "garment-1")


@lru_cache(maxsize=1)
def _mark() -> str:
    """A short name for what the example is made from: every file of the engine and its samples."""
    h = hashlib.sha256()
    for package in (swatches, mockup):
        root = Path(str(package.__file__)).parent
        for file in sorted(root.rglob("*")):
            if file.suffix in (".py", ".png", ".jpg", ".svg", ".json"):
                h.update(str(file.relative_to(root)).encode() + file.read_bytes())
    return h.hexdigest()[:16]
