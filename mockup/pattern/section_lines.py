"""Carry the lines of a view onto pieces that show one section of its body.

Distances are counted on the whole garment: one from the hem to a place in the bodice first goes along the skirt's own
piece, so that the sum on the pieces is what was typed. Where a line goes over a seam of the garment, both pieces have
it at the same share of that seam.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.curve import nearest
from mockup.geometry.intersect import intersections
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler, length_of
from mockup.geometry.similar import similar
from mockup.pattern.cut import CutLine
from mockup.pattern.darts import drawn_at, sewn_length
from mockup.pattern.piece import Piece, counter_clockwise
from mockup.pattern.register import Registered, carried
from mockup.pattern.sections import SEAM, OnSection, clipped, section_of, section_rings
from mockup.pattern.view_half import CENTRE, base_name, half_line, half_of_view, long_mirror, side_of
from mockup.split.split import Anchor, SplitLine, SplitSection, SplitView
from mockup.split.words import edge_said
from swatches.errors import GeometryError

_NEAR_MM = 0.5


def lines_on_section(shown: OnSection, piece: Piece, on: Registered, view: SplitView) -> tuple[CutLine, ...]:
    """Give the lines of ``view`` that run through a section, in the piece's mm.

    Args:
        shown: the section, and the pattern.
        piece: on the fold, whole, or one of a pair.
        on: that piece on the section.
        view: the view with the lines that are wanted.

    Raises:
        GeometryError: an end's typed distance is not on this piece, or cannot be counted without another piece.
    """
    done: list[CutLine] = []
    sided = on.half.side or shown.section.side or ""
    for line in view.lines:
        if line.symmetric and not paths.from_tuples(line.path).closed:
            halves = [sided] if sided else ["left", "right"]
            drawn = [half_line(line, shown.view, side) for side in halves]
            placed = [_parts(line, path, shown, piece, on) for path in drawn]
            if len(placed) == 2:
                done += _opened(line, *placed)
                continue
            done += placed[0]
        elif line.symmetric and on.half.side:
            done += _parts(line, half_line(line, shown.view, on.half.side), shown, piece, on)
        elif on.half.side and side_of(line, shown.view) != on.half.side:
            continue
        else:
            known = replace(line, name=line.name.removesuffix(f", {sided}")) if sided else line
            done += _parts(known, paths.from_tuples(line.path), shown, piece, on)
    return tuple(done)


def _parts(line: SplitLine, path: Path, shown: OnSection, piece: Piece, on: Registered) -> list[CutLine]:
    """Carry those parts of a line that lie in the section."""
    if path.closed:
        crossed = clipped(path, shown.view, shown.section)
        if [len(p) for p in crossed] != [len(path)]:
            raise GeometryError(
                f"line '{line.name}'",
                expected=f"a closed line within the {_word(shown.section, shown.view)}",
                got="one that crosses a seam of the garment",
                next_step="Move it, or make it smaller, so that it lies on one side of that seam",
            )
        return [carried(line, path, None, None, on, piece, on.to_piece())]
    mapped = on.to_piece()
    done = []
    for part in clipped(path, shown.view, shown.section):
        first = bool(np.allclose(part.start, path.start, atol=1e-6))
        last = bool(np.allclose(part.end, path.end, atol=1e-6))
        start, end = line.start if first else None, line.end if last else None
        whole_way = replace(line, symmetric=line.symmetric and last)
        done.append(
            carried(
                whole_way, part, start, end, on, piece, mapped,
                ends=(_end(line, part.start, start, shown, piece, on), _end(line, part.end, end, shown, piece, on)),
            )
        )  # fmt: skip
    return done


def _opened(line: SplitLine, left: list[CutLine], right: list[CutLine]) -> list[CutLine]:
    """The two halves of a symmetrical line on a whole piece: one line where they reach the middle, else two."""
    reach = [next((c for c in part if c.end == line.end and line.end is not None), None) for part in (left, right)]
    rest = [c for c in (*left, *right) if not any(c is r for r in reach)]
    a, b = reach
    if a is None or b is None:
        return [*left, *right]
    middle = (a.path.end + b.path.end) / 2
    one, other = similar(a.path, a.path.start, middle), similar(b.path, b.path.start, middle)
    path = paths.joined([one, paths.reversed_path(other)])
    return [CutLine(line.id, line.name, path, a.start, a.start, line.on_top), *rest]


def _end(
    line: SplitLine, at: Floats, anchor: Anchor | None, shown: OnSection, piece: Piece, on: Registered
) -> Floats | None:
    """Where an end is on the piece: by its typed distance, or at its share of a seam; None: inside, or on a line."""
    wanted = SEAM if anchor is None else CENTRE if anchor.edge.startswith("centre-") else anchor.edge
    near = [
        (nearest(path, at), path, other)
        for name, path, other in _edges(shown, on)
        if base_name(name) == wanted
    ]  # fmt: skip
    near = [n for n in near if n[0][2] < _NEAR_MM]
    if not near:
        return None
    (segment, t, _), drawn, sewn = min(near, key=lambda n: n[0][2])
    if anchor is None:
        ruler = Ruler(sewn)
        return ruler.point(ruler.total * Ruler(drawn).at((segment, t)) / length_of(drawn))
    return _counted(line, at, anchor, drawn, sewn, shown, piece)


def _edges(shown: OnSection, on: Registered) -> list[tuple[str, Path, Path]]:
    """The matched edges; on a whole piece the middle too, from edge to edge."""
    found = list(zip(on.names, on.on_view, on.on_piece, strict=True))
    if on.half.side or shown.view.mirror_line is None or CENTRE in on.names:
        return found
    mirror = long_mirror(shown.view, on.on_view)
    ends = []
    for _, drawn, sewn in found:
        ruler = Ruler(drawn)
        for position, _ in intersections(drawn, mirror):
            other = Ruler(sewn)
            ends.append(
                (paths.points_at(drawn, *position), other.point(other.total * ruler.at(position) / ruler.total))
            )
    if len(ends) >= 2:
        ends.sort(key=lambda e: -float(e[0][1]))
        (a, p), (b, q) = ends[0], ends[-1]
        if np.linalg.norm(p - q) > _NEAR_MM:
            found.append((CENTRE, paths.polyline([a, b]), paths.polyline([p, q])))
    return found


def _counted(
    line: SplitLine, at: Floats, anchor: Anchor, drawn: Path, sewn: Path, shown: OnSection, piece: Piece
) -> Floats:
    """The point of a piece's edge at a distance that is counted on the whole garment."""
    full = _whole_edge(shown.view, anchor.edge, at)
    here, from_ = _along(full, at), _landmark(shown.view, full, anchor, at)
    ends = _along(full, drawn.start), _along(full, drawn.end)
    low, high = min(ends), max(ends)
    edge = next((e for e in piece.edges if e.path is sewn), None)
    total = _sewn(piece, sewn)
    if low - _NEAR_MM <= from_ <= high + _NEAR_MM:
        share = (min(max(from_, low), high) - low) / (high - low)
        counted, rise = total * share, here >= from_
        distance = counted + anchor.distance_mm if rise else counted - anchor.distance_mm
    else:
        rise = from_ < low
        left = anchor.distance_mm - _before(line, anchor, full, (from_, low if rise else high), shown)
        distance = left if rise else total - left
    if not -1e-6 <= distance <= total + 1e-6:
        raise GeometryError(
            f"line '{line.name}'",
            expected=f"an end on the {edge_said(anchor.edge)} of {piece.name}, where the picture has it",
            got=f"{anchor.distance_mm:g} mm from the {anchor.start}, which on your pattern is on the next piece",
            next_step="Move the line away from the garment's own seam, or count its end from its other side",
        )
    distance = min(max(distance, 0.0), total)
    distance = distance if ends[0] < ends[1] else total - distance
    return Ruler(sewn).point(distance if edge is None else drawn_at(piece, edge.name, distance))


