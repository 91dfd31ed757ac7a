"""Thickness: a thick cloth beside a thin one feeds unevenly and stands off along the seam."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam, not_known


def thickness(scene: Scene) -> list[Finding]:
    """Judge every pair of cloths once, at their longest seam."""
    limit = scene.limits["thickness-ratio"]
    found: list[Finding] = []
    asked: set[str] = set()
    for seam, a, b in scene.pairs_once():
        silent = [f for f in (a, b) if f.thickness.value is None]
        for f in silent:
            if f.id not in asked:
                asked.add(f.id)
                found.append(
                    not_known(
                        "thickness",
                        at_seam(scene, seam),
                        f,
                        "thickness",
                        limit,
                        "Fold it to eight layers, press them with a ruler, and divide by eight.",
                    )
                )
        if silent:
            continue
        thick, thin = (a, b) if (a.thickness.value or 0) >= (b.thickness.value or 0) else (b, a)
        ratio = (thick.thickness.value or 0.0) / max(thin.thickness.value or 0.0, 1e-6)
        if ratio <= limit.value:
            continue
        found.append(
            Finding(
                "thickness",
                Grade.NOTE,
                at_seam(scene, seam),
                f"{thick.name} is {ratio:.1f} times as thick as {thin.name}",
                f"{limit}",
                limit.source,
                f"Sew with {thick.name} underneath, baste first, and press the allowance toward {thin.name} where "
                "nothing shows through.",
            )
        )
    return found
