"""Places for drawings that share a sheet on the screen: rows, in their order."""

from __future__ import annotations

import math
from collections.abc import Sequence

APART_MM = 25.0


def in_rows(boxes: Sequence[tuple[float, float, float, float]]) -> list[tuple[float, float]]:
    """Place boxes in rows on a sheet about as wide as high.

    Args:
        boxes: (min x, min y, max x, max y) in mm, y up.

    Returns:
        For every box how far it is moved: (x to the right, y **down**), so that no two overlap; one box stays.
    """
    if len(boxes) == 1:
        return [(0.0, 0.0)]
    area = sum((right - left + APART_MM) * (high - low + APART_MM) for left, low, right, high in boxes)
    width = max(1.2 * math.sqrt(area), *(right - left for left, _, right, _ in boxes))
    moves, x, y, row = [], 0.0, 0.0, 0.0
    for left, low, right, high in boxes:
        if x > 0 and x + right - left > width:
            x, y, row = 0.0, y + row + APART_MM, 0.0
        moves.append((round(x - left, 3), round(y + high, 3)))
        x, row = x + right - left + APART_MM, max(row, high - low)
    return moves
