"""Reading from any file with what the person says of it; every kind of bad file is one sentence."""

from __future__ import annotations

import io

import numpy as np
import pytest
import reportlab.lib.pdfencrypt as pdfencrypt
from PIL import Image
from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from mockup.files import svg
from mockup.files.reading import Said, read
from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import EdgeKind, HowToCut
from swatches.errors import FileFormatError, InputError, PictureError
from swatches.units import length

BOX = "M 0,0 H 300 V 200 H 0 Z"


def drawing(*paths_d: str, size: str = 'width="400mm" height="300mm"') -> bytes:
    lines = "".join(f'<path fill="none" stroke="#000" d="{d}"/>' for d in paths_d)
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 400 300">{lines}</svg>'.encode()


def pdf(draw, **options) -> bytes:
    out = io.BytesIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rl_config, "useA85", 1)  # the library writes a picture inside the page as letters only
        canvas = Canvas(out, pagesize=(600, 600), invariant=1, **options)
        draw(canvas)
        canvas.showPage()
        canvas.save()
    return out.getvalue()


class TestWhatIsSaid:
    def test_a_plain_outline_asks_which_line_it_is(self):
        found = read(drawing(BOX))
        assert found.kind == "SVG"
        assert "sewn on, or the line that is cut" in found.asks[0]
        assert found.pieces[0].finished_area_mm2 == pytest.approx(60_000)

    def test_the_cut_line_and_back_without_loss(self):
        said = Said(line_is="cut", allowance=length("5/8 in"), allowances={"piece-1:edge-1": length("10mm")})
        (piece,) = read(drawing(BOX), said).pieces
        # 5/8 in = 15.875 mm exactly: three sides by that, one by 10 mm (arithmetic)
        assert piece.finished_area_mm2 == pytest.approx((300 - 2 * 15.875) * (200 - 10 - 15.875), rel=1e-9) or (
            piece.finished_area_mm2 == pytest.approx((300 - 10 - 15.875) * (200 - 2 * 15.875), rel=1e-9)
        )
        assert paths.signed_area(cut_line(piece)) == pytest.approx(60_000, abs=1e-6)
        assert {e.allowance_text for e in piece.edges} == {"5/8 in", ""}
        assert all(e.kind is EdgeKind.SEAM for e in piece.edges)

    def test_the_stitch_line_stays(self):
        (piece,) = read(drawing(BOX), Said(line_is="stitch", allowance=length("15mm"))).pieces
        assert piece.finished_area_mm2 == pytest.approx(60_000)
        # Steiner: a rectangle of 200 × 300 mm with 15 mm, mitred: 75,900 mm²
        assert paths.signed_area(cut_line(piece)) == pytest.approx(75_900, abs=1e-6)

    def test_names_fold_and_view(self):
        names = {"piece-1": "front", "piece-1:edge-1": "hem", "piece-1:edge-2": "side"}
        said = Said(names=names, views={"piece-1": "front"}, folds=["front:edge-4"])
        (piece,) = read(drawing(BOX), said).pieces
        assert (piece.name, piece.view, piece.how) == ("front", "front", HowToCut.ON_FOLD)
        assert [(e.name, e.kind.value) for e in piece.edges] == [
            ("hem", "hem"), ("side", "seam"), ("edge-3", "cut"), ("edge-4", "fold"),
        ]  # fmt: skip
        again = svg.read_pieces(svg.write_pieces([piece]).encode())[0]
        assert [e.name for e in again.edges] == [e.name for e in piece.edges]

    @pytest.mark.parametrize(
        ("known", "factor", "said"),
        [
            ("30 cm", 1.0, "Confirmed"),
            ("300 in", 25.4, "counts in inches"),  # 1 in = 25.4 mm
            ("3 m", 10.0, "counts in centimetres"),
            ("291mm", 0.97, "3.0 % smaller"),
        ],
    )
    def test_a_known_length_confirms_or_corrects(self, known, factor, said):
        small = drawing("M 0,0 H 300 V 200 H 0 Z") if factor < 9 else drawing("M 0,0 H 30 V 20 H 0 Z")
        want = length(known) if factor < 9 else length(f"{float(known.split()[0]) / 10} {known.split()[1]}")
        found = read(small, Said(known=("piece-1", want)))
        size = 60_000 if factor < 9 else 600
        assert found.pieces[0].finished_area_mm2 == pytest.approx(size * factor**2, rel=1e-6)
        assert said in found.notes[0]

    def test_a_file_without_a_unit_is_settled_by_a_known_length(self):
        bare = drawing(BOX, size="")
        with pytest.raises(FileFormatError, match="unit such as mm"):
            read(bare)
        found = read(bare, Said(known=("piece-1", length("30cm"))))
        assert found.pieces[0].finished_area_mm2 == pytest.approx(60_000)

    def test_an_allowance_alone_does_not_say_where(self):
        with pytest.raises(InputError, match="stitch line or the cut line"):
            read(drawing(BOX), Said(allowance=length("15mm")))

    def test_a_place_that_is_not_there(self):
        with pytest.raises(InputError, match="one of edge-1, edge-2, edge-3, edge-4"):
            read(drawing(BOX), Said(names={"piece-1:hem": "x"}))
        with pytest.raises(InputError, match="'side' twice"):
            read(drawing(BOX), Said(names={"piece-1:edge-1": "side", "piece-1:edge-2": "side"}))


BAD = {
    "open": (drawing("M 0,0 H 300 V 200"), "a closed outline"),
    "self-crossing": (drawing("M 0,0 L 300,200 H 0 L 300,0 Z"), "does not cross or touch itself"),
    "one inside the other": (drawing(BOX, "M 50,50 H 250 V 150 H 50 Z"), "one inside the other"),
    "3 mm": (drawing("M 0,0 H 3 V 2 H 0 Z"), "say how many mm one of its units is"),
    "4 m": (drawing(BOX, size='width="5600mm" height="4200mm"'), "say how many mm one of its units is"),
    "too many segments": (drawing("M 0,0 " + "h .001 " * 100_001 + "v 200 H 0 Z"), "at most 100,000 segments"),
    "no file of ours": (b"just words", "pattern pieces in SVG or DXF or PDF"),
    "empty": (b"", "an empty file"),
    "a locked PDF": (
        pdf(lambda c: c.rect(50, 50, 300, 200), encrypt=pdfencrypt.StandardEncryption("secret", canPrint=0)),
        "without a password",
    ),
    "a scan in a PDF": (
        pdf(lambda c: c.drawInlineImage(Image.new("RGB", (40, 40), "white"), 50, 50, 300, 200)),
        "on the reference sheet",
    ),
    "a DOCTYPE": (b'<!DOCTYPE svg [<!ENTITY a "b">]>' + drawing(BOX), "without DOCTYPE"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_one_sentence(name):
    data, said = BAD[name]
    with pytest.raises(FileFormatError, match=said) as caught:
        read(data)
    assert "\n" not in str(caught.value)


def test_duplicate_points_do_no_harm():
    found = read(drawing("M 0,0 H 300 H 300 V 200 V 200 L 300,200 H 0 Z"))
    assert found.pieces[0].finished_area_mm2 == pytest.approx(60_000)
    assert len(found.pieces[0].edges) == 4


def test_a_picture_without_a_reference_says_what_to_do():
    out = io.BytesIO()
    Image.fromarray(np.full((300, 200, 3), 128, np.uint8)).save(out, "PNG")
    with pytest.raises(PictureError):
        read(out.getvalue(), Said(reference="sheet"))
