"""'Which cloth?' in a real browser: photos, correcting them by dragging, the record, and the store of cloth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from garment_page import seen
from PIL import Image, ImageDraw

from swatches.stash import Stash

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A drawing, a shop's picture of stripes (24 px wide each pair) and a plain one, small."""
    folder = tmp_path_factory.mktemp("pictures")
    drawing = Image.new("RGB", (420, 500), "white")
    outline = [(150, 40), (110, 60), (120, 160), (90, 200), (90, 460), (330, 460), (330, 200), (300, 160), (310, 60),
               (270, 40), (210, 90)]  # fmt: skip
    ImageDraw.Draw(drawing).line([*outline, outline[0]], fill="black", width=4, joint="curve")
    x = np.arange(360)
    stripes = np.where((x // 12 % 2)[None, :, None], [205, 190, 160], [40, 60, 120]).astype(np.uint8)
    noise = np.random.default_rng(1).integers(0, 4, (300, 360, 3), np.uint8)
    found = {
        "drawing": drawing,
        "ticking": Image.fromarray(np.repeat(stripes, 300, axis=0) + noise),
        "green": Image.fromarray(np.full((200, 240, 3), (40, 90, 60), np.uint8) + noise[:200, :240]),
    }
    for name, picture in found.items():
        picture.save(folder / f"{name}.png")
    return {name: folder / f"{name}.png" for name in found}


def idle(page: Any) -> None:
    page.wait_for_function("() => window.garmentTable && !window.garmentTable.scene.busy")


@pytest.fixture
def cloth_page(same_page: Any, app: str, pictures: dict[str, Path]) -> Any:
    """A garment of one's own with its cloth, as the tests before this one left it."""
    return same_page(lambda page: opened(page, app, pictures))


def opened(page: Any, app: str, pictures: dict[str, Path]) -> Any:
    """A garment of one's own with two photos of cloth, and the question about cloth open."""
    page.goto(app)
    seen(page, "#table [data-scene]")
    page.set_input_files("#add-front ~ input, input:has(+ #add-front)", str(pictures["drawing"]))
    seen(page, ".panel")
    idle(page)
    page.set_input_files("input:has(+ #add-swatch)", [str(pictures["green"]), str(pictures["ticking"])])
    seen(page, "[data-look]")
    idle(page)
    ask = page.get_by_role("button", name="Which cloth?")
    if ask.get_attribute("aria-expanded") != "true":
        ask.click()
    return page


def scene(page: Any) -> dict[str, Any]:
    return dict(page.evaluate("() => JSON.parse(JSON.stringify(window.garmentTable.scene))"))


def cloth(page: Any, name: str) -> dict[str, Any]:
    return next(c for c in scene(page)["cloths"] if name in c["name"])


def test_a_photo_is_given_its_scale_by_dragging_and_typing(cloth_page: Any) -> None:
    page = cloth_page
    assert page.locator("[data-look]").count() == 2, "both photos became cloth"
    stripe = cloth(page, "stripe")
    assert stripe["scaled"] is False
    page.locator(f"[data-look={stripe['id']}]").click()
    card = page.locator(".cloth-card")
    card.wait_for()
    assert "guess until you give one length" in card.inner_text()

    # something whose length is known: drag its ends onto ten stripes, 240 px, and type what they measure
    page.locator("[data-key=ask-reference]").select_option("tape")
    box = page.locator(".cloth-view").first.bounding_box()
    k = box["width"] / 360
    for name, x in (("one end of the length", 60), ("the other end of the length", 300)):
        dot = page.locator(f"[data-dot='{name}']")
        at = dot.bounding_box()
        page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
        page.mouse.down()
        page.mouse.move(box["x"] + x * k, box["y"] + 150 * k, steps=5)
        page.mouse.up()
    page.locator("[data-scale]").fill("12 cm")
    page.get_by_role("button", name="Read the photo again").click()
    page.wait_for_function(
        "(id) => window.garmentTable.scene.cloths.find((c) => c.id === id)?.scaled", arg=stripe["id"]
    )
    idle(page)
    page.wait_for_function("() => document.querySelector('.cloth-card')?.innerText.includes('scale is known')")
    # a stripe pair is 24 px, and 240 px are 120 mm
    said = page.locator(".cloth-pair figcaption").last.inner_text()
    across = float(said.split("Repeat ")[1].split(" mm")[0])
    assert across == pytest.approx(12.0, rel=0.02)
    words = card.inner_text()
    assert not any(w in words for w in ("ΔE", "CIEDE", "L*", "mockup ", "delta", "px")), words

    page.get_by_role("button", name="Undo", exact=True).click()
    page.wait_for_function(
        "(id) => !window.garmentTable.scene.cloths.find((c) => c.id === id)?.scaled", arg=stripe["id"]
    )
    page.wait_for_function("() => document.querySelector('.cloth-card')?.innerText.includes('guess until')")

    # going round the cloth by hand: five presses and Enter, one point moved by the keys and one taken out
    page.locator("[data-go-round]").click()
    view = page.locator(".cloth-view").first.bounding_box()
    k = view["width"] / 360
    for x, y in ((40, 30), (320, 40), (330, 250), (180, 270), (50, 260)):
        page.mouse.click(view["x"] + x * k, view["y"] + y * k)
    page.keyboard.press("Enter")
    assert page.locator("[data-dot^='point ']").count() == 5
    page.locator("[data-dot^='point 4 ']").focus()
    page.keyboard.press("Delete")
    page.locator("[data-dot^='point 1 ']").focus()
    page.keyboard.press("ArrowRight")
    within = page.locator(".cloth-round").get_by_role("button", name="Read it within this outline")
    within.scroll_into_view_if_needed()
    there = page.locator(".cloth-view").first.bounding_box()
    before = scene(page)["revision"]
    within.click()
    page.wait_for_function(
        "(r) => window.garmentTable.scene.revision > r && !window.garmentTable.scene.busy", arg=before
    )
    within.wait_for(state="hidden")
    assert page.locator("[data-dot^='point ']").count() == 4
    assert page.locator(".cloth-view").first.bounding_box() == there, "the photo stays where it is under an answer"


@pytest.mark.slow
def test_the_record_and_the_store(page: Any, app: str, pictures: dict[str, Path], data: Path) -> None:
    opened(page, app, pictures)
    green = cloth(page, "green")
    page.locator(f"[data-look={green['id']}]").click()
    card = page.locator(".cloth-card")
    card.wait_for()
    weight = card.get_by_label("Weight", exact=True)
    assert weight.get_attribute("placeholder") == "don’t know yet"
    weight.fill("6 oz/yd²")
    weight.press("Enter")
    page.wait_for_function("() => document.querySelector('[data-key$=\":weight\"]')?.value === '203 g/m²'")
    left = card.get_by_label("Length left", exact=True)
    left.fill("heavy")
    left.press("Enter")
    page.wait_for_function("() => document.querySelector('[data-said=cloth]').innerText.includes('Length left')")
    card.get_by_label("Length left", exact=True).fill("2 m")
    card.get_by_label("Length left", exact=True).press("Enter")
    page.wait_for_function("() => document.querySelector('[data-key$=\":length_left\"]')?.value === '2000 mm'")
    how = card.get_by_label("Length left: where you have it from")
    how.select_option("measured")
    page.wait_for_function("() => document.querySelector('[data-key$=\":length_left:how\"]')?.value === 'measured'")

    with Stash(data / "stash") as stash:
        there = {f.id for f in stash.fabrics()}
    page.get_by_role("button", name="Keep it in my cloth").click()
    page.wait_for_function("() => document.querySelector('[data-said=cloth]').innerText.includes('kept in your cloth')")
    with Stash(data / "stash") as stash:
        (kept,) = (f for f in stash.fabrics() if f.id not in there)
        assert kept.length_left.value == 2000
        assert kept.length_left.origin == "measured"
        assert kept.weight.origin == "label"

    page.get_by_role("button", name="Done").click()
    page.locator(".store > summary").click()
    seen(page, "[data-store]")
    page.locator("[data-look-by=weight]").fill("900-1000")
    page.locator("[data-look-by=weight]").press("Enter")
    page.wait_for_function("() => !document.querySelector('[data-store]')")
    page.locator("[data-look-by=weight]").fill("200")
    page.locator("[data-look-by=weight]").press("Enter")
    page.locator("[data-store] .cloth-row").click()
    page.get_by_label("Length cut from", exact=False).fill("50 cm")
    page.get_by_role("button", name="was cut off").click()
    page.wait_for_function("() => document.querySelector('[data-store]')?.innerText.includes('1500 mm left')")
    page.locator("[data-store-undo]").click()
    page.wait_for_function("() => document.querySelector('[data-store]')?.innerText.includes('2000 mm left')")
    page.get_by_role("button", name=f"use here: {green['name']}").click()
    page.wait_for_function("() => document.querySelector('[data-said=cloth]').innerText.includes('in your hand')")
    assert len(scene(page)["cloths"]) == 2, "it is the cloth that lies here already"


@pytest.mark.slow
def test_a_phone_offers_its_camera(browser: Any, app: str, pictures: dict[str, Path]) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    opened(page, app, pictures)
    with page.expect_file_chooser() as chosen:
        page.get_by_role("button", name="Take a photo").click()
    camera = page.locator("input:has(+ #add-swatch)")
    assert camera.get_attribute("capture") == "environment"
    assert "image/*" in camera.get_attribute("accept")
    chosen.value.set_files([str(pictures["green"])])
    page.wait_for_function("() => window.garmentTable.scene.cloths.length >= 2 && !window.garmentTable.scene.busy")
    page.locator("[data-look]").last.click()
    page.locator(".cloth-card").wait_for()
    wide = page.evaluate("() => [document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1], "nothing is wider than the phone"
    context.close()


def test_a_file_of_the_wrong_kind_is_said_once_beside_its_question(
    cloth_page: Any, pictures: dict[str, Path], tmp_path: Path
) -> None:
    page = cloth_page
    bad, notes = tmp_path / "bad.png", tmp_path / "notes.txt"
    bad.write_bytes(b"no picture at all")
    notes.write_text("oats, spruce")
    page.set_input_files("input:has(+ #add-swatch)", [str(bad)])
    said = page.locator("[data-said=cloth]")
    page.wait_for_function("() => document.querySelector('[data-said=cloth]').textContent.includes('bad.png')")
    idle(page)
    before = scene(page)["revision"]
    page.set_input_files("input:has(+ #add-swatch)", [str(pictures["green"]), str(notes)])
    assert said.inner_text().startswith("notes.txt is a kind of file that cannot be read here. This takes ")
    assert "bad.png" not in page.locator("body").inner_text(), "what was said of another file is gone"
    assert said.inner_text().endswith("None of the files was added.")
    page.set_input_files("#add-front ~ input, input:has(+ #add-front)", [str(notes)])
    assert page.locator("[data-said=garment]").inner_text().startswith("notes.txt")
    assert said.inner_text() == ""
    # What was sent was taken, and its answer is drawn: the toolkit's own bubble would be here by now.
    answer = scene(page).get("answer") or 0
    page.evaluate("() => window.garmentTable.trigger('cloth', { do: 'look' })")
    page.wait_for_function("(answer) => window.garmentTable.scene.answer > answer", arg=answer)
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert "Invalid" not in page.locator("body").inner_text()
    assert scene(page)["revision"] == before
