"""Cutting a piece: two pieces worked by hand, what children inherit, notches, snapping, refusals, the proof."""

import dataclasses

import numpy as np
import pytest
from tunic import drawn_notches, half, sleeve

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.path import Path
from mockup.pattern.allowance import cut_outline
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.notches import seam_notches
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Mark, Notch, Piece
from mockup.pattern.proof import angle_error, prove, rejoin_error
from mockup.split.split import Anchor
from swatches.errors import GeometryError


def plain(points, kind=EdgeKind.CUT):
    n = len(points)
    return Piece(
        "plain", tuple(Edge(f"edge {k + 1}", paths.polyline([points[k], points[(k + 1) % n]]), kind) for k in range(n))
    )


RECT = plain([(0, 0), (200, 0), (200, 300), (0, 300)])


def line(*points, name="yoke", **anchors):
    return CutLine(name, name, paths.polyline(points), **anchors)


def wave(*points, name="swoop"):
    return CutLine(name, name, Path(np.array([points], dtype=float)))


def test_half_the_rectangle_is_33000_mm2():
    # By hand: 200 × 300 cut at 150 with 15 mm, allowance on the new edges only.
    result = cut_piece(RECT, [line((-10, 150), (210, 150))], 15)
    assert [cut_outline(c).area_mm2 for c in result.children] == pytest.approx([33_000, 33_000], abs=1e-9)
    assert [c.finished_area_mm2 for c in result.children] == pytest.approx([30_000, 30_000], abs=1e-9)


def test_half_disc_cut_by_the_concentric_half_circle():
    # By hand: radius 200 cut at 100 with 10 mm: π·110²/2 and π(200² − 90²)/2; arcs are circles to 1e-6.
    disc = Piece(
        "disc",
        (
            Edge("straight", paths.polyline([(-200, 0), (200, 0)]), EdgeKind.CUT),
            Edge("round", circular_arc((0, 0), 200, 0, 180), EdgeKind.CUT),
        ),
    )
    result = cut_piece(disc, [CutLine("arc", "arc", circular_arc((0, 0), 100, 0, 180))], 10)
    areas = sorted(cut_outline(c).area_mm2 for c in result.children)
    assert areas == pytest.approx([np.pi * 110**2 / 2, np.pi * (200**2 - 90**2) / 2], rel=2e-6)
    assert result.proof.ok
    assert [e.name for e in result.children[0].edges] == ["straight", "arc", "straight 2", "round"]


def test_new_edges_are_named_and_mated():
    lower, upper = cut_piece(half(), [line((-5, 200), (300, 200))], 15, allowance_text="15 mm").children
    new = lower.edge("yoke")
    assert (new.kind, new.allowance_mm, new.allowance_text, new.line_id) == (EdgeKind.SEAM, 15, "15 mm", "yoke")
    assert (new.mate, upper.edge("yoke").mate) == ("front 2:yoke", "front 1:yoke")
    assert np.array_equal(new.path.cubics, paths.reversed_path(upper.edge("yoke").path).cubics)


def test_inherited_edges_keep_everything():
    piece = half()
    lower, upper = cut_piece(piece, [line((-5, 200), (300, 200))], 15).children
    for child in (lower, upper):
        for edge in child.edges:
            if edge.line_id:
                continue
            parent = piece.edge(edge.name)
            assert (edge.kind, edge.allowance_mm, edge.mate) == (parent.kind, parent.allowance_mm, parent.mate)
    # Whole edges are the parent's very arrays; parts lie on its curve, which de Casteljau keeps exact.
    assert lower.edge("hem").path is piece.edge("hem").path
    assert lower.edge("side").start_name == "hem"
    assert lower.edge("side").end_name == "yoke"
    assert upper.edge("side").end_name == "underarm"
    both = paths.length(lower.edge("side").path) + paths.length(upper.edge("side").path)
    assert both == pytest.approx(paths.length(piece.edge("side").path), abs=1e-9)


