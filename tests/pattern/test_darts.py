"""Darts: lengths with them closed, their caps, and lines over them, checked by hand arithmetic and by folding paper."""

import dataclasses

import numpy as np
import pytest
from tunic import half, sleeve

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.offset import end_tangents, start_tangents, turn
from mockup.geometry.path import Path
from mockup.pattern.allowance import cut_outline
from mockup.pattern.anchors import anchored
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.dart_notches import gathered
from mockup.pattern.darts import (
    drawn_at,
    leg_notches,
    openings,
    sewn_at,
    sewn_length,
    sewn_path,
    turned_about,
    with_dart,
)
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Notch, Piece, mirrored
from mockup.pattern.proof import distances_to
from mockup.pattern.unfold import unfolded
from mockup.pattern.walk import walk
from mockup.split.split import Anchor
from swatches.errors import GeometryError
from ui.questions.pieces_drawn import drawn_pieces


def skirt():
    """A skirt's quarter, 250 × 600 mm, waist above: counter-clockwise hem, side, waist, centre."""
    points = [(0, 0), (250, 0), (250, 600), (0, 600)]
    names = ["hem", "side", "waist", "centre"]
    edges = tuple(
        Edge(name, paths.polyline([points[k], points[(k + 1) % 4]]), EdgeKind.SEAM, 10.0)
        for k, name in enumerate(names)
    )
    return Piece("skirt", edges, grainline=((125, 100), (125, 500)))


def with_waist_dart(width=30.0, depth=120.0, **more):
    return with_dart(skirt(), "waist dart", "waist", 110.0, width, depth, **more)


def line(*points, name="yoke", **more):
    return CutLine(name, name, paths.polyline(points), **more)


def fan(width, depth):
    """The dart's half angle, in radians."""
    return np.arctan(width / 2 / depth)


@pytest.mark.parametrize(("width", "depth"), [(30.0, 120.0), (80.0, 90.0)])
def test_both_legs_are_notched_out_to_the_cut_line_and_the_point_is_marked(width, depth):
    # common practice, no source: notches where the legs meet the cut edge, a mark at the point
    piece = with_waist_dart(width, depth)
    edges = tuple(dataclasses.replace(e, allowance_mm=12.0) for e in piece.edges)
    piece = piece.with_(edges=edges)
    strokes = leg_notches(piece)
    assert len(strokes) == 2
    cut = cut_outline(piece).path
    for stroke, end in zip(strokes, openings(piece, piece.darts[0]), strict=True):
        assert distances_to(cut, np.array([stroke.end]))[0] < 0.05, "it reaches the cut line, where this has its corner"
        assert distances_to(stroke, np.array([end]))[0] < 1e-6, "over the stitch line"
    (drawn,) = drawn_pieces([piece])["pieces"]
    assert len(drawn["notches"]) == 2
    assert len(drawn["marks"]) == 2, "the legs, and the point"


def test_lengths_are_with_the_dart_closed():
    # Derived: a waist of 250 mm with a dart of 30 mm is sewn 220 mm long.
    piece = with_waist_dart()
    assert sewn_length(piece, "waist") == pytest.approx(220, abs=1e-9)
    assert sewn_length(piece, "hem") == 250
    for sewn in (0.0, 50.0, 109.0, 111.0, 219.0):
        assert sewn_at(piece, "waist", drawn_at(piece, "waist", sewn)) == pytest.approx(sewn)
    assert paths.length(sewn_path(piece, "waist")) == pytest.approx(220, abs=1e-9)
    # 150 mm along the sewn waist, which runs from the side: 40 mm behind the dart on the paper.
    assert anchored(Anchor("waist", "side", 150.0), None, piece, "line") == pytest.approx((250 - 180, 600), abs=1e-9)
    with pytest.raises(GeometryError, match="0 to 220"):
        anchored(Anchor("waist", "side", 230.0), None, piece, "line")


def test_the_cap_lies_on_the_edge_when_it_is_folded():
    # Folded: the cloth between the first leg and the fold is mirrored about the first leg, and must lie on the waist.
    piece = with_waist_dart()
    dart = piece.darts[0]
    edge = paths.flatten(piece.edge("waist").path, 0.01).points
    at = np.r_[0, np.cumsum(np.linalg.norm(np.diff(edge, axis=0), axis=1))]
    across = edge[(at > dart.from_mm + 1e-6) & (at < dart.to_mm - 1e-6)]
    first, second = openings(piece, dart)
    tip = np.array(dart.tip)
    peak = across[np.argmax(across[:, 1])]
    assert peak[0] == pytest.approx(125, abs=1e-6)  # on the fold
    # By hand: the waist mirrored about a leg at half angle φ meets the fold at height depth · (1 + tan² 2φ … ) as a
    # reflected straight line does: leg length · cos φ' with φ' the angle beyond; here from the mirrored point itself.
    way = (first - tip) / np.linalg.norm(first - tip)
    back = tip + (2 * np.outer(way, way) - np.eye(2)) @ (peak - tip)
    assert back[1] == pytest.approx(600, abs=1e-9)
    assert back[0] > first[0]  # on the first leg's side
    assert np.linalg.norm(first - tip) == pytest.approx(np.linalg.norm(second - tip))


