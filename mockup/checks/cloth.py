"""The cloth: its faces, one-way cloth, repeats larger than their panel, and whether there is enough of it."""

from __future__ import annotations

import numpy as np

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.limits import PRACTICE
from mockup.checks.scene import Scene
from mockup.checks.words import panel_words
from mockup.geometry import path as paths
from mockup.lay.need import Need
from swatches.fabric import Fabric


def face(scene: Scene) -> list[Finding]:
    """Say where the two faces of a cloth differ, which one the photo shows, and where nobody has looked."""
    found = []
    for f in scene.used():
        place = Place(f"all panels of {f.name}")
        wrong = f.face_photographed.value == "wrong side" and f.faces_alike.value is not True
        if wrong:
            found.append(
                Finding(
                    "face", Grade.WARN, place, "the photo shows its wrong side", "the right side is what is painted",
                    PRACTICE, "Take a photo of the right side, or decide that this side is the right one.",
                )
            )  # fmt: skip
        elif f.faces_alike.value is False:
            found.append(
                Finding(
                    "face", Grade.NOTE, place, "its two faces differ", "every piece with the right side up", PRACTICE,
                    "Mark the wrong side of every piece with chalk as soon as it is cut.",
                )
            )  # fmt: skip
        elif f.faces_alike.value is None and f.texture is not None:
            found.append(
                Finding(
                    "face", Grade.CANNOT_TELL, place, "not known whether its two faces are alike", "known", PRACTICE,
                    "Turn a corner over and compare in daylight.", about=f.name, missing="whether its faces are alike",
                )
            )  # fmt: skip
    return found


def grain_lies_across(scene: Scene, panel_id: str) -> bool:
    """Whether a panel's cloth is turned so that its length runs across the garment."""
    laid = scene.colourway.laid.get(panel_id)
    return laid is not None and abs(laid.grain_deg % 180 - 90) < 45


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
                plain=f"{f.name} has an up and a down" if one_way else "",
                about="" if one_way else f.name,
                missing="" if one_way else "whether it has an up and a down",
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
        shown = box[::-1] if grain_lies_across(scene, panel.id) else box
        longer = [r for r, size in zip(f.texture.repeat_mm, shown, strict=True) if r > size]
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
    """Hold the lay, where there is one, else the area of the cut pieces, against what is left; only a lay says yes."""
    found = []
    for f in scene.used():
        place = Place(f"all panels of {f.name}")
        area = scene.cut_mm2.get(f.id)
        width, left = f.usable_width.value, f.length_left.value
        if not f.owned:
            continue
        laid = scene.lays.get(f.id)
        if laid is not None and left is not None:
            found += _by_the_lay(f, place, laid, left)
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
                    about="the garment" if area is None else f.name,
                    missing="pattern pieces" if area is None else "width and length that are left",
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


def _by_the_lay(f: Fabric, place: Place, laid: Need, left: float) -> list[Finding]:
    """Hold the length of the lay that was found against what is left."""
    need = laid.length_mm / max(1 - laid.shrinkage_percent / 100, 0.01)
    on = f"on a usable width of {laid.width_mm / 10:g} cm"
    taken = f"; the cloth is {laid.note}" if laid.note else ""
    if need > left:
        return [
            Finding(
                "enough-cloth", Grade.WARN, place,
                f"the pieces as they lie take {need / 1000:.2f} m {on}, and {left / 1000:.2f} m are left{taken}",
                f"{left / 1000:.2f} m", "the lay that was found; a tighter one may exist",
                "Let it lie longer under 'Print and cut', use another cloth for one of these panels, or move a line.",
            )
        ]  # fmt: skip
    return [
        Finding(
            "enough-cloth", Grade.NOTE, place,
            f"the pieces as they lie take {need / 1000:.2f} m {on} of the {left / 1000:.2f} m that are left{taken}",
            f"{left / 1000:.2f} m", "the lay that was found", "It is enough: keep to this lay.",
        )
    ]  # fmt: skip
