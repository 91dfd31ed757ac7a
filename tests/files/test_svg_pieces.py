"""Pieces in SVG: round trips, plain drawings and units."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockup.files import svg
from mockup.files.svg_path import d_from_path, path_from_d
from mockup.geometry import path as paths
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Mark, Notch, Piece
from swatches.errors import FileFormatError

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">'


def drawing(body: str, head: str = HEAD) -> bytes:
    return f"{head}{body}</svg>".encode()


def line(*points: tuple[float, float]) -> paths.Path:
    return paths.polyline(np.array(points, dtype=float))


@pytest.fixture
def front() -> Piece:
    armhole = paths.Path(np.array([[[230, 430], [190, 440], [180, 480], [185, 560]]], dtype=float))
    neck = paths.Path(np.array([[[90, 590], [85, 530], [50, 510], [0, 510]]], dtype=float))
    return Piece(
        name="front",
        edges=(
            Edge("hem", line((0, 0), (260, 0)), EdgeKind.HEM, 30.0, corner=Corner.SQUARED),
            Edge(
                "side",
                line((260, 0), (230, 430)),
                EdgeKind.SEAM,
                15.875,
                "5/8 in",
                "back:side",
                "hem",
                "underarm",
                "line-2",
            ),
            Edge("armhole", armhole, EdgeKind.SEAM, 10.0, corner=Corner.MIRRORED),
            Edge("shoulder", line((185, 560), (90, 590)), EdgeKind.SEAM, 15.0),
            Edge("neck", neck, EdgeKind.SEAM, 9.525, "3/8 in"),
            Edge("centre-front", line((0, 510), (0, 0)), EdgeKind.FOLD),
        ),
        view="front",
        area="body",
        grainline=((60.0, 60.0), (60.0, 460.0)),
        notches=(Notch("side", 200.0), Notch("armhole", 60.0, 2)),
        marks=(Mark("pocket", line((80, 200), (180, 200), (180, 100)), "placing"),),
        how=HowToCut.ON_FOLD,
        number=3,
        fabric="navy-wool",
        parent="tunic",
        size="chest 104 cm",
    )


def assert_same(got: Piece, expected: Piece, tolerance: float = 1e-8) -> None:
    for name in (
        "name",
        "view",
        "area",
        "how",
        "right_side_up",
        "count",
        "number",
        "side",
        "fabric",
        "parent",
        "layer",
        "size",
    ):
        assert getattr(got, name) == getattr(expected, name), name
    assert got.notches == pytest.approx(expected.notches) or got.notches == expected.notches
    assert (got.grainline is None) == (expected.grainline is None)
    if got.grainline is not None:
        assert np.allclose(got.grainline, expected.grainline, rtol=0, atol=tolerance)
    for a, b in zip(got.edges, expected.edges, strict=True):
        assert np.allclose(a.path.cubics, b.path.cubics, rtol=0, atol=tolerance)
        for name in ("name", "kind", "mate", "start_name", "end_name", "line_id", "corner", "allowance_text"):
            assert getattr(a, name) == getattr(b, name), name
        assert a.allowance_mm == b.allowance_mm
    for m, n in zip(got.marks, expected.marks, strict=True):
        assert (m.name, m.kind) == (n.name, n.kind)
        assert np.allclose(m.path.cubics, n.path.cubics, rtol=0, atol=tolerance)


class TestRoundTrip:
    def test_one_piece_loses_nothing(self, front):
        (got,) = svg.read_pieces(svg.write_pieces([front]).encode())
        assert_same(got, front)

    def test_several_pieces_come_back_to_their_own_places(self, front):
        other = front.with_(name="back & <b>", number=0, how=HowToCut.PAIR, right_side_up=True, count=2, side="left")
        got = svg.read_pieces(svg.write_pieces([front, other, front.with_(name="third")]).encode())
        assert_same(got[0], front)
        assert_same(got[1], other)

    def test_a_group_that_names_its_piece_alone_holds_a_plain_outline(self):
        group = '<g data-piece="front" data-view="front" data-area="skirt" data-moved="10,20">'
        lines = (
            '<path d="M 10,20 H 210 V 320 H 10 Z"/><path d="M 60,60 V 100"/><path data-grainline="" d="M 80,200 V 90"/>'
        )
        (piece,) = svg.read_pieces(drawing(f"{group}{lines}</g>"))
        assert (piece.name, piece.view, piece.area) == ("front", "front", "skirt")
        assert [(e.name, e.kind) for e in piece.edges] == [(f"edge-{k}", EdgeKind.CUT) for k in (1, 2, 3, 4)]
        assert paths.bounds(piece.outline) == pytest.approx((0, -300, 200, 0))
        assert piece.grainline == ((70, -180), (70, -70))
        assert [m.path.start.tolist() for m in piece.marks] == [[50, -40]]
        assert_same(svg.read_pieces(svg.write_pieces([piece]).encode())[0], piece)
        two = f'{group}<rect width="50" height="50"/><rect x="90" width="50" height="50"/></g>'
        with pytest.raises(FileFormatError, match="Give every outline a group of its own"):
            svg.read_pieces(drawing(two))

    def test_the_demo_pattern(self, tunic):
        got = svg.read_pieces(svg.write_pieces(tunic).encode())
        for a, b in zip(got, tunic, strict=True):
            assert_same(a, b, 1e-6)
            assert a.finished_area_mm2 == pytest.approx(b.finished_area_mm2, rel=1e-6)  # our limit

    def test_the_same_pieces_give_the_same_bytes(self, front):
        assert svg.write_pieces([front, front]) == svg.write_pieces([front, front])

    def test_inches_are_written_as_typed(self, front):
        text = svg.write_pieces([front])
        assert 'data-allowance="5/8in"' in text
        assert 'data-allowance="3/8in"' in text
        assert "15.875" not in text

    def test_a_typed_allowance_that_was_changed_since_is_written_in_mm(self, front):
        changed = front.with_(edges=(Edge("hem", front.outline, EdgeKind.SEAM, 20.0, "5/8 in"),), notches=())
        assert 'data-allowance="20mm"' in svg.write_pieces([changed])

    @given(
        st.lists(st.tuples(st.floats(60, 300), st.floats(0.05, 0.9)), min_size=5, max_size=9),
        st.floats(0, 40),
    )
    def test_any_smooth_outline(self, spokes, allowance):
        n = len(spokes)
        corners = np.array(
            [[r * math.cos(math.tau * i / n), r * math.sin(math.tau * i / n)] for i, (r, _) in enumerate(spokes)]
        )
        edges = []
        for i, (_, bulge) in enumerate(spokes):
            a, b = corners[i], corners[(i + 1) % n]
            side = np.array([b[1] - a[1], a[0] - b[0]]) * 0.2 * bulge
            cubic = np.stack([a, a + (b - a) / 3 + side, a + (b - a) * 2 / 3 + side, b])
            edges.append(Edge(f"edge {i}", paths.Path(cubic[None]), EdgeKind.SEAM, round(allowance, 6)))
        piece = Piece("random", tuple(edges))
        (got,) = svg.read_pieces(svg.write_pieces([piece]).encode())
        assert got.finished_area_mm2 == pytest.approx(piece.finished_area_mm2, rel=1e-9)
        assert [e.allowance_mm for e in got.edges] == pytest.approx([e.allowance_mm for e in edges], abs=1e-9)


class TestPlainDrawings:
    def test_a_rectangle_has_four_edges_without_allowance(self):
        (piece,) = svg.read_pieces(drawing('<rect width="200" height="300"/>'))
        assert [e.name for e in piece.edges] == ["edge-1", "edge-2", "edge-3", "edge-4"]
        assert {e.kind for e in piece.edges} == {EdgeKind.CUT}
        assert {e.allowance_mm for e in piece.edges} == {0.0}
        assert piece.finished_area_mm2 == pytest.approx(60_000, rel=1e-12)

    def test_a_circle_has_one_edge_and_its_area(self):
        (piece,) = svg.read_pieces(drawing('<circle cx="200" cy="200" r="100"/>'))
        assert len(piece.edges) == 1
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 100**2, rel=1e-7)  # closed form

    def test_a_half_disc_has_two_edges(self):
        (piece,) = svg.read_pieces(drawing('<path d="M 0 200 A 200 200 0 0 1 400 200 Z"/>'))
        assert len(piece.edges) == 2
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 200**2 / 2, rel=1e-7)  # closed form

    def test_loose_lines_whose_ends_meet_are_one_outline(self):
        body = (
            '<line x1="10" y1="10" x2="110" y2="10"/><path d="M110 10 L110 90"/><polyline points="10,10 10,90 110,90"/>'
        )
        (piece,) = svg.read_pieces(drawing(body))
        assert piece.finished_area_mm2 == pytest.approx(8000)
        assert len(piece.edges) == 4

    def test_an_open_line_inside_is_a_mark(self):
        (piece,) = svg.read_pieces(
            drawing('<rect id="yoke" width="200" height="100"/><path id="fold" d="M20 50 H180"/>')
        )
        assert piece.name == "yoke"
        assert [m.name for m in piece.marks] == ["fold"]

    @pytest.mark.parametrize(
        ("head", "factor"),
        [
            ('<svg xmlns="http://www.w3.org/2000/svg" width="40cm" height="40cm" viewBox="0 0 400 400">', 1.0),
            ('<svg xmlns="http://www.w3.org/2000/svg" width="10in" height="10in" viewBox="0 0 10 10">', 25.4),
            ('<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="-50 -50 400 400">', 0.5),
            ('<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm">', 25.4 / 96),  # CSS: 96 px an inch
        ],
    )
    def test_the_scale_is_the_files_own(self, head, factor):
        (piece,) = svg.read_pieces(drawing('<rect x="1" y="2" width="90" height="40"/>', head))
        left, low, right, high = paths.bounds(piece.outline)
        assert (right - left, high - low) == pytest.approx((90 * factor, 40 * factor))
        assert (left, high) == pytest.approx((1 * factor, -2 * factor))

    def test_transforms_and_use(self):
        body = (
            '<defs><path id="a" d="M0 0 H40 V20 H0 Z"/></defs>'
            '<g transform="translate(10 20) scale(2)"><use href="#a"/></g><use href="#a" x="200" y="0"/>'
        )
        first, second = svg.read_pieces(drawing(body))
        assert paths.bounds(first.outline) == pytest.approx((10, -60, 90, -20))
        assert paths.bounds(second.outline) == pytest.approx((200, -20, 240, 0))

    def test_hidden_and_foreign_elements_are_not_read(self):
        body = (
            '<rect width="50" height="50"/><rect display="none" x="10" width="5" height="5"/><x:rect xmlns:x="urn:x"/>'
        )
        assert len(svg.read_pieces(drawing(body))) == 1

    def test_without_a_unit_the_scale_can_be_given(self):
        head = '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400" viewBox="0 0 400 400">'
        (piece,) = svg.read_pieces(drawing('<rect width="10" height="10"/>', head), mm_per_unit=5.0)
        assert piece.finished_area_mm2 == pytest.approx(2500)


class TestNamedEdges:
    def test_a_clockwise_piece_is_turned_round(self):
        body = (
            '<g data-piece="pocket">'
            '<path data-edge="top" data-start="left top" data-end="right top" data-allowance="2cm" d="M0 0 H100"/>'
            '<path data-edge="right" data-corner="squared" d="M100 0 V80"/>'
            '<path data-edge="bottom" d="M100 80 H0"/><path data-edge="left" d="M0 80 V0"/>'
            '<path data-notch="top" data-distance="30" d="M30 0 V-5"/></g>'
        )
        (piece,) = svg.read_pieces(drawing(body))
        assert piece.finished_area_mm2 == pytest.approx(8000)
        assert [e.name for e in piece.edges] == ["left", "bottom", "right", "top"]
        top = piece.edge("top")
        assert (top.start_name, top.end_name) == ("right top", "left top")
        assert top.corner is Corner.SQUARED  # the corner between top and right is now where top starts
        assert (top.allowance_mm, top.allowance_text) == (20.0, "2 cm")
        (notch,) = piece.notches
        assert notch.distance_mm == pytest.approx(70)
        assert paths.point_at_distance(top.path, 70) == pytest.approx([30, 0])

    def test_an_edge_that_is_a_fold_makes_it_cut_on_fold(self):
        fold = '<path data-edge="f" data-kind="fold" d="M0 0 V90"/>'
        body = f'<g data-piece="a">{fold}<path data-edge="r" d="M0 90 H50 V0 H0"/></g>'
        (piece,) = svg.read_pieces(drawing(body))
        assert piece.how is HowToCut.ON_FOLD

    @pytest.mark.parametrize(
        ("attribute", "said"),
        [
            ('data-kind="zigzag"', "one of seam, fold, hem, cut"),
            ('data-allowance="-3mm"', "at least 0 mm"),
            ('data-allowance="3 furlongs"', "a number with mm"),
            ('data-corner="round"', "one of mitre"),
        ],
    )
    def test_a_wrong_value_is_named(self, attribute, said):
        body = f'<g data-piece="a"><path data-edge="e" {attribute} d="M0 0 H90 V90 H0 Z"/></g>'
        with pytest.raises(FileFormatError, match=said):
            svg.read_pieces(drawing(body))

    def test_a_gap_between_edges_is_refused_with_its_place(self):
        body = '<g data-piece="a"><path data-edge="p" d="M0 0 H90 V90"/><path data-edge="q" d="M90 91 H0 V0"/></g>'
        with pytest.raises(FileFormatError, match=r"1 mm between p and q at \(90, -90\)"):
            svg.read_pieces(drawing(body))

    def test_a_notch_off_its_edge_is_refused(self):
        notch = '<path data-notch="e" data-distance="900" d="M0 0"/>'
        body = f'<g data-piece="a"><path data-edge="e" d="M0 0 H90 V90 H0 Z"/>{notch}</g>'
        with pytest.raises(FileFormatError, match="360 mm long"):
            svg.read_pieces(drawing(body))


def test_a_name_with_markup_stays_a_name(front):
    text = svg.write_pieces([front.with_(name='<script>alert("x")</script>')])
    assert "<script>" not in text
    (got,) = svg.read_pieces(text.encode())
    assert got.name == '<script>alert("x")</script>'


class TestTypedLines:
    def test_y_runs_down_when_typed_and_up_inside(self):
        path = path_from_d("M -10 150 L 210 150")
        assert path.start == pytest.approx([-10, -150])
        assert path.end == pytest.approx([210, -150])
        assert d_from_path(path) == "M -10,150 L 210,150"

    def test_an_arc_is_round(self):
        path = path_from_d("M 100 0 A 100 100 0 0 1 -100 0")
        flat = paths.flatten(path, 0.001).points
        assert np.hypot(*flat.T) == pytest.approx(100, abs=1e-5)
        assert paths.length(path) == pytest.approx(math.pi * 100, rel=1e-7)

    def test_a_quadratic_is_raised_exactly(self):
        path = path_from_d("M 0 0 Q 50 100 100 0")
        assert paths.points_at(path, 0, 0.5) == pytest.approx([50, -50])

    @pytest.mark.parametrize(
        "text", ["", "M 0 0", "M 0 0 L 9 9 M 20 0 L 30 0", "L", "M 0 0 B 3", "M 0 0 L 1e999 0", "hello"]
    )
    def test_anything_else_is_refused(self, text):
        with pytest.raises(FileFormatError):
            path_from_d(text)
