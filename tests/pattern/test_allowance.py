"""Cut outlines against Steiner's formula, the parallel arc, mitres and unequal corners, and against shapely."""

import dataclasses

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from test_pattern_properties import outline
from tunic import half, sleeve

from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.path import Path
from mockup.pattern.allowance import cut_line, cut_outline
from mockup.pattern.piece import Corner, Edge, EdgeKind, Piece
from swatches.errors import GeometryError

RECT = [(0, 0), (200, 0), (200, 300), (0, 300)]
TRIANGLE = [(0, 0), (300, 0), (0, 400)]


def polygon(points, allowance, *, corner=Corner.MITRE, kinds=None):
    n = len(points)
    widths = allowance if isinstance(allowance, list | tuple) else [allowance] * n
    edges = [
        Edge(
            f"e{k}",
            paths.polyline([points[k], points[(k + 1) % n]]),
            (kinds or {}).get(k, EdgeKind.SEAM),
            widths[k],
            corner=corner,
        )
        for k in range(n)
    ]
    return Piece("piece", tuple(edges))


@pytest.mark.parametrize(
    ("points", "allowance", "area", "perimeter"),
    [
        # Steiner, for mitred areas (derived: A + wL + w²Σtan(α/2), α the exterior turn).
        (RECT, 15, 75_900, 1120),
        (RECT, 15.875, 76_883.063, 1127),
        (TRIANGLE, 10, 72_600, 1320),
    ],
)
def test_mitred_outlines_have_the_areas_of_the_formula(points, allowance, area, perimeter):
    cut = cut_outline(polygon(points, allowance), mitre_limit=np.inf)
    assert cut.area_mm2 == pytest.approx(area, abs=5e-4)
    assert paths.length(cut.path) == pytest.approx(perimeter, abs=1e-9)
    assert cut.notes == ()


def test_a_sharp_mitre_is_cut_off_and_says_so():
    # The triangle's sharpest corner is 36.87°: its mitre reaches w / sin(18.43°) = 3.16 w, above the limit of 2.5 w.
    cut = cut_outline(polygon(TRIANGLE, 10))
    # Mitred less the tip: the kite w²·tan(τ/2) becomes the triangle w²·sin(τ)/2, τ = 143.13° (derived).
    turn = np.pi - np.arctan(3 / 4)
    assert cut.area_mm2 == pytest.approx(72_600 - 100 * (np.tan(turn / 2) - np.sin(turn) / 2), abs=1e-6)
    (note,) = cut.notes
    assert "too sharp" in note


@settings(deadline=None)
@given(st.floats(np.radians(20), np.radians(100)), st.floats(1, 25), st.floats(1, 25))
def test_an_unequal_corner_has_the_area_of_the_formula(turn, a, b):
    # unequal corner (2ab − (a² + b²) cos α)/(2 sin α) (derived from the two tangent lines' meeting point).
    size = 2000.0
    points = [(-size, 0), (0, 0), (size * np.cos(turn), size * np.sin(turn)), (-size, size * 1.5)]
    piece = polygon(points, [a, b, 0, 0])
    cut = cut_outline(piece, mitre_limit=np.inf)
    if min(b - a * np.cos(turn), a - b * np.cos(turn)) < 0:
        return  # one of the parallels is shortened: the formula still holds but the outer corners change with it
    corner = (2 * a * b - (a * a + b * b) * np.cos(turn)) / (2 * np.sin(turn))
    lengths = [float(np.hypot(*(np.array(q) - p))) for p, q in zip(points, points[1:] + points[:1], strict=True)]

    def end(width, inner):  # an allowance that ends on the tangent of an edge without: a triangle more or less
        return width * width / np.tan(inner) / 2

    inner_start = _inner(points, 0)
    inner_end = _inner(points, 2)
    ends = end(a, inner_start) + end(b, inner_end)
    expected = piece.finished_area_mm2 + a * lengths[0] + b * lengths[1] + corner + ends
    assert cut.area_mm2 == pytest.approx(expected, rel=1e-9)


def _inner(points, k):
    p, q, r = (np.array(points[i % len(points)], dtype=float) for i in (k - 1, k, k + 1))
    u, v = p - q, r - q
    return float(np.arccos(u @ v / np.linalg.norm(u) / np.linalg.norm(v)))


