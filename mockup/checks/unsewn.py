"""Seams of the picture that the pattern does not have: two cloths there cannot be cut from one piece."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.scene import Scene
from mockup.checks.words import cloths, panel_words
from mockup.pattern.one_piece import ADVICE


def unsewn(scene: Scene) -> list[Finding]:
    """Find panels of different cloth that fall into one cut piece, one finding a piece."""
    found = []
    for piece in scene.shared:
        given = [(p, scene.fabric(p)) for p in piece.panels if p in scene.panels]
        used = [(p, fabric) for p, fabric in given if fabric is not None]
        if len({fabric.id for _, fabric in used}) < 2:
            continue
        first = used[0]
        other = next(one for one in used if one[1].id != first[1].id)
        seam = next((s for s in scene.seams if {s.a, s.b} == {first[0], other[0]}), None)
        words = f"{panel_words(scene, first[0])} and {panel_words(scene, other[0])}"
        found.append(
            Finding(
                "one-piece",
                Grade.STOP,
                Place(words, seam.view, seam.point) if seam else Place(words),
                f"the seam between them is not in your pattern: {cloths(first[1], other[1])} would fall into one "
                f"piece, {piece.name}",
                "one cloth a piece",
                "derived",
                ADVICE,
            )
        )
    return found
