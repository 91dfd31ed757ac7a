"""How the pieces lie, on the page: by hand with words at once, finished by the search, cut, and undone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from garment_page import seen

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_a_piece_by_hand_the_rest_found_and_cut(browser: Any, app: str) -> None:
    page = browser.new_page(viewport={"width": 1366, "height": 900})
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto(app, wait_until="domcontentloaded")
    seen(page, "[data-scene]")
    page.get_by_role("button", name="Open the choir’s tunic").last.click()
    seen(page, ".panel")
    page.get_by_role("button", name="Print and cut").click()
    seen(page, ".laid-piece")
    # a piece is laid by keys, then pushed over the edge: that is said in words, and to who cannot see
    piece = page.locator(".laid-piece").first
    key = piece.get_attribute("data-key")
    piece = page.locator(f"[data-key='{key}']")
    piece.focus()
    piece.press("Enter")
    seen(page, ".lay-words li.fine")
    for _ in range(70):
        piece.press("Shift+ArrowLeft")
    page.wait_for_selector("text=reaches over the edge, a hole or a flaw of")
    assert "reaches over" in (piece.get_attribute("aria-label") or "")
    piece.press("]")
    page.wait_for_selector("text=/lies 1.0° off the grain/")
    # off again, and the rest is found
    piece.press("Delete")
    seen(page, f"[data-key='{key}'][aria-label*='not laid yet']")
    page.get_by_role("button", name="Take all off").click()
    page.wait_for_function("() => document.querySelector('.lay-board').dataset.lying === '0'")
    page.get_by_role("button", name="Finish the rest").click()
    page.wait_for_function("() => Number(document.querySelector('.lay-board').dataset.lying) > 0", timeout=60_000)
    assert "checked exactly" in page.locator(".lay-said").inner_text()
    seen(page, ".lay-painted img")
    assert page.locator(".lay-painted img").count() == 3  # front, back, and the photo on the form
    with page.expect_download() as plan:
        page.get_by_role("link", name="Print the plan").click()
    assert Path(plan.value.path()).read_bytes().startswith(b"%PDF")
    # axe-core (Deque Systems), the published rules of WCAG 2.2 A and AA and good practice
    page.add_script_tag(content=(Path(__file__).parent / "axe" / "axe.min.js").read_text("utf-8"))
    broken = page.evaluate(
        "async () => (await axe.run('#lay-board', {resultTypes: ['violations']})).violations.map((v) => v.id + ': ' +"
        " v.nodes.map((n) => n.html.slice(0, 120)).join(' | '))"
    )
    assert broken == []
    # cut: what is left of the cloth is smaller, and undo brings it back
    before = page.locator("[data-scene]").get_attribute("data-scene")
    page.get_by_role("button", name="It is cut").click()
    page.wait_for_function("(n) => document.querySelector('[data-scene]').dataset.scene !== n", arg=before)
    page.wait_for_selector("text=/Cut. Of .* there is left/")
    page.wait_for_function("() => document.querySelector('.lay-board').dataset.lying === '0'")
    # a cloth of which nobody knows how much there is leads to where that is said
    page.evaluate("() => window.garmentTable.trigger('act', {do: 'assign', panel: 'front-2', cloth: 'stars'})")
    page.locator("[data-lay-cloth=stars]").click()
    page.locator(".measure-cloth").click()
    seen(page, "#q-cloth.open [data-key='garment:stars:length_left']:focus")
    assert faults == []
    page.close()
