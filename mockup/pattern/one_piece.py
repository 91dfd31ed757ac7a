"""Panels that fall into one cut piece, because a seam of the picture is not in the pattern.

A picture may show a waist seam, and the pattern be a dress in one piece. Nothing of the cut is wrong then, only that a
piece has one cloth where the picture may show two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from mockup.geometry import path as paths
from mockup.geometry.place import MeanValueMap
from mockup.pattern.piece import HowToCut, Piece
from mockup.split.split import PathXY, SplitPanel, SplitView

OF_PANEL = 0.4
"""Share of a panel that lies in a piece: below a half, since half a front shows half a panel; our own choice."""
OF_PIECE = 0.25
"""Share of a piece that a panel fills, which may run on over other pieces; our own choice."""
_FLAT_MM = 0.5
ADVICE = "Put that seam on as a line, or use a pattern whose pieces end there."


@dataclass(frozen=True, slots=True)
class OnePiece:
    """A cut piece that shows more than one panel.

    Attributes:
        name: of the piece.
        number: of the piece, as it is labelled.
        panels: ids of the panels, the one that gives it its number first.
    """

    name: str
    number: int
    panels: tuple[str, ...]


def panels_in(piece: Piece, panel: SplitPanel, view: SplitView, to_view: MeanValueMap) -> tuple[SplitPanel, ...]:
    """Body panels that a cut piece shows, seen through the picture.

    Args:
        piece: after the cut, mm.
        panel: the panel that gives it its number.
        view: of the split.
        to_view: from the piece's mm to the view's.

    Returns:
        The panel itself first, then others of which a good part lies in the piece, in the view's order. What is sewn
        on top or let in has a piece of its own and is none of them.
    """
    shell, *holes = (paths.flatten(outline, _FLAT_MM).points for outline in piece.outlines)
    shown = _valid(shapely.Polygon(to_view.apply(shell), [to_view.apply(hole) for hole in holes]))
    if piece.how is HowToCut.ON_FOLD and view.mirror_line is not None:
        middle = view.mirror_line[0][0]
        shown = shapely.union(shown, shapely.transform(shown, lambda at: at * [-1, 1] + [2 * middle, 0]))
    on_top = [_region(line.path) for line in view.lines if line.on_top]
    regions = {p.id: _region(p.outline) for p in view.panels if p.area == "body"}
    found = [panel]
    for other in view.panels:
        whole = regions.get(other.id)
        if whole is None or other.id == panel.id:
            continue
        if any(shapely.area(whole & cover) > OF_PANEL * whole.area for cover in on_top):
            continue
        within = [r for r in regions.values() if r.area < whole.area and shapely.area(r & whole) > 0.9 * r.area]
        own = shapely.difference(whole, shapely.union_all(within))  # outlines are given without their holes
        shared = shapely.area(own & shown)
        if shared > OF_PANEL * own.area or shared > OF_PIECE * shown.area:
            found.append(other)
    return tuple(found)


def one_cloth_for_two(piece: Piece, panels: Sequence[SplitPanel]) -> tuple[str, ...]:
    """Say that a piece is one cloth where the picture has several; no sentence where they have the same one.

    Args:
        piece: after the cut, with its number.
        panels: those that fall into it.
    """
    cloths = {p.fabric for p in panels if p.fabric}
    if len(cloths) < 2:
        return ()
    numbers = sorted({p.number for p in panels})
    which = " and ".join(str(n) for n in numbers) if len(numbers) > 1 else f"{numbers[0]}, left and right,"
    return (
        f"The seam of the picture between panels {which} is not in your pattern: piece {piece.number} ({piece.name}) "
        f"would be one cloth where the picture has {_count(len(cloths))}. {ADVICE}",
    )


def _count(n: int) -> str:
    return "two" if n == 2 else str(n)


def _region(outline: PathXY) -> shapely.Geometry:
    return _valid(shapely.Polygon(paths.flatten(paths.from_tuples(outline), _FLAT_MM).points))


def _valid(shape: shapely.Geometry) -> shapely.Geometry:
    return shapely.make_valid(shape)
