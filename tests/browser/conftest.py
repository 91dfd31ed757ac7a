"""A real Chromium and the real application, answering on a free port of this machine."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from serving import served

_PLACES = ("/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome")
CHROMIUM = next((p for p in _PLACES if Path(p).exists()), "") or shutil.which("chromium") or ""
ARGUMENTS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    playwright = None
    problem = "" if CHROMIUM else "there is no Chromium on this machine: install the package 'chromium'"
    if not problem:
        try:
            from playwright.sync_api import sync_playwright

            playwright = sync_playwright().start()
            found = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        except Exception as error:  # noqa: BLE001  a browser that does not start is the same as none
            problem = f"Chromium does not start here: {error}"
    if problem:
        if playwright:
            playwright.stop()
        if os.environ.get("CI") == "true":
            pytest.fail(problem)
        pytest.skip(problem)
    yield found
    found.close()
    playwright.stop()


@pytest.fixture(scope="session")
def bare(browser: Any) -> Iterator[str]:
    """Address of a bare page with the line editor and nothing else."""
    from fastapi import FastAPI
    from fastapi.responses import FileResponse, Response
    from fastapi.staticfiles import StaticFiles

    import ui
    from swatches.lettering import REGULAR

    here = Path(__file__).parent
    app = FastAPI()
    app.get("/")(lambda: FileResponse(here / "bare.html"))
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="600" height="800"><path fill="#fff" stroke="#222" '
        'd="M140 60L150 160L100 240V760H500V240L450 160L460 60H370L300 100L230 60Z" stroke-width="3"/></svg>'
    )
    app.get("/bare.svg")(lambda: Response(drawing, media_type="image/svg+xml"))
    for font in REGULAR.parent.glob("*.ttf"):
        app.get(f"/ours/{font.name}")(lambda font=font: FileResponse(font))
    app.mount("/ours", StaticFiles(directory=Path(ui.__file__).parent / "static"))
    with served(app) as address:
        yield address


@pytest.fixture(scope="session")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the example laid out, which takes longest; every visit has work of its own in it."""
    from ui.parts.example import Example

    folder = tmp_path_factory.mktemp("data")
    Example(folder).prepare()
    return folder


@pytest.fixture(scope="session")
def app(data: Path) -> Iterator[str]:
    """Address of the real application."""
    from ui.app import build_app

    with served(build_app(data)) as address:
        yield address


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context(viewport={"width": 1366, "height": 768}, accept_downloads=True)
    context.set_default_timeout(30_000)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    context.close()
    assert not faults, f"the page's scripts failed: {faults}"
