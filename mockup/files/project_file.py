"""A project on disk: a folder with ``project.json``, ``pictures/``, ``fabrics/``, ``pieces/``, or the same in one zip.

A write goes to a temporary name, is synced, and takes the place of the old file in one step, so that a power cut
leaves the old project or the new one. A project carries a revision: a write from a stale copy is refused, and what it
wanted to write is kept beside the project.
"""

from __future__ import annotations

import contextlib
import re
import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import TypeAdapter

from mockup.files.records import MAX_BYTES, Written, pretty, read_record
from mockup.garment.view import View
from mockup.project import Project
from swatches.errors import FileFormatError, InputError, ProjectError
from swatches.fabric import Fabric
from swatches.safe_write import write_whole

PROJECT_FILE = "project.json"
FOLDERS = ("pictures", "fabrics", "pieces")
NEWEST = 1
_FORMAT = "garment mockup project"
_ADAPTER: TypeAdapter[Project] = TypeAdapter(Project)
_PARTS: dict[type[View | Fabric], TypeAdapter[Any]] = {View: TypeAdapter(View), Fabric: TypeAdapter(Fabric)}
_PART_INDENT = 2  # views and cloths stand in a list in the project
_PARTS_KEPT = 200
_texts: dict[int, tuple[View | Fabric, str]] = {}
_texts_lock = threading.Lock()
_PLAIN = re.compile(r"[^/\\:*?\"<>|\x00-\x1f]{1,120}\Z")
_RESERVED = re.compile(r"(?i)(con|prn|aux|nul|com\d|lpt\d)(\.|\Z)")
_WAIT_S = 5.0
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class _Head:
    revision: int = 0


_HEAD: TypeAdapter[_Head] = TypeAdapter(_Head)


def save(project: Project, folder: FilePath, *, over: bool = False) -> Project:
    """Write a project into its folder and give it with the next revision.

    Args:
        project: the project.
        folder: its folder; made if missing.
        over: write over whatever revision is there, for a writer that knows to be the only one.

    Raises:
        ProjectError: the folder cannot be written, a file name in the project is unsafe, or somebody wrote the project
            since it was read; then the refused one is kept as ``project-kept-<n>.json``.
    """
    check_names(project)
    try:
        for name in ("", *FOLDERS):
            (folder / name).mkdir(parents=True, exist_ok=True)
        with _locked(folder):
            target = folder / PROJECT_FILE
            on_disk = revision_of(folder) if target.exists() else project.revision
            if over:
                project = replace(project, revision=on_disk)
            if on_disk != project.revision:
                kept = _keep(project, folder)
                raise ProjectError(
                    "project",
                    expected=f"revision {on_disk}, which is on disk",
                    got=f"a change to revision {project.revision}",
                    next_step=f"Open the project again; your version is kept as {kept.name}",
                )
            written = replace(project, revision=project.revision + 1)
            _write(target, written)
    except OSError as error:
        raise ProjectError(
            str(folder.name or folder),
            expected="a folder that can be written",
            got=error.strerror or "an error",
            next_step="Choose another folder",
        ) from error
    return written


def load(source: FilePath) -> Project:
    """Read a project from its folder, its ``project.json``, or a zip of it.

    Raises:
        ProjectError: there is none, a newer version wrote it, or it is damaged or unsafe.
    """
    if source.is_dir():
        source = source / PROJECT_FILE
    if not source.exists():
        raise ProjectError(
            source.parent.name or "project",
            expected=f"a folder with {PROJECT_FILE}",
            got="no such file",
            next_step="Make one with: mockup new",
        )
    if source.suffix.lower() not in (".json", ".zip"):
        raise ProjectError(
            source.name,
            expected=f"a project's folder, its {PROJECT_FILE}, or a zip of it",
            got="another file",
            next_step="Name the folder that mockup new made",
        )
    if source.suffix.lower() == ".zip":
        from mockup.files.archive import read_member

        return parse(read_member(source, PROJECT_FILE))
    return _read(source)


def revision_of(folder: FilePath) -> int:
    """Read which revision a project's folder holds, and nothing else of it.

    Raises:
        ProjectError: there is none, a newer version wrote it, or it is damaged.
    """
    return _record(_HEAD, folder / PROJECT_FILE).revision


def parse(data: bytes) -> Project:
    """Read a project from the bytes of its ``project.json``.

    Raises:
        ProjectError: it is damaged, unsafe, or of a newer version.
    """
    return _read(data)


def check_names(project: Project) -> None:
    """Refuse a project whose file names could lead out of its folder.

    Raises:
        ProjectError: a name is no plain file name.
    """
    names = [project.pieces, *(n for v in project.views for n in (v.picture, v.labels))]
    names += [v.reading.source for v in project.views if v.reading]
    for fabric in project.fabrics:
        names += [fabric.id, fabric.texture.file if fabric.texture else "", *(r.photo for r in fabric.remnants)]
    for name in names:
        if name and not plain_name(name):
            raise ProjectError(
                "project", expected="plain file names", got=repr(name), next_step="Rename that file without folders"
            )


def plain_name(name: str) -> bool:
    """Whether a name is one plain file name on every system: no folders, no drive, no reserved word, no hidden file."""
    return bool(_PLAIN.match(name)) and not _RESERVED.match(name) and name[0] != "." and name[-1] not in ". "


def _write(target: FilePath, project: Project) -> None:
    try:
        write_whole(target, _text(project).encode(), what="project")
    except InputError as error:
        raise ProjectError(error.what, expected=error.expected, got=error.got, next_step=error.next_step) from error


def _text(project: Project) -> str:
    """The project as JSON; views and cloths are most of it and change seldom, so the text of each is kept meanwhile."""
    given = _ADAPTER.dump_python(replace(project, views=(), fabrics=()), mode="json", by_alias=True)
    given["views"] = [Written(_part_text(view)) for view in project.views]
    given["fabrics"] = [Written(_part_text(fabric)) for fabric in project.fabrics]
    return pretty({k: given[k] for k in ("format", "version")} | given)


def _part_text(part: View | Fabric) -> str:
    with _texts_lock:
        kept = _texts.get(id(part))
        if kept is None:
            text = pretty(_PARTS[type(part)].dump_python(part, mode="json", by_alias=True), _PART_INDENT)
            kept = _texts[id(part)] = part, text  # the part is held, so that its identity is not given out again
            while len(_texts) > _PARTS_KEPT:
                _texts.pop(next(iter(_texts)))
        return kept[1]


def _read(source: FilePath | bytes) -> Project:
    project = _record(_ADAPTER, source)
    check_names(project)
    return project


def _record(adapter: TypeAdapter[T], source: FilePath | bytes) -> T:
    try:
        return read_record(adapter, source, what="project", format_name=_FORMAT, newest=NEWEST, max_bytes=MAX_BYTES)
    except FileFormatError as error:
        raise ProjectError(error.what, expected=error.expected, got=error.got, next_step=error.next_step) from error


def _keep(project: Project, folder: FilePath) -> FilePath:
    n = 1
    while (kept := folder / f"project-kept-{n}.json").exists():
        n += 1
    _write(kept, project)
    return kept


@contextlib.contextmanager
def _locked(folder: FilePath) -> Iterator[None]:
    """Hold the folder's lock, which the system lets go of itself when a writer is killed."""
    from filelock import FileLock, Timeout

    try:
        with FileLock(folder / ".project.lock", timeout=_WAIT_S, poll_interval=0.02):
            yield
    except Timeout:
        raise ProjectError(
            "project",
            expected="a project that nobody is writing",
            got="one that is being written now",
            next_step="Try again in a minute",
        ) from None
