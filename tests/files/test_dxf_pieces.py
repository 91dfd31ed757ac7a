"""Pieces in DXF, checked by the library that knows the format best; layers as ASTM D6673-10 numbers them."""

from __future__ import annotations

import io
import math

import ezdxf
import numpy as np
import pytest
from shapely import Polygon

from mockup.files import dxf, formats, reading
from mockup.geometry import path as paths
from mockup.geometry.ruler import Ruler
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import EdgeKind
from swatches.errors import FileFormatError
from swatches.units import length


@pytest.fixture(scope="module")
def written(tunic) -> bytes:
    return dxf.write_pieces(tunic, date="2026-11-24")


@pytest.fixture(scope="module")
def document(written):
    return ezdxf.read(io.StringIO(written.decode("cp1252")))


def make(draw, *, units: int = 4, version: str = "R2000") -> bytes:
    document = ezdxf.new(version, units=units)
    draw(document)
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


class TestWritten:
    def test_it_is_sound_and_says_its_unit(self, document):
        assert not document.audit().errors
        assert document.dxfversion == "AC1015"  # R2000
        assert document.header["$INSUNITS"] == 4  # mm, DXF reference
        texts = [t.dxf.text for block in document.blocks for t in block.query("TEXT")]
        assert sum("all lengths in mm" in t for t in texts) == 6

    def test_one_block_a_piece_on_the_standards_layers(self, document, tunic):
        inserts = document.modelspace().query("INSERT")
        assert len(inserts) == len(tunic)
        for insert, piece in zip(inserts, tunic, strict=True):
            block = document.blocks.get(insert.dxf.name)
            layers = {e.dxf.layer for e in block}
            assert {"1", "2", "3", "7", "14"} <= layers
            assert ("6" in layers) == (piece.fold is not None)
            assert ("4" in layers) == bool(piece.notches)
            assert ("8" in layers) == bool(piece.marks)
            assert layers <= set(dxf.LAYERS)

    def test_the_boundary_is_the_cut_line_within_its_tolerance(self, document, tunic):
        for insert, piece in zip(document.modelspace().query("INSERT"), tunic, strict=True):
            (boundary,) = document.blocks.get(insert.dxf.name).query('LWPOLYLINE[layer=="1"]')
            got = Polygon([(x, y) for x, y, *_ in boundary.get_points()])
            cut = cut_line(piece)
            expected = paths.signed_area(cut)
            assert got.area == pytest.approx(expected, abs=dxf.FLATTENED_MM * paths.length(cut))
            assert got.area != pytest.approx(piece.finished_area_mm2, rel=1e-3)

    def test_pieces_do_not_lie_on_each_other(self, document):
        boxes = []
        for insert in document.modelspace().query("INSERT"):
            (boundary,) = document.blocks.get(insert.dxf.name).query('LWPOLYLINE[layer=="1"]')
            dx, dy, _ = insert.dxf.insert
            boxes.append(Polygon([(x + dx, y + dy) for x, y, *_ in boundary.get_points()]).envelope)
        assert all(not a.intersects(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])

    def test_the_same_pieces_give_the_same_bytes(self, written, tunic):
        assert dxf.write_pieces(tunic, date="2026-11-24") == written

    def test_reading_gives_the_same_pieces(self, written, tunic):
        got = dxf.read_pieces(written)
        assert [p.name for p in got] == [p.name for p in tunic]
        for a, b in zip(got, tunic, strict=True):
            assert a.finished_area_mm2 == pytest.approx(b.finished_area_mm2, rel=1e-6)  # our limit
            assert (a.view, a.area, a.how, a.number, a.size, a.layer) == (
                b.view,
                b.area,
                b.how,
                b.number,
                b.size,
                b.layer,
            )
            assert a.notches == pytest.approx(b.notches) or a.notches == b.notches
            assert a.grainline == b.grainline
            for e, f in zip(a.edges, b.edges, strict=True):
                assert (e.name, e.kind, e.allowance_mm, e.mate, e.corner) == (
                    f.name,
                    f.kind,
                    f.allowance_mm,
                    f.mate,
                    f.corner,
                )
                assert np.allclose(e.path.cubics, f.path.cubics, rtol=0, atol=1e-9)

    def test_typed_inches_stay_typed(self, tunic):
        front = tunic[0]
        edges = tuple(e if e.name != "side" else type(e)(e.name, e.path, e.kind, 15.875, "5/8 in") for e in front.edges)
        (got,) = dxf.read_pieces(dxf.write_pieces([front.with_(edges=edges)]))
        assert got.edge("side").allowance_text == "5/8 in"

    def test_names_with_control_codes(self, tunic):
        (got,) = dxf.read_pieces(dxf.write_pieces([tunic[3].with_(name="%%c ^J Tasche für links")]))
        assert got.name == "% %c 'J Tasche für links"


