"""What a line costs before it is cut: seams, length of seam, and cloth for the allowances."""

from __future__ import annotations

from dataclasses import dataclass

from mockup.geometry import path as paths
from mockup.geometry.path import Path


@dataclass(frozen=True, slots=True)
class Cost:
    """Cost of new lines.

    Attributes:
        seams: how many seams are added; a symmetrical line is one.
        seam_cm: their length together.
        cloth_cm2: cloth that their allowances take. The two allowances of a curve differ, and their sum is exactly
            twice the width times the length (the area of a strip is Lw ± θw²/2).
    """

    seams: int
    seam_cm: float
    cloth_cm2: float

    def __add__(self, other: Cost) -> Cost:
        """Cost of both."""
        return Cost(self.seams + other.seams, self.seam_cm + other.seam_cm, self.cloth_cm2 + other.cloth_cm2)


NO_SEAM = Cost(0, 0.0, 0.0)


def cost(path: Path, allowance_mm: float, *, applied: bool = False) -> Cost:
    """Cost of one placed line.

    Args:
        path: the whole line in mm.
        allowance_mm: seam allowance on each of its two sides.
        applied: whether what it encloses is applied on top: then the cloth below stays whole, so what is taken
            besides is the patch itself, with one allowance turned in around it.
    """
    size = paths.length(path)
    if applied and path.closed:
        return Cost(1, size / 10, (abs(paths.signed_area(path)) + allowance_mm * size) / 100)
    return Cost(1, size / 10, 2 * allowance_mm * size / 100)
