"""The demo is run once for all of these tests, by its command, on the example that the run has laid out."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from mockup import journey
from mockup.files import project_file
from mockup.project import Project
from swatches.job import Job
from ui.commands.main import run


@dataclass(frozen=True)
class Shown:
    """What one run of the demo left."""

    folder: Path
    code: int
    answer: dict[str, Any]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, example_data: Path) -> Shown:
    """Run ``mockup demo --json`` into a folder that is not there yet.

    Its first step, :func:`mockup.journey.open_choir`, is the one by which the example was laid out for the whole run.
    """
    (ready,) = example_data.glob("example/*/garment-1")

    def laid_out(folder: Path, *, job: Job) -> Project:
        job.step("Laying out", 1.0)
        shutil.copytree(ready, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns(project_file.PROJECT_FILE))
        return project_file.load(ready)

    folder = tmp_path_factory.mktemp("journey") / "demo-out"
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out):
        patch.setattr(journey, "open_choir", laid_out)
        code = run(["demo", "--out", str(folder), "--json"])
    return Shown(folder, code, json.loads(out.getvalue()))
