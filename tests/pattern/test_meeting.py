"""Style seams that meet at the side seam."""

from dataclasses import replace

import numpy as np
import pytest
from tunic import half, level_line, split_of, view

from mockup.geometry import path as paths
from mockup.pattern.apply_split import CutSet, apply_split
from mockup.pattern.meeting import meetings
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from mockup.pattern.walk import MEET_MM, seam_letters, walk
from mockup.split.split import Split

HALF_WIDTH, NARROWER, HIGH = 300.0, 60.0, 600.0  # mm: hem of a half, how much it narrows, its height


def flared(front: dict[str, float], back: dict[str, float]) -> CutSet:
    """A front and a back with a straight flared side, cut by level lines: name → mm up along the side from the hem."""
    pieces, views = [], []
    for (side, other), lines in ((("front", "back"), front), (("back", "front"), back)):
        top = HALF_WIDTH - NARROWER
        edges = (
            Edge("hem", paths.polyline([(0, 0), (HALF_WIDTH, 0)]), EdgeKind.HEM, 20, start_name="hem", end_name="hem"),
            Edge("side", paths.polyline([(HALF_WIDTH, 0), (top, HIGH)]), EdgeKind.SEAM, 15, mate=f"{other}:side",
                 start_name="hem", end_name="underarm"),
            Edge("neck", paths.polyline([(top, HIGH), (0, HIGH)]), EdgeKind.SEAM, 10, start_name="neck",
                 end_name="neck"),
            Edge(f"centre-{side}", paths.polyline([(0, HIGH), (0, 0)]), EdgeKind.FOLD, start_name="neck",
                 end_name="hem"),
        )  # fmt: skip
        piece = Piece(side, edges, view=side, how=HowToCut.ON_FOLD)
        pieces.append(piece)
        drawn = [replace(level_line(piece, up, name=name), id=f"{side}-{name}") for name, up in lines.items()]
        views.append(view(piece, drawn))
    return apply_split(pieces, Split(tuple(views)))


def ends(cut: CutSet) -> set[tuple[str, str]]:
    return {(m.one, m.other) for m in meetings(cut.pieces)}


def test_of_three_panels_the_middle_ones_meet_above_and_below():
    found = flared({"hip": 150, "chest": 400}, {"hip": 150, "chest": 400})
    assert ends(found) == {(f"front panel {p}:{n}", f"back panel {p}:{n}")
                           for p, n in ((1, "hip"), (2, "hip"), (2, "chest"), (3, "chest"))}  # fmt: skip
    # Every line stands square to its fold, so each misses running on by twice the lean of the side (derived).
    lean = np.degrees(np.arctan(NARROWER / HIGH))
    by_panel = {m.across: [] for m in meetings(found.pieces)}
    for m in meetings(found.pieces):
        by_panel[m.across].append(m.angle_deg)
    assert sorted(by_panel["front panel 2:side"]) == pytest.approx([-2 * lean, 2 * lean], abs=1e-6)


def test_lines_of_one_name_at_different_heights_do_not_meet():
    # The front's hip and the back's hip, called alike, end 50 mm apart on the side; the chest lines meet.
    found = flared({"hip": 150, "chest": 400}, {"hip": 200, "chest": 400})
    assert ends(found) == {(f"front panel {p}:chest", f"back panel {p}:chest") for p in (2, 3)}


def test_lines_meet_by_their_place_and_not_by_their_name():
    # What is the upper line of the front is, by its name, the lower one of the back.
    found = flared({"band": 150, "hip": 400}, {"hip": 150, "yoke": 400})
    assert ends(found) == {
        ("front panel 1:band", "back panel 1:hip"),
        ("front panel 2:band", "back panel 2:hip"),
        ("front panel 2:hip", "back panel 2:yoke"),
        ("front panel 3:hip", "back panel 3:yoke"),
    }


def test_one_line_meets_the_upper_of_two():
    found = flared({"chest": 400}, {"hip": 150, "chest": 400})
    assert ends(found) == {("front panel 1:chest", "back panel 2:chest"), ("front panel 2:chest", "back panel 3:chest")}


def test_a_little_apart_still_meets():
    # Threads magazine 200 (2018): 1/8 in works for many.
    assert len(ends(flared({"hip": 150}, {"hip": 150 + MEET_MM - 0.1}))) == 2
    assert ends(flared({"hip": 150}, {"hip": 150 + MEET_MM + 0.1})) == set()


def test_a_side_cut_at_different_heights_is_walked_as_one_seam():
    # Whole, both sides are as long as the straight line from hem to underarm (derived): nothing is wrong with it.
    size = float(np.hypot(NARROWER, HIGH))
    found = flared({"hip": 150, "chest": 400}, {"hip": 200, "chest": 450})
    (row,) = [r for r in walk(found.pieces).rows if r.one[0].endswith(":side")]
    assert (len(row.one), len(row.other)) == (3, 3)
    assert (row.one_mm, row.other_mm) == pytest.approx((size, size), abs=1e-9)
    letters = seam_letters(found.pieces)
    assert len({letters[k] for k in (*row.one, *row.other)}) == 1


def test_a_side_that_is_too_long_is_still_told_part_by_part():
    found = flared({"hip": 150}, {"hip": 150})
    longer = [
        p.with_(edges=tuple(replace(e, path=paths.transformed(e.path, [[1, 0, 0], [0, 1.1, 0]])) for e in p.edges))
        if p.name == "back panel 2"
        else p
        for p in found.pieces
    ]
    rows = [r for r in walk(longer).rows if r.one[0].endswith(":side")]
    assert [r.difference_mm > MEET_MM for r in rows] == [False, True]


def test_notches_of_the_middle_panels_are_compared():
    found = flared({"hip": 150, "chest": 400}, {"hip": 150, "chest": 400})
    row = next(r for r in walk(found.pieces).rows if r.one == ("front panel 2:side",))
    assert row.notches_apart_mm is not None


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


def unnamed(cut: CutSet) -> list[Piece]:
    """The same pieces as a file without landmarks holds them."""
    return [p.with_(edges=tuple(replace(e, start_name="", end_name="") for e in p.edges)) for p in cut.pieces]


def test_without_landmarks_the_cuts_tell_the_way_round():
    lines = {"hip": 150, "chest": 400}
    found = flared(lines, lines)
    assert {(m.one, m.other) for m in meetings(unnamed(found))} == ends(found)
    # A lower line of one side meets nothing of the other, either way round; at half the height both ways would do.
    assert not meetings(unnamed(flared(lines, {"hip": 200, "chest": 400})))
    slant = np.hypot(NARROWER, HIGH)
    assert not meetings(unnamed(flared({"waist": slant / 2}, {"waist": slant / 2})))
