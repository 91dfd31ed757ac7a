"""All choices of a project, painted in every view, on an executor: the cores of this computer, or a cluster.

A picture is painted by the same function wherever it runs, and comes back as the bytes of its file: so the files are
the same whatever the executor, and workers need no disk in common with the one who asks.
"""

from __future__ import annotations

import tempfile
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from mockup.files import archive, project_file
from mockup.journey.painting import paint_view
from mockup.project import Project
from swatches.errors import Cancelled, MockupError, ProjectError
from swatches.job import QUIET, Job, check
from swatches.photo import png_bytes
from swatches.safe_write import write_whole

Home = Path | bytes
"""A project's folder, or the bytes of its zip (:mod:`mockup.files.archive`)."""

_LISTEN_S = 0.2


@dataclass(frozen=True, slots=True)
class BatchPicture:
    """A picture that was painted: its choice, its view, its file name, and its size in px."""

    choice: str
    view: str
    file: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class NotPainted:
    """A picture that could not be painted, and why."""

    choice: str
    view: str
    reason: str


@dataclass(frozen=True, slots=True)
class Batch:
    """What came of a batch, choice by choice and view by view."""

    pictures: tuple[BatchPicture, ...]
    failed: tuple[NotPainted, ...]


def paint_all(
    project: Project,
    home: Any,
    out: Path,
    executor: Executor,
    *,
    long_side: int | None = None,
    job: Job = QUIET,
) -> Batch:
    """Paint every choice in every view, many at once.

    Args:
        project: the project.
        home: a :data:`Home` of the same project, or what the executor makes one of before a task runs (a cluster's
            handle on bytes that were sent to its workers once).
        out: folder for the pictures, ``<choice>-<view>.png``.
        executor: runs the tasks; the caller's to shut down.
        long_side: longest side of the pictures in px; None: each view's own size.
        job: progress and cancellation; what has begun when it is cancelled ends, what waits does not begin.

    Raises:
        ProjectError: there is no choice, or a view's name is none for a file.
        Cancelled: the person stopped it.
    """
    wanted = [(choice.letter, view.name) for choice in project.colourways for view in project.views]
    if not wanted:
        raise ProjectError(
            "choices",
            expected="at least one",
            got="none",
            next_step="Make one with: mockup assign PROJECT PANEL=FABRIC",
        )
    names = {key: f"{key[0]}-{key[1]}.png" for key in wanted}
    for name in names.values():
        if not project_file.plain_name(name):
            raise ProjectError("project", expected="plain names", got=repr(name), next_step="Rename that view")
    job.step("Painting", 0.0)
    # view by view: what is read for one choice serves the next
    waiting: dict[Future[Painted], tuple[str, str]] = {
        executor.submit(paint_one, home, *key, long_side): key for key in sorted(wanted, key=lambda k: k[1])
    }
    found: dict[tuple[str, str], BatchPicture | NotPainted] = {}
    try:
        while waiting:
            check(job)
            for future in wait(waiting, _LISTEN_S, FIRST_COMPLETED).done:
                key = waiting.pop(future)
                found[key] = _kept(future, key, out / names[key])
                job.step(f"Painted {key[0]}, {key[1]}", len(found) / len(wanted))
    finally:
        for future in waiting:
            future.cancel()
    ordered = [found[key] for key in wanted]
    return Batch(
        tuple(x for x in ordered if isinstance(x, BatchPicture)), tuple(x for x in ordered if isinstance(x, NotPainted))
    )


@dataclass(frozen=True, slots=True)
class Painted:
    """What a task gives back: a picture file and its size in px, or the reason why there is none."""

    data: bytes
    size: tuple[int, int] = (0, 0)
    reason: str = ""


def paint_one(home: Home, letter: str, view: str, long_side: int | None) -> Painted:
    """Paint one picture; runs in whatever process or on whatever machine the executor chose."""
    try:
        opened = _opened(home, _changed(home))
        picture = paint_view(opened.project, opened.folder, letter, view, long_side=long_side)
    except MockupError as error:
        return Painted(b"", reason=str(error))
    return Painted(png_bytes(picture), (picture.shape[1], picture.shape[0]))


def _kept(future: Future[Painted], key: tuple[str, str], target: Path) -> BatchPicture | NotPainted:
    try:
        painted = future.result()
    except Cancelled:
        raise
    except Exception as error:  # noqa: BLE001  one picture's fault, or a worker that died, must not lose the others
        return NotPainted(*key, f"{type(error).__name__}: {error}".rstrip(": "))
    if painted.reason:
        return NotPainted(*key, painted.reason)
    write_whole(target, painted.data, what="picture file")
    return BatchPicture(*key, target.name, *painted.size)


class _Opened:
    """A project that tasks of this process share; one that came as a zip lies in a folder that goes with it."""

    def __init__(self, home: Home) -> None:
        if isinstance(home, Path):
            self.folder, self.project = home, project_file.load(home)
            return
        self._place = tempfile.TemporaryDirectory(prefix="mockup-batch-")
        packed = Path(self._place.name) / "project.zip"
        packed.write_bytes(home)
        self.folder = Path(self._place.name) / "project"
        self.project = archive.unpack(packed, self.folder)


def _changed(home: Home) -> int:
    file = home / project_file.PROJECT_FILE if isinstance(home, Path) else None
    return file.stat().st_mtime_ns if file is not None and file.exists() else 0


@lru_cache(maxsize=2)
def _opened(home: Home, _changed: int) -> _Opened:
    return _Opened(home)
