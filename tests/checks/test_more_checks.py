"""Thickness, faces, stretch that is needed, walk, lay, closures, pockets, corners, V necks, and the words."""

import re
from dataclasses import replace

import pytest
from test_checks import cloth, known, made

from mockup.checks.cloth import enough_cloth, face, repeat
from mockup.checks.corners import inner_corner, kink
from mockup.checks.crossings import closure, pocket
from mockup.checks.ends import bulk, tip_of_v, v_tip
from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.limits import DEFAULTS, limits
from mockup.checks.of_lines import line_findings
from mockup.checks.order import layers_at_junctions, sewing_order
from mockup.checks.run import check
from mockup.checks.scene import Scene, frame_of, scene
from mockup.checks.spoken import limit_words, origin_words, source_words, spoken
from mockup.checks.stretch import stretch_apart, stretch_needed
from mockup.checks.thickness import thickness
from mockup.checks.walked import walk
from mockup.colourways.colourway import Colourway, Laid
from mockup.geometry import path as paths
from mockup.lay.need import Need
from mockup.pattern.walk import Walk, WalkRow
from mockup.project import Closure
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import InputError
from swatches.fabric import Texture

VIEW = type("V", (), {"name": "front", "mm_per_px": 1.0, "areas": (), "edges": (), "mirror_x": None})()
HANDBOOKS = re.compile(r"L\*|ΔE|C\*|CIEDE|CIELAB|Pareto|Wilson|ISO|CFR|WCAG|Threads|CPSC|Cooklin")


def seen(tunic, *lines, **changes):
    """A scene of these lines; its panels are those without lines, which is all that the checks of lines ask for."""
    whole = frame_of(tunic)
    placed = tuple((v, line, path) for v in whole.views for line, path in placed_lines(v, lines, whole.views))
    project = replace(tunic, lines=lines, **changes)
    return Scene(project, Colourway("A"), whole.views, whole.panels, whole.seams, placed)


def level(distance=150.0, side="front", number=1, landmark="underarm", name="level"):
    drop = End(f"centre-{side}", "hem", 400.0)
    return StyleLine(
        f"line-{number}", name, side, LineKind.STRAIGHT, End("side", landmark, distance), drop, symmetric=True
    )


def branch(start, end, number, kind=LineKind.STRAIGHT, through=()):
    return StyleLine(f"line-{number}", f"branch {number}", "front", kind, start, end, through)


def test_thick_beside_thin():
    thick, thin = cloth("felt", thickness=known(3.0, "mm")), cloth("lawn", thickness=known(0.3, "mm"))
    (found,) = thickness(made(thick, thin))
    assert found.figure == "felt is 10.0 times as thick as lawn"
    assert thickness(made(thin, cloth("voile", thickness=known(0.2, "mm")))) == []
    (silent,) = thickness(made(thin, cloth("cord")))
    assert (silent.grade, silent.about, silent.missing) == (Grade.CANNOT_TELL, "cord", "thickness")
    assert "eight layers" in silent.advice


def test_faces_that_differ_or_were_not_looked_at():
    wrong = cloth("sateen", faces_alike=known(False), face_photographed=known("wrong side"))
    differs = cloth("twill", faces_alike=known(False), face_photographed=known("right side"))
    assert [f.grade for f in face(made(wrong, differs))] == [Grade.WARN, Grade.NOTE]
    print_ = cloth("sprig", texture=Texture("t.png", 0.5))
    assert [(f.grade, f.about) for f in face(made(print_, cloth("plain", faces_alike=known(True))))] == [
        (Grade.CANNOT_TELL, "sprig")
    ]


def test_a_woven_panel_in_a_garment_for_knits():
    knit = cloth("jersey", structure=known("knit"), stretch_width=known(40.0, "%"), stretch_length=known(5.0, "%"))
    woven = cloth("linen", structure=known("woven"))
    one = made(knit, woven)
    (asked,) = stretch_needed(one)  # a knit is worn and nobody has said what the pattern needs
    assert (asked.grade, asked.about) == (Grade.CANNOT_TELL, "the garment")
    needs = replace(one, project=replace(one.project, needed_stretch=25.0))
    (found,) = stretch_needed(needs)
    assert (found.grade, "linen stretches by 0 %" in found.figure) == (Grade.STOP, True)
    turned = replace(needs, colourway=replace(one.colourway, laid={"front-1": Laid(90.0)}))
    assert [(f.grade, f.place.words.split()[1]) for f in stretch_needed(turned)] == [
        (Grade.WARN, "1"),
        (Grade.STOP, "2"),
    ]
    assert stretch_needed(replace(one, project=replace(one.project, needed_stretch=0.0))) == []
    (unmeasured,) = stretch_needed(
        replace(made(cloth("rib", structure=known("knit")), knit), project=replace(one.project, needed_stretch=25.0,
        fabrics=(cloth("rib", structure=known("knit")), knit)))
    )  # fmt: skip
    assert (unmeasured.grade, unmeasured.about) == (Grade.CANNOT_TELL, "rib")


