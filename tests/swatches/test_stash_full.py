"""A full disk under the stash: one sentence, and nothing is lost that was said to be done."""

import errno
import os
import shutil
import subprocess
import sys
import textwrap
from dataclasses import replace

import numpy as np
import pytest

from swatches.cloth import plain
from swatches.errors import InputError
from swatches.fabric import Texture
from swatches.stash import Stash

ON_A_FULL_DISK = textwrap.dedent(
    """
    import os, sys
    from dataclasses import replace
    import numpy as np
    from swatches.cloth import plain
    from swatches.errors import InputError
    from swatches.fabric import Texture
    from swatches.stash import Stash
    folder = sys.argv[1]
    filler = os.path.join(folder, "filler")
    with open(filler, "wb") as file:
        file.write(bytes(120_000))
    done, sentences = [], []
    with Stash(os.path.join(folder, "stash")) as stash:
        for n in range(400):
            cloth = replace(plain(f"c{n}", f"cloth {n}", "#203040"), note="n" * 1500)
            tile = None
            if n % 3 == 0:
                cloth = replace(cloth, texture=Texture("", 0.2))
                tile = np.random.default_rng(n).integers(0, 255, (20, 20, 3), dtype=np.uint8)
            try:
                done.append(stash.add(cloth, tile).id)
            except InputError as error:
                sentences.append(str(error))
                if len(sentences) > 4:
                    break
        assert len(stash.fabrics()) == len(done), "what failed is not half there"
        assert sentences and done, (len(done), sentences)
        assert all(s.count("\\n") == 0 and "space on the disk" in s for s in sentences), sentences
    os.unlink(filler)
    with Stash(os.path.join(folder, "stash")) as stash:
        assert stash._db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert {f.id for f in stash.fabrics()} == set(done)
        for fabric in stash.fabrics():
            if fabric.texture is not None:
                assert (stash.pictures / fabric.texture.file).stat().st_size > 500
        assert not [p for p in stash.pictures.iterdir() if p.name.startswith(".")], "no half-written picture"
        stash.add(plain("later", "later", "#ffffff"))
        assert stash.undo() == "add later"
        assert len(stash.fabrics()) == len(done)
    print("fine", len(done), len(sentences))
    """
)


def may_mount(folder):
    """Whether this system lets anybody mount a small disk of their own (user namespaces, Linux)."""
    if shutil.which("unshare") is None or sys.platform != "linux":
        return False
    tried = subprocess.run(["unshare", "-Urm", "mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(folder)],
                           capture_output=True, check=False)  # fmt: skip
    return tried.returncode == 0


def test_a_disk_that_really_is_full(tmp_path):
    small = tmp_path / "small"
    small.mkdir()
    if not may_mount(small):
        pytest.skip("this system does not let a test mount a small disk")
    script = tmp_path / "fill.py"
    script.write_text(ON_A_FULL_DISK)
    command = f'mount -t tmpfs -o size=400k tmpfs "{small}" && exec "{sys.executable}" "{script}" "{small}"'
    ran = subprocess.run(
        ["unshare", "-Urm", "sh", "-c", command], capture_output=True, text=True, timeout=120, check=False
    )
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.startswith("fine")


def test_a_database_that_cannot_grow(tmp_path):
    # SQLite's own limit of pages gives the very error that a full disk does, on every system
    with Stash(tmp_path) as stash:
        first = stash.add(plain("first", "first", "#112233"))
        pages = stash._db.execute("PRAGMA page_count").fetchone()[0]
        stash._db.execute(f"PRAGMA max_page_count = {pages}")
        said = [first.id]
        sentence = ""
        for n in range(200):
            try:
                said.append(stash.add(plain(f"c{n}", "n" * 100, "#112233")).id)
            except InputError as error:
                sentence = str(error)
                break
        assert sentence.endswith("a full disk. Free some space on the disk; nothing was lost.")
        assert {f.id for f in stash.fabrics()} == set(said)
        with pytest.raises(InputError, match="nothing was lost"):
            stash.change("first", lambda f: plain("first", "x" * 5000, "#445566"), said="edit")
        assert stash.fabric("first") == first
        stash._db.execute("PRAGMA max_page_count = 1000000")
        said.append(stash.add(plain("later", "later", "#112233")).id)
    with Stash(tmp_path) as again:
        assert {f.id for f in again.fabrics()} == set(said)


def test_a_picture_that_finds_no_space(tmp_path, monkeypatch):
    cloth = plain("first", "first", "#112233")
    tile = np.zeros((4, 4, 3), np.uint8)
    with Stash(tmp_path) as stash:

        def full(_):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(InputError, match="free some space on the disk"):
            stash.add(plain_with_tile(cloth), tile)
        assert stash.fabrics() == ()
        assert list(stash.pictures.iterdir()) == []
        monkeypatch.undo()
        assert stash.add(plain_with_tile(cloth), tile).id == "first"


def plain_with_tile(cloth):
    return replace(cloth, texture=Texture("", 0.2))
