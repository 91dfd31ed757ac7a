"""Stripes and checks meet, halves lie on the fold, faces stay up: shown by arithmetic on the placements."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from mockup.lay.exact import faults, off_grain, print_place, unmatched
from mockup.lay.folded import FOLDED, cloths_of, lay_folded, through_both
from mockup.lay.lay import Answer, Lay, LayPiece, Match, Placement, Scrap, laid, missing, points_placed
from mockup.lay.rows import CLOTH, cloth_of
from mockup.lay.scraps import lay_on_scraps
from mockup.lay.strip import lay_on_width
from swatches.errors import GeometryError, InputError

FRONT = ((0.0, 0.0), (260.0, 0.0), (240.0, 300.0), (0.0, 320.0))
BACK = ((0.0, 0.0), (250.0, 0.0), (250.0, 310.0), (20.0, 330.0))
# the underarm notch of each, at unlike heights of their own frames
MATCHED = (
    LayPiece("front", FRONT, count=2, mirror=True, match=Match("side", (250.0, 211.0))),
    LayPiece("back", BACK, count=2, mirror=True, match=Match("side", (5.0, 93.0))),
    LayPiece("pocket", ((0.0, 0.0), (120.0, 0.0), (120.0, 140.0), (0.0, 140.0)), count=2),
)
REPEAT = (60.0, 85.0)


def place_by_hand(piece: LayPiece, placement: Placement, repeat: tuple[float, float]) -> tuple[float, float]:
    """x and y of the matched point modulo the repeat, on cloth whose grain is upright; independent of the checker."""
    x, y = piece.match.at if piece.match else (0.0, 0.0)
    x = -x if placement.mirrored else x
    c, s = np.cos(np.radians(placement.angle)), np.sin(np.radians(placement.angle))
    return float((c * x - s * y + placement.x) % repeat[0]), float((s * x + c * y + placement.y) % repeat[1])


def near(a: float, b: float, repeat: float) -> bool:
    return abs((a - b + repeat / 2) % repeat - repeat / 2) < 1e-3


def test_checks_meet_at_the_notch_on_a_width() -> None:
    found = lay_on_width(MATCHED, 900, clearance_mm=2, repeat_mm=REPEAT, time_s=0)
    assert isinstance(found, Lay)
    assert found.answer is Answer.YES
    by_name = {p.name: p for p in MATCHED}
    mine = [p for p in found.placements if by_name[p.piece].match]
    assert len(mine) == 4
    places = [place_by_hand(by_name[p.piece], p, REPEAT) for p in mine]
    assert all(near(u, places[0][0], REPEAT[0]) and near(v, places[0][1], REPEAT[1]) for u, v in places)
    assert {p.angle for p in mine} == {0.0}
    cloth = cloth_of(900, found.length_mm or 0, repeat_mm=REPEAT)
    assert faults(by_name, {CLOTH: cloth}, found.placements, clearance_mm=2) == []
    plain = lay_on_width([replace(p, match=None) for p in MATCHED], 900, clearance_mm=2, time_s=0)
    assert isinstance(plain, Lay)
    assert (found.length_mm or 0) > (plain.length_mm or 0) - 1e-6, "matching costs cloth, it never saves it"


def test_stripes_meet_on_a_scrap_whose_grain_is_askew() -> None:
    corners = points_placed([(0, 0), (900, 0), (900, 760), (0, 760)], mirrored=False, angle=20, x=300, y=40)
    scrap = Scrap("rest", tuple(map(tuple, corners.tolist())), grain_deg=20, repeat_mm=(0.0, 85.0))
    found = lay_on_scraps(MATCHED, [scrap], clearance_mm=2, time_s=4)
    assert found.answer is Answer.YES
    by_name = {p.name: p for p in MATCHED}
    assert faults(by_name, {"rest": scrap}, found.placements, clearance_mm=2) == []
    along = np.array([-np.sin(np.radians(20)), np.cos(np.radians(20))])
    heights = []
    for p in found.placements:
        match = by_name[p.piece].match
        if match:
            at = points_placed([match.at], mirrored=p.mirrored, angle=p.angle, x=p.x, y=p.y)[0]
            heights.append(float(at @ along) % 85.0)
    assert all(near(h, heights[0], 85.0) for h in heights)


def test_prints_on_two_scraps_count_from_the_point_that_was_marked() -> None:
    square = ((0.0, 0.0), (360.0, 0.0), (360.0, 420.0), (0.0, 420.0))
    one = Scrap("one", square, repeat_mm=(0.0, 85.0), print_at=(0.0, 11.0))
    two = Scrap("two", square, repeat_mm=(0.0, 85.0), print_at=(0.0, 60.0))
    pieces = [replace(p, count=1, mirror=False) for p in MATCHED[:2]]
    found = lay_on_scraps(pieces, [one, two], time_s=4)
    assert found.answer is Answer.YES
    by_name, starts = {p.name: p for p in pieces}, {"one": 11.0, "two": 60.0}
    heights = [(place_by_hand(by_name[p.piece], p, (1e9, 1e9))[1] - starts[p.remnant]) % 85.0 for p in found.placements]
    assert near(heights[0], heights[1], 85.0)
    with pytest.raises(InputError, match="same point of the print"):
        lay_on_scraps(pieces, [one, replace(two, print_at=None)], time_s=1)


def test_a_print_that_does_not_meet_is_a_fault() -> None:
    cloth = Scrap("c", ((0, 0), (900, 0), (900, 900), (0, 900)), repeat_mm=(0.0, 85.0))
    pieces = {p.name: replace(p, count=1, mirror=False) for p in MATCHED[:2]}
    # front's notch is at y + 211, back's at y + 93: they meet when y differs by 118 modulo 85
    good = [Placement("front", "c", False, 0.0, 0.0, 0.0), Placement("back", "c", False, 0.0, 400.0, 118.0 - 85.0)]
    assert unmatched(pieces, {"c": cloth}, good) == []
    off = [good[0], replace(good[1], y=118.0 - 85.0 + 0.01)]
    assert "does not meet" in unmatched(pieces, {"c": cloth}, off)[0]
    assert print_place(pieces["front"], good[0], cloth) == (0.0, pytest.approx(211.0 % 85.0))
    assert any(
        "off its grain" in f for f in faults(pieces, {"c": cloth}, [replace(good[0], angle=180.0, x=500, y=500)])
    )


HALF = LayPiece("front", FRONT, fold=((0.0, 0.0), (0.0, 320.0)))
SLEEVE = LayPiece("sleeve", BACK, count=2, mirror=True)
FACING = LayPiece("facing", ((0.0, 0.0), (200.0, 0.0), (200.0, 70.0), (0.0, 70.0)))


@pytest.mark.parametrize(("nap", "border"), [(False, 0.0), (True, 10.0)])
def test_halves_lie_on_the_fold_and_pairs_through_both_layers(nap: bool, border: float) -> None:
    pieces = (HALF, replace(HALF, name="back", count=2), SLEEVE, FACING)
    found = lay_folded(pieces, 1000, clearance_mm=2, border_mm=border, nap=nap, time_s=1)
    assert isinstance(found, Lay)
    assert found.answer is Answer.YES
    by_name = {p.name: p for p in pieces}
    both, single = through_both(pieces)
    assert [p.name for p in single] == ["facing"]
    folded = [p for p in found.placements if p.remnant == FOLDED]
    assert missing(both, folded) == ()
    # opened out, the folded part is both layers: a half and its mirror image are one whole piece, and nothing overlaps
    layers = []
    for p in folded:
        shape = laid(by_name[p.piece], p)
        twin = affinity.scale(shape, xfact=-1, origin=(0, 0))
        if by_name[p.piece].fold:
            whole = shapely.union_all([shape, twin])
            assert whole.geom_type == "Polygon", "the halves do not touch along the fold"
            assert whole.area == pytest.approx(2 * Polygon(FRONT).area)
            layers.append(whole)
        else:
            assert shape.bounds[0] >= -1e-6
            layers += [shape, twin]
    assert all(a.intersection(b).area < 1e-3 for k, a in enumerate(layers) for b in layers[:k])
    assert all(-500 + border - 1e-6 <= s.bounds[0] and s.bounds[2] <= 500 - border + 1e-6 for s in layers)
    cloths = {c.name: c for c in cloths_of(found, pieces, 1000, border_mm=border, nap=nap)}
    laid_as = {p.name: p for p in (*both, *single)}
    assert faults(laid_as, cloths, found.placements, clearance_mm=2, border_mm=border) == []
    assert found.length_mm == pytest.approx(
        sum(max(y for _, y in c.outline) for c in cloths.values()), abs=border + 1e-6
    )


def test_a_half_off_the_fold_or_on_a_single_layer_is_a_fault() -> None:
    cloth = Scrap("c", ((0, 0), (500, 0), (500, 900), (0, 900)), folded=True)
    good = Placement("front", "c", False, 0.0, 0.0, 5.0)
    assert faults({"front": HALF}, {"c": cloth}, [good]) == []
    assert "fold" in faults({"front": HALF}, {"c": cloth}, [replace(good, x=0.01)])[0]
    assert "fold" in faults({"front": HALF}, {"c": replace(cloth, folded=False)}, [good])[0]
    with pytest.raises(InputError, match="on the fold"):
        lay_on_width([HALF], 900)
    wide = lay_folded([replace(HALF, name="wide")], 400)
    assert isinstance(wide, Lay)
    assert wide.answer is Answer.NO
    assert wide.short_mm == pytest.approx(60.0)


@pytest.mark.parametrize("fold", [((0, 0), (260, 0)), ((10, 0), (10, 300)), ((0, 0), (0, 0))])
def test_a_fold_that_is_no_edge_or_off_the_grain_is_refused(fold: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(GeometryError, match="fold"):
        lay_folded([LayPiece("p", FRONT, fold=fold)], 1000)  # type: ignore[arg-type]


def test_what_must_lie_right_side_up_is_never_turned_over() -> None:
    # a triangle and a room that is its mirror image: it fits only turned over
    wedge = ((0.0, 0.0), (200.0, 0.0), (0.0, 90.0))
    room = Scrap("room", ((0.0, 0.0), (203.0, 0.0), (203.0, 93.0)))
    piece = LayPiece("wedge", wedge, turns=(0.0,))
    assert lay_on_scraps([piece], [room], time_s=1).answer is Answer.NO
    either = replace(piece, either=True)
    found = lay_on_scraps([either], [room], time_s=2)
    assert found.answer is Answer.YES
    assert found.placements[0].mirrored
    assert "turned over" in faults({"wedge": piece}, {"room": room}, found.placements)[0]


def test_a_piece_that_may_lie_across_the_grain_is_laid_so_and_told() -> None:
    band = LayPiece("band", ((0.0, 0.0), (60.0, 0.0), (60.0, 500.0), (0.0, 500.0)), turns=(0.0, 90.0, 180.0, 270.0))
    scrap = Scrap("strip", ((0.0, 0.0), (520.0, 0.0), (520.0, 70.0), (0.0, 70.0)))
    found = lay_on_scraps([band], [scrap], time_s=1)
    assert found.answer is Answer.YES
    assert "across the grain" in off_grain({"band": band}, {"strip": scrap}, found.placements)[0]
