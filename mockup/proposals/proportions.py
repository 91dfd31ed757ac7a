"""Designs of lines: the trade's presets at usual proportions, on a garment's own measures.

Thirds, halves, the golden section and a quarter of the centre back are usual starting points and nothing more: evidence
that one of them is preferred is weak, and no line is said to flatter. Heights are measured along the centre back (the
centre front where there is no back view), from the neck down, and kept above the hem on the other side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.stylelines import edges, presets
from mockup.stylelines.starts import is_waisted
from mockup.stylelines.styleline import End, StyleLine
from swatches.errors import GeometryError

GOLDEN = (5**0.5 - 1) / 2
QUARTER, THIRD, SMALL_GOLDEN, HALF = 0.25, 1 / 3, 1 - GOLDEN, 0.5
WORDS = {
    QUARTER: "a quarter",
    THIRD: "a third",
    SMALL_GOLDEN: "0.38 (golden section)",
    HALF: "half",
    GOLDEN: "0.62 (golden section)",
    2 / 3: "two thirds",
    0.75: "three quarters",
}


@dataclass(frozen=True, slots=True)
class Design:
    """One idea, before it is tried.

    Attributes:
        kind: what kind of line it is, for showing different kinds first.
        name: the person's words.
        reason: why the lines run where they run, one sentence.
        make: gives the lines on the first view; takes the number of their first id, and by how many mm they are moved
            up, where ends would crowd other seams.
        movable: whether it can be moved.
    """

    kind: str
    name: str
    reason: str
    make: Callable[[int, float], tuple[StyleLine, ...]]
    movable: bool = False


def designs(view: View, whole_mm: float, of: str) -> Iterator[Design]:
    """Give all designs for a view.

    Args:
        view: the view that lines are made on.
        whole_mm: the length that heights are shares of, up from the hem at the centre.
        of: what that length is called, 'the centre back'.
    """
    yield from _yokes(view, whole_mm, of)
    yield from _bands(view, whole_mm, of)
    yield from _upright(view)
    yield from _slanting(view, whole_mm, of)


def _yokes(view: View, whole: float, of: str) -> Iterator[Design]:
    for p in (QUARTER, THIRD, SMALL_GOLDEN, HALF):

        def level(first: int, up: float, p: float = p, dip: float = 0.0) -> tuple[StyleLine, ...]:
            end = end_at_height(view, p, whole, lift=dip + up)
            return presets.yoke(view, end.distance_mm, edge=end.edge, landmark=end.landmark, dip=dip, first=first)

        def dipped(first: int, up: float, level: Callable[..., tuple[StyleLine, ...]] = level) -> tuple[StyleLine, ...]:
            return level(first, up, dip=whole / 12)

        place = f"at {WORDS[p]} of {of}, from the {_top(view)}"
        yield Design("yoke", "level yoke", f"A level line {place}.", level, movable=True)
        if p < HALF:
            yield Design(
                "curved yoke", "curved yoke", f"Its lowest point is {place}; a shallow arc.", dipped, movable=True
            )


def _bands(view: View, whole: float, of: str) -> Iterator[Design]:
    for p in (QUARTER, THIRD, SMALL_GOLDEN):

        def hem(first: int, _up: float, p: float = p) -> tuple[StyleLine, ...]:
            return presets.hem_band(view, float(round(p * whole)), first=first)

        yield Design("hem band", "hem band", f"As high as {WORDS[p]} of {of}, parallel to the hem.", hem)
    for top, foot in ((THIRD, 2 / 3), (SMALL_GOLDEN, GOLDEN), (HALF, 0.75)):

        def across(first: int, up: float, top: float = top, foot: float = foot) -> tuple[StyleLine, ...]:
            end = end_at_height(view, top, whole, lift=up)
            wide = float(round((foot - top) * whole))
            return presets.band(view, end.distance_mm, wide, edge=end.edge, landmark=end.landmark, first=first)

        yield Design(
            "band", "band across", f"From {WORDS[top]} to {WORDS[foot]} of {of}, from the {_top(view)}.", across,
            movable=True,
        )  # fmt: skip

    def both(first: int, _up: float) -> tuple[StyleLine, ...]:
        end = end_at_height(view, QUARTER, whole)
        yoke = presets.yoke(view, end.distance_mm, edge=end.edge, landmark=end.landmark, first=first)
        return (*yoke, *presets.hem_band(view, float(round(QUARTER * whole)), first=first + 1))

    reason = f"A quarter of {of} above, a quarter below, half of it between."
    yield Design("yoke and band", "yoke and hem band", reason, both)


_AND_WAIST = " and of the waist"
_OFF_UNDERARM = "; from a third of the armhole, off the underarm"


def _upright(view: View) -> Iterator[Design]:
    hem = edges.edge_length(view, "hem")
    waist = edges.edge_length(view, "waist") if is_waisted(view) else 0.0

    def start(edge: str, share: float, of_waist: float) -> float:
        """How far along its edge a line starts; of a skirt along the waist."""
        return float(round(of_waist * waist if waist else share * edges.edge_length(view, edge, "left")))

    for p in (QUARTER / 2, THIRD / 2, QUARTER):

        def sides(first: int, _up: float, p: float = p) -> tuple[StyleLine, ...]:
            return presets.side_panel(view, start("armhole", 1 / 3, p), float(round(p * hem)), first=first)

        words = {QUARTER / 2: "a quarter", THIRD / 2: "a third", QUARTER: "half"}[p]
        yield Design(
            "side panels",
            "side panels",
            f"Together {words} of the hem{_AND_WAIST if waist else _OFF_UNDERARM}.",
            sides,
        )
    for p in (THIRD, SMALL_GOLDEN, HALF):

        def centre(first: int, _up: float, p: float = p) -> tuple[StyleLine, ...]:
            return presets.centre_panel(view, start("shoulder", 0.5, p / 2), float(round(p * hem)), first=first)

        yield Design(
            "centre panel",
            "centre panel",
            f"{_capital(WORDS[p])} of the hem{_AND_WAIST if waist else '; from the middle of the shoulders'}.",
            centre,
        )
    for p in (THIRD, HALF):

        def princess(first: int, _up: float, p: float = p) -> tuple[StyleLine, ...]:
            return presets.princess(view, start("armhole", 0.5, p / 2), float(round(p * hem / 2)), first=first)

        whence = f"{_AND_WAIST} between them" if waist else " between them; from mid-armhole"
        words = f"{_capital(WORDS[p])} of the hem{whence}. Decorative: takes in no dart."
        yield Design("princess lines", "princess-like curves", words, princess)
    if waist:
        return

    def raglan(first: int, _up: float) -> tuple[StyleLine, ...]:
        neck = edges.edge_length(view, "neck") / 2
        armhole = edges.edge_length(view, "armhole", "left")
        return presets.raglan(view, float(round(neck / 3)), float(round(armhole / 3)), first=first)

    yield Design("raglan lines", "raglan-like lines", "From a third of the neck to a third of the armhole.", raglan)


def _slanting(view: View, whole: float, of: str) -> Iterator[Design]:
    for high, low in ((THIRD, 2 / 3), (SMALL_GOLDEN, GOLDEN), (QUARTER, 0.75)):

        def diagonal(first: int, up: float, high: float = high, low: float = low) -> tuple[StyleLine, ...]:
            upper, lower = (end_at_height(view, share, whole, lift=up) for share in (high, low))
            return presets.diagonal(
                view, upper.distance_mm, lower.distance_mm, edge=upper.edge, landmark=upper.landmark,
                end_edge=lower.edge, end_landmark=lower.landmark, first=first,
            )  # fmt: skip

        reason = f"From {WORDS[high]} of {of} on the wearer's left to {WORDS[low]} on the right."
        yield Design("diagonal", "diagonal", reason, diagonal, movable=True)
    for high, low in ((THIRD, HALF), (HALF, 2 / 3)):

        def chevron(first: int, up: float, high: float = high, low: float = low) -> tuple[StyleLine, ...]:
            end = end_at_height(view, high, whole, lift=up)
            centre = edges.centre_line(view)
            down = paths.length(centre) - (1 - low) * whole - up
            return presets.chevron(
                view, end.distance_mm, float(round(down)), edge=end.edge, landmark=end.landmark, first=first
            )

        reason = f"From {WORDS[high]} of {of} at the sides to {WORDS[low]} in the middle, in a point."
        yield Design("chevron", "chevron", reason, chevron, movable=True)


def end_at_height(view: View, share: float, whole_mm: float, *, lift: float = 0.0) -> End:
    """Where the outline is at a height, as an end in whole mm.

    Args:
        view: the view.
        share: from the neck down, of ``whole_mm`` above the hem at the centre.
        whole_mm: the length.
        lift: how much higher, mm.

    Raises:
        GeometryError: neither side seam nor armhole reach that height.
    """
    y = float(edges.centre_line(view).end[1]) + (1 - share) * whole_mm + lift
    for name in ("side", "armhole"):
        for edge in (e for e in edges.edges_of(view) if e.name == name and e.side == "left"):
            heights = edge.path.start[1] - y, edge.path.end[1] - y
            if heights[0] * heights[1] > 0:
                continue
            at = float(brentq(lambda d, e=edge: paths.point_at_distance(e.path, d)[1] - y, 0.0, edge.length))
            from_start = at if edge.start in ("underarm", "waist") else edge.length - at
            landmark = edge.start if edge.start in ("underarm", "waist") else edge.end
            return End(name, landmark, float(np.round(from_start)))
    raise GeometryError(
        f"height of {share:.2f}",
        expected="one that side seam or armhole reach",
        got=f"{(1 - share) * whole_mm:.0f} mm above the hem",
        next_step="Choose another proportion",
    )


def _top(view: View) -> str:
    return "waist" if is_waisted(view) else "neck"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]
