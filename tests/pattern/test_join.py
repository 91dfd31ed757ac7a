"""Joining: cut then join gives the piece; two panels made one piece; gaps measured, closed, or refused."""

import dataclasses

import numpy as np
import pytest
import shapely
from tunic import cubic, half

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.path import Path
from mockup.geometry.ruler import Ruler
from mockup.journey.joining import Join, one_join
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.darts import sewn_length, with_dart
from mockup.pattern.join import join
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece, mirrored, moved
from mockup.pattern.proof import rejoin_error
from mockup.pattern.seam_fit import evenly_laid, fit, kabsch
from mockup.pattern.unfold import unfold
from mockup.split.split import Anchor
from swatches.errors import GeometryError


def square(name, x, width=100.0, height=200.0, bulge=0.0, **more):
    """A rectangle whose right edge (left edge, for one at x > 0) may bulge."""
    left = cubic((x, height), (x + bulge, 2 * height / 3), (x + bulge, height / 3), (x, 0))
    edges = (
        Edge("bottom", paths.polyline([(x, 0), (x + width, 0)]), allowance_mm=10),
        Edge("right", paths.polyline([(x + width, 0), (x + width, height)]), allowance_mm=10),
        Edge("top", paths.polyline([(x + width, height), (x, height)]), allowance_mm=10),
        Edge("left", left, allowance_mm=10),
    )
    return Piece(name, edges, grainline=((x + 10, 20), (x + 10, 180)), **more)


@pytest.mark.parametrize("upright", [False, True])
def test_cut_then_join_gives_the_piece(upright):
    # cut, then join again, gives the original within 1e-6 mm.
    piece = half()
    points = (
        [(-5, 200), (100, 260), (200, 120), (310, 200)]
        if not upright
        else [(150, -50), (120, 200), (180, 500), (150, 900)]
    )
    line = CutLine("swoop", "swoop", Path(np.array([points], dtype=float)))
    a, b = cut_piece(piece, [line], 15).children
    result = join(a, "swoop", b, "swoop")
    assert result.fit.apart_mm <= 1e-6
    assert not result.fit.mirror
    assert result.proof.ok, result.proof.sentence
    assert rejoin_error(piece.outlines, [result.piece.outlines]) <= 1e-6
    assert sorted(e.name for e in result.piece.edges) == sorted(e.name for e in piece.edges)
    assert result.piece.how is HowToCut.ON_FOLD
    for edge in result.piece.edges:
        parent = piece.edge(edge.name)
        assert paths.length(edge.path) == pytest.approx(paths.length(parent.path), abs=1e-6)
        assert (edge.start_name, edge.end_name, edge.mate) == (parent.start_name, parent.end_name, parent.mate)
    assert result.notes == ()


def shoulder_panels():
    """The upper panels of front and back, from the neck to the armhole: each one of a pair."""
    panels = []
    for piece in (half("front"), half("back")):
        neck, armhole = (
            paths.point_at_distance(piece.edge(n).path, d) for n, d in (("neck", 60.0), ("armhole", 150.0))
        )
        line = CutLine("yoke", "yoke", paths.polyline([neck, armhole]), Anchor("neck", "neck", 60.0))
        children = cut_piece(piece, [line], 15).children
        panels.append(next(c for c in children if c.how is HowToCut.PAIR))
    return panels


def test_upper_panels_lose_the_seam_that_they_share():
    # Panels on front and back whose shared seam, the shoulder, is removed, so that one piece is
    # cut from one scrap. Both are drawn at +x, a front's left and a back's right, so the back is mirrored.
    front, back = shoulder_panels()
    result = join(front, "shoulder", back, "shoulder", name="shoulder yoke")
    assert result.fit.mirror
    assert result.fit.apart_mm < 1e-6  # the two shoulder seams are as long, and straight
    assert result.piece.how is HowToCut.PAIR
    areas = front.finished_area_mm2 + back.finished_area_mm2
    assert result.piece.finished_area_mm2 == pytest.approx(areas, rel=1e-9)
    assert result.proof.ok, result.proof.sentence
    names = {e.name for e in result.piece.edges}
    assert names == {"neck-front", "neck-back", "armhole-front", "armhole-back", "yoke-front", "yoke-back"}
    # A notch is left at each end of the seam that is gone, where sleeve and collar meet it.
    at_joints = [n.edge.partition("-")[0] for n in result.piece.notches if n.distance_mm == 0]
    assert sorted(at_joints) == ["armhole", "neck"]
    assert shapely.Polygon(paths.flatten(result.piece.outline, 0.01).points).is_valid


