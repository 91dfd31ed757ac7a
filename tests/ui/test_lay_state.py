"""What lies is kept for each choice and step, and a browser's word for it is read as a stranger's."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from mockup import journey
from mockup.checks.cloth import enough_cloth
from mockup.checks.scene import Scene
from mockup.geometry import path as paths
from mockup.journey.joining import Join
from mockup.lay.grain import held
from mockup.lay.lay import LayPiece, Placement
from mockup.lay.need import Need, lay_pieces
from mockup.pattern.apply_split import CutSet
from mockup.pattern.piece import Edge, Piece
from mockup.pattern.proof import Proof
from mockup.samples import choir
from mockup.sheets.summary import summary_text
from swatches.errors import InputError
from swatches.fabric import Fabric, Known, Origin, Remnant
from swatches.job import QUIET
from ui.parts.making import cut_facts
from ui.parts.messages import read
from ui.parts.session import Sessions
from ui.questions import lay
from ui.questions.lay_buy import on_widths, to_buy
from ui.questions.lay_state import Board, LaySaid, board_of, board_scene, keep, laid_of, taken, with_cloth
from ui.questions.pieces_make import _cloth_said


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> Any:
    """The choir's tunic in two plain cloths, one with a large remnant."""
    sessions = Sessions(tmp_path_factory.mktemp("data"))
    found = sessions.get(Sessions.new_word())
    with found.new_garment(copy=False) as folder:
        project = put_tunic(folder)
        project, _ = journey.put_pieces(folder, project, choir.PIECES)
        sheet = ((0.0, 0.0), (900.0, 0.0), (900.0, 900.0), (0.0, 900.0))
        for name in ("one", "two"):
            fabric = replace(
                journey.plain_fabric("#336699", name),
                remnants=(Remnant("sheet", sheet, sheet, grain_deg=0.0),) if name == "one" else (),
                nap=Known(False, "", Origin.MEASURED),
            )
            project, _ = journey.put_fabric(folder, project, fabric, fabric_id=name)
        project = replace(project, lines=choir.LINES)
        ids = [p.id for members in journey.panels_of(project).values() for p in members]
        for letter in "AB":
            project = journey.assign(project, letter, {i: "one" if i == "front-1" else "two" for i in ids})
        found.keep(project, "tunic", garment=folder.name)
    return found


def test_the_table_of_widths_says_what_a_shop_would_cut(session: Any) -> None:
    """By hand: 1000 mm across and 400 along, of cloth that shrinks by 5 %: 421.1 mm, at 10 a metre.

    Shops cut to 10 cm, or to an eighth of a yard of 914.4 mm: 0.5 m, or four eighths, since 421.1 / 114.3 is 3.7.
    The widths are those that are sold (common practice, no source); what is used is 1000 over the width.
    """
    cloth = replace(
        session.project.fabric("two"),
        price_per_metre=Known(10.0, "", Origin.MEASURED),
        shrinkage_length=Known(5.0, "%", Origin.MEASURED),
    )
    band = LayPiece("band", ((0.0, 0.0), (1000.0, 0.0), (1000.0, 400.0), (0.0, 400.0)))
    board = Board(session.project.put_fabric(cloth), "A", (), {"two": (band,)}, {}, ())
    narrow = {"length": "", "cost": "", "note": "too narrow for its widest piece"}
    metres, yards = {"length": "0.5 m", "cost": "5.00"}, {"length": "1/2 yd", "cost": "4.57"}
    assert list(on_widths(board, "cm", QUIET)) == [
        {"cloth": "Two", "width": "90 cm", **narrow},
        {"cloth": "Two", "width": "110 cm", **metres, "note": "91 % used"},
        {"cloth": "Two", "width": "115 cm", **metres, "note": "87 % used"},
        {"cloth": "Two", "width": "140 cm", **metres, "note": "71 % used"},
        {"cloth": "Two", "width": "150 cm", **metres, "note": "67 % used"},
    ]
    assert list(on_widths(board, "in", QUIET)) == [
        {"cloth": "Two", "width": "36 in", **narrow},
        {"cloth": "Two", "width": "45 in", **yards, "note": "87 % used"},
        {"cloth": "Two", "width": "54 in", **yards, "note": "73 % used"},
        {"cloth": "Two", "width": "60 in", **yards, "note": "66 % used"},
    ]
    washed = replace(cloth, prewashed=Known(True, "", Origin.MEASURED))
    found = on_widths(replace(board, project=session.project.put_fabric(washed)), "mm", QUIET)
    assert {row["length"] for row in found} == {"", "0.4 m"}, "what was washed shrinks no more"


