"""How many layers of cloth lie on each other where seams meet.

Counted by hand: a plain seam has 2 layers pressed open
and 3 pressed to one side; a T 4 and 7; four panels at an underarm 4 and 9, and 7 where the seams nest; one more seam
into that cross 6 and 13.

The rule behind the counts: what is joined counts 1, and for each seam already in it one more where that seam is pressed
open (its two flaps lie on different sides of it), two where it is pressed to one side. Joining two such parts folds the
end of each back: over itself where the new seam is pressed open, both over the thicker part where it is pressed to one
side.
"""

from __future__ import annotations

from enum import StrEnum


class Pressed(StrEnum):
    """What becomes of the allowances at a junction. ``NESTED``: to one side, the seams that meet the opposite ways."""

    OPEN = "open"
    NESTED = "nested"
    ONE_WAY = "all one way"


def layers(one: int, other: int, pressed: Pressed) -> int:
    """Count the layers at the thickest place of a seam where other seams end in it.

    Args:
        one: seams that end here on one side of it; 0 for a plain seam.
        other: seams that end here on its other side.
        pressed: how all of them are pressed.

    Raises:
        ValueError: a negative number of seams.
    """
    if min(one, other) < 0:
        raise ValueError(f"seams cannot be fewer than none: {one}, {other}")
    each = 1 if pressed is Pressed.OPEN else 2
    thick, thin = (1 + each * n for n in (max(one, other), min(one, other)))
    if pressed is Pressed.OPEN:
        return 2 * thick
    return 2 * thick + (1 if pressed is Pressed.NESTED else thin)


def reach_mm(allowance_mm: float, facing_mm: float, pressed: Pressed) -> float:
    """How near to a junction a new seam must end to add to its layers, mm.

    The two facing allowances where seams are pressed open, its own where all are pressed one way.
    """
    return allowance_mm + facing_mm if pressed is Pressed.OPEN else allowance_mm
