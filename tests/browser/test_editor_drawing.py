"""Drawing lines by hand in the line editor, and what an end falls into while it is dragged."""

from __future__ import annotations

from typing import Any

import pytest
from bare_page import drag, opened, scale, told

pytestmark = pytest.mark.browser


def test_a_line_is_drawn_from_edge_to_edge(page: Any, bare: str) -> None:
    opened(page, bare)
    page.evaluate("() => window.editor.drawing.begin('line')")
    points = page.evaluate(
        """() => {
           const e = window.editor, p = e.panes[0], r = p.sheet.getBoundingClientRect();
           const { k, dx, dy } = e.port.place(p);
           return [[496, 500], [400, 470], [301, 520]].map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]); }"""
    )
    for x, y in points:
        page.mouse.click(x, y)
    ((name, sent),) = told(page)
    assert name == "act"
    assert sent["do"] == "draw"
    assert sent["side"] == "front"
    assert sent["symmetric"] is True
    assert sent["kind"] == "curve"
    assert sent["start"]["edge"] == "side"
    assert sent["start"]["distance_mm"] == pytest.approx(260, abs=2)
    assert sent["end"]["edge"] == "centre-front"
    assert sent["through"] == [[pytest.approx(0.5, abs=0.01), pytest.approx((760 - 470) / 720, abs=0.01)]]


def test_a_stroke_across_the_middle_is_one_line_and_not_symmetrical(page: Any, bare: str) -> None:
    opened(page, bare)
    page.evaluate("() => window.editor.drawing.begin('line')")
    at = """(at) => { const e = window.editor, p = e.panes[0], r = p.sheet.getBoundingClientRect();
               const { k, dx, dy } = e.port.place(p);
               return at.map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]); }"""
    stroke = [(496 - 9.75 * i, 500 + (20 - abs(20 - i)) * 2) for i in range(41)]  # a V with its point at the middle
    places = page.evaluate(at, stroke)
    page.mouse.move(*places[0])
    page.mouse.down()
    for x, y in places[1:]:
        page.mouse.move(x, y)
        page.evaluate("() => new Promise((done) => requestAnimationFrame(done))")
    way = "() => document.querySelector('.sheet path.stroke')?.getBBox().width"
    k = page.evaluate("() => window.editor.port.place(window.editor.panes[0]).k")
    assert page.evaluate(way) == pytest.approx(390 * k, abs=10 * k), "what is drawn is seen under the hand"
    page.mouse.up()
    ((_, sent),) = told(page)
    assert (sent["do"], sent["symmetric"]) == ("draw", False)
    assert {sent["start"]["side"], sent["end"]["side"]} == {"left", "right"}
    assert sent["start"]["edge"] == sent["end"]["edge"] == "side"
    ((u, v),) = sent["through"]  # of the 41 places the line keeps the point of the V
    assert u == pytest.approx(0, abs=0.03)
    assert v == pytest.approx((760 - 540) / 720, abs=0.01)
    # Pressed place by place over the middle, and ended by Enter where the middle is the nearest edge: the same.
    page.evaluate("() => { window.told.length = 0; window.editor.drawing.begin('line'); }")
    for x, y in page.evaluate(at, [(496, 500), (400, 520), (250, 500)]):
        page.mouse.click(x, y)
    page.keyboard.press("Enter")
    ((_, sent),) = told(page)
    assert sent["symmetric"] is False
    assert (sent["end"]["edge"], sent["end"]["side"]) != ("centre-front", None)


def test_a_dragged_end_falls_into_landmarks_and_level(page: Any, bare: str) -> None:
    opened(page, bare)
    k = scale(page)
    drag(page, "dot:front:line-1:start", 0, -97 * k, release=False)  # to 3 mm below the underarm
    assert page.inner_text(".measure").endswith("at the underarm")
    page.mouse.up()
    assert told(page)[0][1]["changes"][0]["start"]["distance_mm"] == 0
    # The middle is at y = 100 + 300 = 400, which is 160 mm below the underarm at y = 240.
    drag(page, "dot:front:line-1:start", 0, 157 * k, release=False)
    assert page.inner_text(".measure").endswith("level")
    page.mouse.up()
    assert told(page)[1][1]["changes"][0]["start"]["distance_mm"] == pytest.approx(160, abs=0.01)
    drag(page, "dot:front:line-1:start", 0, -60 * k)
    drag(page, "dot:front:line-1:start", 0, 58 * k, alt=True)
    assert told(page)[3][1]["changes"][0]["start"]["distance_mm"] == pytest.approx(158, abs=1), "with Alt nothing pulls"


