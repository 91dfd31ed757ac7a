"""Proposed lines on the clean drawing of the built-in tunic: proportions, checks and costs measured anew."""

from dataclasses import replace

import pytest

from mockup.checks.finding import Grade
from mockup.checks.run import check
from mockup.checks.scene import scene
from mockup.colourways.colourway import Colourway
from mockup.geometry import path as paths
from mockup.journey.suggesting import cloth_for
from mockup.project import Project
from mockup.proposals.lines import propose_lines
from mockup.proposals.proportions import GOLDEN, end_at_height
from mockup.samples import choir
from mockup.stylelines import edges
from mockup.stylelines.anchor import place_line
from mockup.stylelines.carry import SHARED, seam_miss
from swatches.cloth import plain
from swatches.errors import Cancelled, GeometryError, InputError


@pytest.fixture(scope="module")
def tunic(tmp_path_factory, put_tunic):
    return put_tunic(tmp_path_factory.mktemp("tunic"))


@pytest.fixture(scope="module")
def found(tunic):
    return propose_lines(tunic, most=60)


def named(found, kind, words):
    return next(p for p in found.found if p.kind == kind and words in p.reason)


def level_of(tunic, side, line):
    """Height of a line's middle above the hem at the centre, mm, as placed on its view."""
    view = tunic.view(side)
    path = place_line(line, view)
    middle = paths.point_at_distance(path, paths.length(path) / 2)
    return float(middle[1] - edges.centre_line(view).end[1])


def test_no_new_seam_comes_first_and_costs_nothing(found):
    first = found.found[0]
    assert (first.kind, first.lines, first.new) == ("no new seam", (), ())
    assert (first.cost.seams, first.cost.seam_cm, first.cost.cloth_cm2) == (0, 0.0, 0.0)
    assert {p.part for p in first.panels} >= {"body", "sleeve", "pocket"}


def test_different_kinds_come_before_a_second_of_one_kind(found):
    kinds = [p.kind for p in found.found]
    assert len(set(kinds)) >= 10
    assert len(set(kinds[: len(set(kinds))])) == len(set(kinds))


def test_proportions_are_where_they_say(tunic, found):
    # the built-in draft is 726 mm long at the centre back (its own measure, draft.py)
    whole = paths.length(edges.centre_line(tunic.view("back")))
    assert whole == pytest.approx(choir.MEASURES["back"][1], abs=0.5)
    for kind, words, share in (
        ("yoke", "at a quarter of", 0.25),
        ("yoke", "0.38 (golden section)", 1 - GOLDEN),
        ("curved yoke", "at a third of", 1 / 3),
    ):
        front, back = named(found, kind, words).lines
        for side, line in (("front", front), ("back", back)):
            # ends are in whole mm along an edge that may run slantwise there, and a back armhole is shaped differently
            assert level_of(tunic, side, line) == pytest.approx((1 - share) * whole, abs=3.0), (kind, words, side)
    band = named(found, "hem band", "a third of")
    assert band.lines[0].end.distance_mm == round(whole / 3)


def test_the_golden_section_is_the_golden_section():
    # (√5 − 1) / 2: the larger part is to the smaller as the whole is to the larger
    assert abs(GOLDEN - 0.6180339887) < 1e-10
    assert abs(GOLDEN / (1 - GOLDEN) - 1 / GOLDEN) < 1e-12


def test_each_passes_the_checks_of_lines(tunic, found):
    for proposal in [*found.found[2:20:8], *[p for p in found.found if p.moved_mm][:2]]:
        looked_at = scene(replace(tunic, lines=proposal.lines), Colourway("A"))
        codes = {f.code for f in check(looked_at) if f.grade in (Grade.STOP, Grade.WARN)}
        assert not codes & {"bulk", "tight-curve", "sliver", "kink"}, proposal.name


def test_what_crowds_the_underarm_is_moved_and_says_so(found):
    # a third of the centre back lies at the underarm of this tunic
    third = named(found, "yoke", "at a third of")
    assert 0 < abs(third.moved_mm) <= 45
    assert f"Moved {abs(third.moved_mm):g} mm" in third.reason
    assert "from the underarm, where seams meet (limit 35 mm)" in third.reason
    first_yoke = next(p for p in found.found if p.kind == "yoke")
    assert first_yoke.moved_mm == 0.0


