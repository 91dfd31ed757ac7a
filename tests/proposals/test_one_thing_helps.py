"""Where just one thing would help, that one is said: each instance is built so that every other is ruled out.

The remnants are cut by hand to the very pieces, so that what fits on what follows from arithmetic, not from a search.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon

from mockup import journey
from mockup.lay.exact import faults
from mockup.lay.lay import Answer, LayPiece, Scrap, missing
from mockup.lay.need import lay_pieces
from mockup.lay.stock import Stock
from mockup.project import Project
from mockup.proposals.when_short import Enough, enough
from mockup.samples import choir
from mockup.stylelines import presets
from mockup.stylelines.styleline import StyleLine

SPARE_MM = 8.0  # round a piece on a remnant of its own: less than the least that a line is moved (10 mm)
HEM_MM = 30.0  # of the demo's pattern


@pytest.fixture(scope="module")
def tunic(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Any:
    folder = tmp_path_factory.mktemp("tunic")
    project = put_tunic(folder, "tunic")
    project, _ = journey.put_pieces(folder, project, choir.PIECES)
    for name, colour in (("one", "#336699"), ("two", "#996633")):
        project, _ = journey.put_fabric(folder, project, journey.plain_fabric(colour, name), fabric_id=name)
    return replace(project, lines=choir.LINES), folder


def in_two_cloths(project: Project, lines: tuple[StyleLine, ...], *one: str) -> Project:
    """Choice A with some panels of cloth 'one' and the rest of 'two'."""
    project = replace(project, lines=lines)
    ids = {p.id for members in journey.panels_of(project).values() for p in members}
    assert set(one) <= ids, sorted(ids)
    return journey.assign(project, "A", {i: "one" if i in one else "two" for i in sorted(ids)})


def by_cloth(project: Project, folder: Any) -> dict[str, tuple[LayPiece, ...]]:
    made = journey.cut(project, folder, "A").pieces
    return {f: lay_pieces([p for p in made if p.fabric == f]) for f in ("one", "two")}


def box(name: str, piece: LayPiece, *, wide: float = SPARE_MM, high: float = SPARE_MM) -> Scrap:
    """A remnant as large as a piece and a little more, or less, in each direction."""
    across, along = np.ptp(np.array(piece.outline), axis=0)
    x, y = float(across) + wide, float(along) + high
    return Scrap(name, ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y)))


def own_boxes(pieces: tuple[LayPiece, ...]) -> Stock:
    """A remnant of its own for every copy of every piece: just enough, and nothing besides."""
    return Stock(tuple(box(f"{p.name} {k}", p) for p in pieces for k in range(p.count)))


def own_shape(name: str, piece: LayPiece) -> Scrap:
    """A remnant of a piece's shape, 5 mm larger all round."""
    shape = Polygon(piece.outline).buffer(5.0, join_style="mitre")
    return Scrap(name, tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1]))


def only(found: Enough, kind: str, stock: dict[str, Stock]) -> Any:
    """The one suggestion, of this kind, its lays looked at again exactly."""
    assert found.short == ("one",)
    assert [s.kind for s in found.suggestions] == [kind]
    said = found.suggestions[0]
    assert said.fabric == "one"
    for fabric, lay in said.lays.items():
        pieces = said.pieces[fabric]
        assert lay.answer is Answer.YES
        assert missing(pieces, lay.placements) == ()
        scraps = {s.name: s for s in stock[fabric].scraps}
        assert faults({p.name: p for p in pieces}, scraps, lay.placements, clearance_mm=2.0) == []
    return said


@pytest.mark.slow
def test_only_a_smaller_hem_helps(tunic: Any) -> None:
    project, folder = tunic
    project = in_two_cloths(project, choir.LINES, "front-3", "back-3")
    pieces = by_cloth(project, folder)
    # 12 mm too low for each band. Three quarters of the hem save 30 − 22 = 8 mm, half of it 15 mm. A seam adds cloth,
    # a line moved down makes the middles larger than their remnants, and the other cloth has no room for a band
    stock = {
        "one": Stock(tuple(box(p.name, p, high=-12.0) for p in pieces["one"])),
        "two": own_boxes(pieces["two"]),
    }
    found = enough(project, journey.pieces_of(project, folder), "A", stock, time_s=90, lay_s=4.0)
    said = only(found, "hem", stock)
    assert said.text == "one: With a hem allowance of 15 mm in place of 30 mm all pieces lie on it."
    for before, after in zip(pieces["one"], said.pieces["one"], strict=True):
        assert np.ptp(np.array(before.outline), axis=0)[1] - np.ptp(np.array(after.outline), axis=0)[1] == (
            pytest.approx(HEM_MM - 15.0, abs=0.5)
        )


@pytest.mark.slow
def test_only_turning_a_piece_over_helps(tunic: Any) -> None:
    project, folder = tunic
    lines = presets.side_panel(project.view("front"), 60.0, 150.0)
    project = replace(project, lines=lines)
    sides = [p.id for p in journey.panels_of(project)["front"] if p.part == "body" and p.side]
    project = in_two_cloths(project, lines, *sides)
    pieces = by_cloth(project, folder)
    (side,) = pieces["one"]
    assert (side.count, side.mirror) == (2, True)
    # two remnants of the side panel's own shape, both of the one hand: its twin would have to be turned over. The
    # middle, too, has a remnant of just its shape, so that no line can move into it
    shape = own_shape("a", side)
    middle = next(p for p in pieces["two"] if p.name.startswith("1 "))
    rest = own_boxes(tuple(p for p in pieces["two"] if p is not middle))
    stock = {
        "one": Stock((shape, replace(shape, name="b"))),
        "two": Stock((own_shape("middle", middle), *rest.scraps)),
    }
    alike = stock | {"one": replace(stock["one"], faces_alike=True)}
    pattern = journey.pieces_of(project, folder)
    found = enough(project, pattern, "A", alike, time_s=90, lay_s=4.0)
    said = only(found, "over", stock)
    assert "from the other face" in said.text
    assert {p.mirrored for p in said.lays["one"].placements} == {False}
    # where its faces differ, nothing is said of that
    assert enough(project, pattern, "A", stock, time_s=10, lay_s=1.0, kinds=("over",)).suggestions == ()


@pytest.mark.slow
def test_only_another_cloth_helps(tunic: Any) -> None:
    project, folder = tunic
    project = in_two_cloths(project, choir.LINES, "front-1")
    pieces = by_cloth(project, folder)
    yoke = next(p for p in pieces["one"] if p.name.startswith("1 "))
    # of cloth 'one' there is half of the yoke: a yoke has no hem, no seam makes cloth, and a line that is moved by
    # 55 mm at most leaves it too large. Of 'two' there is one more remnant, as large as the yoke
    stock = {
        "one": Stock((box("half", yoke, high=-0.5 * float(np.ptp(np.array(yoke.outline), axis=0)[1])),)),
        "two": Stock((*own_boxes(pieces["two"]).scraps, box("spare", yoke))),
    }
    found = enough(project, journey.pieces_of(project, folder), "A", stock, time_s=90, lay_s=4.0)
    said = only(found, "cloth", stock)
    assert said.text == "one: With 'two' for the front yoke all pieces lie on their cloth."
    assert said.fabrics == {**project.colourway("A").fabrics, "front-1": "two"}
    assert next(p.remnant for p in said.lays["two"].placements if p.piece == yoke.name) == "spare"
