"""Pattern pieces as the page draws them: lines, marks and words to scale, mm, y down, each piece in its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from mockup.files.arrange import in_rows
from mockup.files.svg_path import d_from_path
from mockup.files.words import fabric_name, label_place, title
from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.path import XY, Floats, Path
from mockup.geometry.ruler import Ruler
from mockup.journey.on_pieces import OnPiece
from mockup.pattern.allowance import CutOutline, cut_outline
from mockup.pattern.cut import CutLine
from mockup.pattern.cutting_list import how_to_cut
from mockup.pattern.darts import TIP_MM, leg_lines, leg_notches
from mockup.pattern.piece import Edge, EdgeKind, Piece
from mockup.sheets.piece_label import allowance_words
from mockup.sheets.seams import seam_letters
from mockup.split.split import Anchor
from swatches.errors import GeometryError

_FLAT_MM = 0.5  # of polylines that the pointer is held against; what is drawn is exact
_SAME_MM = 0.5
_CLEAR_MM = 28.0  # from a letter's middle to the grain's arrow: half of the largest letter, and its half head
_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74)  # of an edge, where its letter may stand


def drawn_pieces(
    pieces: Sequence[Piece], fabric_names: Mapping[str, str] | None = None, *, lines: Sequence[OnPiece] = ()
) -> dict[str, Any]:
    """Draw pieces side by side on one sheet.

    Args:
        pieces: in mm, y up.
        fabric_names: fabric id → the person's name for it.
        lines: the lines that cross each piece, in the same order; empty where none are shown.

    Returns:
        ``{"box": [x, y, w, h], "pieces": […]}``, mm, y down, as JSON takes it.
    """
    cuts = [_cut(p) for p in pieces]
    boxes = [paths.bounds(c.path if c is not None else p.outline) for c, p in zip(cuts, pieces, strict=True)]
    moves = in_rows(boxes) if boxes else []
    letters = seam_letters(pieces)
    shown = []
    for i, (piece, cut, move) in enumerate(zip(pieces, cuts, moves, strict=True)):
        place = np.array([[1.0, 0.0, move[0]], [0.0, 1.0, -move[1]]])
        own = {k: letter for (n, k), letter in letters.items() if n == i}
        row = _piece(piece, cut, place, own, fabric_names)
        row["lines"] = [_line(line, lines[i], place) for line in lines[i].lines] if lines else []
        row["trouble"] = lines[i].trouble if lines else ""
        shown.append(row)
    placed = [(b[0] + x, -b[3] + y, b[2] + x, -b[1] + y) for b, (x, y) in zip(boxes, moves, strict=True)]
    box = [0.0, 0.0, 100.0, 100.0]
    if placed:
        left, top = (min(b[k] for b in placed) for k in (0, 1))
        right, bottom = (max(b[k] for b in placed) for k in (2, 3))
        box = [left, top, right - left, bottom - top]
    return {"box": [round(v, 1) for v in box], "pieces": shown}


def _cut(piece: Piece) -> CutOutline | None:
    """The cut line; None where there is no allowance, or none that can be drawn."""
    try:
        return cut_outline(piece) if any(e.allowance_mm for e in piece.all_edges) else None
    except GeometryError:
        return None


def _piece(
    piece: Piece, cut: CutOutline | None, place: Floats, letters: Mapping[int, str], names: Mapping[str, str] | None
) -> dict[str, Any]:
    (x, y), radius = label_place(piece)
    grain = piece.grainline
    edges = []
    for k, edge in enumerate(piece.all_edges):
        ruler = Ruler(edge.path)
        edges.append(
            {
                "name": edge.name,
                "kind": str(edge.kind),
                "d": _d(edge.path, place),
                "length_mm": round(ruler.total, 2),
                "letter": letters.get(k, ""),
                "new": bool(edge.line_id),
                "at": _xy(_letter_at(edge, ruler.total, grain), place),
                "on": _xy(ruler.point(ruler.total / 2), place),
                "stroke": _d(_stroke(edge, ruler.total), place) if edge.line_id else "",
            }
        )
    return {
        "number": piece.number,
        "name": piece.name,
        "title": title(piece),
        "cloth": fabric_name(piece, names),
        "how": how_to_cut(piece),
        "layer": "" if piece.layer == "shell" else piece.layer,
        "allowance": allowance_words(piece),
        "cut": "" if cut is None else "".join(f"{_d(path, place)}Z" for path in (cut.path, *cut.holes)),
        "outline": "".join(f"{_d(path, place)}Z" for path in piece.outlines),
        "edges": edges,
        "grain": [_xy(np.array(p), place) for p in grain] if grain is not None else [],
        "notches": [
            *(_notch(piece.edge(n.edge), n.distance_mm, n.count, place) for n in piece.notches),
            *(_d(stroke, place) for stroke in leg_notches(piece)),
        ],
        "marks": [_d(path, place) for path in (*(m.path for m in piece.marks), *_legs(piece))],
        "label": [*_xy(np.array([x, y]), place), round(radius, 1)],
    }


def _legs(piece: Piece) -> list[Path]:
    """Each dart's two legs, and the mark at its point."""
    tips = [circular_arc(dart.tip, TIP_MM, 0, 360) for dart in piece.darts]
    return [*(leg_lines(piece, dart) for dart in piece.darts), *tips]


