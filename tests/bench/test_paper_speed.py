"""Speed of files and prints, as ratios to plain library calls on the same input in the same run."""

import io

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pytest
import svgelements
from PIL import Image
from processor_time import best_of

from mockup.files import dxf, pdf, svg
from mockup.sheets.compare import Choice, ClothShare, compare_sheet
from mockup.sheets.printed_pieces import pieces_pdf

pytestmark = pytest.mark.bench


def ratio(benchmark, work, plain, name: str, rounds: int = 5) -> float:
    benchmark.pedantic(work, rounds=rounds, warmup_rounds=1)
    found = benchmark.stats.stats.min / best_of(plain)
    benchmark.extra_info[f"ratio to {name}"] = found
    return found


def test_reading_svg_pieces(benchmark, tunic):
    """Safe reading, closing and checking of 60 pieces, against the library's own reading of the file."""
    data = svg.write_pieces(tunic * 10).encode()
    plain = lambda: svgelements.SVG.parse(io.BytesIO(data))  # noqa: E731
    assert ratio(benchmark, lambda: svg.read_pieces(data), plain, "svgelements.SVG.parse") < 3


def test_reading_grows_with_the_file_and_not_with_its_square(benchmark, tunic):
    few, many = (svg.write_pieces(tunic * n).encode() for n in (4, 32))
    assert ratio(benchmark, lambda: svg.read_pieces(many), lambda: svg.read_pieces(few), "an eighth of the file") < 14


def test_reading_dxf_pieces(benchmark, tunic):
    """Pieces with their names, against the library's own reading of the document."""
    data = dxf.write_pieces(tunic)
    text = data.decode("cp1252")
    assert ratio(benchmark, lambda: dxf.read_pieces(data), lambda: ezdxf.read(io.StringIO(text)), "ezdxf.read") < 4


def test_printing(benchmark, tunic):
    """Placing and drawing six pieces on A4, against rendering the same PDF once at 72 dpi."""
    data = pieces_pdf(tunic)

    def render():
        for page in pdfium.PdfDocument(data):
            page.render(scale=1.0)

    assert ratio(benchmark, lambda: pieces_pdf(tunic), render, "rendering it") < 30


def test_reading_a_tiled_pdf(benchmark, tunic):
    """A child process, 21 pages put together and outlines found, against rendering the same PDF once at 72 dpi."""
    data = pieces_pdf(tunic)

    def render():
        for page in pdfium.PdfDocument(data):
            page.render(scale=1.0)

    pens = [k + 1 for k, u in enumerate(pdf.look(data).pens) if u.pen.width in (0.8, 0.6) and u.pen.dash != (0.8, 1.4)]
    work = lambda: pdf.read_pieces(data, pens=pens[:2])  # noqa: E731
    assert ratio(benchmark, work, render, "rendering it", rounds=3) < 20


def test_the_comparison_sheet(benchmark):
    """Four choices of two 3 MP pictures on one sheet, against scaling those eight pictures once with Pillow."""
    rng = np.random.default_rng(0)
    picture = np.full((1500, 2000, 3), 255, dtype=np.uint8)
    picture[200:1300, 300:1700] = rng.integers(0, 255, (1100, 1400, 3))
    cloths = (ClothShare("navy", 1.0, (20, 30, 90)),)
    choices = [Choice(letter, "", {"front": picture, "back": picture}, cloths) for letter in "ABCD"]

    def plain():
        for _ in range(8):
            Image.fromarray(picture).resize((430, 322), Image.Resampling.BOX)

    assert ratio(benchmark, lambda: compare_sheet(choices, title="x"), plain, "eight resizes") < 25
