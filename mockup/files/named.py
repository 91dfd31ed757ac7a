"""Pieces out of named parts: what SVG and DXF have in common once their lines are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mockup.files.given import Given
from mockup.files.outlines import GAP_MM, checked_polygon, meet
from mockup.geometry import path as paths
from mockup.geometry.path import XY, Path
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Mark, Notch, Piece
from swatches.errors import FileFormatError

MAX_NOTCHES = 5000


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


def notch_from(given: Given) -> Notch:
    """Make a notch of its named values."""
    return Notch(given.text("notch"), given.length("distance").mm, given.whole("marks", 1, low=1, high=3))


def piece_from(
    given: Given,
    edges: Sequence[Edge],
    notches: Sequence[Notch],
    marks: Sequence[Mark],
    grainline: tuple[XY, XY] | None,
) -> Piece:
    """Make a piece and check it: closed, counter-clockwise, not crossing itself, notches on its edges.

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
    )
    _check_notches(piece, what)
    if paths.signed_area(piece.outline) < 0:
        piece = _turned_round(piece)
    checked_polygon(piece.outline, what=what)
    return piece


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
    sizes = {e.name: paths.length(e.path) for e in reversed(piece.edges)}
    for n in piece.notches:
        if n.edge not in sizes or not 0 <= n.distance_mm <= sizes[n.edge] + 1e-6:
            got = f"{n.distance_mm:g} mm along {n.edge!r}"
            raise FileFormatError(
                what,
                expected="every notch on a named edge, at a distance along it",
                got=got + (f", which is {sizes[n.edge]:.4g} mm long" if n.edge in sizes else ", which is no edge"),
                next_step="Put the notch on its edge",
            )


def _turned_round(piece: Piece) -> Piece:
    """Run a clockwise piece the other way: edges, their end names, corners (which belong to a start) and notches."""
    edges = piece.edges
    turned = [
        replace(
            e,
            path=paths.reversed_path(e.path),
            start_name=e.end_name,
            end_name=e.start_name,
            corner=edges[(i + 1) % len(edges)].corner,
        )
        for i, e in enumerate(edges)
    ]
    sizes = {e.name: paths.length(e.path) for e in reversed(edges)}
    notches = tuple(Notch(n.edge, max(0.0, sizes[n.edge] - n.distance_mm), n.count) for n in piece.notches)
    return piece.with_(edges=tuple(reversed(turned)), notches=notches)
