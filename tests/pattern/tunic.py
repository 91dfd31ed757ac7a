"""A small invented garment for the tests: a boxy choir tunic, half a front and half a back on the fold, a sleeve.

The picture's view is the piece itself, unfolded and scaled like a drawing that is not quite in proportion, so that what
is carried back can be checked without any picture.
"""

from __future__ import annotations

import re

import numpy as np

from mockup.files import svg
from mockup.geometry import path as paths
from mockup.geometry.faces import faces
from mockup.geometry.path import Path
from mockup.geometry.ruler import Ruler
from mockup.pattern.cut import CutLine
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece, counter_clockwise
from mockup.pattern.register import carried_lines, register
from mockup.pattern.unfold import unfolded
from mockup.split.split import Anchor, Split, SplitEdge, SplitLine, SplitPanel, SplitView

SX, SY = 1.06, 0.95  # a drawing is never quite in proportion


def cubic(*points):
    return Path(np.array([points], dtype=float))


def half(side: str = "front") -> Piece:
    """Half a body on the fold at x = 0, wearer's left of a front (right of a back) at +x."""
    neck_y = 600.0 if side == "front" else 690.0
    other = "back" if side == "front" else "front"
    edges = (
        Edge("hem", cubic((0, 0), (100, 0), (200, 0), (300, 8)), EdgeKind.HEM, 30,
             start_name="hem-centre", end_name="hem"),
        Edge("side", cubic((300, 8), (285, 160), (275, 310), (272, 460)), allowance_mm=15, mate=f"{other}:side",
             start_name="hem", end_name="underarm"),
        Edge("armhole", cubic((272, 460), (215, 465), (190, 560), (215, 680)), allowance_mm=10,
             mate=f"sleeve:cap-{side}", start_name="underarm", end_name="shoulder"),
        Edge("shoulder", paths.polyline([(215, 680), (110, 715)]), allowance_mm=15, mate=f"{other}:shoulder",
             start_name="shoulder", end_name="neck"),
        Edge("neck", cubic((110, 715), (90, 640), (60, neck_y), (0, neck_y)), allowance_mm=10, start_name="neck",
             end_name="neck-centre"),
        Edge(f"centre-{side}", paths.polyline([(0, neck_y), (0, 0)]), EdgeKind.FOLD, start_name="neck", end_name="hem"),
    )  # fmt: skip
    return Piece(side, edges, view=side, grainline=((60, 120), (60, 520)), how=HowToCut.ON_FOLD)


def sleeve() -> Piece:
    """One of a pair, cap above, front of the cap at +x: the wearer's right."""
    edges = (
        Edge("hem", paths.polyline([(-150, 0), (150, 0)]), EdgeKind.HEM, 30),
        Edge("underarm-front", paths.polyline([(150, 0), (220, 330)]), allowance_mm=15, mate="sleeve:underarm-back"),
        Edge("cap-front", cubic((220, 330), (130, 335), (100, 430), (0, 430)), allowance_mm=10, mate="front:armhole"),
        Edge("cap-back", cubic((0, 430), (-100, 430), (-130, 335), (-220, 330)), allowance_mm=10, mate="back:armhole"),
        Edge("underarm-back", paths.polyline([(-220, 330), (-150, 0)]), allowance_mm=15, mate="sleeve:underarm-front"),
    )
    return Piece("sleeve", edges, view="front", area="sleeve", grainline=((0, 60), (0, 360)), how=HowToCut.PAIR)


def whole_view(piece: Piece, sx: float = 1.0, sy: float = 1.0) -> tuple[Piece, dict[str, Path]]:
    """The unfolded piece scaled like a drawing, with its edges by name."""
    whole, _ = unfolded(piece)
    edges = {e.name: paths.transformed(e.path, [[sx, 0, 0], [0, sy, 0]]) for e in whole.edges}
    return whole, edges


