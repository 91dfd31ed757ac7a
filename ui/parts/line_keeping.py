"""Keeping changed lines: whether they can lie there, what moves along, and the cloth that stays where it lay."""

from __future__ import annotations

import re

import numpy as np

from mockup.journey.inherit import keep_cloth
from mockup.project import Project
from mockup.stylelines import anchor
from mockup.stylelines.along import stay_together
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import StyleLine
from mockup.stylelines.twins import mirror_partners
from swatches.errors import GeometryError, MockupError
from swatches.units import MmPoints
from ui.parts.ahead import paint_ahead
from ui.parts.known_panels import panels_of
from ui.parts.session import Session
from ui.parts.words import capital, sentence


def free_number(project: Project) -> int:
    """The first number n such that no line from 'line-n' on is taken."""
    taken = [int(x.id[5:]) for x in project.lines if x.id.startswith("line-") and x.id[5:].isdigit()]
    return 1 + max(taken, default=0)


def placed(project: Project, line: StyleLine) -> Project:
    """Put a line into the project if it can lie on every drawing of its side."""
    new = project.put_line(line)
    mine = [x for x in new.lines if x.side == line.side]
    for view in project.views:
        if view.side == line.side and view.kind == "drawing" and view.edges:
            for each in mine:  # a line that ends on this one must still find it
                anchor.place_line(each, view, mine)
    return new


class Misplaced(MockupError):
    """A line that cannot lie where it was put; says so at the place, px of a picture."""

    def __init__(self, error: GeometryError, line: StyleLine, view: str, point: tuple[float, float]) -> None:
        does = re.fullmatch(r"one that (.*?)(?: \d+ mm .*)?", error.got)  # the flag shows where
        what = "The line" if error.what == f"line {line.name!r}" else capital(error.what)
        super().__init__(f"{what} {does[1]} here. {error.next_step}." if does else sentence(error))
        self.view, self.point = view, point


def placed_or_flagged(project: Project, line: StyleLine) -> Project:
    """As :func:`placed`; what is wrong with the line is raised with its place, where it has one."""
    try:
        return placed(project, line)
    except GeometryError as error:
        view = next((v for v in primary_views(project.views) if v.side == line.side), None)
        if error.place is None or view is None:
            raise
        x, y = view.points_to_px(MmPoints(np.array([error.place])))[0]
        raise Misplaced(error, line, view.name, (round(float(x), 1), round(float(y), 1))) from error


def keep_lines(session: Session, old: Project, new: Project, label: str) -> None:
    """Keep a project with other lines as one step; every part of a panel keeps the cloth that lay there."""
    kept = keep_cloth(new, panels_of(old), panels_of(new))
    paint_ahead(session, kept)  # it is waited for, and writing the project down takes a while
    session.keep(kept, label)


def together(project: Project, changed: str) -> Project:
    """Let lines that meet at a shared seam keep meeting there."""
    new = project
    for line in stay_together(project.lines, changed, primary_views(project.views)):
        if line != new.line(line.id):
            new = placed(new, line)
    return new


def twin_line(project: Project, line: StyleLine) -> StyleLine | None:
    """The line's mirror image on the other side of the wearer, where it is another line."""
    other = mirror_partners([x for x in project.lines if x.side == line.side]).get(line.id, line.id)
    return None if other == line.id else project.line(other)
