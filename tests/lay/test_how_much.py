"""How much to buy, on which width, and the grain of single pieces."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner

from mockup.files.svg import read_pieces
from mockup.lay import need
from mockup.lay.exact import faults
from mockup.lay.finish import finish
from mockup.lay.folded import lay_folded
from mockup.lay.grain import BIAS, CROSS, allow_turns, held, lies_one_way, must_keep_grain, refuse_off_grain
from mockup.lay.lay import Answer, Lay, LayPiece, Match, Placement, Scrap, laid, points_placed
from mockup.lay.lay_file import read_scraps
from mockup.lay.need import EIGHTH_YARD_MM, lay_piece, lay_pieces, matched, needs, to_buy
from mockup.lay.rows import CLOTH, cloth_of
from mockup.lay.scraps import lay_on_scraps
from mockup.lay.strip import lay_on_width
from mockup.lay.widths import INCHES_MM, METRIC_MM, eighths, width_table
from mockup.samples import choir
from mockup.sheets.lay_plan import lay_pdf, lay_svg, places
from swatches.cloth import plain
from swatches.errors import InputError
from swatches.fabric import Known, Origin
from ui.commands.lay import lay as command

BAND = LayPiece("1 band", ((0.0, 0.0), (500.0, 0.0), (500.0, 300.0), (0.0, 300.0)), count=4)


def test_lengths_are_rounded_up_to_what_a_shop_cuts() -> None:
    # by hand: 1 m that shrinks by 5 % must be 1052.6 mm before; 10 cm steps give 1.1 m, eighths of 114.3 mm give 10
    assert to_buy(1000.0) == 1000.0
    assert to_buy(1000.0, 5.0) == pytest.approx(1100.0)
    assert to_buy(1000.0, 5.0, EIGHTH_YARD_MM) == pytest.approx(10 * 114.3)
    assert eighths(10 * 114.3) == "1 1/4 yd"
    assert eighths(3 * 114.3) == "3/8 yd"
    with pytest.raises(InputError, match="shrinkage"):
        to_buy(1000.0, 60.0)


def test_pieces_that_were_laid_are_not_laid_again_while_nothing_differs(monkeypatch: pytest.MonkeyPatch) -> None:
    bands = [p for p in read_pieces(choir.PIECES) if "band" in p.name] or read_pieces(choir.PIECES)[-1:]
    first = needs(bands, clearance_mm=2.5)
    monkeypatch.setattr(need, "lay_on_width", None)
    assert needs(bands, clearance_mm=2.5) == first
    cloth = bands[0].fabric
    for other in ({"widths_mm": {cloth: 1300.0}}, {"one_way": [cloth]}, {"border_mm": 5.0}, {"time_s": 0.1}):
        with pytest.raises(TypeError):
            needs(bands, **{"clearance_mm": 2.5, **other})


def test_the_table_gives_length_and_cost_on_every_usual_width() -> None:
    rows = width_table([BAND], (*METRIC_MM, *INCHES_MM), clearance_mm=0, price=10.0, shrinkage_percent=4)
    assert [round(r.width_mm) for r in rows] == [900, 1100, 1150, 1400, 1500, 914, 1143, 1372, 1524]
    # by hand: four bands of 500 × 300: one a row at 900 (1200 mm), two at 1100 (600), three at 1500 (600)
    assert [r.length_mm for r in rows[:5]] == pytest.approx([1200, 600, 600, 600, 600])
    assert [r.buy_mm for r in rows[:2]] == pytest.approx([1300, 700])  # 1200 / 0.96 = 1250; 600 / 0.96 = 625
    assert [r.cost for r in rows[:2]] == [13.0, 7.0]
    narrow = width_table([BAND], [450.0])[0]
    assert narrow.length_mm is None
    assert "wider" in narrow.note


def test_on_the_fold_the_choirs_front_is_a_half_and_opened_out_the_same_whole() -> None:
    front = next(p for p in read_pieces(choir.PIECES) if p.fold is not None)
    half, whole = lay_piece(front, on_fold=True), lay_piece(front)
    assert half.fold is not None
    area = [shapely.Polygon(p.outline).area for p in (half, whole)]
    assert area[1] == pytest.approx(2 * area[0], rel=2e-4)  # outlines are flattened to 0.05 mm
    found = lay_folded([half], 1400, time_s=0.0)
    assert isinstance(found, Lay)
    assert found.answer is Answer.YES
    height = float(np.ptp(np.array(half.outline)[:, 1]))
    assert found.length_mm == pytest.approx(height)


def test_a_striped_front_meets_its_back_at_the_side() -> None:
    pieces = [p for p in read_pieces(choir.PIECES) if p.name in ("front", "back")]
    names = [p.name for p in pieces]
    plain_lay = lay_pieces(pieces)
    striped = matched(pieces, plain_lay, [f"{names[0]}:side={names[1]}:side"])
    assert all(p.match for p in striped)
    found = lay_on_width(striped, 1400, repeat_mm=(0.0, 70.0), time_s=0)
    assert isinstance(found, Lay)
    by_name = {p.name: p for p in striped}
    heights = []
    for p in found.placements:
        match = by_name[p.piece].match
        assert match is not None
        at = points_placed([match.at], mirrored=p.mirrored, angle=p.angle, x=p.x, y=p.y)[0]
        heights.append(float(at[1]) % 70.0)
    assert abs((heights[0] - heights[1] + 35) % 70 - 35) < 1e-3
    assert faults(by_name, {CLOTH: cloth_of(1400, found.length_mm or 0, repeat_mm=(0, 70))}, found.placements) == []
    with pytest.raises(InputError, match="to match"):
        matched(pieces, plain_lay, ["front:nothing=back:side"])
    with pytest.raises(InputError, match="one seam"):
        matched(pieces, plain_lay, [f"{names[0]}:side={names[1]}:side", f"{names[0]}:hem={names[1]}:hem"])


def test_off_the_grain_by_leave_and_never_on_a_knit() -> None:
    wider = allow_turns([BAND], ["band"], CROSS)
    assert set(wider[0].turns) == {0.0, 180.0, *CROSS}
    assert set(allow_turns([BAND], ["1"], BIAS)[0].turns) == {0.0, 180.0, *BIAS}
    with pytest.raises(InputError, match="knit"):
        allow_turns([BAND], ["band"], CROSS, knit=True)
    fixed = LayPiece("2 held", BAND.outline, match=Match("side", (0.0, 0.0)))
    with pytest.raises(InputError, match="must stay"):
        allow_turns([fixed], ["held"], CROSS)
    cloth = plain("c", "c", "#405060")
    assert not must_keep_grain(cloth)
    assert must_keep_grain(replace(cloth, structure=Known("knit", "", Origin.LABEL)))
    stretchy = replace(cloth, name="rib", stretch_width=Known(25.0, "%", Origin.MEASURED))
    assert must_keep_grain(stretchy)
    # what the record holds it to is said, and leave to lie otherwise is refused
    assert held(cloth) == ("It is counted as one-way, because its nap is not known.",)
    assert lies_one_way(cloth), "not known: right either way, at the cost of cloth"
    both = replace(stretchy, nap=Known(True, "", Origin.LABEL))
    assert [w.partition(":")[0] for w in held(both)] == ["It stretches by 25 %", "It has a nap"]
    plain_faced = replace(cloth, nap=Known(False, "", Origin.MEASURED))
    assert not lies_one_way(plain_faced)
    assert held(plain_faced) == ()
    refuse_off_grain(plain_faced, wider)
    refuse_off_grain(stretchy, [BAND])
    with pytest.raises(InputError, match="rib, which stretches by 25 %"):
        refuse_off_grain(stretchy, wider)


def test_scraps_over_one_another_in_a_file_are_refused(tmp_path: Path) -> None:
    def scraps(x: float) -> bytes:
        square = [[0, 0], [300, 0], [300, 200], [0, 200]]
        moved = [[a + x, b] for a, b in square]
        return json.dumps([{"name": "a", "outline": square}, {"name": "b", "outline": moved}]).encode()

    with pytest.raises(InputError, match=r"200\.0 cm² of the one over the other"):
        read_scraps(scraps(200.0))
    assert len(read_scraps(scraps(300.0))) == 2  # they touch
    assert len(read_scraps(scraps(0.0))) == 2  # each in a frame of its own


def test_nothing_lies_on_a_flaw() -> None:
    flaw = ((150.0, 0.0), (152.0, 0.0), (152.0, 200.0), (150.0, 200.0))
    scrap = Scrap("s", ((0.0, 0.0), (310.0, 0.0), (310.0, 200.0), (0.0, 200.0)), flaws=(flaw,))
    piece = LayPiece("p", ((0.0, 0.0), (140.0, 0.0), (140.0, 190.0), (0.0, 190.0)), count=2)
    found = lay_on_scraps([piece], [scrap], time_s=3)
    assert found.answer is Answer.YES
    assert all(laid(piece, p).intersection(shapely.Polygon(flaw)).area == 0 for p in found.placements)
    wide = LayPiece("wide", ((0.0, 0.0), (170.0, 0.0), (170.0, 190.0), (0.0, 190.0)))
    assert lay_on_scraps([wide], [scrap], time_s=1).answer is Answer.NO


def test_the_plan_measures_from_the_edge_and_is_the_same_every_time() -> None:
    # a trapezoid whose left side runs 1 : 4 inward: at height 100 it is 25 mm from the corner
    scrap = Scrap("rest <b>", ((0.0, 0.0), (600.0, 0.0), (600.0, 400.0), (100.0, 400.0)))
    piece = LayPiece("7 pocket", ((0.0, 0.0), (150.0, 0.0), (150.0, 100.0), (0.0, 100.0)))
    found = Lay(Answer.YES, "Checked.", (Placement("7 pocket", scrap.name, False, 0.0, 90.0, 40.0),))
    # nearest to the left side is the upper corner, at height 140: 90 − 35 = 55 mm
    assert (
        places(found, [piece], [scrap])
        == ["7  pocket, on rest <b>: 90 mm from the left edge, 40 mm from the lower edge"]
        or "mm from the left edge, 40 mm from the lower edge" in places(found, [piece], [scrap])[0]
    )
    drawn = lay_svg(found, [piece], [scrap], title="<script>")
    assert "<script>" not in drawn
    assert "&lt;script&gt;" in drawn
    assert drawn == lay_svg(found, [piece], [scrap], title="<script>")
    printed = lay_pdf(found, [piece], [scrap], title="plan")
    assert printed.startswith(b"%PDF")
    assert printed == lay_pdf(found, [piece], [scrap], title="plan")


def test_the_plan_is_said_in_inches_to_who_thinks_in_them_and_one_piece_is_one() -> None:
    piece = LayPiece("1 front", ((0.0, 0.0), (127.0, 0.0), (127.0, 254.0), (0.0, 254.0)))
    scrap = Scrap("end", ((0.0, 0.0), (254.0, 0.0), (254.0, 508.0), (0.0, 508.0)))
    found = Lay(Answer.YES, "", (Placement("1 front", "end", False, 0.0, 50.8, 38.1),))
    assert places(found, [piece], [scrap]) == ["1  front, on end: 51 mm from the left edge, 38 mm from the lower edge"]
    said = places(found, [piece], [scrap], "in")  # 50.8 = 2 × 25.4, 38.1 = 1.5 × 25.4
    assert said == ["1  front, on end: 2 in from the left edge, 1 1/2 in from the lower edge"]
    drawn = lay_svg(found, [piece], [scrap], unit="in")
    assert "end: 10 × 20 in" in drawn
    assert "a tick is 5 in" in drawn
    whole = finish([piece], [scrap], found.placements)
    assert whole.proof.startswith("The one piece lies inside")


def test_the_command_tells_length_cost_and_table(tmp_path: Path) -> None:
    file = tmp_path / "pieces.json"
    file.write_text(json.dumps([{"name": BAND.name, "outline": BAND.outline, "count": 4}]))
    run = CliRunner()
    ok = run.invoke(
        command,
        [
            str(file),
            "--width",
            "110cm",
            "--time",
            "0",
            "--price",
            "8",
            "--shrinkage",
            "4",
            "--out",
            str(tmp_path / "o"),
            "--json",
        ],
    )
    answer = json.loads(ok.stdout)
    assert ok.exit_code == 0
    assert (answer["length_mm"], answer["buy_mm"], answer["cost"]) == (pytest.approx(600), pytest.approx(700), 5.6)
    assert [Path(f).name for f in answer["files"]] == ["lay.json", "lay.svg", "lay.pdf"]
    table = run.invoke(command, [str(file), "--widths", "inch", "--time", "0", "--shop", "yard", "--json"])
    assert len(json.loads(table.stdout)["widths"]) == 4
    folded = run.invoke(command, [str(file), "--width", "110cm", "--folded", "--time", "0", "--json"])
    assert json.loads(folded.stdout)["answer"] == "yes"


def test_no_letter_on_the_plan_is_smaller_than_seven_points() -> None:
    # a large cloth with a small piece: drawn 1 : 20, where the piece is 5 mm wide. 7 pt: the aim that was set for print
    cloth = Scrap("roll", ((0.0, 0.0), (1400.0, 0.0), (1400.0, 3000.0), (0.0, 3000.0)))
    small = LayPiece("9 facing", ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)))
    large = LayPiece("2 middle front", ((0.0, 0.0), (680.0, 0.0), (680.0, 500.0), (0.0, 500.0)))
    lying = (
        Placement(small.name, "roll", False, 0.0, 10.0, 10.0),
        Placement(large.name, "roll", False, 0.0, 150.0, 0.0),
    )
    drawn = lay_svg(Lay(Answer.YES, "Checked.", lying), [small, large], [cloth])
    sizes = [float(s) * 72 / 25.4 for s in re.findall(r'font-size="([\d.]+)"', drawn)]
    assert len(sizes) >= 6
    assert min(sizes) >= 7.0
    assert ">middle front<" in drawn
    assert ">9<" in drawn