def view(piece: Piece, lines=(), fabrics=None, sx: float = 1.0, sy: float = 1.0) -> SplitView:
    """A split view of a body piece, cut by lines given in the view's mm; panels numbered from the hem up."""
    _, edges = whole_view(piece, sx, sy)
    outline = paths.joined(list(edges.values()))
    found = faces(outline, [paths.from_tuples(line.path) for line in lines])
    mids = [paths.bounds(f.outline) for f in found]
    order = sorted(range(len(found)), key=lambda k: ((mids[k][1] + mids[k][3]) / 2, mids[k][0]))
    panels = []
    for n, k in enumerate(order, 1):
        fabric = (fabrics or {}).get(n, f"cloth-{n}")
        panels.append(
            SplitPanel(f"{piece.name}-{n}", f"{piece.name} panel {n}", found[k].outline.to_tuples(), fabric, n)
        )
    top = float(outline.cubics[..., 1].max())
    return SplitView(
        piece.view,
        outline.to_tuples(),
        tuple(SplitEdge(n, p.to_tuples()) for n, p in edges.items()),
        {},
        ((0.0, top), (0.0, 0.0)),
        tuple(lines),
        tuple(panels),
    )


def level_line(piece: Piece, up: float, sx: float = 1.0, sy: float = 1.0, name: str = "band") -> SplitLine:
    """A symmetrical level line, ``up`` mm along the side seam from the hem; centre distance such that it is level."""
    side = piece.edge("side").path
    point = paths.point_at_distance(side, up)
    x, y = float(point[0]), float(point[1])
    neck_y = float(piece.fold.path.start[1])
    path = paths.polyline([(sx * x, sy * y), (0, sy * y), (-sx * x, sy * y)])
    return SplitLine(
        "line-1", name, path.to_tuples(), True,
        Anchor("side", "hem", up), Anchor(piece.fold.name, "neck", neck_y - y),
    )  # fmt: skip


def asymmetrical(piece: Piece, sx: float = SX, sy: float = SY) -> SplitLine:
    """A curve from the left side seam, 150 mm up from the hem, to the right armhole, 60 mm down from the shoulder."""
    _, edges = whole_view(piece, sx, sy)
    whole, _ = unfolded(piece)
    ends = []
    for name, distance in (("side-left", 150.0), ("armhole-right", 60.0)):
        drawn = Ruler(edges[name])
        ends.append(drawn.point(distance * drawn.total / paths.length(whole.edge(name).path)))
    a, b = ends
    path = cubic(a, np.add(a, (-100, 60)), np.add(b, (120, -40)), b)
    return SplitLine(
        "line-2", "swoop", path.to_tuples(), False,
        Anchor("side", "hem", 150.0), Anchor("armhole", "shoulder", 60.0), "left", "right",
    )  # fmt: skip


def side_lines(piece: Piece) -> list[SplitLine]:
    """Two lines that mirror each other, from the armholes down to the hem."""
    _, edges = whole_view(piece)
    lines = []
    for side, sign in (("left", 1), ("right", -1)):
        armhole = Ruler(edges[f"armhole-{side}"])
        top = armhole.point(60.0) if side == "right" else armhole.point(armhole.total - 60)
        hem = Ruler(edges["hem"])
        foot = hem.point(hem.total / 2 + sign * 150)
        start, end = Anchor("armhole", "shoulder", 60.0), Anchor("hem", "hem-centre", 150.0)
        path = paths.polyline([top, foot]).to_tuples()
        lines.append(SplitLine(f"side-{side}", f"side panel, {side}", path, False, start, end, side, side))
    return lines


def split_of(*views: SplitView) -> Split:
    return Split(tuple(views))


def lines_on_piece(view: SplitView, piece: Piece) -> tuple[CutLine, ...]:
    """The lines of a view that cross a piece, in the piece's mm."""
    piece = counter_clockwise(piece)
    return carried_lines(view, piece, register(view, piece))


def drawn_notches(piece: Piece) -> list[np.ndarray]:
    """The notches' strokes as the piece's SVG has them: from and to, shape (2, 2), mm, y up."""
    number = r"(-?[\d.]+)"
    drawn = re.findall(r'class="notch" d="([^"]*)"', svg.write_pieces([piece]))
    found = re.findall(rf"M {number},{number} L {number},{number}", " ".join(drawn))
    return [np.array(stroke, dtype=float).reshape(2, 2) * (1, -1) for stroke in found]
