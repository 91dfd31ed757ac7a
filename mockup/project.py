"""The project: the immutable root of views, style lines, colourways, cloth and pieces.

On disk a project is a folder (:mod:`mockup.files.project_file`): ``project.json``, ``pictures/``,
``fabrics/<id>/`` with ``fabric.json`` and its tile, and ``pieces/``. Pictures stay files; functions that need
them are given the folder.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TypeVar

from mockup.colourways.colourway import Colourway
from mockup.garment.view import View
from mockup.geometry.path import XY
from mockup.stylelines.styleline import StyleLine
from swatches.fabric import Fabric

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Closure:
    """A zip, a row of buttons or a slit that lies in an edge of the garment.

    Attributes:
        kind: 'zip', 'buttons' or 'slit'.
        edge: 'centre-front', 'centre-back', 'side-left', 'side-right', 'shoulder-left', …; left is the wearer's.
        start_mm: from the edge's upper end (neck, underarm, waist) along it.
        end_mm: the same, of its lower end; more than ``start_mm``.
    """

    kind: str
    edge: str
    start_mm: float
    end_mm: float


@dataclass(frozen=True, slots=True)
class Detail:
    """What is sewn into a panel already, as a person marked it on the picture, or as a pattern piece has it.

    Attributes:
        id: unique in the project: 'detail-1'.
        kind: 'dart', 'pleat', 'pocket' or 'closure'.
        side: 'front' or 'back' of the garment.
        points: a stroke over it, as shares of the body (see ``StyleLine.through``); a dart's from its opening to its
            tip, or along both its legs.
        name: its own name where it has one: 'bust dart'.
    """

    id: str
    kind: str
    side: str
    points: tuple[XY, ...]
    name: str = ""

    @property
    def word(self) -> str:
        """What it is called in a sentence."""
        return self.name or ("opening" if self.kind == "closure" else self.kind)


@dataclass(frozen=True, slots=True)
class Project:
    """Everything that one garment's design is made of.

    Attributes:
        name: the person's word.
        date: ISO date, shown on prints; the only date that files carry.
        revision: grows by one at every write; a write from a stale one is refused or merged.
        views: front and back, then photos.
        lines: style lines.
        fabrics: cloth used here.
        colourways: choices A, B, C, …
        pieces: file name of the pattern pieces in the project's ``pieces`` folder, or empty.
        limits: limits of the checks that the person has set, by name; see :mod:`mockup.checks.limits`.
        closures: zips, buttons and slits; None where nobody has said whether there are any.
        needed_stretch: how far the pattern counts on the cloth to stretch across the body, percent; 0 for a pattern
            for woven cloth; None where nobody has said.
        details: darts, pleats, pockets and openings inside panels, so that lines are warned of them.
        ease: 'piece:edge' → mm that are meant to be eased in at that edge.
    """

    name: str
    date: str = ""
    revision: int = 0
    views: tuple[View, ...] = ()
    lines: tuple[StyleLine, ...] = ()
    fabrics: tuple[Fabric, ...] = ()
    colourways: tuple[Colourway, ...] = ()
    pieces: str = ""
    limits: dict[str, float] = field(default_factory=dict)
    closures: tuple[Closure, ...] | None = None
    needed_stretch: float | None = None
    ease: dict[str, float] = field(default_factory=dict)
    details: tuple[Detail, ...] = ()
    format: str = "garment mockup project"
    version: int = 1

    def view(self, name: str) -> View:
        """Find a view by name; ``KeyError`` when there is none."""
        return _find(self.views, "name", name)

    def line(self, line_id: str) -> StyleLine:
        """Find a style line by id; ``KeyError`` when there is none."""
        return _find(self.lines, "id", line_id)

    def fabric(self, fabric_id: str) -> Fabric:
        """Find a fabric by id; ``KeyError`` when there is none."""
        return _find(self.fabrics, "id", fabric_id)

    def colourway(self, letter: str) -> Colourway:
        """Find a choice by letter; ``KeyError`` when there is none."""
        return _find(self.colourways, "letter", letter)

    def put_line(self, line: StyleLine) -> Project:
        """Add a style line, or replace the one with its id."""
        return replace(self, lines=_put(self.lines, "id", line))

    def put_view(self, view: View) -> Project:
        """Add a view, or replace the one with its name."""
        return replace(self, views=_put(self.views, "name", view))

    def put_fabric(self, fabric: Fabric) -> Project:
        """Add a fabric, or replace the one with its id."""
        return replace(self, fabrics=_put(self.fabrics, "id", fabric))

    def put_colourway(self, colourway: Colourway) -> Project:
        """Add a choice, or replace the one with its letter."""
        return replace(self, colourways=_put(self.colourways, "letter", colourway))


def _find(items: tuple[T, ...], key: str, value: str) -> T:
    for item in items:
        if getattr(item, key) == value:
            return item
    raise KeyError(value)


def _put(items: tuple[T, ...], key: str, new: T) -> tuple[T, ...]:
    value = getattr(new, key)
    if any(getattr(item, key) == value for item in items):
        return tuple(new if getattr(item, key) == value else item for item in items)
    return (*items, new)
