"""Run all checks on one choice. A new check is one function of a scene, and a line here."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from mockup.checks.bleed import bleed
from mockup.checks.care import care
from mockup.checks.cautions import cautions
from mockup.checks.cloth import enough_cloth, face, nap, repeat
from mockup.checks.contrast import contrast
from mockup.checks.corners import inner_corner, kink
from mockup.checks.crossings import closure, pocket
from mockup.checks.ends import bulk, v_tip
from mockup.checks.finding import ORDER, Finding, Grade
from mockup.checks.lines import sliver, tight_curve
from mockup.checks.order import layers_at_junctions, sewing_order
from mockup.checks.scene import Scene
from mockup.checks.sewn_in import sewn_in
from mockup.checks.show_through import show_through
from mockup.checks.shrinkage import shrinkage
from mockup.checks.stretch import stretch, stretch_apart, stretch_needed
from mockup.checks.thickness import thickness
from mockup.checks.unsewn import unsewn
from mockup.checks.walked import walk
from mockup.checks.weight import weight

OF_LINES: tuple[Callable[[Scene], list[Finding]], ...] = (
    bulk,
    v_tip,
    tight_curve,
    kink,
    inner_corner,
    sewing_order,
    pocket,
    closure,
    sewn_in,
    sliver,
)
"""Checks that look at lines and panels alone, whatever the cloth."""
OF_CLOTH: tuple[Callable[[Scene], list[Finding]], ...] = (
    unsewn,
    layers_at_junctions,
    walk,
    enough_cloth,
    weight,
    thickness,
    stretch,
    stretch_apart,
    stretch_needed,
    shrinkage,
    bleed,
    care,
    show_through,
    nap,
    face,
    repeat,
    contrast,
    cautions,
)
CHECKS = (*OF_LINES, *OF_CLOTH)


def check(scene: Scene) -> tuple[Finding, ...]:
    """Run every check; the most serious findings first, within a grade in the order of :data:`CHECKS`.

    What lines alone decide is remembered, so that a change of cloth costs the checks of cloth only.
    """
    found = [*_of_lines(_SameLines(scene)), *(finding for one in OF_CLOTH for finding in one(scene))]
    return tuple(sorted(found, key=lambda f: ORDER.index(f.grade)))


def forbidden(findings: tuple[Finding, ...]) -> bool:
    """Whether any finding stops the work."""
    return any(f.grade is Grade.STOP for f in findings)


class _SameLines:
    """A scene by what the checks of lines look at: equal to another one that differs from it in cloth alone."""

    __slots__ = ("_key", "scene")

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        limits = tuple((name, limit.value, limit.source) for name, limit in scene.limits.items())
        # One frame is shared by all choices of a garment (see frame_of), so its parts are told by identity; this
        # object keeps them alive, so an identity is not given out again.
        parts = (id(scene.panels), id(scene.placed), scene.allowance_mm, scene.project.closures, scene.project.details)
        self._key = (*parts, tuple(id(v) for v in scene.views), limits)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _SameLines) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@lru_cache(maxsize=16)
def _of_lines(same: _SameLines) -> tuple[Finding, ...]:
    return tuple(finding for one in OF_LINES for finding in one(same.scene))
