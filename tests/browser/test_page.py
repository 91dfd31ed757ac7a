"""The page in a real browser: the first minutes, own pictures, cloth, choices, and stopping slow work."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from garment_page import after, ask, colour_at, drag, gone, middle, opened, own_drawing, painted, revision, scene, seen

from mockup.samples import choir
from swatches.photo import read_photo, write_png

pytestmark = pytest.mark.browser


def test_the_example_in_one_click_a_dragged_line_and_a_cloth(tunic_page: Any) -> None:
    page = tunic_page
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


def test_an_own_drawing_and_a_colour_make_a_painted_garment(page: Any, app: str, tmp_path: Path) -> None:
    opened(page, app)
    assert page.get_by_role("heading", name="Lay a picture of your garment here").is_visible()
    page.set_input_files("input[data-testid='Front picture-upload-button']", own_drawing(tmp_path))
    seen(page, ".panel")
    painted(page)
    # No question about scale, points or the cloth's data stands in the way: the next open question is the cloth.
    assert page.get_by_role("button", name="Which cloth?").get_attribute("aria-expanded") == "true"
    x, y = middle(page, ".view:first-child [data-for=front-1] circle", dy=40)
    paper, sheet = colour_at(page, x, y), page.locator(".sheet").bounding_box()
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

    assert page.locator(".sheet").bounding_box() == sheet, "the picture stays as large as it was"
    with page.expect_file_chooser() as asked:  # the place of the back is in sight, whichever question is open
        page.get_by_role("button", name="Add the back").click()
    asked.value.set_files(own_drawing(tmp_path))
    seen(page, ".view:nth-child(2) .panel")
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
    seen(page, f"[data-card={drawn['id']}][aria-expanded=true]")  # a line just drawn lies open
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
    seen(page, "[data-said=garment].error:not(:empty)")
    text = page.locator("[data-said=garment]").inner_text()
    assert text.count("\n") == 0
    assert 20 < len(text) < 400
    assert page.locator(".busy").is_hidden()
    assert page.get_by_role("heading", name="Lay a picture of your garment here").is_visible()


def test_typed_distances_in_any_unit(tunic_page: Any) -> None:
    page = tunic_page
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
    seen(page, "[data-said=lines].error")
    assert "5/8" in page.locator("[data-said=lines]").inner_text(), "the sentence says how to type it"
    assert "5/8" in page.locator(".card #refused").inner_text(), "beside the field too"
    assert page.locator("[data-field='line-2:start']").input_value() == "about a hand", "to be put right"
    page.locator("[data-field='line-2:start']").fill("127 mm")  # where it lies already
    page.locator("[data-field='line-2:start']").press("Enter")
    gone(page, "#refused")
    assert page.locator("[data-field='line-2:start']").get_attribute("aria-invalid") is None
    assert page.locator("[data-said=lines]").inner_text() == ""


def test_choices_are_switched_and_begun(tunic_page: Any) -> None:
    page = tunic_page
    first = page.locator(".view:first-child .picture").get_attribute("src")
    page.get_by_role("button", name="Choice B, Mulled").click()
    page.wait_for_function("(first) => document.querySelector('.picture').dataset.src !== first", arg=first)
    painted(page)
    assert scene(page)["choice"] == "B"
    assert page.get_by_role("button", name="Choice B, Mulled").get_attribute("aria-pressed") == "true"
    usual = page.locator(".view:first-child .picture").get_attribute("data-src")
    page.get_by_label("My colour vision").select_option("deutan")
    seen(page, ".seen-as:not([hidden])")
    assert "as viewers blind to green see it" in page.locator(".seen-as").inner_text()
    # The sentence and the picture come one after the other; either may be first.
    page.wait_for_function("(usual) => document.querySelector('.picture').dataset.src !== usual", arg=usual)
    painted(page)
    page.get_by_role("button", name="Show usual colours").click()
    gone(page, ".seen-as")
    page.wait_for_function("(usual) => document.querySelector('.picture').dataset.src === usual", arg=usual)


def test_slow_work_can_be_stopped(tunic_page: Any) -> None:
    page = tunic_page
    ask(page, "Print and cut")
    page.locator("#make-pieces").click()
    seen(page, ".busy:not([hidden])")
    page.locator(".busy").get_by_role("button", name="Stop").click()
    gone(page, ".busy")
    assert page.locator("[data-said=print]").inner_text() == "Stopped, as you asked. Nothing was changed."
    assert page.locator(".made li").count() == 0


def test_a_photo_is_cut_out_by_drawing_round_it(page: Any, app: str, tmp_path: Path) -> None:
    # Half as many pixels a side: how large it is, is not what is looked at.
    half = tmp_path / "form.png"
    whole = read_photo(choir.FORM_PHOTO).rgb8
    write_png(half, cv2.resize(whole, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))
    opened(page, app)
    page.set_input_files("input:has(+ #add-front)", half)  # where a drawing is asked for
    seen(page, ".panel")
    assert page.locator(".photo-ask").inner_text().startswith("This looks like a photo")
    assert page.get_attribute("[data-question=garment]", "aria-expanded") == "true", "its tools are there"
    painted(page)
    ask(page, "What garment?")
    assert "draw round" not in page.locator("[data-said=garment]").inner_text(), "it is said once, below the photo"
    assert page.locator(".photo-light").is_hidden(), "nothing is painted yet whose light could be changed"
    page.locator(".photo-ask").get_by_role("button", name="Draw round it").click()
    ring = page.evaluate(
        """(points) => {
          const pane = window.garmentTable.editor.panes[0], r = pane.sheet.getBoundingClientRect();
          const { k, dx, dy } = window.garmentTable.editor.port.place(pane);
          return points.map(([x, y]) => [r.x + x * k + dx, r.y + y * k + dy]);
        }""",
        [[x / 2, y / 2] for x, y in choir.FORM_AROUND],
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
    assert page.locator(".photo-ask").is_hidden(), "drawn round, it is a suggestion no more"
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
    # Both can be compared: the photo lies there as it was taken, with nothing over it, and the painted one comes back.
    page.get_by_role("button", name="Show the photo itself").click()
    painted(page)
    assert np.abs(np.subtract(colour_at(page, x, y), cloth)).max() < 4
    assert page.locator(".view:first-child [data-for=front-1]").is_hidden()
    page.get_by_role("button", name="Show what is painted").click()
    painted(page)
    assert colour_at(page, x, y) == red
