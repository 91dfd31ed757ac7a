"""Style seams that meet at the side seam."""

import numpy as np
import pytest
from tunic import half, level_line, split_of, view

from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.pattern.meeting import meetings
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from mockup.split.split import Split


def test_level_lines_on_a_flared_side_meet_in_a_shallow_v():
    # A straight side that leans by atan(60/400): a line square to the fold meets it at 90° ± that angle on either
    # piece, so below the line the two inner angles miss 180° by twice the angle (derived).
    lean = np.degrees(np.arctan(60 / 400))
    pieces = []
    for side, other in (("front", "back"), ("back", "front")):
        edges = (
            Edge("hem", paths.polyline([(0, 0), (300, 0)]), EdgeKind.HEM, 20, start_name="hem", end_name="hem"),
            Edge("side", paths.polyline([(300, 0), (240, 400)]), EdgeKind.SEAM, 15, mate=f"{other}:side",
                 start_name="hem", end_name="underarm"),
            Edge("neck", paths.polyline([(240, 400), (0, 400)]), EdgeKind.SEAM, 10, start_name="neck", end_name="neck"),
            Edge(f"centre-{side}", paths.polyline([(0, 400), (0, 0)]), EdgeKind.FOLD, start_name="neck",
                 end_name="hem"),
        )  # fmt: skip
        pieces.append(Piece(side, edges, view=side, how=HowToCut.ON_FOLD))
    views = [view(p, [level_line(p, 200)]) for p in pieces]
    cut = apply_split(pieces, Split(tuple(views)))
    found = meetings(cut.pieces)
    assert len(found) == 2  # above and below the line
    angles = sorted(m.angle_deg for m in found)
    assert angles == pytest.approx([-2 * lean, 2 * lean], abs=1e-6)
    assert {m.across.partition(":")[2] for m in found} == {"side"}


def test_seams_that_do_not_meet_another_are_left_out():
    piece = half()
    cut = apply_split([piece, half("back")], split_of(view(piece, [level_line(piece, 200)])))
    assert meetings(cut.pieces) == ()
