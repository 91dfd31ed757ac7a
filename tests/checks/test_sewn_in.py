"""Lines that meet a dart, a pleat, a pocket or an opening: flagged at the place, and moved where they keep clear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from mockup.checks.finding import Grade
from mockup.checks.of_lines import line_findings
from mockup.checks.sewn_in import detail_lines
from mockup.files import project_file, svg
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.journey.cutting import keep_pieces
from mockup.journey.sewn_in import add_detail, with_darts
from mockup.pattern.darts import with_dart
from mockup.pattern.piece import counter_clockwise
from mockup.project import Closure
from mockup.proposals.mend import mends
from mockup.samples import choir
from mockup.stylelines import edges
from mockup.stylelines.anchor import place_line
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError, InputError


@pytest.fixture(scope="module")
def tunic(tmp_path_factory, put_tunic):
    folder = tmp_path_factory.mktemp("tunic")
    return folder, put_tunic(folder)


def level(down):
    """A line from side to side, ``down`` mm below the underarm."""
    return StyleLine(
        "line-1", "band", "front", LineKind.STRAIGHT, End("side", "underarm", down, "left"),
        End("side", "underarm", down, "right"),
    )  # fmt: skip


def share_of(view, across, below_underarm):
    """A place by mm from the middle (wearer's left) and below the underarm, in shares of the body."""
    _, y = edges.end_point(End("side", "underarm", 0.0, "left"), view)
    return edges.mm_to_shares(view, (edges.body_box(view)[0] + edges.left_sign(view) * across, y - below_underarm))


def of(project, code):
    return [f.finding for f in line_findings(project) if f.finding.code == code]


@pytest.mark.parametrize("kind", ["dart", "pleat", "pocket", "closure"])
def test_a_line_over_what_is_marked_is_flagged_where_it_meets_it_and_moved_off_it(tunic, kind):
    _, project = tunic
    view = project.view("front")
    points = [share_of(view, 120, 100), share_of(view, 120, 160)]
    marked = replace(add_detail(project, "front", kind, points, both=False), lines=(level(130.0),))
    (finding,) = of(marked, kind)
    assert finding.line == "line-1"
    x, y = view.points_to_mm(np.array([finding.place.point]))[0]
    assert x - edges.body_box(view)[0] == pytest.approx(120, abs=0.5)
    wanted = edges.shares_to_mm(view, share_of(view, 120, 130))[1]
    assert y == pytest.approx(wanted, abs=3.0), "the line runs from one side seam to the other, nearly level"
    assert of(replace(marked, lines=(level(40.0),)), kind) == [], "60 mm above it nothing is met"
    # Moved off it: above it lie the seam's allowance of 15 mm and the margin of 5 mm (our own choice), and no more;
    # below it so much would reach the tunic's own pocket, so the margin alone is kept.
    ways = {m.way: m for m in mends(marked, finding)}
    assert set(ways) == {"above", "below"}, "a line from side to side goes up or down"
    for way, mend in ways.items():
        after = replace(marked, lines=mend.lines)
        assert of(after, kind) == []
        path = place_line(mend.line, view)
        gap = shapely.LineString(paths.flatten(path, 0.2).points).distance(detail_lines(view, marked.details[0]))
        least = 20.0 if way == "above" else 5.0
        assert least <= gap < least + 1.6


def test_a_dart_says_how_far_from_its_tip_and_is_passed_where_one_is_moved_to(tunic):
    _, project = tunic
    view = project.view("front")
    points = [share_of(view, 190, 90), share_of(view, 120, 90)]  # level, from near the side to its tip
    # A level line 88 mm down the side lies beside the dart, 2 to 4 mm from it: within the margin of 5 mm.
    marked = replace(add_detail(project, "front", "dart", points), lines=(level(90.0),))
    assert len(marked.details) == 2, "a dart beside the middle is marked on both sides"
    findings = of(marked, "dart")
    assert len(findings) == 2
    ways = {m.way: m for m in mends(marked, findings[0])}
    assert set(ways) == {"above", "below"}
    for mend in ways.values():
        assert of(replace(marked, lines=mend.lines), "dart") == []
        assert mend.line.start.distance_mm == mend.line.end.distance_mm == mend.end.distance_mm
        assert abs(mend.line.start.distance_mm - 90.0) <= 30, "the nearest step that keeps clear"


def test_a_line_under_a_pocket_may_be_moved_off_it(tunic):
    _, project = tunic
    over = replace(project, lines=(replace(level(0.0), start=End("side", "hem", 210.0, "left"),
                                           end=End("side", "hem", 210.0, "right")),))  # fmt: skip
    finding = of(over, "pocket")[0]
    found = mends(over, finding)
    assert found
    for mend in found:
        assert of(replace(over, lines=mend.lines), "pocket") == []


def upright(across=120.0):
    """A line from the shoulder to the hem on the wearer's left, straight down."""
    return StyleLine(
        "line-1", "princess", "front", LineKind.STRAIGHT, End("shoulder", "neck", 60.0, "left"),
        End("hem", "hem", across, "left"),
    )  # fmt: skip


def test_an_upright_line_goes_aside_of_a_dart(tunic):
    _, project = tunic
    view = project.view("front")
    path = place_line(upright(), view)
    x, y = paths.point_at_distance(path, 300.0)
    dart = [edges.mm_to_shares(view, (x, y + 40.0)), edges.mm_to_shares(view, (x, y - 40.0))]
    marked = replace(add_detail(project, "front", "dart", dart, both=False), lines=(upright(),))
    (finding,) = of(marked, "dart")
    ways = {m.way: m for m in mends(marked, finding)}
    assert {"left", "right"} <= set(ways)
    for way, mend in ways.items():
        assert of(replace(marked, lines=mend.lines), "dart") == []
        moved = place_line(mend.line, view).start[0] - path.start[0]
        assert (moved * edges.left_sign(view) > 0) == (way == "left")


def test_a_shape_over_a_seam_of_the_garment_is_told_which(tunic):
    _, project = tunic
    view = project.view("front")
    x, y = edges.end_point(End("armhole", "underarm", 90.0, "left"), view)
    out = edges.left_sign(view) * 60
    square = ((x - out, y - 30), (x + out, y - 30), (x + out, y + 30), (x - out, y + 30))
    corners = tuple(edges.mm_to_shares(view, p) for p in square)
    nowhere = End("free", "", 0.0)
    ring = StyleLine("line-1", "patch", "front", LineKind.POLYLINE, nowhere, nowhere, corners)
    with pytest.raises(GeometryError, match="runs over a seam onto the left sleeve"):
        place_line(ring, view)


def test_a_line_at_a_zip_is_brought_level_with_the_other_side_or_past_its_end(tunic):
    _, project = tunic
    zipped = replace(project, closures=(Closure("zip", "centre-front", 0.0, 250.0),))
    one = StyleLine(
        "line-1", "left", "front", LineKind.STRAIGHT, End("armhole", "underarm", 60.0, "left"),
        End("centre-front", "neck", 120.0),
    )  # fmt: skip
    other = replace(one, id="line-2", name="right", start=replace(one.start, side="right"),
                    end=End("centre-front", "neck", 140.0))  # fmt: skip
    met = replace(zipped, lines=(one, other))
    finding = next(f for f in of(met, "closure") if f.line == "line-1")
    assert finding.grade is Grade.WARN
    assert "20 mm off" in finding.figure
    ways = {m.way: m for m in mends(met, finding)}
    assert ways["match"].line.end.distance_mm == 140.0
    levelled = [f for f in of(replace(met, lines=ways["match"].lines), "closure") if f.line == "line-1"]
    assert levelled[0].grade is Grade.NOTE, "the other side meets it"
    below = replace(one, start=End("side", "underarm", 60.0, "left"), end=End("centre-front", "neck", 245.0))
    alone = replace(zipped, lines=(below,))
    (finding,) = of(alone, "closure")
    past = {m.way: m for m in mends(alone, finding)}["below"]
    assert past.line.end.distance_mm == pytest.approx(250.0 + 20.0, abs=3.0), "the end of the zip, and room for a seam"
    assert of(replace(alone, lines=past.lines), "closure") == []


def test_darts_of_the_pattern_lie_on_the_picture_where_they_open(tunic):
    folder, project = tunic
    pieces = [counter_clockwise(p) for p in svg.read_pieces(choir.PIECES)]
    front = next(p for p in pieces if p.view == "front" and p.area == "body")
    side = front.edge("side")
    up = side.path.end[1] > side.path.start[1]
    dart = with_dart(front, "bust dart", "side", 300.0, 24.0, 90.0)
    kept, _ = keep_pieces(folder, project, [dart if p is front else p for p in pieces])
    details = with_darts(kept, folder).details
    assert [d.name for d in details] == ["bust dart", "bust dart"], "the half piece stands for both sides of the wearer"
    view = project.view("front")
    points = np.array([edges.shares_to_mm(view, p) for p in details[0].points])
    edge = edges.find_edge(view, "side", "left" if details[0].points[0][0] > 0 else "right")
    # It opens on the picture's side seam, 300 mm along a seam of the pattern that is as long to some percent.
    assert curve.nearest(edge.path, points[0])[2] < 1.0
    assert curve.nearest(edge.path, points[-1])[2] < 1.0
    away = max(curve.nearest(edge.path, p)[2] for p in points)
    assert away == pytest.approx(90.0, rel=0.15), "its tip is as deep"
    high = points[:, 1].mean() - edges.body_box(view)[1]
    along = 300.0 if up else edges.edge_length(view, "side", "left") - 300.0
    assert high == pytest.approx(along, abs=40)
    through = level(edges.edge_length(view, "side", "left") - high)
    assert of(replace(with_darts(kept, folder), lines=(through,)), "dart")
    assert with_darts(project, folder).details == (), "without pieces there is none"


def test_marks_survive_saving_and_what_is_none_is_refused(tunic, tmp_path):
    folder, project = tunic
    marked = add_detail(project, "front", "pleat", [(0.0, 0.6), (0.0, 0.2)])
    assert len(marked.details) == 1, "a pleat in the middle is one"
    project_file.save(marked, folder, over=True)
    assert project_file.load(folder).details == marked.details
    for side, kind, points in (
        ("front", "zigzag", [(0, 0.5), (0, 0.4)]),
        ("inside", "dart", [(0, 0.5), (0, 0.4)]),
        ("front", "dart", [(0, 0.5)]),
        ("front", "dart", [(0, 0.5), (0, float("nan"))]),
        ("front", "dart", [(0.2, 0.5), (0.2, 0.5)]),
        ("front", "dart", [(0.1, 0.5)] * 61),
    ):
        with pytest.raises(InputError):
            add_detail(project, side, kind, points)
