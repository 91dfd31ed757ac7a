"""The cloth: one-way cloth, repeats larger than their panel, and whether there is enough by area."""

from __future__ import annotations

import numpy as np

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.limits import PRACTICE
from mockup.checks.scene import Scene
from mockup.checks.words import panel_words
from mockup.geometry import path as paths


def nap(scene: Scene) -> list[Finding]:
    """Say where cloth must point one way, and where that is not known."""
    found = []
    for f in scene.used():
        one_way = f.nap.value is True or (f.texture is not None and f.texture.one_way is True)
        silent = f.nap.value is None
        if not one_way and not silent:
            continue
        found.append(
            Finding(
                "nap",
                Grade.NOTE if one_way else Grade.CANNOT_TELL,
                Place(f"all panels of {f.name}"),
                "this cloth has an up and a down" if one_way else "not known whether the cloth has a nap",
                "all its pieces point one way",
                PRACTICE,
                "Lay every piece with its top the same way; that takes more cloth."
                if one_way
                else "Stroke it up and down, and look along it from both ends in daylight.",
            )
        )
    return found


def repeat(scene: Scene) -> list[Finding]:
    """Say where a print's repeat is larger than the panel that shows it."""
    scale = {v.name: v.mm_per_px for v in scene.views}
    found = []
    for panel in scene.panels.values():
        f = scene.fabric(panel.id)
        if f is None or f.texture is None or not f.texture.repeat_mm:
            continue
        x0, y0, x1, y1 = paths.bounds(paths.from_tuples(panel.outline))
        box = np.array([x1 - x0, y1 - y0]) * scale[panel.view]
        longer = [r for r, size in zip(f.texture.repeat_mm, box, strict=True) if r > size]
        if longer:
            found.append(
                Finding(
                    "repeat",
                    Grade.NOTE,
                    Place(panel_words(scene, panel.id), panel.view, ((x0 + x1) / 2, (y0 + y1) / 2)),
                    f"repeat {max(longer):.0f} mm, panel {box[0]:.0f} × {box[1]:.0f} mm",
                    "a whole repeat shows",
                    PRACTICE,
                    "Choose which part of the print this panel shows, or a smaller print.",
                )
            )
    return found


def enough_cloth(scene: Scene) -> list[Finding]:
    """Hold the area of the cut pieces against what is left; a lay alone can say yes."""
    found = []
    for f in scene.used():
        place = Place(f"all panels of {f.name}")
        area = scene.cut_mm2.get(f.id)
        width, left = f.usable_width.value, f.length_left.value
        if not f.owned:
            continue
        if area is None or width is None or left is None:
            missing = "the pieces" if area is None else "its usable width and length"
            found.append(
                Finding(
                    "enough-cloth",
                    Grade.CANNOT_TELL,
                    place,
                    f"{missing} are not known",
                    "area of the pieces below the cloth's",
                    "derived",
                    "Add the pattern pieces." if area is None else "Measure the cloth between its selvedges.",
                )
            )
            continue
        share = area / (width * left)
        if share > 1:
            found.append(
                Finding(
                    "enough-cloth",
                    Grade.STOP,
                    place,
                    f"the pieces take {share:.0%} of the cloth",
                    "100 %",
                    "derived: area",
                    "Use another cloth for one of these panels, or move a line.",
                )
            )
        elif share > 0.8:
            found.append(
                Finding(
                    "enough-cloth",
                    Grade.WARN,
                    place,
                    f"the pieces take {share:.0%} of the cloth",
                    "about 80 to 90 %",
                    "production lays waste 10 to 20 % (Cooklin 1997 by Rissanen)",
                    "Try the lay before you cut.",
                )
            )
    return found