def _line(line: CutLine, on: OnPiece, place: Floats) -> dict[str, Any]:
    ends = (
        _end("start", line.start, line.path.start, on.piece, place),
        _end("end", line.end, line.path.end, on.piece, place),
    )
    points = [
        # what a mm to the right and a mm down on the sheet are in shares of the body
        {"index": p.index, "at": _xy(np.array(p.at), place), "per_mm": [[right, -up] for right, up in p.per_mm]}
        for p in on.between
        if p.line == line.id
    ]
    return {
        "id": line.id,
        "name": line.name,
        "d": _d(line.path, place),
        "ends": [e for e in ends if e is not None],
        "points": points,
    }


def _end(which: str, anchor: Anchor | None, at: Floats, piece: Piece, place: Floats) -> dict[str, Any] | None:
    """A line's end that can be moved along its edge: the edge as a polyline that begins at the landmark."""
    if anchor is None:
        return None
    for edge in piece.edges:
        ruler = Ruler(edge.path)
        for path in (edge.path, paths.reversed_path(edge.path)):
            there = Ruler(path)
            if anchor.distance_mm > ruler.total + 1e-6:
                continue
            if float(np.linalg.norm(there.point(anchor.distance_mm) - at)) > _SAME_MM:
                continue
            points = paths.flatten(path, _FLAT_MM).points
            return {
                "which": which,
                "at": _xy(at, place),
                "distance_mm": round(anchor.distance_mm, 3),
                "edge": anchor.edge,
                "from": anchor.start,
                "along": [_xy(p, place) for p in points],
            }
    return None


def _stroke(edge: Edge, size: float) -> Path:
    """The bold stroke of a seam that a line made: the middle of the edge, as on paper."""
    reach = min(14.0, size / 4)
    return paths.between(edge.path, size / 2 - reach, size / 2 + reach)


def _square(path: Path, distance: float) -> tuple[Floats, Floats]:
    segment, t = paths.locate(path, distance)
    point, along = paths.points_at(path, segment, t), paths.tangent(path, segment, t)
    return point, np.array([along[1], -along[0]])


def _beside(edge: Edge, distance: float) -> Floats:
    """Where an edge's letter stands: inside the stitch line."""
    point, outward = _square(edge.path, distance)
    return np.asarray(point - 16.0 * outward)


def _letter_at(edge: Edge, size: float, grain: tuple[XY, XY] | None) -> Floats:
    """Where an edge's letter stands: at its middle, or as near to it as the grain's arrow leaves room."""
    places = [_beside(edge, size * share) for share in _SHARES]
    if grain is None:
        return places[0]
    arrow = shapely.LineString(grain)
    rooms = [arrow.distance(shapely.Point(p)) for p in places]
    return next((p for p, room in zip(places, rooms, strict=True) if room >= _CLEAR_MM), places[int(np.argmax(rooms))])


def _notch(edge: Edge, distance: float, count: int, place: Floats) -> str:
    strokes = []
    for k in range(count):
        point, outward = _square(edge.path, distance + (k - (count - 1) / 2) * 5.0)
        outer = edge.allowance_mm if edge.kind is not EdgeKind.FOLD else 0.0
        ends = [_xy(point - 3.0 * outward, place), _xy(point + max(outer, 3.0) * outward, place)]
        strokes.append("M{} {}L{} {}".format(*ends[0], *ends[1]))
    return "".join(strokes)


def _d(path: Path, place: Floats) -> str:
    return d_from_path(Path(paths.transformed(path, place).cubics.round(2)))


def _xy(point: Floats, place: Floats) -> list[float]:
    x, y = place[:, :2] @ point + place[:, 2]
    return [round(float(x), 2), round(float(-y), 2)]
