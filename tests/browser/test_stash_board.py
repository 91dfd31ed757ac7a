"""What could be made from one's own cloth, on the page: ticked, looked for, looked at, and taken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from garment_page import seen

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_a_design_from_ones_own_cloth_becomes_a_choice(browser: Any, app: str) -> None:
    page = browser.new_page(viewport={"width": 1366, "height": 900})
    page.set_default_timeout(120_000)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(app, wait_until="domcontentloaded")
    seen(page, "[data-scene]")
    page.get_by_role("button", name="Open the choir’s tunic").last.click()
    seen(page, ".panel")
    page.get_by_role("button", name="Print and cut").click()
    seen(page, ".stash-board:not([hidden])")
    board = page.locator(".stash-board")
    # everything is ticked to begin with; here only one kind of lines, at one height, is tried
    board.locator("summary").first.click()
    boxes = board.locator("input[type=checkbox]")
    assert boxes.count() > 8
    assert all(boxes.nth(k).is_checked() for k in range(boxes.count()))
    for kind in ("own", "yoke", "band"):
        board.locator(f"[data-kind='{kind}'] input[type=checkbox]").uncheck()
    for end in ("low", "high"):
        board.locator(f"[data-kind='hem band'] [data-end={end}]").fill("12 cm")
    page.get_by_role("button", name="Look for designs").click()
    page.wait_for_selector("text=/Trying hem band, 120 mm/")
    seen(page, ".stash-designs li")
    assert "Looked at 1 position of the lines" in page.locator(".stash-searched + .fine").inner_text()
    design = page.locator(".stash-designs li").first
    assert design.locator("h4").inner_text() == "Hem band, 120 mm"
    assert design.locator("tbody tr").count() >= 2
    assert design.locator("img").count() == 3  # front, back, and the photo on the form
    design.locator("summary").click()
    page.wait_for_function(
        "() => [...document.querySelectorAll('.stash-designs li:first-child details img')].some((i) => i.naturalWidth)"
    )
    with page.expect_download() as plan:
        design.locator("a[download]").first.click()
    assert Path(plan.value.path()).read_bytes().startswith(b"%PDF")
    # a simple question: the pocket
    board.locator("[data-ask=piece]").select_option("pocket")
    board.get_by_role("button", name="Ask: Which remnants make this piece?").click()
    seen(page, "[data-answered=piece]")
    assert "All of 'pocket' can be cut from any one of these:" in page.locator("[data-answered=piece]").inner_text()
    # axe-core (Deque Systems), the published rules of WCAG 2.2 A and AA and good practice
    page.add_script_tag(content=(Path(__file__).parent / "axe" / "axe.min.js").read_text("utf-8"))
    broken = page.evaluate(
        "async () => (await axe.run('#stash-board', {resultTypes: ['violations']})).violations.map((v) => v.id + ': '"
        " + v.nodes.map((n) => n.html.slice(0, 120)).join(' | '))"
    )
    assert broken == []
    # taken: choice E, its lay on the board above, and undo brings back what was
    design.get_by_role("button", name="Take this one").click()
    page.wait_for_selector("text=/Hem band, 120 mm is choice E now/")
    page.locator(".lay-board").scroll_into_view_if_needed()  # out of sight it is not fetched anew
    page.wait_for_function(
        "() => [...document.querySelectorAll('[data-lay-cloth]')].length && "
        "[...document.querySelectorAll('[data-lay-cloth]')].every((b) => /: (\\d+) of \\1 laid/.test(b.textContent))"
    )
    assert faults == []
    page.close()
