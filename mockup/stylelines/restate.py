"""Lines when a length becomes known: they keep their places on the garment, and their figures are restated.

A line that was drawn over a picture whose scale was a guess was put where it looked right. So when one length of the
garment is measured, the picture is what counts: every distance is stated anew by the true scale, and what was typed
while lengths were guesses is no longer shown as typed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from mockup.stylelines.carry import keep_together
from mockup.stylelines.styleline import End, StyleLine


def restated(lines: Sequence[StyleLine], factors: Mapping[str, float], first: str) -> tuple[StyleLine, ...]:
    """State the distances of lines by another scale.

    Args:
        lines: all lines.
        factors: 'front' or 'back' → new mm for each old mm on that side; a side that is left out stays.
        first: the side that was measured; where lines meet at a shared seam, the other side follows it.

    Returns:
        The lines in the same order, at the same places of their pictures. Where front and back are tied to each other
        and their scales changed differently, the lines of the other side move so that they still meet.
    """

    def stated(end: End, factor: float) -> End:
        return replace(end, distance_mm=end.distance_mm * factor, text="")

    new = tuple(
        line
        if (factor := factors.get(line.side, 1.0)) == 1.0
        else replace(line, start=stated(line.start, factor), end=stated(line.end, factor))
        for line in lines
    )
    for line in lines:
        if line.side == first:
            new = keep_together(new, line.id)
    return new
