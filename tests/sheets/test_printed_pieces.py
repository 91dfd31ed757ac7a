"""The print at 1:1: measured in the file and in the rendered page, and put together again from its sheets."""

from __future__ import annotations

import ctypes
import io
import math

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from shapely import Polygon, box, union_all
from shapely.affinity import translate

from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Notch, Piece
from mockup.pattern.proof import Proof, ProofRow
from mockup.sheets.packing import plan
from mockup.sheets.papers import PAPERS, Grid, paper, row_letters
from mockup.sheets.piece_label import allowance_words
from mockup.sheets.piece_pen import made_ready, turned_upright
from mockup.sheets.printed_pieces import pieces_pdf
from mockup.sheets.seams import seam_letters
from swatches.errors import GeometryError, InputError, ProofError

MM = 25.4 / 72
ARGUMENTS = {
    "title": "Winter concert tunic",
    "date": "2026-11-24",
    "note": "An invented example.",
    "fabric_names": {"navy": "Navy wool twill"},
}


@pytest.fixture(scope="module")
def pdf(tunic) -> bytes:
    return pieces_pdf(tunic, **ARGUMENTS)


def rectangles(page: pdfium.PdfPage) -> list[tuple[float, float, float, float]]:
    """Every path of a page that is an upright rectangle, in mm: x, y, width, height."""
    found = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH], max_depth=1):
        matrix = item.get_matrix()
        points = []
        for k in range(raw.FPDFPath_CountSegments(item)):
            segment = raw.FPDFPath_GetPathSegment(item, k)
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(matrix.on_point(x.value, y.value))
        points = np.array(points) * MM
        if len(points) in (4, 5) and len(np.unique(points.round(3), axis=0)) == 4:
            low, high = points.min(axis=0), points.max(axis=0)
            if all(min(abs(p[0] - low[0]), abs(p[0] - high[0])) < 0.01 for p in points):
                found.append((*low, *(high - low)))
    return found


def render(page: pdfium.PdfPage, px_per_mm: float) -> np.ndarray:
    return page.render(scale=px_per_mm * MM, grayscale=True).to_numpy().squeeze()


class TestCheckSquares:
    @pytest.mark.parametrize(("side", "what"), [(50.0, "5 cm"), (25.4, "1 in")])
    @pytest.mark.parametrize("name", ["A4", "Letter"])
    def test_measured_in_the_file(self, tunic, name, side, what):
        page = pdfium.PdfDocument(pieces_pdf(tunic[3:4], paper=name))[0]
        squares = [r for r in rectangles(page) if abs(r[2] - side) < 1 and abs(r[3] - side) < 1]
        assert len(squares) == 1, what
        assert squares[0][2:] == pytest.approx((side, side), abs=0.05)  # our limit

    def test_measured_in_the_rendered_page(self, pdf):
        page = pdfium.PdfDocument(pdf)[0]
        scale = 20.0
        dark = 255.0 - render(page, scale)
        for side in (50.0, 25.4):
            (x, y, w, h) = next(r for r in rectangles(page) if abs(r[2] - side) < 1 and abs(r[3] - side) < 1)
            top = page.get_height() * MM - y - h
            row = dark[round((top + h * 0.2) * scale), :]
            column = dark[:, round((x + w * 0.2) * scale)]
            for strip, start in ((row, x), (column, top)):
                ends = []
                for at in (start, start + side):
                    window = np.arange(round((at - 1) * scale), round((at + 1) * scale))
                    ends.append(float((window + 0.5) @ strip[window] / strip[window].sum()) / scale)
                assert ends[1] - ends[0] == pytest.approx(side, abs=0.05)  # our limit


