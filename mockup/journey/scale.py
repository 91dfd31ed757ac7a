"""The scale of views: one length that is known, and the views that follow it."""

from __future__ import annotations

from mockup.garment.scale import scale_doubts, scaled_like, set_measure
from mockup.garment.view import View
from mockup.journey.known import find
from mockup.project import Project
from swatches.units import Length, length


def measure(
    project: Project, view: str, edge: str, value: Length | float | str, *, warnings: list[str] | None = None
) -> Project:
    """Give a view its scale by one known length along an edge; views without a length of their own follow it.

    ``warnings`` takes a sentence where two lengths do not fit each other.

    Raises:
        InputError: there is no such view or edge, or the length is none.
    """
    known = length(value, what=f"{view}:{edge}", minimum_mm=1.0)
    scaled = set_measure(find(project, "view", view), edge, known.mm)
    project = follow_scale(project.put_view(scaled), scaled)
    if warnings is not None:
        warnings.extend(w for w in scale_doubts(project.views) if w not in warnings)
    return project


def follow_scale(project: Project, known: View) -> Project:
    """Let the views whose scale nobody measured follow one that was: photos of its side, and the other side."""
    for view in project.views:
        photo = view.kind == "photo" and known.kind == "drawing" and view.side == known.side
        if view.name != known.name and view.edges and (photo or not view.scale_measured):
            project = project.put_view(scaled_like(view, known))
    return project
