"""Front and back as one: a line that ends on a shared seam goes on at the same distance on the other side.

Side seam and shoulder are shared; what front and back share there is the distance from the landmark (the underarm, the
shoulder-neck point), never a fraction of the edge. The wearer's left stays the wearer's left, so that a curve carried
to the back is the mirror image of itself in the picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mockup.garment.view import View
from mockup.geometry.path import XY
from mockup.stylelines import edges
from mockup.stylelines.styleline import End, StyleLine
from mockup.stylelines.twins import reversed_line
from swatches.errors import GeometryError

SHARED = ("side", "shoulder")
"""Edges at which front and back are sewn to each other."""


def carry(line: StyleLine, project_lines: Sequence[StyleLine], to_side: str, views: Sequence[View] = ()) -> StyleLine:
    """Make the line that goes on from a line on the other side of the garment.

    Args:
        line: the line. Where only its end is on a shared seam, it is carried run the other way. Where neither end is
            (a yoke from armhole to armhole), the new line has the same distances and is not kept with this one.
        project_lines: all lines: the new one gets a free id, or the id of the one that already carries this line.
        to_side: 'front' or 'back', the other side.
        views: where they hold a drawing of each side, heights are kept in mm above the hem; else points keep their
            shares of the body and an end on the centre is counted from the hem as it was.

    Raises:
        GeometryError: ``to_side`` is the line's own side, or the line ends on one that is not there yet.
    """
    if to_side == line.side or to_side not in ("front", "back"):
        raise GeometryError(
            f"line {line.name!r}",
            expected="the other side of the garment",
            got=to_side,
            next_step=f"Carry it to the {'front' if line.side == 'back' else 'back'}",
        )
    if line.start.edge not in SHARED and line.end.edge in SHARED:
        line = replace(reversed_line(line), id=line.id)
    tied = line.start.edge in SHARED
    one, other = (next((v for v in views if v.side == s), None) for s in (line.side, to_side))
    through = line.through
    if one is not None and other is not None:
        through = tuple(_same_height(p, one, other) for p in through)
    existing = next((x for x in project_lines if x.carries == line.id and x.side == to_side), None)
    return replace(
        line,
        id=_free_id(project_lines) if existing is None else existing.id,
        side=to_side,
        start=_other_end(line.start, to_side, one, other, project_lines),
        end=_other_end(line.end, to_side, one, other, project_lines),
        through=through,
        carries=line.id if tied else "",
    )


def keep_together(lines: Sequence[StyleLine], changed_id: str) -> tuple[StyleLine, ...]:
    """After a line was changed, bring the lines that it carries, or is carried by, to the same distance.

    Args:
        lines: all lines, the changed one among them.
        changed_id: its id.

    Returns:
        All lines, in the same order; every chain of lines is followed to its end.
    """
    now = {line.id: line for line in lines}
    todo, seen = [changed_id], {changed_id}
    while todo:
        master = now[todo.pop()]
        for line in list(now.values()):
            tied = line.carries == master.id or (master.carries == line.id and master.carries != "")
            if not tied or line.id in seen:
                continue
            now[line.id] = _tied(line, master)
            seen.add(line.id)
            todo.append(line.id)
    return tuple(now[line.id] for line in lines)


def seam_miss(a: StyleLine, b: StyleLine, view_a: View, view_b: View) -> float:
    """How far the starts of two lines are from meeting at their shared seam, mm along it.

    Each start is placed on its own view and its distance from the shared landmark is measured there.

    Raises:
        GeometryError: an end cannot be placed, or the starts are on different seams.
    """
    if a.start.edge != b.start.edge or a.start.side != b.start.side:
        raise GeometryError(
            f"lines {a.name!r} and {b.name!r}",
            expected="starts on the same seam",
            got=f"{a.start.edge} and {b.start.edge}",
            next_step="Carry one line to the other side again",
        )
    found = []
    for line, view in ((a, view_a), (b, view_b)):
        edge, at = edges.along_edge(line.start, view)
        marks = {name: d for (name, _), d in edges.landmarks_on(view, edge).items()}
        found.append(abs(at - marks[a.start.landmark]))
    return abs(found[0] - found[1])


def _tied(line: StyleLine, master: StyleLine) -> StyleLine:
    ends = []
    for mine, theirs in ((line.start, master.start), (line.end, master.end)):
        same = mine.edge in SHARED and (mine.edge, mine.side) == (theirs.edge, theirs.side)
        ends.append(
            replace(mine, landmark=theirs.landmark, distance_mm=theirs.distance_mm, text=theirs.text) if same else mine
        )
    return replace(line, start=ends[0], end=ends[1])


def _other_end(end: End, to_side: str, one: View | None, other: View | None, lines: Sequence[StyleLine]) -> End:
    under = next((line for line in lines if line.id == end.edge), None)
    if under is not None:
        for line in lines:
            if line.side == to_side and (line.carries == under.id or under.carries == line.id):
                return replace(end, edge=line.id)
        raise GeometryError(
            "line end",
            expected=f"the line {under.name!r} on the {to_side} too",
            got="a line that ends on it",
            next_step=f"Carry {under.name!r} to the {to_side} first",
        )
    if end.edge not in edges.CENTRES:
        return end
    edge = f"centre-{to_side}"
    if one is None or other is None:
        return replace(end, edge=edge)
    y = edges.end_point(end, one)[1] - float(edges.centre_line(one).end[1])
    centre = edges.centre_line(other)
    whole = float(centre.start[1] - centre.end[1])
    up = min(max(y, 0.0), whole)
    if end.landmark == "hem" or up >= whole:
        return replace(end, edge=edge, landmark="hem", distance_mm=up)
    return End(edge, "neck", whole - up)


def _same_height(share: XY, one: View, other: View) -> XY:
    x, y = share
    return x, y * edges.body_box(one)[3] / edges.body_box(other)[3]


def _free_id(lines: Sequence[StyleLine]) -> str:
    taken = {line.id for line in lines}
    n = len(lines) + 1
    while f"line-{n}" in taken:
        n += 1
    return f"line-{n}"