def test_stretch_across_the_actual_seam():
    # stretch % = (stretched − rest) / rest, so 25 % against 5 % on 500 mm is up to 100 mm (derived)
    a = cloth("jersey", stretch_width=known(25.0, "%"), stretch_length=known(5.0, "%"))
    b = cloth("linen", stretch_width=known(5.0, "%"), stretch_length=known(5.0, "%"))
    (found,) = stretch_apart(made(a, b))
    assert found.figure.endswith("up to 100 mm on 500 mm")
    assert stretch_apart(made(a, b, upright=True)) == []  # along an upright seam both give alike


def test_the_walk_judged_by_the_magazines_limits():
    # 1/16 in is good, 1/8 in works for many (Threads 200, 2018)
    rows = tuple(WalkRow((f"front {n}:side",), (f"back {n}:side",), 300.0, 300.0 + d) for n, d in enumerate((1, 2, 4)))
    one = made(cloth("a"), cloth("a"))
    found = walk(replace(one, walked=Walk(rows, ())))
    assert [(f.grade, f.limit) for f in found] == [(Grade.WARN, "1.6 mm"), (Grade.STOP, "3.2 mm")]
    assert found[1].place.words == "side of front 2 and side of back 2"
    (silent,) = walk(
        replace(one, walked=Walk((), ("front:side is sewn to back:side, which is not among the pieces.",)))
    )
    assert silent.grade is Grade.CANNOT_TELL


def test_without_pieces_the_walk_cannot_tell(tunic):
    (found,) = walk(seen(tunic, level()))
    assert (found.grade, found.missing) == (Grade.CANNOT_TELL, "pattern pieces")
    assert walk(seen(tunic)) == []


def test_enough_cloth_by_the_lay_where_there_is_one():
    left = {"usable_width": known(1000.0, "mm"), "length_left": known(900.0, "mm")}
    f = cloth("a", **left)

    def laid(length_mm):
        return {"a": Need("a", 1000.0, True, length_mm, 0.0, length_mm, 3, None)}

    short = enough_cloth(made(f, f, cut_mm2={"a": 0.2e6}, lays=laid(950.0)))
    assert [(x.grade, x.figure) for x in short] == [
        (Grade.WARN, "the pieces as they lie take 0.95 m on a usable width of 100 cm, and 0.90 m are left")
    ]
    assert [x.grade for x in enough_cloth(made(f, f, cut_mm2={"a": 2e6}, lays=laid(850.0)))] == [Grade.NOTE]
    shrinks = {"a": Need("a", 1000.0, True, 850.0, 10.0, 850.0, 3, None)}
    assert enough_cloth(made(f, f, lays=shrinks))[0].grade is Grade.WARN  # 850 / 0.9 = 944 mm


def test_a_turned_print_is_held_against_the_panel_as_it_lies():
    print_ = cloth("sprig", texture=Texture("t.png", 0.5, 0.2, (80.0, 150.0), True))
    flat = replace(made(print_, print_), views=(VIEW,))
    assert len(repeat(flat)) == 2  # 150 mm along the length on panels of 100 mm
    wide = paths.polyline([(0, 0), (0, 100), (200, 100), (200, 0)], close=True).to_tuples()
    panels = {k: replace(p, outline=wide) for k, p in flat.panels.items()}
    assert len(repeat(replace(flat, panels=panels))) == 2
    turned = replace(flat.colourway, laid={"front-1": Laid(90.0), "front-2": Laid(90.0)})
    assert repeat(replace(flat, panels=panels, colourway=turned)) == []


def test_a_closure_and_the_line_that_meets_it(tunic):
    at_side = (Closure("zip", "side-left", 50.0, 250.0),)
    front, back = level(150.0), level(150.0, "back", 2)
    assert [f.grade for f in closure(seen(tunic, front))] == [Grade.CANNOT_TELL]
    assert closure(seen(tunic, front, closures=())) == []
    (alone,) = closure(seen(tunic, front, closures=at_side))
    assert (alone.grade, alone.figure) == (Grade.WARN, "150 mm down; nothing meets it on the other side")
    both = closure(seen(tunic, front, back, closures=at_side))
    assert [f.grade for f in both] == [Grade.NOTE, Grade.NOTE]
    off = closure(seen(tunic, front, level(160.0, "back", 2), closures=at_side))
    assert [f.figure for f in off] == [
        "150 mm down; the other side is 10 mm off", "160 mm down; the other side is 10 mm off",
    ]  # fmt: skip
    assert closure(seen(tunic, level(300.0), closures=at_side)) == []  # below the zip
    (across,) = closure(seen(tunic, front, closures=(Closure("zip", "centre-front", 0.0, 400.0),)))
    assert "on both sides of the zip" in across.figure


