"""Cut lines that meet darts: the dart is folded closed, the line cut, and the dart opened again.

Folded, the line runs smoothly over the dart's legs. Opened, it comes to one leg, crosses the wedge along the cap, and
leaves the other leg as far from the tip as it came. The part with the tip keeps the dart, which now opens on the new
seam; a part that has the wedge but not the tip is closed for good, the side behind the dart turned about the tip until
the legs meet, as a yoke cut through a waist dart is (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.intersect import intersections, nearest_position
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler, length_of, polygon_of
from mockup.geometry.similar import similar
from mockup.pattern.dart_close import closed_wedge
from mockup.pattern.dart_pressing import pressed_leg
from mockup.pattern.darts import cap_over, drawn_at, leg_lines, openings, sewn_length, sewn_path, turned_about
from mockup.pattern.flat_cut import CutResult, cut_flat
from mockup.pattern.notches import notch_count, seam_notches
from mockup.pattern.piece import Dart, EdgeKind, Notch, Piece
from mockup.pattern.proof import STITCH_MM, Proof, ProofRow, containment
from mockup.pattern.snap import SNAP_MM, CutLine
from mockup.split.words import edge_said, tenths
from swatches.errors import GeometryError

TRUED_MM = 60.0  # our own choice: so far from a dart's leg on either side the line is trued, where it is so long
_ON_LINE_MM = 1e-6
_Hit = tuple[tuple[int, float], int]  # position on the line, leg 0 or 1


@dataclass(frozen=True, slots=True, eq=False)
class _Crossing:
    """A line over a dart: where it meets the dart's first and second leg, opened."""

    dart: Dart
    line: str
    first: Floats
    second: Floats


def tips_met(piece: Piece, line: CutLine) -> list[Dart]:
    """Darts in whose tip a line ends."""
    if line.path.closed:
        return []
    ends = np.array([line.path.start, line.path.end])
    return [d for d in piece.darts if np.linalg.norm(ends - np.array(d.tip), axis=1).min() <= SNAP_MM]


def cut_over_darts(piece: Piece, lines: Sequence[CutLine], allowance_mm: float, allowance_text: str) -> CutResult:
    """Cut a piece along lines of which some meet its darts; arguments as of :func:`mockup.pattern.flat_cut.cut_flat`.

    Raises:
        GeometryError: as there; also a line that ends in a dart's opening, or passes too near its tip to be folded.
    """
    opened, crossings = [], []
    for line in lines:
        path, met = _opened(line, piece)
        opened.append(replace(line, path=path))
        crossings += met
    if not crossings:
        return cut_flat(piece, lines, allowance_mm, allowance_text)
    flat = cut_flat(piece, opened, allowance_mm, allowance_text, contained=False)
    children, rows, notes = [], list(flat.proof.rows), list(flat.notes)
    for child in flat.children:
        finished, measured, said = _closed(_with_openings(child, crossings), crossings)
        children.append(finished)
        rows += measured
        notes += said
    for c in crossings:
        away, name = float(np.linalg.norm(c.first - np.array(c.dart.tip))), c.dart.name
        called = next(line.name for line in lines if line.id == c.line)
        notes.append(f"{called} was laid with the {name} folded and crosses its legs {tenths(away)} from the tip.")
    done = _notched(children, {c.line for c in crossings})
    rows += _sewn_rows(done)
    rows += [containment(child) for child in done]
    proof = Proof(flat.proof.area_error_mm2, flat.proof.stitch_difference_mm, flat.proof.rejoin_error_mm, tuple(rows))
    return CutResult(done, proof, tuple(dict.fromkeys(notes)), flat.origins)


def _opened(line: CutLine, piece: Piece) -> tuple[Path, list[_Crossing]]:
    """A line drawn over darts as it runs on the open piece, and where it crosses their legs."""
    found = []
    for dart in piece.darts:
        hits = _hits(line, piece, dart)
        if hits:
            found.append((hits, dart))
    if not found:
        return line.path, []
    if line.path.closed:
        raise _refused(line, found[0][1], "a closed shape beside it", "one that lies over it", "Move the shape")
    found.sort(key=lambda f: f[0][0][0])
    onward = [np.eye(3)]  # open → folded, for what lies behind each dart
    for hits, dart in found:
        legs, leg = openings(piece, dart), hits[0][1]
        turn = turned_about(np.array(dart.tip), legs[1 - leg], legs[leg])
        onward.append(onward[-1] @ np.vstack([turn, [0.0, 0.0, 1.0]]))
    folded = _folded(line.path, [(hits, np.array(dart.tip)) for hits, dart in found], onward)
    positions = [(0, 0.0)]
    for k, (hits, dart) in enumerate(found):
        tip, end = np.array(dart.tip), openings(piece, dart)[hits[0][1]]
        near = paths.transformed(paths.polyline([tip, end]), onward[k])
        met = [(p, q) for p, q in intersections(folded, near) if p > positions[-1]]
        reach = float(np.linalg.norm(end - tip))
        if not met or not SNAP_MM < met[0][1][1] * reach < reach - SNAP_MM:
            raise _too_near(line, dart, [np.linalg.norm(paths.points_at(line.path, *p) - tip) for p, _ in hits], reach)
        positions.append(met[0][0])
    positions.append((len(folded) - 1, 1.0))
    parts: list[Path] = []
    crossings = []
    for k, back in enumerate(onward):
        section = paths.sub_path(folded, positions[k], positions[k + 1])
        section = paths.transformed(section, np.linalg.inv(back))
        if k:
            hits, dart = found[k - 1]
            leg = hits[0][1]
            here, there = parts[-1].end, section.start
            tip = np.array(dart.tip)
            first, second = (here, there) if leg == 0 else (there, here)
            # The cap mirrors the line on the side that the dart is pressed to, whichever way the line comes.
            onto = pressed_leg(piece, tip, openings(piece, dart))
            parts.append(cap_over(parts[-1], section, tip, int(onto != leg)))
            crossings.append(_Crossing(dart, line.id, first, second))
        parts.append(section)
    path = paths.joined(parts)
    cubics = path.cubics.copy()
    cubics[-1, 3] = line.path.end
    return _as_met(Path(cubics), line.path, piece), crossings


