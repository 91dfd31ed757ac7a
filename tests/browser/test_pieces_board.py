"""Pattern pieces on the page: a line moved on its piece moves in the picture; a seam goes by picking its two edges."""

from __future__ import annotations

from typing import Any

import pytest
from garment_page import seen

pytestmark = pytest.mark.browser

IN_SIGHT = """(selector) => {
  const { top, bottom } = document.querySelector(selector).getBoundingClientRect();
  return top >= 0 && bottom <= innerHeight;
}"""


def test_pieces_to_scale_a_moved_end_and_a_seam_that_goes(page: Any, app: str) -> None:
    page.goto(app, wait_until="domcontentloaded")
    seen(page, "[data-scene]")
    page.get_by_role("button", name="Open the choir’s tunic").last.click()
    seen(page, ".panel")
    page.get_by_role("button", name="Print and cut").click()

    # the pattern with the lines on it, before anything is cut
    seen(page, ".pieces-drawing .style-line")
    assert page.locator(".pieces-drawing .piece").count() == 6
    line = page.evaluate("() => window.garmentTable.scene.lines.find((l) => l.id === 'line-2').start.distance_mm")
    end = page.locator("[data-key='line-2:start:0']")
    end.focus()
    for key in ("Shift+ArrowRight", "ArrowRight", "ArrowRight"):  # 10 mm, and twice 1
        end.press(key)
    # presses may be told in several parts, and each part is answered
    page.wait_for_function(
        "(mm) => window.garmentTable.scene.lines.find((l) => l.id === 'line-2').start.distance_mm > mm - 0.1",
        arg=line + 12,
    )
    moved = page.evaluate("() => window.garmentTable.scene.lines.map((l) => [l.id, l.start.distance_mm])")
    assert dict(moved)["line-2"] == pytest.approx(line + 12)
    assert dict(moved)["line-4"] == pytest.approx(line + 12), "the back follows at the seam"

    # a point between the ends moves in the picture as it moves on the piece: 10 mm up, 10 mm to the right
    through = "() => window.garmentTable.scene.lines.find((l) => l.id === 'line-2').through[1]"
    u, v = page.evaluate(through)
    point = page.locator("[data-key='line-2:1:0']")
    point.focus()
    point.press("Shift+ArrowUp")
    point.press("Shift+ArrowRight")
    page.wait_for_function(
        f"([u, v]) => {{ const at = ({through})(); return at[0] !== u && at[1] !== v; }}", arg=[u, v]
    )
    after = page.evaluate(through)
    assert after[1] > v + 0.005
    assert after[0] != u

    page.locator("#make-pieces").click()
    seen(page, ".made a")
    page.wait_for_function("() => document.querySelectorAll('.pieces-drawing .piece').length === 10")
    page.wait_for_function("() => document.querySelector('#make-pieces').matches(':focus')")
    page.wait_for_function(IN_SIGHT, arg=".pieces-drawing")  # the button stands far below what it makes
    assert page.locator(".pieces-drawing .bold").count() == 8, "four new seams, two sides each"
    assert page.locator(".told summary").first.inner_text() == "The proof: nothing lost, every seam fits"
    said = page.locator(".told summary", has_text="Do the seams match?").inner_text()
    apart = page.evaluate(
        "() => [...document.querySelectorAll('.told td')].filter((t) => / apart$/.test(t.textContent)).length"
    )
    assert ("equally long" in said) == (apart == 0), "the heading says what the table says"

    # a print that is made when it is fetched and does not go on its paper is said, and no download that failed
    too_wide = "Middle front is 950 mm wide: expected a piece that goes on the roll. Choose another paper."
    page.route("**/made/*/pieces-roll36.pdf", lambda route: route.fulfill(status=409, body=too_wide))
    page.locator(".made a[download='pieces-roll36.pdf']").click()
    seen(page, "[data-said=print].error")
    assert page.locator("[data-said=print]").inner_text() == too_wide

    # the seam between the yoke and the middle goes: it is picked on both pieces
    for key in ("front yoke:yoke", "middle front:yoke"):
        hit = page.locator(f"[data-key='{key}']")
        hit.focus()
        hit.press("Enter")
    assert page.evaluate(IN_SIGHT, ".join-bar button"), "what can be done with a chosen seam stands where it is seen"
    assert "1 front yoke is undyed wool" in page.locator(".join-bar").inner_text()
    page.locator(".join-bar .two-cloths select").select_option("second")
    page.get_by_role("button", name="Take this seam out").click()
    page.wait_for_function("() => document.querySelectorAll('.pieces-drawing .piece').length === 9")
    assert "Taken out: front yoke, yoke to middle front, yoke" in page.locator(".gone").inner_text()
    assert "is cut from that of middle front" in page.locator(".gone").inner_text()
    assert "The picture still shows both" in page.locator(".joined-note").inner_text()

    # taking it out is a step like any other
    page.get_by_role("button", name="Undo").first.click()
    page.wait_for_function("() => document.querySelectorAll('.pieces-drawing .piece').length === 10")
    assert page.locator(".gone li").count() == 0
    assert page.locator(".made a").count() > 5, "the files of those pieces are back as well"
    page.get_by_role("button", name="Redo").first.click()
    page.wait_for_function("() => document.querySelectorAll('.gone li').length === 1")
    page.wait_for_function("() => document.querySelectorAll('.pieces-drawing .piece').length === 9")
    page.get_by_role("button", name="Put it back").click()
    page.wait_for_function("() => document.querySelectorAll('.pieces-drawing .piece').length === 10")
