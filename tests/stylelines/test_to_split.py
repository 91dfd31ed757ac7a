import numpy as np
import pytest
from pydantic import TypeAdapter

from mockup.colourways.colourway import Colourway
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.split.split import Anchor, Split
from mockup.stylelines import presets
from mockup.stylelines.carry import carry
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.to_split import make_split


@pytest.fixture
def made(front, back, photo):
    band = presets.hem_band(front, "3 in")[0]
    lines = [band, carry(band, [band], "back", [front, back]), *presets.side_panel(front, 60, 90, first=5)]
    views = [photo, back, front]
    panels = garment_panels(views, lines)
    choice = Colourway("A", fabrics={"front-1": "red wool", "front-2L": "blue", "back-2": "blue"})
    return make_split(views, lines, panels, choice), lines, panels


def test_one_view_a_side_in_mm(made, front):
    split, _, _ = made
    assert [v.name for v in split.views] == ["front", "back"]
    one = split.views[0]
    outline = paths.from_tuples(one.outline)
    assert outline.closed
    assert paths.signed_area(outline) > 0
    assert paths.bounds(outline) == pytest.approx((-320, -610, 320, 120), abs=1e-6)
    assert one.mirror_line == (pytest.approx((0, 0), abs=1e-9), pytest.approx((0, -610)))
    assert one.landmarks["underarm-left"] == pytest.approx((300, -160))
    assert split.views[1].landmarks["underarm-left"] == pytest.approx((-300, 450 - 698))
    assert {e.name for e in one.edges} == {e.name for e in front.edges}
    assert paths.length(paths.joined([paths.from_tuples(e.path) for e in one.edges])) == pytest.approx(
        paths.length(outline)
    )


def test_lines_keep_the_conventions_of_the_split(made):
    split, _, _ = made
    band, left, right = split.views[0].lines
    assert (band.symmetric, band.start, band.start_side) == (True, Anchor("side", "hem", pytest.approx(76.2)), None)
    assert band.end == Anchor("centre-front", "hem", pytest.approx(76.2))
    whole = paths.from_tuples(band.path)
    assert whole.start[0] == pytest.approx(-whole.end[0])
    assert (left.start_side, right.end_side, left.symmetric) == ("left", "right", False)
    assert left.start == Anchor("armhole", "underarm", 60)
    other = split.views[1].lines[0]
    assert other.start == band.start
    assert other.end == Anchor("centre-back", "hem", pytest.approx(76.2))


def test_panels_carry_number_side_area_and_cloth(made):
    split, _, panels = made
    for view in split.views:
        assert [(p.id, p.number, p.side, p.area) for p in view.panels] == [
            (p.id, p.number, p.side, p.part) for p in panels[view.name]
        ]
    by_id = {p.id: p for v in split.views for p in v.panels}
    assert by_id["front-1"].fabric == "red wool"
    assert by_id["front-2L"].fabric == "blue"
    assert by_id["front-2R"].fabric is None
    assert by_id["sleeve-1L"].area == "sleeve"
    # panels are bounded by the very lines
    line = paths.from_tuples(split.views[0].lines[1].path)
    away = [curve.nearest(paths.from_tuples(by_id["front-2L"].outline), p)[2] for p in paths.flatten(line, 1).points]
    assert min(away) < 1e-6


def test_the_distance_in_the_anchor_is_where_the_path_begins(made):
    split, _, _ = made
    for view in split.views:
        named = {e.name: paths.from_tuples(e.path) for e in view.edges}
        for line in view.lines:
            side = line.start_side or "left"
            edge = named[f"{line.start.edge}-{side}"]
            segment, t, away = curve.nearest(edge, paths.from_tuples(line.path).start)
            assert away < 1e-9
            at = paths.distance_at(edge, segment, t)
            mark = np.array(view.landmarks[f"{line.start.start}-{side}"])
            from_start = np.hypot(*(mark - edge.start)) < 1e-6
            assert (at if from_start else paths.length(edge) - at) == pytest.approx(line.start.distance_mm, abs=1e-9)


def test_the_split_survives_json(made):
    adapter = TypeAdapter(Split)
    text = adapter.dump_json(made[0], by_alias=True)
    assert adapter.validate_json(text) == made[0]
    assert text == adapter.dump_json(adapter.validate_json(text), by_alias=True)


def test_without_a_choice_no_cloth_is_named(front):
    split = make_split([front], [], garment_panels([front], []))
    assert all(p.fabric is None for p in split.views[0].panels)