@pytest.mark.parametrize(("width", "depth", "up"), [(30.0, 120.0, 540.0), (20.0, 150.0, 500.0), (40.0, 100.0, 560.0)])
def test_a_level_yoke_over_a_dart(width, depth, up):
    # Derived. At height h above the tip the dart is h / depth · width wide; the yoke above the line loses the wedge,
    # whose area is (1 − (h/depth)²) of the triangle's, caps aside; below it the dart stays, h deep.
    piece = with_waist_dart(width, depth)
    h = up - (600 - depth)
    result = cut_piece(piece, [line((-10, up), (260, up))], 10)
    assert result.proof.ok, result.proof.sentence
    below, yoke = sorted(result.children, key=lambda c: -c.finished_area_mm2)
    assert yoke.darts == ()
    (dart,) = below.darts
    leg = np.linalg.norm(openings(below, dart)[0] - np.array(dart.tip))
    # Where it is trued over the dart the line is a little off the drawn height: no more than a curve over 60 mm to
    # either side that turns by the dart's angle can be.
    assert abs(leg - h / np.cos(fan(width, depth))) < 60 * np.tan(fan(width, depth)) / 2
    assert sewn_length(below, "yoke") == pytest.approx(sewn_length(yoke, "yoke"), abs=1e-9)
    row = next(r for r in walk(result.children).rows if "yoke" in r.one[0])
    assert row.difference_mm < 1e-9
    assert row.notches_apart_mm == pytest.approx(0, abs=1e-9)
    # Derived: where the waist was straight it now has a point of twice the half angle.
    assert f"waist bends by {np.degrees(2 * fan(width, depth)):.0f}° where the dart was" in " ".join(result.notes)
    # The yoke's waist is sewn length, without a dart.
    assert paths.length(yoke.edge("waist").path) == pytest.approx(250 - width, abs=1e-9)
    # Sewn, the seam has no point: not even a hundredth of a degree.
    seam = yoke.edge("yoke").path.cubics
    assert np.abs(np.degrees(turn(end_tangents(seam[:-1]), start_tangents(seam[1:])))).max() < 0.01
    for child in result.children:
        assert cut_outline(child).area_mm2 > child.finished_area_mm2


def test_the_line_is_as_drawn_but_near_the_dart():
    piece = with_waist_dart()
    result = cut_piece(piece, [line((0, 540), (250, 540))], 10)
    below = max(result.children, key=lambda c: c.finished_area_mm2)
    points = paths.flatten(below.edge("yoke").path, 0.05).points
    drawn = np.abs(points[:, 0] - 125) > 60 + 15
    assert np.abs(points[drawn, 1] - 540).max() < 1e-9  # the part with the tip stays where it is, on both sides
    assert any("laid with the waist dart folded" in note for note in result.notes)
    # By hand: a straight line at height h above the tip meets both legs at h / cos φ from it.
    legs = [np.linalg.norm(p - np.array([125, 480])) for p in openings(below, below.darts[0])]
    assert legs[0] == pytest.approx(legs[1], abs=1e-9)
    assert legs[0] == pytest.approx(60 / np.cos(fan(30, 120)), abs=4)


def test_two_darts_under_one_line_and_two_lines_over_one_dart():
    piece = with_dart(with_waist_dart(20, 140), "second dart", "waist", 40.0, 16.0, 140.0)
    assert sewn_length(piece, "waist") == pytest.approx(214, abs=1e-9)
    result = cut_piece(piece, [line((-10, 550), (260, 550))], 10)
    assert result.proof.ok, result.proof.sentence
    below, yoke = sorted(result.children, key=lambda c: -c.finished_area_mm2)
    assert sorted(d.name for d in below.darts) == ["second dart", "waist dart"]
    assert yoke.darts == ()
    assert sewn_length(below, "yoke") == pytest.approx(sewn_length(yoke, "yoke"), abs=1e-9)
    banded = cut_piece(
        with_waist_dart(20, 200), [line((-10, 560), (260, 560)), line((-10, 500), (260, 500), name="low")], 10
    )
    assert banded.proof.ok, banded.proof.sentence
    assert sorted(len(c.darts) for c in banded.children) == [0, 0, 1]
    assert walk(banded.children).worst_mm < 1e-9


