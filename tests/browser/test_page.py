"""The page in a real browser: first minutes, the whole walk, reloads and restarts, the keyboard, no way out."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PIL import Image, ImageDraw
from serving import served

from mockup.files.split_file import read_split
from mockup.samples import choir
from swatches.photo import read_photo
from ui.app import build_app

pytestmark = pytest.mark.browser


def opened(page: Any, address: str) -> Any:
    page.goto(address)
    page.wait_for_selector("#table [data-scene]")
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
    page.wait_for_selector(".panel")
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
    return tuple(int(v) for v in read_photo(page.screenshot()).rgb8[int(y), int(x)])


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


def test_the_example_in_one_click_a_dragged_line_and_a_cloth(page: Any, app: str) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    with_choir(page, app)
    assert page.locator(".choices .letter").all_inner_texts() == ["A", "B", "C", "D"]
    assert page.locator(".cloth[data-cloth]").count() == 9  # eight cloths, and none

    before, line = revision(page), next(x for x in scene(page)["lines"] if x["id"] == "line-2")
    drag(page, "dot:front:line-2:start", 0, -30)
    after(page, before)
    painted(page)
    now = {x["id"]: x for x in scene(page)["lines"]}
    assert now["line-2"]["start"]["distance_mm"] > line["start"]["distance_mm"] + 10
    assert now["line-4"]["start"]["distance_mm"] == now["line-2"]["start"]["distance_mm"], (
        "the back follows at the seam"
    )

    page.locator("[data-cloth=stars]").click()
    before = revision(page)
    x, y = middle(page, ".view:first-child [data-for=front-2] circle", dy=26)
    page.mouse.click(x, y)
    after(page, before)
    painted(page)
    panel = next(p for p in scene(page)["views"][0]["panels"] if p["id"] == "front-2")
    assert panel["cloth"] == "stars"
    assert page.locator("[data-cloth=stars] .use").inner_text() == "in hand"
    assert asked
    assert not [url for url in asked if not url.startswith((app, "data:", "blob:"))], "no call leaves this computer"


def test_an_own_drawing_and_a_colour_make_a_painted_garment(page: Any, app: str, tmp_path: Path) -> None:
    opened(page, app)
    assert page.get_by_role("heading", name="Lay a picture of your garment here").is_visible()
    page.set_input_files("input[data-testid='Front picture-upload-button']", own_drawing(tmp_path))
    page.wait_for_selector(".panel")
    painted(page)
    # No question about scale, points or the cloth's data stands in the way: the next open question is the cloth.
    assert page.get_by_role("button", name="Which cloth?").get_attribute("aria-expanded") == "true"
    x, y = middle(page, ".view:first-child [data-for=front-1] circle", dy=40)
    paper = colour_at(page, x, y)
    page.locator("#colour-name textarea, #colour-name input").first.fill("brick red")
    before = revision(page)
    page.locator("#add-colour").click()
    after(page, before)
    painted(page)
    red = colour_at(page, x, y)
    assert min(paper) > 225, "paper before"
    assert red[0] > red[1] + 40, "cloth after"
    assert page.locator("[data-said=cloth]").inner_text().startswith("The whole garment is brick red now")
    assert page.locator("[data-cloth=brick-red]").get_attribute("aria-pressed") == "true"

    page.set_input_files("input[data-testid='Back picture-upload-button']", own_drawing(tmp_path))
    page.wait_for_selector(".view:nth-child(2) .panel")
    ask(page, "Where do the lines run?")
    before = revision(page)
    page.locator("#add-line").click()
    after(page, before)
    assert page.locator(".thread").count() == 2
    said = page.locator("[data-said=lines]").inner_text()
    assert said.startswith("Yoke added: 2 seams"), "a new line says what it costs"
    # A second line by hand, from the side seam over a place between to the middle: it is mirrored.
    page.get_by_role("button", name="Draw by hand").click()
    places = page.evaluate(
        """() => {
          const e = window.garmentTable.editor, pane = e.panes[0], r = pane.sheet.getBoundingClientRect();
          const { k, dx, dy } = e.port.place(pane);
          return [[550, 600], [450, 585], [350, 620]].map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]);
        }"""
    )
    before = revision(page)
    for x, y in places:
        page.mouse.click(x, y)
    after(page, before)
    drawn = scene(page)["lines"][-1]
    assert drawn["symmetric"], "it ends on the middle"
    page.locator(f"[data-card={drawn['id']}]").click()
    before = revision(page)
    page.get_by_role("button", name="Carry it to the back").click()
    after(page, before)
    assert [x["side"] for x in scene(page)["lines"]] == ["front", "back", "front", "back"]
    # Undo to the start, and all of it again.
    steps = 6
    for _ in range(steps):
        before = revision(page)
        page.get_by_role("button", name="Undo", exact=True).click()
        after(page, before)
    assert page.get_by_role("heading", name="Lay a picture of your garment here").is_visible()
    for _ in range(steps):
        before = revision(page)
        page.get_by_role("button", name="Redo", exact=True).click()
        after(page, before)
    assert page.locator(".thread").count() == 4
    assert scene(page)["cloths"][0]["name"] == "brick red"


def test_a_bad_picture_is_one_sentence_beside_the_question(page: Any, app: str, tmp_path: Path) -> None:
    opened(page, app)
    bad = tmp_path / "notes.png"
    bad.write_bytes(b"this is no picture")
    page.set_input_files("input[data-testid='Front picture-upload-button']", bad)
    page.wait_for_selector("[data-said=garment].error:not(:empty)")
    text = page.locator("[data-said=garment]").inner_text()
    assert text.count("\n") == 0
    assert 20 < len(text) < 400
    assert page.locator(".busy").is_hidden()
    assert page.get_by_role("heading", name="Lay a picture of your garment here").is_visible()


def test_work_survives_reload_restart_and_a_second_window(browser: Any, page: Any, data: Path) -> None:
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    with served(build_app(data)) as address:
        with_choir(page, address)
        before = revision(page)
        drag(page, "dot:front:line-2:start", 0, -24)
        after(page, before)
        moved = next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"]
        word = re.search(r"p=([\w-]+)", page.url)
        assert word
        page.reload()
        page.wait_for_selector(".panel")
        assert next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"] == moved
        # A second window on the same garment, not told of what happens in the first, changes something else.
        other = context.new_page()
        other.goto(page.url)
        other.wait_for_selector(".panel")
        ask(page, "Where do the lines run?")
        before = revision(page)
        drag(page, "dot:front:line-1:end", 0, 20)
        after(page, before)
        yoke = next(x for x in scene(page)["lines"] if x["id"] == "line-1")["end"]["distance_mm"]
        before = revision(other)
        ask(other, "Where do the lines run?")
        drag(other, "dot:front:line-2:start", 0, 24)
        after(other, before)
        assert next(x for x in scene(other)["lines"] if x["id"] == "line-1")["end"]["distance_mm"] == yoke
        band = next(x for x in scene(other)["lines"] if x["id"] == "line-2")["start"]["distance_mm"]
    with served(build_app(data)) as address:
        page.goto(f"{address}/?p={word[1]}")
        page.wait_for_selector(".panel")
        lines = {x["id"]: x for x in scene(page)["lines"]}
        assert lines["line-1"]["end"]["distance_mm"] == yoke
        assert lines["line-2"]["start"]["distance_mm"] == band
        # A new visit is another person's: it begins with nothing.
        other = context.new_page()
        opened(other, address)
        assert scene(other)["views"] == []
        # Garments of before are found again, and one that is deleted comes back.
        count = other.locator(".earlier li").count()
        assert count >= 1
        other.get_by_role("button", name=re.compile("^Delete")).first.click()
        other.wait_for_selector(".earlier .gone")
        other.get_by_role("button", name=re.compile("^Bring")).click()
        other.wait_for_selector(".earlier .gone", state="detached")
        assert other.locator(".earlier li").count() == count
        other.get_by_role("link", name=re.compile("^Open Winter concert tunic")).first.click()
        other.wait_for_selector(".panel")
    context.close()


def test_typed_distances_in_any_unit(page: Any, app: str) -> None:
    with_choir(page, app)
    ask(page, "Where do the lines run?")
    page.locator("[data-card=line-2]").click()
    field = page.locator("[data-field='line-2:start']")
    before = revision(page)
    field.fill("5 1/2 in")
    field.press("Enter")
    after(page, before)
    start = next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]
    assert start["distance_mm"] == pytest.approx(139.7)  # 5.5 × 25.4
    assert page.locator("[data-field='line-2:start']").input_value() == "5 1/2 in"
    page.locator("[data-unit]").select_option("in")
    page.wait_for_function("() => document.querySelector('#line-a textarea, #line-a input').value === '4 3/4 in'")
    before = revision(page)
    page.locator("[data-field='line-2:start']").fill("5")
    page.locator("[data-field='line-2:start']").press("Enter")
    after(page, before)
    start = next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]
    assert start["distance_mm"] == pytest.approx(127.0), "a bare number is in the chosen unit: 5 × 25.4"
    page.locator("[data-unit]").select_option("mm")
    page.wait_for_function("() => document.querySelector('#line-a textarea, #line-a input').value === '120 mm'")
    page.locator("[data-field='line-2:start']").fill("about a hand")
    page.locator("[data-field='line-2:start']").press("Enter")
    page.wait_for_selector("[data-said=lines].error")
    assert "5/8" in page.locator("[data-said=lines]").inner_text(), "the sentence says how to type it"


def test_choices_are_switched_and_begun(page: Any, app: str) -> None:
    with_choir(page, app)
    first = page.locator(".view:first-child .picture").get_attribute("src")
    page.get_by_role("button", name="Choice B, Mulled").click()
    page.wait_for_function("(first) => document.querySelector('.picture').dataset.src !== first", arg=first)
    painted(page)
    assert scene(page)["choice"] == "B"
    assert page.get_by_role("button", name="Choice B, Mulled").get_attribute("aria-pressed") == "true"
    usual = page.locator(".view:first-child .picture").get_attribute("data-src")
    page.get_by_label("My colour vision").select_option("deutan")
    page.wait_for_selector(".seen-as:not([hidden])")
    assert "as viewers blind to green see it" in page.locator(".seen-as").inner_text()
    painted(page)
    assert page.locator(".view:first-child .picture").get_attribute("data-src") != usual
    page.get_by_role("button", name="Show usual colours").click()
    page.wait_for_selector(".seen-as", state="hidden")
    assert page.locator(".view:first-child .picture").get_attribute("data-src") == usual


def test_slow_work_can_be_stopped(page: Any, app: str) -> None:
    with_choir(page, app)
    ask(page, "Print and cut")
    page.locator("#make-pieces").click()
    page.wait_for_selector(".busy:not([hidden])")
    page.locator(".busy").get_by_role("button", name="Stop").click()
    page.wait_for_selector(".busy", state="hidden")
    assert page.locator("[data-said=print]").inner_text() == "Stopped, as you asked. Nothing was changed."
    assert page.locator(".made li").count() == 0


def test_the_walk_by_keyboard_alone(page: Any, app: str) -> None:
    opened(page, app)

    def tab_to(selector: str, most: int = 80) -> None:
        for _ in range(most):
            if page.evaluate("(s) => document.activeElement.matches(s)", selector):
                return
            page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not reach {selector}")

    tab_to("#open-demo")
    page.keyboard.press("Enter")
    page.wait_for_selector(".panel")
    painted(page)
    tab_to("[data-key='line:front:line-2']")
    before = revision(page)
    page.keyboard.press("Shift+ArrowUp")
    after(page, before)
    assert next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"] == choir.BAND_MM + 10
    tab_to("[data-cloth=stars]")
    page.keyboard.press("Enter")
    page.evaluate("() => document.querySelector('#word')?.blur?.()")
    for _ in range(120):
        if page.evaluate("() => document.activeElement.matches('[data-panel=front-2]')"):
            break
        page.keyboard.press("Shift+Tab")
    before = revision(page)
    page.keyboard.press("Enter")
    after(page, before)
    assert next(p for p in scene(page)["views"][0]["panels"] if p["id"] == "front-2")["cloth"] == "stars"
    before = revision(page)
    page.keyboard.press("Control+z")
    after(page, before)
    assert next(p for p in scene(page)["views"][0]["panels"] if p["id"] == "front-2")["cloth"] != "stars"
    tab_to("[data-question=print]", 200)
    page.keyboard.press("Enter")
    tab_to("#make-pieces", 200)
    page.keyboard.press("Enter")
    page.wait_for_selector(".made a")
    tab_to(".made a", 200)
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    assert download.value.suggested_filename == "pieces-a4.pdf"
    sheets = pypdfium2.PdfDocument(Path(download.value.path()).read_bytes())
    assert len(sheets) > 1
    width, height = sheets[0].get_size()
    assert (width, height) == (
        pytest.approx(210 / 25.4 * 72, abs=0.1),
        pytest.approx(297 / 25.4 * 72, abs=0.1),
    )  # ISO 216
    links = {a.get_attribute("download"): app + a.get_attribute("href") for a in page.locator(".made a").all()}
    prints = {f"pieces-{paper}.pdf" for paper in ("a4", "letter", "a0", "roll36", "projector")}
    assert set(links) == prints | {
        "handout.pdf", "pieces-svg.zip", "pieces.dxf", "cutting-list.csv", "split.json", "proof.json",
    }  # fmt: skip
    got = {name: page.request.get(links[name]).body() for name in ("pieces-svg.zip", "split.json", "proof.json")}
    assert len(zipfile.ZipFile(io.BytesIO(got["pieces-svg.zip"])).namelist()) >= 8
    split = read_split(got["split.json"])
    cut_by = next(x for v in split.views for x in v.lines if x.id == "line-2")
    assert cut_by.start is not None
    shown = next(x for x in scene(page)["lines"] if x["id"] == "line-2")["start"]["distance_mm"]
    assert cut_by.start.distance_mm == shown, "what is drawn is what is cut"
    assert json.loads(got["proof.json"])["ok"] is True


def test_the_garment_is_in_view_and_the_largest_thing(page: Any, app: str) -> None:
    with_choir(page, app)
    for width, height, dark in [(w, h, d) for w, h in ((1366, 768), (1440, 900), (390, 844)) for d in (False, True)]:
        where = f"{width}×{height}, {'dark' if dark else 'light'}"
        page.set_viewport_size({"width": width, "height": height})
        if page.evaluate("() => document.body.classList.contains('dark')") is not dark:
            page.locator("[data-light]").click()
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
            page.locator(".q.open .q-body button:visible").last.scroll_into_view_if_needed()
            stage = page.locator(".stage").bounding_box()
            assert stage["y"] >= -1, f"{where}, {question}: the garment stays in view"
            assert stage["y"] + stage["height"] <= height + 1, f"{where}, {question}: the garment stays in view"
        if width > 860:
            leaflet, board = page.locator("#leaflet").bounding_box(), page.locator("#board").bounding_box()
            assert board["width"] * board["height"] > 2 * leaflet["width"] * leaflet["height"], where
        colours = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
        light = sum(int(v) for v in re.findall(r"\d+", colours)[:3])
        assert (light < 200) if dark else (light > 600), where
    family = page.evaluate("() => getComputedStyle(document.querySelector('.gradio-container')).fontFamily")
    assert "Alegreya Sans" in family


def test_no_serious_fault_of_contrast_or_labels(page: Any, app: str) -> None:
    # axe-core (Deque Systems), the published rules of WCAG 2.2 A and AA and good practice.
    rules = (Path(__file__).parent / "axe" / "axe.min.js").read_text("utf-8")
    with_choir(page, app)
    page.add_script_tag(content=rules)
    ask(page, "Where do the lines run?")
    page.locator("[data-card=line-1]").click()
    # Every question open at once, so that one look sees them all.
    page.evaluate("() => { for (const q of document.querySelectorAll('.q')) q.classList.add('open'); }")
    found = []
    for dark in (False, True):
        if dark:
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


def test_a_photo_is_cut_out_by_drawing_round_it(page: Any, app: str) -> None:
    opened(page, app)
    page.get_by_role("button", name="A photo of the garment").click()
    page.set_input_files("input[data-testid='Add a photo-upload-button']", choir.FORM_PHOTO)
    page.wait_for_selector(".panel")
    painted(page)
    ask(page, "What garment?")
    assert "draw round the garment" in page.locator("[data-said=garment]").inner_text().lower()
    page.get_by_role("button", name="Draw round it").click()
    ring = page.evaluate(
        """(points) => {
          const pane = window.garmentTable.editor.panes[0], r = pane.sheet.getBoundingClientRect();
          const { k, dx, dy } = window.garmentTable.editor.port.place(pane);
          return points.map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]);
        }""",
        [list(p) for p in choir.FORM_AROUND],
    )
    before = revision(page)
    page.mouse.move(*ring[0])
    page.mouse.down()
    for x, y in [*ring[1:], ring[0]]:
        page.mouse.move(x, y, steps=4)
        page.evaluate("() => new Promise((done) => requestAnimationFrame(done))")
    page.mouse.up()
    after(page, before)
    assert page.locator("[data-said=garment]").inner_text().startswith("Something missing")
    ask(page, "Which cloth?")
    x, y = middle(page, ".view:first-child [data-for=front-1] circle", dy=30)
    cloth = colour_at(page, x, y)
    before = revision(page)
    page.locator("#add-colour").click()
    after(page, before)
    painted(page)
    red = colour_at(page, x, y)
    assert abs(cloth[0] - cloth[1]) < 40
    assert red[0] > red[1] + 40
    # The background keeps its colour, and the folds stay: light varies over the painted body.
    shot = read_photo(page.screenshot()).rgb8.astype(float)
    body = shot[int(y) - 20 : int(y) + 20, int(x) - 60 : int(x) + 60, 0]
    assert body.std() > 2


def test_the_tour_is_short_and_goes_when_told(page: Any, app: str) -> None:
    with_choir(page, app)
    tour = page.get_by_role("note", name="Short tour")
    assert tour.inner_text().startswith("1 of 3")
    tour.get_by_role("button", name="Next").click()
    assert tour.inner_text().startswith("2 of 3")
    tour.get_by_role("button", name="Enough").click()
    assert tour.is_hidden()
    page.reload()
    page.wait_for_selector(".panel")
    assert tour.is_hidden()
