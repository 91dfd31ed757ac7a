"""Show-through: a dark allowance can show as a shadow under pale, thin cloth."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam


def show_through(scene: Scene) -> list[Finding]:
    """Judge every pale cloth beside a darker one, once a pair."""
    pale, step = scene.limits["pale"], scene.limits["show-through"]
    found = []
    for seam, a, b in scene.pairs_once():
        dark, light = (a, b) if a.colour.lab[0] <= b.colour.lab[0] else (b, a)
        apart = light.colour.lab[0] - dark.colour.lab[0]
        if light.colour.lab[0] < pale.value or apart < step.value or light.show_through.value is False:
            continue
        known = light.show_through.value is True
        found.append(
            Finding(
                "show-through",
                Grade.WARN if known else Grade.CANNOT_TELL,
                at_seam(scene, seam),
                f"{light.name} {'lets things show' if known else 'was not held over a dark cloth yet'}; "
                f"{dark.name} is {apart:.0f} L* darker",
                f"{step}",
                step.source,
                "Press the allowance toward the dark cloth, or underline the pale one."
                if known
                else f"Hold {light.name} over {dark.name}: if a shadow shows, underline it or press toward the dark.",
                plain=f"{dark.name} shows through {light.name}",
                about="" if known else light.name,
                missing="" if known else f"whether {dark.name} shows through it",
            )
        )
    return found