def test_a_curved_line_over_a_curved_edges_dart_on_a_half():
    piece = with_dart(half(), "bust dart", "side", 330.0, 24.0, 135.0)
    curve = Path(np.array([[(180, -40), (210, 200), (200, 330), (235, 720)]], dtype=float))
    result = cut_piece(piece, [CutLine("panel", "panel", curve)], 15)
    assert result.proof.ok, result.proof.sentence
    front = max(result.children, key=lambda c: c.finished_area_mm2)
    side = next(c for c in result.children if any(e.name == "side" for e in c.edges))
    assert [d.edge for d in front.darts] == ["panel"]
    assert paths.length(side.edge("side").path) == pytest.approx(sewn_length(piece, "side"), abs=1e-9)
    assert side.how != front.how
    # On paper: the folded edge of the front lies on the side panel's edge, run the other way, everywhere.
    folded = sewn_path(front, "panel")
    twin = paths.reversed_path(side.edge("panel").path)
    turn = turned_about(twin.start, twin.start + (twin.end - twin.start), twin.start + (folded.end - folded.start))
    turn[:, 2] += folded.start - twin.start
    laid = paths.transformed(twin, turn)
    assert distances_to(folded, paths.flatten(laid, 0.5).points).max() < 1e-6


def test_children_that_no_line_over_the_dart_concerns_keep_it():
    piece = with_waist_dart()
    low, high = cut_piece(piece, [line((-10, 300), (260, 300))], 10).children
    assert (low.darts, [d.name for d in high.darts]) == ((), ["waist dart"])
    assert sewn_length(high, "waist") == pytest.approx(220)
    beside = cut_piece(piece, [line((60, -10), (60, 610))], 10).children
    assert sorted(len(c.darts) for c in beside) == [0, 1]
    kept = next(c for c in beside if c.darts)
    assert sewn_length(kept, "waist") == pytest.approx(220 - 60)


def test_a_line_into_the_tip_takes_the_dart_as_its_continuation():
    result = cut_piece(with_waist_dart(), [line((125, -10), (125, 480))], 10, allowance_text="10 mm")
    assert result.proof.ok, result.proof.sentence
    assert len(result.children) == 2
    for child in result.children:
        leg = next(e for e in child.edges if e.name.startswith("waist dart"))
        assert paths.length(leg.path) == pytest.approx(np.hypot(120, 15))
        assert leg.allowance_mm == 10


def test_a_line_through_the_tip_leaves_the_dart_on_its_side():
    result = cut_piece(with_waist_dart(), [line((-10, 480), (260, 480))], 10)
    assert result.proof.ok
    assert sorted(len(c.darts) for c in result.children) == [0, 1]


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        (line((0, 500), (126, 610)), "beside the dart"),  # ends in the opening
        (
            line((-10, 598), (260, 598)),
            r"too near to its mouth to be folded, 2(\.\d)? mm from the waist\. Move the line farther from the waist",
        ),
        (CutLine("disc", "yoke", circular_arc((125, 540), 30, 0, 360)), "a closed shape beside it|crosses its legs"),
    ],
)
def test_lines_that_cannot_be_folded_are_refused_with_a_way_out(drawn, words):
    with pytest.raises(GeometryError, match=words) as caught:
        cut_piece(with_waist_dart(), [drawn], 10)
    assert "waist dart" in str(caught.value)
    assert caught.value.place == pytest.approx((125, 480))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("sleeve", 10.0, 20.0, 100.0), "an edge of skirt"),
        (("waist", 240.0, 30.0, 100.0), "an opening within the waist"),
        (("waist", 110.0, 0.0, 100.0), "wider than 0 mm"),
        (("waist", 110.0, 30.0, (10.0, 400.0)), "two legs of one length"),
    ],
)
def test_darts_that_cannot_be_are_refused(given, words):
    with pytest.raises(GeometryError, match=words):
        with_dart(skirt(), "dart", *given)
    with pytest.raises(GeometryError, match="beside other darts"):
        with_dart(with_waist_dart(), "dart", "waist", 100.0, 30.0, 50.0)


def notched(width=40.0, depth=100.0):
    """The same dart as a notch of a bodice's outline, in two legs."""
    points = [
        (0, 0),
        (200, 0),
        (200, 200 - width / 2),
        (200 - depth, 200),
        (200, 200 + width / 2),
        (200, 400),
        (0, 400),
    ]
    names = ["hem", "side", "dart lower", "dart upper", "side 2", "top", "centre"]
    edges = tuple(
        Edge(n, paths.polyline([p, q]), EdgeKind.SEAM)
        for n, p, q in zip(names, points, points[1:] + points[:1], strict=True)
    )
    return Piece("bodice", edges, notches=(Notch("side 2", 30.0), Notch("side", 60.0)))


