"""Settling: pieces that overlap a little, or reach over the edge, push one another; the hopeless is told."""

from __future__ import annotations

import pytest

from mockup.lay.exact import faults
from mockup.lay.lay import LayPiece, Placement, Scrap
from mockup.lay.settle import settle

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
L_SHAPE = ((0.0, 0.0), (150.0, 0.0), (150.0, 40.0), (50.0, 40.0), (50.0, 200.0), (0.0, 200.0))


def room(width: float, height: float, **more: object) -> Scrap:
    return Scrap("room", ((0, 0), (width, 0), (width, height), (0, height)), **more)  # type: ignore[arg-type]


def at(x: float, y: float, piece: str = "p", angle: float = 0.0) -> Placement:
    return Placement(piece, "room", False, angle, x, y)


@pytest.mark.parametrize(
    ("scrap", "places", "clearance", "border"),
    [
        (room(100, 100), [at(2.3, -1.1)], 0, 0),
        (room(200, 100), [at(1.5, 0.4), at(98.0, -0.7)], 0, 0),
        (room(202, 100), [at(1.5, 0.4), at(98.0, -0.7)], 2, 0),
        (room(300, 110), [at(1, 3), at(99, 7), at(203, 1)], 0, 0),
        (room(320, 112), [at(1, 3), at(99, 7), at(203, 1)], 4, 5),
    ],
)
def test_what_is_nearly_right_is_put_right(
    scrap: Scrap, places: list[Placement], clearance: float, border: float
) -> None:
    piece = LayPiece("p", SQUARE, count=len(places))
    found = settle([piece], [scrap], places, clearance_mm=clearance, border_mm=border)
    assert found is not None
    assert faults({"p": piece}, {"room": scrap}, found, clearance_mm=clearance, border_mm=border) == []
    assert [p.angle for p in found] == [p.angle for p in places]


def test_a_hole_that_sticks_into_a_piece_pushes_it_away() -> None:
    # no corner of the square is outside the cloth; the hole's own corners are what must get out
    scrap = room(300, 300, holes=(((100.4, 40.0), (140.0, 30.0), (140.0, 60.0)),))
    piece = LayPiece("p", SQUARE)
    found = settle([piece], [scrap], [at(2.5, 0.5)])
    assert found is not None
    assert faults({"p": piece}, {"room": scrap}, found) == []


def test_pieces_that_interlock_keep_doing_so() -> None:
    pieces = [LayPiece("l", L_SHAPE, count=2)]
    places = [at(0, 0, "l"), at(201.0, 239.0, "l", 180.0)]
    found = settle(pieces, [room(202, 242)], places, clearance_mm=1.0)
    assert found is not None
    assert abs(found[1].x - found[0].x - 201.0) < 10


@pytest.mark.parametrize(
    ("scrap", "places"),
    [(room(99.5, 100), [at(0, 0)]), (room(180, 100), [at(0, 0), at(80, 0)]), (room(50, 50), [at(0, 0)])],
)
def test_what_cannot_be_is_none(scrap: Scrap, places: list[Placement]) -> None:
    assert settle([LayPiece("p", SQUARE, count=len(places))], [scrap], places) is None


def test_a_lay_that_lacks_a_piece_is_none() -> None:
    assert settle([LayPiece("p", SQUARE, count=2)], [room(400, 400)], [at(10, 10)]) is None
