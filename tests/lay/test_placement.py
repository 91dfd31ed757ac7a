"""What a placement means, and that the exact check finds every kind of fault."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from mockup.lay.exact import faults, off_grain
from mockup.lay.lay import (
    LayPiece,
    Placement,
    Scrap,
    allowed_turns,
    angle_of,
    copies,
    laid,
    missing,
    points_placed,
)
from mockup.lay.valid import checked
from swatches.errors import GeometryError, InputError

L_SHAPE = ((0.0, 0.0), (150.0, 0.0), (150.0, 40.0), (50.0, 40.0), (50.0, 200.0), (0.0, 200.0))
SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
SCRAP = Scrap("scrap", ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)))


def test_a_placement_mirrors_then_turns_counter_clockwise_then_moves() -> None:
    # worked by hand: (150, 0) mirrored is (−150, 0), turned by 90° is (0, −150), moved is (10, −130)
    placed = points_placed([(150.0, 0.0)], mirrored=True, angle=90.0, x=10.0, y=20.0)
    assert placed.tolist() == [[10.0, -130.0]]


@given(st.booleans(), st.floats(-720, 720), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_placing_agrees_with_shapely(mirrored: bool, angle: float, x: float, y: float) -> None:
    # outside reference: shapely.affinity, its own rotation about the origin, counter-clockwise
    shape = Polygon(L_SHAPE)
    if mirrored:
        shape = affinity.scale(shape, -1, 1, origin=(0, 0))
    shape = affinity.translate(affinity.rotate(shape, angle, origin=(0, 0)), x, y)
    ours = points_placed(L_SHAPE, mirrored=mirrored, angle=angle, x=x, y=y)
    assert np.allclose(ours, np.array(shape.exterior.coords)[:-1], atol=1e-9)


@given(st.floats(-180, 180), st.floats(-180, 180), st.sampled_from([0.0, 90.0, 180.0]), st.booleans())
def test_the_grain_of_a_placed_piece_is_the_cloths_grain_plus_the_turn(
    piece_grain: float, scrap_grain: float, turn: float, mirrored: bool
) -> None:
    piece = LayPiece("p", SQUARE, grain_deg=piece_grain)
    angle = angle_of(piece, scrap_grain, turn, mirrored=mirrored)
    a = np.radians(piece_grain)
    arrow = points_placed([(-np.sin(a), np.cos(a))], mirrored=mirrored, angle=angle, x=0, y=0)[0]
    expected = np.radians(scrap_grain + turn)
    assert np.allclose(arrow, (-np.sin(expected), np.cos(expected)), atol=1e-9)


def test_half_of_a_mirrored_count_is_mirrored() -> None:
    assert copies(LayPiece("p", SQUARE, count=4, mirror=True)) == (False, False, True, True)
    assert copies(LayPiece("p", SQUARE, count=3, mirror=True)) == (False, False, True)
    assert copies(LayPiece("p", SQUARE, count=2)) == (False, False)


def test_one_way_cloth_allows_no_turn_by_half() -> None:
    piece = LayPiece("p", SQUARE, turns=(0.0, 90.0, 180.0, 270.0))
    assert allowed_turns(piece, nap=True) == (0.0, 90.0)
    assert allowed_turns(piece, nap=False) == (0.0, 90.0, 180.0, 270.0)


def spot(x: float, y: float, *, piece: str = "p", angle: float = 0.0) -> Placement:
    return Placement(piece, "scrap", False, angle, x, y)


@pytest.mark.parametrize(
    ("placements", "clearance", "border", "word"),
    [
        ([spot(0, 0), spot(100, 0)], 0, 0, ""),
        ([spot(0, 0), spot(99.9, 0)], 0, 0, "overlap"),
        ([spot(0, 0), spot(101.9, 0)], 2, 0, "clearance"),
        ([spot(0, 0), spot(102, 0)], 2, 0, ""),
        ([spot(-0.1, 0)], 0, 0, "edge"),
        ([spot(4.9, 5)], 0, 5, "edge"),
        ([spot(5, 5)], 0, 5, ""),
        ([spot(100, 0, angle=90.0)], 0, 0, "grain"),
        ([spot(0, 0), spot(0, 0)], 0, 0, "overlap"),
    ],
)
def test_the_exact_check_finds_each_fault(
    placements: list[Placement], clearance: float, border: float, word: str
) -> None:
    piece = LayPiece("p", SQUARE)
    found = faults({"p": piece}, {"scrap": SCRAP}, placements, clearance_mm=clearance, border_mm=border)
    assert (word in " ".join(found)) if word else not found


def test_a_piece_over_a_hole_is_a_fault_and_one_beside_it_is_none() -> None:
    holed = Scrap("scrap", SCRAP.outline, holes=(((100.0, 100.0), (120.0, 100.0), (110.0, 120.0)),))
    piece = LayPiece("p", SQUARE)
    assert faults({"p": piece}, {"scrap": holed}, [spot(60, 60)])
    assert not faults({"p": piece}, {"scrap": holed}, [spot(0, 0)])
    assert laid(piece, spot(0, 0)).area == pytest.approx(10_000)


def test_what_is_left_out_is_named_and_a_right_hand_is_no_left_hand() -> None:
    piece = LayPiece("p", SQUARE, count=2, mirror=True)
    assert missing([piece], [spot(0, 0), spot(100, 0)]) == ("p",)
    assert missing([piece], [spot(0, 0), Placement("p", "scrap", True, 0, 300, 0)]) == ()


@pytest.mark.parametrize(
    ("piece", "error", "word"),
    [
        (LayPiece("p", ((0, 0), (10, 10), (10, 0), (0, 10))), GeometryError, "cross"),
        (LayPiece("p", ((0, 0), (10, 10), (20, 20))), GeometryError, "outline"),
        (LayPiece("p", ((0, 0), (10, 10))), GeometryError, "points"),
        (LayPiece("p", ((0, 0), (10, 0), (float("nan"), 10))), GeometryError, "mm"),
        (LayPiece("p", SQUARE, count=0), InputError, "count"),
        (LayPiece("p", SQUARE, turns=()), InputError, "turn"),
        (LayPiece("p", SQUARE, grain_deg=float("inf")), InputError, "grain"),
    ],
)
def test_a_piece_that_cannot_be_laid_is_refused_in_one_sentence(
    piece: LayPiece, error: type[InputError], word: str
) -> None:
    with pytest.raises(error, match=word) as caught:
        checked([piece])
    assert "\n" not in str(caught.value)


def test_scraps_need_cloth_and_names_of_their_own() -> None:
    with pytest.raises(GeometryError, match="holes that cover it"):
        checked([LayPiece("p", SQUARE)], [Scrap("s", SQUARE, holes=(SQUARE,))])
    with pytest.raises(InputError, match="same name twice"):
        checked([LayPiece("p", SQUARE)], [SCRAP, SCRAP])


def test_a_piece_across_the_grain_is_told() -> None:
    piece = LayPiece("band", SQUARE, grain_deg=10.0, turns=(0.0, 45.0, 90.0, 180.0))
    scrap = Scrap("scrap", SCRAP.outline, grain_deg=30.0)

    def said(angle: float) -> str:
        return " ".join(off_grain({"band": piece}, {"scrap": scrap}, [spot(100, 100, piece="band", angle=angle)]))

    assert said(20.0) == ""
    assert said(200.0) == ""
    assert "45° off" in said(65.0)
    assert "across the grain" in said(110.0)
