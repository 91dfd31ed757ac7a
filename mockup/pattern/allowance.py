"""The cut outline of a piece: every edge's own allowance outside its stitch line, by exact parallel curves.

Each edge is cut into runs without corners, each run's parallel is an analytic offset (never the chord normals of a
flattening), and :mod:`mockup.pattern.corners` closes the corners. A fold gets nothing and the outline is clipped at it;
an edge with allowance 0 keeps its stitch line, and its neighbours' allowances end on its tangent, run straight on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.offset import offset_path, smooth_runs
from mockup.geometry.path import Path
from mockup.pattern.corners import MITRE_LIMIT, Run, join
from mockup.pattern.piece import Edge, EdgeKind, Piece, counter_clockwise
from swatches.errors import GeometryError

TOLERANCE = 0.0005  # mm: of the parallels; the promise is 0.02


@dataclass(frozen=True, slots=True, eq=False)
class CutOutline:
    """The cut outline.

    Attributes:
        path: closed, counter-clockwise, mm.
        notes: corners that were not made as asked, one sentence each.
    """

    path: Path
    notes: tuple[str, ...]

    @property
    def area_mm2(self) -> float:
        """Area inside the cut outline (of the half, where the piece is cut on the fold)."""
        return paths.signed_area(self.path)


def cut_line(piece: Piece) -> Path:
    """Give the closed cut outline of a piece, counter-clockwise, mm; see :func:`cut_outline`."""
    return cut_outline(piece).path


def cut_outline(piece: Piece, *, mitre_limit: float = MITRE_LIMIT) -> CutOutline:
    """Put every edge's allowance outside the stitch line.

    Args:
        piece: the piece.
        mitre_limit: a mitre that reaches farther from its corner than this many allowances is cut off; a note says so.

    Returns:
        The outline; every point of an edge's parallel is at that edge's allowance ± 0.0005 mm.

    Raises:
        GeometryError: a negative allowance, a curve that bends more tightly than its allowance, or allowances that
            run into the piece itself; with the place.
    """
    piece = counter_clockwise(piece)
    runs = [run for edge in piece.edges for run in _runs(edge)]
    if all(run.allowance == 0 for run in runs):
        return CutOutline(piece.outline, ())
    joins = [join(a, b, mitre_limit) for a, b in zip(runs, runs[1:] + runs[:1], strict=True)]
    parts: list[Path] = []
    whole = True
    for k, run in enumerate(runs):
        start = joins[k - 1].b_start or (0, 0.0)
        end = joins[k].a_end or (len(run.cut) - 1, 1.0)
        if start < end:
            parts.append(paths.sub_path(run.cut, start, end))
        elif start > end:
            whole = False
        middle = joins[k].middle
        if middle is not None:
            parts.append(middle)
    notes = tuple(j.note for j in joins if j.note)
    outline = _closed(parts)
    if whole and shapely.is_valid(shapely.Polygon(paths.flatten(outline, 0.02).points)):
        return CutOutline(outline, notes)
    return CutOutline(
        _united(piece, runs), (*notes, "Allowances overlap at a short edge; their union is the cut edge.")
    )


def _runs(edge: Edge) -> list[Run]:
    width = 0.0 if edge.kind is EdgeKind.FOLD else edge.allowance_mm
    if not width >= 0:
        raise GeometryError(
            f"allowance of {edge.name}", expected="0 or more", got=f"{width:g} mm", next_step="Type 15mm, for example"
        )
    runs = []
    for n, stitch in enumerate(smooth_runs(edge.path)):
        try:
            cut = offset_path(stitch, width, TOLERANCE)
        except GeometryError as error:
            raise GeometryError(
                f"allowance of {edge.name}",
                expected=error.expected,
                got=error.got,
                next_step=error.next_step,
                place=error.place,
            ) from None
        runs.append(Run(edge, stitch, cut, n == 0))
    return runs


def _closed(parts: list[Path]) -> Path:
    cubics = np.concatenate([p.cubics for p in parts])
    cubics[-1, 3] = cubics[0, 0]
    return Path(cubics)


def _united(piece: Piece, runs: list[Run]) -> Path:
    """Unite the piece with every run's strip and every corner's patch, flattened: for edges shorter than their corners.

    Raises:
        GeometryError: a strip lies on the piece itself, so that there is no cloth for it.
    """
    body = shapely.Polygon(paths.flatten(piece.outline, TOLERANCE).points)
    strips = []
    for a, b in zip(runs, runs[1:] + runs[:1], strict=True):
        if a.allowance > 0:
            strip = shapely.Polygon(
                np.vstack([paths.flatten(a.stitch, TOLERANCE).points, paths.flatten(a.cut, TOLERANCE).points[::-1]])
            )
            shared = shapely.intersection(strip, body)
            if shapely.area(shared) > 0.01 * a.allowance**2:
                centre = shapely.centroid(shared)
                raise GeometryError(
                    f"allowance of {a.edge.name}",
                    expected="room for it outside the piece",
                    got=f"{a.allowance:g} mm that run into the piece itself",
                    next_step="Make the allowance smaller there",
                    place=(float(centre.x), float(centre.y)),
                )
            strips.append(strip)
        closing = join(a, b, MITRE_LIMIT)
        if closing.middle is not None and closing.a_end is None and closing.b_start is None:
            patch = np.vstack([a.stitch.end, paths.flatten(closing.middle, TOLERANCE).points])
            if len(patch) > 2:
                strips.append(shapely.make_valid(shapely.Polygon(patch)))
    whole = shapely.union_all([body, *strips], grid_size=1e-6)
    if whole.geom_type != "Polygon" or len(whole.interiors):
        raise GeometryError(
            f"allowances of {piece.name}",
            expected="allowances that leave one outline",
            got="allowances that close over a slot",
            next_step="Make them smaller there",
        )
    outline = paths.polyline(np.asarray(whole.exterior.coords))
    return outline if paths.signed_area(outline) > 0 else paths.reversed_path(outline)
