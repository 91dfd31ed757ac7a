"""Pattern pieces as DXF, on the layers that ASTM D6673-10 numbers; one block a piece.

====== =====================================================
layer  what stands on it
====== =====================================================
1      boundary: the cut line, a polyline within 0.02 mm of the curve; the piece's texts
2, 3   turn points and curve points of the boundary
4      notches, those at the legs of darts too
6      mirror line: the fold of a piece that is cut on fold
7      grain line, from tail to head
8      internal lines, and the legs of darts
11     cut-outs: the cut line of an opening inside the piece
14     sew lines: the stitch line, one entity an edge; curves are splines, exactly the Béziers
15     annotation
====== =====================================================

The file is DXF R2000 with ``$INSUNITS`` 4 (mm), and says its unit in text too, since older programs drop the header.
Names, allowances and mates of the edges ride along as extended data, so that reading one's own file loses nothing; any
other program sees plain lines. Wording of the texts is our own. Reading is :func:`mockup.files.dxf_reader.read_pieces`.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from mockup.files.arrange import in_rows
from mockup.files.dxf_drawing import APP
from mockup.files.dxf_reader import read_pieces
from mockup.files.outlines import CORNER_DEG
from mockup.files.svg_writer import edge_data
from mockup.files.words import fabric_name, label_place, title
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.pattern.allowance import CutOutline, cut_outline
from mockup.pattern.cutting_list import how_to_cut
from mockup.pattern.darts import leg_lines, leg_notches
from mockup.pattern.notches import BARE_MM
from mockup.pattern.piece import Edge, EdgeKind, Piece

if TYPE_CHECKING:
    from ezdxf.layouts import BlockLayout  # imported where a file is written: it takes a quarter of a second

__all__ = ["LAYERS", "read_pieces", "write_pieces"]

LAYERS = {
    "1": "boundary",
    "2": "turn points",
    "3": "curve points",
    "4": "notches",
    "6": "mirror line",
    "7": "grain line",
    "8": "internal lines",
    "11": "cut-outs",
    "14": "sew lines",
    "15": "annotation",
}
FLATTENED_MM = 0.02
_MM = 4  # the code of $INSUNITS
_COLOURS = {"1": 7, "2": 8, "3": 8, "4": 1, "6": 6, "7": 3, "8": 8, "11": 7, "14": 5, "15": 8}
_ONE_WRITER = threading.Lock()


def write_pieces(pieces: Sequence[Piece], *, fabric_names: Mapping[str, str] | None = None, date: str = "") -> bytes:
    """Write pieces as one DXF file. The same pieces give the same bytes.

    Args:
        pieces: at least one, on their stitch lines.
        fabric_names: fabric id → the person's name for it.
        date: the project's date, for the annotation.

    Raises:
        ValueError: no piece was given.
        GeometryError: an allowance cannot be drawn.
    """
    if not pieces:
        raise ValueError("pieces: expected at least one")
    import ezdxf

    cuts = [cut_outline(p) for p in pieces]
    places = in_rows([paths.bounds(c.path) for c in cuts])
    with _without_clock():
        document = ezdxf.new("R2000", units=_MM)
        document.header["$MEASUREMENT"] = 1
        document.appids.new(APP)
        for layer, colour in _COLOURS.items():
            document.layers.add(layer, color=colour).description = LAYERS[layer]
        for i, (piece, cut, (x, y)) in enumerate(zip(pieces, cuts, places, strict=True)):
            block = document.blocks.new(name=f"{i + 1:02d}-{_plain(piece.name)}")
            _draw(block, piece, cut, fabric_names, date)
            document.modelspace().add_blockref(block.name, (x, -y), dxfattribs={"layer": "1"})
        text = io.StringIO()
        document.write(text)
    return text.getvalue().encode(document.output_encoding, errors="dxfreplace")


@contextmanager
def _without_clock() -> Iterator[None]:
    """Write neither time nor random identifiers; the library's switch for that is global, so one file at a time."""
    import ezdxf

    with _ONE_WRITER:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before