def test_a_notch_of_the_outline_is_taken_for_a_dart():
    piece = gathered(notched())
    assert [e.name for e in piece.edges] == ["side", "top", "centre", "hem"]
    (dart,) = piece.darts
    assert (dart.edge, dart.tip) == ("side", (100.0, 200.0))
    assert sewn_length(piece, "side") == pytest.approx(360, abs=1e-9)
    assert sorted(sewn_at(piece, n.edge, n.distance_mm) for n in piece.notches) == pytest.approx([60, 210])
    result = cut_piece(notched(), [line((150, -10), (150, 410))], 10)
    assert result.proof.ok
    assert sorted(len(c.darts) for c in result.children) == [0, 1]
    uneven = notched()
    edges = [dataclasses.replace(e, allowance_mm=5.0) if e.name == "side 2" else e for e in uneven.edges]
    assert gathered(uneven.with_(edges=tuple(edges))).darts == ()


def test_darts_follow_when_a_piece_is_mirrored_or_unfolded():
    piece = with_dart(half(), "bust dart", "side", 330.0, 24.0, 135.0)
    flipped = mirrored(piece)
    assert sewn_length(flipped, "side") == pytest.approx(sewn_length(piece, "side"))
    for was, now in zip(openings(piece, piece.darts[0]), reversed(openings(flipped, flipped.darts[0])), strict=True):
        assert now == pytest.approx(was * (-1, 1), abs=1e-9)
    whole, _ = unfolded(piece)
    assert len(whole.darts) == 2
    for side in ("side-left", "side-right"):
        assert sewn_length(whole, side) == pytest.approx(sewn_length(piece, "side"))
    assert sorted(d.tip[0] for d in whole.darts) == pytest.approx([-piece.darts[0].tip[0], piece.darts[0].tip[0]])


def test_a_walk_counts_edges_with_their_darts_closed():
    front = with_dart(half("front"), "bust dart", "side", 330.0, 24.0, 135.0)
    rows = walk([front, half("back"), sleeve()]).rows
    side = next(r for r in rows if r.one == ("front:side",))
    assert side.one_mm == pytest.approx(side.other_mm - 24, abs=1e-6)


def on_the_fold(width=30.0, depth=120.0):
    """The skirt's quarter with its centre, x = 0, on the fold, and a waist dart."""
    centre = dataclasses.replace(skirt().edge("centre"), kind=EdgeKind.FOLD, allowance_mm=0.0)
    piece = skirt().with_(edges=(*skirt().edges[:3], centre), how=HowToCut.ON_FOLD)
    return with_dart(piece, "waist dart", "waist", 110.0, width, depth)


def beyond_the_fold(child):
    """Where a child's cut outline comes to, in mm beyond its fold and on its own side, and the fold's direction."""
    fold = child.edge("centre").path
    way = (fold.end - fold.start) / np.linalg.norm(fold.end - fold.start)
    points = paths.flatten(cut_outline(child).path, 0.001).points - fold.start
    return (points @ np.array([way[1], -way[0]])).max(), way


@pytest.mark.parametrize("turned", [False, True], ids=["to the fold", "from the fold"])
@pytest.mark.parametrize("side", [560, 590])
def test_a_line_over_a_dart_still_meets_the_fold_square(turned, side):
    # By hand: the last handle is level, so the line meets the fold at a right angle, and both cut outlines end on it.
    # Where the yoke is closed, its smaller part is turned about the tip, with the fold where that is the smaller one.
    drawn = Path(np.array([[(250, side), (190, 548), (60, 530), (0, 530)]], dtype=float))
    drawn = paths.reversed_path(drawn) if turned else drawn
    result = cut_piece(on_the_fold(), [CutLine("yoke", "yoke", drawn)], 10)
    assert result.proof.ok, result.proof.sentence
    assert len(result.children) == 2
    for child in result.children:
        beyond, way = beyond_the_fold(child)
        k = [e.name for e in child.edges].index("centre")
        before, after = child.edges[k - 1].path, child.edges[(k + 1) % len(child.edges)].path
        for tangent in (end_tangents(before.cubics[-1:])[0], start_tangents(after.cubics[:1])[0]):
            assert np.degrees(np.arcsin(abs(tangent @ way))) < 1e-6
        assert abs(beyond) <= 1e-6
