"""Figures worked by hand; limits that are 'our own choice' are held to what the table says."""

import pytest

from mockup.checks.bleed import bleed
from mockup.checks.care import care
from mockup.checks.cautions import cautions
from mockup.checks.cloth import enough_cloth, nap, repeat
from mockup.checks.contrast import contrast, luminance_ratio
from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.limits import DEFAULTS, limits
from mockup.checks.run import CHECKS, check, forbidden
from mockup.checks.scene import Scene, Seam
from mockup.checks.show_through import show_through
from mockup.checks.shrinkage import shrinkage
from mockup.checks.stretch import stretch
from mockup.checks.weight import weight
from mockup.colourways.colourway import Colourway, Laid
from mockup.geometry import path as paths
from mockup.project import Project
from mockup.stylelines.panels import Panel
from swatches.errors import InputError
from swatches.fabric import Colour, Fabric, Known, Origin, Texture

SQUARE = paths.polyline([(0, 0), (0, 100), (100, 100), (100, 0)], close=True).to_tuples()


def known(value, unit=""):
    return Known(value, unit, Origin.MEASURED)


def cloth(name, lab=(50.0, 0.0, 0.0), **properties) -> Fabric:
    return Fabric(name, name, Colour(lab, 2.0, "invented"), **properties)


def made(upper_cloth, lower_cloth, *, upright=False, length=500.0, laid=None, **scene) -> Scene:
    """Two panels, 'front-1' above 'front-2', with one seam between them."""
    panels = {
        f"front-{n}": Panel(f"front-{n}", n, name, "front", "body", "body", None, None, SQUARE, 0.5)
        for n, name in ((1, "yoke"), (2, "lower part"))
    }
    seam = Seam("front-1", "front-2", length, upright, None if upright else "front-1", "front", (50.0, 50.0))
    fabrics = {upper_cloth.id: upper_cloth, lower_cloth.id: lower_cloth}
    choice = Colourway("A", "", {"front-1": upper_cloth.id, "front-2": lower_cloth.id}, laid or {})
    project = Project("p", fabrics=tuple(fabrics.values()))
    return Scene(project, choice, (), panels, (seam,), (), **scene)


def test_heavy_from_light_is_a_warning_and_light_from_heavy_is_fine():
    heavy, light = cloth("felt", weight=known(400.0, "g/m²")), cloth("lawn", weight=known(100.0, "g/m²"))
    (found,) = weight(made(light, heavy))
    assert (found.grade, found.figure) == (Grade.WARN, "felt is 4.0 times as heavy as lawn")
    assert found.source == "our own choice"
    assert "panel 1 (yoke)" in found.place.words
    assert weight(made(heavy, light)) == []
    (beside,) = weight(made(heavy, light, upright=True))
    assert beside.grade is Grade.NOTE


def test_an_unknown_weight_is_said_once():
    (found,) = weight(made(cloth("felt"), cloth("lawn", weight=known(100.0, "g/m²"))))
    assert found.grade is Grade.CANNOT_TELL
    assert "Weigh the swatch" in found.advice


def test_shrinkage_over_the_seam():
    # 3 % against 7 % on a 500 mm seam is 20 mm (derived)
    a = cloth("linen", shrinkage_width=known(3.0, "%"), shrinkage_length=known(0.0, "%"))
    b = cloth("rayon", shrinkage_width=known(7.0, "%"), shrinkage_length=known(0.0, "%"))
    (found,) = shrinkage(made(a, b))
    assert (found.grade, found.figure.split()[0]) == (Grade.STOP, "20")
    assert shrinkage(made(a, b, upright=True)) == []  # along the length neither shrinks
    turned = {"front-1": Laid(90.0), "front-2": Laid(90.0)}
    assert shrinkage(made(a, b, laid=turned)) == []
    assert len(shrinkage(made(a, b, upright=True, laid=turned))) == 1


def test_prewashed_cloth_shrinks_no_more():
    a, b = cloth("linen", prewashed=known(True)), cloth("rayon", prewashed=known(True))
    assert shrinkage(made(a, b)) == []
    (found,) = shrinkage(made(a, cloth("wool")))
    assert (found.grade, "wool" in found.figure) == (Grade.CANNOT_TELL, True)


def test_bleed_of_dark_beside_light():
    dark, light = (20.0, 30.0, 10.0), (85.0, 0.0, 5.0)
    assert bleed(made(cloth("madder", dark), cloth("oat", light)))[0].grade is Grade.CANNOT_TELL
    assert bleed(made(cloth("madder", dark, bleeds=known(True)), cloth("oat", light)))[0].grade is Grade.STOP
    assert bleed(made(cloth("madder", dark, bleeds=known(False)), cloth("oat", light))) == []
    assert bleed(made(cloth("oat", light), cloth("ecru", (80.0, 0.0, 8.0)))) == []


def test_care_takes_the_least_severe_and_says_what_decides():
    a = cloth("linen", care=known({"wash": "60", "iron": "hot"}))
    b = cloth("wool", care=known({"wash": "hand wash", "iron": "cool"}))
    found = care(made(a, b))
    assert [f.figure for f in found if f.grade is Grade.WARN] == [
        "wool allows only 'hand wash'",
        "wool allows only 'cool iron, 110 °C'",
    ]
    assert found[-1].figure.startswith("hand wash; cool iron, 110 °C")
    assert "no care label" in found[-1].advice


def test_care_stops_what_can_be_neither_washed_nor_cleaned():
    # 16 CFR 423.6(b)
    a = cloth("silk", care=known({"wash": "do not wash", "professional": "mild", "iron": "cool"}))
    b = cloth("coated", care=known({"wash": "30", "professional": "do not", "iron": "cool"}))
    assert care(made(a, b))[0].grade is Grade.STOP