def test_a_curved_side_seam_cannot_be_removed():
    # Front and back are both hollowed at the side, so between the two there is a gap that shapes the garment.
    with pytest.raises(GeometryError, match="it shapes the garment"):
        join(half("front"), "side", half("back"), "side", allow_mm=2.0)


def test_kabsch_finds_the_motion_it_was_given():
    rng = np.random.default_rng(3)
    points = rng.normal(0, 100, (40, 2))
    angle = 0.7
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    matrix = kabsch(points, points @ turn.T + [12, -7])
    assert np.allclose(matrix, np.c_[turn, [12, -7]], atol=1e-10)
    flat = rng.normal(0, 100, (40, 2)) * [1, -1]
    assert np.linalg.det(kabsch(points, flat)[:, :2]) == pytest.approx(1)  # never a mirror image


def test_gap_and_overlap_are_measured():
    # A seam that bulges by d at its control points is ¾ d from its chord in the middle (derived); Kabsch shares the
    # difference out between gap and overlap.
    a, b = square("a", -150), square("b", 0, bulge=-0.4)
    found = fit(a, "right", b, "left")
    assert found.gap_mm + found.overlap_mm == pytest.approx(0.3, abs=0.02)
    assert join(a, "right", b, "left").piece.outline.closed


def test_a_gap_between_half_and_two_mm_needs_a_yes():
    a, b = square("a", -150), square("b", 0, bulge=2.0)
    with pytest.raises(GeometryError, match="if that may be evened out"):
        join(a, "right", b, "left")
    result = join(a, "right", b, "left", allow_mm=2.0)
    assert result.proof.ok
    assert shapely.Polygon(paths.flatten(result.piece.outline, 0.01).points).is_valid


def test_a_seam_that_shapes_the_garment_is_refused():
    a, b = square("a", -150), square("b", 0, bulge=12.0)
    with pytest.raises(GeometryError, match="it shapes the garment"):
        join(a, "right", b, "left", allow_mm=50.0)


def test_the_second_piece_is_turned_to_the_first():
    a, b = square("a", -150), square("b", 0)
    angle = np.radians(30)
    turned = [[np.cos(angle), -np.sin(angle), 400], [np.sin(angle), np.cos(angle), -90]]
    b = b.with_(edges=tuple(dataclasses.replace(e, path=paths.transformed(e.path, turned)) for e in b.edges))
    result = join(a, "right", b, "left")
    assert result.piece.finished_area_mm2 == pytest.approx(40_000, rel=1e-9)
    x0, y0, x1, y1 = paths.bounds(result.piece.outline)
    assert (x1 - x0, y1 - y0) == (pytest.approx(200), pytest.approx(200))


def test_grain_that_turns_or_hangs_upside_down_is_said():
    a, b = square("a", -150), square("b", 0)
    upside = b.with_(grainline=(b.grainline[1], b.grainline[0]))
    (note,) = join(a, "right", upside, "left").notes
    assert "upside down" in note
    crossed = b.with_(grainline=((10, 50), (90, 50)))
    result = join(a, "right", crossed, "left", grain_of="second")
    assert "turns by 90°" in result.notes[0]
    tail, head = result.piece.grainline
    assert tail[1] == pytest.approx(head[1])


def test_an_edge_that_bends_at_the_joint_is_said():
    a, b = square("a", -150), square("b", 0)
    slanted = list(b.edges)
    slanted[0] = dataclasses.replace(b.edges[0], path=paths.polyline([(0, 0), (100, 20)]))
    slanted[1] = dataclasses.replace(b.edges[1], path=paths.polyline([(100, 20), (100, 200)]))
    notes = join(a, "right", b.with_(edges=tuple(slanted)), "left").notes
    assert any("bottom bends by 11°" in note for note in notes)  # atan(20/100) = 11.3° (derived)


