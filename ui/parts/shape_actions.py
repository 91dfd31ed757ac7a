"""What a person does to closed shapes that end on no edge, and marks of what is sewn into the garment already."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from mockup.journey.sewn_in import add_detail, remove_detail
from mockup.stylelines import shapes
from mockup.stylelines.panels import primary_views
from mockup.stylelines.styleline import StyleLine, is_free
from mockup.stylelines.twins import mirror_image
from swatches.errors import InputError
from swatches.units import length
from ui.parts.line_keeping import free_number, keep_lines, placed
from ui.parts.messages import Stroke, read, text_of
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.words import capital

BOX = {"across": "across_mm", "up": "up_mm", "wide": "wide_mm", "high": "high_mm"}
"""What can be typed of a closed shape, by the word that a message says it with."""


def mark(session: Session, message: dict[str, Any]) -> Said | None:
    """Mark a dart, a pleat, a pocket or an opening that is sewn in already."""
    said = read(Stroke, message)
    project = session.need()
    new = add_detail(project, said.side, said.kind, said.points)
    session.keep(new, f"marked a {new.details[-1].word}")
    there = "both sides" if len(new.details) - len(project.details) == 2 else f"the {said.side}"
    return Said("lines", f"The {new.details[-1].word} is marked on {there}: lines that meet it are flagged.")


def unmark(session: Session, message: dict[str, Any]) -> Said | None:
    """Take a mark away."""
    project, gone = session.need(), text_of(message, "detail")
    word = next((d.word for d in project.details if d.id == gone), "")
    if word:
        session.keep(remove_detail(project, gone), f"took the mark of a {word} away")
    return None


def box(session: Session, message: dict[str, Any]) -> Said | None:
    """Put a closed shape where, or make it as large as, somebody typed."""
    project = session.need()
    line = project.line(text_of(message, "line"))
    which = text_of(message, "which")
    if which not in BOX or not is_free(line):
        raise InputError("request", expected=", ".join(BOX), got=which, next_step="Open the page again")
    typed = length(text_of(message, "text"), what="distance", minimum_mm=0.0, bare=session.state.unit)
    view = next(v for v in primary_views(project.views) if v.side == line.side)
    keep_shape(session, shapes.boxed(line, view, **{BOX[which]: typed.mm}), f"{line.name}: {typed}")
    return None


def keep_shape(session: Session, new: StyleLine, label: str) -> None:
    """Keep a changed closed shape and its mirror image, if both can lie there."""
    project = session.need()
    lines = shapes.with_twin(project.lines, new)
    for each in lines:
        if each not in project.lines:
            placed(replace(project, lines=lines), each)
    keep_lines(session, project, replace(project, lines=lines), label)


def other_shape(session: Session, line: StyleLine) -> Said:
    """Draw a closed shape on the other side of the wearer too."""
    project = session.need()
    if shapes.twin_of(line, project.lines) is not None:
        return Said("lines", f"{capital(line.name)} is on both sides already; they move together.")
    here = "left" if sum(x for x, _ in line.through) >= 0 else "right"
    other = "right" if here == "left" else "left"
    name = line.name.removesuffix(", left").removesuffix(", right")
    image = replace(mirror_image(line), id=f"line-{free_number(project)}", name=f"{name}, {other}")
    new = placed(project.put_line(replace(line, name=f"{name}, {here}")), image)
    keep_lines(session, project, new, f"mirrored {name}")
    return Said("lines", f"{capital(name)} lies on both sides now; they move together.")
