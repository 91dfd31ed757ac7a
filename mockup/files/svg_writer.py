"""The pen of :mod:`mockup.files.svg`: pieces as SVG that is good to look at and to read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from mockup.files.arrange import in_rows
from mockup.files.cut_runs import cut_runs
from mockup.files.svg_path import d_from_path, number, pair
from mockup.files.words import fabric_name, label_place, title
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.pattern.allowance import cut_outline
from mockup.pattern.cutting_list import how_to_cut
from mockup.pattern.darts import leg_lines, leg_notches
from mockup.pattern.notches import BARE_MM
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from swatches.errors import GeometryError
from swatches.units import length

_MARGIN = 12.0  # mm round the drawing
_FOLD_WORDS, _FOLD_SIZE = 6.0, 5.0  # mm from the fold, and their size
_EM = 0.46  # of the font's size: an average letter is so wide
_STYLE = """
    .sheet { fill: #fbfaf6 }
    .paper { fill: #ffffff }
    .cut { fill: none; stroke: #1d2433; stroke-width: 0.7; stroke-linejoin: round }
    .stitch, .hem { fill: none; stroke: #3b4a6b; stroke-width: 0.45; stroke-dasharray: 4 2 }
    .outline { fill: none; stroke: #1d2433; stroke-width: 0.6 }
    .fold { fill: none; stroke: #a4452c; stroke-width: 0.6; stroke-dasharray: 12 2 2 2 }
    .quiet { fill: none; stroke: none }
    .grain, .notch, .mark { fill: none; stroke: #1d2433; stroke-width: 0.45 }
    .mark { stroke-dasharray: 1.5 1.5 }
    text { font-family: "Alegreya Sans", "Gill Sans", Calibri, sans-serif; fill: #1d2433; text-anchor: middle }
"""


def write_pieces(pieces: Sequence[Piece], *, fabric_names: Mapping[str, str] | None = None) -> str:
    """Write one or several pieces as one SVG document (mm, y down), side by side where there are several.

    A single piece keeps its coordinates as they are. The cut line and labels are drawn for the eye and not read back.

    Raises:
        ValueError: no piece was given.
    """
    if not pieces:
        raise ValueError("pieces: expected at least one")
    cuts = [_drawable_cut_lines(p) for p in pieces]
    boxes = [paths.bounds(c[0] if c is not None else p.outline) for c, p in zip(cuts, pieces, strict=True)]
    moves = in_rows(boxes)
    placed = [(b[0] + x, -b[3] + y, b[2] + x, -b[1] + y) for b, (x, y) in zip(boxes, moves, strict=True)]
    left, top = (math.floor(min(b[k] for b in placed) - _MARGIN) for k in (0, 1))
    right, bottom = (math.ceil(max(b[k] for b in placed) + _MARGIN) for k in (2, 3))
    width, height = right - left, bottom - top
    names = ", ".join(title(p) for p in pieces[:6]) + (" …" if len(pieces) > 6 else "")
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="{left} {top} {width} {height}">',
        f"  <title>Pattern pieces: {escape(names)}</title>",
        "  <desc>Millimetres. One group a piece, one path an edge, on the stitch line.</desc>",
        f"  <style>{_STYLE}  </style>",
        f'  <g data-drawn="sheet"><path class="sheet" d="M {left},{top} h {width} v {height} h {-width} Z"/></g>',
    ]
    for piece, cut, move in zip(pieces, cuts, moves, strict=True):
        lines += _group(piece, cut, move, fabric_names)
    return "\n".join([*lines, "</svg>", ""])


def _group(
    piece: Piece, cuts: list[Path] | None, move: tuple[float, float], names: Mapping[str, str] | None
) -> list[str]:
    known = {
        "piece": piece.name,
        "view": piece.view,
        "area": piece.area,
        "how": str(piece.how),
        "layer": piece.layer,
        "number": str(piece.number) if piece.number else "",
        "side": piece.side,
        "fabric": piece.fabric,
        "rsu": "true" if piece.right_side_up else "",
        "count": str(piece.count) if piece.count != 1 else "",
        "parent": piece.parent,
        "size": piece.size,
    }
    attributes = _data(known)
    if move != (0.0, 0.0):
        x, y = (number(v) for v in move)
        attributes += f' data-moved="{x},{y}" transform="translate({x} {y})"'
    shown = f"{piece.number}. {title(piece)}" if piece.number else title(piece)
    lines = [f"  <g {attributes}>", f"    <title>{escape(shown)}, {escape(how_to_cut(piece))}</title>"]
    if cuts is not None:
        shown = " ".join(d_from_path(path, close=True) for path in cuts)
        lines.append(f'    <path data-drawn="paper" class="paper" d="{shown}"/>')
        for on_fold, run in (r for path in cuts for r in cut_runs(path, piece.fold)):
            what, kind = ("fold", "fold") if on_fold else ("cut line", "cut")
            lines.append(f'    <path data-drawn="{what}" class="{kind}" d="{d_from_path(run, close=run.closed)}"/>')
    lines += [_edge(e, k, drawn_cut=cuts is not None) for k, ring in enumerate(piece.rings) for e in ring]
    for dart in piece.darts:
        d = d_from_path(leg_lines(piece, dart))
        lines.append(f'    <path {_data({"dart": dart.name, "on": dart.edge})} class="stitch" d="{d}"/>')
    if piece.grainline is not None:
        tail, head = (np.array(p) for p in piece.grainline)
        lines.append(f'    <path data-grainline="" class="grain" d="M {pair(tail)} L {pair(head)}"/>')
        lines.append(f'    <path data-drawn="arrow heads" class="grain" d="{_heads(tail, head)}"/>')
    for n in piece.notches:
        d = _tick(piece.edge(n.edge), n.distance_mm, n.count)
        known = {"notch": n.edge, "distance": number(n.distance_mm), "marks": str(n.count) if n.count != 1 else ""}
        lines.append(f'    <path {_data(known)} class="notch" d="{d}"/>')
    if piece.darts:
        d = " ".join(d_from_path(stroke) for stroke in leg_notches(piece, inside_mm=0.0, bare_mm=BARE_MM))
        lines.append(f'    <path data-drawn="notches of darts" class="notch" d="{d}"/>')
    for m in piece.marks:
        lines.append(f'    <path {_data({"mark": m.name, "kind": m.kind})} class="mark" d="{d_from_path(m.path)}"/>')
    return [*lines, *_label(piece, names), "  </g>"]


def _edge(edge: Edge, hole: int, *, drawn_cut: bool) -> str:
    known = edge_data(edge) | {"hole": str(hole or "")}
    if edge.corner == "mitre":  # as nearly all are: what is not written is that
        known["corner"] = ""
    fold = "quiet" if drawn_cut else "fold"
    kind = {EdgeKind.FOLD: fold, EdgeKind.CUT: "outline"}.get(edge.kind, "stitch" if drawn_cut else "outline")
    return f'    <path {_data(known)} class="{kind}" d="{d_from_path(edge.path)}"/>'


def edge_data(edge: Edge) -> dict[str, str]:
    """What a file keeps of an edge besides its line: key → text, empty where there is nothing to keep."""
    return {
        "edge": edge.name,
        "kind": str(edge.kind),
        "allowance": allowance_text(edge),
        "mate": edge.mate,
        "start": edge.start_name,
        "end": edge.end_name,
        "line": edge.line_id,
        "corner": str(edge.corner),
    }


def allowance_text(edge: Edge) -> str:
    """Give an edge's allowance with its unit as typed, without a blank: ``15mm``, ``5/8in``; empty where it is 0."""
    if edge.allowance_mm == 0:
        return ""
    if edge.allowance_text:
        typed = length(edge.allowance_text)
        if abs(typed.mm - edge.allowance_mm) <= 1e-9:
            whole, _, rest = str(typed).rpartition(" ")
            return f"{whole}{rest}"
    return f"{number(edge.allowance_mm)}mm"


def _data(known: Mapping[str, str]) -> str:
    """Attributes in their order; empty ones are left out, but the first, which says what the element is."""
    return " ".join(f"data-{k}={quoteattr(v)}" for i, (k, v) in enumerate(known.items()) if v or i == 0)


def _drawable_cut_lines(piece: Piece) -> list[Path] | None:
    """The cut line and those of openings, or None where there is no allowance, or none that can be drawn.

    The pieces are read back anyway.
    """
    if not any(e.allowance_mm for e in piece.all_edges):
        return None
    try:
        made = cut_outline(piece)
    except GeometryError:
        return None
    return [Path(path.cubics.round(3)) for path in (made.path, *made.holes)]


def _heads(tail: Floats, head: Floats) -> str:
    along = (head - tail) / max(float(np.linalg.norm(head - tail)), 1e-9)
    across = np.array([-along[1], along[0]])
    parts = []
    for tip, back in ((head, -along), (tail, along)):
        wings = [(tip + 6 * back + side * across).round(3) for side in (2, -2)]
        parts.append(f"M {pair(wings[0])} L {pair(tip.round(3))} L {pair(wings[1])}")
    return " ".join(parts)


def _tick(edge: Edge, distance: float, count: int) -> str:
    """A notch: short strokes square to the stitch line, outward across the allowance."""
    outward_length = min(edge.allowance_mm, 8.0) or BARE_MM
    strokes = []
    for k in range(count):
        at = distance + (k - (count - 1) / 2) * 5.0
        segment, t = paths.locate(edge.path, at)
        point, along = paths.points_at(edge.path, segment, t), paths.tangent(edge.path, segment, t)
        outward = np.array([along[1], -along[0]])
        strokes.append(f"M {pair(point.round(3))} L {pair((point + outward_length * outward).round(3))}")
    return " ".join(strokes)


def _label(piece: Piece, names: Mapping[str, str] | None) -> list[str]:
    fold = piece.fold if piece.how is HowToCut.ON_FOLD else None
    (x, y), radius = label_place(piece, [] if fold is None else [_beside(fold)])
    rows = [title(piece), how_to_cut(piece), fabric_name(piece, names), f"size {piece.size}" if piece.size else ""]
    rows = [r for r in rows if r]
    rows[0] = f"{piece.number}. {rows[0]}" if piece.number else rows[0]
    size = min(9.0, max(2.5, min(radius / 3, 2 * radius / (_EM * max(len(r) for r in rows)))))
    top = y + size * 1.3 * (len(rows) - 1) / 2
    lines = ['    <g data-drawn="label">']
    for i, row in enumerate(rows):
        weight = ' font-weight="700"' if i == 0 else ""
        ax, ay = pair((x, top - i * 1.3 * size)).split(",")
        shown = number(round(size if i == 0 else size * 0.8, 2))
        lines.append(f'      <text x="{_short(ax)}" y="{_short(ay)}" font-size="{shown}"{weight}>{escape(row)}</text>')
    if fold is not None:
        lines.append(_fold_words(fold))
    return [*lines, "    </g>"]


def _beside(fold: Edge) -> Path:
    """The line on which the fold's words stand."""
    along = fold.path.end - fold.path.start
    inward = np.array([-along[1], along[0]]) / max(float(np.linalg.norm(along)), 1e-9)
    return paths.polyline([fold.path.start + inward * _FOLD_WORDS, fold.path.end + inward * _FOLD_WORDS])


def _fold_words(fold: Edge) -> str:
    line = _beside(fold)
    along = line.end - line.start
    x, y = (_short(v) for v in pair((line.start + line.end) / 2).split(","))
    angle = -math.degrees(math.atan2(along[1], along[0]))
    angle = (angle + 90) % 180 - 90 if abs(abs(angle) - 90) > 1e-6 else -90.0
    turn = f"rotate({number(round(angle, 3))} {x} {y})"
    return f'      <text x="{x}" y="{y}" font-size="{_FOLD_SIZE:g}" transform="{turn}">place on fold</text>'


def _short(text: str) -> str:
    return number(round(float(text), 2))