class TestFile:
    def test_it_asks_the_printer_not_to_scale(self, pdf):
        with pikepdf.open(io.BytesIO(pdf)) as document:
            assert document.Root.ViewerPreferences.PrintScaling == "/None"  # ISO 32000-1, table 150

    def test_its_fonts_are_embedded(self, pdf):
        with pikepdf.open(io.BytesIO(pdf)) as document:
            fonts = [
                o for o in document.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"
            ]
            assert fonts
            assert all("/FontFile2" in f for f in fonts)

    def test_the_same_pieces_give_the_same_bytes(self, pdf, tunic):
        assert pieces_pdf(tunic, **ARGUMENTS) == pdf

    def test_its_contents_name_every_sheet_and_its_pieces(self, pdf):
        document = pdfium.PdfDocument(pdf)
        names = [mark.get_title() for mark in document.get_toc()]
        assert len(names) == len(document)
        assert names[0] == "Check before cutting, map and list"
        assert names[1].startswith("Sheet A1: piece")

    def test_the_first_page_says_what_is_needed(self, pdf):
        text = pdfium.PdfDocument(pdf)[0].get_textpage().get_text_range()
        for words in (
            "Winter concert tunic",
            "24 November 2026",
            "Check before cutting",
            "An invented example.",
            "Irons are hot",
        ):
            assert words in text
        assert "cut 1 on fold" in text
        assert "100 mm" in text

    def test_every_label_is_on_a_sheet(self, pdf, tunic):
        document = pdfium.PdfDocument(pdf)
        text = " ".join(document[k].get_textpage().get_text_range() for k in range(1, len(document)))
        for piece in tunic:
            assert piece.name in text
        assert "place on fold" in text
        assert "allowance 15 mm, neck 10 mm, hem 30 mm" in text

    @pytest.mark.parametrize("name", ["A4", "Letter", "A0", "roll36", "projector"])
    def test_page_sizes(self, tunic, pdf, name):
        document = pdfium.PdfDocument(pdf if name == "A4" else pieces_pdf(tunic, paper=name))
        sheet = paper(name)
        for page in document:
            width, height = (v * MM for v in page.get_size())
            assert sheet.width in (0.0, pytest.approx(width, abs=0.01))
            assert sheet.height in (0.0, pytest.approx(height, abs=0.01))
        assert len(document) == {"A4": 21, "Letter": 23, "A0": 2, "roll36": 1, "projector": 1}[name]

    def test_a_large_sheet_carries_the_squares_too(self, tunic):
        page = pdfium.PdfDocument(pieces_pdf(tunic, paper="roll36"))[0]
        text = page.get_textpage().get_text_range()
        assert "5 cm × 5 cm" in text
        assert "1 in × 1 in" in text


def assembled(pdf: bytes, tunic, px_per_mm: float) -> tuple[np.ndarray, list, object]:
    """Lay the rendered sheets on the plane as a person would, each over the one before it."""
    sheet = PAPERS["a4"]
    prints = [made_ready(p, {}) for p in tunic]
    laid = plan([p.outline for p in prints], sheet)
    width, height = (round(v * px_per_mm) for v in laid.grid.size)
    plane = np.full((height + 2, width + 2), 255, dtype=np.uint8)
    document = pdfium.PdfDocument(pdf)
    for k, tile in enumerate(laid.tiles):
        page = render(document[k + 1], px_per_mm)
        m = round(sheet.margin * px_per_mm)
        w, h = (round(v * px_per_mm) for v in sheet.frame)
        x, y = round(tile.x * px_per_mm), round(tile.y * px_per_mm)
        plane[y : y + h, x : x + w] = page[m : m + h, m : m + w][: plane.shape[0] - y, : plane.shape[1] - x]
    return plane, prints, laid


