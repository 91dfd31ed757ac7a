"""Work on the page outlives a reload, a restart of the server and a second window on the same garment."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from garment_page import after, ask, drag, gone, opened, revision, scene, seen, with_choir
from serving import served

from ui.app import build_app

pytestmark = pytest.mark.browser


def test_work_survives_reload_restart_and_a_second_window(windows: Any, page: Any, app: str, data: Path) -> None:
    with_choir(page, app)
    tour = page.get_by_role("note", name="Short tour")
    assert tour.inner_text().startswith("1 of 3")
    tour.get_by_role("button", name="Next").click()
    assert tour.inner_text().startswith("2 of 3")
    tour.get_by_role("button", name="Enough").click()
    assert tour.is_hidden()
    before = revision(page)
    drag(page, "dot:front:line-2:start", 0, -24)
    after(page, before)
    moved = next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"]
    word = re.search(r"p=([\w-]+)", page.url)
    assert word
    page.reload()
    seen(page, ".panel")
    assert tour.is_hidden(), "the tour is short, and goes for good when told"
    assert next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"] == moved
    # A second window on the same garment, not told of what happens in the first, changes something else.
    other = windows.new_page()
    other.add_init_script("delete window.BroadcastChannel")
    other.goto(page.url)
    seen(other, ".panel")
    page.bring_to_front()  # a window behind another draws its frames seldom, and each step of a hand waits for one
    ask(page, "Where do the lines run?")
    before = revision(page)
    drag(page, "dot:front:line-1:end", 0, 20)
    after(page, before)
    yoke = next(x for x in scene(page)["lines"] if x["id"] == "line-1")["end"]["distance_mm"]
    other.bring_to_front()
    before = revision(other)
    ask(other, "Where do the lines run?")
    drag(other, "dot:front:line-2:start", 0, 24)
    after(other, before)
    assert next(x for x in scene(other)["lines"] if x["id"] == "line-1")["end"]["distance_mm"] == yoke
    band = next(x for x in scene(other)["lines"] if x["id"] == "line-2")["start"]["distance_mm"]
    # A server that was started anew knows nothing but what is on the disk.
    with served(build_app(data)) as address:
        page.bring_to_front()
        page.goto(f"{address}/?p={word[1]}")
        seen(page, ".panel")
        lines = {x["id"]: x for x in scene(page)["lines"]}
        assert lines["line-1"]["end"]["distance_mm"] == yoke
        assert lines["line-2"]["start"]["distance_mm"] == band
        # A new visit is another person's: it begins with nothing.
        other.close()
        other = windows.new_page()
        opened(other, address)
        assert scene(other)["views"] == []
        # Garments of before are found again, and one that is deleted comes back.
        count = other.locator(".earlier li").count()
        assert count >= 1
        other.get_by_role("button", name=re.compile("^Delete")).first.click()
        seen(other, ".earlier .gone")
        other.get_by_role("button", name=re.compile("^Undo: bring")).click()
        gone(other, ".earlier .gone")
        assert other.locator(".earlier li").count() == count
        other.get_by_role("link", name=re.compile("^Open Winter concert tunic")).first.click()
        seen(other, ".panel")
        other.close()