def test_children_of_a_fold_stay_on_it_or_become_a_pair():
    level = cut_piece(half(), [line((-5, 200), (300, 200))], 15).children
    assert [c.how for c in level] == [HowToCut.ON_FOLD, HowToCut.ON_FOLD]
    upright = cut_piece(half(), [line((150, -50), (150, 900))], 15).children
    assert [c.how for c in upright] == [HowToCut.ON_FOLD, HowToCut.PAIR]


def test_notches_go_to_the_right_child_at_the_same_place():
    piece = half()
    total = paths.length(piece.edge("side").path)
    marked = piece.with_(notches=(Notch("side", 100.0), Notch("side", 400.0, 2), Notch("armhole", 60.0)))
    lower, upper = cut_piece(marked, [line((-5, 200), (300, 200))], 15).children
    old = [n for n in lower.notches if n.edge == "side"]
    assert old == [Notch("side", 100.0)]
    (moved,) = [n for n in upper.notches if n.edge == "side"]
    cut_off = total - paths.length(upper.edge("side").path)
    assert moved.distance_mm == pytest.approx(400 - cut_off, abs=1e-9)
    assert moved.count == 2
    where = paths.point_at_distance(upper.edge("side").path, moved.distance_mm)
    assert np.allclose(where, paths.point_at_distance(piece.edge("side").path, 400), atol=1e-6)


def test_a_notch_where_the_cut_runs_is_left_out_and_said():
    piece = half()
    up = 150.0
    point = paths.point_at_distance(piece.edge("side").path, up)
    marked = piece.with_(notches=(Notch("side", up),))
    result = cut_piece(marked, [line((-5, point[1]), (400, point[1]))], 15)
    assert not any(n.edge == "side" for c in result.children for n in c.notches)
    assert any("notch on side" in note for note in result.notes)


def test_new_notches_match_and_cannot_be_turned():
    # Off-centre; equal on both sides by stitch-line length; none within 2 allowances of a corner (common practice, no
    # source).
    for piece, count in ((half("front"), 1), (half("back"), 2)):
        a, b = cut_piece(piece, [line((-5, 200), (300, 200))], 15).children
        mine = sorted(n.distance_mm for n in a.notches if n.edge == "yoke")
        theirs = sorted(n.distance_mm for n in b.notches if n.edge == "yoke")
        total = paths.length(a.edge("yoke").path)
        assert mine
        assert mine == pytest.approx(sorted(total - d for d in theirs), abs=1e-9)
        assert mine != pytest.approx(theirs, abs=5)
        assert all(30 <= d <= total - 30 for d in mine + theirs)
        assert {n.count for n in a.notches} == {count}


@pytest.mark.parametrize("size", [80.0, 150.0, 260.0, 400.0, 777.0, 1500.0])
def test_long_seams_have_more_notches_never_a_symmetrical_set(size):
    found = seam_notches(paths.polyline([(0, 0), (size, 0)]), 15)
    assert len(found) == max(1, int(np.ceil(size / 250)))
    turned = sorted(size - d for d in found)
    assert max(abs(a - b) for a, b in zip(found, turned, strict=True)) > 4


def test_a_curved_seam_is_notched_where_it_turns():
    curve = Path(np.array([[(0, 0), (150, 90), (200, -90), (400, 30)]], dtype=float))
    found = seam_notches(curve, 10)
    assert len(found) > len(seam_notches(paths.polyline([(0, 0), (400, 30)]), 10))


def test_a_short_seam_has_none():
    assert seam_notches(paths.polyline([(0, 0), (65, 0)]), 15) == ()


def test_notch_strokes_stand_square_on_the_stitch_line():
    strokes = drawn_notches(half().with_(notches=(Notch("side", 100, 2),)))
    assert len(strokes) == 2
    for start, end in strokes:
        assert np.linalg.norm(end - start) == pytest.approx(8, abs=0.01)  # of 15 mm of allowance
        assert end[0] > start[0]  # outwards: the side seam is at +x


def test_marks_are_clipped_exactly():
    mark = Mark("pocket", circular_arc((120, 200), 50, 0, 360), "placing")
    result = cut_piece(half().with_(marks=(mark,)), [line((-5, 200), (300, 200))], 15)
    assert any("pocket is crossed" in note for note in result.notes)
    # The line is level with the circle's middle, so half of it lies in either child.
    for child in result.children:
        inside = sum(paths.length(m.path) for m in child.marks)
        assert inside == pytest.approx(np.pi * 50, rel=1e-5)


