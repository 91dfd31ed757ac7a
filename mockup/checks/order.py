"""Where style lines meet each other: can they be sewn straight through in some order, and how thick does it get?"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.places import px_of
from mockup.checks.scene import Scene
from mockup.garment.view import View
from mockup.geometry.path import Path
from mockup.split.junctions import Junction, junctions, stuck
from mockup.split.layers import Pressed, layers
from mockup.split.words import tenths
from mockup.stylelines import edges


def sewing_order(scene: Scene) -> list[Finding]:
    """Find seams that no order lets one sew straight through."""
    found = []
    for view, names, meets in _junctions(scene):
        for group in stuck(meets):
            at = next(j for j in meets if set(j.ends) & set(group))
            listed = ", ".join(f"'{names[i]}'" for i in group)
            found.append(
                Finding(
                    "sewing-order",
                    Grade.WARN,
                    Place(f"lines {listed}, {view.side}", view.name, px_of(view, at.point)),
                    f"{len(group)} seams that end on each other",
                    "an order in which each seam is sewn in one go",
                    "derived: a seam that ends on another is sewn before it",
                    "Let one of them run through to an edge; or sew one of these seams only half, join the others, "
                    "and finish it last.",
                )
            )
    return found


def layers_at_junctions(scene: Scene) -> list[Finding]:
    """Count the layers where lines end on each other or cross; judge them, and their height where it is known."""
    most, pile = scene.limits["layers"], scene.limits["thickness-pile"]
    found = []
    for view, names, meets in _junctions(scene):
        for j in meets:
            if not j.through:
                continue
            one, other = (1, 1) if not j.ends else (len(j.left), len(j.right))
            counts = {pressed: layers(one, other, pressed) for pressed in Pressed}
            thick = _thickest(scene)
            height = None if thick is None else counts[Pressed.OPEN] * thick
            too_high = height is not None and height > pile.value
            if counts[Pressed.ONE_WAY] < most.value and not too_high:
                continue
            nested = f", {counts[Pressed.NESTED]} nested" if min(one, other) else ""
            figure = f"{counts[Pressed.OPEN]} layers pressed open{nested}, {counts[Pressed.ONE_WAY]} all one way"
            limit, source = str(most), most.source
            if too_high and height is not None:
                figure += f"; {tenths(height)} even pressed open"
                limit, source = str(pile), pile.source
            listed = " and ".join(f"'{names[i]}'" for i in (*j.through, *j.ends))
            found.append(
                Finding(
                    "layers",
                    Grade.WARN if too_high or counts[Pressed.ONE_WAY] > most.value else Grade.NOTE,
                    Place(f"where lines {listed} meet, {view.side}", view.name, px_of(view, j.point)),
                    figure,
                    limit,
                    source,
                    "Press the seams that meet here opposite ways so that they nest, or all open, and trim the "
                    "allowances at the crossing.",
                )
            )
    return found


def _junctions(scene: Scene) -> Iterator[tuple[View, dict[str, str], tuple[Junction, ...]]]:
    for view in scene.views:
        mine = [(line, path) for v, line, path in scene.placed if v.name == view.name]
        if len(mine) < 2:
            continue
        outline = edges.body_outline(view) if view.areas else None
        meets = _remembered(tuple(line.id for line, _ in mine), _Kept([p for _, p in mine], outline))
        yield view, {line.id: line.name for line, _ in mine}, meets


class _Kept:
    """Placed lines; the same ones for every choice of cloth, so that their junctions are worked out once."""

    def __init__(self, lines: list[Path], outline: Path | None) -> None:
        self.lines, self.outline = lines, outline

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Kept) and all(a is b for a, b in zip(self.lines, other.lines, strict=False))

    def __hash__(self) -> int:
        return hash(tuple(id(p) for p in self.lines))


@lru_cache(maxsize=32)
def _remembered(ids: tuple[str, ...], kept: _Kept) -> tuple[Junction, ...]:
    return junctions(dict(zip(ids, kept.lines, strict=True)), kept.outline)


def _thickest(scene: Scene) -> float | None:
    """Thickness of the thickest cloth of the choice, mm; None where none is known."""
    known = [f.thickness.value for f in scene.used() if f.thickness.value is not None]
    return max(known) if known else None
