"""Where lines could run, as small painted pictures of this garment in its own cloth; one press uses one of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from mockup import journey
from mockup.colourways.colour_vision import Sight, picture_as_seen
from mockup.colourways.colourway import Colourway
from mockup.journey.inherit import keep_cloth, none_bare
from mockup.project import Project
from mockup.proposals.lines import LineProposal, LineProposals, propose_lines
from mockup.stylelines.panels import Panel, primary_views
from swatches import photo
from swatches.job import Job
from swatches.units import length
from ui.parts import words
from ui.parts.known_panels import LINES, VIEW, digest, panels_of
from ui.parts.messages import number_of
from ui.parts.said import Said
from ui.parts.session import Session

PICTURE_PX = 380
"""Height of a small picture, px; it is shown at half of that."""
_SHOWN = 6
_AIR_PX = 14


def find(session: Session, job: Job) -> tuple[int, LineProposals]:
    """Look for lines; gives them with the number of the step that they belong to."""
    project, state = session.need(), session.state
    allowance = length(state.allowance, what="seam allowance", bare=state.unit).mm
    step = session.step
    return (step.number if step else 0), propose_lines(project, allowance_mm=allowance, job=job)


def ideas_scene(session: Session) -> list[dict[str, Any]]:
    """What was found for the project as it is now, as JSON takes it; nothing once it was changed."""
    project, step, kept = session.project, session.step, session.ideas
    if project is None or step is None or kept is None or kept[0] != step.number:
        return []
    state = session.state
    key = (step.number, state.choice, state.unit, session.settings.sight, id(kept[1]))
    if session.ideas_shown is None or session.ideas_shown[0] != key:
        made = [_idea(session, project, k, idea, state.unit) for k, idea in enumerate(kept[1].found)]
        session.ideas_shown = (key, made)
    return session.ideas_shown[1]


def _idea(session: Session, project: Project, k: int, idea: LineProposal, unit: str) -> dict[str, Any]:
    price = idea.cost
    costs = "no new seam"
    if price.seams:
        cloth = words.area(price.cloth_cm2 * 100, unit)
        costs = f"{words.counted(price.seams, 'seam')}, {words.seam(price.seam_cm * 10, unit)}, {cloth} of cloth"
    return {
        "index": k,
        "name": words.capital(idea.name),
        "reason": idea.reason,
        "costs": costs,
        "shares": _shares(idea.panels),
        "picture": _picture(session, with_idea(project, idea, session.state.choice), session.state.choice),
    }


def _shares(panels: tuple[Panel, ...]) -> str:
    """'front yoke 7 %, lower front 27 % of what is seen', by area, the largest first; twins are one."""
    together: dict[int, tuple[str, float]] = {}
    for p in panels:
        together[p.number] = (p.name, together.get(p.number, ("", 0.0))[1] + p.share)
    largest = sorted(together.values(), key=lambda each: -each[1])[:_SHOWN]
    listed = ", ".join(f"{name} {share:.0%}".replace("%", " %") for name, share in largest)
    # By area, where reasons speak of lengths: a band a third as high as a flaring skirt is more than a third of it.
    return f"{listed} of what is seen" if listed else ""


def with_idea(project: Project, idea: LineProposal, letter: str) -> Project:
    """The project with these lines, and cloth on the new panels: the garment's own, in turn.

    What is no part of the body keeps its cloth, or has the main one where it has none. Of the body, the largest panel
    has the cloth that most of it had.
    """
    before = panels_of(project)
    panels = panels_of(replace(project, lines=idea.lines))
    new = keep_cloth(replace(project, lines=idea.lines), before, panels)
    now = next((c for c in new.colourways if c.letter == letter), Colourway(letter))
    order = _cloths(project, before, letter)
    body: dict[int, list[Panel]] = {}
    for each in panels.values():
        for p in each:
            if p.part == "body":
                body.setdefault(p.number, []).append(p)
    ranked = sorted(body.values(), key=lambda same: -max(p.share for p in same))
    if len(order) < 2 or len(ranked) < 2:
        return new.put_colourway(none_bare(now, panels, order)) if order else new
    fabrics = dict(now.fabrics)
    fronts: dict[str, int] = {}
    for same in ranked:  # front and back each begin with the main cloth
        side = same[0].id.partition("-")[0]
        turn = fronts.get(side, 0)
        fronts[side] = turn + 1
        cloth = order[0] if turn == 0 else order[1 + (turn - 1) % (len(order) - 1)]
        fabrics.update({p.id: cloth for p in same})
    return new.put_colourway(none_bare(replace(now, fabrics=fabrics), panels, order))


def _cloths(project: Project, panels: Mapping[str, tuple[Panel, ...]], letter: str) -> list[str]:
    """Cloths in the order in which they are given out: those in use by how much shows, then others, three at most."""
    now = next((c for c in project.colourways if c.letter == letter), Colourway(letter))
    shown: dict[str, float] = {}
    for view_panels in panels.values():
        for p in view_panels:
            if p.id in now.fabrics:
                cloth = now.fabrics[p.id]
                shown[cloth] = shown.get(cloth, 0.0) + p.share
    used = sorted(shown, key=lambda cloth: -shown[cloth])
    return (used + [f.id for f in project.fabrics if f.id not in shown])[: max(2, min(3, len(used)))]


def _picture(session: Session, project: Project, letter: str) -> str:
    """Address of a picture with front and back side by side; painted when the browser asks for it."""
    sight, folder = session.settings.sight, session.folder
    views = primary_views(project.views)
    now = next((c for c in project.colourways if c.letter == letter), Colourway(letter))
    key = digest(
        folder.name.encode(),
        *(VIEW.dump_json(v) for v in views),
        LINES.dump_json(project.lines),
        repr(sorted(now.fabrics.items())).encode(),
        b"idea",
        sight.encode(),
    )
    shown = replace(project.put_colourway(now), views=views)

    def paint(target: Path) -> None:
        sides = []
        for view in views:
            rgb = journey.paint_view(shown, folder, letter, view.name, long_side=2 * PICTURE_PX)
            scale = PICTURE_PX / rgb.shape[0]
            size = (max(1, round(rgb.shape[1] * scale)), PICTURE_PX)
            sides.append(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA))
            sides.append(np.full((PICTURE_PX, _AIR_PX, 3), 255, np.uint8))
        whole = np.ascontiguousarray(np.concatenate(sides[:-1], axis=1), dtype=np.uint8)
        photo.write_jpeg(target, whole if sight == Sight.USUAL else picture_as_seen(whole, sight))

    return session.to_paint(f"front-{key.hex()[:24]}s.jpg", paint)


def use(session: Session, message: dict[str, Any]) -> Said | None:
    """Use one of the ideas: its lines in the place of those that are there, with the cloth that its picture shows."""
    kept, step, project = session.ideas, session.step, session.need()
    k = number_of(message, "index")
    if kept is None or step is None or kept[0] != step.number or not 0 <= k < len(kept[1].found):
        return Said("lines", "The garment was changed meanwhile. Look for lines again.", "error")
    idea = kept[1].found[k]
    session.keep(with_idea(project, idea, session.state.choice), f"lines: {idea.name}")
    return Said(
        "lines", f"{words.capital(idea.name)}. Drag it, or type its distances below; Undo brings back what was."
    )


DOES: dict[str, Callable[[Session, dict[str, Any]], Said | None]] = {"use-lines": use}