def test_care_that_contradicts_itself_is_not_promised():
    # one cloth bears no iron, the other only a hot one by its label: the mix takes the gentlest, and says which decides
    a = cloth("wool", care=known({"wash": "do not wash", "iron": "do not iron", "professional": "mild"}))
    b = cloth("linen", care=known({"wash": "95", "iron": "hot", "professional": "do not"}))
    found = care(made(a, b))
    assert found[0].grade is Grade.STOP  # 16 CFR 423.6(b): neither washing nor dry cleaning
    assert {f.figure for f in found if f.grade is Grade.WARN} == {
        "wool allows only 'do not wash'", "wool allows only 'do not iron'",
    }  # fmt: skip
    odd = cloth("odd", care=known({"wash": "as you like", "iron": ""}))
    assert {f.grade for f in care(made(odd, odd))} == {Grade.CANNOT_TELL, Grade.NOTE}


def test_contrast_and_luminance():
    # WCAG 2.2, definition of contrast ratio: black on white is 21 : 1
    assert luminance_ratio((100.0, 0.0, 0.0), (0.0, 0.0, 0.0)) == pytest.approx(21.0, abs=0.01)
    (alike,) = contrast(made(cloth("a", (50.0, 0.0, 0.0)), cloth("b", (53.0, 0.0, 0.0))))
    assert "ΔE00" in alike.figure
    (hue,) = contrast(made(cloth("a", (50.0, 50.0, 0.0)), cloth("b", (50.0, -50.0, 0.0))))
    assert hue.limit == "3 : 1"
    assert contrast(made(cloth("a", (20.0, 0.0, 0.0)), cloth("b", (90.0, 0.0, 0.0)))) == []


def test_show_through_asks_to_hold_it_over_the_dark():
    pale, dark = (90.0, 0.0, 4.0), (25.0, 0.0, -20.0)
    assert show_through(made(cloth("lawn", pale), cloth("navy", dark)))[0].grade is Grade.CANNOT_TELL
    assert show_through(made(cloth("lawn", pale, show_through=known(True)), cloth("navy", dark)))[0].grade is Grade.WARN
    assert show_through(made(cloth("lawn", pale, show_through=known(False)), cloth("navy", dark))) == []


def test_knit_beside_woven():
    knit, woven = cloth("jersey", structure=known("knit")), cloth("linen", structure=known("woven"))
    assert stretch(made(knit, woven))[0].grade is Grade.WARN
    assert stretch(made(woven, cloth("drill", structure=known("woven")))) == []
    assert stretch(made(woven, cloth("unknown")))[0].grade is Grade.CANNOT_TELL


def test_one_way_cloth_and_repeats():
    velvet = cloth("velvet", nap=known(True))
    print_ = cloth("sprig", nap=known(False), texture=Texture("t.png", 0.5, 0.2, (150.0, 80.0), True))
    found = nap(made(velvet, print_))
    assert [f.grade for f in found] == [Grade.NOTE, Grade.NOTE]
    view = type("V", (), {"name": "front", "mm_per_px": 1.0})()
    scene = made(velvet, print_)
    assert [
        f.figure for f in repeat(Scene(scene.project, scene.colourway, (view,), scene.panels, scene.seams, ()))
    ] == ["repeat 150 mm, panel 100 × 100 mm"]


def test_enough_cloth_by_area():
    left = {"usable_width": known(1000.0, "mm"), "length_left": known(1000.0, "mm")}
    a, b, c = cloth("a", **left), cloth("b", **left), cloth("c", **left)
    found = enough_cloth(made(a, b, cut_mm2={"a": 1.2e6, "b": 0.85e6}))
    assert [(f.grade, f.figure) for f in found] == [
        (Grade.STOP, "the pieces take 120% of the cloth"),
        (Grade.WARN, "the pieces take 85% of the cloth"),
    ]
    assert enough_cloth(made(c, c, cut_mm2={"c": 0.5e6})) == []
    assert enough_cloth(made(c, c))[0].grade is Grade.CANNOT_TELL


def test_a_limit_can_be_set_and_says_so():
    table = limits({"weight-ratio": 5.0})
    assert table["weight-ratio"].source == "yours"
    heavy, light = cloth("felt", weight=known(400.0, "g/m²")), cloth("lawn", weight=known(100.0, "g/m²"))
    assert weight(made(light, heavy, limits=table)) == []
    for wrong in ({"wieght": 1.0}, {"weight-ratio": -1.0}, {"weight-ratio": float("nan")}):
        with pytest.raises(InputError, match="limit"):
            limits(wrong)
    assert all(limit.source for limit in DEFAULTS.values())


def test_all_checks_run_and_the_most_serious_comes_first():
    scene = made(cloth("a", (20.0, 0.0, 0.0), bleeds=known(True)), cloth("b", (90.0, 0.0, 0.0)))
    plain = [c for c in CHECKS if c.__name__ not in ("sliver", "repeat")]  # these two need a view
    assert len(plain) == len(CHECKS) - 2
    found = [f for c in plain for f in c(scene)]
    assert {f.code for f in found} >= {"bleed", "care", "caution", "nap", "shrinkage", "stretch", "weight"}
    stop = Finding("x", Grade.STOP, Place("here"), "1", "2", "s", "a")
    assert forbidden((stop,))
    assert not forbidden(tuple(cautions(scene)))
    bare = Scene(scene.project, Colourway("B"), (), {}, (), ())
    assert check(bare) == ()
