"""Weight: a heavier cloth strains a lighter one that it hangs from; lighter below heavier is fine."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam, not_known


def weight(scene: Scene) -> list[Finding]:
    """Judge every seam between two cloths by gravity in the picture."""
    hang, beside = scene.limits["weight-ratio"], scene.limits["weight-beside"]
    found = []
    unknown = set()
    for seam, a, b in scene.pairs():
        silent = [f for f in (a, b) if f.weight.value is None]
        if silent:
            for f in silent:
                if f.id not in unknown:
                    unknown.add(f.id)
                    found.append(
                        not_known(
                            "weight",
                            at_seam(scene, seam),
                            f,
                            "weight",
                            hang,
                            "Weigh the swatch: grams divided by its area in square metres gives g/m².",
                        )
                    )
            continue
        wa, wb = a.weight.value or 0.0, b.weight.value or 0.0
        heavy, light = (a, b) if wa >= wb else (b, a)
        ratio = max(wa, wb) / min(wa, wb)
        above = seam.upper and (a if seam.upper == seam.a else b)
        hangs = above is light
        limit = hang if hangs else beside
        if above is heavy or ratio <= limit.value:
            continue
        found.append(
            Finding(
                "weight",
                Grade.WARN if hangs else Grade.NOTE,
                at_seam(scene, seam),
                f"{heavy.name} is {ratio:.1f} times as heavy as {light.name}",
                f"{limit} for {limit.words}",
                limit.source,
                f"Underline {light.name}, stay the seam with tape, or put the heavier cloth above."
                if hangs
                else f"Sew a sample; interface {light.name} along the seam if it puckers.",
            )
        )
    return found