def test_parallel_arcs_of_a_quarter_ring():
    # 157.080 → 172.788 and 141.372 at 10 mm; L′ = L ± wθ.
    outer, inner = circular_arc((0, 0), 300, 0, 90), circular_arc((0, 0), 100, 90, 0)
    piece = Piece(
        "ring",
        (
            Edge("outer", outer, allowance_mm=10),
            Edge("left", paths.polyline([outer.end, inner.start]), EdgeKind.CUT),
            Edge("inner", inner, allowance_mm=10),
            Edge("right", paths.polyline([inner.end, outer.start]), EdgeKind.CUT),
        ),
    )
    cut = cut_line(piece)
    assert paths.signed_area(cut) == pytest.approx(np.pi / 4 * (310**2 - 90**2), rel=1e-6)
    expected = np.pi / 2 * (310 + 90) + 2 * (310 - 90)
    assert paths.length(cut) == pytest.approx(expected, abs=0.05)  # our aim: length ± 0.05 mm


def test_edges_without_allowance_run_straight_on():
    # By hand: half the rectangle with 15 mm on its new edge only has 200 × 165 = 33,000 mm².
    cut = cut_line(polygon([(0, 0), (200, 0), (200, 150), (0, 150)], [0, 0, 15, 0]))
    assert paths.signed_area(cut) == pytest.approx(33_000, abs=1e-9)
    assert max(cut.cubics[:, 3, 1]) == 165


def test_two_sides_of_a_slanted_cut_add_up():
    # A straight strip between parallel extended sides: each child gains the same w·L·sin(angle to the sides)/… so that
    # both together gain 2 · w · width / cos(slope) (derived).
    lower = polygon([(0, 0), (200, 0), (200, 180), (0, 120)], [0, 0, 15, 0])
    upper = polygon([(0, 120), (200, 180), (200, 300), (0, 300)], [15, 0, 0, 0])
    gain = cut_outline(lower).area_mm2 + cut_outline(upper).area_mm2 - 60_000
    assert gain == pytest.approx(2 * 15 * np.hypot(200, 60), rel=1e-9)


def test_an_inner_corner_keeps_both_allowances():
    corner = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 300), (0, 300)]
    # A + wL + w²·(5 outer corners − 1 inner), each tan(45°) (Steiner's mitred formula with the inner corner negative).
    assert cut_outline(polygon(corner, 10)).area_mm2 == pytest.approx(40_000 + 10 * 1000 + 100 * 4)
    # An edge without allowance at the inner corner: the other's strip stops at the corner's line.
    assert cut_outline(polygon(corner, [10, 10, 10, 0, 10, 10])).area_mm2 == pytest.approx(48_400)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(["front", "back"]), st.floats(2, 20), st.floats(2, 20))
def test_every_point_of_the_cut_edge_is_at_its_allowance(side, first, second):
    piece = half(side)
    widths = {"hem": 30.0, "side": first, "armhole": second, "shoulder": first, "neck": second}
    piece = piece.with_(edges=tuple(dataclasses.replace(e, allowance_mm=widths.get(e.name, 0.0)) for e in piece.edges))
    cut = shapely.Polygon(paths.flatten(cut_line(piece), 1e-3).points)
    assert cut.is_valid
    for edge in piece.edges:
        if edge.kind is EdgeKind.FOLD:
            continue
        # Square out of the middle three fifths of each edge, by that edge's allowance: the cut edge is there.
        ends = paths.length(edge.path)
        for share in np.linspace(0.2, 0.8, 13):
            i, t = paths.locate(edge.path, share * ends)
            way = paths.tangent(edge.path, i, t)
            out = paths.points_at(edge.path, i, t) + edge.allowance_mm * np.array([way[1], -way[0]])
            assert shapely.distance(cut.exterior, shapely.Point(out)) <= 0.02  # our aim: ± 0.02 mm


def test_the_fold_gets_nothing_and_clips_the_outline():
    piece = half()
    cut = cut_line(piece)
    x0, y0, _, _ = paths.bounds(cut)
    assert x0 == pytest.approx(0, abs=1e-9)  # nothing beyond the fold
    assert y0 == pytest.approx(-30, abs=1e-6)  # the hem's depth, and it reaches the fold
    on_fold = cut.cubics[np.abs(cut.cubics[:, 3, 0]) < 1e-9, 3, 1]
    assert min(on_fold) == pytest.approx(-30)
    assert max(on_fold) == pytest.approx(610)