def test_left_and_right_cannot_be_joined_right_side_up():
    a = square("a", -150, right_side_up=True)
    b = mirrored(square("b", 0, right_side_up=True))
    named = []
    for p in (a, b):
        named.append(
            p.with_(
                edges=tuple(dataclasses.replace(e, start_name=f"{e.name}0", end_name=f"{e.name}1") for e in p.edges)
            )
        )
    a = named[0].with_(edges=tuple(dataclasses.replace(e, start_name="foot", end_name="head") for e in named[0].edges))
    b = named[1].with_(edges=tuple(dataclasses.replace(e, start_name="foot", end_name="head") for e in named[1].edges))
    with pytest.raises(GeometryError, match="one of each side"):
        join(a, "right", b, "left")


def test_two_folds_are_refused():
    front, back = half("front"), half("back")
    with pytest.raises(GeometryError, match="Unfold one"):
        join(front, "shoulder", back, "shoulder")
    with pytest.raises(GeometryError, match="edge of front"):
        join(unfold(front), "shoulder", back, "shoulder")


def test_upper_and_lower_on_the_fold_share_it_again():
    lower, upper = cut_piece(half(), [CutLine("l", "band", paths.polyline([(-5, 200), (300, 200)]))], 15).children
    piece = join(lower, "band", upper, "band").piece
    assert [e.kind for e in piece.edges].count(EdgeKind.FOLD) == 1
    assert paths.length(piece.fold.path) == pytest.approx(600)


def waved(name, x, bend=40.0, stretch=1.0, **more):
    """A rectangle 150 × 300 mm whose left edge is an S, run downwards; ``stretch`` lengthens it."""
    left = cubic((x, 300), (x + bend, 200), (x - bend, 100), (x, 300 - 300 * stretch))
    foot = 300 - 300 * stretch
    edges = (
        Edge("bottom", paths.polyline([(x, foot), (x + 150, foot)]), allowance_mm=10),
        Edge("right", paths.polyline([(x + 150, foot), (x + 150, 300)]), allowance_mm=10),
        Edge("top", paths.polyline([(x + 150, 300), (x, 300)]), allowance_mm=10),
        Edge("left", left, allowance_mm=10),
    )
    return Piece(name, edges, grainline=((x + 75, 60), (x + 75, 240)), **more)


def counterpart(piece, shift=0.0):
    """The piece on the other side of a waved piece's left edge, turned by 30° and moved away; ``shift`` bends it."""
    seam = paths.reversed_path(piece.edge("left").path)
    cubics = seam.cubics.copy()
    cubics[0, 1:3, 0] += shift
    start, end = seam.start, seam.end
    edges = (
        Edge("seam", Path(cubics), allowance_mm=10),
        Edge("top", paths.polyline([end, end - (120, 0)]), allowance_mm=10),
        Edge("outer", paths.polyline([end - (120, 0), start - (120, 0)]), allowance_mm=10),
        Edge("bottom", paths.polyline([start - (120, 0), start]), allowance_mm=10),
    )
    angle = np.radians(30)
    turned = np.array([[np.cos(angle), -np.sin(angle), 500.0], [np.sin(angle), np.cos(angle), 80.0]])
    return moved(Piece("other", edges, grainline=((-60, 60), (-60, 240))), turned)


def test_a_shaped_seam_is_joined_as_well_as_a_straight_one():
    a = waved("a", 0)
    b = counterpart(a)
    result = join(a, "left", b, "seam")
    assert result.fit.apart_mm <= 1e-6
    assert result.proof.ok, result.proof.sentence
    assert result.piece.finished_area_mm2 == pytest.approx(a.finished_area_mm2 + b.finished_area_mm2, rel=1e-9)
    assert paths.bounds(result.piece.outline) == pytest.approx((-120, 0, 150, 300), abs=1e-6)


