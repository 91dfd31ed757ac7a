"""What tests of several rooms share: the demo's pieces, the tunic of its drawings, and the comparison of pictures."""

from __future__ import annotations

import contextlib
import os
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

if "PYTEST_XDIST_WORKER" in os.environ:  # a process a core: threads of their own would only wait for each other
    for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"):
        os.environ[_threads] = "1"

import cv2
import numpy as np
import pytest
from hypothesis import settings
from PIL import Image

from mockup.files.svg import read_pieces
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.samples import choir
from swatches.photo import read_photo

BASELINE = Path(__file__).parent / "baseline"
TUNIC = Path(__file__).parent.parent / "mockup" / "samples" / "tunic.svg"
SamePicture = Callable[..., None]
PutTunic = Callable[..., Project]
LONG = (  # a file goes to one process: whatever is long begins early, so that none is left alone with it at the end
    # a bare page beside the first that needs the example: that takes ten seconds to lay out, once
    *(f"tests/browser/test_{name}" for name in ("pieces_board", "editor.", "page.", "page_by", "page_kept", "cloth")),
    "tests/browser/", "tests/journeys/test_demo", "tests/swatches/test_read_swatch", "tests/commands/test_walk_command",
    "tests/proposals/test_lines",
)  # fmt: skip

# The same examples every time and no clock: a busy machine fails no test. HYPOTHESIS_PROFILE=search looks for new ones.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: next((k for k, name in enumerate(LONG) if item.nodeid.startswith(name)), len(LONG)))


@pytest.fixture(scope="session", autouse=True)
def _unsynced() -> Iterator[None]:
    """Let files reach the disk when they may: no test outlives a power cut, and syncing takes longer than writing."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda file: None)
        yield


@pytest.fixture(scope="session")
def tunic() -> tuple[Piece, ...]:
    """The demo's pattern: six pieces, numbered."""
    return tuple(p.with_(number=i + 1) for i, p in enumerate(read_pieces(TUNIC)))


@pytest.fixture(scope="session")
def put_tunic(tmp_path_factory: pytest.TempPathFactory) -> PutTunic:
    """Put the choir's tunic, read from its clean drawings and measured, into a folder; gives the project, unsaved.

    The drawings are read once for all tests of a process, which takes a second; every folder gets its own copy of the
    pictures. Named as a new project is: by the name, else by the folder.
    """
    from mockup import journey  # a second to load, which other tests do without

    source = tmp_path_factory.mktemp("choir")
    measures = [(view, edge, mm) for view, (edge, mm) in choir.MEASURES.items()]
    made = journey.new_project(source, choir.FRONT_SVG, choir.BACK_SVG, measures=measures)

    def put(folder: Path, name: str = "") -> Project:
        shutil.copytree(source, folder, dirs_exist_ok=True)
        return replace(made, name=name or folder.name)

    return put


@pytest.fixture(scope="session")
def example_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the example laid out, which takes twelve seconds: once a run, by whoever comes first.

    To be read or copied, not written into: all processes of a run share it.
    """
    from ui.parts.example import Example

    # the folder in which the browser tests lay it out as well
    shared = tmp_path_factory.getbasetemp()
    shared = (shared.parent if "PYTEST_XDIST_WORKER" in os.environ else shared) / "example-of-the-run"
    with contextlib.suppress(FileExistsError):
        shared.mkdir()
        Example(shared / "begun").prepare()
        (shared / "begun").rename(shared / "data")
    deadline = time.monotonic() + 180
    while not (shared / "data").exists() and time.monotonic() < deadline:
        time.sleep(0.1)
    return shared / "data"


@pytest.fixture
def same_picture(tmp_path: Path) -> SamePicture:
    """Hold a picture to ``baseline/<name>.png``; on failure got, expected and difference are saved.

    Small differences are allowed, since fonts and curves are drawn by libraries that improve: the mean difference (of
    255) and the share of pixels that differ by more than 48. ``MOCKUP_WRITE_BASELINE=1`` writes the baselines anew.
    """

    def compare(
        got: np.ndarray, name: str, *, mean: float = 1.0, share: float = 0.004, baseline: Path = BASELINE
    ) -> None:
        path = baseline / f"{name}.png"
        if os.environ.get("MOCKUP_WRITE_BASELINE") == "1":
            Image.fromarray(got).save(path, optimize=True)
        expected = read_photo(path).rgb8
        folder = tmp_path / "difference"
        folder.mkdir(exist_ok=True)
        if got.shape != expected.shape:
            Image.fromarray(got).save(folder / f"{name}-got.png")
            pytest.fail(f"{name}: expected {expected.shape}, got {got.shape}; see {folder}")
        # half a pixel of shift is no difference: both are smoothed a little first
        smooth = [cv2.GaussianBlur(p.astype(np.float32), (0, 0), 1.0) for p in (got, expected)]
        difference = np.abs(smooth[0] - smooth[1])
        far = float((difference.max(axis=-1) > 48).mean())
        if difference.mean() > mean or far > share:
            for word, picture in (("got", got), ("expected", expected), ("difference", difference.astype(np.uint8))):
                Image.fromarray(picture).save(folder / f"{name}-{word}.png")
            pytest.fail(
                f"{name}: mean difference {difference.mean():.2f} (at most {mean}), {100 * far:.2f} % of pixels "
                f"far off (at most {100 * share:.2f} %); see {folder}"
            )

    return compare
