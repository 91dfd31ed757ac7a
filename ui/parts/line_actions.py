"""What a person does to lines: draw, drag, type, mirror, carry, take away; each is one step that can be undone."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from mockup.checks.limits import limits
from mockup.garment.view import View
from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.journey.sewn_in import with_darts
from mockup.project import Project
from mockup.stylelines import anchor, edges, shapes
from mockup.stylelines.along import points_along
from mockup.stylelines.carry import SHARED, carry
from mockup.stylelines.drawn_seams import placed_seams
from mockup.stylelines.panels import primary_views
from mockup.stylelines.seam import trued
from mockup.stylelines.styleline import End, LineKind, StyleLine, encloses, is_free, with_end
from swatches.errors import InputError
from swatches.units import length
from ui.parts.line_keeping import keep_lines, placed, placed_or_flagged, together, twin_line
from ui.parts.line_scene import partner_of
from ui.parts.marks import ways
from ui.parts.messages import Commit, Drawn, read, text_of
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.shape_actions import box, keep_shape, mark, other_shape, unmark
from ui.parts.words import capital


def commit(session: Session, message: object) -> Said | None:
    """Take lines that were let go. One that cannot lie there goes back to where it was."""
    said = read(Commit, message)
    project = session.need()
    new = project
    names = []
    for change in said.changes:
        key = (said.client, change.id)
        if session.edits.get(key, -1) >= said.edit:
            continue
        session.edits[key] = said.edit
        old = next((line for line in new.lines if line.id == change.id), None)
        if old is None:
            continue
        new = placed_or_flagged(
            new,
            replace(
                old,
                kind=change.kind,
                start=_kept_text(old.start, change.start.end()),
                end=_kept_text(old.end, change.end.end()),
                through=tuple(change.through),
            ),
        )
        names.append(old.name)
    if names:
        new = together(new, said.changes[0].id)
        keep_lines(session, project, new, f"moved {names[0]}")
    return None


def _remove(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    gone = next((line for line in project.lines if line.id == text_of(message, "line")), None)
    if gone is None:
        return None
    rest = tuple(replace(x, carries="") if x.carries == gone.id else x for x in project.lines if x.id != gone.id)
    keep_lines(session, project, replace(project, lines=rest), f"removed {gone.name}")
    return Said("lines", f"{capital(gone.name)} is gone. Undo brings it back.")


def _draw(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    drawn = read(Drawn, message)
    number = next(n for n in range(1, 10_000) if all(line.id != f"line-{n}" for line in project.lines))
    line = StyleLine(
        f"line-{number}", f"line {number}", drawn.side, drawn.kind, drawn.start.end(), drawn.end.end(),
        tuple(drawn.through), drawn.symmetric,
    )  # fmt: skip
    keep_lines(session, project, placed_or_flagged(project, line), f"drew {line.name}")
    if encloses(line):
        return Said("lines", f"{capital(line.name)} encloses cloth: is that let in, or applied on top? Say so here.")
    on_seam = _ran_over_a_seam(project, line)
    return Said("lines", f"{capital(line.name)} is drawn. {on_seam}Drag its points, or type its distances here.")


_AT_SEAM_MM = 8.0  # as near as a press may miss a drawn seam that it is meant for


def _ran_over_a_seam(project: Project, line: StyleLine) -> str:
    """Say that a drawn seam is no end for a line, where the last press of one seems to have been meant so."""
    view = next((v for v in primary_views(project.views) if v.side == line.side), None)
    if view is None or not line.through:
        return ""
    for seam, path in placed_seams(view, project.views):
        for share in (line.through[0], line.through[-1]):
            if curve.nearest(path, edges.shares_to_mm(view, share))[2] <= _AT_SEAM_MM:
                return f"A drawn seam is no end for a line yet: it goes on over the {seam.name} to the edge. "
    return ""


def _kind(session: Session, message: dict[str, Any]) -> Said | None:
    """Join the points of a line another way; an arc keeps the point that lies most in its middle."""
    project = session.need()
    line = project.line(text_of(message, "line"))
    wanted = text_of(message, "kind")
    if wanted not in list(LineKind):
        raise InputError("kind of line", expected=", ".join(LineKind), got=wanted, next_step="Choose one of them")
    kind = LineKind(wanted)
    through = line.through
    if is_free(line):
        view = next(v for v in primary_views(project.views) if v.side == line.side)
        keep_shape(session, shapes.run_as(line, kind, view), f"{line.name}: {KINDS[kind]}")
        return None
    if kind is LineKind.STRAIGHT or (kind is LineKind.ARC and line.symmetric):
        through = ()
    elif not through:
        view = next(v for v in primary_views(project.views) if v.side == line.side)
        path = anchor.place_line(line, view, [x for x in project.lines if x.side == line.side])
        half = paths.length(path) / (4 if line.symmetric else 2)
        x, y = paths.point_at_distance(path, half)
        lift = 0.03 * (edges.body_box(view)[3] if kind is LineKind.ARC else 0.0)
        through = (edges.mm_to_shares(view, (float(x), float(y) - lift)),)
    elif kind is LineKind.ARC:
        through = (through[len(through) // 2],)
    keep_lines(
        session, project, placed(project, replace(line, kind=kind, through=through)), f"{line.name}: {KINDS[kind]}"
    )
    return None


def _point(session: Session, message: dict[str, Any]) -> Said | None:
    """Let a mirrored line come to a point at the middle, or run over it without one."""
    project = session.need()
    line = project.line(text_of(message, "line"))
    if not line.symmetric:
        return Said("lines", "Only a mirrored line comes to a point at the middle. Mirror it first.", "error")
    how = "without a point" if line.kinked else "to a point"
    keep_lines(session, project, placed(project, replace(line, kinked=not line.kinked)), f"{line.name} {how}")
    return None


KINDS = {
    LineKind.STRAIGHT: "straight",
    LineKind.ARC: "part of a circle",
    LineKind.CURVE: "smooth curve",
    LineKind.POLYLINE: "straight from point to point",
}
"""How points are joined, in words."""


def _enclosed(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    line = project.line(text_of(message, "line"))
    how = text_of(message, "how")
    if how not in ("let in", "on top"):
        raise InputError("request", expected="let in or on top", got=how, next_step="Open the page again")
    new = replace(line, enclosed=how)
    lines = shapes.with_twin(project.lines, new) if is_free(line) else project.put_line(new).lines
    session.keep(replace(project, lines=lines), f"{line.name} {how}")
    return None


def _mend(session: Session, message: dict[str, Any]) -> Said | None:
    """Do what a flag at a line suggests."""
    project = session.need()
    line, code, end, way = (text_of(message, key) for key in ("line", "code", "end", "way"))
    mend = next(
        (m for m in ways(with_darts(project, session.folder), session.state, line, code, end) if m.way == way), None
    )
    if mend is None:
        return Said("lines", "That is not so any more: the line was moved meanwhile.")
    new = replace(project, lines=mend.lines)
    for each in mend.lines:
        new = placed(new, each)
    keep_lines(session, project, new, f"moved {mend.line.name} where it sews better")
    return Said("lines", f"{capital(mend.line.name)} is moved. Undo brings it back.")


def _true_it(session: Session, message: dict[str, Any]) -> Said | None:
    """Bend both lines near the shared seam until one runs straight on into the other."""
    project = session.need()
    line = project.line(text_of(message, "line"))
    other = partner_of(project, line)
    views = {v.side: v for v in primary_views(project.views)}
    if other is None:
        return Said("lines", f"{capital(line.name)} meets no line of the other side at a seam.", "error")
    new = project
    allowance = length(session.state.allowance, what="seam allowance", bare=session.state.unit).mm
    limit = limits(project.limits)
    for each in (line, other):
        bent, radius = _trued_softly(each, views[each.side], limit["radius-warn"].value * allowance)
        if radius < limit["radius-stop"].value * allowance:
            tight = f"{capital(each.name)} runs too nearly along the seam on the {each.side}: bent square to it, it"
            way = "Move its end or the point next to it, so that it leaves the seam more squarely."
            return Said("lines", f"{tight} would be too tight a curve to sew. {way}", "error")
        new = placed(new, bent)
    keep_lines(session, project, new, f"trued {line.name} at the side seam")
    return Said("lines", f"{capital(line.name)} runs straight on over the seam now, front into back.")


def _trued_softly(line: StyleLine, view: View, least_mm: float) -> tuple[StyleLine, float]:
    """Bend a line over its last 6 cm, or farther where that would be too tight a curve; with its least radius, mm."""
    tried = []
    for over in (60.0, 90.0, 120.0):
        bent = trued(line, view, over_mm=over)
        tried.append((bent, abs(curve.min_radius(anchor.place_line(bent, view))[0])))
        if tried[-1][1] >= least_mm:
            return tried[-1]
    return max(tried, key=lambda each: each[1])


def _rename(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    line = project.line(text_of(message, "line"))
    name = " ".join(text_of(message, "name").split())[:60]
    if name and name != line.name:
        session.keep(project.put_line(replace(line, name=name)), f"named a line {name}")
    return None


def _type(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    line = project.line(text_of(message, "line"))
    which = text_of(message, "which")
    if which not in ("start", "end") or is_free(line):
        raise InputError("request", expected="start or end", got=which, next_step="Open the page again")
    typed = length(text_of(message, "text"), what="distance", minimum_mm=0.0, bare=session.state.unit)
    end: End = replace(getattr(line, which), distance_mm=typed.mm, text=str(typed))
    moved = points_along(line, with_end(line, which, end), primary_views(project.views), project.lines)
    new = together(placed(project, moved), line.id)
    twin = twin_line(project, line)
    if twin is not None:
        own = replace(end, edge=getattr(twin, which).edge, side=getattr(twin, which).side)
        through = tuple((-x, y) for x, y in moved.through)  # mirrored to the last digit, on a crooked drawing too
        new = together(placed(new, with_end(replace(twin, through=through), which, own)), twin.id)
    keep_lines(session, project, new, f"{line.name} at {typed}")
    return None


def _mirror(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    line = project.line(text_of(message, "line"))
    if is_free(line):
        return other_shape(session, line)
    view = next(v for v in project.views if v.side == line.side and v.edges)
    if line.symmetric:
        new = replace(line, symmetric=False, start=replace(line.start, side=line.start.side or "left"))
        if new.end.edge == edges.centre_name(view):
            keep_lines(session, project, placed(project, new), f"{line.name} on one side")
            return None
    else:
        if line.end.edge != edges.centre_name(view):
            return Said(
                "lines",
                "A mirrored line ends at the middle. Drag its end onto the middle of the garment first.",
                "error",
            )
        through = tuple((abs(x), y) for x, y in line.through)
        new = replace(line, symmetric=True, start=replace(line.start, side=None), through=through)
    keep_lines(session, project, placed(project, new), f"mirrored {line.name}")
    return None


def _carry(session: Session, message: dict[str, Any]) -> Said | None:
    project = session.need()
    line = project.line(text_of(message, "line"))
    side = "back" if line.side == "front" else "front"
    if not any(v.side == side for v in project.views):
        return Said("lines", f"There is no picture of the {side} yet. Add one under 'What garment?'.", "error")
    carried = carry(line, project.lines, side, project.views)
    keep_lines(session, project, placed(project, carried), f"carried {line.name} to the {side}")
    together = " The two keep meeting at the seam." if carried.carries else ""
    return Said("lines", f"{capital(line.name)} goes on over the {side}.{together}")


DOES: dict[str, Callable[[Session, dict[str, Any]], Said | None]] = {
    "remove": _remove, "draw": _draw, "rename": _rename, "type": _type, "mirror": _mirror, "carry": _carry,
    "kind": _kind, "point": _point, "enclosed": _enclosed, "true": _true_it,
    "mend": _mend, "box": box, "detail": mark, "detail-gone": unmark,
}  # fmt: skip
"""What can be done to lines, by the word that a message says it with."""

ABOUT_LINES = frozenset(DOES)
"""Messages whose trouble is said beside the lines."""


def going_on(first: Sequence[StyleLine], second: Sequence[StyleLine]) -> list[StyleLine]:
    """Say of lines of the second side that they go on from those of the first, where both start at the same seam."""
    out = []
    for a, b in zip(first, second, strict=False):
        meets = (a.start.edge, a.start.landmark, a.start.side) == (b.start.edge, b.start.landmark, b.start.side)
        level = math.isclose(a.start.distance_mm, b.start.distance_mm, abs_tol=1e-6)
        out.append(replace(b, carries=a.id) if meets and level and a.start.edge in SHARED else b)
    return out + list(second[len(first) :])


def add_lines(session: Session, lines: tuple[StyleLine, ...], label: str) -> None:
    """Add lines of a preset, as one step."""
    project = session.need()
    new = project
    for line in lines:
        new = placed(new, line)
    keep_lines(session, project, new, label)


def _kept_text(old: End, new: End) -> End:
    """Keep the typed text of an end that did not move."""
    same = math.isclose(old.distance_mm, new.distance_mm, abs_tol=1e-6) and (old.edge, old.landmark) == (
        new.edge,
        new.landmark,
    )
    return replace(new, text=old.text) if same else replace(new, text="")
