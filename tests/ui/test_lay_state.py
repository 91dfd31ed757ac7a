"""What lies is kept for each choice and step, and a browser's word for it is read as a stranger's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from mockup import journey
from mockup.lay.lay import Placement
from mockup.samples import choir
from swatches.errors import InputError
from swatches.fabric import Known, Origin, Remnant
from swatches.job import QUIET
from ui.parts.messages import read
from ui.parts.session import Sessions
from ui.questions import lay
from ui.questions.lay_state import LaySaid, board_of, board_scene, keep, laid_of, taken, with_cloth


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The choir's tunic in two plain cloths, one with a large remnant."""
    sessions = Sessions(tmp_path_factory.mktemp("data"))
    found = sessions.get(Sessions.new_word())
    with found.new_garment(copy=False) as folder:
        measures = [(side, edge, mm) for side, (edge, mm) in choir.MEASURES.items()]
        project = journey.new_project(folder, choir.FRONT_SVG, choir.BACK_SVG, measures=measures)
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
