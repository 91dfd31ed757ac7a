"""What was asked about choices, for the page: which panels follow each other, the suggestions, and the poll.

It is kept in the session's state as plain values, so that a reload shows it again; what would be out of date after a
change of lines or cloth is left out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from pydantic import TypeAdapter

from mockup.garment.view import View
from mockup.journey.choices import Follow
from mockup.journey.suggesting import paint_suggestion
from mockup.project import Project
from mockup.stylelines.styleline import StyleLine
from swatches.fabric import Fabric
from ui.parts import pictures
from ui.parts.session import Session

SMALL_SIDE = 360
"""Long side of a suggestion's picture, px."""

_VIEWS = TypeAdapter(tuple[View, ...])
_LINES = TypeAdapter(tuple[StyleLine, ...])
_FABRICS = TypeAdapter(tuple[Fabric, ...])


def asked_scene(session: Session) -> dict[str, Any]:
    """What the scene shows of it: ``follow``, ``suggested``, files ``shared`` (fresh ones only), ``poll``."""
    project, asked = session.project, session.state.asked
    number = session.step.number if session.step else 0
    fresh = project is not None and asked.get("suggested_for") == matters(project)
    return {
        "follow": follow_of(session),
        "suggested": [_shown(session, one) for one in asked.get("suggested", ())] if fresh else [],
        "notes": list(asked.get("notes", ())) if fresh else [],
        "poll": asked.get("poll", ""),
        "shared": list(asked.get("shared", ())) if asked.get("shared_for") == number else [],
    }


def follow_of(session: Session) -> str:
    """Which panels get the cloth of one that is given it; each stands for itself until somebody says otherwise."""
    said = session.state.asked.get("follow", Follow.NONE.value)
    return said if said in tuple(Follow) else Follow.NONE.value


def matters(project: Project) -> str:
    """A word that changes when lines, pictures or cloth do: suggestions hold as long as it stays."""
    parts = (_VIEWS.dump_json(project.views), _LINES.dump_json(project.lines), _FABRICS.dump_json(project.fabrics))
    return hashlib.sha256(b"\0".join(parts)).hexdigest()[:24]


def remember(session: Session, **changes: Any) -> None:
    """Keep something that was asked."""
    session.remember(asked={**session.state.asked, **changes})


def save_small(session: Session, project: Project, fabrics: Mapping[str, str], long_side: int) -> list[str]:
    """Paint a suggestion small, front and back, for the page; gives the names of the pictures."""
    names = []
    for view, painted in paint_suggestion(project, session.folder, fabrics, long_side=long_side).items():
        name = _small_name(session, project, fabrics, view)
        target = session.home / "painted" / name
        target.parent.mkdir(parents=True, exist_ok=True)
        pictures.save(target, painted)
        names.append(name)
    return names


def _small_name(session: Session, project: Project, fabrics: Mapping[str, str], view: str) -> str:
    said = f"{session.folder.name} {matters(project)} {view} {sorted(fabrics.items())!r}"
    side = project.view(view).side
    return f"{side}-{hashlib.sha256(said.encode()).hexdigest()[:24]}.jpg"


def _shown(session: Session, one: dict[str, Any]) -> dict[str, Any]:
    """A suggestion with its pictures' addresses; one that was cleared away is painted again when it is asked for."""
    project = session.need()
    fabrics = one["fabrics"]

    def again(target: Any) -> None:
        save_small(session, project, fabrics, SMALL_SIDE)

    return {**one, "pictures": [session.to_paint(name, again) for name in one.get("pictures", ())]}
