"""A project in one zip: packed with the same bytes every time, unpacked with suspicion."""

from __future__ import annotations

import shutil
import stat
import zipfile
import zlib
from pathlib import Path as FilePath

from mockup.files.project_file import FOLDERS, PROJECT_FILE, load, parse, plain_name
from mockup.project import Project
from swatches.errors import ProjectError
from swatches.job import QUIET, Job, check

MAX_FILES = 2000
MAX_FILE_BYTES = 150_000_000
MAX_TOTAL_BYTES = 600_000_000
_SUFFIXES = {".json", ".png", ".jpg", ".jpeg", ".svg", ".webp", ".tif", ".tiff", ".heic", ".dxf", ".pdf", ".txt"}
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest date that a zip can carry: archives hold no clock
_CHUNK = 1 << 20


def pack(folder: FilePath, target: FilePath, *, job: Job = QUIET) -> FilePath:
    """Pack a project's folder into one zip: ``project.json`` and its pictures, fabrics and pieces, nothing else.

    Raises:
        ProjectError: there is no project, or the zip cannot be written.
    """
    load(folder)
    found = [folder / PROJECT_FILE]
    for name in FOLDERS:
        found += sorted(p for p in (folder / name).rglob("*") if p.is_file() and not p.is_symlink())
    found = [p for p in found if p.name == PROJECT_FILE or p.suffix.lower() in _SUFFIXES]
    temporary = target.with_name(f".{target.name}.tmp")
    try:
        with zipfile.ZipFile(temporary, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
            for i, path in enumerate(found):
                check(job)
                job.step(f"Packing {path.name}", i / len(found))
                info = zipfile.ZipInfo(path.relative_to(folder).as_posix(), _EPOCH)
                info.external_attr = (stat.S_IFREG | 0o644) << 16
                info.compress_type = zipfile.ZIP_DEFLATED
                archive.writestr(info, path.read_bytes())
        temporary.replace(target)
    except OSError as error:
        raise ProjectError(
            target.name, expected="a place that can be written", got=str(error.strerror), next_step="Choose another"
        ) from error
    finally:
        temporary.unlink(missing_ok=True)
    return target


def unpack(source: FilePath, folder: FilePath, *, job: Job = QUIET) -> Project:
    """Unpack a zip into a new folder, after looking at every name and size, and give its project.

    Raises:
        ProjectError: the folder exists and is not empty, the zip is damaged, or something in it is unsafe or too
            large; then nothing is left behind.
    """
    if folder.exists() and any(folder.iterdir()):
        raise ProjectError(folder.name, expected="a new folder", got="one with files", next_step="Choose another name")
    half_done = folder.with_name(f".{folder.name}.unpacking")
    try:
        with _opened(source) as archive:
            members = _checked(archive, source.name)
            project = parse(_read(archive, members[PROJECT_FILE], source.name))
            for i, (name, info) in enumerate(sorted(members.items())):
                check(job)
                job.step(f"Unpacking {name}", i / len(members))
                target = half_done / name
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(_read(archive, info, source.name))
        if folder.exists():
            folder.rmdir()
        half_done.replace(folder)
    except OSError as error:
        raise ProjectError(
            folder.name, expected="a place that can be written", got=str(error.strerror), next_step="Choose another"
        ) from error
    finally:
        shutil.rmtree(half_done, ignore_errors=True)
    return project


def read_member(source: FilePath, name: str) -> bytes:
    """Read one file out of a zip.

    Raises:
        ProjectError: the zip is damaged or unsafe, or has no such file.
    """
    with _opened(source) as archive:
        members = _checked(archive, source.name)
        return _read(archive, members[name], source.name)


def _opened(source: FilePath) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(source)
    except (OSError, zipfile.BadZipFile) as error:
        raise ProjectError(
            source.name, expected="a zip of a project", got="no readable zip", next_step="Export the project again"
        ) from error


def _checked(archive: zipfile.ZipFile, what: str) -> dict[str, zipfile.ZipInfo]:
    """Look at the list of a zip before anything is unpacked."""
    infos = [i for i in archive.infolist() if not i.is_dir()]
    if len(infos) > MAX_FILES or sum(i.file_size for i in infos) > MAX_TOTAL_BYTES:
        raise _unsafe(what, f"{len(infos)} files of {sum(i.file_size for i in infos) / 1e6:.0f} MB")
    seen: set[str] = set()
    for info in infos:
        parts = info.filename.split("/")
        right_place = info.filename == PROJECT_FILE or (parts[0] in FOLDERS and 2 <= len(parts) <= 4)
        kind = stat.S_IFMT(info.external_attr >> 16)
        plain = kind in (0, stat.S_IFREG) and not info.flag_bits & 0x1
        suffix = "." + parts[-1].rpartition(".")[2].lower()
        if not (right_place and plain and all(plain_name(p) for p in parts) and suffix in _SUFFIXES):
            raise _unsafe(what, repr(info.filename))
        if info.file_size > MAX_FILE_BYTES or info.filename.casefold() in seen:
            raise _unsafe(what, f"{info.filename!r}, too large or twice")
        seen.add(info.filename.casefold())
    members = {i.filename: i for i in infos}
    if PROJECT_FILE not in members:
        raise ProjectError(what, expected=f"a zip with {PROJECT_FILE}", got="none", next_step="Choose another file")
    return members


def _read(archive: zipfile.ZipFile, info: zipfile.ZipInfo, what: str) -> bytes:
    """Read a member in steps, and never more than its list says."""
    parts, size = [], 0
    try:
        with archive.open(info) as file:
            while chunk := file.read(_CHUNK):
                size += len(chunk)
                if size > info.file_size:
                    raise _unsafe(what, "more data than its list says")
                parts.append(chunk)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        raise ProjectError(
            what, expected="an undamaged zip", got=f"a damaged {info.filename}", next_step="Export the project again"
        ) from error
    return b"".join(parts)


def _unsafe(what: str, got: str) -> ProjectError:
    return ProjectError(
        what,
        expected="only a project's own files, of sensible sizes",
        got=got,
        next_step="Do not open this zip; ask for another",
    )
