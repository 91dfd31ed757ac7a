"""The trade's usual lines, each one function of a view and a few measures.

A distance may be typed (``'2 in'``, ``'50 mm'``), a :class:`~swatches.units.Length`, or a number of mm; the unit typed
is kept for showing. Lines come back with ids ``line-<first>``, ``line-<first + 1>``, … Pairs are one line for each
side of the wearer, mirror images of each other.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.stylelines import edges
from mockup.stylelines.starts import Distance, end_on, start_from, well_inside, where_level
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError
from swatches.units import length


def yoke(
    view: View,
    distance: Distance,
    *,
    edge: str = "",
    landmark: str = "",
    dip: Distance = 0.0,
    first: int = 1,
) -> tuple[StyleLine, ...]:
    """A yoke: the part that lies over the shoulders, above a line from armhole to armhole; of a skirt, over the hips.

    Args:
        view: the view.
        distance: down the armhole from the shoulder tip, of a skirt down the side seam from the waist; or along another
            edge from another landmark.
        edge: edge on which it ends; empty: the usual one.
        landmark: where the distance starts; empty: the usual one.
        dip: how much lower the middle is than the ends, as an arc; 0: level.
        first: number of the first id.
    """
    start = start_from(view, "yoke", (edge, landmark), ("armhole", "shoulder"), ("side", "waist"), distance)
    drop = length(dip, what="dip").mm
    kind = LineKind.ARC if drop else LineKind.STRAIGHT
    return (_level("yoke", view, start, drop, kind, first),)


def hem_band(view: View, height: Distance, *, first: int = 1) -> tuple[StyleLine, ...]:
    """A band along the hem, of the same height everywhere, so that its upper line runs parallel to the hem.

    Args:
        view: the view.
        height: from the hem up the side seam, and up the centre.
        first: number of the first id.
    """
    start, end = end_on("side", "hem", height), end_on(edges.centre_name(view), "hem", height)
    hem = edges.find_edge(view, "hem")
    marks = edges.landmarks_on(view, hem)
    corner, middle = marks["hem", "left"], marks.get(("hem-centre", None), hem.length / 2)
    through = []
    for share in (0.2, 0.4, 0.6, 0.8):
        segment, t = paths.locate(hem.path, corner + share * (middle - corner))
        along = paths.tangent(hem.path, segment, t)
        up = np.array([-along[1], along[0]]) * (1.0 if along[0] > 0 else -1.0)
        x, y = paths.points_at(hem.path, segment, t) + start.distance_mm * up
        through.append(edges.mm_to_shares(view, (float(x), float(y))))
    return (
        StyleLine(
            f"line-{first}", "hem band", view.side, LineKind.CURVE, start, end, through=tuple(through), symmetric=True
        ),
    )


def side_panel(
    view: View,
    distance: Distance,
    hem_distance: Distance,
    *,
    edge: str = "",
    landmark: str = "",
    first: int = 1,
) -> tuple[StyleLine, ...]:
    """Side panels: on both sides a line from armhole or waist down to the hem; front and back ones may be one piece.

    Args:
        view: the view.
        distance: up the armhole from the underarm, of a skirt along the waist from the side seam. Keep it off the
            underarm itself: four seams would meet there.
        hem_distance: along the hem from the side seam.
        edge: edge on which the line starts; empty: the usual one.
        landmark: where the distance starts; empty: the usual one.
        first: number of the first id.
    """
    start = start_from(view, "side panel", (edge, landmark), ("armhole", "underarm"), ("waist", "waist"), distance)
    return _pair("side panel", view, start, end_on("hem", "hem", hem_distance), (), first)


def centre_panel(
    view: View, shoulder_distance: Distance, hem_width: Distance, *, first: int = 1
) -> tuple[StyleLine, ...]:
    """A centre panel from the shoulders, or the waist, to the hem, between two straight lines.

    Args:
        view: the view.
        shoulder_distance: along the shoulder from the neck point, of a skirt along the waist from the centre.
        hem_width: full width of the panel at the hem.
        first: number of the first id.
    """
    half = length(hem_width, what="width at the hem", minimum_mm=1.0)
    end = End("hem", "hem-centre", half.mm / 2)
    usual = ("shoulder", "neck"), ("waist", "waist-centre")
    start = start_from(view, "centre panel", ("", ""), *usual, shoulder_distance)
    return _pair("centre panel", view, start, end, (), first)


def princess(
    view: View,
    distance: Distance,
    hem_distance: Distance,
    *,
    edge: str = "",
    landmark: str = "",
    fullest: tuple[float, float] = (0.42, 0.62),
    first: int = 1,
) -> tuple[StyleLine, ...]:
    """Princess-like curves from armhole, shoulder or waist to hem. Decorative: they take in no dart and give no shape.

    Args:
        view: the view.
        distance: down the armhole from the shoulder tip; or along the shoulder from the neck; of a skirt along the
            waist from the centre.
        hem_distance: along the hem from the centre.
        edge: 'armhole', 'shoulder' or 'waist'; empty: the usual one.
        landmark: where the distance starts; empty: the usual one.
        fullest: the point that the curve passes through, in shares of the body's half width and height; where the body
            is narrow there, it keeps well inside of it.
        first: number of the first id.
    """
    name = "princess line (decorative: takes in no dart)"
    usual = ("armhole", "shoulder"), ("waist", "waist-centre")
    start = start_from(view, "princess line", (edge, landmark), *usual, distance)
    end = end_on("hem", "hem-centre", hem_distance)
    through = (well_inside(view, fullest),)
    return _pair(name, view, start, end, through, first, LineKind.CURVE)


def diagonal(
    view: View,
    distance: Distance,
    end_distance: Distance,
    *,
    edge: str = "",
    landmark: str = "",
    end_edge: str = "side",
    end_landmark: str = "hem",
    start_side: str = "left",
    first: int = 1,
) -> tuple[StyleLine, ...]:
    """A diagonal across the body, from one side of the wearer to the other: not symmetrical, so it is unfolded to cut.

    Args:
        view: the view.
        distance: of its upper end, along ``edge`` from ``landmark``; else down the armhole from the shoulder, of a
            skirt down the side seam from the waist.
        end_distance: of its lower end, along ``end_edge`` from ``end_landmark`` on the other side.
        edge: edge of the upper end; empty: the usual one.
        landmark: where its distance starts; empty: the usual one.
        end_edge: edge of the lower end.
        end_landmark: where its distance starts.
        start_side: the wearer's side of the upper end.
        first: number of the first id.
    """
    other = "right" if start_side == "left" else "left"
    usual = ("armhole", "shoulder"), ("side", "waist")
    start = replace(start_from(view, "diagonal", (edge, landmark), *usual, distance), side=start_side)
    end = replace(end_on(end_edge, end_landmark, end_distance), side=other)
    return (StyleLine(f"line-{first}", "diagonal", view.side, LineKind.STRAIGHT, start, end),)


def raglan(
    view: View, neck_distance: Distance, underarm_distance: Distance, *, hollow: float = 0.05, first: int = 1
) -> tuple[StyleLine, ...]:
    """Raglan-like lines from the neck to the armhole near the underarm; the sleeve itself is not changed.

    Args:
        view: the view.
        neck_distance: along the neck from the shoulder-neck point.
        underarm_distance: up the armhole from the underarm.
        hollow: how far the line is hollowed toward the centre, as a share of its length.
        first: number of the first id.
    """
    start = start_from(view, "raglan line", ("", ""), ("neck", "neck"), None, neck_distance)
    end = start_from(view, "raglan line", ("", ""), ("armhole", "underarm"), None, underarm_distance)
    a = np.array(edges.end_point(start, view))
    b = np.array(edges.end_point(end, view))
    along = b - a
    inward = np.array([along[1], -along[0]]) * edges.left_sign(view)
    middle = (a + b) / 2 + hollow * inward
    through = edges.mm_to_shares(view, (float(middle[0]), float(middle[1])))
    return _pair("raglan line", view, start, end, (through,), first, LineKind.ARC)


def chevron(
    view: View,
    side_distance: Distance,
    centre_distance: Distance,
    *,
    edge: str = "",
    landmark: str = "",
    first: int = 1,
) -> tuple[StyleLine, ...]:
    """A chevron: two straight lines that meet in a point on the centre.

    Args:
        view: the view.
        side_distance: along the side seam from the underarm or the waist, or along another edge from another landmark.
        centre_distance: down the centre from the neck or the waist.
        edge: edge of its ends; empty: the side seam.
        landmark: where that distance starts; empty: the usual one.
        first: number of the first id.
    """
    end = end_on(edges.centre_name(view), "neck", centre_distance)
    start = start_from(view, "chevron", (edge, landmark), ("side", "underarm"), ("side", "waist"), side_distance)
    return (
        StyleLine(f"line-{first}", "chevron", view.side, LineKind.STRAIGHT, start, end, symmetric=True, kinked=True),
    )


def band(
    view: View,
    distance: Distance,
    width: Distance,
    *,
    edge: str = "",
    landmark: str = "",
    first: int = 1,
) -> tuple[StyleLine, ...]:
    """A level band across the body.

    Args:
        view: the view.
        distance: of its upper line, along ``edge`` from ``landmark``.
        width: from the upper line to the lower, measured upright.
        edge: edge of the ends of its upper line; empty: the side seam.
        landmark: where the distance starts; empty: the underarm, or the waist.
        first: number of the first id.

    Raises:
        GeometryError: the lower line would lie below the side seam.
    """
    start = start_from(view, "band", (edge, landmark), ("side", "underarm"), ("side", "waist"), distance)
    upper = _level("band, upper line", view, start, 0.0, LineKind.STRAIGHT, first)
    deep = length(width, what="width of the band", minimum_mm=1.0)
    y = edges.end_point(upper.start, view)[1] - deep.mm
    side = edges.find_edge(view, "side", "left")
    at = where_level(side, y)
    if at is None:
        raise GeometryError(
            "band", expected="a band that ends above the hem", got=f"a width of {deep}", next_step="Make it narrower"
        )
    high = next(name for name in (side.start, side.end) if name != "hem")
    start = End("side", high, at if side.start == high else side.length - at)
    lower = _level("band, lower line", view, start, 0.0, LineKind.STRAIGHT, first + 1)
    return (upper, lower)


PRESETS = (yoke, hem_band, side_panel, centre_panel, princess, diagonal, raglan, chevron, band)


def _level(name: str, view: View, start: End, drop: float, kind: LineKind, first: int) -> StyleLine:
    """A symmetrical line whose middle is ``drop`` mm below its ends."""
    y = edges.end_point(start, view)[1] - drop
    centre = edges.centre_line(view)
    top, foot = float(centre.start[1]), float(centre.end[1])
    if not foot < y < top:
        raise GeometryError(
            name,
            expected="a line that crosses the centre between neck and hem",
            got="one that is above the neck" if y >= top else "one that is below the hem",
            next_step="Set it lower" if y >= top else "Set it higher",
        )
    end = End(edges.centre_name(view), "neck", top - y)
    return StyleLine(f"line-{first}", name, view.side, kind, start, end, symmetric=True)


def _pair(
    name: str,
    view: View,
    start: End,
    end: End,
    through: tuple[tuple[float, float], ...],
    first: int,
    kind: LineKind = LineKind.STRAIGHT,
) -> tuple[StyleLine, ...]:
    lines = []
    for k, (side, sign) in enumerate((("left", 1.0), ("right", -1.0))):
        lines.append(
            StyleLine(
                f"line-{first + k}",
                f"{name}, {side}",
                view.side,
                kind,
                replace(start, side=side),
                replace(end, side=side),
                through=tuple((sign * x, y) for x, y in through),
            )
        )
    return tuple(lines)