def test_a_line_under_a_pocket_is_measured(tunic):
    areas = [a for a in tunic.view("front").areas if a.part == "pocket"]
    x0, y0, x1, y1 = paths.bounds(paths.from_tuples(areas[0].outline))
    view = tunic.view("front")
    foot = max(p[1] for c in view.body.outline for p in c)
    up = (foot - (y0 + y1) / 2) * view.mm_per_px
    line = StyleLine(
        "line-1", "low", "front", LineKind.STRAIGHT, End("side", "hem", up), End("centre-front", "hem", up),
        symmetric=True,
    )  # fmt: skip
    found = pocket(seen(tunic, line))
    assert found
    assert all(f.line == "line-1" and f.grade is Grade.NOTE for f in found)
    width = (x1 - x0) * view.mm_per_px
    assert max(float(f.figure.split()[0]) for f in found) == pytest.approx(width, rel=0.15)
    assert (
        pocket(seen(tunic, replace(level(60.0), end=End("centre-front", "neck", 150.0)))) == []
    )  # level with the underarm, far above


def test_corners_inside_a_line(tunic):
    step = branch(
        End("side", "underarm", 150.0, "right"), End("side", "underarm", 150.0, "left"), 1, LineKind.POLYLINE,
        ((-0.3, 0.6), (-0.3, 0.5), (0.3, 0.5), (0.3, 0.6)),
    )  # fmt: skip
    found = inner_corner(seen(tunic, step))
    assert len(found) == 4
    assert all("clip into it" in f.advice for f in found)
    assert [f.figure for f in found].count("turns by 90°") == 2  # down and along, square to each other
    assert inner_corner(seen(tunic, level())) == []
    down = replace(level(60.0), kinked=True, end=End("centre-front", "hem", 200.0))
    assert inner_corner(seen(tunic, down)) == [], "a point at the fold gets one note, not two"
    (tip,) = kink(seen(tunic, down))
    assert tip.place.point[0] == pytest.approx(tunic.view("front").mirror_x, abs=0.5)
    assert "clip into it" in tip.advice, "it says how a point is sewn"


def v_necked(tunic):
    """The tunic's front with a straight V in place of its round neck."""
    view = tunic.view("front")
    neck = next(e for e in view.edges if e.name == "neck")
    path = paths.from_tuples(neck.path)
    first, last = path.cubics[0, 0], path.cubics[-1, 3]
    tip = (view.mirror_x, view.landmarks["neck-centre"][1] + 100.0)
    edge = replace(neck, path=paths.polyline([first, tip, last]).to_tuples())
    edges = tuple(edge if e is neck else e for e in view.edges)
    return replace(view, edges=edges, landmarks={**view.landmarks, "neck-centre": tip})


def test_the_tip_of_a_v_neck(tunic):
    round_, v = tunic.view("front"), v_necked(tunic)
    assert tip_of_v(round_) is None
    tip = tip_of_v(v)
    assert tip is not None
    assert v.points_to_px(tip[None])[0] == pytest.approx(v.landmarks["neck-centre"])
    one = seen(tunic, level())
    down = paths.polyline([tip, (tip[0], tip[1] - 400)])
    line = branch(End("neck", "neck-centre", 0.0), End("hem", "hem-centre", 0.0), 1)
    (found,) = v_tip(replace(one, placed=((v, line, down),)))
    assert (found.grade, found.figure, found.limit) == (Grade.WARN, "0 mm from the tip of the V", "35 mm")
    beside = paths.polyline([(tip[0] + 40, tip[1]), (tip[0] + 40, tip[1] - 400)])
    assert v_tip(replace(one, placed=((v, line, beside),))) == []


def test_lines_in_a_ring_cannot_be_sewn_straight(tunic):
    view = tunic.view("front")
    corners = {"a": ((-150, -300), (50, -300)), "b": ((50, -400), (50, -200)), "c": ((150, -200), (-50, -200)),
               "d": ((-50, -100), (-50, -300))}  # fmt: skip
    placed = tuple(
        (view, replace(level(), id=name, name=name), paths.polyline(points)) for name, points in corners.items()
    )
    (found,) = sewing_order(replace(seen(tunic), placed=placed))
    assert (found.grade, found.figure) == (Grade.WARN, "4 seams that end on each other")
    assert sewing_order(replace(seen(tunic), placed=placed[:3])) == []