def _before(line: SplitLine, anchor: Anchor, full: Path, span: tuple[float, float], shown: OnSection) -> float:
    """Length along the other sections' pieces between a landmark and this section's part of an edge, mm."""
    low, high = min(span), max(span)
    total = 0.0
    for section in shown.view.sections:
        for name, path in _parts_of_edge(shown.view, section, anchor.edge):
            ends = sorted((_along(full, path.start), _along(full, path.end)))
            between = low - _NEAR_MM <= ends[0] and ends[1] <= high + _NEAR_MM and ends[1] - ends[0] > _NEAR_MM
            if section is shown.section or nearest(full, path.start)[2] > _NEAR_MM or not between:
                continue
            total += _on_its_piece(line, anchor, section, name, shown)
    return total


def _on_its_piece(line: SplitLine, anchor: Anchor, section: SplitSection, name: str, shown: OnSection) -> float:
    for piece in shown.others:
        if piece.view != shown.view.name or piece.layer != "shell" or piece.area not in (section.area, "body"):
            continue
        other = section_of(shown.view, piece)
        if other is None or other.section.area != section.area:
            continue
        for known, _, sewn in _edges(other, other.on):
            if base_name(known) == base_name(name):
                return _sewn(counter_clockwise(piece), sewn)
    here = _word(shown.section, shown.view)
    raise GeometryError(
        f"line '{line.name}'",
        expected=f"the piece of the {_word(section, shown.view)}, along which {anchor.distance_mm:g} mm from the "
        f"{anchor.start} are counted to the {here}",
        got="none among the pieces",
        next_step=f"Add that piece, or count the end from the {here}'s own end of the {edge_said(anchor.edge)}",
    )


