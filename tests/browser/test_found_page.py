"""Areas and points put right on the page: joined, divided and named, stitching, a landmark dragged, all undone."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from garment_page import after, ask, opened, painted, revision, scene, seen

from swatches.photo import write_png

sys.path.append(str(Path(__file__).parents[1] / "garment"))
from sewn_garments import GARMENTS

pytestmark = pytest.mark.browser


def on_screen(page: Any, at: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the picture is on the screen."""
    found = page.evaluate(
        """([x, y]) => { const pane = window.garmentTable.editor.panes[0];
           const { k, dx, dy } = window.garmentTable.editor.port.place(pane);
           const r = pane.sheet.getBoundingClientRect(); return [x * k + dx + r.x, y * k + dy + r.y]; }""",
        list(at),
    )
    return float(found[0]), float(found[1])


def areas(page: Any) -> dict[str, str]:
    return {a["id"]: a["name"] for a in scene(page)["views"][0]["areas"]}


def stroke(page: Any, a: tuple[float, float], b: tuple[float, float]) -> None:
    painted(page)
    (x0, y0), (x1, y1) = on_screen(page, a), on_screen(page, b)
    page.mouse.move(x0, y0)
    page.mouse.down()
    for i in range(1, 9):
        page.mouse.move(x0 + (x1 - x0) * i / 8, y0 + (y1 - y0) * i / 8)
    page.mouse.up()


def test_areas_and_points_are_put_right(page: Any, app: str, tmp_path: Path) -> None:
    k = 0.7
    dress = GARMENTS["dress"]
    write_png(tmp_path / "dress.png", dress.scan(k=k, width=2.4))
    page.set_viewport_size({"width": 1366, "height": 768})
    opened(page, app)
    with page.expect_file_chooser() as chooser:
        page.locator("#add-front").click()
    chooser.value.set_files(str(tmp_path / "dress.png"))
    seen(page, ".panel")
    painted(page)
    assert {"bodice", "skirt"} <= areas(page).keys()
    ask(page, "What garment?")

    def place(x: float, y: float) -> tuple[float, float]:
        at = dress.to_px([[x, y]], k)[0]
        return float(at[0]), float(at[1])

    page.get_by_role("button", name="The areas in the picture").click()
    name = page.get_by_label("Name of skirt")
    before = revision(page)
    name.fill("pleated skirt")
    name.press("Tab")
    after(page, before)
    assert areas(page)["skirt"] == "pleated skirt"

    before = revision(page)
    page.get_by_role("button", name="Divide by a stroke").click()
    stroke(page, place(-400, 700), place(400, 700))
    after(page, before)
    assert len([p for p in scene(page)["views"][0]["panels"] if p["id"].startswith("front-")]) == 3

    before = revision(page)
    page.get_by_role("button", name="Join areas").click()
    for at in (place(0, 300), place(0, 500)):
        page.mouse.click(*on_screen(page, at))
    after(page, before)
    assert len([p for p in scene(page)["views"][0]["panels"] if p["id"].startswith("front-")]) == 2

    page.get_by_role("button", name="The points of the garment").click()
    page.get_by_role("button", name="Move points").click()
    at = next(p["at"] for p in scene(page)["views"][0]["points"] if p["name"] == "underarm-left")
    before = revision(page)
    stroke(page, tuple(at), (at[0], at[1] + 25))
    after(page, before)
    moved = next(p["at"] for p in scene(page)["views"][0]["points"] if p["name"] == "underarm-left")
    assert moved[1] > at[1] + 15
    page.screenshot(path=str(tmp_path / "found.png"))

    # By keys: to the points from their button, with Tab to the one, which keeps the focus and its size while it moves.
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Move points").press("Enter")
    for _ in range(20):
        if page.evaluate("() => document.activeElement.matches('[data-key=\"point:front:underarm-left\"]')"):
            break
        page.keyboard.press("Tab")
    before = revision(page)
    page.keyboard.press("Shift+ArrowUp")
    after(page, before)
    nudged = next(p["at"] for p in scene(page)["views"][0]["points"] if p["name"] == "underarm-left")
    up_mm = (moved[1] - nudged[1]) * scene(page)["views"][0]["mm_per_px"]
    assert up_mm == pytest.approx(10, abs=3), "10 mm, brought back onto the slanting outline"
    assert page.evaluate("() => document.activeElement.dataset.key") == "point:front:underarm-left"
    assert page.locator(".said-line .said").inner_text().startswith("Drag a point"), "what can be done still stands"
    before = revision(page)
    page.keyboard.press("Control+z")
    after(page, before)

    before = revision(page)
    page.keyboard.press("Escape")
    page.keyboard.press("Control+z")
    after(page, before)
    back = next(p["at"] for p in scene(page)["views"][0]["points"] if p["name"] == "underarm-left")
    assert back == pytest.approx(at, abs=0.01)
