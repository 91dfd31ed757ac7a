"""The page at every size, light and dark: the garment stays in sight, and nobody is shut out."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from garment_page import ask

pytestmark = pytest.mark.browser


# Where all that is shown stands, once nothing moves any more from one frame to the next.
PLACES = """() => new Promise((done) => {
  let before = "";
  const look = () => {
    const now = [...document.querySelectorAll('#top, #top *, #board, #board *, #leaflet, #leaflet *')]
      .map((e) => [e.tagName, e.getBoundingClientRect()]).filter(([, r]) => r.width)
      .map(([tag, r]) => `${tag} ${r.x.toFixed()} ${r.y.toFixed()} ${r.width.toFixed()} ${r.height.toFixed()}`).join();
    if (now === before) done(now);
    else { before = now; requestAnimationFrame(look); }
  };
  look();
})"""


def in_sight(page: Any, width: int, height: int) -> None:
    """Whatever is asked, the garment stays in view, and nothing hangs over the side."""
    where = f"{width}×{height}"
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width, f"{where}: hangs over the side"
    for question in ("What garment?", "Which cloth?", "Where do the lines run?", "Will it sew?", "Print and cut"):
        ask(page, question)
        if width <= 860:
            head, board = page.locator(".q.open h2").bounding_box(), page.locator("#board").bounding_box()
            assert head["y"] >= board["y"] + board["height"] - 4, f"{where}, {question}: not under the garment"
            assert page.evaluate(
                """() => { const r = document.querySelector('.shelf').getBoundingClientRect();
                   const e = document.elementFromPoint(r.x + 30, r.y + r.height / 2);
                   return Boolean(e.closest('#board')); }"""
            ), f"{where}, {question}: nothing lies over the shelf"
            if question == "Where do the lines run?":
                field = page.get_by_label("A usual line", exact=True)
                field.click()
                page.wait_for_function(
                    """() => { const o = document.querySelector('[role=option]'), r = o?.getBoundingClientRect();
                       return r && o.contains(document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2)); }"""
                )  # its list opens where it can be pressed, not behind the garment
                field.press("Escape")
        page.locator(".q.open .q-body button:visible").last.scroll_into_view_if_needed()
        stage = page.locator(".stage").bounding_box()
        assert stage["y"] >= -1, f"{where}, {question}: the garment stays in view"
        assert stage["y"] + stage["height"] <= height + 1, f"{where}, {question}: the garment stays in view"
    if width > 860:
        leaflet, board = page.locator("#leaflet").bounding_box(), page.locator("#board").bounding_box()
        assert board["width"] * board["height"] > 2 * leaflet["width"] * leaflet["height"], where


def test_the_garment_is_in_view_and_the_largest_thing(tunic_page: Any) -> None:
    page = tunic_page
    page.wait_for_function("() => !window.garmentTable.scene.facts_pending")  # flags and facts take room
    for width, height in ((1366, 768), (1440, 900), (390, 844)):
        page.set_viewport_size({"width": width, "height": height})
        ask(page, "What garment?")  # nothing of it comes later
        by_light = {}
        for dark in (False, True):
            where = f"{width}×{height}, {'dark' if dark else 'light'}"
            if page.evaluate("() => document.body.classList.contains('dark')") is not dark:
                page.locator("[data-light]").click()
            by_light[dark] = page.evaluate(PLACES)  # the same in both: what is measured further is so in both too
            colours = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
            light = sum(int(v) for v in re.findall(r"\d+", colours)[:3])
            assert (light < 200) if dark else (light > 600), where
        assert by_light[False] == by_light[True], f"{width}×{height}: in the dark things stand elsewhere"
        in_sight(page, width, height)
    family = page.evaluate("() => getComputedStyle(document.querySelector('.gradio-container')).fontFamily")
    assert "Alegreya Sans" in family


def test_no_serious_fault_of_contrast_or_labels(tunic_page: Any) -> None:
    page = tunic_page
    # axe-core (Deque Systems), the published rules of WCAG 2.2 A and AA and good practice.
    rules = (Path(__file__).parent / "axe" / "axe.min.js").read_text("utf-8")
    page.add_script_tag(content=rules)
    ask(page, "Where do the lines run?")
    page.locator("[data-card=line-1]").click()
    # Every question open at once, so that one look sees them all.
    page.evaluate("() => { for (const q of document.querySelectorAll('.q')) q.classList.add('open'); }")
    found = []
    for dark in (False, True):
        if page.evaluate("() => document.body.classList.contains('dark')") is not dark:
            page.get_by_role("button", name="Light / dark").click()
        found += page.evaluate(
            """async (where) => {
             const ends = (a) => a.effect.getComputedTiming().iterations !== Infinity;
             await Promise.allSettled(document.getAnimations().filter(ends).map((a) => a.finished));
             return (await axe.run(document, {resultTypes: ['violations']})).violations
               .filter((v) => ['serious', 'critical'].includes(v.impact))
               .map((v) => `${where}: ${v.id}: ${v.nodes[0].target.join(' ')}`);
            }""",
            "dark" if dark else "light",
        )
    assert not found
