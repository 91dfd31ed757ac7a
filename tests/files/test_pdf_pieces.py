"""Pieces out of vector PDFs: pens, tiled pages put together, and files from strangers."""

from __future__ import annotations

import io
import math
import sys
from itertools import pairwise

import numpy as np
import pikepdf
import pytest
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from shapely import LinearRing, Point, box

from mockup.files import child, pdf, pdf_drawing
from mockup.files.pdf_child import text_string
from mockup.files.pdf_pages import Tiling, inside
from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_line
from mockup.sheets.printed_pieces import pieces_pdf
from swatches.errors import FileFormatError

MM = 72 / 25.4
A4 = (210.0, 297.0)


def document(*pages, size: tuple[float, float] = A4) -> bytes:
    """A PDF of one drawing function a page, in mm."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(size[0] * MM, size[1] * MM), invariant=1)
    for draw in pages:
        canvas.scale(MM, MM)
        draw(canvas)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def pen(canvas: Canvas, colour: str, width: float = 0.5, dash: tuple[float, ...] = ()) -> None:
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(width)
    canvas.setDash(*([list(dash)] if dash else []))


@pytest.fixture(scope="module")
def data(tunic) -> bytes:
    return pieces_pdf(tunic)


class TestOwnPrint:
    def test_the_pieces_come_back_from_their_sheets(self, data, tunic):
        """The sheets are found to each other by the lines that they share; the cut lines are whole again."""
        contents = pdf.look(data)
        cut = [k + 1 for k, u in enumerate(contents.pens) if (u.pen.width, u.pen.dash) == (0.8, ())]
        fold = [k + 1 for k, u in enumerate(contents.pens) if u.pen.dash == (9.0, 2.0, 1.5, 2.0)]
        got = pdf.read_pieces(data, pens=cut + fold)
        areas = sorted(p.finished_area_mm2 for p in got)
        assert areas == pytest.approx(sorted(paths.signed_area(cut_line(p)) for p in tunic), rel=2e-6)

    def test_what_it_lists(self, data):
        contents = pdf.look(data)
        assert len(contents.pages) == 21
        assert contents.pages[0] == pytest.approx(A4, abs=1e-3)
        assert str(contents.pens[0].pen) == "solid, #171c29, 0.8 mm"


class TestPens:
    @pytest.fixture
    def sizes(self) -> bytes:
        def draw(canvas):
            for k, (colour, dash) in enumerate((("#ff0000", ()), ("#0000ff", ()), ("#0000ff", (4, 2)))):
                pen(canvas, colour, 0.5, dash)
                canvas.rect(20 + 5 * k, 20 + 5 * k, 160 - 10 * k, 200 - 10 * k)

        return document(draw)

    def test_the_wanted_size_is_chosen_by_colour_and_dash(self, sizes):
        uses = pdf.look(sizes).pens
        assert [str(u.pen) for u in uses] == [
            "solid, #ff0000, 0.5 mm",
            "solid, #0000ff, 0.5 mm",
            "dashed 4-2, #0000ff, 0.5 mm",
        ]
        for k, area in enumerate((160 * 200, 150 * 190, 140 * 180)):
            (piece,) = pdf.read_pieces(sizes, pens=[k + 1])
            assert piece.finished_area_mm2 == pytest.approx(area, rel=1e-5)

    def test_without_a_choice_it_is_asked(self, sizes):
        with pytest.raises(FileFormatError, match=r"3 kinds \(1: solid, #ff0000, 0\.5 mm; 2: ") as caught:
            pdf.read_pieces(sizes)
        assert "Say which kinds of line draw the wanted size" in str(caught.value)

    @pytest.mark.parametrize("numbers", [{"pens": [4]}, {"pens": [0]}, {"pages": [2]}])
    def test_numbers_that_do_not_exist(self, sizes, numbers):
        with pytest.raises(FileFormatError, match="from 1 to"):
            pdf.read_pieces(sizes, **numbers)

    @pytest.mark.parametrize("name", ["Größe 40", "Größe 40 – Länge", "size 12"])
    def test_layers_are_named(self, name):
        """Optional content as ISO 32000-1, 8.11 writes it; names in either encoding of text strings."""
        with pikepdf.new() as made:
            page = made.add_blank_page(page_size=(400, 400))
            group = made.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=name))
            page.Resources = pikepdf.Dictionary(Properties=pikepdf.Dictionary(L=group))
            page.Contents = made.make_stream(b"/OC /L BDC 10 10 200 300 re S EMC 1 0 0 RG 20 20 50 50 re S")
            out = io.BytesIO()
            made.save(out)
        layers = {u.pen.layer for u in pdf.look(out.getvalue()).pens}
        assert layers == {"", name}

    def test_text_strings_are_decoded_as_another_library_does(self):
        data = bytes(b for b in range(0x20, 0x100) if b not in (0x7F, 0x9F, 0xAD))  # those three are undefined
        assert text_string(data) == data.decode("pdfdoc")  # pikepdf's codec

    def test_one_kind_of_line_needs_no_choice_and_curves_stay(self):
        def draw(canvas):
            pen(canvas, "#000000")
            canvas.circle(100, 150, 60)
            canvas.line(80, 150, 120, 150)  # inside: a mark
            canvas.line(5, 5, 40, 5)  # outside: a legend

        (piece,) = pdf.read_pieces(document(draw))
        assert piece.finished_area_mm2 == pytest.approx(math.pi * 60**2, rel=6e-4)  # four cubics: 2.7e-4 of the radius
        assert len(piece.outline) == 4
        assert len(piece.marks) == 1

    def test_a_known_length_sets_the_scale(self):
        def draw(canvas):
            pen(canvas, "#000000")
            canvas.rect(20, 20, 93, 93)

        (piece,) = pdf.read_pieces(document(draw), scale=100 / 93)
        assert piece.finished_area_mm2 == pytest.approx(10_000, rel=1e-5)

    @pytest.mark.parametrize("turn", [0, 90, 180, 270])
    def test_a_turned_page_is_read_as_it_is_shown(self, turn):
        def draw(canvas):
            pen(canvas, "#000000")
            canvas.rect(20, 30, 40, 90)

        with pikepdf.open(io.BytesIO(document(draw))) as made:
            made.pages[0].Rotate = turn
            out = io.BytesIO()
            made.save(out)
        (piece,) = pdf.read_pieces(out.getvalue())
        x, y, w, h = {
            0: (20, 30, 40, 90),
            90: (30, 210 - 60, 90, 40),
            180: (210 - 60, 297 - 120, 40, 90),
            270: (297 - 120, 20, 90, 40),
        }[turn]
        assert paths.bounds(piece.outline) == pytest.approx((x, y, x + w, y + h), abs=1e-3)


class TestTiledPages:
    """Pages whose lines are really cut off at the page: only a typed tiling can put them together."""

    SHAPE = np.array(
        [
            (250 + 190 * math.cos(a) * (1 + 0.2 * math.sin(3 * a)), 330 + 290 * math.sin(a))
            for a in np.arange(0, math.tau, 0.05)
        ]
    )
    MARGIN, OVERLAP, COLUMNS, ROWS = 10.0, 20.0, 3, 3

    @pytest.fixture
    def tiled(self) -> bytes:
        w, h = A4[0] - 2 * self.MARGIN, A4[1] - 2 * self.MARGIN

        def page(row, column):
            x, y = column * (w - self.OVERLAP), (self.ROWS - 1 - row) * (h - self.OVERLAP)
            cut = LinearRing(self.SHAPE).intersection(box(x, y, x + w, y + h))

            def draw(canvas):
                pen(canvas, "#000000")
                canvas.rect(self.MARGIN, self.MARGIN, w, h)  # the page's own frame
                for part in getattr(cut, "geoms", [cut]):
                    points = np.array(part.coords) - (x - self.MARGIN, y - self.MARGIN) if len(part.coords) else []
                    if len(points) > 1:
                        line = canvas.beginPath()
                        line.moveTo(*points[0])
                        for point in points[1:]:
                            line.lineTo(*point)
                        canvas.drawPath(line)

            return draw

        return document(*(page(r, c) for r in range(self.ROWS) for c in range(self.COLUMNS)))

    def test_by_typed_overlap_the_outline_is_whole_again(self, tiled):
        tiling = Tiling(self.COLUMNS, (self.OVERLAP, self.OVERLAP), (self.MARGIN,) * 4)
        (piece,) = pdf.read_pieces(tiled, tiling=tiling)
        expected = abs(paths.signed_area(paths.polyline(self.SHAPE, close=True)))
        assert piece.finished_area_mm2 == pytest.approx(expected, rel=1e-5)

    def test_a_wrong_overlap_does_not_close(self, tiled):
        with pytest.raises(FileFormatError):
            pdf.read_pieces(tiled, tiling=Tiling(self.COLUMNS, (5.0, 5.0), (self.MARGIN,) * 4))

    def test_an_overlap_larger_than_the_page(self, tiled):
        with pytest.raises(FileFormatError, match="smaller than the printed part"):
            pdf.read_pieces(tiled, tiling=Tiling(3, (250.0, 5.0), (self.MARGIN,) * 4))

    def test_cutting_at_a_cell_is_exact(self):
        circle = paths.Path(
            np.array(
                [
                    [[10, 0], [10, 5.5], [5.5, 10], [0, 10]],
                    [[0, 10], [-5.5, 10], [-10, 5.5], [-10, 0]],
                    [[-10, 0], [-10, -5.5], [-5.5, -10], [0, -10]],
                    [[0, -10], [5.5, -10], [10, -5.5], [10, 0]],
                ],
                dtype=float,
            )
        )
        (right,) = inside(circle, (3.0, -20.0, 20.0, 20.0))
        (left,) = inside(circle, (-20.0, -20.0, 3.0, 20.0))
        assert right.start[0] == pytest.approx(3.0, abs=1e-9)
        assert np.allclose(right.end, left.start, atol=1e-9)
        assert paths.length(right) + paths.length(left) == pytest.approx(paths.length(circle), rel=1e-9)


class TestStrangers:
    def test_a_scan_is_no_drawing(self):
        picture = ImageReader(io.BytesIO(_png()))
        data = document(lambda c: c.drawImage(picture, 10, 10, 100, 100))
        with pytest.raises(FileFormatError, match="Photograph or scan the paper piece on the reference sheet"):
            pdf.read_pieces(data)

    def test_an_empty_page(self):
        with pytest.raises(FileFormatError, match="got no lines"):
            pdf.look(document(lambda c: c.drawString(10, 10, "hello")))

    def test_a_password(self):
        with pikepdf.open(io.BytesIO(document(lambda c: c.rect(10, 10, 90, 90)))) as made:
            out = io.BytesIO()
            made.save(out, encryption=pikepdf.Encryption(owner="o", user="u"))
        with pytest.raises(FileFormatError, match="without a password"):
            pdf.look(out.getvalue())

    @pytest.mark.parametrize("data", [b"", b"hello", b"%PDF-1.4\n", b"%PDF-1.7\n%%EOF", b"\x89PNG\r\n\x1a\n"])
    def test_no_pdf(self, data):
        with pytest.raises(FileFormatError):
            pdf.look(data)

    def test_too_many_segments(self):
        line = b"0 0 m " + b" ".join(b"%d %d l" % (i % 400, i % 7) for i in range(200_100)) + b" S"
        with pikepdf.new() as made:
            page = made.add_blank_page(page_size=(400, 400))
            page.Contents = made.make_stream(line)
            out = io.BytesIO()
            made.save(out)
        with pytest.raises(FileFormatError, match=r"got more \(segments\)"):
            pdf.look(out.getvalue())

    def test_forms_inside_forms_without_end(self):
        with pikepdf.new() as made:
            inner = made.make_stream(
                b"0 0 9 9 re S", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 9, 9]
            )
            for _ in range(12):
                resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=inner))
                inner = made.make_stream(
                    b"/F Do /F Do",
                    Type=pikepdf.Name.XObject,
                    Subtype=pikepdf.Name.Form,
                    BBox=[0, 0, 9, 9],
                    Resources=resources,
                )
            page = made.add_blank_page(page_size=(400, 400))
            page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=inner))
            page.Contents = made.make_stream(b"/F Do")
            out = io.BytesIO()
            made.save(out)
        with pytest.raises(FileFormatError):
            pdf.look(out.getvalue())

    @pytest.mark.skipif(sys.platform == "win32", reason="the stand-in for a slow reader is a shell script")
    def test_a_child_that_takes_too_long_is_stopped(self, monkeypatch, tmp_path):
        slow = tmp_path / "slow"
        slow.write_text("#!/bin/sh\nexec sleep 600\n")
        slow.chmod(0o755)
        monkeypatch.setattr(child.sys, "executable", str(slow))
        monkeypatch.setattr(child, "_GRACE_S", 0.2)
        with pytest.raises(FileFormatError, match="that can be read within 0 s"):
            pdf_drawing.read_drawing(b"%PDF-1.4\n", seconds=0)

    @pytest.mark.skipif(sys.platform == "win32", reason="the stand-in for a dying reader is a shell script")
    def test_a_child_that_dies_is_told(self, monkeypatch, tmp_path):
        dying = tmp_path / "dying"
        dying.write_text("#!/bin/sh\necho '{\"pages\": ['\nkill -9 $$\n")
        dying.chmod(0o755)
        monkeypatch.setattr(child.sys, "executable", str(dying))
        with pytest.raises(FileFormatError, match="that can be read within"):
            pdf_drawing.read_drawing(b"%PDF-1.4\n")


def _png() -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (20, 20), "white").save(out, "PNG")
    return out.getvalue()


def test_the_shape_of_the_tiled_pages_is_one_that_tiles(tmp_path):
    """The fixture above spans all nine pages: otherwise it would prove little."""
    assert LinearRing(TestTiledPages.SHAPE).is_valid
    assert Point(250, 330).within(LinearRing(TestTiledPages.SHAPE).convex_hull)
    assert np.ptp(TestTiledPages.SHAPE, axis=0).min() > 2 * A4[0] - 60


def test_pages_whose_lines_are_cut_off_are_laid_mark_on_mark():
    """Four pages; every page draws only what lies in its own window, and two crosses at each side in the overlap."""
    from shapely.geometry import LineString, box

    size, margin, overlap = 200.0, 10.0, 12.0
    window, step = size - 2 * margin, size - 2 * margin - overlap
    ring = [(30, 40), (320, 60), (300, 310), (150, 250), (40, 330), (30, 40)]  # y down, over all four pages
    out = io.BytesIO()
    mm = 72 / 25.4
    canvas = Canvas(out, pagesize=(size * mm, size * mm), invariant=1)
    for row, column in ((0, 0), (0, 1), (1, 0), (1, 1)):
        canvas.scale(mm, mm)
        left, top = column * step, row * step
        shown = LineString(ring).intersection(box(left, top, left + window, top + window))
        for part in getattr(shown, "geoms", [shown]):
            pen = canvas.beginPath()
            points = [(margin + x - left, size - margin - (y - top)) for x, y in part.coords]
            pen.moveTo(*points[0])
            for p in points[1:]:
                pen.lineTo(*p)
            canvas.drawPath(pen)
        canvas.setLineWidth(0.1)
        half = overlap / 2
        for x, y in [(half, 40), (half, 140), (window - half, 40), (window - half, 140),
                     (40, half), (140, half), (40, window - half), (140, window - half)]:  # fmt: skip
            canvas.line(margin + x - 2, size - margin - y, margin + x + 2, size - margin - y)
            canvas.line(margin + x, size - margin - y - 2, margin + x, size - margin - y + 2)
        canvas.showPage()
    canvas.save()
    found = pdf.read_pieces(out.getvalue(), pens=[1], tiling=Tiling(2))
    (piece,) = found
    area = 0.5 * abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(ring)))
    assert piece.finished_area_mm2 == pytest.approx(area, rel=1e-4)
