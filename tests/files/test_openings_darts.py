"""Openings and darts through SVG and DXF and back; the area round trip is 1e-6, our aim."""

import re
import sys
from pathlib import Path as FilePath

import numpy as np
import pytest

sys.path.insert(0, str(FilePath(__file__).parents[1] / "pattern"))
from tunic import half

from mockup.files import dxf, svg
from mockup.files.dxf_drawing import read_drawing
from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.pattern.allowance import cut_outline
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.darts import openings, sewn_length, with_dart
from mockup.pattern.proof import distances_to
from mockup.sheets.printed_pieces import pieces_pdf
from swatches.errors import FileFormatError


def opened():
    """A front with a bust dart on its side, and a disc let into it."""
    front = with_dart(half(), "bust dart", "side", 330.0, 24.0, 135.0)
    disc = CutLine("round", "window", circular_arc((110, 200), 45, 0, 360))
    return cut_piece(front, [disc], 10).children


@pytest.mark.parametrize(
    "through",
    [lambda p: svg.read_pieces(svg.write_pieces(p).encode()), lambda p: dxf.read_pieces(dxf.write_pieces(p))],
    ids=["svg", "dxf"],
)
def test_openings_and_darts_come_back(through):
    pieces = opened()
    back = through(pieces)
    assert len(back) == 2
    for was, now in zip(pieces, back, strict=True):
        assert now.finished_area_mm2 == pytest.approx(was.finished_area_mm2, rel=1e-6)
        assert [len(h) for h in now.holes] == [len(h) for h in was.holes]
        assert [e.name for e in now.all_edges] == [e.name for e in was.all_edges]
        assert [e.mate for e in now.all_edges] == [e.mate for e in was.all_edges]
        assert sorted(n.edge for n in now.notches) == sorted(n.edge for n in was.notches)
    (dart,), (given,) = back[0].darts, pieces[0].darts
    assert (dart.name, dart.edge) == ("bust dart", "side")
    assert (dart.from_mm, dart.to_mm) == pytest.approx((given.from_mm, given.to_mm), abs=1e-3)
    assert sewn_length(back[0], "side") == pytest.approx(paths.length(half().edge("side").path) - 24, abs=1e-3)


def test_the_legs_of_a_dart_are_notched_from_the_stitch_line_to_the_cut_line():
    # ASTM D6673-10: layer 4 holds the notches; that each leg has one is common practice, no source
    piece = opened()[0]
    ends = np.concatenate(openings(piece, piece.darts[0])).tolist()
    cut = cut_outline(piece).path
    block = next(b for b in read_drawing(dxf.write_pieces([piece]), what="file").blocks if b.lines)
    strokes = [path for path, values in block.lines["4"] if values == {"dart": "leg"}]
    assert np.concatenate([s.start for s in strokes]).tolist() == pytest.approx(ends)
    assert distances_to(cut, np.array([s.end for s in strokes])).max() < 0.05
    assert len(block.lines["4"]) == len(piece.notches) + 2
    drawn = re.search(r'<path data-drawn="notches of darts" class="notch" d="([^"]+)"', svg.write_pieces([piece]))
    x0, y0, x1, y1, x2, y2, *_ = (float(v) for v in re.findall(r"-?[0-9.]+", drawn[1]))
    assert (x0, -y0) == pytest.approx(ends[:2], abs=1e-3)
    assert (x1, -y1) == pytest.approx(strokes[0].end.tolist(), abs=1e-3)
    assert (x2, -y2) == pytest.approx(ends[2:], abs=1e-3)


def test_a_dart_is_read_from_three_drawn_points():
    text = svg.write_pieces(opened())
    assert 'data-dart="bust dart" data-on="side"' in text
    assert 'data-hole="1"' in text
    with pytest.raises(FileFormatError, match="names its edge"):
        svg.read_pieces(text.replace('data-on="side"', 'data-on="nowhere"').encode())
    moved = re.sub(r'(data-on="side"[^>]* d="M )[^ ]+', r"\g<1>200,-330", text)
    assert moved != text
    with pytest.raises(FileFormatError, match="legs that begin on side"):
        svg.read_pieces(moved.encode())


def test_an_opening_that_leaves_the_piece_is_refused():
    text = svg.write_pieces(opened())
    start = text.index('data-edge="window"')
    d = text.index(' d="', start) + 4
    end = text.index('"', d)
    moved = text[:d] + "M -50,-200 L 50,-200 L 50,-260 L -50,-260 Z" + text[end:]
    with pytest.raises(FileFormatError, match="openings inside the piece"):
        svg.read_pieces(moved.encode())


def test_openings_and_legs_are_on_the_print():
    import pypdfium2

    data = pieces_pdf(opened(), paper="A0")
    plain = pieces_pdf([half()], paper="A0")

    def drawn(pdf):
        document = pypdfium2.PdfDocument(pdf)
        return sum(len(list(page.get_objects())) for page in document)

    assert drawn(data) > drawn(plain)
