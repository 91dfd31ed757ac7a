"""Run all checks on one choice. A new check is one function of a scene, and a line here."""

from __future__ import annotations

from collections.abc import Callable

from mockup.checks.bleed import bleed
from mockup.checks.care import care
from mockup.checks.cautions import cautions
from mockup.checks.cloth import enough_cloth, nap, repeat
from mockup.checks.contrast import contrast
from mockup.checks.finding import ORDER, Finding, Grade
from mockup.checks.lines import bulk, kink, sliver, tight_curve
from mockup.checks.scene import Scene
from mockup.checks.show_through import show_through
from mockup.checks.shrinkage import shrinkage
from mockup.checks.stretch import stretch
from mockup.checks.weight import weight

CHECKS: tuple[Callable[[Scene], list[Finding]], ...] = (
    bulk,
    tight_curve,
    kink,
    sliver,
    enough_cloth,
    weight,
    stretch,
    shrinkage,
    bleed,
    care,
    show_through,
    nap,
    repeat,
    contrast,
    cautions,
)


def check(scene: Scene) -> tuple[Finding, ...]:
    """Run every check; the most serious findings first, within a grade in the order of :data:`CHECKS`."""
    found = [finding for one in CHECKS for finding in one(scene)]
    return tuple(sorted(found, key=lambda f: ORDER.index(f.grade)))


def forbidden(findings: tuple[Finding, ...]) -> bool:
    """Whether any finding stops the work."""
    return any(f.grade is Grade.STOP for f in findings)
