"""Shrinkage: two sides of one seam must shrink alike, or the garment puckers after its first wash."""

from __future__ import annotations

from mockup.checks.cloth import grain_lies_across
from mockup.checks.finding import Finding, Grade
from mockup.checks.scene import Scene, Seam
from mockup.checks.words import at_seam, not_known
from mockup.split.words import tenths
from swatches.fabric import Fabric


def shrinkage(scene: Scene) -> list[Finding]:
    """Judge every seam between two cloths by how many mm its sides shrink apart."""
    warn, stop = scene.limits["shrinkage-warn"], scene.limits["shrinkage-stop"]
    found = []
    asked = set()
    for seam, a, b in scene.pairs():
        rates = [_percent(scene, seam, side, f) for side, f in ((seam.a, a), (seam.b, b))]
        for f, rate in zip((a, b), rates, strict=True):
            if rate is None and f.id not in asked:
                asked.add(f.id)
                found.append(
                    not_known(
                        "shrinkage",
                        at_seam(scene, seam),
                        f,
                        "shrinkage",
                        warn,
                        "Wash a square of 20 cm as you will wash the garment, and measure it; "
                        "or wash all cloth before cutting.",
                    )
                )
        if rates[0] is None or rates[1] is None:
            continue
        apart = abs(rates[0] - rates[1]) / 100 * seam.length_mm
        if apart <= warn.value:
            continue
        found.append(
            Finding(
                "shrinkage",
                Grade.STOP if apart > stop.value else Grade.WARN,
                at_seam(scene, seam),
                f"{tenths(apart)} apart after washing, on a seam of {seam.length_mm:.0f} mm",
                f"{stop if apart > stop.value else warn}",
                warn.source,
                "Wash both cloths before cutting, as the garment will be washed.",
            )
        )
    return found


def _percent(scene: Scene, seam: Seam, panel_id: str, fabric: Fabric) -> float | None:
    """Shrinkage along the seam: of the length where seam and grain run the same way, of the width across it."""
    if fabric.prewashed.value:
        return 0.0
    along_length = seam.upright is not grain_lies_across(scene, panel_id)
    return (fabric.shrinkage_length if along_length else fabric.shrinkage_width).value
