"""The stash's database from version to version: an older one is brought up to date, a newer one refused."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

from swatches.errors import FileFormatError

VERSION = 2
DATABASE = "stash.sqlite3"

_MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE fabrics (id TEXT PRIMARY KEY, body TEXT NOT NULL)",
        "CREATE TABLE history (number INTEGER PRIMARY KEY AUTOINCREMENT, said TEXT NOT NULL, fabric TEXT NOT NULL, "
        "before TEXT, after TEXT)",
    ),
    # version 2: one change may touch several cloths (an import), and is undone as one
    ("ALTER TABLE history ADD COLUMN change INTEGER NOT NULL DEFAULT 0", "UPDATE history SET change = number"),
)


def bring_up_to_date(
    db: sqlite3.Connection, folder: Path, transaction: Callable[[], AbstractContextManager[None]]
) -> None:
    """Run what an older database lacks, after a copy of it was put beside it.

    Args:
        db: the open database.
        folder: where it lies.
        transaction: begins a transaction of it that is ended, or taken back, with the ``with`` statement.

    Raises:
        FileFormatError: it was written by a newer version.
    """
    version = db.execute("PRAGMA user_version").fetchone()[0]
    if version > VERSION:
        raise FileFormatError(
            "stash", expected=f"version {VERSION} or older", got=f"version {version} in {folder}",
            next_step="Update this software; nothing was changed",
        )  # fmt: skip
    if version == VERSION:
        return
    if version:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy2(folder / DATABASE, folder / f"stash-version-{version}.sqlite3")
    with transaction():
        version = db.execute("PRAGMA user_version").fetchone()[0]  # another program may have been faster
        for step in range(version, VERSION):
            for statement in _MIGRATIONS[step]:
                db.execute(statement)
            db.execute(f"PRAGMA user_version = {step + 1}")
