"""Pieces out of named parts: what SVG and DXF have in common once their lines are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from mockup.files.given import Given
from mockup.files.outlines import GAP_MM, checked_polygon, meet
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.pattern.darts import dart_on
from mockup.pattern.piece import Corner, Dart, Edge, EdgeKind, HowToCut, Mark, Notch, Piece, counter_clockwise
from swatches.errors import FileFormatError, GeometryError

MAX_NOTCHES = 5000
MAX_HOLES = 200


def edge_from(given: Given, path: Path) -> Edge:
    """Make an edge of a path and its named values."""
    allowance = given.length("allowance")
    return Edge(
        name=given.text("edge"),
        path=path,
        kind=given.choice("kind", EdgeKind, EdgeKind.SEAM),
        allowance_mm=allowance.mm,
        allowance_text="" if allowance.unit == "mm" else str(allowance),
        mate=given.text("mate"),
        start_name=given.text("start"),
        end_name=given.text("end"),
        line_id=given.text("line"),
        corner=given.choice("corner", Corner, Corner.MITRE),
    )


def hole_of(given: Given) -> int:
    """Number of the hole that an edge belongs to, from 1; 0 for the outline."""
    return given.whole("hole", 0, low=0, high=MAX_HOLES)


def dart_from(given: Given, path: Path, edges: Sequence[Edge]) -> Dart:
    """Make a dart of its drawing, from a leg's end to the tip and to the other leg's end, on the edge that it names.

    Raises:
        FileFormatError: no such edge, or ends that do not lie on it.
    """
    edge = next((e for e in edges if e.name == given.text("on")), None)
    if edge is None:
        raise FileFormatError(
            given.what,
            expected="a dart that names its edge",
            got=repr(given.text("on")),
            next_step=f"Write the name of one edge: {', '.join(e.name for e in edges)}",
        )
    try:
        return dart_on(edge, given.text("dart") or "dart", path)
    except GeometryError as error:
        raise FileFormatError(
            f"{given.what}, {error.what}", expected=error.expected, got=error.got, next_step=error.next_step
        ) from error


def notch_from(given: Given) -> Notch:
    """Make a notch of its named values."""
    return Notch(given.text("notch"), given.length("distance").mm, given.whole("marks", 1, low=1, high=3))


def piece_from(
    given: Given,
    edges: Sequence[Edge],
    notches: Sequence[Notch],
    marks: Sequence[Mark],
    grainline: tuple[XY, XY] | None,
    holes: Sequence[Sequence[Edge]] = (),
    darts: Sequence[Dart] = (),
) -> Piece:
    """Make a piece and check it: closed, counter-clockwise, not crossing itself, notches on its edges, holes inside.

    Raises:
        FileFormatError: what is wrong, in one sentence.
    """
    what = given.what
    if len(notches) > MAX_NOTCHES:
        raise FileFormatError(
            what, expected=f"at most {MAX_NOTCHES} notches", got=str(len(notches)), next_step="Remove some"
        )
    edges = _closed(edges, what)
    has_fold = any(e.kind is EdgeKind.FOLD for e in edges)
    piece = Piece(
        name=given.text("piece"),
        edges=tuple(edges),
        view=given.text("view"),
        area=given.text("area") or "body",
        grainline=grainline,
        notches=tuple(notches),
        marks=tuple(marks),
        how=given.choice("how", HowToCut, HowToCut.ON_FOLD if has_fold else HowToCut.SINGLE),
        right_side_up=given.yes("rsu"),
        count=given.whole("count", 1, low=1),
        number=given.whole("number", 0),
        side=given.text("side"),
        fabric=given.text("fabric"),
        parent=given.text("parent"),
        layer=given.text("layer") or "shell",
        size=given.text("size"),
        holes=tuple(_closed(hole, f"{what}, opening") for hole in holes),
        darts=tuple(darts),
    )
    _check_notches(piece, what)
    piece = counter_clockwise(piece)
    checked_polygon(piece.outline, what=what)
    _check_holes(piece, what)
    return piece


def _check_holes(piece: Piece, what: str) -> None:
    """Refuse openings that cross themselves, each other or the outline, and names that are there twice."""
    if not piece.holes:
        return
    shell, *holes = (paths.flatten(outline, 0.02).points for outline in piece.outlines)
    names = [e.name for hole in piece.holes for e in hole]
    if not shapely.is_valid(shapely.Polygon(shell, holes)):
        raise FileFormatError(
            what,
            expected="openings inside the piece, beside each other",
            got="one that crosses another line",
            next_step="Untangle the opening",
        )
    if len(set(names)) < len(names) or set(names) & {e.name for e in piece.edges}:
        raise FileFormatError(
            what,
            expected="a name of its own for every edge of an opening",
            got="one that is there twice",
            next_step="Rename it",
        )


def _closed(edges: Sequence[Edge], what: str) -> tuple[Edge, ...]:
    """Let every edge start exactly where the one before it ends; refuse a gap."""
    if not edges:
        raise FileFormatError(what, expected="named edges", got="none", next_step="Name every edge of the piece")
    for i, edge in enumerate(edges):
        before = edges[i - 1]
        gap = float(np.linalg.norm(edge.path.start - before.path.end))
        if gap > GAP_MM:
            x, y = before.path.end
            raise FileFormatError(
                what,
                expected="a closed outline, every edge starting where the one before it ends",
                got=f"{gap:.4g} mm between {before.name} and {edge.name} at ({x:.4g}, {y:.4g})",
                next_step="Close the gap, and write the edges in the order in which they run",
            )
    return tuple(replace(e, path=meet(e.path, edges[i - 1].path.end, e.path.end)) for i, e in enumerate(edges))


def _check_notches(piece: Piece, what: str) -> None:
    sizes = {e.name: paths.length(e.path) for e in reversed(piece.all_edges)}
    for n in piece.notches:
        if n.edge not in sizes or not 0 <= n.distance_mm <= sizes[n.edge] + 1e-6:
            got = f"{n.distance_mm:g} mm along {n.edge!r}"
            raise FileFormatError(
                what,
                expected="every notch on a named edge, at a distance along it",
                got=got + (f", which is {sizes[n.edge]:.4g} mm long" if n.edge in sizes else ", which is no edge"),
                next_step="Put the notch on its edge",
            )