def _draw(block: BlockLayout, piece: Piece, cut: CutOutline, names: Mapping[str, str] | None, date: str) -> None:
    boundary = paths.flatten(cut.path, FLATTENED_MM).points[:-1]
    block.add_lwpolyline(boundary, close=True, dxfattribs={"layer": "1"})
    for hole in cut.holes:
        block.add_lwpolyline(paths.flatten(hole, FLATTENED_MM).points[:-1], close=True, dxfattribs={"layer": "11"})
    for point, layer in zip(boundary, _point_layers(boundary), strict=True):
        block.add_point(point, dxfattribs={"layer": layer})
    for k, edge in ((k, e) for k, ring in enumerate(piece.rings) for e in ring):
        entity = _line(block, edge.path, "14")
        entity.set_xdata(APP, _data({**edge_data(edge), "hole": str(k or "")}))
        if edge.kind is EdgeKind.FOLD:
            _line(block, edge.path, "6")
    for notch in piece.notches:
        edge = piece.edge(notch.edge)
        at, outward = _square_to(edge, notch.distance_mm)
        depth = edge.allowance_mm or BARE_MM
        stroke = block.add_line(at, at + depth * outward, dxfattribs={"layer": "4"})
        known = {"notch": notch.edge, "distance": repr(notch.distance_mm), "marks": str(notch.count)}
        stroke.set_xdata(APP, _data(known))
    if piece.grainline is not None:
        block.add_line(*piece.grainline, dxfattribs={"layer": "7"})
    for dart in piece.darts:
        _line(block, leg_lines(piece, dart), "8").set_xdata(APP, _data({"dart": dart.name, "on": dart.edge}))
    for stroke in leg_notches(piece, inside_mm=0.0, bare_mm=BARE_MM):
        _line(block, stroke, "4").set_xdata(APP, _data({"dart": "leg"}))
    for mark in piece.marks:
        _line(block, mark.path, "8").set_xdata(APP, _data({"mark": mark.name, "kind": mark.kind}))
    _texts(block, piece, names, date)


def _texts(block: BlockLayout, piece: Piece, names: Mapping[str, str] | None, date: str) -> None:
    (x, y), radius = label_place(piece)
    size = min(8.0, max(2.5, radius / 6))
    known = {
        "Piece Name": title(piece),
        "Piece Number": str(piece.number) if piece.number else "",
        "Size": piece.size,
        "Quantity": how_to_cut(piece),
        "Material": fabric_name(piece, names),
        "Units": "METRIC, all lengths in mm",
    }
    rows = [("1", f"{k}: {_text(v)}") for k, v in known.items() if v]
    rows += [("15", f"Date: {_text(date)}")] if date else []
    for i, (layer, row) in enumerate(rows):
        text = block.add_text(row, height=size, dxfattribs={"layer": layer})
        text.set_placement((x - 0.8 * radius, y + (len(rows) / 2 - i) * 1.5 * size))
        if i == 0:
            text.set_xdata(APP, _data(_piece_data(piece)))


def _line(block: BlockLayout, path: Path, layer: str) -> Any:
    """One entity for one path: a line, a polyline, or a cubic spline whose spans are the Béziers."""
    straight = paths.is_straight(path)
    attributes = {"layer": layer}
    if straight.all():
        corners = np.vstack([path.cubics[:, 0], path.cubics[-1:, 3]])
        if len(corners) == 2:
            return block.add_line(corners[0], corners[1], dxfattribs=attributes)
        return block.add_lwpolyline(corners, dxfattribs=attributes)
    n = len(path)
    control = np.vstack([path.cubics[0, :1], path.cubics[:, 1:].reshape(-1, 2)])
    knots = [0.0, *np.repeat(np.arange(n + 1.0), 3).tolist(), float(n)]
    spline = block.add_spline(degree=3, dxfattribs=attributes)
    spline.control_points = [(float(x), float(y), 0.0) for x, y in control]
    spline.knots = knots
    return spline


def _piece_data(piece: Piece) -> dict[str, str]:
    return {
        "piece": piece.name,
        "view": piece.view,
        "area": piece.area,
        "how": str(piece.how),
        "layer": piece.layer,
        "number": str(piece.number),
        "side": piece.side,
        "fabric": piece.fabric,
        "rsu": "true" if piece.right_side_up else "false",
        "count": str(piece.count),
        "parent": piece.parent,
        "size": piece.size,
    }


def _data(known: Mapping[str, str]) -> list[tuple[int, str]]:
    """Extended data: strings of ``key=value``; 255 bytes are allowed for each."""
    return [(1000, f"{k}={_text(v)[:120]}") for k, v in known.items() if v]


def _square_to(edge: Edge, distance: float) -> tuple[Floats, Floats]:
    segment, t = paths.locate(edge.path, distance)
    along = paths.tangent(edge.path, segment, t)
    return paths.points_at(edge.path, segment, t), np.array([along[1], -along[0]])


def _point_layers(points: Floats) -> list[str]:
    """Turn points stand on layer 2, the others on layer 3."""
    step = np.roll(points, -1, axis=0) - points
    angle = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.abs((angle - np.roll(angle, 1) + 180) % 360 - 180)
    return ["2" if t > CORNER_DEG else "3" for t in turn]


def _plain(name: str) -> str:
    """A block's name in letters that every program takes."""
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in name)[:40].strip("-") or "piece"


def _text(text: str) -> str:
    """One line without DXF's control codes."""
    return " ".join(text.split()).replace("%%", "% %").replace("^", "'")