def test_a_mirrored_hem_folds_onto_the_garment():
    # folded hem against the garment above it: 0.0 mm² sticks out.
    slope = 60.0
    piece = Piece(
        "skirt",
        (
            Edge("hem", paths.polyline([(0, 0), (300, 0)]), EdgeKind.HEM, 40, corner=Corner.MIRRORED),
            Edge("side", paths.polyline([(300, 0), (300 - slope, 400)]), allowance_mm=15, corner=Corner.MIRRORED),
            Edge("waist", paths.polyline([(300 - slope, 400), (slope, 400)]), allowance_mm=10),
            Edge("other side", paths.polyline([(slope, 400), (0, 0)]), allowance_mm=15),
        ),
    )
    cut = shapely.Polygon(paths.flatten(cut_line(piece), 1e-4).points)
    below = shapely.intersection(cut, shapely.box(-500, -500, 800, 0))
    folded = shapely.Polygon(np.asarray(below.exterior.coords) * [1, -1])
    above = shapely.intersection(cut, shapely.box(-500, 0, 800, 500))
    assert shapely.area(folded) > 300 * 40
    assert shapely.area(shapely.difference(folded, above)) < 1e-3
    x0, _, x1, _ = folded.bounds
    assert (x0, x1) == (pytest.approx(above.bounds[0]), pytest.approx(above.bounds[2]))


def test_squared_and_bevelled_corners():
    square = [(0, 0), (100, 0), (100, 100), (0, 100)]
    assert cut_outline(polygon(square, 10, corner=Corner.BEVEL)).area_mm2 == pytest.approx(100**2 + 4000 + 4 * 50)
    # At a right angle the squared corner and the mitre are the same (derived).
    assert cut_outline(polygon(square, 10, corner=Corner.SQUARED)).area_mm2 == pytest.approx(120**2)
    # Pressed open, the allowance's end lies on the line of the neighbour's cut edge: at 60° it is cut off square.
    sharp = [(0, 0), (200, 0), (100, 100 * np.sqrt(3))]
    cut = cut_line(polygon(sharp, 10, corner=Corner.SQUARED))
    for k in range(3):
        start, end = np.array(sharp[k]), np.array(sharp[(k + 1) % 3])
        way = (end - start) / np.linalg.norm(end - start)
        # The end starts where the stitch line, run on backwards, meets the neighbour's cut edge: 10/sin 60° away.
        q = start - way * 10 / np.sin(np.pi / 3)
        r = q + 10 * np.array([way[1], -way[0]])
        corners = cut.cubics[:, 3]
        assert np.linalg.norm(corners - q, axis=1).min() < 1e-9
        assert np.linalg.norm(corners - r, axis=1).min() < 1e-9


def test_unequal_allowances_on_a_smooth_line_leave_a_step():
    piece = polygon([(0, 0), (100, 0), (200, 0), (200, 100), (0, 100)], [10, 20, 0, 0, 0])
    assert cut_outline(piece).area_mm2 == pytest.approx(20_000 + 1000 + 2000)


@pytest.mark.parametrize("radius", [14.9, 15.0])
def test_a_hollow_as_tight_as_its_allowance_is_refused_with_the_place(radius):
    hollow = circular_arc((100, 100), radius, 0, -180)  # a bay in the upper edge, run clockwise round its middle
    piece = Piece(
        "bay",
        (
            Edge("bottom", paths.polyline([(0, 0), (200, 0)])),
            Edge("right", paths.polyline([(200, 0), (200, 100)])),
            Edge("top", paths.polyline([(200, 100), (100 + radius, 100)])),
            Edge("bay", hollow, allowance_mm=15),
            Edge("top left", paths.polyline([(100 - radius, 100), (0, 100)])),
            Edge("left", paths.polyline([(0, 100), (0, 0)])),
        ),
    )
    with pytest.raises(GeometryError, match="allowance of bay") as caught:
        cut_line(piece)
    x, y = caught.value.place
    assert np.hypot(x - 100, y - 100) == pytest.approx(radius, abs=0.01)
    wider = piece.with_(edges=tuple(dataclasses.replace(e, allowance_mm=e.allowance_mm * 0.9) for e in piece.edges))
    assert cut_line(wider).closed


