"""A real Chromium and the real application, answering on a free port of this machine."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from garment_page import with_choir
from serving import served

_PLACES = ("/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome")
CHROMIUM = next((p for p in _PLACES if Path(p).exists()), "") or shutil.which("chromium") or ""
ARGUMENTS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    # The last switch of its kind counts: what playwright switches off and a page on this machine may meet, and the two
    # pages that the address bar of every window loads for itself, half as dear as ours.
    "--disable-features=AvoidUnnecessaryBeforeUnloadCheckSync,DestroyProfileOnBrowserClose,HttpsFirstBalancedModeAutoEnable,"
    "HttpsUpgrades,LensOverlay,MediaRouter,OptimizationHints,PaintHolding,PreconnectToSearch,"
    "ThirdPartyStoragePartitioning,WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup",
]  # fmt: skip
SIZE = {"width": 1366, "height": 768}


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
def data(tmp_path_factory: pytest.TempPathFactory, example_data: Path) -> Path:
    """A data folder of this process with the example laid out; every visit has work of its own in it."""
    return Path(shutil.copytree(example_data, tmp_path_factory.mktemp("data"), dirs_exist_ok=True))


@pytest.fixture(scope="session")
def app(request: pytest.FixtureRequest) -> Iterator[str]:
    """Address of the real application."""
    import gradio  # noqa: F401  takes seconds, in which another process may get the example ready

    from ui.app import build_app

    with served(build_app(request.getfixturevalue("data"))) as address:
        yield address


@pytest.fixture(scope="session")
def windows(browser: Any) -> Iterator[Any]:
    """What the windows of all tests share: the scripts that were fetched and read already, and nothing that is kept."""
    context = browser.new_context(viewport=SIZE, accept_downloads=True)
    context.set_default_timeout(60_000)  # a busy machine fails no test
    yield context
    context.close()


@pytest.fixture
def page(windows: Any) -> Iterator[Any]:
    page = windows.new_page()
    forget = {"origin": "*", "storageTypes": "cookies,local_storage,session_storage,indexeddb"}
    windows.new_cdp_session(page).send("Storage.clearDataForOrigin", forget)
    watch = _Watch(page)
    yield page
    page.close()
    watch.nothing_wrong()


@pytest.fixture
def same_page(request: pytest.FixtureRequest, windows: Any, _left: list[tuple[Any, _Watch]]) -> Iterator[Any]:
    """Give one page to all tests of a file that begin alike: opening it costs more than most of them do.

    It is called with what opens the page the first time. A test that fails leaves the next one a new page.
    """
    failed = request.session.testsfailed

    def give(begin: Callable[[Any], object]) -> Any:
        if not _left:
            page = windows.new_page()
            _left.append((page, _Watch(page)))
            begin(page)
        page = _left[0][0]
        if page.viewport_size != SIZE:
            page.set_viewport_size(SIZE)
        return page

    yield give
    if _left and request.session.testsfailed > failed:
        _left.pop()[0].close()
    for _, watch in _left:
        watch.nothing_wrong()


@pytest.fixture
def tunic_page(same_page: Any, app: str) -> Any:
    """A page with the choir's tunic, as the tests of the file before this one left it."""
    return same_page(lambda page: with_choir(page, app))


@pytest.fixture(scope="module")
def _left() -> Iterator[list[tuple[Any, _Watch]]]:
    """The page that a file's tests share, once it is opened."""
    left: list[tuple[Any, _Watch]] = []
    yield left
    for page, _ in left:
        page.close()


class _Watch:
    """Sees what no page may do: fail in a script, or ask for anything beyond this computer."""

    def __init__(self, page: Any) -> None:
        self.faults: list[str] = []
        self.far: list[str] = []
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("request", lambda request: self._asked(request.url))

    def _asked(self, url: str) -> None:
        if not url.startswith(("http://127.0.0.1:", "data:", "blob:")):
            self.far.append(url)

    def nothing_wrong(self) -> None:
        assert not self.faults, f"the page's scripts failed: {self.faults}"
        assert not self.far, f"no call leaves this computer: {self.far}"
