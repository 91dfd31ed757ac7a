"""The handout: lines in words from which the line can be drawn again, and no pattern that is not the user's."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pypdfium2 as pdfium
import pytest
from fontTools.ttLib import TTFont

from mockup.geometry import path as paths
from mockup.geometry.path import Path, polyline
from mockup.pattern.construction import construction
from mockup.pattern.darts import with_dart
from mockup.pattern.piece import Edge, Piece
from mockup.sheets.handout import LICENCE, OWN, handout_pdf
from mockup.sheets.line_words import SHARES, both_units, bows, drawn_lines, line_steps
from mockup.split.split import Anchor, LaidPrint, Split, SplitEdge, SplitLine, SplitPanel, SplitView
from swatches.cloth import Cloth, plain
from swatches.errors import InputError
from swatches.fabric import Kind, Texture
from swatches.lettering import REGULAR

BODY = polyline([[-250, 0], [250, 0], [200, 600], [-200, 600]], close=True).to_tuples()


def arc(x0: float, x1: float, y: float, bow: float) -> Path:
    """A parabola over the chord from (x0, y) to (x1, y): its distance from the chord at s is 4·bow·s·(1 − s)."""
    third = bow * 4 / 3
    width = x1 - x0
    return Path(np.array([[[x0, y], [x0 + width / 3, y + third], [x0 + 2 * width / 3, y + third], [x1, y]]]))


@pytest.fixture
def split() -> Split:
    whole = arc(-230, 230, 300, -30)
    yoke = SplitLine(
        "l1", "yoke", whole.to_tuples(), True, Anchor("side", "underarm", 104.775), Anchor("centre-front", "neck", 80)
    )
    slant = polyline([(-240, 100), (225, 200)])
    slope = SplitLine(
        "l2", "slope", slant.to_tuples(), False, Anchor("side", "hem", 0.0), Anchor("side", "hem", 200), "right", "left"
    )
    open_end = SplitLine("l3", "spur", polyline([(0, 270), (60, 150)]).to_tuples(), False, None, None)
    panels = (SplitPanel("front-1", "yoke", BODY, "navy", 1),)
    view = SplitView(
        "front", BODY, (SplitEdge("hem", BODY[:1]),), {}, ((0, 0), (0, 600)), (yoke, slope, open_end), panels
    )
    return Split((view,))


def stripes() -> Cloth:
    """A cloth with a stripe of 4 mm on 8 mm, upright along its length."""
    tile = np.full((16, 16, 3), 0.9, np.float32)
    tile[:, :8] = 0.02
    bare = plain("navy", "deck stripe", "#808080")
    fabric = replace(bare, kind=Kind.STRIPE, texture=Texture("tile.png", 0.5, repeat_mm=(8.0, 0.0)))
    return Cloth(fabric, tile, 0.5, np.array([0.46, 0.46, 0.46], np.float32))


def words(data: bytes) -> str:
    text = " ".join(page.get_textpage().get_text_range() for page in pdfium.PdfDocument(data))
    return re.sub(r"\s+", " ", text)


class TestLinesInWords:
    def test_a_symmetric_line_is_told_by_its_half(self, split):
        drawn = drawn_lines(split.views[0].lines)[0]
        assert drawn.path.start == pytest.approx([-230, 300])
        assert drawn.path.end == pytest.approx([0, 270], abs=1e-6)

    def test_bows_of_a_parabola(self):
        assert bows(arc(0, 400, 0, 25)) == pytest.approx(
            [4 * 25 * s * (1 - s) for s in SHARES], abs=1e-3
        )  # closed form
        assert bows(polyline([(0, 0), (9, 40)])) == pytest.approx([0, 0, 0], abs=1e-12)

    def test_from_the_words_the_line_can_be_drawn_again(self, split):
        drawn = drawn_lines(split.views[0].lines)[0]
        text = " ".join(line_steps(drawn))
        said = [float(v) for v in re.findall(r"(\d+) mm \(\d", text)[-3:]]
        way = (drawn.path.end - drawn.path.start) / drawn.chord_mm
        left = np.array([-way[1], way[0]])
        side = 1 if "toward the neck" in text else -1  # the chord runs rightward, so that left is up, to the neck
        for share, bow in zip(SHARES, said, strict=True):
            point = drawn.path.start + share * drawn.chord_mm * way + side * bow * left
            flat = paths.flatten(drawn.path, 1e-5).points
            assert np.linalg.norm(flat - point, axis=1).min() < 0.6  # said to the mm

    def test_a_straight_line_needs_a_ruler(self, split):
        text = " ".join(line_steps(drawn_lines(split.views[0].lines)[1]))
        assert "Join P3 and P4 with a ruler" in text
        assert "the wearer's right side, exactly at the hem" in text
        assert "the wearer's left side, 200 mm (7 7/8 in) from the hem" in text

    def test_a_point_at_the_fold_is_not_asked_to_be_square(self, split):
        side, middle = (-230.0, 300.0), (0.0, 200.0)
        chevron = replace(
            split.views[0].lines[0], path=polyline([side, middle, (230.0, 300.0)]).to_tuples(), name="chevron"
        )
        said = " ".join(line_steps(drawn_lines([chevron])[0]))
        assert "square to it, or a point" not in said
        assert "its point there is meant" in said
        arc_said = " ".join(line_steps(drawn_lines(split.views[0].lines)[0]))
        assert "must stand square to it" in arc_said
        assert "its point there" not in arc_said

    def test_an_end_on_another_line(self, split):
        assert "P5 is where the line meets the other line" in line_steps(drawn_lines(split.views[0].lines)[2])[0]

    @pytest.mark.parametrize(
        ("mm", "said"), [(104.775, "4 1/8"), (25.4, "1"), (15.875, "5/8"), (0.1, "0"), (203.2, "8")]
    )  # 1 in = 25.4 mm
    def test_both_units(self, mm, said):
        assert both_units(mm).endswith(f"({said} in)")


class TestHandout:
    def test_numbers_alone_are_enough(self, split):
        text = words(handout_pdf(split, title="Tunic", date="2026-12-12", allowance="5/8 in"))
        for said in (
            "Tunic",
            "12 December 2026",
            "104.8 mm (4 1/8 in) from the underarm",
            "add 5/8 in to each",
            LICENCE,
        ):
            assert said in text
        assert "Order of construction" not in text
        assert "runs over a dart, pin the dart closed first" in text

    def test_darts_are_sewn_in_its_order(self, split):
        corners = [(0, 0), (250, 0), (250, 600), (0, 600)]
        edges = tuple(
            Edge(name, polyline([corners[k], corners[(k + 1) % 4]]), allowance_mm=10)
            for k, name in enumerate(("hem", "side", "waist", "centre"))
        )
        piece = with_dart(Piece("skirt", edges), "waist dart", "waist", 110.0, 30.0, 120.0)
        text = words(handout_pdf(split, title="x", pieces=[piece]))
        assert "Sew the waist dart of skirt, right sides together" in text
        assert "Press it toward the centre." in text

    def test_the_patterns_outline_stays_out_unless_it_is_ones_own(self, split, tunic):
        without = handout_pdf(split, title="x", pieces=tunic)
        own = handout_pdf(split, title="x", pieces=tunic, own_pattern=True)
        assert "The pieces, small" not in words(without)
        assert "The pieces, small" in words(own)
        assert LICENCE in words(without)
        assert LICENCE not in words(own)
        assert OWN in words(own)
        drawn = [
            sum(1 for page in pdfium.PdfDocument(data) for o in page.get_objects() if o.type == 2)
            for data in (without, own)
        ]
        assert drawn[1] - drawn[0] == len(tunic)

    def test_the_same_split_gives_the_same_bytes(self, split, tunic):
        assert handout_pdf(split, title="x", pieces=tunic) == handout_pdf(split, title="x", pieces=tunic)

    def test_many_pieces_run_over_pages(self, split, tunic):
        assert len(pdfium.PdfDocument(handout_pdf(split, title="x", pieces=tunic * 40))) > 6

    def test_every_letter_is_in_the_font(self, split, tunic):
        """A letter that the font lacks is printed as nothing."""
        known = set(TTFont(REGULAR).getBestCmap())
        said = " ".join(
            [
                *(s.what for s in construction(tunic)),
                LICENCE,
                *(t for d in drawn_lines(split.views[0].lines) for t in line_steps(d)),
            ]
        )
        assert {c for c in said if ord(c) not in known} == set()

    @pytest.mark.parametrize("grain_deg", [0.0, 90.0])
    def test_a_stripe_is_drawn_as_stripes_along_its_grain(self, split, grain_deg):
        panel = replace(split.views[0].panels[0], laid=LaidPrint((0.0, 0.0), grain_deg))
        striped = Split((replace(split.views[0], lines=split.views[0].lines[1:2], panels=(panel,)),))
        data = handout_pdf(striped, title="x", prints={"navy": stripes()}, fabric_names={"navy": "deck stripe"})
        page = pdfium.PdfDocument(data)[0]
        grey = page.render(scale=4, grayscale=True).to_numpy().astype(float).squeeze()
        left, low, right, top = next(o for o in page.get_objects() if o.type == 3).get_bounds()
        high = grey.shape[0]
        shown = grey[int(high - 4 * top) : int(high - 4 * low), int(4 * left) : int(4 * right)]
        h, w = shown.shape
        corner = shown[int(0.62 * h) : int(0.95 * h), int(0.56 * w) : int(0.85 * w)]  # off the badge and the line
        # Upright stripes: columns differ and rows do not; with the grain level it is the other way round.
        columns, rows = corner.mean(axis=0).std(), corner.mean(axis=1).std()
        along, across = (rows, columns) if grain_deg == 0 else (columns, rows)
        assert across > 10 * along
        assert across > 30  # of 255: told apart without colour
        text = words(data)
        assert "1 deck stripe (print drawn" in text

    def test_plain_cloths_are_named_in_the_key(self, split):
        text = words(handout_pdf(split, title="x", colours={"navy": (40, 52, 96)}, fabric_names={"navy": "navy wool"}))
        assert "1 navy wool" in text
        assert "times as large" not in text

    def test_a_split_without_lines(self, split):
        from dataclasses import replace

        bare = Split((replace(split.views[0], lines=()),))
        with pytest.raises(InputError, match="at least one line"):
            handout_pdf(bare, title="x")

    def test_a_roll_is_no_paper_to_write_on(self, split):
        with pytest.raises(InputError, match="A4 or Letter"):
            handout_pdf(split, title="x", paper="roll36")

    def test_how_it_looks(self, split, same_picture):
        colours = {"navy": (40, 52, 96)}
        page = pdfium.PdfDocument(handout_pdf(split, title="Winter concert tunic", colours=colours))[0]
        same_picture(page.render(scale=1.2, rev_byteorder=True).to_numpy()[..., :3], "handout-first-page")
