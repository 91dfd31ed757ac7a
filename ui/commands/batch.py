"""``mockup batch``: every choice in every view, on every core or on a cluster."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import OUT_FOLDER, PROJECT
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

_ANSWER_S = 10
_MOST_WORKERS = 60  # Windows can wait for 61 processes at most


@click.command("batch")
@click.argument("project", type=PROJECT)
@click.option("--out", type=OUT_FOLDER, required=True, help="Folder for the pictures, such as A-front.png.")
@click.option("--long-side", type=click.IntRange(16, 20_000), help="Longest side in px; else each view's own size.")
@click.option("--workers", type=click.IntRange(1, 60), help="How many pictures at once; else one for each core.")
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Paint on the Dask cluster of that scheduler instead, such as tcp://192.168.1.20:8786.",
)
@with_json
def batch(
    project: Path, out: Path, long_side: int | None, workers: int | None, scheduler: str | None, as_json: bool
) -> None:
    """Paint all choices in all views, many at once.

    A choice that cannot be painted is said, the others are written; then the exit code is 1. Ctrl-C stops it, and
    nothing is written. A cluster needs the extra 'cluster' here and this software on its workers.
    """
    from mockup.files import project_file
    from mockup.journey.batch import paint_all
    from swatches.errors import InputError
    from swatches.words import counted

    if scheduler is not None and workers is not None:
        raise InputError(
            "--workers", expected="none beside --scheduler", got=str(workers), next_step="The cluster has its own"
        )
    loaded = project_file.load(project)
    folder = project.parent if project.is_file() and project.suffix == ".json" else project
    hands = _here(folder, workers) if scheduler is None else _cluster(folder, scheduler)
    with terminal_job() as job, whole_folder(out) as half_done, hands as (executor, home):
        found = paint_all(loaded, home, half_done, executor, long_side=long_side, job=job)
    pictures = [
        {
            "choice": p.choice,
            "view": p.view,
            "file": absolute(out / p.file),
            "width_px": p.width_px,
            "height_px": p.height_px,
        }
        for p in found.pictures
    ]
    failed = [{"choice": f.choice, "view": f.view, "reason": f.reason} for f in found.failed]
    answer = {"pictures": pictures, "failed": failed, "files": [p["file"] for p in pictures]}
    lines = [f"{counted(len(pictures), 'picture')} in {out}"]
    lines += [f"not painted: {f.choice}, {f.view}: {f.reason}" for f in found.failed]
    say(as_json, answer, "\n".join(lines))
    if failed:
        forbid()


@contextlib.contextmanager
def _here(folder: Path, workers: int | None) -> Iterator[tuple[Executor, Any]]:
    """Processes of this computer. They leave Ctrl-C to the one who asked them."""
    import multiprocessing
    import os
    import signal
    from concurrent.futures import ProcessPoolExecutor

    executor = ProcessPoolExecutor(
        min(workers or os.cpu_count() or 1, _MOST_WORKERS),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),
    )
    try:
        yield executor, _home(folder)
    finally:
        executor.shutdown(cancel_futures=True)


@contextlib.contextmanager
def _cluster(folder: Path, address: str) -> Iterator[tuple[Executor, Any]]:
    """The workers of a Dask scheduler; the project goes to them once, as one zip."""
    import asyncio
    from concurrent.futures import ThreadPoolExecutor

    from swatches.errors import InputError

    try:
        from distributed import Client
    except ImportError as error:
        raise InputError(
            "--scheduler",
            expected="the library for clusters",
            got="a computer without it",
            next_step="Install it with: pip install 'garment-mockup[cluster]'",
        ) from error
    packed = _packed(folder)
    try:
        with ThreadPoolExecutor(1) as aside:  # a thread has no event loop yet, whoever calls
            aside.submit(lambda: asyncio.run(_greeted(address))).result()
        client = Client(address, timeout=_ANSWER_S, set_as_default=False)
    except (OSError, ValueError, TypeError, AssertionError) as error:  # it asserts some forms of an address
        raise InputError(
            "--scheduler",
            expected="the address of a running scheduler",
            got=f"{address!r}, where none answers",
            next_step="Type it like tcp://192.168.1.20:8786",
        ) from error
    with client:
        if not client.scheduler_info()["workers"]:
            raise InputError(
                "--scheduler", expected="a cluster with workers", got="one without", next_step="Start workers first"
            )
        with client.get_executor() as executor:
            yield executor, client.scatter(packed, broadcast=True)


async def _greeted(address: str) -> None:
    """Shake hands with a scheduler; a client that finds none there would keep on waiting when it is thrown away."""
    import asyncio

    from distributed.comm import connect

    # Its own time limit is for reaching the address only: one that takes calls and never answers would hold it so.
    comm = await asyncio.wait_for(connect(address, timeout=_ANSWER_S), _ANSWER_S)
    await comm.close()


def _home(folder: Path) -> Any:
    """A folder as it is; a zip as its bytes."""
    return folder if folder.is_dir() else folder.read_bytes()


def _packed(folder: Path) -> bytes:
    import tempfile

    from mockup.files import archive

    if not folder.is_dir():
        return folder.read_bytes()
    with tempfile.TemporaryDirectory(prefix="mockup-batch-") as name:
        return archive.pack(folder, Path(name) / "project.zip").read_bytes()
