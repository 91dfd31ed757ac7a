"""Pieces that show one section of a body: a bodice or a skirt, a yoke, one of two fronts.

A section is a ring of parts of the body's edges and of seams. A piece matches it edge by edge, as a whole body does in
:mod:`mockup.pattern.register`; only that its seams may be called anything.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from mockup.geometry import path as paths
from mockup.geometry.intersect import intersections
from mockup.geometry.path import Path
from mockup.geometry.ruler import Ruler, flat_of
from mockup.pattern.anchors import ring_name
from mockup.pattern.piece import Piece, counter_clockwise
from mockup.pattern.register import Registered, match_rings, register
from mockup.pattern.view_half import Half, base_name, half_of_view, keeps_fold, long_mirror, whole
from mockup.split.split import SplitEdge, SplitLine, SplitSection, SplitView
from swatches.errors import GeometryError

SEAM = "seam"
_SHORT_MM = 0.5
_FLAT_MM = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class OnSection:
    """A piece laid onto a section of a view.

    Attributes:
        view: the whole view, with those of its lines that run through the section.
        section: the section.
        on: the piece's edges and the section's; seams are called 'seam'.
        others: the pattern's pieces, along which distances from elsewhere are counted.
    """

    view: SplitView
    section: SplitSection
    on: Registered
    others: tuple[Piece, ...]


def section_of(view: SplitView, piece: Piece, pieces: Sequence[Piece] = ()) -> OnSection | None:
    """Lay a piece onto the section of a view that it shows; None where it shows the body as a whole, or no body.

    A piece whose ``area`` is 'body' may still be a part of it: then the order of its edges tells.

    Args:
        view: of the split.
        piece: of that view.
        pieces: the pattern.

    Raises:
        GeometryError: the piece says that it is a section, and its edges are not that section's.
    """
    piece = counter_clockwise(piece)
    named = [s for s in view.sections if s.area == piece.area]
    if piece.area != "body" and not named:
        return None
    if piece.area == "body" and (not view.sections or _is_whole(view, piece)):
        return None
    tried: list[str] = []
    found: list[OnSection] = []
    for section in named or view.sections:
        for candidate in section_rings(view, section):
            on = _matched(candidate, piece)
            if on is not None:
                lines = tuple(line for line in view.lines if _runs_through(line, view, section))
                found.append(OnSection(replace(view, lines=lines), section, on, tuple(pieces)))
                break
            tried.append(", ".join(candidate.names))
    kinds = {f.section.area for f in found}
    if len(kinds) == 1:
        same = [f for f in found if f.section.side == (piece.side or None)] or found
        if len(same) > 1 and any(f.view.lines for f in same):
            raise GeometryError(
                piece.name,
                expected=f"a piece of one part of the {view.name} called {same[0].section.area}",
                got=f"{len(same)} of them with edges in the same order",
                next_step="Say its side with data-side, or give the parts of the picture names of their own",
            )
        return same[0]
    if not named and not found:
        return None  # then it is matched as a body, or refused as one
    areas = ", ".join(dict.fromkeys(s.area for s in view.sections))
    raise GeometryError(
        f"edges of {piece.name}",
        expected=f"the edges of the {named[0].name} in the {view.name}, in order ({tried[-1]})" if named else
        f"one part of the {view.name} ({areas})",
        got=", ".join(e.name for e in piece.edges) if named else f"any of {', '.join(sorted(kinds))}",
        next_step="Name the piece's edges like the picture's; a seam that the garment has may have any name"
        if named else "Say which part of the garment the piece is",
    )  # fmt: skip


def section_rings(view: SplitView, section: SplitSection) -> tuple[Half, ...]:
    """The rings of edges that a piece of a section may have: the whole of it, and its halves where it has a middle."""
    edges = []
    seams = {e.name for e in section.edges} - {e.name for e in view.edges}
    for edge in section.edges:
        name = SEAM if edge.name in seams else base_name(edge.name) if section.side else edge.name
        edges.append(SplitEdge(name, edge.path))
    alone = replace(view, outline=section.outline, edges=tuple(edges))
    rings = [whole(alone)]
    if view.mirror_line is not None and section.side is None and intersections(
        paths.from_tuples(section.outline), long_mirror(view, rings[0].edges)
    ):  # fmt: skip
        for side in ("left", "right"):
            try:
                rings.append(half_of_view(alone, side))
            except GeometryError:  # nothing on it says which side it is: a placket
                continue
    return tuple(Half(r.side, *_with_seams_joined(list(zip(r.names, r.edges, strict=True)))) for r in rings)


def matched_again(shown: OnSection, piece: Piece) -> Registered:
    """Lay a piece that was opened out onto the same section.

    Raises:
        GeometryError: its edges are no more the section's.
    """
    for candidate in section_rings(shown.view, shown.section):
        on = _matched(candidate, piece)
        if on is not None:
            return on
    raise GeometryError(
        f"edges of {piece.name}",
        expected=f"those of the {shown.section.name}",
        got=", ".join(e.name for e in piece.edges),
        next_step="Give the piece whole instead of on the fold",
    )


def asks_for_two(shown: OnSection, piece: Piece) -> bool:
    """Whether a line runs through one of two twins only, so that a pair cannot be cut alike."""
    return shown.section.side is not None and not piece.side and not keeps_fold(shown.view)


def laid_on_view(view: SplitView, piece: Piece) -> Registered:
    """Lay a piece onto the body of a view, or onto the section of it that it shows.

    Raises:
        GeometryError: its edges are neither's.
    """
    shown = section_of(view, piece)
    return register(view, piece) if shown is None else shown.on


def shows_body(piece: Piece, view: SplitView) -> bool:
    """Whether a piece is one that the lines of a view may run over: of its body, or of a section of it."""
    return piece.area == "body" or any(s.area == piece.area for s in view.sections)


def _is_whole(view: SplitView, piece: Piece) -> bool:
    rings = [whole(view)]
    if view.mirror_line is not None:
        rings += [half_of_view(view, "left"), half_of_view(view, "right")]
    own = [(ring_name(e), e.path) for e in piece.edges]
    return any(match_rings(ring, own, strict=True) is not None for ring in rings)


def _matched(ring: Half, piece: Piece) -> Registered | None:
    known = {base_name(n) for n in ring.names} - {SEAM}
    own = []
    for edge in piece.edges:
        name = ring_name(edge)
        own.append((name if base_name(name) in known else SEAM, edge.path))
    names, found = _with_seams_joined(own)
    pairs = match_rings(ring, list(zip(names, found, strict=True)), strict=True)
    return None if pairs is None else Registered(ring, *pairs)


def _with_seams_joined(ring: list[tuple[str, Path]]) -> tuple[tuple[str, ...], tuple[Path, ...]]:
    """Take seams that follow each other for one, so that a corner between them needs no name."""
    start = next((k for k, (name, _) in enumerate(ring) if name != SEAM), 0)
    out: list[tuple[str, Path]] = []
    for name, path in ring[start:] + ring[:start]:
        if name == SEAM and out and out[-1][0] == SEAM:
            out[-1] = SEAM, paths.joined([out[-1][1], path])
        else:
            out.append((name, path))
    return tuple(n for n, _ in out), tuple(p for _, p in out)


def _polygon(section: SplitSection) -> shapely.Geometry:
    return shapely.make_valid(shapely.Polygon(flat_of(paths.from_tuples(section.outline), _FLAT_MM).points))


def clipped(path: Path, view: SplitView, section: SplitSection) -> list[Path]:
    """The parts of a path that lie in a section, in its direction."""
    seams = {e.name for e in section.edges} - {e.name for e in view.edges}
    at = {(0, 0.0), (len(path) - 1, 1.0)}
    for edge in section.edges:
        if edge.name in seams:
            at |= {p for p, _ in intersections(path, paths.from_tuples(edge.path))}
    stops, inner = sorted(at), _polygon(section)
    kept = []
    for a, b in itertools.pairwise(stops):
        part = paths.sub_path(path, a, b)
        ruler = Ruler(part)
        if ruler.total > _SHORT_MM and shapely.contains_xy(inner, *ruler.point(ruler.total / 2)):
            kept.append(part)
    return kept


def _runs_through(line: SplitLine, view: SplitView, section: SplitSection) -> bool:
    return bool(clipped(paths.from_tuples(line.path), view, section))
