"""What the line editor does with what Python sends, and what of the picture is in sight."""

from __future__ import annotations

from typing import Any

import pytest
from bare_page import drag, opened, place, scale, told
from garment_page import seen

pytestmark = pytest.mark.browser


def test_script_in_a_lines_name_is_shown_as_text(page: Any, bare: str) -> None:
    opened(page, bare)
    assert "<img src=x" in page.get_attribute("[data-key='line:front:line-1']", "aria-label")
    assert page.evaluate("() => window.hurt") is None
    assert page.locator(".editor img[src=x]").count() == 0


def sent_back(page: Any, *, revision: int, edit: int, mm: float) -> float:
    """Let Python answer with line 1 at another distance; gives what the editor shows then."""
    return float(
        page.evaluate(
            """([revision, edit, mm]) => {
              const scene = structuredClone(window.editor.scene);
              scene.lines.find((l) => l.id === "line-1").start.distance_mm = mm;
              window.send({ ...scene, revision, edit });
              return window.editor.line("line-1").start.distance_mm;
            }""",
            [revision, edit, mm],
        )
    )


def test_a_late_answer_does_not_undo_a_newer_edit(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:start", 0, 40)
    moved = told(page)[0][1]["changes"][0]["start"]["distance_mm"]
    assert sent_back(page, revision=2, edit=0, mm=7) == moved, "the answer to an older edit"
    assert sent_back(page, revision=3, edit=1, mm=99) == 99, "the answer to this one"


def test_a_scene_that_arrives_during_a_drag_waits_for_the_release(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:start", 0, 40, release=False)
    page.evaluate("() => window.send({ ...window.editor.scene, revision: 5 })")
    assert page.get_attribute(".editor", "data-ready") == "1"
    page.mouse.up()
    assert page.get_attribute(".editor", "data-ready") == "5"
    assert told(page)[0][1]["changes"][0]["start"]["distance_mm"] > 110


def test_a_flag_speaks_beside_its_place_and_mends(page: Any, bare: str) -> None:
    opened(page, bare)
    mark = {
        "number": 1, "view": "front", "point": [500, 250], "grade": "warn", "text": "Too near <b>the underarm</b>.",
        "about": "", "code": "bulk", "line": "line-1", "end": "start",
        "mendable": True,
    }  # fmt: skip
    page.evaluate(
        "(mark) => window.send({ ...structuredClone(window.editor.scene), revision: 2, marks: [mark] })", mark
    )
    note = page.locator(".mark-note")
    assert note.is_visible(), "a new flag speaks by itself"
    assert "<b>" in note.inner_text(), "words are text"
    box, flag = note.bounding_box(), page.locator(".flag.mark path").bounding_box()
    assert abs(box["y"] - flag["y"]) < 60
    assert box["x"] >= flag["x"] + flag["width"] or box["x"] + box["width"] <= flag["x"] + 2, (
        "it does not cover its flag"
    )
    page.evaluate("() => { document.querySelector('#here').style.width = '370px'; }")
    seen(page, ".mark-note.below")
    box, picture = note.bounding_box(), page.locator(".sheet").first.bounding_box()
    assert box["y"] >= picture["y"] + picture["height"], "without room beside it, it stands under the pictures"
    page.evaluate("() => { document.querySelector('#here').style.width = ''; }")
    seen(page, ".mark-note:not(.below)")
    asked = {key: mark[key] for key in ("line", "code", "end")}
    assert told(page)[-1] == ["act", {"do": "ways", **asked}]
    page.evaluate(
        "(asked) => window.editor.marks.offer({ ...asked, ways: [{ way: 'below', label: 'Move it there' }] })", asked
    )
    offer = note.get_by_role("button", name="Move it there")
    assert offer.is_visible()
    count = len(told(page))
    page.evaluate("() => window.send(structuredClone(window.editor.scene))")
    assert told(page)[count:] == [["act", {"do": "ways", **asked}]], "told of again, it is asked for again"
    page.evaluate(
        "(asked) => window.editor.marks.offer({ ...asked, ways: [{ way: 'below', label: 'Move it there' }] })", asked
    )
    offer.click()
    assert told(page)[-1] == ["act", {"do": "mend", "line": "line-1", "code": "bulk", "end": "start", "way": "below"}]
    page.keyboard.press("Escape")
    assert note.is_hidden()
    page.focus(".flag.mark")
    page.keyboard.press("Enter")
    assert note.is_visible()
    page.evaluate("() => window.editor.drawing.begin('line')")
    assert note.is_hidden(), "it would lie over the place to press"
    page.evaluate("() => window.editor.drawing.stop()")
    page.focus(".flag.mark")
    page.keyboard.press("Enter")
    assert note.is_visible()
    page.evaluate("() => window.send({ ...structuredClone(window.editor.scene), revision: 3, marks: [] })")
    assert note.is_hidden()


def test_zoom_pan_and_fit_show_the_same_place_in_front_and_back(page: Any, bare: str) -> None:
    opened(page, bare)
    x, y = place(page, "dot:front:line-1:start")
    page.mouse.move(x, y)
    page.mouse.wheel(0, -600)
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    after = place(page, "dot:front:line-1:start")
    assert after == (pytest.approx(x, abs=2), pytest.approx(y, abs=2)), "what is under the pointer stays"
    assert scale(page) > 1.2
    front, back = place(page, "dot:front:line-1:start"), place(page, "dot:back:line-2:start")
    assert front[1] == pytest.approx(back[1], abs=0.6)
    page.get_by_role("button", name="Whole garment in sight").click()
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert place(page, "dot:front:line-1:start") == (pytest.approx(x, abs=1), pytest.approx(y, abs=1))


def sight(page: Any) -> list[float]:
    """Zoom, shift across and shift down of what is in sight."""
    return page.evaluate("() => [window.editor.port.zoom, window.editor.port.across, window.editor.port.down]")


def test_keys_on_the_picture_move_what_is_in_sight_and_no_line(page: Any, bare: str) -> None:
    opened(page, bare)
    page.focus("[data-key='picture:front']")
    page.keyboard.press("ArrowRight")
    assert sight(page) == [1, 0, 0], "the whole garment is in sight: there is nothing to move"
    page.keyboard.press("+")
    page.keyboard.press("+")
    zoom = sight(page)[0]
    assert zoom == pytest.approx(1.96)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    assert sight(page) == [zoom, pytest.approx(48 / zoom), pytest.approx(48 / zoom)]
    page.keyboard.press("ArrowLeft")
    page.focus("[data-panel='back-2']")  # the back shows the same part of the body: sideways it goes the other way
    page.keyboard.press("ArrowLeft")
    assert sight(page) == [zoom, pytest.approx(48 / zoom), pytest.approx(48 / zoom)]
    assert told(page) == []
    # On a point the arrows move the point; with Ctrl they move what is in sight here too.
    page.focus("[data-key='dot:front:line-1:start']")
    page.keyboard.press("Control+ArrowUp")
    assert sight(page) == [zoom, pytest.approx(48 / zoom), pytest.approx(0)]
    assert page.evaluate("() => window.editor.line('line-1').start.distance_mm") == 100
    page.keyboard.press("ArrowDown")
    assert sight(page)[2] == pytest.approx(0)
    assert page.evaluate("() => window.editor.line('line-1').start.distance_mm") == 101
    page.focus("[data-key='picture:front']")
    page.keyboard.press("0")
    assert sight(page) == [1, 0, 0]
