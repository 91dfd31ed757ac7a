"""Commands are run in this process, through the function that the entry point calls."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from ui.commands.main import run


@dataclass(frozen=True)
class Ran:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def mockup(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Run ``mockup`` with arguments."""

    def command(*arguments: object) -> Ran:
        capsys.readouterr()
        code = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        return Ran(code, out, err)

    return command


@pytest.fixture
def refused(mockup: Callable[..., Ran], tmp_path: Path) -> Callable[..., str]:
    """Run a command that must be refused: exit 2, one line, nothing on standard output, nothing half-written."""

    def command(*arguments: object) -> str:
        before = tree(tmp_path)
        ran = mockup(*arguments)
        assert ran.code == 2, (ran.code, ran.err)
        assert ran.out == ""
        assert len(ran.err.strip().splitlines()) == 1, ran.err
        assert "Traceback" not in ran.err
        assert tree(tmp_path) == before, "something was left behind"
        return ran.err

    return command


def tree(folder: Path) -> dict[str, bytes | None]:
    """Everything in a folder, hidden files too."""
    return {str(p.relative_to(folder)): p.read_bytes() if p.is_file() else None for p in folder.rglob("*")}
