"""How findings name panels, seams and cloths."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.limits import Limit
from mockup.checks.scene import Scene, Seam
from swatches.fabric import Fabric


def panel_words(scene: Scene, panel_id: str) -> str:
    """Name a panel: 'panel 3 (yoke)'."""
    panel = scene.panels[panel_id]
    side = f", wearer's {panel.side}" if panel.side else ""
    return f"panel {panel.number} ({panel.name}{side})"


def at_seam(scene: Scene, seam: Seam) -> Place:
    """Place a finding on a seam."""
    return Place(f"{panel_words(scene, seam.a)} and {panel_words(scene, seam.b)}", seam.view, seam.point)


def cloths(*fabrics: Fabric) -> str:
    """Name cloths: 'the oat wool and the check'."""
    names = list(dict.fromkeys(f.name for f in fabrics))
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def not_known(code: str, place: Place, fabric: Fabric, what: str, limit: Limit, advice: str) -> Finding:
    """Say that a check cannot tell because something of a cloth is not known."""
    return Finding(
        code,
        Grade.CANNOT_TELL,
        place,
        f"{what} of {fabric.name} is not known",
        str(limit),
        limit.source,
        advice,
        about=fabric.name,
        missing=what,
    )
