"""How the print lies on a panel: moved, turned, mirrored; the same on its twin; and what the split says of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from mockup.colourways.colourway import Colourway, Laid
from mockup.geometry.path import XY
from mockup.journey.known import find, unknown
from mockup.project import Project
from mockup.split.split import LaidPrint
from mockup.stylelines.panels import Panel, garment_panels
from swatches.errors import InputError

FARTHEST_MM = 10_000.0


def lay_print(
    project: Project,
    letter: str,
    panel: str,
    *,
    offset_mm: XY | None = None,
    by_mm: XY | None = None,
    grain_deg: float | None = None,
    mirrored: bool | None = None,
    twin: bool = False,
) -> Project:
    """Say how the print lies on a panel of one choice; what is not given stays.

    Args:
        project: the project.
        letter: the choice.
        panel: id of the panel.
        offset_mm: how far the print is moved from where it lay at first, to the right and up in the picture.
        by_mm: how far it is moved from where it lies now.
        grain_deg: angle of the lengthwise grain from upright, as seen: counter-clockwise in the picture.
        mirrored: whether the print is seen as in a mirror.
        twin: lay its twin as the mirror image.

    Raises:
        InputError: there is no such choice or panel, or a number is none.
    """
    choice = find(project, "colourway", letter)
    known = {p.id: p for panels in garment_panels(project.views, project.lines).values() for p in panels}
    if panel not in known:
        raise unknown("panel", panel, sorted(known))
    now = choice.laid_on(panel, known[panel].side)
    x, y = now.offset_mm if offset_mm is None else offset_mm
    dx, dy = by_mm or (0.0, 0.0)
    seen = now.grain_seen_deg if grain_deg is None else grain_deg
    flipped = now.mirrored if mirrored is None else mirrored
    numbers = (x + dx, y + dy, seen)
    if not all(math.isfinite(v) and abs(v) <= FARTHEST_MM for v in numbers):
        raise InputError(
            "place of the print",
            expected="plain numbers, at most 10 m",
            got=", ".join(f"{v:g}" for v in numbers),
            next_step="Move it less far",
        )
    seen = math.remainder(seen, 360.0)
    laid = Laid(-seen if flipped else seen, (x + dx, y + dy), flipped)
    choice = choice.lay(panel, laid)
    other = known[panel].twin
    if twin and other is not None and other in known:
        choice = choice.lay(other, mirror_image(laid))
    return project.put_colourway(choice)


def lay_as_usual(project: Project, letter: str, panel: str) -> Project:
    """Forget how the print was laid on a panel and on its twin."""
    choice = find(project, "colourway", letter)
    known = {p.id: p for panels in garment_panels(project.views, project.lines).values() for p in panels}
    if panel not in known:
        raise unknown("panel", panel, sorted(known))
    for name in (panel, known[panel].twin):
        choice = choice if name is None else choice.lay(name, None)
    return project.put_colourway(choice)


def mirror_image(laid: Laid) -> Laid:
    """How cloth must lie on the twin to be the mirror image about the garment's middle."""
    return replace(laid, offset_mm=(-laid.offset_mm[0], laid.offset_mm[1]), mirrored=not laid.mirrored)


def prints_of(project: Project, choice: Colourway, panels: Sequence[Panel]) -> dict[str, LaidPrint]:
    """Say of every panel whose print a person has laid how it lies, for the split; view mm."""
    fabrics = {f.id: f for f in project.fabrics}
    found = {}
    for panel in panels:
        laid, fabric = choice.laid.get(panel.id), fabrics.get(choice.fabrics.get(panel.id, ""))
        if laid is None or fabric is None or fabric.texture is None:
            continue
        found[panel.id] = LaidPrint(laid.offset_mm, laid.grain_seen_deg, laid.mirrored, fabric.texture.repeat_mm)
    return found
