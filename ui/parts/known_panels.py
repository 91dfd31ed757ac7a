"""Panels of a project, worked out once for the same views and lines."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache

from pydantic import TypeAdapter

from mockup import journey
from mockup.garment.view import View
from mockup.geometry.path import Path
from mockup.project import Project
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel
from mockup.stylelines.styleline import StyleLine

VIEW = TypeAdapter(View)
LINES = TypeAdapter(tuple[StyleLine, ...])


@dataclass(frozen=True, slots=True)
class OfView:
    """A view as the key of what is kept of it: compared whole, and hashed by little, since it is long."""

    view: View

    def __hash__(self) -> int:
        return hash((self.view.name, self.view.mm_per_px))


def view_text(view: View) -> bytes:
    """A view as JSON, to be known by; written once, since every answer asks for it several times."""
    return _view_text(OfView(view))


@lru_cache(maxsize=48)
def _view_text(of: OfView) -> bytes:
    return VIEW.dump_json(of.view)


@lru_cache(maxsize=32)
def _panels(key: bytes, project_of: Keyed) -> dict[str, tuple[Panel, ...]]:
    return journey.panels_of(project_of.project)


@lru_cache(maxsize=32)
def _placed(key: bytes, project_of: Keyed) -> dict[str, tuple[tuple[StyleLine, Path], ...]]:
    project = project_of.project
    # The drawing's lines are carried onto a photo of the same side.
    return {v.name: placed_lines(v, project.lines, project.views) if v.edges else () for v in project.views}


class Keyed:
    """A project that counts as equal for the cache; the key beside it says what matters."""

    def __init__(self, project: Project) -> None:
        self.project = project

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Keyed)

    def __hash__(self) -> int:
        return 0


def panels_of(project: Project) -> dict[str, tuple[Panel, ...]]:
    """Panels by view; worked out once for the same views and lines."""
    key = digest(*(view_text(v) for v in project.views), LINES.dump_json(project.lines))
    return _panels(key, Keyed(project))


def placed_of(project: Project) -> dict[str, tuple[tuple[StyleLine, Path], ...]]:
    """Lines as they lie on every view that has edges, in view mm; worked out once for the same views and lines."""
    key = digest(*(view_text(v) for v in project.views), LINES.dump_json(project.lines))
    return _placed(key, Keyed(project))


def digest(*parts: bytes) -> bytes:
    """One digest of several byte strings, which their borders are part of."""
    h = hashlib.sha256()
    for p in parts:
        h.update(len(p).to_bytes(8, "big"))
        h.update(p)
    return h.digest()
