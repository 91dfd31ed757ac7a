"""A body that is drawn in several areas: the seams that are drawn in it.

A seam runs along the border of two sections. Where three meet, the two that go on straightest become one seam and the
third ends on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from mockup.garment.area_shapes import Shapes
from mockup.garment.view import DrawnSeam
from mockup.geometry import path as paths
from mockup.geometry.curve import nearest
from mockup.geometry.faces import faces
from mockup.geometry.path import Floats, Path
from mockup.geometry.trace import fit_cubics
from swatches.errors import GeometryError

_STRAIGHT_ON_DEG = 40.0  # a seam goes on over a junction that bends it by less
_CORNER_DEG = 50.0
_BEYOND = 0.03  # of the body's height: how far a seam's end may be led on to the rim
_TWIN = 0.02  # of the body's height: seams that lie this near each other's mirror image are twins


def body_seams(
    shapes: Shapes,
    labels: Sequence[int],
    outline: Path,
    *,
    mirror_x: float,
    side: str,
    smooth_px: float,
    tolerance: float,
    holes: Sequence[Path] = (),
) -> tuple[tuple[DrawnSeam, ...], list[str]]:
    """Find the seams between the sections of a body.

    Args:
        shapes: where areas meet.
        labels: the sections' labels.
        outline: of the body as a whole, px, counter-clockwise as a person sees it.
        mirror_x: px.
        side: 'front' or 'back'.
        smooth_px: px of the picture: seams are evened out along themselves by it.
        tolerance: px: of the fitted curves.
        holes: what lies on the body within its outline, such as a pocket: a seam goes on under it.

    Returns:
        The seams, every end exactly on the rim or on another seam; and sentences about what could not be
        used.
    """
    _, top, _, bottom = paths.bounds(outline)
    high = bottom - top
    rows = [r for a, b in combinations(sorted(labels), 2) for r in shapes.borders(a, b)]
    rows = [r for r in rows if _length(r) > 0.02 * high]
    rim = shapely.Polygon(paths.flatten(outline, 0.1).points)
    reach = max(2.5, 2 * smooth_px)
    joined = _under(_joined(rows, reach=reach), holes, reach)
    joined.sort(key=_length, reverse=True)
    made: list[Path] = []
    for row in joined:
        path = _smooth(row, smooth_px, tolerance)
        if not _closed(row):
            path = _led_to_the_rim(path, outline, rim, made, _BEYOND * high)
        made.append(path)
    kept, warnings = _that_part(outline, made)
    return _named(kept, outline, mirror_x, side, _TWIN * high), warnings


def _length(row: Floats) -> float:
    return float(np.linalg.norm(np.diff(row, axis=0), axis=1).sum())


def _closed(row: Floats) -> bool:
    return bool(np.linalg.norm(row[0] - row[-1]) < 1e-6)


def _joined(rows: list[Floats], reach: float) -> list[Floats]:
    """Join rows that meet in a point and go on there nearly straight."""
    rows = list(rows)
    while True:
        best: tuple[float, int, int, bool, bool] | None = None
        for i, j in combinations(range(len(rows)), 2):
            for end_i in (False, True):
                for end_j in (False, True):
                    a = rows[i] if end_i else rows[i][::-1]  # a ends where b begins
                    b = rows[j][::-1] if end_j else rows[j]
                    if np.linalg.norm(a[-1] - b[0]) > reach or _closed(a) or _closed(b):
                        continue
                    bend = _bend(a, b)
                    if bend < _STRAIGHT_ON_DEG and (best is None or bend < best[0]):
                        best = (bend, i, j, end_i, end_j)
        if best is None:
            return rows
        _, i, j, end_i, end_j = best
        a = rows[i] if end_i else rows[i][::-1]
        b = rows[j][::-1] if end_j else rows[j]
        rows = [r for k, r in enumerate(rows) if k not in (i, j)] + [np.concatenate([a, b[1:]])]


def _under(rows: list[Floats], holes: Sequence[Path], reach: float) -> list[Floats]:
    """Join rows that end on either side of something that lies on the body, nearly in line: one seam that it covers."""
    on_top = [shapely.Polygon(paths.flatten(h, 0.5).points).buffer(2 * reach) for h in holes]
    while True:
        for i, j in combinations(range(len(rows)), 2):
            if _closed(rows[i]) or _closed(rows[j]):
                continue
            ways = [(a, b) for a in (rows[i], rows[i][::-1]) for b in (rows[j], rows[j][::-1])]
            a, b = min(ways, key=lambda pair: float(np.linalg.norm(pair[0][-1] - pair[1][0])))
            across = np.stack([a[-1], b[0]])
            covered = any(h.covers(shapely.LineString(across)) for h in on_top)
            if covered and max(_bend(a, across), _bend(across, b)) < _STRAIGHT_ON_DEG:
                rows = [r for k, r in enumerate(rows) if k not in (i, j)] + [np.concatenate([a, b])]
                break
        else:
            return rows


def _bend(a: Floats, b: Floats) -> float:
    """Angle, degrees, between the end of one row and the beginning of the next, each over a few per cent of it."""
    k, m = min(len(a) - 1, 40), min(len(b) - 1, 40)
    u, v = a[-1] - a[-1 - k], b[m] - b[0]
    cosine = float(u @ v) / max(float(np.linalg.norm(u) * np.linalg.norm(v)), 1e-9)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def _smooth(row: Floats, smooth_px: float, tolerance: float) -> Path:
    """Even a row out along itself, corners kept, and fit cubics."""
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(row, axis=0), axis=1))]
    n = max(8, int(along[-1]))
    s = np.linspace(0, along[-1], n)
    dense = np.stack([np.interp(s, along, row[:, k]) for k in (0, 1)], axis=1)
    k = int(max(4, 2 * smooth_px))
    corners = _corners(dense, k) if not _closed(row) else []
    parts: list[Floats] = []
    ends = [0, *corners, n - 1]
    for a, b in pairwise(ends):
        part = dense[a : b + 1]
        if smooth_px > 0.4 and len(part) > 8:
            m = min(len(part) - 1, int(4 * smooth_px) + 1)
            # turned about its ends by half a turn, the row goes on smoothly and its ends stay
            before, after = 2 * part[0] - part[m:0:-1], 2 * part[-1] - part[-2 : -m - 2 : -1]
            soft = gaussian_filter1d(np.vstack([before, part, after]), smooth_px, axis=0, mode="nearest")
            part = soft[m : m + len(part)]
        parts.append(part if not parts else part[1:])
    return fit_cubics(np.concatenate(parts), tolerance, corners=corners)


def _corners(row: Floats, k: int) -> list[int]:
    """Indices where a row of points turns sharply, at least k from its ends and 2 k apart."""
    if len(row) < 4 * k:
        return []
    back, forth = row[k:-k] - row[: -2 * k], row[2 * k :] - row[k:-k]
    cross = back[:, 0] * forth[:, 1] - back[:, 1] * forth[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, np.einsum("ij,ij->i", back, forth))))
    found: list[int] = []
    for i in np.argsort(-turn, kind="stable"):
        if turn[i] < _CORNER_DEG:
            break
        if all(abs(int(i) + k - f) > 2 * k for f in found):
            found.append(int(i) + k)
    return sorted(found)


def _led_to_the_rim(path: Path, outline: Path, rim: shapely.Polygon, others: Sequence[Path], most: float) -> Path:
    """Lead both ends on, exactly onto another seam that is near or onto the rim; back to it where they lie outside."""
    for _ in range(2):
        path = paths.reversed_path(path)
        end = path.end
        near = [nearest(other, end) for other in others]
        k = int(np.argmin([n[2] for n in near])) if near else -1
        at = shapely.Point(end)
        inside = rim.contains(at)
        if k >= 0 and near[k][2] < min(most, rim.exterior.distance(at) + 1.0):
            target = paths.points_at(others[k], near[k][0], near[k][1])
        else:
            goal = end
            if inside:
                way = paths.tangent(path, len(path) - 1, 1.0)
                gone = shapely.LineString([end, end + way * most]).intersection(rim.exterior)
                if gone.is_empty:
                    continue
                goal = np.asarray(shapely.ops.nearest_points(at, gone)[1].coords[0])
            elif rim.exterior.distance(at) > 0.5:
                path = _back_to(path, rim)
                end = goal = path.end
            segment, t, _ = nearest(outline, goal)
            target = paths.points_at(outline, segment, t)
        if np.linalg.norm(target - end) < 0.5:
            cubics = path.cubics.copy()
            cubics[-1, 2:] += target - end
            path = Path(cubics)
        else:
            path = paths.joined([path, paths.polyline([tuple(end), tuple(target)])])
    return path


def _back_to(path: Path, rim: shapely.Polygon) -> Path:
    """Cut a path's end off where it last leaves the rim."""
    flat = paths.flatten(path, 0.05)
    crossed = shapely.LineString(flat.points).intersection(rim.exterior)
    if crossed.is_empty:
        return path
    line = shapely.LineString(flat.points)
    last = max(line.project(shapely.Point(p.coords[0])) for p in shapely.get_parts(crossed))
    segment, t, _ = nearest(path, line.interpolate(last).coords[0])
    return paths.sub_path(path, (0, 0.0), (segment, t)) if (segment, t) > (0, 0.0) else path


