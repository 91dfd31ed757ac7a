"""Two small designs on the choir's tunic, the ones that every other design is made of.

* :data:`LEVEL`: a level line, square to the fold, at one distance down the side seam; front and back stay on the fold.
* :data:`CURVED`: a curve that is not symmetrical, carried from front to back; both are unfolded and cut in a single
  layer, right side up.
"""

from __future__ import annotations

from mockup.geometry import path as paths
from mockup.samples import draft
from mockup.stylelines.styleline import End, LineKind, StyleLine

LEVEL_FROM_UNDERARM_MM = 180.0
CURVED_FROM_UNDERARM_MM = {"left": 55.0, "right": 310.0}


def _level_height() -> float:
    """Height over the middle of the hem at which the level line leaves the side seam, mm."""
    side = draft.side_seam()
    return float(paths.point_at_distance(side, paths.length(side) - LEVEL_FROM_UNDERARM_MM)[1])


def _level(side: str, number: int) -> StyleLine:
    start = End("side", "underarm", LEVEL_FROM_UNDERARM_MM, text=f"{LEVEL_FROM_UNDERARM_MM:g} mm")
    end = End(f"centre-{side}", "hem", _level_height())
    carries = "line-1" if side == "back" else ""
    return StyleLine(
        f"line-{number}", "level line", side, LineKind.STRAIGHT, start, end, symmetric=True, carries=carries
    )


def _curved(side: str, number: int) -> StyleLine:
    start, end = (End("side", "underarm", mm, side=which) for which, mm in CURVED_FROM_UNDERARM_MM.items())
    through = ((0.42, 0.52), (-0.30, 0.30))
    carries = "line-1" if side == "back" else ""
    return StyleLine(f"line-{number}", "sweep", side, LineKind.CURVE, start, end, through, carries=carries)


LEVEL: tuple[StyleLine, ...] = (_level("front", 1), _level("back", 2))
CURVED: tuple[StyleLine, ...] = (_curved("front", 1), _curved("back", 2))
