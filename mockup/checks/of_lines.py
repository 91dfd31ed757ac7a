"""What stands against lines while they are drawn: the checks of lines on a set of them, whatever the cloth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mockup.checks.corners import inner_corner, kink
from mockup.checks.crossings import closure, pocket
from mockup.checks.ends import bulk, v_tip
from mockup.checks.finding import ORDER, Finding, Grade
from mockup.checks.limits import Limit, limits
from mockup.checks.lines import tight_curve
from mockup.checks.order import sewing_order
from mockup.checks.scene import Scene
from mockup.checks.sewn_in import sewn_in
from mockup.checks.spoken import Spoken, spoken
from mockup.colourways.colourway import Colourway
from mockup.project import Project
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import primary_views

_CHECKS = (bulk, v_tip, tight_curve, kink, inner_corner, sewing_order, pocket, closure, sewn_in)


@dataclass(frozen=True, slots=True)
class LineFinding:
    """A finding about lines.

    Attributes:
        finding: the finding: its ``line`` is the line's id (empty where it is about several), its ``end`` and
            ``better_mm`` say which end could be moved, and to what distance.
        said: the same in words for the screen.
    """

    finding: Finding
    said: Spoken


def line_findings(
    project: Project, *, allowance_mm: float = 15.0, table: Mapping[str, Limit] | None = None
) -> tuple[LineFinding, ...]:
    """Judge the lines of a project as they lie now, most serious first; panels are not cut for it.

    Args:
        project: its views and lines are looked at, not its cloth.
        allowance_mm: seam allowance of the lines.
        table: limits; None: the project's own.

    Raises:
        GeometryError: a line cannot be placed.
    """
    views = primary_views(project.views)
    placed = tuple((v, line, path) for v in views for line, path in placed_lines(v, project.lines, views))
    seen = Scene(
        project, Colourway(""), tuple(views), {}, (), placed, allowance_mm, {}, table or limits(project.limits)
    )
    found = [f for check in _CHECKS for f in check(seen) if f.grade is not Grade.CANNOT_TELL]
    return tuple(LineFinding(f, spoken([f])[0]) for f in sorted(found, key=lambda f: ORDER.index(f.grade)))