def _that_part(outline: Path, seams: Sequence[Path]) -> tuple[list[Path], list[str]]:
    """The seams that the body can be parted by, tried one after the other."""
    ring = paths.reversed_path(outline) if paths.signed_area(outline) < 0 else outline
    kept: list[Path] = []
    waiting = list(seams)
    for _ in range(2):  # a seam may end on one that comes later
        refused = []
        for seam in waiting:
            try:
                faces(ring, [*kept, seam], tolerance=0.05)
            except GeometryError:
                refused.append(seam)
            else:
                kept.append(seam)
        waiting = refused
    lost = len(waiting)
    who, end, it = ("A seam", "its end", "it") if lost == 1 else (f"{lost} seams", "their ends", "them")
    said = f"{who} drawn in the body could not be followed to {end}: draw a stroke along {it} to part the panels."
    return kept, [said] if lost else []


def _named(seams: Sequence[Path], outline: Path, mirror_x: float, side: str, near: float) -> tuple[DrawnSeam, ...]:
    """Number seams from the top, and find which are each other's mirror image, or their own."""
    order = sorted(seams, key=lambda s: (round(float(s.cubics[:, 0, 1].mean()), 1), float(s.cubics[0, 0, 0])))
    rows = [paths.flatten(s, 0.2).points for s in order]
    lines = [shapely.LineString(r) for r in rows]
    images = [shapely.LineString(r * [-1, 1] + [2 * mirror_x, 0]) for r in rows]
    made: dict[int, DrawnSeam] = {}
    number = 0
    right_is = "left" if side == "front" else "right"
    for k, seam in enumerate(order):
        if k in made:
            continue
        number += 1
        plain = DrawnSeam(f"seam-{number}", f"seam {number}", seam.to_tuples())
        away = [images[k].hausdorff_distance(line) for line in lines]
        j = int(np.argmin([a if i not in made else np.inf for i, a in enumerate(away)]))
        if away[j] > near:
            made[k] = plain
        elif j == k:
            made[k] = replace(plain, symmetric=True)
        else:
            for i in (k, j):
                on_right = lines[i].centroid.x > mirror_x
                word = right_is if on_right else ("right" if right_is == "left" else "left")
                made[i] = replace(plain, id=f"{plain.id}-{word}", path=order[i].to_tuples(), side=word)
    return tuple(made[k] for k in range(len(order)))


def merged_labels(labels: NDArray[np.uint16], body: Sequence[int]) -> NDArray[np.uint16]:
    """The label picture with the whole body under the first of its labels."""
    if len(body) < 2:
        return labels
    table = np.arange(int(labels.max()) + 1, dtype=np.uint16)
    table[list(body)] = body[0]
    return np.asarray(table[labels], np.uint16)
