"""What a DXF file draws: its blocks and the lines of its model space by layer, in mm, with this program's own values.

The library that parses DXF runs here only, for strangers' files in the child process of :mod:`mockup.files.child`, and
is imported where it is used: a quarter of a second that all other work need not wait for.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from mockup.files import child
from mockup.files.given import clean
from mockup.files.svg_path import MAX_SEGMENTS
from mockup.geometry.path import XY, Path
from swatches.errors import FileFormatError

APP = "GARMENT_MOCKUP"
NOTCHES = "4"  # the layer of notches, as ASTM D6673-10 numbers it
_MOST_NOTCHES = 1000
_SPLINE = 5000  # control points of one curve
_ARCS = 16  # cubics in a turn: within 7e-8 of the radius
_UNIT_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}  # $INSUNITS, DXF reference

_PIECE_NAME = re.compile(r"\s*piece\s*name\s*[:=]\s*(.*\S)", re.IGNORECASE)  # as ASTM D6673 has pieces named

Line = tuple[Path, dict[str, str]]
"""A drawn line in mm, and the values that this program wrote on it."""


@dataclass(slots=True)
class Block:
    """The lines of one block by layer.

    Attributes:
        name: of the block, often only a number.
        lines: by the name of their layer.
        own: the values of a piece that this program wrote, or None.
        called: what a text 'Piece Name: …' in the block calls it; empty where none does.
        notches: points on the layer of notches, mm.
    """

    name: str
    lines: dict[str, list[Line]] = field(default_factory=dict)
    own: dict[str, str] | None = None
    called: str = ""
    notches: list[XY] = field(default_factory=list)


@dataclass(frozen=True, slots=True, eq=False)
class DxfDrawing:
    """The blocks that are placed, each once, and what lies loose in the model space."""

    blocks: tuple[Block, ...]
    loose: Block


def read_drawing(data: bytes, *, what: str, mm_per_unit: float | None = None, apart: bool = False) -> DxfDrawing:
    """Read the lines of a DXF file.

    Args:
        data: the file.
        what: it in the person's words.
        mm_per_unit: mm of one unit, where the file does not say it.
        apart: read it in a process of its own, with limits, as strangers' files are.

    Raises:
        FileFormatError: no DXF, no unit, too much of anything, or a line that cannot be read.
    """
    if apart:
        blocks, loose = child.ask("dxf", data, what=what, mm_per_unit=mm_per_unit)
        return DxfDrawing(tuple(_block_told(b) for b in blocks), _block_told(loose))
    import ezdxf
    from ezdxf import recover

    try:
        document, _ = recover.read(io.BytesIO(data))
    except (ezdxf.DXFError, OSError, ValueError, TypeError, IndexError, KeyError, AttributeError) as error:
        raise FileFormatError(
            what, expected="a DXF file", got="what cannot be read as one", next_step="Save it as DXF R2000 or R12"
        ) from error
    scale = mm_per_unit if mm_per_unit is not None else _unit_mm(document, what)
    inserted = list(dict.fromkeys(i.dxf.name for i in document.modelspace().query("INSERT")))
    budget = [MAX_SEGMENTS]
    blocks = [_read_block(n, document.blocks.get(n), scale, budget, what) for n in inserted if n in document.blocks]
    return DxfDrawing(tuple(blocks), _read_block("", document.modelspace(), scale, budget, what))


def told(data: bytes, what: str, mm_per_unit: float | None) -> list[Any]:
    """Tell what a file draws in lists, texts and numbers: how the child process answers."""
    drawing = read_drawing(data, what=what, mm_per_unit=mm_per_unit)
    return [[_tell(b) for b in drawing.blocks], _tell(drawing.loose)]


def _tell(block: Block) -> list[Any]:
    lines = [
        [layer, [[path.cubics.reshape(-1).tolist(), values] for path, values in found]]
        for layer, found in block.lines.items()
    ]
    return [block.name, lines, block.own, block.called, block.notches]


def _block_told(row: Any) -> Block:
    name, layers, own, called, notches = row
    lines = {str(layer): [(_path_told(flat), _texts(values)) for flat, values in found] for layer, found in layers}
    marks = [(float(x), float(y)) for x, y in notches]
    return Block(str(name), lines, None if own is None else _texts(own), str(called), marks)


def _path_told(flat: Any) -> Path:
    return Path(np.array(flat, dtype=np.float64).reshape(-1, 4, 2))


def _texts(values: Any) -> dict[str, str]:
    return {str(k): str(v) for k, v in values.items()}


def _read_block(name: str, entities: Iterable[Any], scale: float, budget: list[int], what: str) -> Block:
    block = Block(clean(name))
    for entity in entities:
        kind = entity.dxftype()
        if kind == "TEXT" and entity.has_xdata(APP):
            known = _values(entity)
            block.own = known if known.get("piece") else block.own
        if kind == "TEXT" and (said := _PIECE_NAME.match(str(entity.dxf.text))):
            block.called = block.called or clean(said[1])
        if kind == "POINT" and entity.dxf.layer == NOTCHES and len(block.notches) < _MOST_NOTCHES:
            at = entity.dxf.location
            if math.isfinite(at.x) and math.isfinite(at.y):
                block.notches.append((at.x * scale, at.y * scale))
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
        block.lines.setdefault(clean(entity.dxf.layer), []).append((path, _values(entity)))
    return block


def _path(entity: Any, scale: float, what: str) -> Path | None:
    if entity.dxftype() == "SPLINE" and (len(entity.control_points) > _SPLINE or entity.dxf.degree > 11):
        raise FileFormatError(
            what,
            expected=f"splines of at most {_SPLINE} points",
            got=f"one of {len(entity.control_points)} points, degree {entity.dxf.degree}",
            next_step="Save the curves as polylines",
        )
    import ezdxf
    from ezdxf import path as dxf_paths

    try:
        drawn = dxf_paths.make_path(entity, segments=_ARCS, level=6)
    except (ezdxf.DXFError, TypeError, ValueError, ZeroDivisionError, IndexError) as error:
        raise FileFormatError(
            what,
            expected="lines that can be drawn",
            got=f"a {entity.dxftype()} that cannot",
            next_step="Redraw that line, or save the curves as polylines",
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
