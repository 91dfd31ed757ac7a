"""What is kept between moves of lines is what a fresh start works out: panels, placed lines, the whole answer."""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Any

import numpy as np

from mockup.project import Project
from swatches.errors import MockupError
from ui.parts import actions
from ui.parts.known_panels import panels_of, placed_of
from ui.parts.scene import scene
from ui.parts.session import Session

MM = (-25.0, 25.0)
"""How far one end moves along its edge."""


def forget() -> None:
    """Empty everything that the engine and the page keep, as a start of the program does."""
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] in ("mockup", "ui", "swatches"):
            for kept in list(vars(module).values()):
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()


def seen(project: Project) -> Any:
    """Panels and placed lines of every view, down to the last digit."""
    placed = {v: [(line, path.to_tuples()) for line, path in lines] for v, lines in placed_of(project).items()}
    return panels_of(project), placed


def with_photo(session: Session) -> None:
    """Add a photo on which the front's lines are carried, as on a dress form, and a line that ends on another one."""
    project = session.need()
    front = project.view("front")
    body = tuple(a for a in front.areas if a.part == "body")
    photo = replace(front, name="photo", kind="photo", areas=body, turn_deg=50.0, mm_per_px=front.mm_per_px * 1.1)
    session.keep(replace(project, views=(*project.views, photo)), "added a photo")
    actions.act(
        session,
        {
            "do": "draw", "side": "front", "kind": "straight", "symmetric": False, "through": [],
            "start": {"edge": "line-2", "landmark": "start", "distance_mm": 90.0, "side": "left"},
            "end": {"edge": "hem", "landmark": "hem", "distance_mm": 130.0, "side": "left"},
        },
    )  # fmt: skip


def move(session: Session, edit: int, rng: np.random.Generator) -> None:
    line = session.need().lines[int(rng.integers(len(session.need().lines)))]
    ends = {}
    for which, end in (("start", line.start), ("end", line.end)):
        mm = max(0.0, end.distance_mm + float(rng.uniform(*MM)))
        ends[which] = {"edge": end.edge, "landmark": end.landmark, "distance_mm": mm}
        ends[which] |= {"side": end.side} if end.side else {}
    change = {"id": line.id, "kind": str(line.kind), "through": [list(p) for p in line.through], **ends}
    actions.commit(session, {"client": "one", "edit": edit, "changes": [change]})


def test_a_walk_of_moves_with_undo_gives_what_a_fresh_start_gives(session: Session) -> None:
    rng = np.random.default_rng(11)
    with_photo(session)
    walked: list[tuple[Project, Any]] = []
    answers = []
    begun = session.state.at
    for edit in range(1, 17):
        way = int(rng.integers(6))
        try:
            if way == 0 and session.state.at > begun:
                session.undo()
            elif way == 1:
                session.redo()
            else:
                move(session, edit, rng)
        except MockupError:
            continue  # it cannot lie there, and stays where it was
        walked.append((session.need(), seen(session.need())))
        answers.append((session.state.at, scene(session)))
    branching = {p.line("line-2") for p, _ in walked if any(line.start.edge == "line-2" for line in p.lines)}
    assert len({p.lines for p, _ in walked}) >= 6
    assert len(branching) >= 2, "the line that another one ends on was moved"
    for project, kept in {p.lines: (p, kept) for p, kept in walked}.values():
        forget()
        assert seen(project) == kept
    at, last = answers[-1]
    forget()
    anew = Session(session.word, session.home)  # read from the disk, as after a restart
    assert (anew.state.at, scene(anew)) == (at, last)