def test_layers_where_lines_cross(tunic):
    across = level()
    upright = branch(End("shoulder", "neck", 60.0, "left"), End("hem", "hem", 200.0, "left"), 2)
    (found,) = layers_at_junctions(seen(tunic, across, upright))
    # where four panels cross 4 pressed open, 7 nested, 9 all one way (derived)
    assert found.figure == "4 layers pressed open, 7 nested, 9 all one way"
    assert found.grade is Grade.NOTE
    felt = cloth("felt", thickness=known(3.0, "mm"))
    worn = replace(tunic, lines=(across, upright), fabrics=(felt,))
    thick = scene(worn, Colourway("A", "", dict.fromkeys(frame_of(worn).panels, "felt")))
    (found,) = layers_at_junctions(thick)
    assert (found.grade, found.figure.endswith("12 mm even pressed open")) == (Grade.WARN, True)  # 4 × 3 mm
    stem = branch(End("hem", "hem", 150.0, "left"), End("line-1", "start", 150.0, "left"), 3)
    assert layers_at_junctions(seen(tunic, across, stem)) == []  # a T: 4 and 7


def test_an_end_among_seams_says_layers_and_a_better_distance(tunic):
    (found,) = bulk(seen(tunic, level(10.0)))
    # a new seam into an underarm cross 6 and 13; it is 10 mm away, within both reaches
    assert "6 layers lie on each other with seams pressed open, 13 with all pressed one way" in found.advice
    assert (found.line, found.end, found.better_mm) == ("line-1", "start", 35.0)
    (farther,) = bulk(seen(tunic, level(20.0)))  # within 15 + 15 pressed open, beyond 15 pressed one way
    assert "6 layers lie on each other with seams pressed open, 9 with all pressed one way" in farther.advice
    assert bulk(seen(tunic, level(found.better_mm))) == []


def test_findings_of_lines_for_the_page_that_draws_them(tunic):
    found = line_findings(replace(tunic, lines=(level(20.0), level(200.0, number=2, name="low"))))
    assert [(f.finding.code, f.finding.line, f.finding.better_mm) for f in found] == [("bulk", "line-1", 35.0)]
    assert found[0].said.text.startswith("20 mm from the underarm")
    assert line_findings(replace(tunic, lines=())) == ()


def test_all_that_is_not_known_of_one_cloth_is_one_line():
    a, b = cloth("felt", (20.0, 0.0, 0.0)), cloth("lawn", (90.0, 0.0, 0.0), bleeds=known(False))
    one = made(a, b)
    found = [f for f in check(replace(one, views=(VIEW,))) if f.grade is Grade.CANNOT_TELL]
    lines = [line for line in spoken(found) if line.grade is Grade.CANNOT_TELL]
    assert sum(line.text.startswith("Felt:") for line in lines) == 1
    assert len(lines) <= 3
    assert len(found) > 8
    felt = next(line for line in lines if line.text.startswith("Felt:"))
    assert "weight" in felt.text
    assert any("Weigh the swatch" in more for more in felt.more)


def test_the_screen_says_it_in_a_sewists_words():
    dark = cloth("madder", (20.0, 60.0, 30.0), bleeds=known(True), care=known({"wash": "60", "iron": "hot"}))
    pale = cloth("oat", (90.0, 0.0, 5.0), show_through=known(True), care=known({"wash": "hand wash", "iron": "cool"}))
    alike = made(cloth("a", (50.0, 0.0, 0.0)), cloth("b", (52.0, 0.0, 0.0)))
    for one in (made(dark, pale), made(cloth("madder", (20.0, 60.0, 30.0)), pale), alike):
        for line in spoken(check(replace(one, views=(VIEW,)))):
            for text in (line.text, line.where, line.origin, *line.more):
                assert not HANDBOOKS.search(text), text
    for limit in DEFAULTS.values():
        assert not HANDBOOKS.search(limit_words(limit))
        assert not HANDBOOKS.search(source_words(limit.source))
        assert source_words(limit.source) != "", limit


def test_a_limit_of_ones_own_says_so_on_the_screen():
    table = limits({"weight-ratio": 1.2})
    heavy, light = cloth("felt", weight=known(130.0, "g/m²")), cloth("lawn", weight=known(100.0, "g/m²"))
    from mockup.checks.weight import weight

    (found,) = weight(made(light, heavy, limits=table))
    assert found.source == "yours"
    assert origin_words(found).endswith("You set this limit.")
    with pytest.raises(InputError, match="limit"):
        limits({"weight-ratio": float("inf")})


def test_a_finding_tells_programs_what_it_knows():
    f = Finding("x", Grade.WARN, Place("here", "front", (1.0, 2.0)), "1", "2", "s", "a", line="line-1", better_mm=3.0)
    assert f.to_json() == {
        "code": "x", "grade": "warn", "place": "here", "figure": "1", "limit": "2", "source": "s", "advice": "a",
        "view": "front", "point_px": [1.0, 2.0], "line": "line-1", "better_mm": 3.0,
    }  # fmt: skip