@pytest.mark.parametrize(("shift", "outcome"), [(0.5, "silent"), (2.5, "asked"), (9.0, "refused")])
def test_a_shaped_seam_that_differs_is_closed_asked_about_or_refused(shift, outcome):
    # Two control points of a cubic moved across by d move its middle by ¾ d (derived); laid so that the greatest
    # distance is least, gap and overlap share that: at most ⅜ d each, and a little less by turning.
    a = waved("a", 0)
    b = counterpart(a, shift)
    laid = fit(a, "left", b, "seam")
    assert max(laid.gap_mm, laid.overlap_mm) <= 0.375 * shift + 0.01
    assert laid.gap_mm + laid.overlap_mm == pytest.approx(0.75 * shift, rel=0.3)
    if outcome == "silent":
        assert join(a, "left", b, "seam").proof.ok
        return
    with pytest.raises(GeometryError, match="gap of") as caught:
        join(a, "left", b, "seam")
    if outcome == "asked":
        assert "if that may be evened out" in str(caught.value)
        result = join(a, "left", b, "seam", allow_mm=2.0)
        assert result.proof.ok, result.proof.sentence
        assert shapely.Polygon(paths.flatten(result.piece.outline, 0.01).points).is_valid
    else:
        with pytest.raises(GeometryError, match="it shapes the garment"):
            join(a, "left", b, "seam", allow_mm=50.0)


def test_a_seam_that_is_eased_in_is_refused_with_that_reason():
    a = square("a", -150, height=200.0)
    b = square("b", 0, height=206.0)
    with pytest.raises(GeometryError, match=r"6.00 mm longer on b, where it is eased in"):
        join(a, "right", b, "left")


def test_the_best_fit_is_better_than_least_squares():
    a = waved("a", 0)
    b = counterpart(a, 4.0)
    shares = np.linspace(0, 1, 65)
    runs = Ruler(a.edge("left").path), Ruler(paths.reversed_path(b.edge("seam").path))
    target, source = (np.array([r.point(s * r.total) for s in shares]) for r in runs)
    worst = []
    for matrix in (kabsch(source, target), evenly_laid(source, target)):
        worst.append(np.linalg.norm(source @ matrix[:, :2].T + matrix[:, 2] - target, axis=1).max())
    assert worst[1] < worst[0]


def test_a_seam_with_a_dart_is_refused_and_other_darts_and_openings_stay():
    front = with_dart(half(), "bust dart", "side", 330.0, 24.0, 135.0)
    window = CutLine("w", "window", circular_arc((110, 250), 30, 0, 360))
    front = cut_piece(front, [window], 10).children[0]
    lower, upper = cut_piece(front, [CutLine("l", "band", paths.polyline([(-5, 150), (310, 150)]))], 15).children
    again = join(lower, "band", upper, "band")
    assert again.proof.ok, again.proof.sentence
    assert again.piece.finished_area_mm2 == pytest.approx(front.finished_area_mm2, rel=1e-9)
    assert [len(h) for h in again.piece.holes] == [1]
    assert sewn_length(again.piece, "side") == pytest.approx(sewn_length(front, "side"), abs=1e-6)
    assert len([n for n in again.piece.notches if n.edge == "window"]) == 2
    with pytest.raises(GeometryError, match="bust dart opens on"):
        join(upper, "side", half("back"), "side")


def test_others_learn_the_names_of_a_joined_piece():
    # common practice, no source: a collar is sewn to the neck of the back, and stays sewn to it when the shoulder goes,
    # whichever of the two names the other; what was sewn into the seam itself has lost its mate, and that is said
    front, back = shoulder_panels()
    mates = (f"{back.name}:neck", f"{front.name}:shoulder", f"{front.name}:armhole")
    collar = square("collar", 400)
    rest = collar.edges[len(mates) :]
    told = [dataclasses.replace(e, mate=m) for e, m in zip(collar.edges, mates, strict=False)]
    collar = collar.with_(edges=(*told, *rest), holes=())
    wanted = Join("", "", name="shoulder yoke")
    (joined, told, other), _, notes = one_join(
        [front, collar, square("cuff", 200), back], (front, "shoulder"), (back, "shoulder"), wanted
    )
    assert joined.name == "shoulder yoke"
    assert other.name == "cuff"
    assert [e.mate for e in told.edges[:3]] == ["shoulder yoke:neck-back", "", "shoulder yoke:armhole-front"]
    lost = [n for n in notes if "gone" in n]
    assert lost == [f"{collar.edges[1].name} of collar was sewn to {front.name}:shoulder, which is gone."]
