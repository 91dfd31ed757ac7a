"""Choosing in a real browser: findings that lead to their flags, suggestions, and a poll from open to close."""

from __future__ import annotations

from typing import Any

import pytest
from garment_page import seen

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def scene(page: Any, what: str) -> Any:
    return page.evaluate(f"() => window.garmentTable.scene.{what}")


def until(page: Any, what: str) -> None:
    page.wait_for_function(f"() => {{ const s = window.garmentTable.scene; return {what}; }}", timeout=120_000)


@pytest.fixture
def choir(page: Any, app: str) -> Any:
    page.goto(app)
    seen(page, "#table [data-scene]")
    page.evaluate("() => document.querySelector('#open-demo').click()")
    seen(page, ".panel")
    return page


def test_findings_follow_the_cloth_and_lead_to_their_flags(choir: Any) -> None:
    page = choir
    page.click("[data-question=sew]")
    until(page, "s.facts_pending === false && s.facts.length > 0")
    before = page.locator("#q-sew .fact").count()
    page.evaluate("() => { document.querySelectorAll('#q-sew details.fold').forEach((d) => { d.open = true; }); }")
    page.fill("#limit-sliver", "130")  # the hem band is 11 cm wide
    page.keyboard.press("Tab")
    until(page, "s.limits.some((l) => l.yours) && s.facts.some((f) => f.flag)")
    assert page.locator("#q-sew .fact").count() > before
    assert "You set this limit" in page.locator(".limit.yours").inner_text()
    page.locator("#q-sew .fact .flag-number").first.click()
    assert page.locator(".flag.shown").count() == 1
    assert "Flag 1:" in page.locator(".flag.shown").get_attribute("aria-label")
    for word in ("L*", "ΔE", "CIEDE", "ISO", "CFR", "WCAG", "Pareto", "Threads"):
        assert word not in page.locator("#q-sew").inner_text()


def test_a_suggestion_becomes_a_choice(choir: Any) -> None:
    page = choir
    page.click("[data-question=cloth]")
    page.click("#suggest-cloth")
    until(page, "!s.busy && s.asked.suggested.length > 1")
    page.wait_for_function(
        "() => [...document.querySelectorAll('.suggested img')].slice(0, 2).every((i) => i.naturalWidth > 0)"
    )
    page.click('[data-use="2"]')
    until(page, "s.choice === 'E'")
    worn = {p["id"]: p["cloth"] for v in scene(page, "views") for p in v["panels"]}
    offered = scene(page, "asked.suggested[1].fabrics")
    assert all(worn[panel] == cloth for panel, cloth in offered.items())
    page.get_by_role("button", name="Undo").click()
    until(page, "!s.choices.some((c) => c.letter === 'E')")


def test_a_poll_is_opened_answered_and_closed(choir: Any) -> None:
    page = choir
    page.click("[data-question=print]")
    page.get_by_role("button", name="Show the choices, and let others choose").click()
    page.fill("#poll-closes input, #poll-closes textarea", "next week")
    page.click("#open-poll")
    page.wait_for_function("() => document.querySelector('[data-said=votes]').textContent.includes('2026-12-01')")
    page.fill("#poll-closes input, #poll-closes textarea", "2999-12-01 18:00")
    page.click("#open-poll")
    until(page, "!s.busy && s.asked.poll")
    link = page.locator(".poll-link a").get_attribute("href")
    assert page.locator("img.code").count() == 0, "only this computer can reach it: no phone needs a code"
    voter = page.context.browser.new_context(java_script_enabled=False)
    try:
        ballot = voter.new_page()
        ballot.goto(link)
        ballot.check("#pick-C")
        ballot.get_by_role("button", name="Send my vote").click()
        assert "Thank you" in ballot.locator("main").inner_text()
    finally:
        voter.close()
    page.wait_for_function("() => document.querySelector('.chart').alt.includes('C, Clear night: 1')", timeout=60_000)
    page.click("#close-poll")
    page.wait_for_function("() => document.querySelector('[data-slot=poll]').textContent.includes('Closed')")
