"""From the stash: every design has a lay for every cloth, and a line's range ends where the cloth ends."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from mockup import journey
from mockup.journey import stash_designs
from mockup.lay.exact import faults
from mockup.lay.lay import Answer, LayPiece, Scrap, missing
from mockup.lay.need import lay_pieces
from mockup.lay.stock import ROLL, Stock, fits, lay_on, stock_of
from mockup.proposals.families import OWN, Family, own_lines, usual
from mockup.proposals.from_stash import designs
from mockup.proposals.line_range import line_range, moved_up
from mockup.proposals.short_most_often import Tally
from mockup.samples import choir
from mockup.stylelines.edges import end_point, shares_to_mm
from mockup.stylelines.styleline import LineKind
from swatches.errors import GeometryError, InputError
from swatches.fabric import Known, Origin, Remnant
from swatches.samples import cupboard

COLOURS = {"oat": "#d8cdb8", "spruce": "#1f4a44", "check": "#8a3b3b", "cord": "#6b2a2f", "sprig": "#c9c3aa",
           "ochre": "#c79a3b", "stars": "#22304f", "ticking": "#9fb0c4"}  # fmt: skip


@pytest.fixture(scope="module")
def tunic(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Any:
    """The choir's tunic by its clean drawings, its cupboard as plain colours with all that is known of them."""
    folder = tmp_path_factory.mktemp("tunic")
    project = put_tunic(folder, choir.NAME)
    project, _ = journey.put_pieces(folder, project, choir.PIECES)
    for sample in cupboard.SWATCHES:
        fabric = sample.complete(journey.plain_fabric(COLOURS[sample.id], sample.name))
        project, _ = journey.put_fabric(folder, project, fabric, fabric_id=sample.id)
    project = replace(project, lines=choir.LINES, colourways=choir.colourways())
    return project, folder


