"""What was asked about choices, for the page: which panels follow each other, the suggestions, and the poll.

It is kept in the session's state as plain values, so that a reload shows it again; what would be out of date after a
change of lines or cloth is left out.
"""

from __future__ import annotations

import hashlib
from typing import Any

from pydantic import TypeAdapter

from mockup.garment.view import View
from mockup.journey.choices import Follow
from mockup.project import Project
from mockup.stylelines.styleline import StyleLine
from swatches.fabric import Fabric
from ui.parts.session import Session

_VIEWS = TypeAdapter(tuple[View, ...])
_LINES = TypeAdapter(tuple[StyleLine, ...])
_FABRICS = TypeAdapter(tuple[Fabric, ...])


def asked_scene(session: Session) -> dict[str, Any]:
    """What the scene shows of it: ``follow``, ``suggested`` (fresh ones only), ``poll`` (its id, or empty)."""
    project, asked = session.project, session.state.asked
    fresh = project is not None and asked.get("suggested_for") == matters(project)
    return {
        "follow": follow_of(session),
        "suggested": [_shown(session, one) for one in asked.get("suggested", ())] if fresh else [],
        "notes": list(asked.get("notes", ())) if fresh else [],
        "poll": asked.get("poll", ""),
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


def _shown(session: Session, one: dict[str, Any]) -> dict[str, Any]:
    pictures = [f"/pictures/{session.word}/{name}" for name in one.get("pictures", ())]
    return {**one, "pictures": pictures}
