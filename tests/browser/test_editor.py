"""The line editor on a bare page: pointer, keyboard, touch, what it tells and what it takes."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser


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
    page.mouse.up()
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


def test_escape_puts_a_dragged_line_back(page: Any, bare: str) -> None:
    opened(page, bare)
    drag(page, "dot:front:line-1:start", 0, 80, release=False)
    page.keyboard.press("Escape")
    page.mouse.up()
    assert told(page) == []
    assert page.evaluate("() => window.editor.line('line-1').start.distance_mm") == 100


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
    asked = {key: mark[key] for key in ("line", "code", "end")}
    assert told(page)[-1] == ["act", {"do": "ways", **asked}]
    page.evaluate(
        "(asked) => window.editor.marks.offer({ ...asked, ways: [{ way: 'below', label: 'Move it there' }] })", asked
    )
    note.get_by_role("button", name="Move it there").click()
    assert told(page)[-1] == ["act", {"do": "mend", "line": "line-1", "code": "bulk", "end": "start", "way": "below"}]
    page.keyboard.press("Escape")
    assert note.is_hidden()
    page.focus(".flag.mark")
    page.keyboard.press("Enter")
    assert note.is_visible()
    page.evaluate("() => window.send({ ...structuredClone(window.editor.scene), revision: 3, marks: [] })")
    assert note.is_hidden()


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
    press(380, 400)
    ((name, sent),) = told(page)
    assert (name, sent["do"], sent["side"], sent["symmetric"]) == ("act", "draw", "front", False)
    assert (sent["start"]["edge"], sent["end"]["edge"]) == ("free", "free")
    # Half the bare body is 200 px wide and it is 720 px high: shares are counted from its middle and its hem.
    assert sent["through"][0] == [pytest.approx(80 / 200, abs=0.01), pytest.approx((760 - 400) / 720, abs=0.01)]
    assert len(sent["through"]) == 3
    assert page.evaluate("() => window.editor.drawing.mode") is None


def with_shapes(page: Any) -> None:
    """Two closed shapes that are mirror images, on the front."""
    page.evaluate(
        """() => {
          const end = { edge: 'free', landmark: '', distance_mm: 0, side: null, text: '' };
          const shape = (id, s) => ({ id, name: `sun ${id}`, side: 'front', kind: 'curve', symmetric: false,
            kinked: false, carries: '', free: true, encloses: true, start: end, end,
            through: [[0.3 * s, 0.5], [0.6 * s, 0.5], [0.6 * s, 0.6], [0.3 * s, 0.6]] });
          const scene = window.props.value;
          window.send({ ...scene, revision: 2, lines: [...scene.lines, shape('sun-1', 1), shape('sun-2', -1)] });
        }"""
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
