"""The choir's tunic as the page's work, laid out once for all of these tests."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from mockup import journey
from mockup.files import project_file
from mockup.samples import choir
from ui.parts import ahead
from ui.parts.session import Session, Sessions


@pytest.fixture(scope="session")
def tunic_folder(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Path:
    """A project folder to copy: the tunic, measured, with its four lines and two plain colours."""
    folder = tmp_path_factory.mktemp("tunic")
    project = put_tunic(folder, choir.NAME)
    for name, colour in (("spruce", "#1f4d3a"), ("oat", "#c9b48f")):
        project, _ = journey.put_fabric(folder, project, journey.plain_fabric(colour, name))
    project_file.save(replace(project, lines=choir.LINES), folder)
    return folder


class _Nobody:
    """Takes work and never does it, as where everybody has gone before it was begun."""

    def submit(self, *_: object) -> Future[None]:
        done: Future[None] = Future()
        done.set_result(None)
        return done


@pytest.fixture(autouse=True)
def _nobody_looks(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Paint no picture ahead, since no browser asks for it: that took a third of these tests' time."""
    if "painted_ahead" not in request.fixturenames:
        monkeypatch.setattr(ahead, "_POOL", _Nobody())


@pytest.fixture
def painted_ahead() -> None:
    """Paint pictures ahead, as for a browser."""


@pytest.fixture
def sessions(tmp_path: Path) -> Sessions:
    return Sessions(tmp_path / "data")


@pytest.fixture
def laid_out(sessions: Sessions) -> Callable[[Path], Session]:
    """Begin a session with a copy of a project folder."""

    def begin(source: Path) -> Session:
        session = sessions.get(Sessions.new_word())
        with session.new_garment(copy=False) as folder:
            shutil.copytree(source, folder, dirs_exist_ok=True)
        session.keep(project_file.load(source), "laid out the tunic", garment=folder.name)
        return session

    return begin


@pytest.fixture
def session(laid_out: Callable[[Path], Session], tunic_folder: Path) -> Session:
    """A session that shows the tunic."""
    return laid_out(tunic_folder)
