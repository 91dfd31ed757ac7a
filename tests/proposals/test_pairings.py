"""Suggestions against brute force: every assignment judged one by one, by the checks themselves and plain loops."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from invented import cloth, cupboard, garment, known

from mockup.checks.contrast import luminance_ratio
from mockup.checks.finding import Grade
from mockup.checks.run import check, forbidden
from mockup.checks.scene import Scene
from mockup.checks.weight import weight
from mockup.colourways.colour_vision import matrix
from mockup.colourways.colourway import Colourway
from mockup.proposals.figures import cloth_left, compared, figures, problem
from mockup.proposals.groups import front_with_back, groups_of, meetings_of, seen_areas
from mockup.proposals.pairings import pairings
from mockup.proposals.search import grow, search
from swatches.care import harmed_by_both, mildest
from swatches.colour import delta_e_2000, lab_to_linear, linear_to_lab
from swatches.errors import Cancelled, InputError
from swatches.fabric import Remnant

AREA = {"front-1": 1.0e5, "front-2": 2.2e5, "front-3": 1.5e5, "front-4": 0.8e5}
STEPS = (1.0, 0.1, 1.0, 0.01, 1.0, 1.0, 0.01)
SIGNS = (1, 1, 1, 1, -1, 1, -1)


def seen_by(sight, f):
    return linear_to_lab(np.clip(matrix(sight) @ np.clip(lab_to_linear(f.colour.lab), 0, 1), 0, 1))


def judged(scene: Scene, choice: dict, areas: dict):
    """Figures of one assignment, by plain loops; None where it may not be."""
    by_id = {f.id: f for f in scene.project.fabrics}
    one = replace(scene, colourway=Colourway("A", "", choice), cut_mm2={})
    used: dict[str, float] = {}
    for panel, fabric in choice.items():
        used[fabric] = used.get(fabric, 0.0) + areas[panel]
    taken = opened = money = 0.0
    for fabric, area in used.items():
        f = by_id[fabric]
        if not f.owned:
            money += area / 1000 * f.price_per_metre.value / (f.usable_width.value or 1400.0)
            continue
        if f.usable_width.value is None:
            opened += area
            continue
        left = f.usable_width.value * f.length_left.value
        if area > left:
            return None
        taken, opened = taken + area, opened + left
    cares = [f.care.value or {} for f in one.used()]
    if harmed_by_both(cares) or len({*choice.values()}) == 1:
        return None
    if any(choice[s.a] == choice[s.b] for s in scene.seams):  # every seam of this garment is a style line
        return None
    found = check(replace(one, limits=scene.limits, panels=scene.panels))
    if any(f.grade is Grade.STOP and f.code in ("bleed", "shrinkage", "weight", "stretch") for f in found):
        return None
    pairs = [(a, b) for _, a, b in one.pairs()]
    wash = mildest("wash", cares)
    return (
        min(float(delta_e_2000(a.colour.lab, b.colour.lab)) for a, b in pairs),
        min(luminance_ratio(a.colour.lab, b.colour.lab) for a, b in pairs),
        min(
            float(delta_e_2000(seen_by(s, a), seen_by(s, b))) for a, b in pairs for s in ("protan", "deutan", "tritan")
        ),
        taken / opened if opened else 0.0,
        sum(
            any(f.grade in (Grade.WARN, Grade.CANNOT_TELL) for f in weight(replace(one, seams=(s,)))) for s in one.seams
        ),
        wash[0].rank if wash else -1,
        money,
    )


@pytest.mark.parametrize("seed", [1, 2, 4])
def test_all_that_are_good_in_different_ways_are_found(seed):
    fabrics = cupboard(5, seed)
    scene = garment(fabrics)
    rows = []
    for row in itertools.product([f.id for f in fabrics], repeat=4):
        choice = {f"front-{n}": f for n, f in enumerate(row, 1)}
        values = judged(scene, choice, AREA)
        if values is not None:
            rows.append((choice, tuple(round(v / s) * g for v, s, g in zip(values, STEPS, SIGNS, strict=True)), values))

    def beats(a, b):
        as_many = len({*a[0].values()}) == len({*b[0].values()})
        return as_many and all(x >= y for x, y in zip(a[1], b[1], strict=True)) and a[1] != b[1]

    expected = [row for row in rows if not any(beats(other, row) for other in rows)]
    assert len(expected) > 4
    got = pairings(scene, areas_mm2=AREA, most=24)
    assert (got.exact, got.share, got.possible, got.allowed) == (True, 1.0, 5**4, len(rows))
    assert got.good_in_different_ways == len(expected)
    by_choice = {tuple(sorted(row[0].items())): row[2] for row in expected}
    assert len(got.found) == min(24, len(expected))
    for one in got.found:
        values = by_choice[tuple(sorted(one.fabrics.items()))]
        assert (
            one.contrast_delta_e, one.luminance_ratio, one.told_apart_delta_e, one.used_up_share, one.weight_clashes,
            one.wash_rank, one.to_buy,
        ) == pytest.approx(values, rel=1e-5, abs=1e-6)  # fmt: skip


def test_a_part_of_too_many_is_said_and_each_is_allowed():
    scene = garment(cupboard(14, 5), 8)
    areas = {f"front-{n}": 4e4 for n in range(1, 9)}
    got = pairings(scene, areas_mm2=areas)
    assert not got.exact
    assert got.possible == 14**8
    assert 0 < got.share == pytest.approx(got.looked_at / 14**8)
    assert (
        f"{got.looked_at:,}".replace(",", "\u202f") in got.notes[0]
        or f"{got.looked_at:,}".replace(",", " ") in got.notes[0]
    )
    assert 20 <= len(got.found) <= 24
    for one in got.found:
        assert judged(scene, one.fabrics, areas) is not None


def test_a_searched_part_finds_nearly_all_that_an_exact_search_finds():
    scene = garment(cupboard(7, 9), 5)  # 7^5 = 16 807 can be counted out
    areas = {f"front-{n}": 6e4 for n in range(1, 6)}
    exact = pairings(scene, areas_mm2=areas)
    part = pairings(scene, areas_mm2=areas, exact_up_to=10)
    assert exact.exact
    assert not part.exact
    assert part.good_in_different_ways >= 0.95 * exact.good_in_different_ways
    assert pairings(scene, areas_mm2=areas, exact_up_to=10) == part  # the same seed, the same answer


def test_none_of_those_shown_beats_another():
    got = pairings(garment(cupboard(12, 3), 7))
    rows = [
        (
            round(p.contrast_delta_e), round(p.luminance_ratio, 1), round(p.told_apart_delta_e),
            round(p.used_up_share, 2), -p.weight_clashes, p.wash_rank, -round(p.to_buy, 2),
        )
        for p in got.found
    ]  # fmt: skip
    for (a, p), (b, q) in itertools.permutations(zip(rows, got.found, strict=True), 2):
        beats = all(x >= y - 1e-9 for x, y in zip(a, b, strict=True)) and any(
            x > y + 1e-9 for x, y in zip(a, b, strict=True)
        )
        assert not (beats and p.cloths == q.cloths)


def test_twins_and_pairs_follow_and_what_is_kept_stays():
    scene = garment(cupboard(4, 2), 5)
    panels = dict(scene.panels)
    panels["front-1"] = replace(panels["front-1"], side="left", twin="front-3")
    panels["front-3"] = replace(panels["front-3"], side="right", twin="front-1")
    scene = replace(scene, panels=panels)
    got = pairings(
        scene, pairs=[("front-2", "front-5")], keep={"front-2": "cloth3"}, leave=["front-4"], with_stops=True
    )
    assert got.possible == 4  # only the twins are open
    assert got.found
    for one in got.found:
        assert one.fabrics["front-1"] == one.fabrics["front-3"]
        assert one.fabrics["front-2"] == one.fabrics["front-5"] == "cloth3"
        assert "front-4" not in one.fabrics


def test_front_and_back_of_one_name_follow_each_other():
    scene = garment(cupboard(3, 1), 4)
    back = replace(scene.views[0], name="back", side="back")
    panels = {
        "front-1": replace(scene.panels["front-1"], name="front yoke"),
        "front-2": replace(scene.panels["front-2"], name="middle front"),
        "back-1": replace(scene.panels["front-3"], id="back-1", view="back", name="back yoke"),
        "back-2": replace(scene.panels["front-4"], id="back-2", view="back", name="lower back"),
    }
    both = replace(scene, views=(scene.views[0], back), panels=panels, seams=())
    assert front_with_back(both) == (("front-1", "back-1"),)
    (yoke, *_) = groups_of(both, pairs=front_with_back(both))
    assert (yoke.words, yoke.panels, yoke.share) == ("front yoke and back yoke", ("front-1", "back-1"), 0.5)


def test_too_little_cloth_is_no_choice():
    fabrics = (
        cloth("small", (20.0, 0.0, 0.0), usable_width=known(1000.0), length_left=known(100.0)),
        cloth("large", (80.0, 0.0, 0.0), usable_width=known(1000.0), length_left=known(900.0)),
    )
    got = pairings(garment(fabrics, 2), areas_mm2={"front-1": 0.9e5, "front-2": 1.1e5})
    assert [p.fabrics for p in got.found] == [{"front-1": "small", "front-2": "large"}]
    assert (got.possible, got.allowed) == (4, 1)
    assert got.found[0].used_up_share == pytest.approx(2.0e5 / 10.0e5)
    remnant = Remnant("r", (), ((0, 0), (300, 0), (300, 200), (0, 200)), (((0, 0), (10, 0), (10, 10)),))
    small = replace(fabrics[0], usable_width=known(1000.0), length_left=cloth("x").length_left, remnants=(remnant,))
    assert not pairings(garment((small, fabrics[1]), 2), areas_mm2={"front-1": 0.9e5, "front-2": 1.1e5}).found


def test_cloth_that_is_nearly_all_needed_is_said():
    # the check warns above 80 %: production lays waste 10 to 20 % (Cooklin 1997 by Rissanen)
    fabrics = (
        cloth("small", (20.0, 0.0, 0.0), usable_width=known(1000.0), length_left=known(100.0)),
        cloth("large", (80.0, 0.0, 0.0), usable_width=known(1000.0), length_left=known(900.0)),
    )
    (one,) = pairings(garment(fabrics, 2), areas_mm2={"front-1": 0.9e5, "front-2": 1.1e5}).found
    assert "All panels of small: the pieces take 90% of the cloth. Try the lay before you cut." in one.why
    assert not any("All panels of large" in sentence for sentence in one.why)


@pytest.mark.slow
def test_all_of_a_hundred_thousand_are_what_the_definition_says():
    scene = garment(cupboard(10, 3), 5)
    groups = groups_of(scene)
    p = problem(
        scene, groups, meetings_of(scene, groups), fabrics=scene.project.fabrics, areas=seen_areas(scene, groups),
        lines_show=False, with_stops=True,
    )  # fmt: skip
    assert p.possible == 100_000
    every = grow(p, most=100_000)
    found = search(p)
    assert found.exact
    assert found.allowed == len(every)
    rows, best = compared(figures(p, every), every), compared(found.figures, found.chosen)
    kept = set(map(tuple, found.chosen.tolist()))
    beaten = np.zeros(len(rows), dtype=bool)
    for one in best:  # nothing at all beats what was kept, and something kept beats all that was not
        assert not ((rows >= one).all(axis=1) & (rows > one).any(axis=1)).any()
        beaten |= (one >= rows).all(axis=1) & (one > rows).any(axis=1)
    assert {tuple(row) for row in every[~beaten].tolist()} == kept


def test_what_can_be_neither_washed_nor_cleaned_is_no_choice():
    # 16 CFR 423.6(b)
    a = cloth("silk", (20.0, 0.0, 0.0), care=known({"wash": "do not wash", "professional": "mild"}))
    b = cloth("coated", (80.0, 0.0, 0.0), care=known({"wash": "30", "professional": "do not"}))
    got = pairings(garment((a, b), 2))
    assert got.found == ()
    assert got.allowed == 0
    silent = replace(b, care=cloth("x").care)
    assert len(pairings(garment((a, silent), 2)).found) == 2


def test_stops_of_checks_are_left_out_unless_allowed():
    dark = cloth("madder", (20.0, 30.0, 10.0), bleeds=known(True))
    light = cloth("oat", (90.0, 0.0, 5.0))
    assert forbidden(tuple(check(_with(garment((dark, light), 2), ("madder", "oat")))))
    assert pairings(garment((dark, light), 2)).found == ()
    assert len(pairings(garment((dark, light), 2), with_stops=True).found) == 2


def test_the_same_cloth_may_meet_itself_only_when_lines_need_not_show():
    fabrics = (cloth("a", (20.0, 0.0, 0.0)), cloth("b", (80.0, 0.0, 0.0)))
    assert {p.cloths for p in pairings(garment(fabrics, 2)).found} == {2}
    free = pairings(garment(fabrics, 2), lines_show=False)
    assert {p.cloths for p in free.found} == {1, 2}
    plain = next(p for p in free.found if p.cloths == 1)
    assert (plain.contrast_delta_e, plain.why[0]) == (0.0, "One cloth all over: no line shows.")
    assert {p.cloths for p in pairings(garment(fabrics, 2), lines_show=False, cloths=(2, 2)).found} == {2}


def test_reasons_are_plain_words():
    heavy = cloth("felt, red", (45.0, 55.0, 30.0), weight=known(400.0))
    light = cloth("lawn, green", (45.0, -45.0, 20.0), weight=known(100.0), owned=False)
    scene = garment((heavy, light), 2)
    got = pairings(scene, keep={"front-1": "lawn, green"})
    (one,) = got.found
    text = " ".join((*one.why, *one.best_for, *one.gives_up, *got.notes))
    assert "'lawn, green' and 'felt, red' differ by hue more than by light and dark." in text
    assert "At 1 seam a heavier cloth hangs from a lighter one" in text
    assert "Cannot tell: how to wash 'felt, red' and 'lawn, green' is not known." in text
    for word in ("Pareto", "CIEDE", "CIELAB", "delta", "ΔE", "flatter", "score"):
        assert word.lower() not in text.lower()


def test_no_sentence_speaks_against_another():
    for seed in range(4):
        fabrics = tuple(replace(f, owned=True) for f in cupboard(4, seed))
        for measured in (True, False):
            for one in pairings(garment(fabrics, 3, measured=measured)).found:
                text = " ".join(one.why)
                sure = measured and all(cloth_left(f) is not None for f in fabrics if f.id in one.fabrics.values())
                assert ("Nothing has to be bought." in text) == sure
                assert ("cannot be told: measure" in text or "without a length" in text) != sure
                blind = "colour-blind viewers"
                assert not ("can tell all neighbours apart" in text and blind in one.gives_up), one
                assert not ("may not tell" in text and blind in one.best_for), one
                assert not ("hardly differ" in text and "lines that show" in one.best_for), one
                assert not ("How to wash it cannot be told" in text and "easy washing" in one.gives_up), one


def test_without_a_scale_nothing_is_said_in_mm():
    scene = garment(cupboard(4, 4), 3, measured=False)
    assert seen_areas(scene, groups_of(scene)) is None
    got = pairings(scene)
    assert got.to_buy_unit == "share"
    assert all(p.used_up_share is None for p in got.found)
    assert "No length of the garment is known yet" in " ".join(got.notes)


def test_areas_from_the_picture_are_what_is_seen_and_allowances():
    scene = garment(cupboard(3, 4), 2)
    # a square of 300 mm with 15 mm round it, corners aside (derived)
    assert seen_areas(scene, groups_of(scene)) == pytest.approx([300 * 300 + 4 * 300 * 15] * 2)


def test_meetings_are_turned_the_same_way_round():
    scene = garment(cupboard(3, 4), 3)
    found = meetings_of(scene, groups_of(scene))
    assert [(m.a, m.b, len(m.seams), m.drawn) for m in found] == [(0, 1, 1, True), (0, 2, 1, True), (1, 2, 1, True)]
    assert found[1].seams[0].a == "front-1"


def test_it_can_be_stopped(stopped):
    with pytest.raises(Cancelled):
        pairings(garment(cupboard(14, 5), 8), job=stopped(3))


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ({"keep": {"nix": "cloth1"}}, "panel"),
        ({"keep": {"front-1": "nix"}}, "cloth to keep"),
        ({"leave": ["nix"]}, "panel"),
        ({"pairs": [("front-1", "nix")]}, "panel"),
        ({"pairs": [("front-1", "front-2")], "keep": {"front-1": "cloth1", "front-2": "cloth2"}}, "follow"),
        ({"fabrics": ["nix"]}, "cloth"),
        ({"fabrics": []}, "cloths to choose from"),
        ({"leave": ["front-1", "front-2", "front-3"]}, "open"),
    ],
)
def test_nonsense_is_refused_in_a_sentence(wrong, word):
    with pytest.raises(InputError, match=word):
        pairings(garment(cupboard(4, 1), 3), **wrong)


def _with(scene, cloths):
    return replace(scene, colourway=Colourway("A", "", {f"front-{n}": c for n, c in enumerate(cloths, 1)}))