def test_the_grainline_runs_through_every_child():
    parent = half()
    for child in cut_piece(parent, [line((-5, 200), (300, 200))], 15).children:
        tail, head = np.array(child.grainline)
        assert tail[0] == pytest.approx(head[0])  # upright, as the parent's
        assert head[1] > tail[1]
        assert head[1] - tail[1] <= 400 + 1e-9
        y0, y1 = paths.bounds(child.outline)[1::2]
        assert y0 < tail[1] < head[1] < y1


def test_an_end_near_a_corner_snaps_and_says_so():
    # An end 0.1 mm from a corner snaps and says so.
    result = cut_piece(RECT, [line((-10, 0.1 - 5.0), (0, 0.1), (200, 150), (210, 157.5))], 15)
    assert any("now ends in it" in note for note in result.notes)
    edges = [len(c.edges) for c in result.children]
    assert sorted(edges) == [3, 4]


def test_a_typed_end_near_a_corner_stays_and_says_so():
    typed = Anchor("edge 4", "edge 1", 1.5)
    result = cut_piece(RECT, [line((0, 1.5), (200, 150), start=typed)], 15)
    assert any("as typed" in note for note in result.notes)
    lower = result.children[0]
    assert paths.length(lower.edge("edge 4").path) == pytest.approx(1.5, abs=1e-9)


def test_lines_through_a_hem_get_mirrored_corners():
    for child in cut_piece(half(), [line((150, -50), (170, 900))], 15).children:
        k = next(n for n, e in enumerate(child.edges) if e.name == "hem")
        at_line = [e for n, e in enumerate(child.edges) if n in (k, (k + 1) % len(child.edges))]
        new = [e for e in at_line if e.corner is Corner.MIRRORED]
        assert len(new) == 1


def test_many_lines_cross_and_branch():
    cuts = [
        line((-10, 150), (210, 150), name="level"),
        line((100, -10), (100, 310), name="upright"),
        line((0, 300), (100, 150), name="branch"),
    ]
    result = cut_piece(RECT, cuts, 10)
    assert len(result.children) == 5
    assert result.proof.ok
    names = [f"{c.name}:{e.name}" for c in result.children for e in c.edges]
    assert len(names) == len(set(names))
    mates = {f"{c.name}:{e.name}": e.mate for c in result.children for e in c.edges if e.line_id}
    assert all(mates[mates[key]] == key for key in mates)  # every mate's mate is itself


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        (line((-10, 150), (100, 150)), "inside the piece"),
        (line((300, 0), (300, 100)), "crosses nothing"),
        (line((0, -10), (0, 310)), "along an edge"),
        (line((-10, 297), (210, 297)), "fragment"),
        (line((-10, 299), (210, 299)), "fragment"),
    ],
)
def test_refusals_name_the_line(cut, words):
    with pytest.raises(GeometryError, match=words) as caught:
        cut_piece(RECT, [cut], 15)
    assert "line 'yoke'" in str(caught.value)


def test_a_line_within_the_hem_is_refused():
    with pytest.raises(GeometryError, match="the depth of the hem"):
        cut_piece(half(), [line((-5, 25), (320, 25))], 15)


def test_a_negative_allowance_is_refused():
    with pytest.raises(GeometryError, match="0 mm or more"):
        cut_piece(RECT, [line((-10, 150), (210, 150))], -1)


def test_a_piece_of_one_closed_edge_is_cut_without_a_corner_at_its_start():
    disc = Piece("disc", (Edge("round", circular_arc((0, 0), 100, 0, 360), EdgeKind.CUT),))
    result = cut_piece(disc, [line((20, -120), (20, 120))], 10)
    assert sorted(e.name for c in result.children for e in c.edges) == ["round", "round", "yoke", "yoke"]
    assert result.proof.ok


