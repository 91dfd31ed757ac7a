"""Bleed: a dark or strong colour beside a light one may run in the wash."""

from __future__ import annotations

import math

from mockup.checks.finding import Finding, Grade
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam


def bleed(scene: Scene) -> list[Finding]:
    """Judge every pair of cloths once, at their longest seam."""
    step, strong = scene.limits["bleed-lightness"], scene.limits["bleed-chroma"]
    found = []
    for seam, a, b in scene.pairs_once():
        dark, light = (a, b) if a.colour.lab[0] <= b.colour.lab[0] else (b, a)
        apart = light.colour.lab[0] - dark.colour.lab[0]
        chroma = math.hypot(*dark.colour.lab[1:])
        at_risk = apart > step.value or (apart > step.value / 2 and chroma > strong.value)
        if not at_risk or dark.bleeds.value is False:
            continue
        known = dark.bleeds.value is True
        found.append(
            Finding(
                "bleed",
                Grade.STOP if known else Grade.CANNOT_TELL,
                at_seam(scene, seam),
                f"{dark.name} {'bleeds' if known else 'was not tested'}; {light.name} is {apart:.0f} L* lighter",
                f"{step} apart",
                step.source,
                "Do not wash them together: choose another pair, or have it dry-cleaned if both cloths allow."
                if known
                else "Lay a damp scrap of it on white cloth overnight under a weight (laboratories: ISO 105-C06).",
                plain=f"{dark.name} {'bleeds' if known else 'may bleed'} onto {light.name}, which is much lighter",
                about="" if known else dark.name,
                missing="" if known else "whether it bleeds",
            )
        )
    return found
