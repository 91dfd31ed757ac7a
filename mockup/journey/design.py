"""Panels, choices, and the painted garment."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from mockup.colourways.colourway import Colourway
from mockup.journey.known import find, unknown
from mockup.journey.painting import cloth_of, paint_view
from mockup.project import Project
from mockup.sheets.compare import Choice, ClothShare
from mockup.stylelines.panels import Panel, garment_panels
from swatches.colour import linear_to_srgb8
from swatches.job import QUIET, Job, Part, check


def panels_of(project: Project) -> dict[str, tuple[Panel, ...]]:
    """Cut every view by the lines of its side: view name → panels by number."""
    return garment_panels(project.views, project.lines)


def assign(project: Project, letter: str, fabrics: Mapping[str, str | None]) -> Project:
    """Give panels fabrics in one choice, which is made if it is new; None leaves a panel as it is.

    Raises:
        InputError: there is no such panel or fabric.
    """
    ids = {p.id for panels in panels_of(project).values() for p in panels}
    choice = next((c for c in project.colourways if c.letter == letter), Colourway(letter))
    for panel, fabric in fabrics.items():
        if panel not in ids:
            raise unknown("panel", panel, sorted(ids))
        if fabric is not None:
            find(project, "fabric", fabric)
        choice = choice.assign(panel, fabric)
    return project.put_colourway(choice)


def shown_choices(project: Project, folder: Path, *, long_side: int, job: Job = QUIET) -> tuple[Choice, ...]:
    """Paint every choice for a sheet or cards: its views, and what share each cloth has."""
    views = [v.name for v in project.views if v.kind == "drawing"] or [v.name for v in project.views][:1]
    panels = panels_of(project)
    shown = []
    for k, choice in enumerate(project.colourways):
        check(job)
        part = Part(job, k / len(project.colourways), (k + 1) / len(project.colourways))
        part.step(f"Painting choice {choice.letter}", 0.0)
        pictures = {v: paint_view(project, folder, choice.letter, v, long_side=long_side) for v in views}
        shares: dict[str, float] = {}
        for panel in {p.id: p for view in views for p in panels[view]}.values():  # a sleeve is seen twice
            if panel.id in choice.fabrics:
                fabric = choice.fabrics[panel.id]
                shares[fabric] = shares.get(fabric, 0.0) + panel.share
        cloths = [_share(project, folder, fabric, share) for fabric, share in shares.items()]
        cloths.sort(key=lambda c: -c.share)
        shown.append(Choice(choice.letter, choice.name, pictures, cloths))
    return tuple(shown)


def _share(project: Project, folder: Path, fabric_id: str, share: float) -> ClothShare:
    fabric = find(project, "fabric", fabric_id)
    cloth = cloth_of(fabric, folder)
    colour = linear_to_srgb8(cloth.colour)
    tile = None if cloth.tile is None else linear_to_srgb8(cloth.tile)
    return ClothShare(fabric.name, share, (int(colour[0]), int(colour[1]), int(colour[2])), tile, cloth.mm_per_px)