def test_cloth_whose_nap_nobody_knows_is_counted_as_one_way_and_everything_says_so(session: Any) -> None:
    """Two tapering pieces of 600 by 800 mm on 1 m: one turned they lie beside each other, all one way they cannot."""
    corners = [(0.0, 0.0), (600.0, 0.0), (360.0, 800.0), (240.0, 800.0)]
    sides = tuple(Edge(f"e{k}", paths.polyline([corners[k], corners[(k + 1) % 4]])) for k in range(4))
    pieces = tuple(Piece(name, sides, grainline=((300, 100), (300, 700)), fabric="two") for name in ("front", "back"))
    known = {"usable_width": Known(1000.0, "mm", Origin.MEASURED)}
    words = "counted as one-way, because its nap is not known"
    found = {}
    for nap in (None, True, False):
        told: Known[bool] = Known() if nap is None else Known(nap, "", Origin.MEASURED)
        cloth = replace(session.project.fabric("two"), nap=told, **known)
        project = session.project.put_fabric(cloth)
        (need,) = journey.need_of(project, pieces)
        found[nap] = need.buy_mm
        assert need.note == (words if nap is None else "")
        (row,) = to_buy(Board(project, "A", pieces, {"two": lay_pieces(pieces)}, {}, ()), "cm", QUIET)
        assert (row["length"], row["note"]) == (f"{need.buy_mm / 1000:.1f} m", need.note)
        texts = [
            cut_facts(CutSet((), Proof(0.0, 0.0, 0.0, ()), ()), [need], project)[-1]["text"],
            summary_text(heading="Tunic", needs=[need]),
            enough_of(cloth, need),
            *held(cloth),
        ]
        assert [words in text for text in texts] == [nap is None] * len(texts)
        centimetres = f"{need.buy_mm / 10:.0f} cm"
        assert (centimetres if need.buy_mm < 1000 else f"{need.buy_mm / 1000:.1f} m") in texts[0]
        assert f" {centimetres} |" in texts[1]
    assert found == {None: found[True], True: found[True], False: 800.0}
    assert found[True] > 800.0


def enough_of(cloth: Fabric, need: Need) -> str:
    """What the check says of a cloth that is yours, 1 m of it left."""
    mine = replace(cloth, owned=True, length_left=Known(1000.0, "mm", Origin.MEASURED))
    scene = SimpleNamespace(used=lambda: [mine], cut_mm2={}, lays={mine.id: need})
    return enough_cloth(cast(Scene, scene))[0].figure


def test_a_move_that_comes_after_a_later_one_is_not_taken(session: Any, tmp_path: Path) -> None:
    """On a busy machine messages overtake each other: a piece that was taken off lay there again."""
    board = board_of(session)
    assert board is not None
    row = {"piece": board.pieces["one"][0].name, "remnant": "sheet", "mirrored": False, "angle": 0, "x": 300, "y": 400}

    def move(edit: int, client: str, *rows: dict[str, Any]) -> int:
        message = {"do": "moved", "cloth": "one", "placements": list(rows), "edit": edit, "client": client}
        lay._change(session, tmp_path, message)
        return len(laid_of(session).placements["one"])

    assert move(1, "a window", row) == 1
    assert move(3, "a window") == 0
    assert move(2, "a window", row) == 0, "an older move"
    assert move(1, "another one", row) == 1, "each window counts for itself"
    assert move(4, "a window") == 0
    (session.home / "lay.json").unlink()


def test_each_choice_keeps_its_own_lay(session: Any) -> None:
    board = board_of(session)
    assert board is not None
    (yoke,) = board.pieces["one"]
    there = Placement(yoke.name, "sheet", False, 0.0, 300.0, 400.0)
    keep(session, with_cloth(laid_of(session), "one", [there], "by hand"))
    session.remember(choice="B")
    assert laid_of(session).placements == {}
    keep(session, with_cloth(laid_of(session), "one", [replace(there, x=280.0)], ""))
    session.remember(choice="A")
    assert laid_of(session).placements["one"] == (there,)
    (session.home / "lay.json").write_bytes(b"[{]")
    assert laid_of(session).placements == {}