def draw_both_lines(document, wide, hem=40.0, slip=0.0):
    """A skirt with its stitch line and its cut line, ``wide`` apart; ``slip``: the right one does not follow evenly."""
    block = document.blocks.new("SKIRT")
    block.add_lwpolyline([(0, 0), (300, 0), (300, 500), (0, 500)], close=True, dxfattribs={"layer": "14"})
    outer = [(-wide, -hem), (300 + wide, -hem), (300 + wide + slip, 500 + wide), (-wide, 500 + wide)]
    block.add_lwpolyline(outer, close=True, dxfattribs={"layer": "1"})
    document.modelspace().add_blockref("SKIRT", (0, 0))


class TestFromStrangers:
    def test_layers_without_our_names(self):
        def draw(document):
            block = document.blocks.new("FRONT")
            block.add_lwpolyline([(0, 0), (120, 0), (120, 220), (0, 220)], close=True, dxfattribs={"layer": "1"})
            block.add_lwpolyline([(10, 10), (110, 10), (110, 210), (10, 210)], close=True, dxfattribs={"layer": "14"})
            block.add_line((60, 20), (60, 180), dxfattribs={"layer": "7"})
            block.add_line((20, 100), (90, 100), dxfattribs={"layer": "8"})
            document.modelspace().add_blockref("FRONT", (500, 500))

        (piece,) = dxf.read_pieces(make(draw))
        assert piece.name == "FRONT"
        assert piece.finished_area_mm2 == pytest.approx(20_000)  # the sew line, not the boundary
        assert piece.grainline == ((60, 20), (60, 180))
        assert len(piece.marks) == 1
        # drawn with both lines, 10 mm apart all round (arithmetic)
        assert {(e.kind, e.allowance_mm) for e in piece.edges} == {(EdgeKind.SEAM, 10.0)}

    @pytest.mark.parametrize(("wide", "typed"), [(15.0, ""), (15.875, "5/8 in"), (12.34, "")])
    def test_allowances_are_measured_between_the_two_lines(self, wide, typed):
        got = reading.read(make(lambda document: draw_both_lines(document, wide)))
        (piece,) = got.pieces
        wanted = {0.0: (40.0, ""), 300.0: (wide, typed), 500.0: (wide, typed)}
        for edge in piece.edges:
            y0, y1 = float(edge.path.start[1]), float(edge.path.end[1])
            level = y0 if y0 == y1 else 300.0
            assert (edge.allowance_mm, edge.allowance_text) == (pytest.approx(wanted[level][0]), wanted[level][1])
        assert got.asks == ()
        assert "measured between the file's stitch line and cut line" in got.notes[0]
        assert "to 40 mm" in got.notes[0]

    def test_what_is_said_of_a_file_with_both_lines(self):
        data = make(lambda document: draw_both_lines(document, 15.0))
        piece = reading.read(data).pieces[0]
        # the file says cm where it means mm: allowances are ten times as wide too
        tenfold = reading.read(data, reading.Said(known=("SKIRT", length("5 m"))))
        assert max(e.allowance_mm for e in tenfold.pieces[0].edges) == pytest.approx(400)
        # what is said of other files' lines does not take its allowance off a second time; one of its own is heard
        said = reading.Said(
            line_is="cut", allowance=length("20 mm"), allowances={f"SKIRT:{piece.edges[0].name}": length("3 mm")}
        )
        again = reading.read(data, said).pieces[0]
        assert again.finished_area_mm2 == pytest.approx(150_000)
        assert [e.allowance_mm for e in again.edges] == [3.0, *(e.allowance_mm for e in piece.edges[1:])]
        # along an edge that the cut line does not follow evenly nothing is known, and it is asked
        slanting = reading.read(make(lambda document: draw_both_lines(document, 15.0, slip=3.0)))
        assert {e.allowance_mm for e in slanting.pieces[0].edges} == {0.0}
        assert slanting.asks

    def test_loose_lines_and_arcs_in_inches(self):
        def draw(document):
            space = document.modelspace()
            space.add_line((0, 0), (4, 0))
            space.add_arc((2, 0), 2, 0, 180)

        (piece,) = dxf.read_pieces(make(draw, units=1))
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 50.8**2 / 2, rel=1e-7)  # closed form

    def test_bulges_are_arcs(self):
        def draw(document):
            document.modelspace().add_lwpolyline([(0, 0, 1), (100, 0, 1)], format="xyb", close=True)

        (piece,) = dxf.read_pieces(make(draw))
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 50**2, rel=1e-6)  # closed form

    def test_without_a_unit_it_is_asked(self):
        def draw(document):
            document.modelspace().add_circle((0, 0), 50)

        data = make(draw, units=0)
        with pytest.raises(FileFormatError, match="says its unit"):
            dxf.read_pieces(data)
        (piece,) = dxf.read_pieces(data, mm_per_unit=2.0)
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 100**2, rel=1e-7)  # closed form

    def test_r12_says_its_unit_in_text(self):
        def draw(document):
            document.modelspace().add_circle((0, 0), 2)
            document.modelspace().add_text("UNITS: ENGLISH")

        (piece,) = dxf.read_pieces(make(draw, units=0, version="R12"))
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 50.8**2, rel=1e-7)  # closed form

    @pytest.mark.parametrize("data", [b"", b"hello", b"0\nSECTION\n", b"\x89PNG\r\n\x1a\n" * 50, b"  0\nEOF\n"])
    def test_no_dxf(self, data):
        with pytest.raises(FileFormatError):
            dxf.read_pieces(data)

    def test_an_open_outline(self):
        with pytest.raises(FileFormatError, match="a closed outline"):
            dxf.read_pieces(make(lambda d: d.modelspace().add_lwpolyline([(0, 0), (90, 0), (90, 90)])))