def on_the_sides(page: Any, right: int, left: int) -> None:
    """Let line 3 run from side seam to side seam, at distances below the underarm."""
    page.evaluate(
        """([right, left]) => {
          const end = (side, mm) => ({ edge: "side", landmark: "underarm", distance_mm: mm, side, text: "" });
          Object.assign(window.editor.line("line-3"), { start: end("right", right), end: end("left", left) });
          window.editor.draw();
        }""",
        [right, left],
    )


def test_a_straight_line_falls_square_to_an_edge(page: Any, bare: str) -> None:
    opened(page, bare)
    on_the_sides(page, 200, 240)
    drag(page, "dot:front:line-3:end", 0, -37 * scale(page), release=False)  # to 3 mm above where it is square
    assert page.inner_text(".measure").rsplit("· ", 1)[1] in ("level", "square to the side seam")
    page.mouse.up()
    assert told(page)[0][1]["changes"][0]["end"]["distance_mm"] == pytest.approx(200, abs=0.01)


def test_drawing_by_hand_says_where_to_start_and_takes_points_back(page: Any, bare: str) -> None:
    opened(page, bare)
    page.evaluate(
        "() => { window.said = []; document.addEventListener('drawing-hint', (e) => window.said.push(e.detail.text));"
        " window.editor.drawing.begin('line'); }"
    )
    at = page.evaluate(
        """() => {
           const e = window.editor, p = e.panes[0], r = p.sheet.getBoundingClientRect();
           const { k, dx, dy } = e.port.place(p);
           const points = [[400, 480], [497, 500], [400, 470], [301, 520]];
           return points.map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]); }"""
    )
    page.mouse.click(*at[0])
    said = page.evaluate("() => window.said.at(-1)")
    assert "starts on an edge" in said
    assert page.evaluate("() => window.editor.drawing.mode") == "line", "it goes on"
    page.mouse.click(*at[1])
    assert "Esc stops" in page.evaluate("() => window.said.at(-1)")
    page.mouse.click(*at[2])
    page.focus("[data-key='panel:front:front-1']")
    page.keyboard.press("Backspace")
    assert page.evaluate("() => window.editor.drawing.points.length") == 1
    page.mouse.click(*at[2])
    page.mouse.move(*at[3])
    assert page.locator(".snap").count() == 1
    page.mouse.click(*at[3])
    ((_, sent),) = told(page)
    assert sent["through"] == [[pytest.approx(0.5, abs=0.01), pytest.approx((760 - 470) / 720, abs=0.01)]]


def test_a_drawn_line_that_cannot_lie_there_stays_in_hand_and_escape_stops_from_anywhere(page: Any, bare: str) -> None:
    opened(page, bare)
    page.evaluate("() => window.editor.drawing.begin('line')")
    at = page.evaluate(
        """() => {
           const e = window.editor, p = e.panes[0], r = p.sheet.getBoundingClientRect();
           const { k, dx, dy } = e.port.place(p);
           return [[497, 500], [560, 480], [301, 520]].map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]); }"""
    )
    for x, y in at:
        page.mouse.click(x, y)
    ((_, sent),) = told(page)
    page.evaluate(
        "() => window.send({ ...structuredClone(window.editor.scene), said: { place: 'lines', kind: 'error',"
        " text: 'The line leaves the garment here.', view: 'front', point: [500, 498] } })"
    )
    assert page.evaluate("() => window.editor.drawing.mode") == "line"
    assert page.locator(".sketch path").get_attribute("d").count("L") == 2, "start, the point outside, and the end"
    assert page.locator(".mark-note").is_visible()
    page.focus("#before")
    page.keyboard.press("Escape")
    assert page.evaluate("() => window.editor.drawing.mode") is None
    assert page.locator(".mark-note").is_hidden()
    assert page.locator(".sketch path").count() == 0
    assert sent["through"] == [[pytest.approx(1.3, abs=0.01), pytest.approx(280 / 720, abs=0.01)]]


def test_from_the_middle_to_the_middle_is_a_closed_shape(page: Any, bare: str) -> None:
    opened(page, bare)
    page.evaluate("() => window.editor.drawing.begin('line')")
    at = page.evaluate(
        """() => {
           const e = window.editor, p = e.panes[0], r = p.sheet.getBoundingClientRect();
           const { k, dx, dy } = e.port.place(p);
           return [[300, 300], [220, 360], [300, 450]].map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]); }"""
    )
    for x, y in at:
        page.mouse.click(x, y)
    ((_, sent),) = told(page)
    assert sent["symmetric"] is True
    assert (sent["start"]["edge"], sent["end"]["edge"]) == ("centre-front", "centre-front")
    assert sent["through"][0][0] == pytest.approx(0.4, abs=0.01), "the drawn half is the wearer's left"