def test_shares_and_costs_add_up(tunic, found):
    for proposal in found.found:
        assert sum(p.share for p in proposal.panels) == pytest.approx(1.0, abs=1e-6)
        size = sum(paths.length(place_line(x, tunic.view(x.side), proposal.lines)) for x in proposal.lines)
        assert proposal.cost.seam_cm == pytest.approx(size / 10)
        assert proposal.cost.seams == len(proposal.lines)
        # a line of 500 mm with 10 mm allowance takes 100 cm², so 15 mm take 3 cm² a cm of seam
        assert proposal.cost.cloth_cm2 == pytest.approx(3.0 * proposal.cost.seam_cm)


def test_front_and_back_meet_at_the_side_seam(tunic, found):
    met = 0
    for proposal in found.found:
        by_id = {line.id: line for line in proposal.lines}
        for line in (x for x in proposal.lines if x.carries):
            other = by_id[line.carries]
            ends = {(e.edge, e.side, e.landmark, e.distance_mm) for e in (other.start, other.end)}
            shared = [e for e in (line.start, line.end) if e.edge in SHARED]
            assert shared
            assert all((e.edge, e.side, e.landmark, e.distance_mm) in ends for e in shared), proposal.name
            if (line.start.edge, line.start.side) == (other.start.edge, other.start.side):
                assert seam_miss(line, other, tunic.view(line.side), tunic.view(other.side)) < 0.01
            met += 1
    assert met >= 10


def test_lines_that_are_there_can_be_kept(tunic):
    drawn = replace(tunic, lines=choir.LINES)
    found = propose_lines(drawn, keep_lines=True, most=60)
    assert len(found.left_out) + len(found.found) - 1 == found.tried
    assert any("mm at its widest" in against for against in found.left_out.values())
    assert found.found[0].lines == choir.LINES
    for proposal in found.found[1:]:
        assert proposal.lines[: len(choir.LINES)] == choir.LINES
        assert not {line.id for line in choir.LINES} & set(proposal.new)
        assert len({line.id for line in proposal.lines}) == len(proposal.lines)


def test_no_words_of_praise(found):
    text = " ".join(p.name + p.reason + " ".join(p.advice) for p in found.found).lower()
    for word in ("flatter", "slim", "best", "beautiful", "pleasing", "ideal", "elegant"):
        assert word not in text


def test_a_design_is_shown_in_the_cloths_of_a_choice(tunic, found):
    fabrics = tuple(plain(n, n, colour) for n, colour in (("pine", "#1d4236"), ("oat", "#cbb592"), ("sky", "#7fa6c9")))
    choice = Colourway("A", "", {"front-1": "pine", "back-1": "oat"})
    project = replace(tunic, fabrics=fabrics, colourways=(choice,))
    design = named(found, "yoke", "a quarter")
    worn = cloth_for(project, design, "A")
    assert set(worn) == {p.id for p in design.panels}
    assert set(worn.values()) == {"pine", "oat"}
    assert worn["front-1"] != worn["front-2"]
    assert worn["sleeve-1L"] == worn["sleeve-1R"]
    assert cloth_for(tunic, design) == {}
    one = replace(project, fabrics=fabrics[:1])
    assert set(cloth_for(one, design).values()) == {"pine"}


def test_a_height_that_no_edge_reaches_is_refused(tunic):
    with pytest.raises(GeometryError, match="side seam or armhole"):
        end_at_height(tunic.view("front"), 1.5, 700.0)


def test_nothing_to_propose_on_and_being_stopped(tunic, stopped):
    with pytest.raises(InputError, match="drawing or a photo"):
        propose_lines(Project("empty"))
    with pytest.raises(Cancelled):
        propose_lines(tunic, job=stopped(2))


def test_a_front_alone_is_enough_and_the_answer_is_the_same_every_time(tunic):
    only_front = replace(tunic, views=(tunic.view("front"),))
    found = propose_lines(only_front, most=4)
    assert propose_lines(only_front, most=60).found[:4] == found.found
    assert len(found.found) == 4
    assert "of the length of the centre front" in found.found[1].reason
    assert {line.side for p in found.found for line in p.lines} == {"front"}
