"""Ideas for lines on the page: pictures in the garment's own cloth, reasons, costs, and using one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from mockup import journey
from mockup.proposals.lines import LineProposal, LineProposals
from mockup.stylelines import presets
from mockup.stylelines.carry import carry
from mockup.stylelines.cost import NO_SEAM, Cost
from mockup.stylelines.panels import garment_panels
from swatches.errors import InputError
from swatches.job import QUIET
from swatches.photo import read_photo
from ui.app import _serve_files
from ui.parts import actions, line_ideas
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions


@pytest.fixture
def session(laid_out: Callable[[Path], Session], tunic_folder: Path) -> Session:
    """The tunic without lines, all of it in one cloth."""
    session = laid_out(tunic_folder)
    bare = replace(session.need(), lines=())
    panels = {p.id for found in journey.panels_of(bare).values() for p in found}
    session.keep(journey.assign(bare, "A", dict.fromkeys(panels, "spruce")), "all spruce")
    return session


def two_ideas(session: Session) -> None:
    """'No new seam' and a yoke, as the engine would propose them."""
    views = session.need().views
    yoke = presets.yoke(views[0], 140.0)
    lines = (*yoke, carry(yoke[0], yoke, "back", views))
    once = lambda lines: tuple({p.id: p for v in garment_panels(views, lines).values() for p in v}.values())  # noqa: E731
    found = (
        LineProposal("no new seam", "no new seam", "Nothing new is sewn.", (), (), once(()), NO_SEAM),
        LineProposal("yoke", "level yoke", "A quarter.", lines, ("line-1", "line-2"), once(lines), Cost(2, 98, 295)),
    )
    step = session.step
    assert step is not None
    session.ideas = (step.number, LineProposals(found, 2, {}))


@pytest.mark.parametrize("cloths", [1, 2])
def test_an_idea_leaves_no_panel_without_cloth(session: Session, cloths: int) -> None:
    two_ideas(session)
    project = replace(session.need(), colourways=(), fabrics=session.need().fabrics[:cloths])
    assert session.ideas is not None
    for idea in session.ideas[1].found:
        new = line_ideas.with_idea(project, idea, "A")
        assert set(new.colourway("A").fabrics) == {p.id for found in journey.panels_of(new).values() for p in found}


def test_ideas_are_painted_in_the_garments_own_cloth_and_used(session: Session, sessions: Sessions) -> None:
    assert scene(session)["ideas"] == []
    two_ideas(session)
    nothing, yoke = scene(session)["ideas"]
    assert nothing["costs"] == "no new seam"
    assert yoke["costs"] == "2 seams, 98 cm, 295 cm² of cloth"
    assert "front yoke" in yoke["shares"]
    assert yoke["shares"].endswith(" % of what is seen"), "by area, where its reason speaks of a length"
    file = session.picture(yoke["picture"].rsplit("/", 1)[1])
    assert file is not None
    app = FastAPI()
    _serve_files(app, sessions)
    assert TestClient(app).get(yoke["picture"]).status_code == 200
    pixels = read_photo(file).rgb8.reshape(-1, 3).astype(int)
    for colour in ((0x1F, 0x4D, 0x3A), (0xC9, 0xB4, 0x8F)):  # both cloths of the shelf are in the picture
        assert (abs(pixels - colour).max(axis=1) < 24).mean() > 0.02
    said = actions.act(session, {"do": "use-lines", "index": 1})
    assert said is not None
    assert said.kind == "note"
    now = scene(session)
    assert [x["name"] for x in now["lines"]] == ["yoke", "yoke"]
    front = {p["name"]: p["cloth"] for p in now["views"][0]["panels"]}
    assert front["front yoke"] == "oat"
    assert front["sleeve"] == "spruce", "what is no part of the body keeps its cloth"
    assert now["ideas"] == [], "they were ideas for the garment as it was"
    late = actions.act(session, {"do": "use-lines", "index": 1})
    assert late is not None
    assert late.kind == "error"
    assert session.undo() == "lines: level yoke"
    assert len(scene(session)["ideas"]) == 2


@pytest.mark.parametrize("index", [-1, 2, True, "1", None, 1.5, 10**12])
def test_an_idea_that_is_not_there_changes_nothing(session: Session, index: Any) -> None:
    two_ideas(session)
    before = session.project
    try:
        said = actions.act(session, {"do": "use-lines", "index": index})
    except InputError:
        said = None
    assert said is None or said.kind == "error"
    assert session.project == before


@pytest.mark.slow
def test_every_idea_of_the_engine_can_be_used(session: Session) -> None:
    session.keep(replace(session.need(), name="another"), "named")
    session.ideas = line_ideas.find(session, QUIET)
    count = len(scene(session)["ideas"])
    assert count > 6
    for k in range(count):
        actions.act(session, {"do": "use-lines", "index": k})
        assert None not in {p["cloth"] for v in scene(session)["views"] for p in v["panels"]}
        session.undo()