class TestSheets:
    def test_put_together_they_show_every_cut_line_in_its_true_size(self, pdf, tunic):
        scale = 3.0
        plane, prints, laid = assembled(pdf, tunic, scale)
        for printed, move in zip(prints, laid.moves, strict=True):
            size = paths.length(printed.cut)
            fold = printed.piece.fold
            for at in np.arange(0, size, 11.0):
                point = paths.point_at_distance(printed.cut, at)
                if fold is not None and abs(point[0] - fold.path.start[0]) < 0.1:
                    continue  # the fold's line is dashed
                x, y = (point * (1, -1) + move) * scale
                around = plane[int(y) - 2 : int(y) + 3, int(x) - 2 : int(x) + 3]
                assert around.min() < 110, (printed.piece.name, at)

    def test_every_part_of_every_piece_is_on_a_sheet_and_every_sheet_has_a_part(self, tunic):
        for name in ("A4", "Letter", "A0"):
            prints = [made_ready(p, {}) for p in tunic]
            laid = plan([p.outline for p in prints], paper(name))
            lying = [translate(Polygon(p.outline), *m) for p, m in zip(prints, laid.moves, strict=True)]
            w, h = laid.grid.frame
            windows = [box(t.x, t.y, t.x + w, t.y + h) for t in laid.tiles]
            for piece in lying:
                assert union_all(windows).buffer(1e-6).covers(piece)
            for k, window in enumerate(windows):  # none can be left out
                others = union_all([*windows[:k], *windows[k + 1 :]])
                assert not all(others.covers(p.intersection(window)) for p in lying)

    def test_pieces_keep_their_distance(self, tunic):
        prints = [made_ready(p, {}) for p in tunic]
        laid = plan([p.outline for p in prints], PAPERS["a4"])
        lying = [translate(Polygon(p.outline), *m) for p, m in zip(prints, laid.moves, strict=True)]
        for i, a in enumerate(lying):
            assert all(a.distance(b) >= 5.0 for b in lying[i + 1 :])
            assert a.bounds[0] >= 2.9
            assert a.bounds[1] >= 2.9

    def test_a_piece_wider_than_a_sheet_is_spread(self):
        grid = Grid(PAPERS["a4"].frame, 3, 2)
        cells = [box(*grid.cell(r, c)) for r in range(2) for c in range(3)]
        assert sum(c.area for c in cells) == pytest.approx(grid.size[0] * grid.size[1])  # a partition
        laid = plan([np.array([[0.0, 0.0], [1900.0, 0.0], [1900.0, 90.0], [0.0, 90.0]])], PAPERS["a4"])
        assert laid.grid.columns == 11
        assert len(laid.tiles) == 11

    def test_a_piece_wider_than_the_roll_is_refused(self):
        with pytest.raises(GeometryError, match="at most 868 mm across"):
            plan([np.array([[0.0, 0.0], [1900.0, 0.0], [1900.0, 90.0]])], PAPERS["roll36"])

    def test_rows_after_z(self):
        assert [row_letters(k) for k in (0, 25, 26, 27)] == ["A", "Z", "AA", "AB"]


class TestPieces:
    def test_a_leaning_grainline_is_set_upright_by_the_smaller_turn(self, tunic):
        front = tunic[0]
        angle = math.radians(130)
        turn = np.array([[math.cos(angle), -math.sin(angle), 5.0], [math.sin(angle), math.cos(angle), 9.0]])
        (ax, ay), (bx, by) = (tuple(turn[:, :2] @ np.array(p) + turn[:, 2]) for p in front.grainline)
        edges = tuple(Edge(e.name, paths.transformed(e.path, turn), e.kind, e.allowance_mm) for e in front.edges)
        upright = turned_upright(front.with_(edges=edges, grainline=((ax, ay), (bx, by)), notches=(), marks=()))
        (ax, ay), (bx, by) = upright.grainline
        assert ax == pytest.approx(bx, abs=1e-9)
        assert upright.finished_area_mm2 == pytest.approx(front.finished_area_mm2)

    def test_mates_share_a_letter(self, tunic):
        letters = seam_letters(tunic)
        named = {(tunic[i].name, tunic[i].edges[k].name): v for (i, k), v in letters.items()}
        assert named["front", "side"] == named["back", "side"]
        assert named["front", "shoulder"] == named["back", "shoulder"]
        assert named["front", "side"] != named["front", "shoulder"]
        counts = [list(letters.values()).count(v) for v in set(letters.values())]
        assert set(counts) == {2}

    def test_allowances_are_said_as_typed(self, tunic):
        assert allowance_words(tunic[0]) == "allowance 15 mm, neck 10 mm, hem 30 mm"
        edges = tuple(Edge(e.name, e.path, e.kind, 15.875, "5/8 in") for e in tunic[0].edges)
        assert allowance_words(tunic[0].with_(edges=edges)) == "allowance 5/8 in, hem 5/8 in"
        plain = tuple(Edge(e.name, e.path, EdgeKind.CUT) for e in tunic[3].edges)
        assert allowance_words(tunic[3].with_(edges=plain)) == "no seam allowance"

    def test_one_way_cloth_has_one_arrow_head(self, tunic):
        front = tunic[0].with_(fabric="velvet")
        one, two = pieces_pdf([front], one_way=["velvet"]), pieces_pdf([front])
        text = [" ".join(p.get_textpage().get_text_range() for p in pdfium.PdfDocument(data)) for data in (one, two)]
        assert "this way up" in text[0]
        assert "this way up" not in text[1]

    @pytest.mark.parametrize("size", [(26, 400), (400, 26), (30, 30)])
    def test_narrow_pieces_keep_their_label_inside(self, size):
        w, h = size
        corners = np.array([[0, 0], [w, 0], [w, h], [0, h]], dtype=float)
        edges = tuple(
            Edge(f"e{i}", paths.polyline([corners[i], corners[(i + 1) % 4]]), EdgeKind.SEAM, 10.0) for i in range(4)
        )
        piece = Piece("band", edges, number=7, notches=(Notch("e0", w / 3),), how=HowToCut.PAIR, fabric="navy")
        document = pdfium.PdfDocument(pieces_pdf([piece], title="Band", fabric_names={"navy": "Navy"}))
        text = " ".join(p.get_textpage().get_text_range() for p in document)
        for words in ("band", "Navy", "cut a pair"):
            assert words in text


