"""The stash: all the cloth that a person has or thinks of buying. SQLite (WAL), pictures by content hash beside it.

Every change is one transaction that is on the disk before it is said to be done, and is kept in a history, so that it
can be undone. A picture is written, under the hash of its bytes, before the row that names it: a crash leaves at worst
a picture that nothing names. Two programs may write at once: each change reads the newest state inside its transaction,
and an edit made from an older state is merged field by field, or refused where both changed the same field.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields, replace
from pathlib import Path
from types import TracebackType

import platformdirs

from swatches.errors import InputError, ProjectError
from swatches.fabric import XY, Fabric
from swatches.fabric_file import fabric_from_json, fabric_json
from swatches.naming import free_id
from swatches.photo import Picture, png_bytes
from swatches.remnants import use_up
from swatches.safe_write import write_whole
from swatches.stash_versions import DATABASE, bring_up_to_date

PICTURES = "pictures"
BUSY_SECONDS = 20.0


def default_folder() -> Path:
    """Where the stash is kept when no folder is named."""
    return Path(platformdirs.user_data_dir("garment-mockup", appauthor=False)) / "stash"


class Stash:
    """An open stash. Use it in a ``with`` statement, or close it."""

    def __init__(self, folder: Path) -> None:
        """Open the stash in a folder, making it if there is none, bringing an older one up to date.

        Raises:
            ProjectError: the stash was written by a newer version, is damaged, or the folder cannot be written.
        """
        self.folder = Path(folder)
        self.pictures = self.folder / PICTURES
        try:
            self.pictures.mkdir(parents=True, exist_ok=True)
            self._db = sqlite3.connect(self.folder / DATABASE, timeout=BUSY_SECONDS, isolation_level=None)
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = FULL")
            bring_up_to_date(self._db, self.folder, self._transaction)
        except (OSError, sqlite3.Error) as error:
            raise _unusable(self.folder, error) from error

    def __enter__(self) -> Stash:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the database."""
        self._db.close()

    def fabrics(self) -> tuple[Fabric, ...]:
        """All cloth, by name."""
        rows = self._read("SELECT id, body FROM fabrics")
        found = [fabric_from_json(body, where=f"stash, {key}") for key, body in rows]
        return tuple(sorted(found, key=lambda f: (f.name.casefold(), f.id)))

    def fabric(self, fabric_id: str) -> Fabric:
        """One cloth.

        Raises:
            ProjectError: there is none of this id.
        """
        rows = self._read("SELECT body FROM fabrics WHERE id = ?", fabric_id)
        if not rows:
            raise _missing(fabric_id)
        return fabric_from_json(rows[0][0], where=f"stash, {fabric_id}")

    def add(self, fabric: Fabric, tile: Picture | None = None) -> Fabric:
        """Add a cloth with its tile; its id is made unique. Its texture then names a file in :attr:`pictures`."""
        fabric = self.with_tile(fabric, tile)
        with self._change(f"add {fabric.name}") as change:
            taken = {row[0] for row in self._read("SELECT id FROM fabrics")}
            fabric = replace(fabric, id=free_id(fabric.id or fabric.name, taken))
            self._put(change, fabric.id, None, fabric)
        return fabric

    def edit(self, fabric: Fabric, *, based_on: Fabric | None = None) -> Fabric:
        """Write a changed cloth.

        Args:
            fabric: as it should be; its id says which.
            based_on: what it was when the editing began; what others changed since then is kept.

        Raises:
            ProjectError: there is no such cloth, or both changed the same field.
        """

        def merged(now: Fabric) -> Fabric:
            return fabric if based_on is None else _merged(fabric, based_on, now)

        return self.change(fabric.id, merged, said=f"edit {fabric.name}")

    def change(self, fabric_id: str, how: Callable[[Fabric], Fabric], *, said: str) -> Fabric:
        """Change one cloth by a function of its newest state, in one transaction.

        Raises:
            ProjectError: there is none of this id.
        """
        with self._change(said) as change:
            before = self.fabric(fabric_id)
            after = replace(how(before), id=fabric_id)
            self._put(change, fabric_id, before, after)
        return after

    def remove(self, fabric_id: str) -> None:
        """Take a cloth out; it can be undone.

        Raises:
            ProjectError: there is none of this id.
        """
        with self._change(f"remove {fabric_id}") as change:
            self._put(change, fabric_id, self.fabric(fabric_id), None)

    def use_remnant(self, fabric_id: str, remnant: str, cut: Sequence[Sequence[XY]]) -> Fabric:
        """Use up a part of a remnant: what was cut goes, what is left gets smaller or becomes several remnants.

        Args:
            fabric_id: the cloth.
            remnant: the remnant's name.
            cut: outlines of the pieces that were cut from it, mm, in the remnant's own coordinates.

        Raises:
            ProjectError: no such cloth.
            InputError: no such remnant, or an outline that is none.
        """
        return self.change(
            fabric_id, lambda f: replace(f, remnants=use_up(f.remnants, remnant, cut)), said=f"cut from {remnant}"
        )

    def use_length(self, fabric_id: str, used_mm: float) -> Fabric:
        """Use up a length of a cloth that lies on the roll.

        Raises:
            ProjectError: no such cloth.
            InputError: its length is unknown, or less than that is left.
        """

        def shorter(f: Fabric) -> Fabric:
            left = f.length_left.value
            if left is None or not 0 < used_mm <= left + 1e-6:
                got = "an unknown length" if left is None else f"{left:g} mm left"
                raise InputError(
                    "length to use", expected=f"at least {used_mm:g} mm of {f.name}", got=got,
                    next_step="Measure what is left and write it down first",
                )  # fmt: skip
            return replace(f, length_left=replace(f.length_left, value=max(0.0, left - used_mm)))

        return self.change(fabric_id, shorter, said=f"use {used_mm:g} mm")

    def undo(self) -> str | None:
        """Undo the last change and give its words; None when there is nothing to undo.

        Raises:
            ProjectError: the cloth was changed in a way that the history does not know.
        """
        said: str | None = None
        with self._transaction():
            last = self._db.execute("SELECT MAX(change) FROM history").fetchone()[0]
            rows = self._read(
                "SELECT said, fabric, before, after FROM history WHERE change = ? ORDER BY number DESC", last
            )
            for said, key, before, after in rows:  # noqa: B007 (all rows of a change say the same)
                now = self._read("SELECT body FROM fabrics WHERE id = ?", key)
                if (now[0][0] if now else None) != after:
                    raise ProjectError(
                        "undo", expected="the cloth as the last change left it", got=f"another state of {key}",
                        next_step="Edit the cloth by hand",
                    )  # fmt: skip
                self._store(key, before)
            self._db.execute("DELETE FROM history WHERE change = ?", (last,))
        return said

    def last_change(self) -> str | None:
        """Words of the last change, which :meth:`undo` would undo; None when there is none."""
        rows = self._read("SELECT said FROM history ORDER BY number DESC LIMIT 1")
        return rows[0][0] if rows else None

    def with_tile(self, fabric: Fabric, tile: Picture | None) -> Fabric:
        """Keep a tile's picture and give the fabric that names it; without a tile, the fabric as it is."""
        if tile is None or fabric.texture is None:
            return fabric
        return replace(fabric, texture=replace(fabric.texture, file=self.keep_picture(png_bytes(tile))))

    def keep_picture(self, data: bytes) -> str:
        """Keep a picture file (PNG) under the hash of its bytes and give its name in :attr:`pictures`."""
        name = hashlib.sha256(data).hexdigest() + ".png"
        if not (self.pictures / name).exists():
            write_whole(self.pictures / name, data, what="stash")
        return name

    def put_all(self, found: Sequence[Fabric], said: str) -> tuple[Fabric, ...]:
        """Add several cloths as one change; a cloth that is there already in the same state is left as it is."""
        added = []
        with self._change(said) as change:
            there = {key: body for key, body in self._read("SELECT id, body FROM fabrics")}  # noqa: C416 (rows, not pairs)
            for fabric in found:
                if fabric.id in there and fabric_from_json(there[fabric.id]) == fabric:
                    continue
                fresh = replace(fabric, id=free_id(fabric.id, set(there)))
                there[fresh.id] = fabric_json(fresh)
                self._put(change, fresh.id, None, fresh)
                added.append(fresh)
        return tuple(added)

    def _read(self, query: str, *values: object) -> list[tuple[str, ...]]:
        try:
            return self._db.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise _unusable(self.folder, error) from error

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        try:
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                if self._db.in_transaction:  # a full disk has rolled back already
                    self._db.execute("ROLLBACK")
                raise
            self._db.execute("COMMIT")
        except sqlite3.Error as error:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise _unusable(self.folder, error) from error

    @contextmanager
    def _change(self, said: str) -> Iterator[tuple[int, str]]:
        with self._transaction():
            number = self._db.execute("SELECT COALESCE(MAX(change), 0) + 1 FROM history").fetchone()[0]
            yield int(number), said

    def _put(self, change: tuple[int, str], key: str, before: Fabric | None, after: Fabric | None) -> None:
        number, said = change
        old = None if before is None else fabric_json(before)
        new = None if after is None else fabric_json(after)
        if old == new:
            return
        self._store(key, new)
        self._db.execute(
            "INSERT INTO history (said, fabric, before, after, change) VALUES (?, ?, ?, ?, ?)",
            (said, key, old, new, number),
        )

    def _store(self, key: str, body: str | None) -> None:
        if body is None:
            self._db.execute("DELETE FROM fabrics WHERE id = ?", (key,))
        else:
            self._db.execute("INSERT OR REPLACE INTO fabrics (id, body) VALUES (?, ?)", (key, body))


