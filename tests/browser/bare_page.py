"""What tests of the line editor do on a bare page: open it, find a handle, drag it, hear what the editor told."""

from __future__ import annotations

from typing import Any


def opened(page: Any, bare: str, query: str = "") -> Any:
    page.goto(f"{bare}/{query}")
    page.wait_for_selector("body[data-ready=yes]")
    page.wait_for_function("() => document.querySelector('.editor').dataset.ready === '1'")
    return page


def place(page: Any, key: str) -> tuple[float, float]:
    """Middle of a handle on the screen."""
    return tuple(page.evaluate(
        "(key) => { const r = document.querySelector(`[data-key='${key}'] .mark`).getBoundingClientRect();"
        " return [r.x + r.width / 2, r.y + r.height / 2]; }", key
    ))  # fmt: skip


def scale(page: Any) -> float:
    """Screen px for a mm in the front view."""
    return float(page.evaluate("() => window.editor.port.place(window.editor.panes[0]).k"))


def drag(page: Any, key: str, dx: float, dy: float, *, release: bool = True, alt: bool = False) -> None:
    x, y = place(page, key)
    page.mouse.move(x, y)
    page.mouse.down()
    if alt:
        page.keyboard.down("Alt")
    for i in range(1, 9):
        page.mouse.move(x + dx * i / 8, y + dy * i / 8)
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    if release:
        page.mouse.up()
    if alt:
        page.keyboard.up("Alt")


def told(page: Any) -> list[Any]:
    return page.evaluate("() => window.told")
