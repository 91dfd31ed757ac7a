"""The frame of the page: what can be pressed on a phone, questions brought into sight, one look for what is chosen."""

from __future__ import annotations

from typing import Any

import pytest
from garment_page import seen

pytestmark = pytest.mark.browser


def test_a_phone_begins_with_earlier_garments_on_the_page(tunic_page: Any, page: Any, app: str) -> None:
    phone = page  # the other one is there so that there is an earlier garment
    phone.set_viewport_size({"width": 390, "height": 844})
    phone.goto(app)
    seen(phone, ".earlier li")
    board, leaflet = (phone.locator(s).bounding_box() for s in ("#board", "#leaflet"))
    last = phone.locator(".earlier li").last.bounding_box()
    assert last["y"] + last["height"] <= board["y"] + board["height"], "what is listed stays on its own sheet"
    assert board["y"] + board["height"] <= leaflet["y"], "the sheet lies over no question"
    for button in (phone.locator("#add-front"), phone.get_by_role("button", name="Add a picture")):
        button.click(trial=True)  # fails where anything lies over it
    phone.get_by_role("button", name="Open the choir’s tunic").last.click()
    seen(phone, ".panel")
    assert phone.evaluate("() => getComputedStyle(document.documentElement).scrollPaddingTop") != "auto", (
        "what has the focus is not under the garment"
    )


def test_an_opened_question_shows_its_heading(tunic_page: Any) -> None:
    page = tunic_page
    page.set_viewport_size({"width": 1366, "height": 640})
    for question in ("Will it sew?", "Print and cut", "What garment?", "Which cloth?"):
        page.get_by_role("button", name=question).click()
        head, leaflet = (page.locator(s).bounding_box() for s in (".q.open h2", "#leaflet"))
        assert leaflet["y"] - 1 <= head["y"] <= leaflet["y"] + leaflet["height"] - head["height"], question


def test_every_choice_has_a_tick_and_every_figure_stands_on_the_line(tunic_page: Any) -> None:
    page = tunic_page
    page.evaluate("() => { for (const q of document.querySelectorAll('.q')) q.classList.add('open'); }")
    bare = page.evaluate(
        """() => [...document.querySelectorAll('select, .q-body .wrap:has(> .wrap-inner)')]
             .filter((s) => s.offsetParent && getComputedStyle(s).backgroundImage === 'none').map((s) => s.outerHTML)"""
    )
    assert not bare
    old_style = page.evaluate(
        """() => [...document.querySelectorAll('.number text, .q-body input, .ask .answer, .choices, #top select')]
             .filter((e) => !getComputedStyle(e).fontVariantNumeric.includes('lining-nums')).map((e) => e.outerHTML)"""
    )
    assert not old_style
    page.evaluate(
        """() => { for (const q of document.querySelectorAll('.q'))
             q.classList.toggle('open', q.querySelector('.ask').ariaExpanded === 'true'); }"""
    )


def test_an_answer_that_changes_nothing_arrives_too(tunic_page: Any) -> None:
    """What equals the value before is not handed on by the interface library; pieces of a lay kept their old count."""
    page = tunic_page
    page.wait_for_function("() => !window.garmentTable.scene.facts_pending")
    for _ in range(2):
        before = page.evaluate("() => window.garmentTable.scene.answer || 0")
        page.evaluate("() => window.garmentTable.trigger('cloth', { do: 'look' })")
        page.wait_for_function("(before) => window.garmentTable.scene.answer > before", arg=before)


def test_a_hollow_pieces_number_stands_inside_it(page: Any, bare: str) -> None:
    # A U of 100 × 60 mm with walls of 20 mm: its middle lies in the hollow; no point of it is farther than 10 from
    # an edge but those of its two inner corners, which lie √2 farther at most (arithmetic).
    page.goto(bare)
    point, room, inside, middle_inside = page.evaluate(
        """async () => {
          const { inside, middleOf, roomiest } = await import('/ours/lay_geometry.js');
          const u = [[0, 0], [100, 0], [100, 60], [80, 60], [80, 20], [20, 20], [20, 60], [0, 60]];
          const { point, room } = roomiest(u);
          return [point, room, inside(u, point), inside(u, middleOf(u))];
        }"""
    )
    assert inside
    assert not middle_inside
    assert 10 - 0.5 <= room <= 10 * 2**0.5, point