def _merged(mine: Fabric, base: Fabric, now: Fabric) -> Fabric:
    """Three-way merge by field."""
    changes = {}
    for field in fields(Fabric):
        was, is_, wanted = (getattr(f, field.name) for f in (base, now, mine))
        if wanted in (was, is_):
            continue
        if is_ != was:
            raise ProjectError(
                f"cloth {now.name}", expected="no other change of the same thing meanwhile",
                got=f"two different values for {field.name.replace('_', ' ')}",
                next_step="Open the cloth again and change it once more; nothing was lost",
            )  # fmt: skip
        changes[field.name] = wanted
    return replace(now, **changes)


def _missing(fabric_id: str) -> ProjectError:
    return ProjectError(
        "cloth",
        expected="the id of a cloth in the stash",
        got=repr(fabric_id),
        next_step="List the stash to see the ids",
    )


def _unusable(folder: Path, error: Exception) -> InputError:
    text = str(error).lower()
    if "full" in text or "no space" in text:
        said, step = "a full disk", "Free some space on the disk; nothing was lost"
    elif "locked" in text or "busy" in text:
        said, step = "another program is writing in it", "Try again in a moment"
    elif "not a database" in text or "malformed" in text:
        said, step = "a damaged database", "Import your last export into a new folder"
    else:
        said, step = str(error), "Choose another folder for your cloth, or make this one writable"
    return ProjectError(
        "stash", expected="a stash that can be read and written", got=f"{folder}: {said}", next_step=step
    )
