"""What tests of the page do at its table: open it, wait for pictures and answers, drag, ask, look at the scene."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw

from swatches.photo import read_photo


def seen(page: Any, selector: str) -> None:
    """Wait until something is to be seen.

    It is looked for at every frame; what the driver has for this looks only every half second after the first.
    """
    page.wait_for_function(
        "(selector) => [...document.querySelectorAll(selector)].some((e) => e.checkVisibility())", arg=selector
    )


def gone(page: Any, selector: str) -> None:
    """Wait until something is not to be seen any more."""
    page.wait_for_function(
        "(selector) => ![...document.querySelectorAll(selector)].some((e) => e.checkVisibility())", arg=selector
    )


def opened(page: Any, address: str) -> Any:
    page.goto(address)
    page.wait_for_function("() => document.querySelector('#table [data-scene]')")
    return page


def painted(page: Any) -> None:
    """Wait until every picture that belongs to the scene is on the screen."""
    page.wait_for_function(
        """() => { const s = [...document.querySelectorAll('.sheet')];
           return s.length && s.every((x) => x.dataset.shown && !x.dataset.painting
             && x.dataset.shown === x.querySelector('img').dataset.src); }"""
    )


def revision(page: Any) -> str:
    return str(page.get_attribute("#table .editor", "data-ready"))


def after(page: Any, before: str) -> None:
    """Wait until Python has answered with a newer revision."""
    page.wait_for_function("(before) => document.querySelector('#table .editor').dataset.ready !== before", arg=before)


def with_choir(page: Any, address: str) -> Any:
    opened(page, address)
    page.get_by_role("button", name="Open the choir’s tunic").last.click()
    seen(page, ".panel")
    painted(page)
    return page


def ask(page: Any, question: str) -> None:
    """Open a question of the leaflet."""
    head = page.get_by_role("button", name=question)
    if head.get_attribute("aria-expanded") != "true":
        head.click()


def middle(page: Any, selector: str, dx: float = 0, dy: float = 0) -> tuple[float, float]:
    """Middle of something that is drawn; what is being drawn anew is waited for."""
    found = page.wait_for_function(
        """(selector) => { const e = document.querySelector(selector), r = e && e.getBoundingClientRect();
           return r && r.width ? [r.x + r.width / 2, r.y + r.height / 2] : null; }""",
        arg=selector,
    )
    x, y = found.json_value()
    return x + dx, y + dy


def drag(page: Any, key: str, dx: float, dy: float) -> None:
    x, y = middle(page, f"[data-key='{key}'] .mark")
    page.mouse.move(x, y)
    page.mouse.down()
    for i in range(1, 7):
        page.mouse.move(x + dx * i / 6, y + dy * i / 6)
    page.mouse.up()


def scene(page: Any) -> dict[str, Any]:
    return dict(page.evaluate("() => JSON.parse(JSON.stringify(window.garmentTable.scene))"))


def colour_at(page: Any, x: float, y: float) -> tuple[int, ...]:
    one = page.screenshot(clip={"x": int(x), "y": int(y), "width": 2, "height": 2})
    return tuple(int(v) for v in read_photo(one).rgb8[0, 0])


def own_drawing(folder: Path) -> Path:
    """A plain line drawing of a waistcoat-like shape, as somebody might draw it with a broad pen."""
    picture = Image.new("RGB", (700, 820), "white")
    outline = [
        (260, 60),
        (180, 90),
        (200, 260),
        (150, 330),
        (150, 760),
        (550, 760),
        (550, 330),
        (500, 260),
        (520, 90),
        (440, 60),
        (350, 150),
    ]
    ImageDraw.Draw(picture).line([*outline, outline[0]], fill="black", width=5, joint="curve")
    target = folder / "waistcoat.png"
    picture.save(target)
    return target
