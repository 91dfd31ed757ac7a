"""Reading pieces from DXF: the layers of ASTM D6673-10 where they are, else closed outlines.

The writer and the table of layers stand in :mod:`mockup.files.dxf`.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

import ezdxf
import numpy as np
from ezdxf import path as dxf_paths
from ezdxf import recover

from mockup.files.given import Given, clean
from mockup.files.named import edge_from, notch_from, piece_from
from mockup.files.outlines import Drawn, pieces_from_lines
from mockup.files.records import read_limited
from mockup.files.svg_path import MAX_SEGMENTS
from mockup.geometry.path import XY, Path
from mockup.pattern.piece import Mark, Piece
from swatches.errors import FileFormatError

APP = "GARMENT_MOCKUP"
MAX_BYTES = 40_000_000
_SPLINE = 5000  # control points of one curve
_ARCS = 16  # cubics in a turn: within 7e-8 of the radius
_UNIT_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}  # $INSUNITS, DXF reference
_BOUNDARY, _NOTCH, _MIRROR, _GRAIN, _INTERNAL, _SEW = "1", "4", "6", "7", "8", "14"
_NOT_OUTLINES = {"2", "3", "4", "6", "7", "8", "9", "10", "11", "13", "15"}


@dataclass(slots=True)
class _Block:
    """The entities of one block by layer, each with its path in mm."""

    name: str
    lines: dict[str, list[tuple[Path, Any]]] = field(default_factory=dict)
    own: dict[str, str] | None = None


def read_pieces(source: FilePath | bytes, *, mm_per_unit: float | None = None) -> tuple[Piece, ...]:
    """Read pattern pieces from a DXF file.

    A block with sew lines (layer 14) or a boundary (layer 1) is a piece; with neither, closed outlines of the model
    space are. Sew lines are taken before the boundary. Files of this program come back as they were written.

    Args:
        source: the file, or its bytes.
        mm_per_unit: mm of one unit, where the file does not say it.

    Raises:
        FileFormatError: no DXF, no unit, no closed outline, or one that crosses itself; one sentence each.
    """
    what = clean(source.name) if isinstance(source, FilePath) else "DXF file"
    data = read_limited(source, what=what, max_bytes=MAX_BYTES)
    try:
        document, _ = recover.read(io.BytesIO(data))
    except (ezdxf.DXFError, OSError, ValueError, TypeError, IndexError, KeyError, AttributeError) as error:
        raise FileFormatError(
            what, expected="a DXF file", got=f"no readable DXF ({error})", next_step="Save it as DXF R2000 or R12"
        ) from error
    scale = mm_per_unit if mm_per_unit is not None else _unit_mm(document, what)
    inserted = list(dict.fromkeys(i.dxf.name for i in document.modelspace().query("INSERT")))
    budget = [MAX_SEGMENTS]
    blocks = [_read_block(n, document.blocks.get(n), scale, budget, what) for n in inserted if n in document.blocks]
    pieces = [p for b in blocks if _BOUNDARY in b.lines or _SEW in b.lines for p in _pieces(b, what)]
    if pieces:
        return tuple(pieces)
    loose = _read_block("", document.modelspace(), scale, budget, what)
    everything = [d for b in [*blocks, loose] for d in _outlines(b)]
    return pieces_from_lines(everything, what=what)


def _pieces(block: _Block, what: str) -> tuple[Piece, ...]:
    what = f"{what}, {block.own['piece'] if block.own else block.name}"
    if block.own is not None:
        return (_own_piece(block, block.own, what),)
    layer = _SEW if _SEW in block.lines else _BOUNDARY
    outlines = [Drawn(p, block.name) for p, _ in block.lines[layer]]
    found = pieces_from_lines(outlines, what=what)
    grain = next((_ends(p) for p, _ in block.lines.get(_GRAIN, ())), None)
    marks = tuple(Mark(f"line-{i + 1}", p, "internal") for i, (p, _) in enumerate(block.lines.get(_INTERNAL, ())))
    return tuple(p.with_(grainline=grain, marks=marks) for p in found) if len(found) == 1 else found


def _own_piece(block: _Block, values: dict[str, str], what: str) -> Piece:
    """A piece that this program wrote: nothing is lost."""
    edges = [edge_from(Given(_values(e), what), p) for p, e in block.lines.get(_SEW, ())]
    notches = [notch_from(Given(_values(e), what)) for _, e in block.lines.get(_NOTCH, ())]
    marks = []
    for p, entity in block.lines.get(_INTERNAL, ()):
        known = Given(_values(entity), what)
        marks.append(Mark(known.text("mark") or "mark", p, known.text("kind") or "placing"))
    grain = next((_ends(p) for p, _ in block.lines.get(_GRAIN, ())), None)
    return piece_from(Given(values, what), edges, notches, marks, grain)


def _outlines(block: _Block) -> list[Drawn]:
    return [Drawn(p) for layer, found in block.lines.items() if layer not in _NOT_OUTLINES for p, _ in found]


def _read_block(name: str, entities: Iterable[Any], scale: float, budget: list[int], what: str) -> _Block:
    block = _Block(clean(name))
    for entity in entities:
        kind = entity.dxftype()
        if kind == "TEXT" and entity.has_xdata(APP):
            known = _values(entity)
            block.own = known if known.get("piece") else block.own
        if kind not in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"):
            continue
        path = _path(entity, scale, what)
        if path is None:
            continue
        budget[0] -= len(path)
        if budget[0] < 0:
            raise FileFormatError(
                what,
                expected=f"at most {MAX_SEGMENTS:,} segments",
                got="more",
                next_step="Save the drawing with fewer points",
            )
        block.lines.setdefault(clean(entity.dxf.layer), []).append((path, entity))
    return block


def _path(entity: Any, scale: float, what: str) -> Path | None:
    if entity.dxftype() == "SPLINE" and (len(entity.control_points) > _SPLINE or entity.dxf.degree > 11):
        raise FileFormatError(
            what,
            expected=f"splines of at most {_SPLINE} points",
            got=f"one of {len(entity.control_points)} points, degree {entity.dxf.degree}",
            next_step="Save the curves as polylines",
        )
    try:
        drawn = dxf_paths.make_path(entity, segments=_ARCS, level=6)
    except (ezdxf.DXFError, TypeError, ValueError, ZeroDivisionError, IndexError) as error:
        raise FileFormatError(
            what, expected=f"a readable {entity.dxftype()}", got=str(error), next_step="Redraw that line"
        ) from error
    cubics: list[Sequence[Any]] = []
    at = drawn.start
    for command in drawn.commands():
        if command.type is dxf_paths.Command.MOVE_TO:
            at = command.end
            continue
        if command.type is dxf_paths.Command.CURVE4_TO:
            cubics.append((at, command.ctrl1, command.ctrl2, command.end))
        elif command.type is dxf_paths.Command.CURVE3_TO:
            c = command.ctrl
            cubics.append((at, at.lerp(c, 2 / 3), command.end.lerp(c, 2 / 3), command.end))
        else:
            cubics.append((at, at.lerp(command.end, 1 / 3), at.lerp(command.end, 2 / 3), command.end))
        at = command.end
    if not cubics:
        return None
    points = np.array([[(p.x, p.y) for p in cubic] for cubic in cubics], dtype=np.float64) * scale
    if not np.isfinite(points).all():
        raise FileFormatError(what, expected="finite numbers", got="NaN or infinity", next_step="Redraw that line")
    points = points[np.abs(points - points[:, :1]).max(axis=(1, 2)) > 1e-12]
    return Path(points) if len(points) else None


def _values(entity: Any) -> dict[str, str]:
    """The extended data of this program on an entity, as key → value."""
    if not entity.has_xdata(APP):
        return {}
    rows = [str(value) for code, value in entity.get_xdata(APP) if code == 1000]
    return dict(row.split("=", 1) for row in rows if "=" in row)


def _ends(path: Path) -> tuple[XY, XY]:
    (a, b), (c, d) = path.start.tolist(), path.end.tolist()
    return (a, b), (c, d)


def _unit_mm(document: Any, what: str) -> float:
    code = int(document.header.get("$INSUNITS", 0))
    if code in _UNIT_MM:
        return _UNIT_MM[code]
    for text in document.query("TEXT"):
        said = text.dxf.text.upper()
        if "UNITS" in said and ("METRIC" in said or "ENGLISH" in said):
            return 1.0 if "METRIC" in said else 25.4
    raise FileFormatError(
        what,
        expected="a DXF that says its unit",
        got="none",
        next_step="Save it with its unit, or say how many mm one of its units is",
    )
