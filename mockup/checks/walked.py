"""Walk of the seams: the two sides of every seam of the cut pieces, compared on their stitch lines."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.scene import Scene
from mockup.split.words import edge_said, tenths


def walk(scene: Scene) -> list[Finding]:
    """Judge the differences that :func:`mockup.pattern.walk.walk` measured on the pieces."""
    if scene.walked is None:
        if not scene.placed:
            return []
        return [
            Finding(
                "walk",
                Grade.CANNOT_TELL,
                Place("the whole garment"),
                "the pieces are not known, so their seams cannot be compared",
                str(scene.limits["walk-warn"]),
                scene.limits["walk-warn"].source,
                "Add the pattern pieces, and a length that you know.",
                about="the garment",
                missing="pattern pieces",
            )
        ]
    warn, stop = scene.limits["walk-warn"], scene.limits["walk-stop"]
    found = []
    for row in scene.walked.rows:
        if row.difference_mm <= warn.value:
            continue
        limit = stop if row.difference_mm > stop.value else warn
        found.append(
            Finding(
                "walk",
                Grade.STOP if limit is stop else Grade.WARN,
                Place(f"{_edges(row.one)} and {_edges(row.other)}"),
                f"the two sides differ by {tenths(row.difference_mm)} ({row.one_mm:.0f} and {row.other_mm:.0f} mm)",
                f"{limit}",
                limit.source,
                "Move an end of the line, or say that the longer side is eased in.",
            )
        )
    for sentence in scene.walked.unmatched:
        found.append(
            Finding(
                "walk",
                Grade.CANNOT_TELL,
                Place("the pattern pieces"),
                sentence.rstrip("."),
                str(warn),
                warn.source,
                "Add the missing piece, or take the mate away.",
                about="the garment",
                missing="the mate of a seam",
            )
        )
    return found


def _edges(keys: tuple[str, ...]) -> str:
    """'side of front lower, side of front yoke' for ('front lower:side', 'front yoke:side')."""
    said = []
    for key in keys:
        piece, _, edge = key.rpartition(":")
        said.append(f"{edge_said(edge)} of {piece}")
    return ", ".join(said)