def test_the_scene_tells_what_the_script_draws(session: Any) -> None:
    shown = board_scene(session)
    one, two = shown["cloths"]
    assert (one["id"], len(one["pieces"]), [s["name"] for s in one["scraps"]]) == ("one", 1, ["sheet"])
    assert two["scraps"] == []
    assert one["pieces"][0]["turns"] == {"sheet": [0.0, 180.0]}


@pytest.mark.parametrize(
    "said",
    [
        {
            "cloth": "one",
            "placements": [{"piece": "hood", "remnant": "sheet", "mirrored": False, "angle": 0, "x": 0, "y": 0}],
        },
        {
            "cloth": "none",
            "placements": [{"piece": "1", "remnant": "sheet", "mirrored": False, "angle": 0, "x": 0, "y": 0}],
        },
        {
            "cloth": "one",
            "placements": [{"piece": "1", "remnant": "sheet", "mirrored": False, "angle": 1e9, "x": 0, "y": 0}],
        },
        {
            "cloth": "one",
            "placements": [{"piece": "1", "remnant": "sheet", "mirrored": 3, "angle": 0, "x": 0, "y": "a"}],
        },
        {"cloth": ["one"]},
    ],
)
def test_what_a_browser_says_is_checked(session: Any, said: dict[str, Any]) -> None:
    board = board_of(session)
    assert board is not None
    with pytest.raises(InputError):
        taken(board, read(LaySaid, said))


def test_the_rest_is_found_and_cut(session: Any, tmp_path: Path) -> None:
    found = lay._search(session, QUIET, {"do": "finish", "cloth": "one", "placements": []})
    assert len(found.placements["one"]) == 1
    lay._keep_search(session, found)
    rows = [{"piece": p.piece, "remnant": p.remnant, "mirrored": p.mirrored, "angle": p.angle, "x": p.x, "y": p.y}
            for p in found.placements["one"]]  # fmt: skip
    with pytest.raises(InputError, match="nothing of this cloth"):
        lay._search(session, QUIET, {"do": "finish", "cloth": "two", "placements": []})
    said = lay._change(session, tmp_path, {"do": "cut", "cloth": "one", "placements": rows})
    assert said is not None
    assert "there is left: sheet" in said.text
    remnant = session.need().fabric("one").remnants[0]
    assert len(remnant.holes) == 1, "the piece is cut out of its middle"
    assert session.undo() == "cut 1 piece from one"


def test_pieces_of_two_cloths_that_became_one_are_laid_on_the_cloth_that_was_chosen(session: Any) -> None:
    """Front yoke and middle front have the cloths 'one' and 'two' here."""
    whole = journey.cut(session.need(), session.folder, "A")
    name = "front yoke and middle front"
    for cloth_of, fabric, owner in (("first", "one", "front yoke"), ("second", "two", "middle front")):
        wanted = Join("front yoke:yoke", "middle front:yoke", cloth_of=cloth_of)
        session.keep(session.need(), "took a seam out", joins=(asdict(wanted),))
        board = board_of(session)
        assert board is not None
        assert board.joined == {name}
        assert {p.name: p.fabric for p in board.made}[name] == fabric
        assert f"1 {name}" in [p.name for p in board.pieces[fabric]]
        assert not {"1 front yoke", "2 middle front"} & {p.name for laid in board.pieces.values() for p in laid}
        notes = journey.with_joins(whole, [wanted]).warnings
        assert _cloth_said(wanted, notes) == (
            f"front yoke and middle front had different cloth; the joined piece is cut from that of {owner}."
        )
        session.undo()
    same = Join("middle front:hem band", "front hem band:hem band")
    assert _cloth_said(same, journey.with_joins(whole, [same]).warnings) == ""
    with pytest.raises(InputError, match="first or second"):
        journey.with_joins(whole, [Join("front yoke:yoke", "middle front:yoke", cloth_of="third")])