def _sewn(piece: Piece, path: Path) -> float:
    """Length of a matched path on a piece: an edge's with its darts closed, or the middle's of a whole piece."""
    edge = next((e for e in piece.edges if e.path is path), None)
    return length_of(path) if edge is None else sewn_length(piece, edge.name)


def _word(section: SplitSection, view: SplitView) -> str:
    return f"rest of the {view.name}" if section.name == "section" else section.name


def _parts_of_edge(view: SplitView, section: SplitSection, edge: str) -> list[tuple[str, Path]]:
    if not edge.startswith("centre-"):
        return [(e.name, paths.from_tuples(e.path)) for e in section.edges if base_name(e.name) == edge]
    rings = [r for r in section_rings(view, section) if r.side == "left"]
    return [(CENTRE, path) for r in rings for name, path in zip(r.names, r.edges, strict=True) if name == CENTRE]


def _whole_edge(view: SplitView, edge: str, at: Floats) -> Path:
    """The view's edge of this name on which a point lies."""
    if edge.startswith("centre-"):
        return half_of_view(view, "left").edges[-1]
    found = [paths.from_tuples(e.path) for e in view.edges if base_name(e.name) == edge]
    return min(found, key=lambda p: nearest(p, at)[2])


def _along(path: Path, point: Floats) -> float:
    segment, t, _ = nearest(path, point)
    return Ruler(path).at((segment, t))


def _landmark(view: SplitView, full: Path, anchor: Anchor, at: Floats) -> float:
    """Where on an edge a distance is counted from: that place of the landmark's name that the drawn end agrees with."""
    names = {anchor.start, *(f"{anchor.start}-{word}" for word in ("left", "right", "centre"))}
    points = [np.array(view.landmarks[n]) for n in sorted(names) if n in view.landmarks]
    marks = [_along(full, p) for p in points if nearest(full, p)[2] < _NEAR_MM] or [0.0, length_of(full)]
    here = _along(full, at)
    return min(marks, key=lambda m: abs(abs(here - m) - anchor.distance_mm))