def test_the_proof_measures_and_can_fail():
    piece = half()
    result = cut_piece(piece, [wave((-5, 200), (100, 260), (200, 120), (310, 200))], 15)
    assert result.proof.ok
    assert result.proof.area_error_mm2 <= 1e-9 * piece.finished_area_mm2  # our aim
    assert result.proof.stitch_difference_mm <= 1e-3
    assert result.proof.rejoin_error_mm <= 1e-6
    assert "passed" in result.proof.sentence
    # A child that was made 1 mm larger, and one whose seam was made longer, fail.
    a, b = result.children
    grown = a.with_(
        edges=tuple(dataclasses.replace(e, path=paths.transformed(e.path, [[1.003, 0, 0], [0, 1, 0]])) for e in a.edges)
    )
    failed = prove(piece, [grown, b])
    assert not failed.ok
    assert failed.stitch_difference_mm > 0.1
    assert "failed" in failed.sentence


def test_rejoining_finds_a_gap_and_an_overlap():
    whole = paths.polyline([(0, 0), (100, 0), (100, 100), (0, 100)], close=True)
    left = paths.polyline([(0, 0), (50, 0), (50, 100), (0, 100)], close=True)
    right = paths.polyline([(50, 0), (100, 0), (100, 100), (50, 100)], close=True)
    assert rejoin_error([whole], [[left], [right]]) <= 1e-9
    assert rejoin_error([whole], [[left], [paths.transformed(right, [[1, 0, 0.01], [0, 1, 0]])]]) >= 0.005
    assert rejoin_error([whole], [[left], [paths.transformed(right, [[1, 0, 1], [0, 1, 0]])]]) == float("inf")


def test_a_sleeve_is_cut_as_a_pair():
    children = cut_piece(sleeve(), [line((-300, 150), (300, 150))], 15).children
    assert [c.how for c in children] == [HowToCut.PAIR, HowToCut.PAIR]


def darted():
    """A side with a bust dart: two legs from the side seam to the point, each the other's mate."""
    points = [(0, 0), (200, 0), (200, 180), (100, 200), (200, 220), (200, 400), (0, 400)]
    names = ["hem", "side", "dart lower", "dart upper", "side 2", "top", "centre"]
    edges = [
        Edge(n, paths.polyline([p, q]), EdgeKind.SEAM)
        for n, p, q in zip(names, points, points[1:] + points[:1], strict=True)
    ]
    return Piece("bodice", tuple(edges))


def test_a_line_may_run_into_a_dart_or_pass_it():
    result = cut_piece(darted(), [line((-10, 200), (100, 200))], 10)
    assert len(result.children) == 2
    assert result.proof.ok
    assert len(cut_piece(darted(), [line((50, -10), (50, 410))], 10).children) == 2


def test_segments_that_go_nowhere_do_no_harm():
    piece = half()
    padded = []
    for e in piece.edges:
        still = np.repeat(e.path.end[None], 4, axis=0)[None]
        padded.append(dataclasses.replace(e, path=Path(np.concatenate([e.path.cubics, still]))))
    result = cut_piece(piece.with_(edges=tuple(padded)), [line((-5, 200), (300, 200))], 15)
    plain_result = cut_piece(piece, [line((-5, 200), (300, 200))], 15)
    for a, b in zip(result.children, plain_result.children, strict=True):
        assert cut_outline(a).area_mm2 == pytest.approx(cut_outline(b).area_mm2)


def test_angles_of_the_parts_add_up_and_a_kink_is_found():
    cuts = [line((-10, 150), (210, 150), name="level"), line((100, -10), (100, 310), name="upright")]
    result = cut_piece(RECT, [*cuts, line((0, 300), (100, 150), name="branch")], 10)
    assert angle_error(RECT, result.children) < 1e-9  # 180° on edges, 360° at the crossing, 90° in the corner
    assert any("angles" in row.what for row in result.proof.rows)
    # Turn the first handle of one seam: its part then no longer meets its neighbours as it should.
    child = result.children[0]
    bent = []
    for e in child.edges:
        cubics = e.path.cubics.copy()
        if e.line_id:
            cubics[0, 1] += (3.0, 2.0)
        bent.append(dataclasses.replace(e, path=Path(cubics)))
    assert angle_error(RECT, [child.with_(edges=tuple(bent)), *result.children[1:]]) > 1
