"""The whole walk on the page by keyboard alone, from the empty table to the files."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from garment_page import after, opened, painted, revision, scene, seen

from mockup.files.split_file import read_split
from mockup.samples import choir

pytestmark = pytest.mark.browser


def test_the_walk_by_keyboard_alone(page: Any, app: str) -> None:
    opened(page, app)

    def tab_to(selector: str, most: int = 80) -> None:
        for _ in range(most):
            if page.evaluate("(s) => document.activeElement.matches(s)", selector):
                return
            page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not reach {selector}")

    tab_to("#open-demo")
    page.keyboard.press("Enter")
    seen(page, ".panel")
    painted(page)
    tab_to("[data-key='line:front:line-2']")
    before = revision(page)
    page.keyboard.press("Shift+ArrowUp")
    after(page, before)
    assert next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"] == choir.BAND_MM + 10
    tab_to("[data-cloth=stars]")
    page.keyboard.press("Enter")
    page.evaluate("() => document.querySelector('#word')?.blur?.()")
    for _ in range(120):
        if page.evaluate("() => document.activeElement.matches('[data-panel=front-2]')"):
            break
        page.keyboard.press("Shift+Tab")
    before = revision(page)
    page.keyboard.press("Enter")
    after(page, before)
    assert next(p for p in scene(page)["views"][0]["panels"] if p["id"] == "front-2")["cloth"] == "stars"
    before = revision(page)
    page.keyboard.press("Control+z")
    after(page, before)
    assert next(p for p in scene(page)["views"][0]["panels"] if p["id"] == "front-2")["cloth"] != "stars"
    tab_to("[data-question=print]", 200)
    page.keyboard.press("Enter")
    tab_to("#make-pieces", 200)
    page.keyboard.press("Enter")
    seen(page, ".made a")
    tab_to(".made a", 200)
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    assert download.value.suggested_filename == "pieces-a4.pdf"
    sheets = pypdfium2.PdfDocument(Path(download.value.path()).read_bytes())
    assert len(sheets) > 1
    width, height = sheets[0].get_size()
    assert (width, height) == (
        pytest.approx(210 / 25.4 * 72, abs=0.1),
        pytest.approx(297 / 25.4 * 72, abs=0.1),
    )  # ISO 216
    links = {a.get_attribute("download"): app + a.get_attribute("href") for a in page.locator(".made a").all()}
    prints = {f"pieces-{paper}.pdf" for paper in ("a4", "letter", "a0", "roll36", "projector")}
    assert set(links) == prints | {
        "handout.pdf", "pieces-svg.zip", "pieces.dxf", "cutting-list.csv", "split.json", "proof.json",
    }  # fmt: skip
    got = {name: page.request.get(links[name]).body() for name in ("pieces-svg.zip", "split.json", "proof.json")}
    assert len(zipfile.ZipFile(io.BytesIO(got["pieces-svg.zip"])).namelist()) >= 8
    split = read_split(got["split.json"])
    cut_by = next(x for v in split.views for x in v.lines if x.id == "line-2")
    assert cut_by.start is not None
    shown = next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"]
    assert cut_by.start.distance_mm == shown, "what is drawn is what is cut"
    assert json.loads(got["proof.json"])["ok"] is True
