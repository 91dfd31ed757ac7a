"""Darts drawn with both legs are sewn into the body: they are no areas, and the waist runs on over them.

The drawings are made here from millimetres, so that all places are known; no outside source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_drawings import bezier, line
from sewn_garments import Sewn, both, over

from mockup import journey
from mockup.files import project_file
from mockup.garment.drawing import view_from_drawing
from mockup.garment.picture_svg import read_svg_drawing
from mockup.journey.sewn_in import remove_detail
from mockup.proposals.proportions import designs
from mockup.stylelines import edges, presets
from mockup.stylelines.anchor import place_line
from swatches.errors import GeometryError, InputError
from swatches.photo import write_png

WAIST, HEM, LONG = 180.0, 300.0, 560.0
DEEP, WIDE, AT = 95.0, 24.0, 90.0
SIDE = bezier([WAIST, 0], [WAIST + 50, 150], [HEM - 10, LONG - 200], [HEM, LONG])


SKIRT_LINES = [  # what a top counts from shoulder, armhole and underarm, a skirt counts from its waist
    (presets.yoke, (120,), 1), (presets.band, (60, 80), 2), (presets.side_panel, (60, 90), 2),
    (presets.centre_panel, (40, 260), 2), (presets.princess, (60, 150), 2), (presets.diagonal, (120, 150), 1),
    (presets.chevron, (60, 330), 1),
]  # fmt: skip


def waist_y(x):
    return 22.0 * (1 - (x / WAIST) ** 2)


def skirt(*more):
    """Half a skirt and its mirror image, and more strokes on the right half, which are mirrored too."""
    waist = over([(x, waist_y(x)) for x in np.linspace(0, WAIST, 30)])
    hem = over(bezier([0, LONG + 20], [120, LONG + 20], [HEM - 100, LONG + 10], [HEM, LONG]))
    return Sewn([waist, *both(SIDE), hem, *both(*more)], {}, LONG, ["body"])


def wedge(x=AT, wide=WIDE, deep=DEEP):
    a, b = x - wide / 2, x + wide / 2
    return np.array([(a, waist_y(a)), (x, waist_y(x) + deep), (b, waist_y(b))])


def spindle(x=AT, top=120.0, high=190.0, wide=20.0):
    half = top + high / 2
    return np.array([(x, top), (x + wide / 2, half), (x, top + high), (x - wide / 2, half), (x, top)])


def read(drawing, tmp_path, how):
    if how == "scan":
        return view_from_drawing(drawing.scan(1.3), name="front", side="front", picture="front.png")
    file = tmp_path / "front.svg"
    file.write_bytes(drawing.svg(1.3))
    return view_from_drawing(read_svg_drawing(file), name="front", side="front", picture="front.png")


@pytest.mark.parametrize("how", ["scan", "svg"])
def test_darts_at_the_waist_are_no_areas_and_the_waist_runs_on(tmp_path, how):
    drawing = skirt(wedge(), spindle(x=140.0, top=200.0))
    drawn = read(drawing, tmp_path, how)
    assert [a.part for a in drawn.view.areas] == ["body"]
    assert "waist-left" in drawn.view.landmarks, "with areas in its way the waist was taken for a neck"
    assert len(drawn.darts) == 4
    assert "darts" in drawn.warnings[0]
    wedges = [d for d in drawn.darts if len(d) == 3]
    for side, legs in zip((1, -1), sorted(wedges, key=lambda d: -d[1, 0]), strict=True):
        tip = drawing.to_px([(side * AT, waist_y(AT) + DEEP)], 1.3)[0]
        assert np.hypot(*(legs[1] - tip)) < 9.0, "within a fourteenth of its depth, where the legs run together in ink"
        assert abs(legs[:, 0].mean() - tip[0]) < 3
    tips = [d for d in drawn.darts if len(d) == 5]
    assert all(abs(np.ptp(d[:, 1]) - 190 * 1.3) < 0.12 * 190 * 1.3 for d in tips)
    for make, measures, lines in SKIRT_LINES:
        made = make(drawn.view, *measures)
        assert len(made) == lines
        for each in made:
            assert place_line(each, drawn.view, made).start is not None
            assert each.start.edge in ("side", "waist")
            assert each.start.landmark in ("waist", "waist-centre")
    proposed = list(designs(drawn.view, LONG, "the centre front"))
    assert {d.kind for d in proposed} >= {"yoke", "band", "side panels", "centre panel", "princess lines", "chevron"}
    for design in proposed:
        assert not any(word in design.reason for word in ("neck", "shoulder", "armhole")), "a skirt has none"
        made = design.make(1, 0.0)
        assert all(place_line(each, drawn.view, made).start is not None for each in made)
    with pytest.raises(GeometryError, match="with neck"):
        presets.raglan(drawn.view, 40, 60)
    waist = edges.find_edge(drawn.view, "waist", None)
    assert waist.length / drawn.view.mm_per_px / 1.3 == pytest.approx(2 * WAIST, rel=0.03), "the waist is whole"


def test_what_only_looks_a_little_like_a_dart_stays_an_area(tmp_path):
    drawing = skirt(
        np.array([(100, LONG + 22), (115, LONG - 140), (135, LONG + 20)]),  # a godet opens at the hem
        line([150, waist_y(150) - 1], SIDE[34]),  # a slanting pocket: one leg along the waist, one along the side
        np.array([(60, 170), (76, 170), (76, 260), (60, 260), (60, 170)]),  # a welt is as wide at its ends
        wedge(x=100.0, wide=70.0, deep=90.0),  # a gore at the waist is wide
    )
    drawn = read(drawing, tmp_path, "scan")
    assert drawn.darts == ()
    assert len(drawn.view.areas) + max(len(drawn.view.sections) - 1, 0) == 9


def test_one_dart_without_a_twin_stays_an_area_and_the_person_has_the_last_word(tmp_path):
    alone = skirt()
    alone.strokes.append(wedge())
    assert len(read(alone, tmp_path, "scan").view.areas) == 2
    picture = tmp_path / "front.svg"
    picture.write_bytes(skirt(wedge()).svg(1.3))
    folder = tmp_path / "skirt"
    project = journey.new_project(folder, picture)
    assert [(d.kind, d.side, len(d.points)) for d in project.details] == [("dart", "front", 3)] * 2
    assert sorted(np.sign([d.points[1][0] for d in project.details])) == [-1, 1], "one on each side of the wearer"
    project_file.save(project, folder)
    kept = project_file.load(folder)
    again = journey.read_again(folder, kept, "front", darts_are_areas=True)
    assert again.details == ()
    assert len(again.view("front").areas) == 3
    back = journey.read_again(folder, again, "front")
    assert len(back.view("front").areas) == 1
    assert back.details == project.details

    # Lines that count from the waist keep the drawing from being read so that there is none: they are named.
    drawn_on = back
    for each in presets.princess(back.view("front"), 60, 150):
        drawn_on = drawn_on.put_line(each)
    labels = (folder / "pictures" / "front-labels.png").read_bytes()
    with pytest.raises(
        InputError, match=r"none for 2 lines, since no waist is found in it. Remove 'princess line, left' and 'princess"
    ):
        journey.read_again(folder, drawn_on, "front", darts_are_areas=True)
    assert (folder / "pictures" / "front-labels.png").read_bytes() == labels, "nothing is written then"

    # A dart that the person took away is none from then on, and the other one stays.
    one = remove_detail(back, back.details[0].id)
    project_file.save(replace(one, revision=kept.revision), folder)
    again = journey.read_again(folder, project_file.load(folder), "front", line_px=3.0)
    assert [d.points[1][0] > 0 for d in again.details] == [d.points[1][0] > 0 for d in project.details[1:]]
    laid_again = journey.put_drawing(folder, again, side="front", picture=picture)
    assert len(laid_again.details) == 1
    assert len(laid_again.view("front").areas) == 1


def test_a_drawing_on_its_side_is_told_by_its_areas_alone(tmp_path):
    upright, lying = (tmp_path / f"{word}.png" for word in ("upright", "lying"))
    scan = skirt().scan(0.8)
    write_png(upright, scan)
    write_png(lying, np.ascontiguousarray(np.rot90(scan)))
    assert "on its side" in journey.regions_of(lying).warnings[-1]
    assert not [w for w in journey.regions_of(upright).warnings if "side" in w]