def test_a_long_list_goes_on_on_the_next_page(tunic):
    many = [tunic[3].with_(name=f"pocket no {k}", number=k) for k in range(1, 31)]  # the first page has room for 22
    document = pdfium.PdfDocument(pieces_pdf(many))
    first, second = (document[k].get_textpage().get_text_range().replace("\r\n", " ") for k in range(2))
    assert "pocket no 1 " in first
    assert "pocket no 30 " in second
    for k in range(1, 31):
        assert (f"pocket no {k} " in first) != (f"pocket no {k} " in second), k


class TestBadInput:
    def test_no_piece(self):
        with pytest.raises(InputError, match="1 to 500 pieces"):
            pieces_pdf([])

    def test_an_unknown_paper(self, tunic):
        with pytest.raises(InputError, match="A4 or Letter or A0"):
            pieces_pdf(tunic, paper="A5")

    def test_markup_in_names_is_only_words(self, tunic):
        data = pieces_pdf([tunic[3].with_(name="<script>(x)</script>\n\x00")], title="(%PDF\\")
        assert "<script>(x)</script>" in pdfium.PdfDocument(data)[1].get_textpage().get_text_range()


class TestProof:
    def test_a_failed_proof_stops_the_print(self, tunic):
        failed = Proof(5.0, 0.0, 0.0, (ProofRow("front: finished area", 5.0, 1e-3, "mm²"),))
        with pytest.raises(ProofError, match="front: finished area is off by 5 mm²"):
            pieces_pdf(tunic, proof=failed)

    @pytest.mark.parametrize("name", ["A4", "roll36"])
    def test_a_passed_one_stands_on_the_print(self, tunic, name):
        passed = Proof(1e-9, 0.0, 0.0, (ProofRow("front: finished area", 1e-9, 1e-3, "mm²"),))
        page = pdfium.PdfDocument(pieces_pdf(tunic, proof=passed, paper=name))[0]
        assert "Proof passed" in page.get_textpage().get_text_range()


class TestGolden:
    def test_the_first_page(self, pdf, same_picture):
        page = pdfium.PdfDocument(pdf)[0]
        same_picture(page.render(scale=1.4, rev_byteorder=True).to_numpy()[..., :3], "print-first-page")

    def test_a_sheet_with_marks(self, pdf, same_picture):
        page = pdfium.PdfDocument(pdf)[1]
        same_picture(page.render(scale=1.4, rev_byteorder=True).to_numpy()[..., :3], "print-sheet-a1")


def test_the_print_shows_the_piece_that_was_given(tunic):
    """The cut line in the file is the exact Bézier outline: its control points are found in the page's form."""
    printed = made_ready(tunic[3], {})
    document = pdfium.PdfDocument(pieces_pdf(tunic[3:4]))
    curves = 0
    for item in document[1].get_objects(max_depth=3):
        if item.type == raw.FPDF_PAGEOBJ_PATH:
            kinds = [
                raw.FPDFPathSegment_GetType(raw.FPDFPath_GetPathSegment(item, k))
                for k in range(raw.FPDFPath_CountSegments(item))
            ]
            curves = max(curves, kinds.count(raw.FPDF_SEGMENT_BEZIERTO))
    bent = int((~paths.is_straight(cut_line(printed.piece))).sum())
    assert bent > 0
    assert curves == 3 * bent  # three points a curve, as the format stores them
