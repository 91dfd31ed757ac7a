"""The demo is run once for all of these tests, by its command."""

from __future__ import annotations

import contextlib
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from ui.commands.main import run


@dataclass(frozen=True)
class Shown:
    """What one run of the demo left."""

    folder: Path
    code: int
    answer: dict[str, Any]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """Run ``mockup demo --json`` into a folder that is not there yet."""
    folder = tmp_path_factory.mktemp("journey") / "demo-out"
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = run(["demo", "--out", str(folder), "--json"])
    return Shown(folder, code, json.loads(out.getvalue()))
