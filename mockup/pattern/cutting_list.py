"""The cutting list: what to cut, of which cloth, how often and how."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_outline
from mockup.pattern.piece import HowToCut, Piece


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list.

    Attributes:
        number: shared with picture and piece.
        name: of the piece.
        fabric: name of its cloth, or 'not chosen yet'.
        layer: 'shell', 'facing', …
        how_many: pieces of cloth that come out (2 for a pair).
        how: 'cut 1 on fold', 'cut a pair', 'cut 1, right side up', …
        cut_area_mm2: of one piece of cloth, both halves where it lies on the fold.
        width_mm: of the box round one piece of cloth, across the grain as drawn.
        height_mm: of the same box.
        finished_area_mm2: inside the stitch line of one piece of cloth.
    """

    number: int
    name: str
    fabric: str
    layer: str
    how_many: int
    how: str
    cut_area_mm2: float
    width_mm: float
    height_mm: float
    finished_area_mm2: float


def cutting_list(pieces: Sequence[Piece], fabric_names: Mapping[str, str] | None = None) -> tuple[Row, ...]:
    """List the pieces by number.

    Args:
        pieces: of one garment.
        fabric_names: fabric id → name; an id that is not named is shown itself.
    """
    names = fabric_names or {}
    rows = []
    for piece in sorted(pieces, key=lambda p: (p.number, p.side, p.name)):
        cut = cut_outline(piece)
        x0, y0, x1, y1 = paths.bounds(cut.path)
        width, height = x1 - x0, y1 - y0
        halves = 2 if piece.how is HowToCut.ON_FOLD else 1
        fold = piece.fold
        if halves == 2 and fold is not None:
            way = abs(fold.path.end - fold.path.start)
            if way[1] >= way[0]:
                width *= 2
            else:
                height *= 2
        rows.append(
            Row(
                piece.number,
                piece.name,
                names.get(piece.fabric, piece.fabric) or "not chosen yet",
                piece.layer,
                piece.count * (2 if piece.how is HowToCut.PAIR else 1),
                how_to_cut(piece),
                cut.area_mm2 * halves,
                width,
                height,
                piece.finished_area_mm2 * halves,
            )
        )
    return tuple(rows)


def how_to_cut(piece: Piece) -> str:
    """Say how a piece is cut, in the trade's words, also for its label: 'cut 1 on fold', 'cut a pair'."""
    if piece.how is HowToCut.ON_FOLD:
        return f"cut {piece.count} on fold"
    if piece.how is HowToCut.PAIR:
        return "cut a pair" if piece.count == 1 else f"cut {piece.count} pairs"
    return f"cut {piece.count}, right side up" if piece.right_side_up else f"cut {piece.count}"
