"""A project on disk: whole or not at all, never over somebody's newer one, and zips opened with suspicion."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
import threading
import zipfile
from dataclasses import replace

import pytest

from mockup.colourways.colourway import Colourway, Laid
from mockup.files import archive, project_file
from mockup.files.project_file import load, plain_name, save
from mockup.garment.view import Area, View
from mockup.geometry.path import polyline
from mockup.project import Project
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import ProjectError
from swatches.fabric import Colour, Fabric, Kind, Known, Origin, Remnant, Texture

SQUARE = polyline([[0, 0], [10, 0], [10, 20]], close=True).to_tuples()


@pytest.fixture
def project() -> Project:
    body = Area("body", "body", 1, SQUARE, "body")
    landmarks = {"neck-centre": (1.0, 2.0)}
    view = View(
        "front",
        "front",
        "front.png",
        "drawing",
        (10, 20),
        "front-labels.png",
        (body,),
        landmarks,
        5.0,
        1.0,
        True,
        (0.0, 0.0),
    )
    navy = Fabric(
        "navy",
        "Navy twill",
        Colour((20.0, 1.0, -20.0), 2.0, "daylight", (((20.0, 1.0, -20.0), 1.0),), "dark blue"),
        Kind.STRIPE,
        Texture("tile.png", 0.25, 0.4, (4.0, 0.0), one_way=True),
        weight=Known(210.0, "g/m²", Origin.LABEL),
        fibre=Known({"wool": 80.0, "polyamide": 20.0}, "%", Origin.LABEL),
        nap=Known(True, "", Origin.GUESS),
        remnants=(Remnant("long strip", ((0.0, 0.0), (5.0, 0.0), (5.0, 9.0)), ((1.0, 1.0), (4.0, 1.0), (4.0, 8.0))),),
    )
    line = StyleLine(
        "line-1", "yoke", "front", LineKind.ARC, End("side", "underarm", 50.8, "left", "2 in"), End("hem", "hem", 1.0)
    )
    colourway = Colourway("A", "quiet", {"front-1": "navy"}, {"front-1": Laid(45.0, (1.0, 2.0), mirrored=True)})
    return Project("Winter tunic", "2026-11-24", views=(view,), lines=(line,), fabrics=(navy,), colourways=(colourway,))


def test_what_was_saved_is_read_again(project, tmp_path):
    saved = save(project, tmp_path / "p")
    assert saved == replace(project, revision=1)
    assert load(tmp_path / "p") == saved
    assert load(tmp_path / "p" / "project.json") == saved
    assert sorted(p.name for p in (tmp_path / "p").iterdir()) == [
        ".project.lock", "fabrics", "pictures", "pieces", "project.json"
    ]  # fmt: skip


def test_saving_twice_counts_on(project, tmp_path):
    assert save(save(project, tmp_path), tmp_path).revision == 2


def test_a_write_from_a_stale_copy_is_refused_and_both_are_kept(project, tmp_path):
    first = save(project, tmp_path)
    newer = save(replace(first, name="newer"), tmp_path)
    with pytest.raises(ProjectError, match=r"kept as project-kept-1\.json"):
        save(replace(first, name="stale"), tmp_path)
    assert load(tmp_path) == newer
    assert load(tmp_path / "project-kept-1.json").name == "stale"


def test_two_writers_at_once_lose_nothing(project, tmp_path):
    base = save(project, tmp_path)
    outcomes: list[str] = []

    def write(name: str) -> None:
        try:
            save(replace(base, name=name), tmp_path)
            outcomes.append("written")
        except ProjectError:
            outcomes.append("kept")

    threads = [threading.Thread(target=write, args=(f"n{i}",)) for i in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert sorted(outcomes) == ["kept"] * 5 + ["written"]
    assert len(list(tmp_path.glob("project-kept-*.json"))) == 5
    assert [p.name for p in tmp_path.glob(".*")] == [".project.lock"]


def test_a_write_that_breaks_off_leaves_the_old_project(project, tmp_path, monkeypatch):
    saved = save(project, tmp_path)

    def broken(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(ProjectError, match="No space left"):
        save(replace(saved, name="new"), tmp_path)
    monkeypatch.undo()
    assert load(tmp_path) == saved
    assert [p.name for p in tmp_path.glob(".*")] == [".project.lock"]


def test_a_folder_that_cannot_be_written(project, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(ProjectError, match="a folder that can be written"):
        save(project, tmp_path / "file" / "p")


def test_a_newer_version_is_refused(project, tmp_path):
    save(project, tmp_path)
    path = tmp_path / "project.json"
    path.write_text(json.dumps(json.loads(path.read_text(encoding="utf-8")) | {"version": 2}), encoding="utf-8")
    with pytest.raises(ProjectError, match="Update this program"):
        load(tmp_path)


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"format": "garment mockup project", "version": 1}'])
def test_a_damaged_project(text, tmp_path):
    (tmp_path / "project.json").write_text(text)
    with pytest.raises(ProjectError):
        load(tmp_path)


def test_no_project(tmp_path):
    with pytest.raises(ProjectError, match="mockup new"):
        load(tmp_path / "none")


@pytest.mark.parametrize(
    "name", ["../x.png", "/etc/passwd", "a\\b.png", "C:x", ".hidden", "con", "nul.png", "x.", "a\x00b"]
)
def test_names_that_lead_elsewhere(name, project, tmp_path):
    assert not plain_name(name)
    view = replace(project.views[0], picture=name)
    with pytest.raises(ProjectError, match="plain file names"):
        save(project.put_view(view), tmp_path)


@pytest.mark.parametrize("name", ["front.png", "#rrggbb", "Größe 40.jpg", "a-b_c (2).svg", "x"])
def test_names_that_stay(name):
    assert plain_name(name)


class TestZip:
    @pytest.fixture
    def folder(self, project, tmp_path):
        save(project, tmp_path / "p")
        (tmp_path / "p" / "pictures" / "front.png").write_bytes(b"picture")
        (tmp_path / "p" / "fabrics" / "navy").mkdir()
        (tmp_path / "p" / "fabrics" / "navy" / "tile.png").write_bytes(b"tile")
        (tmp_path / "p" / "pictures" / "notes.exe").write_bytes(b"no")
        return tmp_path / "p"

    def test_packed_and_unpacked_it_is_the_same(self, folder, tmp_path):
        zipped = archive.pack(folder, tmp_path / "p.zip")
        assert load(zipped) == load(folder)
        assert archive.unpack(zipped, tmp_path / "q") == load(folder)
        assert (tmp_path / "q" / "fabrics" / "navy" / "tile.png").read_bytes() == b"tile"
        assert not (tmp_path / "q" / "pictures" / "notes.exe").exists()

    def test_the_same_project_gives_the_same_bytes(self, folder, tmp_path):
        first = archive.pack(folder, tmp_path / "1.zip").read_bytes()
        os.utime(folder / "project.json", (1, 1))
        assert archive.pack(folder, tmp_path / "2.zip").read_bytes() == first

    def test_a_folder_with_files_is_not_unpacked_over(self, folder, tmp_path):
        zipped = archive.pack(folder, tmp_path / "p.zip")
        with pytest.raises(ProjectError, match="a new folder"):
            archive.unpack(zipped, folder)

    @pytest.mark.parametrize(
        "name",
        [
            "../evil.png",
            "/abs.png",
            "pictures/../../x.png",
            "pictures\\x.png",
            "other/x.png",
            "pictures/x.exe",
            "pictures/a/b/c/d.png",
            "pictures/.x.png",
        ],
    )
    def test_names_that_lead_elsewhere(self, name, folder, tmp_path):
        zipped = archive.pack(folder, tmp_path / "p.zip")
        with zipfile.ZipFile(zipped, "a") as z:
            z.writestr(name, b"x")
        with pytest.raises(ProjectError, match="Do not open this zip"):
            archive.unpack(zipped, tmp_path / "q")
        assert sorted(p.name for p in tmp_path.iterdir()) == ["p", "p.zip"]

    def test_a_link_in_a_zip(self, folder, tmp_path):
        zipped = archive.pack(folder, tmp_path / "p.zip")
        link = zipfile.ZipInfo("pictures/link.png")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        with zipfile.ZipFile(zipped, "a") as z:
            z.writestr(link, "/etc/passwd")
        with pytest.raises(ProjectError, match="Do not open this zip"):
            load(zipped)

    def test_a_name_twice_in_other_case(self, folder, tmp_path):
        zipped = archive.pack(folder, tmp_path / "p.zip")
        with zipfile.ZipFile(zipped, "a") as z:
            z.writestr("pictures/FRONT.png", b"x")
        with pytest.raises(ProjectError, match="twice"):
            archive.unpack(zipped, tmp_path / "q")

    def test_a_bomb(self, folder, tmp_path, monkeypatch):
        monkeypatch.setattr(archive, "MAX_TOTAL_BYTES", 1_000_000)
        zipped = archive.pack(folder, tmp_path / "p.zip")
        with zipfile.ZipFile(zipped, "a", zipfile.ZIP_DEFLATED) as z:
            z.writestr("pictures/big.png", bytes(2_000_000))
        with pytest.raises(ProjectError, match="sensible sizes"):
            archive.unpack(zipped, tmp_path / "q")

    def test_a_list_that_lies_about_a_size(self, folder, tmp_path):
        zipped = archive.pack(folder, tmp_path / "p.zip")
        data = zipped.read_bytes()
        size = (folder / "project.json").stat().st_size
        at = data.rfind(b"PK\x01\x02", 0, data.find(b"project.json", data.find(b"PK\x01\x02"))) + 24
        assert int.from_bytes(data[at : at + 4], "little") == size
        zipped.write_bytes(data[:at] + (10).to_bytes(4, "little") + data[at + 4 :])
        with pytest.raises(ProjectError):
            load(zipped)

    @pytest.mark.parametrize("data", [b"", b"PK", b"no zip at all" * 9])
    def test_no_zip(self, data, tmp_path):
        path = tmp_path / "x.zip"
        path.write_bytes(data)
        with pytest.raises(ProjectError, match="no readable zip"):
            load(path)

    def test_a_zip_without_a_project(self, tmp_path):
        with zipfile.ZipFile(tmp_path / "x.zip", "w") as z:
            z.writestr("pictures/a.png", b"x")
        with pytest.raises(ProjectError, match=r"a zip with project\.json"):
            load(tmp_path / "x.zip")


WRITER = """
import sys, time
from pathlib import Path
from mockup.files import project_file
with project_file._locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_writers_lock_is_respected_and_ends_with_the_writer(project, tmp_path, monkeypatch):
    with subprocess.Popen([sys.executable, "-c", WRITER, tmp_path], stdout=subprocess.PIPE, text=True) as writer:
        try:
            assert writer.stdout.readline() == "held\n"
            monkeypatch.setattr(project_file, "_WAIT_S", 0.05)
            with pytest.raises(ProjectError, match="Try again in a minute"):
                save(project, tmp_path)
            monkeypatch.undo()
        finally:
            writer.kill()
    assert save(project, tmp_path).revision == 1


def test_an_only_writer_writes_over_whatever_is_there(tmp_path):
    first = project_file.save(Project("tunic"), tmp_path)
    project_file.save(replace(first, name="second"), tmp_path)
    third = project_file.save(replace(first, name="third"), tmp_path, over=True)
    assert (third.revision, project_file.load(tmp_path).name) == (3, "third")
    assert project_file.revision_of(tmp_path) == 3
    assert not list(tmp_path.glob("project-kept-*"))
