"""Contrast: neighbours that look alike hide the line, and a line told only by hue is hidden from some viewers."""

from __future__ import annotations

from functools import lru_cache

from mockup.checks.finding import Finding, Grade
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam
from swatches.colour import delta_e_2000, lab_to_linear
from swatches.fabric import Lab

_LUMINANCE = (0.2126, 0.7152, 0.0722)  # linear sRGB to Y, IEC 61966-2-1


@lru_cache(maxsize=4096)
def _difference(one: Lab, other: Lab) -> float:
    """CIEDE2000 difference of two colours; remembered, since a choice changes one cloth at a time."""
    return float(delta_e_2000(one, other))


@lru_cache(maxsize=4096)
def luminance_ratio(one: Lab, other: Lab) -> float:
    """WCAG 2.2 contrast ratio of two colours, 1 to 21."""
    lit = sorted(float(sum(w * c for w, c in zip(_LUMINANCE, lab_to_linear(lab), strict=True))) for lab in (one, other))
    return (max(lit[1], 0.0) + 0.05) / (max(lit[0], 0.0) + 0.05)


def contrast(scene: Scene) -> list[Finding]:
    """Judge every pair of cloths once, at their longest seam."""
    least, ratio_limit = scene.limits["contrast"], scene.limits["luminance-ratio"]
    found = []
    for seam, a, b in scene.pairs_once():
        difference = _difference(a.colour.lab, b.colour.lab)
        doubt = (a.colour.expected_delta_e**2 + b.colour.expected_delta_e**2) ** 0.5
        ratio = luminance_ratio(a.colour.lab, b.colour.lab)
        if difference < least.value:
            found.append(
                Finding(
                    "contrast",
                    Grade.NOTE,
                    at_seam(scene, seam),
                    f"the cloths differ by {difference:.1f} ΔE00 (give or take {doubt:.1f})",
                    f"{least}",
                    least.source,
                    "The line may hardly show: choose a lighter or darker neighbour, or topstitch the seam.",
                    plain=f"{a.name} and {b.name} look much alike",
                )
            )
        elif ratio < ratio_limit.value:
            found.append(
                Finding(
                    "contrast",
                    Grade.NOTE,
                    at_seam(scene, seam),
                    f"light against dark only {ratio:.1f} : 1",
                    f"{ratio_limit}",
                    ratio_limit.source,
                    "Some people will see this line by its hue alone or not at all; look at the grey preview.",
                    plain=f"{a.name} and {b.name} differ by hue more than by light and dark",
                )
            )
    return found