class TestFormats:
    def test_by_what_the_file_is_whatever_its_name(self, tunic, tmp_path):
        for found in [f for f in formats.FORMATS if f.write is not None]:
            path = tmp_path / "pieces.txt"
            path.write_bytes(found.write(tunic))
            assert formats.format_of(path) is found
            assert [p.name for p in formats.read_pieces(path)] == [p.name for p in tunic]
            assert [p.name for p in formats.read_pieces(path.read_bytes())] == [p.name for p in tunic]

    @pytest.mark.parametrize(
        ("head", "suffix"),
        [
            (b"%PDF-1.7\n", ".pdf"),
            (b"\xef\xbb\xbf<svg/>", ".svg"),
            (b"  \n<?xml version='1.0'?>", ".svg"),
            (b"  0\r\nSECTION\r\n", ".dxf"),
            (b"999\nmade by\n", ".dxf"),
            (b"AutoCAD Binary DXF\r\n\x1a\x00", ".dxf"),
        ],
    )
    def test_first_bytes(self, head, suffix):
        assert formats.format_of(head).suffix == suffix

    @pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"0", b"hello"])
    def test_another_kind_of_file(self, data, tmp_path):
        path = tmp_path / "x.docx"
        path.write_bytes(data)
        with pytest.raises(FileFormatError, match=r"x\.docx: expected pattern pieces in SVG or DXF or PDF"):
            formats.read_pieces(path)

    def test_a_missing_file(self, tmp_path):
        with pytest.raises(FileFormatError, match=r"gone\.svg: expected a file that can be read"):
            formats.read_pieces(tmp_path / "gone.svg")


