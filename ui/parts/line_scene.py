"""What the page shows of a line beside its shape: what it costs, its V at the side seam, whether it encloses cloth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from mockup.geometry.path import Path
from mockup.project import Project
from mockup.stylelines.carry import SHARED
from mockup.stylelines.cost import cost
from mockup.stylelines.panels import primary_views
from mockup.stylelines.seam import seam_v
from mockup.stylelines.shapes import box_of
from mockup.stylelines.starts import is_waisted
from mockup.stylelines.styleline import End, StyleLine, encloses, is_free
from swatches.errors import GeometryError
from swatches.units import length
from ui.parts import words
from ui.parts.known_panels import placed_of
from ui.parts.session import Session, State

LEAST_V_DEG = 0.5
"""A V below this is not worth truing: over 6 cm of seam it is half a mm."""


def lines_scene(project: Project, state: State) -> list[dict[str, Any]]:
    """All lines of a project for the scripts, as JSON takes them."""
    placed = placed_of(project)
    drawn = {line.id: path for view in primary_views(project.views) for line, path in placed.get(view.name, ())}
    allowance = length(state.allowance, what="seam allowance", bare=state.unit).mm
    return [_line(project, line, drawn, allowance) for line in project.lines]


def _line(project: Project, line: StyleLine, drawn: Mapping[str, Path], allowance_mm: float) -> dict[str, Any]:
    path = drawn.get(line.id)
    found: dict[str, Any] = {
        "id": line.id,
        "name": line.name,
        "side": line.side,
        "kind": str(line.kind),
        "start": _end(line.start, project),
        "end": _end(line.end, project),
        "through": [list(p) for p in line.through],
        "symmetric": line.symmetric,
        "kinked": line.kinked,
        "carries": line.carries,
        "encloses": False,
        "enclosed": line.enclosed,
        "cost": None,
        "v_deg": None,
        "free": is_free(line),
        "box": None,
    }
    if path is None:
        return found
    around = encloses(line)
    applied = around and line.enclosed == "on top"
    price = cost(path, allowance_mm, applied=applied)
    found["encloses"] = around
    found["cost"] = {"seams": price.seams, "seam_mm": price.seam_cm * 10, "cloth_mm2": price.cloth_cm2 * 100}
    found["box"] = _box(project, line) if is_free(line) else None
    found["v_deg"] = _v(project, line, drawn)
    return found


def _box(project: Project, line: StyleLine) -> dict[str, Any]:
    """Where a closed shape lies and how large it is, mm."""
    box = box_of(line, next(v for v in primary_views(project.views) if v.side == line.side))
    return {"across": box.across_mm, "up": box.up_mm, "wide": box.wide_mm, "high": box.high_mm}


def details_scene(project: Project) -> list[dict[str, Any]]:
    """What is sewn in, for the scripts: marked by the person ('own', can be taken away), or of the pattern."""
    return [
        {"id": d.id, "kind": d.kind, "word": d.word, "side": d.side, "points": [list(p) for p in d.points],
         "own": d.id.startswith(("detail-", "drawn-"))}
        for d in project.details
    ]  # fmt: skip


def cost_words(session: Session, ids: Sequence[str]) -> str:
    """What lines cost together: '2 seams, 98 cm of seam and 295 cm² of cloth for allowances'."""
    project, state = session.need(), session.state
    prices = [line["cost"] for line in lines_scene(project, state) if line["id"] in ids and line["cost"]]
    seam, cloth = (sum(p[key] for p in prices) for key in ("seam_mm", "cloth_mm2"))
    seams = words.counted(sum(p["seams"] for p in prices), "seam")
    return (
        f"{seams}, {words.seam(seam, state.unit)} of seam and {words.area(cloth, state.unit)} of cloth for allowances"
    )


def partner_of(project: Project, line: StyleLine) -> StyleLine | None:
    """The line of the other side that meets this one at a shared seam; None where it meets none."""
    if line.start.edge not in SHARED:
        return None
    tied = (x for x in project.lines if x.side != line.side and (x.carries == line.id or line.carries == x.id))
    return next(
        (x for x in tied if (x.start.edge, x.start.side) == (line.start.edge, line.start.side)),
        None,
    )


def _v(project: Project, line: StyleLine, drawn: Mapping[str, Path]) -> float | None:
    """The V that a line makes with its partner at the shared seam, degrees, down positive; None where there is none."""
    other = partner_of(project, line)
    views = {v.side: v for v in primary_views(project.views) if v.edges}
    if other is None or line.side not in views or other.side not in views or other.id not in drawn:
        return None
    try:
        angle = seam_v(line, other, views[line.side], views[other.side], (drawn[line.id], drawn[other.id]))
    except GeometryError:
        return None
    return None if abs(angle) < LEAST_V_DEG else round(angle, 1)


def _end(end: End, project: Project) -> dict[str, Any]:
    on = next((x.name for x in project.lines if x.id == end.edge), "")
    return {
        "edge": end.edge,
        "landmark": end.landmark,
        "distance_mm": end.distance_mm,
        "side": end.side,
        "text": end.text,
        "label": f"line {on}" if on else words.edge_label(end.edge),
        "from": words.from_words(end.edge, end.landmark, waisted=any(is_waisted(v) for v in project.views)),
    }
