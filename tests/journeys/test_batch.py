"""A batch paints the same bytes on every executor, says what it could not paint, and stops when asked."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from pathlib import Path
from threading import Event
from typing import Any

import numpy as np
import pytest

from mockup import journey
from mockup.colourways.colourway import Colourway
from mockup.files import archive, project_file
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from mockup.journey.batch import paint_all
from mockup.project import Project
from swatches.errors import Cancelled, ProjectError
from swatches.photo import read_photo, write_png
from ui.commands.main import run

SIZE = (120, 90)


def a_view(name: str, folder: Path) -> View:
    """One rectangle of cloth with an ink line round it."""
    w, h = SIZE
    labels, ink = np.zeros((h, w), np.uint16), np.zeros((h, w), np.uint8)
    labels[10:80, 20:100] = 1
    ink[10:80, 20], ink[10:80, 99], ink[10, 20:100], ink[79, 20:100] = 255, 255, 255, 255
    (folder / "pictures").mkdir(parents=True, exist_ok=True)
    write_png(folder / "pictures" / f"{name}-labels.png", labels)
    write_png(folder / "pictures" / f"{name}-ink.png", ink)
    outline = paths.polyline([(20, 10), (20, 80), (100, 80), (100, 10)], close=True).to_tuples()
    body = Area("body", "body", 1, outline, "body")
    return View(
        name, name, f"{name}.png", "drawing", SIZE, f"{name}-labels.png", (body,), {}, w / 2, 5.0, True, (60.0, 10.0)
    )


@pytest.fixture
def tunic(tmp_path: Path) -> tuple[Path, Project]:
    folder = tmp_path / "tunic"
    project = Project("tunic", views=(a_view("front", folder), a_view("back", folder)))
    checked = np.kron(np.indices((8, 8)).sum(0) % 2, np.ones((10, 10)))[..., None] * [220, 40, 90] + 20
    project, cloth = journey.put_fabric(
        folder, project, journey.plain_fabric("#7a1f2b", "brick"), tile=np.asarray(checked, np.uint8)
    )
    project, plain = journey.put_fabric(folder, project, journey.plain_fabric("#27463a", "spruce"))
    project = journey.assign(project, "A", {"front-1": cloth.id, "back-1": plain.id})
    project = journey.assign(project, "B", {"front-1": plain.id, "back-1": cloth.id})
    return folder, project_file.save(project, folder)


@pytest.fixture
def cluster() -> Iterator[Any]:
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None, protocol="tcp", silence_logs=50
    ) as found:
        yield found


def test_every_choice_in_every_view_as_one_by_one(tunic: tuple[Path, Project], tmp_path: Path) -> None:
    folder, project = tunic
    heard: list[float] = []

    class Listening:
        cancelled = False

        def step(self, text: str, done: float | None = None) -> None:
            heard.append(done or 0.0)

    with ThreadPoolExecutor(2) as executor:
        found = paint_all(project, folder, tmp_path, executor, job=Listening())
    assert [(p.choice, p.view) for p in found.pictures] == [
        ("A", "front"),
        ("A", "back"),
        ("B", "front"),
        ("B", "back"),
    ]
    assert found.failed == ()
    for p in found.pictures:
        alone = journey.paint_view(project, folder, p.choice, p.view)
        assert np.array_equal(read_photo(tmp_path / p.file).rgb8, alone)
        assert (p.width_px, p.height_px) == SIZE
    assert heard == sorted(heard)
    assert heard[-1] == 1.0


def test_the_same_bytes_in_processes_and_on_a_cluster(
    tunic: tuple[Path, Project], cluster: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, project = tunic
    with ThreadPoolExecutor(1) as executor:
        paint_all(project, folder, tmp_path / "threads", executor)
    zipped = archive.pack(folder, tmp_path / "tunic.zip")
    with ThreadPoolExecutor(1) as executor:
        paint_all(project, zipped.read_bytes(), tmp_path / "zip", executor)
    assert run(["batch", str(folder), "--workers", "1", "--out", str(tmp_path / "processes")]) == 0
    assert run(["batch", str(folder), "--scheduler", cluster.scheduler_address, "--out", str(tmp_path / "dask")]) == 0
    assert "4 pictures" in capsys.readouterr().out
    expected = {p.name: p.read_bytes() for p in (tmp_path / "threads").iterdir()}
    assert sorted(expected) == ["A-back.png", "A-front.png", "B-back.png", "B-front.png"]
    for other in ("zip", "processes", "dask"):
        assert {p.name: p.read_bytes() for p in (tmp_path / other).iterdir()} == expected, other


def test_what_cannot_be_painted_is_said_and_the_rest_is_there(tunic: tuple[Path, Project], tmp_path: Path) -> None:
    folder, project = tunic
    project = project.put_colourway(Colourway("C", fabrics={"front-1": "gone"}))
    project_file.save(project, folder)
    with ThreadPoolExecutor(2) as executor:
        found = paint_all(project, folder, tmp_path, executor)
    assert [(f.choice, f.view) for f in found.failed] == [("C", "front")]
    assert "gone" in found.failed[0].reason
    assert sorted(p.name for p in tmp_path.glob("*.png")) == [
        "A-back.png", "A-front.png", "B-back.png", "B-front.png", "C-back.png",
    ]  # fmt: skip


def test_a_worker_that_dies_costs_its_picture_only(tunic: tuple[Path, Project], tmp_path: Path) -> None:
    folder, project = tunic

    class Fragile(ThreadPoolExecutor):
        def submit(self, fn: Any, /, *arguments: Any, **more: Any) -> Any:
            if arguments[1:3] == ("B", "front"):
                return super().submit(self.die)
            return super().submit(fn, *arguments, **more)

        def die(self) -> None:
            raise RuntimeError("the worker is gone")

    with Fragile(1) as executor:
        found = paint_all(project, folder, tmp_path, executor)
    assert [(f.choice, f.view, f.reason) for f in found.failed] == [("B", "front", "RuntimeError: the worker is gone")]
    assert len(found.pictures) == 3


def test_stopped_in_the_middle_nothing_more_begins(tunic: tuple[Path, Project], tmp_path: Path) -> None:
    folder, project = tunic
    begun: list[object] = []
    stopped = Event()

    class Stopping:
        cancelled = False

        def step(self, text: str, done: float | None = None) -> None:
            if done:
                self.cancelled = True
                stopped.set()

    class Counting(ThreadPoolExecutor):
        def submit(self, fn: Any, /, *arguments: Any, **more: Any) -> Any:
            def counted() -> Any:
                begun.append(arguments)
                if len(begun) > 1:
                    stopped.wait(30)  # else quick pictures could all be painted before anybody can stop them
                return fn(*arguments, **more)

            return super().submit(counted)

    executor: Executor = Counting(1)
    with executor, pytest.raises(Cancelled):
        paint_all(project, folder, tmp_path, executor, job=Stopping())
    assert 1 <= len(begun) < 4


def test_nothing_to_paint_and_no_cluster_there(
    tunic: tuple[Path, Project], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, _ = tunic
    with pytest.raises(ProjectError, match="at least one"), ThreadPoolExecutor(1) as executor:
        paint_all(Project("bare"), folder, tmp_path, executor)
    monkeypatch.setattr("ui.commands.batch._ANSWER_S", 0.2)

    async def asked(address: str) -> int:  # from within an event loop, as a page's server or a browser test has one
        return run(["batch", str(folder), "--scheduler", address, "--out", str(tmp_path / "out")])

    with socket.create_server(("127.0.0.1", 0)) as silent:
        dumb = f"tcp://127.0.0.1:{silent.getsockname()[1]}"
        for address in ("tcp://127.0.0.1:9", "nonsense", "http://[::1", dumb):
            with ThreadPoolExecutor(1) as aside:  # a browser test before this one may have left its loop running here
                assert aside.submit(lambda address=address: asyncio.run(asked(address))).result() == 2
            err = capsys.readouterr().err
            assert err.count("\n") == 1
            assert "scheduler" in err
    assert not (tmp_path / "out").exists()
    assert run(["batch", str(folder), "--scheduler", "x", "--workers", "2", "--out", str(tmp_path / "out")]) == 2
    assert "--workers" in capsys.readouterr().err
