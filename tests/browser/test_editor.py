"""The line editor on a bare page: pointer, keyboard and touch move points, ends and whole lines."""

from __future__ import annotations

from typing import Any

import pytest
from bare_page import drag, opened, place, scale, told

pytestmark = pytest.mark.browser


def test_an_end_slides_along_its_edge_and_its_partner_follows(page: Any, bare: str) -> None:
    opened(page, bare)
    k = scale(page)
    drag(page, "dot:front:line-1:start", 35, 40 * k)
    (name, sent), *more = told(page)
    assert name == "commit"
    assert not more
    change, partner = sent["changes"]
    assert change["id"] == "line-1"
    assert change["start"] == {
        "edge": "side",
        "landmark": "underarm",
        "distance_mm": pytest.approx(140, abs=1),
        "side": None,
        "text": "",
    }
    assert change["start"]["distance_mm"] == round(change["start"]["distance_mm"]), "drags snap to whole mm"
    assert partner["id"] == "line-2"
    assert partner["start"]["distance_mm"] == change["start"]["distance_mm"]
    assert set(change) >= {"id", "start", "end", "through"}
    # On the screen too: the partner's end in the back picture is level with the front's.
    front, back = place(page, "dot:front:line-1:start"), place(page, "dot:back:line-2:start")
    assert front[1] == pytest.approx(back[1], abs=0.6)


def test_the_points_between_go_along_with_a_dragged_end(page: Any, bare: str) -> None:
    opened(page, bare)
    k = scale(page)
    before = page.evaluate("() => structuredClone(window.editor.line('line-1').through)")
    drag(page, "dot:front:line-1:start", 0, 40 * k)
    drag(page, "dot:front:line-1:end", 0, 40 * k)
    after = told(page)[1][1]["changes"][0]["through"]
    size = page.evaluate(
        "() => { const v = window.editor.panes[0].view; return (v.body.bottom - v.body.top) * v.mm_per_px; }"
    )
    for (_, old), (_, new) in zip(before, after, strict=True):
        assert (old - new) * size == pytest.approx(40, abs=1.5), "both ends went down by 40 mm, and so did the points"


