"""Find things of a project by their key, and say what there is where one is missing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal, overload

from mockup.colourways.colourway import Colourway
from mockup.garment.view import View
from mockup.project import Project
from mockup.stylelines.styleline import StyleLine
from swatches.errors import InputError
from swatches.fabric import Fabric

_LOOK = {"line": "List them with: mockup line list PROJECT", "choice": "Name one of them, or make it: mockup assign"}
_LOOK |= {"view": "Name one of them", "fabric": "Name one of them, or add the cloth", "piece": "Name one of them"}

Source = Path | bytes
"""A file, or its bytes."""


@overload
def find(project: Project, kind: Literal["view"], key: str) -> View: ...
@overload
def find(project: Project, kind: Literal["line"], key: str) -> StyleLine: ...
@overload
def find(project: Project, kind: Literal["fabric"], key: str) -> Fabric: ...
@overload
def find(project: Project, kind: Literal["colourway"], key: str) -> Colourway: ...
def find(project: Project, kind: str, key: str) -> View | StyleLine | Fabric | Colourway:
    """Find a view, line, fabric or colourway by its key.

    Raises:
        InputError: there is none; says which there are.
    """
    items: dict[str, Sequence[View | StyleLine | Fabric | Colourway]] = {
        "view": project.views,
        "line": project.lines,
        "fabric": project.fabrics,
        "colourway": project.colourways,
    }
    attribute = {"view": "name", "colourway": "letter"}.get(kind, "id")
    for item in items[kind]:
        if getattr(item, attribute) == key:
            return item
    raise unknown("choice" if kind == "colourway" else kind, key, [getattr(item, attribute) for item in items[kind]])


def unknown(word: str, got: str, known: Sequence[str]) -> InputError:
    """Give the error for a thing that is not there; says what is."""
    listed = ", ".join(known[:12]) + (", …" if len(known) > 12 else "")
    return InputError(
        word,
        expected=f"one of {listed}" if known else f"a {word} of the project, which has none yet",
        got=repr(got),
        next_step=_LOOK.get(word, "Look at what there is with: mockup panels PROJECT"),
    )
