"""What stands on prints can be read, is explained, and is not cut in two where it need not be."""

from __future__ import annotations

import ctypes
import math

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from shapely import LineString

from mockup.geometry import path as paths
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.darts import with_dart
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from mockup.sheets.packing import plan
from mockup.sheets.papers import PAPERS
from mockup.sheets.piece_pen import PiecePen, made_ready
from mockup.sheets.printed_pieces import pieces_pdf
from mockup.sheets.seams import seam_letters

LEAST_PT = 7.0  # common practice, no source: smaller lettering is not read on a table


def sizes(page: pdfium.PdfPage) -> list[float]:
    """Size of every letter of a page, points."""
    text = page.get_textpage()
    found = []
    for k in range(text.count_chars()):
        m = raw.FS_MATRIX()
        if chr(raw.FPDFText_GetUnicode(text, k)).strip() and raw.FPDFText_GetMatrix(text, k, ctypes.byref(m)):
            found.append(raw.FPDFText_GetFontSize(text, k) * math.sqrt(abs(m.a * m.d - m.b * m.c)))
    return found


def skirt() -> tuple[Piece, ...]:
    """A quarter of an invented skirt on the fold with a waist dart, cut by a yoke line over the dart."""
    points = [(0, 0), (250, 0), (250, 600), (0, 600)]
    kinds = [("hem", EdgeKind.HEM, 30.0), ("side", EdgeKind.SEAM, 15.0), ("waist", EdgeKind.SEAM, 10.0),
             ("centre", EdgeKind.FOLD, 0.0)]  # fmt: skip
    edges = tuple(
        Edge(name, paths.polyline([points[k], points[(k + 1) % 4]]), kind, allowance)
        for k, (name, kind, allowance) in enumerate(kinds)
    )
    piece = Piece("skirt", edges, grainline=((100, 100), (100, 500)), how=HowToCut.ON_FOLD)
    darted = with_dart(piece, "waist dart", "waist", 110.0, 30.0, 120.0)
    return cut_piece(darted, [CutLine("l", "yoke", paths.polyline([(-10, 540), (260, 540)]))], 15, number=1).children


@pytest.mark.parametrize("name", ["A4", "A0", "projector"])
def test_no_lettering_is_smaller_than_seven_points(tunic, name):
    small = tuple(p.with_(fabric="navy") for p in tunic)
    data = pieces_pdf(small, paper=name, title="Winter concert tunic", date="2026-12-12", note="An invented example.",
                      fabric_names={"navy": "navy wool twill from the stage curtain"})  # fmt: skip
    for page in pdfium.PdfDocument(data):
        found = sizes(page)
        assert len(found) > 5
        assert min(found) > LEAST_PT


def test_a_narrow_piece_drops_the_projects_name_before_it_shrinks():
    corners = [(0, 0), (60, 0), (60, 52), (0, 52)]
    edges = tuple(Edge(f"e{i}", paths.polyline([corners[i], corners[(i + 1) % 4]]), allowance_mm=10) for i in range(4))
    piece = Piece("tab", edges, number=3, size="chest 104 cm", fabric="navy", layer="facing")
    data = pieces_pdf([piece], title="A very long name of a project", fabric_names={"navy": "navy twill"})
    sheet = pdfium.PdfDocument(data)[1]
    text = sheet.get_textpage().get_text_range()
    assert min(sizes(sheet)) > LEAST_PT
    for words in ("tab", "navy twill", "cut 1"):
        assert words in text


@pytest.mark.parametrize("name", ["A4", "A0", "roll36", "projector"])
def test_the_legend_explains_darts_where_there_are_any(tunic, name):
    with_darts = pdfium.PdfDocument(pieces_pdf(skirt(), paper=name))
    without = pdfium.PdfDocument(pieces_pdf(tunic, paper=name))
    first = [" ".join(p.get_textpage().get_text_range() for p in d) for d in (with_darts, without)]
    assert "dart: lay notch on notch, sew to its tip" in first[0]
    assert "dart" not in first[1]
    for text in first:
        for words in ("cut here", "sew here", "fold of the cloth", "grain: along", "notches: one meets one"):
            assert words in text


def test_on_large_sheets_pieces_that_can_stay_whole_do(tunic):
    laid = plan([made_ready(p, {}).outline for p in tunic], PAPERS["a0"])
    shown = [i for pieces in laid.on_tile for i in pieces]
    assert len(laid.tiles) == 2
    assert sorted(shown) == list(range(len(tunic)))  # every piece on one sheet, none on two


def test_seam_letters_keep_off_the_joins_of_sheets(tunic):
    class Kept(PiecePen):
        """Remembers where letters were put."""

        centres: list[np.ndarray]

        def _letter(self, piece, edge, letter, joins):
            line = super()._letter(piece, edge, letter, joins)
            self.centres.append((line.start + line.end) / 2)
            return line

    from reportlab.pdfgen.canvas import Canvas

    from mockup.sheets.looks import PAPER, use_fonts

    use_fonts()
    letters = seam_letters(tunic)
    piece = tunic[0]
    printed = made_ready(piece, {k: v for (p, k), v in letters.items() if p == 0})
    free = Kept(Canvas("unused.pdf"), PAPER, None, "")
    free.centres = []
    free.draw(printed)
    # A join through every letter, upright: where there is room for it, the letter goes elsewhere.
    joins = [paths.polyline([(c[0], -2000.0), (c[0], 2000.0)]) for c in free.centres[:2]]
    again = Kept(Canvas("unused.pdf"), PAPER, None, "")
    again.centres = []
    again.draw(printed, joins)
    for centre in again.centres:
        point = LineString([centre, centre + 1e-6])
        assert min(LineString([j.start, j.end]).distance(point) for j in joins) > 3.2  # a letter's circle