def _as_met(path: Path, drawn: Path, piece: Piece) -> Path:
    """The line with the direction in which it was drawn wherever it ends on a fold, by turning its last handle.

    Evening out a line over a dart turns what lies beside the dart by a fraction of a degree. Anywhere else that is
    lost in the drawing; at a fold, where the line goes on as its own mirror image, it would make a point.
    """
    folds = [e.path for e in piece.all_edges if e.kind is EdgeKind.FOLD]
    cubics = path.cubics.copy()
    for end, handle, tangent, back in (
        ((0, 0), (0, 1), paths.tangent(drawn, 0, 0.0), 1.0),
        ((-1, 3), (-1, 2), paths.tangent(drawn, len(drawn) - 1, 1.0), -1.0),
    ):
        if any(nearest_position(fold, cubics[end], 0.01)[1] <= SNAP_MM for fold in folds):
            cubics[handle] = cubics[end] + back * np.linalg.norm(cubics[handle] - cubics[end]) * tangent
    return Path(cubics)


def _folded(path: Path, met: Sequence[tuple[list[_Hit], Floats]], onward: Sequence[Floats]) -> Path:
    """The line as it lies when the darts are folded: as drawn on either side, trued where it goes over a dart.

    Drawn on open paper, a line comes to the two legs at somewhat different distances from the tip, and at an angle
    that makes a point when they are sewn together. The distances are evened out, and the last centimetres on both
    sides are one smooth curve.
    """
    stops = [(0, 0.0), *(position for hits, _ in met for position, _ in hits), (len(path) - 1, 1.0)]
    sections = []
    for k, back in enumerate(onward):
        section = paths.sub_path(path, stops[2 * k], stops[2 * k + 1])
        ends = [section.start, section.end]
        for end, n in ((0, k - 1), (1, k)):
            if 0 <= n < len(met):
                ends[end] = _evened(ends[end], path, *met[n])
        sections.append(paths.transformed(similar(section, *ends), back))
    return _trued(sections)


def _evened(point: Floats, path: Path, hits: list[_Hit], tip: Floats) -> Floats:
    """A place on a leg moved along it to the mean of both crossings' distances from the tip."""
    away = [float(np.linalg.norm(paths.points_at(path, *position) - tip)) for position, _ in hits]
    way = point - tip
    return np.asarray(tip + way / np.linalg.norm(way) * (away[0] + away[1]) / 2)


def _trued(sections: Sequence[Path]) -> Path:
    """Sections end to end as one line without a point where they meet."""
    parts: list[Path] = []
    for k, section in enumerate(sections):
        ruler = Ruler(section)
        over = min(TRUED_MM, 0.45 * ruler.total)
        low = over if k else 0.0
        high = ruler.total - (over if k + 1 < len(sections) else 0.0)
        kept = paths.sub_path(section, ruler.locate(low), ruler.locate(high))
        if parts:
            before = parts[-1]
            out = paths.tangent(before, len(before) - 1, 1.0)
            back = paths.tangent(kept, 0, 0.0)
            arm = float(np.linalg.norm(kept.start - before.end)) / 3
            bridge = [before.end, before.end + arm * out, kept.start - arm * back, kept.start]
            parts.append(Path(np.array([bridge])))
        parts.append(kept)
    return paths.joined(parts)


def _hits(line: CutLine, piece: Piece, dart: Dart) -> list[_Hit]:
    """Where a line crosses a dart's legs, one crossing of each: (position on the line, leg 0 or 1), or none at all."""
    tip = np.array(dart.tip)
    found = []
    touches = 0
    for position, (leg, _) in intersections(line.path, leg_lines(piece, dart)):
        if np.linalg.norm(paths.points_at(line.path, *position) - tip) > SNAP_MM:
            found.append((position, leg))
        else:
            touches += 1
    if not found:
        return []
    if touches or len(found) != 2 or {leg for _, leg in found} != {0, 1}:
        raise _refused(
            line,
            dart,
            "a line that crosses both its legs once, or ends in its tip",
            "one that runs into its tip and over a leg" if touches else f"one that crosses its legs {len(found)} times",
            "End the line on the sewn part of the edge, beside the dart",
        )
    return found