def rectangle(width: float, height: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


def test_the_stock_of_a_cloth_is_its_remnants_and_its_roll() -> None:
    fabric = journey.plain_fabric("#336699", "blue")
    known = replace(
        fabric,
        usable_width=Known(1400.0, "mm", Origin.MEASURED),
        length_left=Known(900.0, "mm", Origin.MEASURED),
        nap=Known(False, "", Origin.MEASURED),
        remnants=(
            Remnant("corner", rectangle(300, 200), rectangle(298, 198), grain_deg=4.0),
            Remnant("ribbon", rectangle(300, 20), rectangle(298, 18)),
        ),
    )
    stock = stock_of(known)
    assert [s.name for s in stock.scraps] == ["corner", ROLL]
    assert stock.scraps[0] == Scrap("corner", rectangle(298, 198), grain_deg=4.0)
    assert "ribbon" in stock.warnings[0]
    assert [s.name for s in stock_of(known, roll=False).scraps] == ["corner"]
    # what is not known is laid the careful way: all pieces point one way
    assert all(s.nap for s in stock_of(replace(known, nap=Known())).scraps)
    assert not any(s.nap for s in stock.scraps)


@pytest.mark.parametrize("up", [25.0, -25.0])
def test_lines_move_up_by_the_same_length_along_their_edges(tunic: Any, up: float) -> None:
    project, _ = tunic
    bent = replace(project.lines[0], kind=LineKind.CURVE, through=((0.5, 0.6),))
    project = replace(project, lines=(bent, *project.lines[1:]))
    moved = moved_up(project.lines, ["line-1", "line-3"], up, project.views)
    assert moved[1] == project.lines[1]
    for old, new in zip(project.lines, moved, strict=True):
        if old == new:
            continue
        view = project.view(old.side)
        assert abs(new.start.distance_mm - old.start.distance_mm) == pytest.approx(25.0)
        for end in ("start", "end"):
            a, b = (replace(getattr(x, end), side="left") if end == "start" else getattr(x, end) for x in (old, new))
            higher = end_point(b, view)[1] - end_point(a, view)[1]
            assert higher * up > 0
        for a, b in zip(old.through, new.through, strict=True):
            assert shares_to_mm(view, b)[1] - shares_to_mm(view, a)[1] == pytest.approx(up), "its points go as far"


def test_a_line_cannot_move_past_its_landmark(tunic: Any) -> None:
    project, _ = tunic
    with pytest.raises(GeometryError, match="centre"):
        moved_up(project.lines, ["line-1"], 400.0, project.views)


def test_the_range_of_a_band_ends_where_its_cloth_ends(tunic: Any) -> None:
    """The band of choice A has only a strip to lie on: 700 mm wide and 350 mm high, for two bands.

    A band with its allowances is 691 mm wide and about h + 15 + 30 mm high with its bow (cutting list of the draft):
    two of 110 mm need about 2 × 165 mm, so it may grow by a few mm only.
    """
    project, folder = tunic
    pieces = [p for p in journey.pieces_of(project, folder) if p.name in ("front", "back")]
    stock = {f.id: Stock((Scrap("wide", rectangle(2000, 2000)),)) for f in project.fabrics}
    project = journey.assign(project, "A", {"pocket-1L": "oat", "pocket-1R": "oat"})
    stock["check"] = Stock((Scrap("strip", rectangle(700, 350)),))
    found = line_range(project, pieces, "A", ["line-2", "line-4"], stock, step_mm=5.0, reach_mm=20.0, time_s=0.4)
    assert found.highest is not None
    assert found.beyond_high is not None
    assert 5.0 <= found.highest.up_mm <= 15.0
    assert found.beyond_high.up_mm == found.highest.up_mm + 5.0
    assert found.beyond_high.fits.answer is not Answer.YES
    lay = found.highest.fits.lays["check"]
    assert [p.remnant for p in lay.placements] == ["strip", "strip"]
    lowest = found.lowest
    assert lowest is not None
    assert lowest.up_mm < 0


def test_without_a_line_there_is_no_range(tunic: Any) -> None:
    project, folder = tunic
    with pytest.raises(InputError, match="line"):
        line_range(project, journey.pieces_of(project, folder), "A", [], {})


def test_designs_can_be_cut_and_are_painted(tunic: Any, tmp_path: Any) -> None:
    project, folder = tunic
    family = Family(OWN, (0.0,), own_lines(project).lines_at)
    found = stash_designs.from_stash(project, folder, families=[family], count=1, time_s=30)
    assert len(found.designs) == 1
    for design in found.designs:
        check_design(project, folder, design)
    assert str(found.tried.lays) in found.said
    files = stash_designs.write_designs(project, folder, found.designs[:1], tmp_path)
    names = {f.name for f in files}
    assert {"A-front.png", "A-back.png"} <= names
    for suffix in (".svg", ".pdf"):
        assert sum(n.startswith("A-lay-") and n.endswith(suffix) for n in names) == len(found.designs[0].fits.lays)
    assert all(f.stat().st_size > 500 for f in files)


def check_design(project: Any, folder: Any, design: Any) -> None:
    """Every lay again, exactly; every panel has a cloth; neighbours across a style line differ."""
    made = stash_designs.made_pieces(project, folder, design)
    laid = {fabric: lay_pieces([p for p in made if p.fabric == fabric]) for fabric in {p.fabric for p in made}}
    assert set(laid) == set(design.fits.lays)
    for fabric, lay in design.fits.lays.items():
        pieces = laid[fabric]
        scraps = {s.name: s for s in stock_of(project.fabric(fabric)).scraps}
        assert missing(pieces, lay.placements) == ()
        assert faults({p.name: p for p in pieces}, scraps, lay.placements, clearance_mm=2.0) == []
        assert design.left_over_mm2[fabric] >= 0
    shown = replace(project, lines=design.lines)
    panels = {p.id for members in journey.panels_of(shown).values() for p in members}
    assert set(design.colourway.fabrics) == panels
    assert sum(design.shares.values()) == pytest.approx(1.0, abs=1e-6)
    if design.family == "your lines":
        assert design.colourway.fabrics["front-1"] != design.colourway.fabrics["front-2"]


def test_what_was_short_most_often_is_named_with_how_much_and_what_next() -> None:
    # by hand: two bands of 400 × 300 on 500 × 500 do not lie, since 2 × 300 is more than 500 and 2 × 400 too; by area
    # 240,000 of 250,000 mm² they would. Three need 360,000: 110,000 more, 220 mm of a width of 500
    stock = {"rib": Stock((Scrap("s", rectangle(500, 500)),))}
    band = LayPiece("2 band", rectangle(400, 300), turns=(0.0,))
    for count, kind, lack in ((2, "lay", None), (3, "room", 220.0)):
        tally = Tally(stock, 0.0)
        assert tally.worst(lay_s=0.1, seed=0) is None
        pieces = [replace(band, count=count)]
        for _ in range(3):
            tally.next_position()
            for _ in range(2):  # twice at one position: counted once
                tally.unlaid("rib", pieces, lay_on(pieces, stock["rib"], time_s=0.1, measure=False))
        tally.homeless("nowhere", [band])
        short = tally.worst(lay_s=0.1, seed=0)
        assert short is not None
        assert (short.kind, short.times, short.piece, short.fabric) == (kind, 3, "band", "rib")
        said = short.said({"rib": "grey rib"})
        assert "grey rib" in said
        assert "'band'" in said
        assert "Next: measure more of it" in said
        if lack is not None:
            assert short.lack_mm == pytest.approx(lack)
        else:
            assert short.laid == (1, 2)
    tally = Tally(stock, 0.0)
    tally.homeless("nowhere", [band])
    short = tally.worst(lay_s=0.1, seed=0)
    assert short is not None
    assert "'band', with its allowances 400 × 300 mm: the largest piece of cloth is 500 × 500 mm" in short.said({})
    tally.homeless("nowhere", [replace(band, count=2), LayPiece("3 tab", rectangle(20, 20))])
    short = tally.worst(lay_s=0.1, seed=0)
    assert short is not None
    assert "400 × 300 mm, and 'band' and 'tab' together: the" in short.said({})
    for _ in range(3):
        tally.next_position()
        tally.lines()
    short = tally.worst(lay_s=0.1, seed=0)
    assert short is not None
    assert "they cut no piece" in short.said({})


def test_a_stash_without_cloth_is_refused(tunic: Any) -> None:
    project, folder = tunic
    with pytest.raises(InputError, match="stash"):
        designs(project, journey.pieces_of(project, folder), usual(project), {})


def test_pieces_fit_on_nothing_where_there_is_nothing(tunic: Any) -> None:
    project, folder = tunic
    made = journey.cut(project, folder, "A").pieces
    found = fits(made, {}, time_s=1)
    assert found.answer is Answer.NO
    assert "nothing of this cloth" in found.proof


@pytest.mark.slow
def test_reach_five_mm_beyond_is_not_found_with_ten_times_the_time(tunic: Any) -> None:
    project, folder = tunic
    pieces = journey.pieces_of(project, folder)
    stock = stash_designs.stock_in(project)
    found = line_range(project, pieces, "A", ["line-2", "line-4"], stock, time_s=0.6)
    assert found.highest is not None
    assert found.beyond_high is not None
    made = journey.cut(replace(project, lines=found.beyond_high.lines), folder, "A").pieces
    assert fits(made, stock, time_s=6.0).answer is not Answer.YES


@pytest.mark.slow
def test_reach_three_presets_and_twelve_remnants(tunic: Any) -> None:
    project, folder = tunic
    stock = {}
    for n, fabric in enumerate(project.fabrics[:6]):
        stock[fabric.id] = Stock(
            tuple(
                Scrap(f"{fabric.id} {k}", rectangle(720 + 60 * ((n + k) % 4), 620 + 90 * ((2 * n + k) % 3)), nap=k == 1)
                for k in range(2)
            )
        )
    families = [f for f in usual(project) if f.name != "your lines"]
    assert len(families) == 3
    found = stash_designs.from_stash(project, folder, families=families, stock=stock, count=3, time_s=60)
    assert len(found.designs) >= 3
    assert len({(d.family, tuple(sorted(d.colourway.fabrics.items()))) for d in found.designs}) == len(found.designs)
