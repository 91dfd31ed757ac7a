"""Stretch: a cloth that gives beside one that does not."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade
from mockup.checks.limits import PRACTICE
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam

_LIMIT = "both woven, or both knitted"


def stretch(scene: Scene) -> list[Finding]:
    """Judge every pair of cloths once by how they are made."""
    found = []
    seen = set()
    for seam, a, b in scene.pairs():
        pair = frozenset((a.id, b.id))
        if pair in seen:
            continue
        seen.add(pair)
        silent = [f.name for f in (a, b) if f.structure.value is None]
        if silent:
            found.append(
                Finding(
                    "stretch",
                    Grade.CANNOT_TELL,
                    at_seam(scene, seam),
                    f"not known whether {silent[0]} is woven or knitted",
                    _LIMIT,
                    PRACTICE,
                    "Pull it along and across: a knit gives at least one way.",
                )
            )
        elif (a.structure.value == "knit") is not (b.structure.value == "knit"):
            found.append(
                Finding(
                    "stretch",
                    Grade.WARN,
                    at_seam(scene, seam),
                    f"{a.name} is {a.structure.value}, {b.name} {b.structure.value}",
                    _LIMIT,
                    PRACTICE,
                    "Sew a sample; stay the seam with tape and use a stitch that gives.",
                )
            )
    return found