class TestNamedInText:
    """ASTM D6673 has a piece's name in a text of its block; block names of other programs are often numbers."""

    def read(self, *texts: str):
        def draw(document):
            for k, text in enumerate(texts):
                block = document.blocks.new(name=f"B{k}")
                block.add_lwpolyline([(0, 0), (250, 0), (230, 600), (20, 600)], close=True, dxfattribs={"layer": "14"})
                block.add_line((125, 100), (125, 500), dxfattribs={"layer": "7"})
                block.add_line((60, 300), (190, 300), dxfattribs={"layer": "8"})
                block.add_point((125, 0), dxfattribs={"layer": "4"})
                block.add_text(text, dxfattribs={"layer": "1"})
                document.modelspace().add_blockref(block.name, (300 * k, 0))

        return dxf.read_pieces(make(draw), apart=True)

    @pytest.mark.parametrize(
        "text", ["PIECE NAME: skirt front", "Piece Name:skirt front ", "piece name = skirt  front"]
    )
    def test_the_text_names_the_piece(self, text):
        (piece,) = self.read(text)
        assert piece.name == "skirt front"
        assert piece.grainline == ((125.0, 100.0), (125.0, 500.0))
        assert len(piece.marks) == 1
        ((notch, way),) = [(n, piece.edge(n.edge).path) for n in piece.notches]  # on layer 4, in the middle of the hem
        assert (notch.distance_mm, notch.count) == (pytest.approx(125.0), 1)
        assert {float(way.start[1]), float(way.end[1])} == {0.0}

    def test_notches_on_either_line_are_taken_to_the_stitch_line(self):
        def draw(document):
            block = document.blocks.new("SKIRT")
            block.add_lwpolyline([(0, 0), (300, 0), (300, 500), (0, 500)], close=True, dxfattribs={"layer": "14"})
            outer = [(-15, -15), (315, -15), (315, 515), (-15, 515)]
            block.add_lwpolyline(outer, close=True, dxfattribs={"layer": "1"})
            # on the cut line; a double one on the stitch line; a stroke; at a corner, inside, and nowhere: no notches
            for point in [(100, -15), (300, 200), (300, 206), (0, 0), (150, 250), (900, 900)]:
                block.add_point(point, dxfattribs={"layer": "4"})
            block.add_line((200, 500), (200, 515), dxfattribs={"layer": "4"})
            document.modelspace().add_blockref("SKIRT", (0, 0))

        (piece,) = dxf.read_pieces(make(draw), apart=True)
        found = []
        for notch in piece.notches:
            x, y = Ruler(piece.edge(notch.edge).path).point(notch.distance_mm)
            found.append((round(float(x), 3), round(float(y), 3), notch.count))
        assert sorted(found) == [(100.0, 0.0, 1), (200.0, 500.0, 1), (300.0, 203.0, 2)]

    def test_other_texts_do_not(self):
        assert [p.name for p in self.read("QUANTITY: 2")] == ["B0"]
        assert [p.name for p in self.read("PIECE NAME:")] == ["B0"]

    def test_a_name_of_two_pieces_tells_them_not_apart(self):
        assert [p.name for p in self.read("Piece Name: skirt", "Piece Name: skirt", "Piece Name: apron")] == [
            "B0", "B1", "apron",
        ]  # fmt: skip