def _with_openings(child: Piece, crossings: Sequence[_Crossing]) -> Piece:
    """The child with every place where a crossed dart opens on a new seam of it as a dart record of its own."""
    made = list(child.darts)
    for crossing in crossings:
        for edge in child.all_edges:
            if edge.line_id != crossing.line:
                continue
            ruler = Ruler(edge.path)
            met = [nearest_position(edge.path, p, 0.01) for p in (crossing.first, crossing.second)]
            if max(gap for _, gap in met) <= _ON_LINE_MM:
                low, high = sorted(ruler.at(position) for position, _ in met)
                made.append(Dart(crossing.dart.name, edge.name, low, high, crossing.dart.tip))
    return child.with_(darts=tuple(made))


def _closed(child: Piece, crossings: Sequence[_Crossing]) -> tuple[Piece, list[ProofRow], list[str]]:
    """Close for good every wedge without its tip."""
    rows: list[ProofRow] = []
    notes: list[str] = []
    for name in dict.fromkeys(c.dart.name for c in crossings):
        mine = [d for d in child.darts if d.name == name]
        if len(mine) == 2:
            child, measured, bends = closed_wedge(child, mine[0], mine[1])
            rows += measured
            notes += [f"{child.name}: {text}" for text in bends]
            notes.append(
                f"In {child.name} the {name} is folded away: the part behind it is turned until its legs meet."
            )
        elif mine and not shapely.contains_xy(polygon_of(child.outlines, 0.02), *mine[0].tip):
            raise GeometryError(
                f"dart {name} of {child.parent}",
                expected="lines that leave its tip or its whole width to each part",
                got=f"a part, {child.name}, with an end of its wedge only",
                next_step="Let the lines cross the dart one after the other",
                place=mine[0].tip,
            )
    return child, rows, notes


def _notched(children: Sequence[Piece], lines: set[str]) -> tuple[Piece, ...]:
    """Notch the seams over darts again, at places counted with the darts closed, the same on both sides."""
    index = {f"{c.name}:{e.name}": (k, e) for k, c in enumerate(children) for e in c.all_edges if e.line_id in lines}
    gone = {(k, e.name) for k, e in index.values()}
    marks = [[n for n in c.notches if (k, n.edge) not in gone] for k, c in enumerate(children)]
    for key, (k, edge) in index.items():
        if edge.mate not in index or edge.mate < key:
            continue
        m, twin = index[edge.mate]
        piece, other = children[k], children[m]
        total, count = sewn_length(piece, edge.name), notch_count(piece)
        for distance in seam_notches(sewn_path(piece, edge.name), edge.allowance_mm):
            marks[k].append(Notch(edge.name, drawn_at(piece, edge.name, distance), count))
            marks[m].append(Notch(twin.name, drawn_at(other, twin.name, total - distance), count))
    return tuple(c.with_(notches=tuple(found)) for c, found in zip(children, marks, strict=True))


def _sewn_rows(children: Sequence[Piece]) -> list[ProofRow]:
    """Both sides of every seam, measured with the darts closed."""
    edges = {f"{c.name}:{e.name}": (c, e) for c in children for e in c.all_edges}
    rows = []
    for key, (piece, edge) in edges.items():
        if edge.line_id and edge.mate in edges and key < edge.mate:
            other, twin = edges[edge.mate]
            apart = abs(length_of(sewn_path(piece, edge.name)) - length_of(sewn_path(other, twin.name)))
            rows.append(ProofRow(f"{piece.name} to {other.name}: {edge.name}, darts closed", apart, STITCH_MM, "mm"))
    return rows


def _too_near(line: CutLine, dart: Dart, away: Sequence[np.floating[Any]], reach: float) -> GeometryError:
    """A line that cannot be folded since it crosses the legs too near to one of their ends.

    Args:
        line: as drawn.
        dart: the one that it crosses.
        away: how far from the tip it crosses the two legs, mm.
        reach: length of a leg, mm.
    """
    at = float(sum(away)) / len(away)
    if at < reach / 2:
        got = f"one that passes too near to its tip to be folded, {tenths(at)}"
        step = "Move the line away from the tip, or end it in the tip"
    else:
        edge = edge_said(dart.edge)
        got = f"one that passes too near to its mouth to be folded, {tenths(max(0.0, reach - at))} from the {edge}"
        step = f"Move the line farther from the {edge}, until it crosses both legs, or past the dart"
    return _refused(
        line, dart, f"a line that crosses its legs, {reach:.0f} mm long, well between their ends", got, step
    )


def _refused(line: CutLine, dart: Dart, expected: str, got: str, next_step: str) -> GeometryError:
    return GeometryError(
        f"line '{line.name}' at the {dart.name}", expected=expected, got=got, next_step=next_step, place=dart.tip
    )
