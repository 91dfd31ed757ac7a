"""The print on a panel moved in the browser, by mouse and by keys; and a cloth carried from the shelf to a panel."""

from __future__ import annotations

from typing import Any

import pytest
from garment_page import after, middle, painted, revision

pytestmark = pytest.mark.browser


def panel(page: Any, name: str) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(
        "(id) => garmentTable.scene.views.flatMap((v) => v.panels).find((p) => p.id === id)", name
    )
    return found


def printed_panel(page: Any) -> str:
    """A panel of the front with a print and a twin."""
    return str(page.evaluate(
        """() => { const s = garmentTable.scene;
           const printed = new Set(s.cloths.filter((c) => c.printed).map((c) => c.id));
           return s.views[0].panels.find((p) => p.twin && printed.has(p.cloth)).id; }"""
    ))  # fmt: skip


def test_a_print_is_dragged_keyed_mirrored_and_undone(tunic_page: Any) -> None:
    page = tunic_page
    name = printed_panel(page)
    k = page.evaluate("() => garmentTable.editor.port.place(garmentTable.editor.panes[0]).k")
    mm = page.evaluate("() => garmentTable.editor.panes[0].view.mm_per_px")
    shape = f'.view:first-child [data-panel="{name}"]'
    x, y = middle(page, f'.view:first-child [data-for="{name}"]')
    page.mouse.click(x, y)
    held: list[Any] = []  # the cloth's tile comes only when the drag is on, as on a slow machine
    page.route("**/pictures/*/cloth-*", lambda route: held.append(route))
    page.get_by_role("button", name="Move its print").click()
    before = revision(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 10)
    page.mouse.move(x + 40, y - 20)
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert len(held) == 1
    assert page.locator("#print-ghost").count() == 0
    held[0].continue_()
    page.unroute("**/pictures/*/cloth-*")
    assert page.locator("#print-ghost").get_attribute("patternTransform").startswith("translate(")
    page.mouse.up()
    after(page, before)
    moved = panel(page, name)["laid"]
    assert moved["right"] == pytest.approx(40 / k * mm, abs=0.6)
    assert moved["up"] == pytest.approx(20 / k * mm, abs=0.6)
    painted(page)
    page.wait_for_function("() => !document.querySelector('.print-ghost')")
    before = revision(page)
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowUp")
    after(page, before)
    keyed = panel(page, name)["laid"]
    assert (keyed["right"] - moved["right"], keyed["up"] - moved["up"]) == pytest.approx((-1, 10))
    assert "to the right" in page.locator(".print-bar .words").inner_text()
    before = revision(page)
    page.get_by_label("Its twin, mirrored").check()
    after(page, before)
    twin = panel(page, panel(page, name)["twin"])["laid"]
    assert (twin["right"], twin["up"]) == pytest.approx((-keyed["right"], keyed["up"]))
    assert twin["mirrored"] != keyed["mirrored"]
    before = revision(page)
    page.get_by_role("button", name="As at first").click()
    after(page, before)
    assert not panel(page, name)["laid"]["own"]
    before = revision(page)
    page.keyboard.press("Control+z")
    after(page, before)
    assert panel(page, name)["laid"] == keyed
    page.keyboard.press("Escape")
    assert page.get_by_role("button", name="Move its print").is_visible()
    page.get_by_role("button", name="Done").click()
    assert page.locator(".print-bar").is_hidden()
    assert page.locator(shape).count() == 1


def test_a_cloth_is_carried_to_a_panel(tunic_page: Any) -> None:
    page = tunic_page
    name = printed_panel(page)
    cloth = page.evaluate(
        "(id) => { const p = garmentTable.scene.views[0].panels.find((x) => x.id === id);"
        " return garmentTable.scene.cloths.find((c) => c.id !== p.cloth).id; }",
        name,
    )
    x, y = middle(page, f'.shelf [data-cloth="{cloth}"] .swatch')
    to_x, to_y = middle(page, f'.view:first-child [data-for="{name}"]')
    before = revision(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 5, y - 40)
    page.mouse.move(to_x, to_y)
    assert page.locator(".panel.under").get_attribute("data-panel") == name
    page.mouse.up()
    after(page, before)
    assert panel(page, name)["cloth"] == cloth
    assert page.locator(".carried").count() == 0
    assert page.get_attribute(".editor", "data-hand") != "full"  # it was carried, not taken in hand
    before = revision(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 60)
    page.mouse.move(to_x, 4)  # let go beside the garment: nothing happens
    page.mouse.up()
    assert page.locator(".carried").count() == 0
    assert revision(page) == before
