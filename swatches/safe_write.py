"""Write a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from swatches.errors import InputError


def write_whole(path: Path, data: bytes, *, what: str = "output file", sync: bool = True) -> Path:
    """Write ``data`` under a temporary name in the same folder, sync it, then rename it to ``path``.

    A reader sees the old file or the new one, never half of one. Missing folders are made. What can be made again need
    not be synced: a disk may take longer for that than for everything else.

    Raises:
        InputError: the folder cannot be made or written, or the disk is full.
    """
    path = Path(path)
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name[:60]}-", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            if sync:
                file.flush()
                os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise InputError(
            what,
            expected="a place that can be written",
            got=f"{path} ({error.strerror or error})",
            next_step="Choose another folder, or free some space on the disk",
        ) from error
    return path
