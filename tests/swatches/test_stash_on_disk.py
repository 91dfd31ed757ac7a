"""The stash's file: newer and older versions, none at all, two processes at once, kill −9."""

import os
import signal
import sqlite3
import subprocess
import sys
import textwrap
import time

import pytest

from swatches.cloth import plain
from swatches.errors import FileFormatError, ProjectError
from swatches.fabric_file import fabric_json
from swatches.stash import DATABASE, Stash

RED = plain("red", "Red linen", "#a02a2a")


def test_a_newer_stash_is_left_alone(tmp_path):
    with Stash(tmp_path) as stash:
        stash.add(RED)
    raw = sqlite3.connect(tmp_path / DATABASE)
    raw.execute("PRAGMA user_version = 99")
    raw.commit()
    raw.close()
    before = (tmp_path / DATABASE).read_bytes()
    with pytest.raises(FileFormatError, match="Update this software"):
        Stash(tmp_path)
    assert (tmp_path / DATABASE).read_bytes() == before


def test_an_older_stash_is_brought_up_to_date_and_kept_beside(tmp_path):
    raw = sqlite3.connect(tmp_path / DATABASE)
    raw.execute("CREATE TABLE fabrics (id TEXT PRIMARY KEY, body TEXT NOT NULL)")
    raw.execute(
        "CREATE TABLE history (number INTEGER PRIMARY KEY AUTOINCREMENT, said TEXT NOT NULL, fabric TEXT NOT NULL, "
        "before TEXT, after TEXT)"
    )
    raw.execute("INSERT INTO fabrics VALUES ('red', ?)", (fabric_json(RED),))
    raw.execute("INSERT INTO history (said, fabric, after) VALUES ('add', 'red', ?)", (fabric_json(RED),))
    raw.execute("PRAGMA user_version = 1")
    raw.commit()
    raw.close()
    with Stash(tmp_path) as stash:
        assert stash.fabrics() == (RED,)
        assert stash.undo() == "add"
    assert (tmp_path / "stash-version-1.sqlite3").exists()


def test_a_file_that_is_no_stash_is_said(tmp_path):
    (tmp_path / DATABASE).write_bytes(b"not a database at all" * 100)
    with pytest.raises(ProjectError, match="damaged database"):
        Stash(tmp_path)
    (tmp_path / "file").write_text("x")
    with pytest.raises(ProjectError, match="read and written"):
        Stash(tmp_path / "file")


WRITER = textwrap.dedent(
    """
    import sys
    from dataclasses import replace
    from swatches.cloth import plain
    from swatches.stash import Stash
    folder, who, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
    with Stash(folder) as stash:
        print("ready", flush=True)
        for n in range(count):
            made = stash.add(plain(f"{who}-{n}", f"{who} {n}", "#203040"))
            stash.change("shared", lambda f: replace(f, note=f.note + who), said="note")
            print(made.id, flush=True)
    """
)


def writer(folder, who, count):
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder), who, str(count)], stdout=subprocess.PIPE, text=True
    )


def test_two_programs_at_once_lose_nothing(tmp_path):
    with Stash(tmp_path) as stash:
        stash.add(plain("shared", "shared", "#ffffff"))
    both = [writer(tmp_path, who, 8) for who in "ab"]
    said = [line for p in both for line in p.communicate(timeout=60)[0].split() if line != "ready"]
    assert all(p.returncode == 0 for p in both)
    with Stash(tmp_path) as stash:
        ids = {f.id for f in stash.fabrics()}
        assert len(said) == 16
        assert ids == {*said, "shared"}
        note = stash.fabric("shared").note
        assert (note.count("a"), note.count("b")) == (8, 8)


@pytest.mark.parametrize("wait", [0.0, 0.07])
def test_kill_minus_nine_loses_nothing_that_was_said_to_be_done(tmp_path, wait):
    with Stash(tmp_path) as stash:
        stash.add(plain("shared", "shared", "#ffffff"))
    process = writer(tmp_path, "k", 100_000)
    assert process.stdout.readline() == "ready\n"
    process.stdout.readline()
    time.sleep(wait)
    os.kill(process.pid, signal.SIGKILL)
    said = ["k-0", *process.communicate()[0].split()]
    with Stash(tmp_path) as stash:
        ids = {f.id for f in stash.fabrics()}
        assert set(said) <= ids
        assert stash._db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        stash.add(RED)
