"""The label of a printed piece: its rows, and how they are laid into the room that the piece has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shapely import LineString, MultiPolygon, Polygon

from mockup.files.svg_path import number as short_number
from mockup.files.words import fabric_name, title
from mockup.geometry import path as paths
from mockup.pattern.cutting_list import how_to_cut
from mockup.pattern.piece import Edge, EdgeKind, Piece
from mockup.pattern.printed_cloth import KIND as PRINT
from mockup.sheets.looks import text_width, wrapped

Row = tuple[str, float, bool]  # text, size as a factor, bold
LEAST_MM = 2.5  # 7 points: smaller lettering is not read on a table


def label_rows(piece: Piece, names: Mapping[str, str] | None, foot: str) -> list[Row]:
    """The rows of a piece's label: number, name, cloth, how to cut, its print, allowances, size, project."""
    rows: list[Row] = [(str(piece.number), 2.3, True)] if piece.number else []
    rows.append((title(piece), 1.25, True))
    cloth = fabric_name(piece, names)
    rows += [(cloth, 1.0, True)] if cloth else []
    rows.append((how_to_cut(piece), 1.0, True))
    if piece.layer != "shell":
        rows.append((piece.layer, 1.0, False))
    print_starts = next((m.name for m in piece.marks if m.kind == PRINT), None)
    if print_starts is not None:
        rows.append((f"{print_starts.replace('here', 'at the cross')}, long arm upward", 0.8, False))
    rows.append((allowance_words(piece), 0.8, False))
    return [*rows, *((t, 0.8, False) for t in (f"size {piece.size}" if piece.size else "", foot) if t)]


def allowance_words(piece: Piece) -> str:
    """Say which allowance the cut line includes, as typed: 'allowance 15 mm, neck 10 mm, hem 30 mm'."""
    kinds: dict[tuple[bool, str], list[Edge]] = {}
    for edge in piece.edges:
        if edge.kind is not EdgeKind.FOLD:
            shown = edge.allowance_text or f"{short_number(round(edge.allowance_mm, 3))} mm"
            kinds.setdefault((edge.kind is EdgeKind.HEM, shown), []).append(edge)
    seams = sorted((k for k in kinds if not k[0]), key=lambda k: -sum(paths.length(e.path) for e in kinds[k]))
    common = next((k for k in seams if kinds[k][0].allowance_mm > 0), None)
    words = [f"allowance {common[1]}" if common else "no seam allowance"]
    for key in [k for k in seams if k != common and common] + [k for k in kinds if k[0]]:
        names = "hem" if key[0] else " and ".join(dict.fromkeys(e.name for e in kinds[key][:2]))
        words.append(f"{names} {'none' if kinds[key][0].allowance_mm == 0 else key[1]}")
    return ", ".join(words)


def laid_rows(
    rows: Sequence[Row], size: float, x: float, y: float, radius: float, region: Polygon | MultiPolygon
) -> list[tuple[str, float, bool, float]] | None:
    """Lay label rows round (x, y) so that every one lies in the region; None where they do not fit."""
    left, right = _room(region, x, y, radius)
    laid, _ = stacked_rows(rows, size, 2 * min(x - left, right - x) - 3.0, y)
    for text, font, bold, base in laid:
        half = text_width(text, font, bold=bold) / 2 + 0.8
        for level in (base - 0.25 * font, base + 0.75 * font):
            if not region.covers(LineString([(x - half, level), (x + half, level)])):
                return None
    return laid


def _room(region: Polygon | MultiPolygon, x: float, y: float, radius: float) -> tuple[float, float]:
    """How far a level line through (x, y) runs inside the region, at most 2.2 radii either way."""
    reach = 2.2 * radius
    level = region.intersection(LineString([(x - reach, y), (x + reach, y)]))
    parts = [g for g in getattr(level, "geoms", [level]) if not g.is_empty]
    for part in parts:
        left, _, right, _ = part.bounds
        if left - 1e-6 <= x <= right + 1e-6:
            return left, right
    return x - radius, x + radius


def stacked_rows(
    rows: Sequence[Row], size: float, width: float, y: float
) -> tuple[list[tuple[str, float, bool, float]], float]:
    """Break rows into lines of a width and stack them round the height ``y``; gives them with their baselines."""
    lines = []
    for text, factor, bold in rows:
        font = max(factor * size, LEAST_MM)
        lines += [(line, font, bold) for line in wrapped(text, width, font, bold=bold)]
    height = sum(1.22 * font for _, font, _ in lines)
    at, laid = y + height / 2, []
    for line, font, bold in lines:
        at -= 1.22 * font
        laid.append((line, font, bold, at + 0.32 * font))
    return laid, height