def test_a_symmetrical_line_is_mirrored_while_it_is_dragged(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:0", -20, 60, release=False)
    twin = page.evaluate(
        """() => {
          const path = document.querySelector('.lines [data-line=line-1] .thread');
          const n = path.getTotalLength();
          return [0, 0.2, 0.35, 0.5].map((s) => {
            const a = path.getPointAtLength(n * s), b = path.getPointAtLength(n * (1 - s));
            return [a.x + b.x - 600, a.y - b.y];
          });
        }"""
    )
    for x, y in twin:
        assert x == pytest.approx(0, abs=0.5)
        assert y == pytest.approx(0, abs=0.5)
    page.mouse.up()


def test_the_measure_says_where_the_end_is_in_the_persons_unit(page: Any, bare: str) -> None:
    opened(page, bare, "?unit=in")
    drag(page, "dot:front:line-1:start", 0, -10 * scale(page), release=False)
    text = page.inner_text(".measure")
    box = page.locator(".measure").bounding_box()
    covered = page.evaluate(
        """({ x, y, width, height }) => {
           const path = document.querySelector("[data-line='line-1'] .thread");
           const m = path.getScreenCTM(), n = path.getTotalLength();
           return [...Array(200).keys()].map((i) => path.getPointAtLength((n * i) / 199).matrixTransform(m))
             .some((p) => p.x > x && p.x < x + width && p.y > y && p.y < y + height); }""",
        box,
    )
    page.mouse.up()
    assert not covered, "it lies beside the line, not over it"
    assert text.startswith("side seam, 3 ")
    assert text.endswith("in below the underarm")
    mm = told(page)[0][1]["changes"][0]["start"]["distance_mm"]
    assert (mm / 25.4 * 8) == pytest.approx(round(mm / 25.4 * 8), abs=0.001), "drags in inches snap to eighths"


def test_a_dragged_twin_moves_the_line_from_the_other_side(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:twin", 0, 50 * scale(page))
    assert told(page)[0][1]["changes"][0]["start"]["distance_mm"] == pytest.approx(150, abs=1)


def test_the_end_on_the_middle_stays_on_it(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:end", 70, 30 * scale(page))
    end = told(page)[0][1]["changes"][0]["end"]
    assert end["edge"] == "centre-front"
    assert end["distance_mm"] == pytest.approx(330, abs=1)


def test_a_whole_line_moves(page: Any, bare: str) -> None:
    opened(page, bare)
    x, y = page.evaluate(
        """() => { const p = document.querySelector('.lines [data-line=line-3] .grab'), s = p.getScreenCTM();
           const q = p.getPointAtLength(p.getTotalLength() * 0.8).matrixTransform(s); return [q.x, q.y]; }"""
    )
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 10)
    page.mouse.move(x, y + 30 * scale(page))
    page.mouse.up()
    change = told(page)[0][1]["changes"][0]
    assert change["id"] == "line-3"
    assert change["start"]["edge"] == "armhole"
    assert change["end"] == {
        "edge": "side",
        "landmark": "hem",
        "distance_mm": pytest.approx(30, abs=1),
        "side": "left",
        "text": "",
    }


def test_arrow_keys_move_a_point_by_1_and_10_mm(page: Any, bare: str) -> None:
    opened(page, bare)
    page.focus("[data-key='dot:front:line-1:start']")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Shift+ArrowDown")
    page.wait_for_function("() => window.told.length === 1")
    change = told(page)[0][1]["changes"][0]
    assert change["start"]["distance_mm"] == 111
    ((_, height),) = change["through"]  # it went along with the end
    page.focus("[data-key='dot:front:line-1:0']")
    page.keyboard.press("Shift+ArrowRight")
    page.wait_for_function("() => window.told.length === 2")
    ((u, v),) = told(page)[1][1]["changes"][0]["through"]
    assert u == pytest.approx(0.5 + 10 / 200, abs=2e-3)  # half a width is 200 mm
    assert v == pytest.approx(height)


def test_tab_walks_panels_lines_and_points_in_order(page: Any, bare: str) -> None:
    opened(page, bare)
    page.focus("#before")
    seen = []
    for _ in range(9):
        page.keyboard.press("Tab")
        seen.append(page.evaluate("() => document.activeElement.dataset.key || document.activeElement.textContent"))
    assert seen[:8] == [
        "picture:front", "panel:front:front-1", "panel:front:front-2", "line:front:line-1", "line:front:line-3",
        "dot:front:line-1:start", "dot:front:line-1:0", "dot:front:line-1:end",
    ]  # fmt: skip
    assert page.evaluate("() => getComputedStyle(document.activeElement.querySelector('.ring')).strokeWidth") == "4px"


def test_delete_removes_a_point_then_the_line(page: Any, bare: str) -> None:
    opened(page, bare)
    page.focus("[data-key='line:front:line-1']")  # a line's inner points show once it is chosen
    page.focus("[data-key='dot:front:line-1:0']")
    page.keyboard.press("Delete")
    assert told(page)[0][1]["changes"][0]["through"] == []
    page.focus("[data-key='line:front:line-1']")
    page.keyboard.press("Delete")
    assert told(page)[1] == ["act", {"do": "remove", "line": "line-1"}]


def test_plus_puts_a_point_into_a_line(page: Any, bare: str) -> None:
    opened(page, bare)
    page.focus("[data-key='line:front:line-3']")
    page.keyboard.press("+")
    change = told(page)[0][1]["changes"][0]
    assert (change["id"], change["kind"], len(change["through"])) == ("line-3", "curve", 1)
    page.focus("[data-key='line:front:line-1']")
    page.keyboard.press("Insert")
    change = told(page)[1][1]["changes"][0]
    assert len(change["through"]) == 2
    assert all(u > 0 for u, _ in change["through"]), "on the drawn half of a mirrored line"


def test_a_pressed_panel_gets_the_cloth_in_hand(page: Any, bare: str) -> None:
    opened(page, bare)
    x, y = page.evaluate(
        """() => {
          const r = document.querySelector('[data-for=front-2] circle').getBoundingClientRect();
          return [r.x + 40, r.y + 40];
        }"""
    )
    page.mouse.click(x, y)
    assert told(page) == []
    page.evaluate("() => { window.editor.cloth = 'felt'; }")
    page.mouse.click(x, y)
    page.focus("[data-key='panel:front:front-1']")
    page.keyboard.press("Enter")
    assert told(page) == [
        ["act", {"do": "assign", "panel": "front-2", "cloth": "felt"}],
        ["act", {"do": "assign", "panel": "front-1", "cloth": "felt"}],
    ]


def test_escape_puts_a_dragged_line_back(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:start", 0, 80, release=False)
    page.keyboard.press("Escape")
    page.mouse.up()
    assert told(page) == []
    assert page.evaluate("() => window.editor.line('line-1').start.distance_mm") == 100


def test_touch_drags_a_point(browser: Any, bare: str) -> None:
    context = browser.new_context(viewport={"width": 1100, "height": 700}, has_touch=True)
    page = opened(context.new_page(), bare)
    x, y = place(page, "dot:front:line-1:start")
    session = context.new_cdp_session(page)
    for kind, points in [
        ("touchStart", [{"x": x, "y": y}]),
        ("touchMove", [{"x": x, "y": y + 12}]),
        ("touchMove", [{"x": x, "y": y + 40}]),
        ("touchEnd", []),
    ]:
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    page.wait_for_function("() => window.told.length === 1")
    assert told(page)[0][1]["changes"][0]["start"]["distance_mm"] > 130
    context.close()


def test_a_closed_shape_is_pressed_round_and_closed_on_its_first_place(page: Any, bare: str) -> None:
    opened(page, bare)
    page.evaluate("() => window.editor.drawing.begin('shape')")
    k = scale(page)
    corner = page.evaluate(
        "() => { const p = window.editor.panes[0], r = p.sheet.getBoundingClientRect();"
        " const q = window.editor.port.place(p); return [r.x + q.dx, r.y + q.dy]; }"
    )

    def press(x: float, y: float) -> None:
        page.mouse.click(corner[0] + x * k, corner[1] + y * k)

    for x, y in ((380, 400), (440, 400), (440, 470)):
        press(x, y)
    assert told(page) == []
    ring = page.evaluate(
        "() => { const r = document.querySelector('.snap').getBoundingClientRect();"
        " return [r.x + r.width / 2, r.y + r.height / 2]; }"
    )
    first = (corner[0] + 380 * k, corner[1] + 400 * k)
    assert ring == pytest.approx(first, abs=1.5), "a ring shows which place closes it"
    press(380, 400)
    ((name, sent),) = told(page)
    assert (name, sent["do"], sent["side"], sent["symmetric"]) == ("act", "draw", "front", False)
    assert (sent["start"]["edge"], sent["end"]["edge"]) == ("free", "free")
    # Half the bare body is 200 px wide and it is 720 px high: shares are counted from its middle and its hem.
    assert sent["through"][0] == [pytest.approx(80 / 200, abs=0.01), pytest.approx((760 - 400) / 720, abs=0.01)]
    assert len(sent["through"]) == 3
    assert sent["kind"] == "polyline", "corners were pressed and shown, so there are corners"
    assert page.evaluate("() => window.editor.drawing.mode") is None
    with_shapes(page, 1)
    assert page.evaluate("() => window.editor.selected.line") == "sun-1", "what is asked of a new shape lies open"


def with_shapes(page: Any, many: int = 2) -> None:
    """Closed shapes on the front; two are mirror images."""
    page.evaluate(
        """(many) => {
          const end = { edge: 'free', landmark: '', distance_mm: 0, side: null, text: '' };
          const shape = (id, s) => ({ id, name: `sun ${id}`, side: 'front', kind: 'curve', symmetric: false,
            kinked: false, carries: '', free: true, encloses: true, start: end, end,
            through: [[0.3 * s, 0.5], [0.6 * s, 0.5], [0.6 * s, 0.6], [0.3 * s, 0.6]] });
          const scene = window.props.value;
          window.send({ ...scene, revision: 2,
            lines: [...scene.lines, ...[shape('sun-1', 1), shape('sun-2', -1)].slice(0, many)] });
        }""",
        many,
    )
    page.wait_for_function("() => document.querySelector('.editor').dataset.ready === '2'")


def test_a_closed_shape_is_dragged_whole_and_its_mirror_image_with_it(page: Any, bare: str) -> None:
    opened(page, bare)
    with_shapes(page)
    d = page.get_attribute("[data-key='line:front:sun-1']", "d")
    assert d.startswith("M")
    assert d.count("C") == 4, "four points, and back to the first"
    k = scale(page)
    x, y = page.evaluate(
        "() => { const l = document.querySelector(`[data-key='line:front:sun-1']`), p = l.getPointAtLength(0);"
        " const q = p.matrixTransform(l.getScreenCTM()); return [q.x, q.y]; }"
    )
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10 * k, y + 15 * k)
    page.mouse.move(x + 20 * k, y + 30 * k)
    page.wait_for_function("() => !document.querySelector('.measure').hidden")
    words = page.inner_text(".measure")
    page.mouse.up()
    assert "from the middle" in words
    assert " × " in words
    ((name, sent),) = told(page)
    assert name == "commit"
    one, other = sent["changes"]
    assert (one["id"], other["id"]) == ("sun-1", "sun-2")
    assert one["through"][0] == [pytest.approx(0.3 + 20 / 200, abs=0.01), pytest.approx(0.5 - 30 / 720, abs=0.01)]
    assert other["through"] == [[-u, v] for u, v in one["through"]]
    assert not page.query_selector("[data-key='dot:front:sun-1:start']"), "it has no ends"


def test_a_closed_shape_by_keyboard_keeps_three_points(page: Any, bare: str) -> None:
    opened(page, bare)
    with_shapes(page)
    page.focus("[data-key='line:front:sun-1']")
    page.keyboard.press("+")
    assert page.evaluate("() => window.editor.line('sun-1').through.length") == 5
    for left in (4, 3, 3):
        page.focus("[data-key='dot:front:sun-1:0']")
        page.keyboard.press("Delete")
        assert page.evaluate("() => window.editor.line('sun-1').through.length") == left
    page.focus("[data-key='line:front:sun-2']")
    before = page.evaluate("() => window.editor.line('sun-2').through[1][0]")
    page.keyboard.press("Shift+ArrowRight")
    assert page.evaluate("() => window.editor.line('sun-2').through[1][0]") == pytest.approx(before + 10 / 200)
