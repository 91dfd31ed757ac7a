"""Voting in a real browser with scripts switched off, on a phone and at a desk: see, choose, send, once only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from serving import served

from mockup.polls.poll import Ask, Poll, PollChoice
from mockup.polls.store import PollStore
from swatches.photo import write_png
from ui.poll.app import build_poll_app

pytestmark = pytest.mark.browser


def opened(folder: Path, ask: Ask) -> tuple[PollStore, Poll]:
    store = PollStore(folder / "polls.sqlite")
    offered = [
        PollChoice(x, name, f"choice-{x}.png", f"Choice {x}: a tunic")
        for x, name in zip("ABC", ("Frost", "", "Mulled"), strict=True)
    ]
    poll = store.add("Which one shall we sew?", offered, ask=ask, open_link=True)
    place = folder / "pictures" / poll.id
    place.mkdir(parents=True)
    for k, letter in enumerate("ABC"):
        write_png(place / f"choice-{letter}.png", np.full((108, 108, 3), 60 * k + 60, np.uint8))
    return store, poll


@pytest.mark.parametrize("size", [(390, 844), (1440, 900)])
def test_one_vote_without_any_script(browser: Any, tmp_path: Path, size: tuple[int, int]) -> None:
    store, poll = opened(tmp_path, Ask.ONE)
    context = browser.new_context(
        java_script_enabled=False, viewport={"width": size[0], "height": size[1]}, color_scheme="dark"
    )
    try:
        with served(build_poll_app(store, tmp_path / "pictures")) as address:
            page = context.new_page()
            page.goto(f"{address}/{poll.id}")
            assert page.locator("img").count() == 3
            wide = page.locator("main").bounding_box()
            assert wide["width"] <= size[0], "the page is wider than the screen"
            for box in (page.locator(".choice").nth(k).bounding_box() for k in range(3)):
                assert box["x"] >= 0
                assert box["x"] + box["width"] <= size[0]
            page.locator("label", has_text="B").click()  # the picture's whole label can be pressed
            page.get_by_label("Anything to add?").fill("the green one")
            page.get_by_role("button", name="Send my vote").click()
            assert "Thank you" in page.locator("main").inner_text()
            page.goto(f"{address}/{poll.id}")
            assert "voted already" in page.locator("main").inner_text()
            assert page.get_by_role("button").count() == 0
    finally:
        context.close()
    assert [b.ranking for b in store.ballots(poll).ballots] == [("B",)]
    assert [row.comment for row in store.rows(poll)] == ["the green one"]


def test_ranking_by_keyboard_without_any_script(browser: Any, tmp_path: Path) -> None:
    store, poll = opened(tmp_path, Ask.RANK)
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    try:
        with served(build_poll_app(store, tmp_path / "pictures")) as address:
            page = context.new_page()
            page.goto(f"{address}/{poll.id}")
            for letter, place in (("A", "2"), ("B", "2"), ("C", "1")):
                page.locator(f"#pick-{letter}").select_option(place)
            page.get_by_role("button", name="Send my vote").press("Enter")
            assert "different place" in page.locator("main").inner_text()
            assert page.locator("#pick-C").input_value() == "1"  # what was right stays
            page.locator("#pick-B").select_option("3")
            page.get_by_role("button", name="Send my vote").press("Enter")
            assert "Thank you" in page.locator("main").inner_text()
    finally:
        context.close()
    assert [b.ranking for b in store.ballots(poll).ballots] == [("C", "A", "B")]
