"""What stands against lines while they are drawn: a numbered flag at the place, a sentence, and what puts it right.

The checks judge (:mod:`mockup.checks.of_lines`), :mod:`mockup.proposals.mend` finds what passes; here it is put into
the person's words and unit. It is worked out after a line is let go, once for the same lines.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from mockup.checks.finding import Finding
from mockup.checks.limits import limits
from mockup.checks.lines import sliver
from mockup.checks.of_lines import line_findings
from mockup.checks.scene import Scene
from mockup.checks.spoken import Spoken, spoken
from mockup.colourways.colourway import Colourway
from mockup.journey.sewn_in import with_darts
from mockup.project import Project
from mockup.proposals.mend import MENDABLE, Mend, mends
from mockup.stylelines.panels import primary_views
from mockup.stylelines.starts import is_waisted
from mockup.stylelines.styleline import is_free
from swatches.errors import GeometryError
from swatches.units import length
from ui.parts import words
from ui.parts.known_panels import LINES, Keyed, digest, panels_of, placed_of, view_text
from ui.parts.messages import text_of
from ui.parts.session import Session, State

Judged = tuple[tuple[Finding, Spoken], ...]
MOST = 12
"""Flags that are shown; more would hide the garment."""


def marks_scene(project: Project, state: State) -> list[dict[str, Any]]:
    """Give the flags for the scripts, as JSON takes them: most serious first, numbered from 1."""
    found = judged(project, length(state.allowance, what="seam allowance", bare=state.unit).mm)
    made = []
    for number, (finding, _) in enumerate(found[:MOST], 1):
        (said,) = spoken([finding], state.unit)
        point = finding.place.point
        made.append(
            {
                "number": number,
                "view": finding.place.view,
                "point": None if point is None else [round(v, 1) for v in point],
                "grade": finding.grade.value,
                "text": said.text,
                "about": said.origin,
                "code": finding.code,
                "line": finding.line,
                "end": finding.end,
                "mendable": bool(finding.line) and finding.code in MENDABLE,
            }
        )
    return made


def ways(project: Project, state: State, line: str, code: str, end: str) -> tuple[Mend, ...]:
    """What would put right what a flag says; it is looked for when the flag is opened, since that takes a while."""
    allowance = length(state.allowance, what="seam allowance", bare=state.unit).mm
    for finding, _ in judged(project, allowance):
        if (finding.line, finding.code, finding.end) == (line, code, end):
            return mends(project, finding, allowance_mm=allowance)
    return ()


def ways_scene(session: Session, message: dict[str, Any]) -> dict[str, Any]:
    """The answer to somebody who opens a flag, as JSON takes it."""
    line, code, end = (text_of(message, key) for key in ("line", "code", "end"))
    found = ways(with_darts(session.need(), session.folder), session.state, line, code, end)
    waisted = any(is_waisted(v) for v in session.need().views)
    listed = [{"way": m.way, "label": _label(m, session.state.unit, waisted)} for m in found]
    return {"line": line, "code": code, "end": end, "ways": listed}


def judged(project: Project, allowance_mm: float) -> Judged:
    """Judge the lines, with the ways that would put each finding right; once for the same lines."""
    if not any(v.edges for v in project.views):
        return ()
    key = digest(
        *(view_text(v) for v in project.views),
        LINES.dump_json(project.lines),
        repr((project.details, project.closures)).encode(),
        repr((allowance_mm, sorted(dict(project.limits).items()))).encode(),
    )
    return _judged(key, Keyed(project), allowance_mm)


@lru_cache(maxsize=32)
def _judged(key: bytes, project_of: Keyed, allowance_mm: float) -> Judged:
    project = project_of.project
    try:
        found = [(each.finding, each.said) for each in line_findings(project, allowance_mm=allowance_mm)]
        narrow = _slivers(project, allowance_mm)
    except GeometryError:
        return ()
    found += list(zip(narrow, (spoken([f])[0] for f in narrow), strict=True))
    return tuple(found)


def _slivers(project: Project, allowance_mm: float) -> list[Finding]:
    if not project.lines:
        return []
    views = primary_views(project.views)
    by_view, placed = panels_of(project), placed_of(project)
    panels = {p.id: p for view in reversed(views) for p in by_view[view.name]}
    laid = tuple((v, line, path) for v in views for line, path in placed[v.name])
    return sliver(
        Scene(
            project, Colourway(""), tuple(views), panels, (), laid, allowance_mm, limits=limits(project.limits)
        )
    )  # fmt: skip


def _label(mend: Mend, unit: str, waisted: bool) -> str:
    if mend.way in ("left", "right"):
        return f"Move it there: {_sideways(mend)}"
    if mend.end is None and mend.way in ("above", "below"):
        return f"Move it there: {'higher up' if mend.way == 'above' else 'lower down'}"
    if mend.end is not None:
        end = mend.end
        where = f"{words.edge_label(end.edge)}, {words.length_text(end.distance_mm, unit)}"
        return f"Move it there: {where} {words.from_words(end.edge, end.landmark, waisted=waisted)}"
    return {"square": "Make it square to the middle", "wider": "Make the curve wider", "rounder": "Round the corner"}[
        mend.way
    ]


def _sideways(mend: Mend) -> str:
    """Where a line goes that is moved to one side: out or in where it lies on one half of the garment."""
    line = mend.line
    sides = {"left"} if line.symmetric else {line.start.side, line.end.side}
    if is_free(line):
        sides = {"left" if x > 0 else "right" for x, _ in line.through}
    if len(sides) != 1 or None in sides:
        return f"toward the wearer’s {mend.way}"
    return "toward the side" if mend.way in sides else "toward the middle"