def test_a_negative_allowance_is_refused():
    with pytest.raises(GeometryError, match="0 mm or more"):
        cut_line(polygon(RECT, [15, -1, 15, 15]))


def test_short_edges_between_inner_corners_are_united():
    # A 6 mm step between two inner corners, narrower than the 15 mm allowances that meet over it.
    points = [(0, 0), (300, 0), (300, 300), (160, 300), (157, 150), (151, 150), (148, 300), (0, 300)]
    with pytest.raises(GeometryError, match=r"run into the piece|close over"):
        cut_line(polygon(points, 15))
    step = [(0, 0), (300, 0), (300, 100), (200, 100), (195, 106), (195, 300), (0, 300)]
    cut = cut_line(polygon(step, 15))
    body = shapely.Polygon(step)
    whole = shapely.Polygon(paths.flatten(cut, 1e-3).points)
    assert whole.is_valid
    assert shapely.distance(whole.exterior, shapely.LineString([(200, 100), (195, 106)])) >= 15 - 0.02
    assert shapely.contains(whole, shapely.buffer(body, 14.9, join_style="round"))


def test_a_clockwise_piece_gets_the_same_outline():
    piece = half()
    turned = piece.with_(
        edges=tuple(dataclasses.replace(e, path=paths.reversed_path(e.path)) for e in reversed(piece.edges))
    )
    assert paths.signed_area(cut_line(turned)) == pytest.approx(paths.signed_area(cut_line(piece)), rel=1e-9)


def test_a_sleeve_agrees_with_a_fine_mitred_buffer():
    # Outside check: shapely's own mitred buffer of a very fine flattening, where all allowances are equal.
    piece = sleeve()
    piece = piece.with_(edges=tuple(dataclasses.replace(e, allowance_mm=12) for e in piece.edges))
    fine = shapely.Polygon(paths.flatten(piece.outline, 1e-5).points)
    theirs = shapely.buffer(fine, 12, join_style="mitre", mitre_limit=5)
    ours = shapely.Polygon(paths.flatten(cut_line(piece), 1e-4).points)
    assert shapely.area(shapely.symmetric_difference(ours, theirs)) < 1.0  # mm², of an outline 1.5 m long


def test_smooth_outlines_keep_steiners_length_and_area():
    # Steiner: L + 2 π w and A + L w + π w² for a smooth outline that is nowhere too hollow; our aim:
    # the cut line's length ± 0.05 mm. The outlines are r = 200 (1 + Σ a cos kθ + b sin kθ).
    rng = np.random.default_rng(5)
    for _ in range(6):
        smooth = Piece("p", (Edge("e", Path(outline(rng.uniform(-0.1, 0.1, (3, 2)), points=48)), allowance_mm=15.0),))
        made = cut_outline(smooth)
        size = paths.length(smooth.outline)
        assert paths.length(made.path) == pytest.approx(size + 2 * np.pi * 15, abs=0.05)
        assert made.area_mm2 == pytest.approx(smooth.finished_area_mm2 + 15 * size + np.pi * 225, rel=1e-6)


@pytest.mark.parametrize("tilt", [0.2, 10.0])
def test_united_allowances_end_on_a_fold_that_their_seam_meets_at_an_angle(tilt):
    # By hand: a strip that ends square on a seam tilted by τ would go 10·sin τ over the fold: 0.035 and 1.7 mm.
    def top(x):
        return x, 300 + np.tan(np.radians(tilt)) * x

    nick = [top(120), (117, top(117)[1] - 2), top(114)]  # edges shorter than their corners
    points = [(0, 0), (200, 0), top(200), *nick, (0, 300)]
    cut = cut_outline(polygon(points, [10.0] * (len(points) - 1) + [0.0], kinds={len(points) - 1: EdgeKind.FOLD}))
    assert any("union" in note for note in cut.notes)
    assert cut.path.cubics[:, :, 0].min() == pytest.approx(0, abs=1e-6)
