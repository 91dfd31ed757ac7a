"""One half of a body's outline, and the named points that are read from its corners and from what it touches.

The outline is cut in two at the mirror line; each half runs from the middle of the top down to the middle of the hem.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from mockup.garment.view import PathXY
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.trace import find_corners
from swatches.errors import GeometryError

_LEG = 0.15  # a crotch is at least so far above the hem, as a share of the height; a curved hem rises less
_HOLLOW = 0.02  # an armhole of overalls is at least so deep, as a share of the height; a waistband's step is less
_NECK_RISES, _SHOULDER_FALLS = 0.006, 0.012  # shares of the half's height: less is the tremor of a level line
_SOFT_DEG = 12.0
_UNDERARM = (0.1, 0.45)  # where an underarm lies, as shares of the height from the top
_BLUNT_DEG = 20.0


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """One half of the body's outline, from the middle of the top to the middle of the hem.

    Attributes:
        points: shape (n, 2), about 1 px apart.
        turn: turning angle at every point, radians, positive where the outline is convex.
        corners: indices of corners.
        beside: label of what lies just outside of every point, shape (n,).
    """

    points: Floats
    turn: Floats
    corners: NDArray[np.intp]
    beside: NDArray[np.intp]


def read_half(
    half: Half, *, sleeves: frozenset[int] = frozenset(), top: frozenset[int] = frozenset()
) -> dict[str, int]:
    """Find the named points of one half.

    Args:
        half: the half.
        sleeves: labels of sleeves.
        top: labels of what closes the neck or waist: facing, collar, waistband.

    Returns:
        Name without a side → index into the points. 'hem' is always there; others where they can be told.
    """
    p, n = half.points, len(half.points)
    low, high = p[:, 1].min(), p[:, 1].max()
    tall = max(float(high - low), 1.0)
    snap = max(6.0, 0.03 * tall)
    found = {"hem": _hem_corner(half, tall)}
    above = found["hem"]
    corners = [int(c) for c in half.corners if 0.01 * n < c < above - 0.02 * n]
    end = _last_beside(half.beside[:above], top)
    first = _snapped(half, end, snap) if end is not None and end > 2 else None
    run = _longest_run(np.isin(half.beside[:above], list(sleeves))) if sleeves else None
    if run is not None:
        found["shoulder"] = _snapped(half, run[0], snap)
        found["underarm"] = _snapped(half, run[1], snap)
        if first is None or first >= found["shoulder"]:
            inner = [c for c in corners if c < found["shoulder"] - 0.01 * n and half.turn[c] > 0]
            first = max(inner, key=lambda c: half.turn[c]) if inner else _soft_neck(half, found["shoulder"], tall)
        if first is not None:
            found["neck"] = first
        return found
    if first is not None:
        corners = [c for c in corners if c > first + 0.01 * n]
    else:
        # the corners of a square or pointed neckline are hollow; the neck point is the first that sticks out
        first = next((c for c in corners if half.turn[c] > 0), None)
        soft = None if first is None else _soft_neck(half, first, tall)
        first = first if soft is None else soft
        corners = [c for c in corners if first is not None and c > first]
    if first is None:
        return found
    if _on_legs(half, tall) and not _hollow_above_legs(half, first, tall):
        found["waist"] = first  # trousers: a hip or a pocket's corner is no shoulder
        return found
    bumps = [c for c in corners if half.turn[c] > 0]
    lowest = max(bumps, default=0)
    # below the hollow under a sleeve that is cut in one there is only the hem; a cut armhole ends in a bump
    hollow = [c for c in corners if half.turn[c] < -np.deg2rad(30) and c > lowest]
    if hollow:  # a sleeve cut in one with the body
        found["neck"] = first
        found["underarm"] = min(hollow, key=lambda c: half.turn[c])
        outer = [c for c in bumps if c < found["underarm"]]
        if len(outer) >= 2:
            found["cuff"], found["cuff-end"] = outer[-2], outer[-1]
        shoulder = _bend_between(half, first, found.get("cuff", found["underarm"]))
        if shoulder is not None:
            found["shoulder"] = shoulder
        return found
    if len(bumps) >= 2:
        found["neck"], found["shoulder"], found["underarm"] = first, bumps[0], bumps[-1]
        return found
    if len(bumps) == 1 and p[bumps[0], 1] < low + 0.6 * tall:
        found["neck"], found["underarm"] = first, bumps[0]
        if p[bumps[0], 1] < low + 0.22 * tall:  # too high for an underarm: a shoulder tip above a soft underarm
            under = _bend_between(half, bumps[0], above, outward=True)
            under = _blunt_underarm(half, bumps[0], tall) if under is None else under
            found["shoulder"] = found.pop("underarm")
            if under is not None:
                found["underarm"] = under
        return found
    found["waist"] = first
    return found


def _soft_neck(half: Half, before: int, tall: float) -> int | None:
    """The neck point of a shallow neckline, which has no corner: the highest point, from which the shoulder falls.

    Args:
        half: the half.
        before: index of the shoulder tip, or of the corner taken for the neck.
        tall: height of the half, px.
    """
    y, n = half.points[: before + 1, 1], len(half.points)
    top = int(y.argmin())
    if not 0.01 * n < top < before - 0.02 * n:
        return None
    rises, falls = y[0] - y[top] > _NECK_RISES * tall, y[before] - y[top] > _SHOULDER_FALLS * tall
    near = np.arange(max(top - round(0.01 * n), 1), top + round(0.01 * n) + 1)
    bend = int(near[half.turn[near].argmax()])
    return bend if rises and falls and half.turn[bend] > np.deg2rad(_SOFT_DEG) else None


def _blunt_underarm(half: Half, tip: int, tall: float) -> int | None:
    """The sharpest outward turn at the heights of an underarm, below a shoulder tip; None where nothing turns enough.

    Under a flaring skirt the way from tip to hem passes outside of the underarm, so that no bulge is seen from there.
    """
    down = half.points[:, 1] - half.points[:, 1].min()
    near = np.nonzero((down > _UNDERARM[0] * tall) & (down < _UNDERARM[1] * tall) & (np.arange(len(down)) > tip))[0]
    if not len(near):
        return None
    best = int(near[half.turn[near].argmax()])
    return best if half.turn[best] > np.deg2rad(_BLUNT_DEG) else None


def _on_legs(half: Half, tall: float) -> bool:
    """Whether the middle of the hem lies far above the hem's corner: it is the crotch."""
    return bool(half.points[:, 1].max() - half.points[-1, 1] > _LEG * tall)


def _hollow_above_legs(half: Half, first: int, tall: float) -> bool:
    """Whether the outline above the crotch has a hollow open to the outside, as an armhole or a bib has and no hip.

    The mouth of a pocket is no such hollow: another area of the garment lies in it.
    """
    p = half.points[first:]
    above = np.nonzero(p[:, 1] < half.points[-1, 1])[0]
    above = above[: int(np.argmax(np.diff(above) > 1)) + 1] if (np.diff(above) > 1).any() else above
    if len(above) < 3:
        return False
    rim = shapely.convex_hull(shapely.multipoints(p[above])).boundary
    open_ = above[half.beside[first:][above] == 0]
    return bool(len(open_) and shapely.distance(shapely.points(p[open_]), rim).max() > _HOLLOW * tall)


def parting(half: Half, index: int, sleeves: Sequence[PathXY], line_px: float) -> int:
    """Where body and sleeve part below the armhole, if their lines, drawn ``line_px`` wide, run together above that.

    Between the two lines the gap opens evenly; it is led back from where it is clear of ink to where it would be none.

    Args:
        half: the half.
        index: where the gap is first seen.
        sleeves: outlines of the sleeves, px.
        line_px: width of the drawn lines.

    Returns:
        The index, moved up by no more than 8 % of the half's height.
    """
    p = half.points
    most = 0.08 * float(np.ptp(p[:, 1]))
    below = p[index : index + int(2 * most) + 40]
    if not sleeves or len(below) < 12:
        return index
    rows = np.concatenate([_ring(paths.from_tuples(s)) for s in sleeves])
    gap = np.linalg.norm(below[:, None] - rows[None], axis=2).min(axis=1)
    clear = np.nonzero(gap > 2 * line_px)[0]
    if not len(clear):
        return index
    wide = np.nonzero(gap[clear[0] :] > 6 * line_px)[0]
    last = int(clear[0] + wide[0]) if len(wide) else len(gap)
    s = np.arange(int(clear[0]), last)
    if len(s) < 6:
        return index
    slope, start = np.polyfit(gap[s], s, 1)
    if slope <= 0:
        return index
    return index + round(float(np.clip(start, -most, 0)))


def _hem_corner(half: Half, tall: float) -> int:
    """The corner farthest out and down; where the hem is round, the point farthest out and down."""
    p = half.points
    out = np.abs(p[:, 0] - p[0, 0])
    score = out / max(float(out.max()), 1.0) * 0.8 + (p[:, 1] - p[:, 1].min()) / tall
    low = [int(c) for c in half.corners if p[c, 1] > p[:, 1].min() + 0.55 * tall and half.turn[c] > 0]
    if low:
        return max(low, key=lambda c: score[c])
    return int(np.where(p[:, 1] > p[:, 1].min() + 0.55 * tall, score, -1).argmax())


def _last_beside(beside: NDArray[np.intp], labels: frozenset[int]) -> int | None:
    """Index where a run of ``labels`` ends that begins at the start of the half, short breaks allowed."""
    if not labels or not len(beside):
        return None
    inside = np.isin(beside, list(labels))
    hits = np.nonzero(inside)[0]
    if not len(hits) or hits[0] > 0.05 * len(beside) + 4:
        return None
    gaps = np.nonzero(np.diff(hits) > 0.02 * len(beside) + 4)[0]
    return int(hits[gaps[0]] if len(gaps) else hits[-1])


def _longest_run(inside: NDArray[np.bool_]) -> tuple[int, int] | None:
    """First and last index of the longest run of True, breaks up to 2 % bridged."""
    hits = np.nonzero(inside)[0]
    if len(hits) < 8:
        return None
    cuts = np.nonzero(np.diff(hits) > 0.02 * len(inside) + 4)[0]
    starts, ends = np.r_[0, cuts + 1], np.r_[cuts, len(hits) - 1]
    best = int(np.argmax(hits[ends] - hits[starts]))
    a, b = int(hits[starts[best]]), int(hits[ends[best]])
    return (a, b) if b - a > 8 else None


def _snapped(half: Half, index: int, reach: float) -> int:
    """The nearest corner within ``reach`` px along the outline, else the index itself."""
    if not len(half.corners):
        return index
    near = int(half.corners[np.argmin(np.abs(half.corners - index))])
    return near if abs(near - index) <= reach else index


def _bend_between(half: Half, a: int, b: int, *, outward: bool = False) -> int | None:
    """The point farthest from the chord, if it is far enough: where a line bends that has no corner.

    So the top of a sleeve that is cut in one bends down from the shoulder; ``outward``: only away from the middle.
    """
    if b - a < 20:
        return None
    p = half.points[a : b + 1]
    chord = p[-1] - p[0]
    size = float(np.linalg.norm(chord))
    if size == 0:
        return None
    away = (chord[0] * (p[:, 1] - p[0, 1]) - chord[1] * (p[:, 0] - p[0, 0])) / size
    away = -away * np.sign(p[-1, 0] - half.points[0, 0]) if outward else np.abs(away)
    at = int(away.argmax())
    return a + at if away[at] > 0.01 * size and 3 < at < len(p) - 4 else None


Beside = Callable[[Floats, Floats], NDArray[np.intp]]


def halves(outline: Path, mirror_x: float, beside: Beside, reach: float) -> tuple[Half, Half]:
    """Cut an outline at the mirror line.

    Args:
        outline: closed, px, counter-clockwise as a person sees it.
        mirror_x: px.
        beside: gives the label just outside of points (n, 2) with outward normals (n, 2).
        reach: px on either side that corners are judged by.

    Returns:
        The half on the right of the picture and the one on the left.

    Raises:
        GeometryError: the mirror line misses the outline.
    """
    ring = _ring(outline)
    over = ring[:, 0] - mirror_x
    crossings = np.nonzero((over >= 0) != (np.roll(over, -1) >= 0))[0]
    if len(crossings) < 2:
        raise GeometryError(
            "mirror line",
            expected="a line through the garment's body",
            got=f"x = {mirror_x:.0f} px",
            next_step="Move the middle of the garment onto it",
        )
    nxt = np.roll(ring, -1, axis=0)
    share = over[crossings] / (over[crossings] - np.roll(over, -1)[crossings])
    heights = ring[crossings, 1] + share * (nxt[crossings, 1] - ring[crossings, 1])
    top, bottom = int(crossings[heights.argmin()]), int(crossings[heights.argmax()])
    corners = np.zeros(len(ring), bool)
    corners[find_corners(ring, reach=reach)] = True
    k = max(2, round(reach))
    back, forth = ring - np.roll(ring, k, axis=0), np.roll(ring, -k, axis=0) - ring
    # y is down: a person's counter-clockwise convex turn has a negative cross product here
    turn = -np.arctan2(back[:, 0] * forth[:, 1] - back[:, 1] * forth[:, 0], np.einsum("ij,ij->i", back, forth))
    along = np.roll(ring, -2, axis=0) - np.roll(ring, 2, axis=0)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    labels = beside(ring, normal)
    n = len(ring)
    # counter-clockwise for a person: from the hem's middle up the right of the picture to the top's middle
    right = np.arange(bottom + 1, top + 1 + (n if top <= bottom else 0)) % n
    left = np.arange(top + 1, bottom + 1 + (n if bottom <= top else 0)) % n

    def half(index: NDArray[np.intp]) -> Half:
        return Half(ring[index], turn[index], np.nonzero(corners[index])[0], labels[index])

    return half(right[::-1]), half(left)


def _ring(outline: Path) -> Floats:
    """Sample a closed path about every px, the first point not repeated."""
    flat = paths.flatten(outline, 0.05).points
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))]
    s = np.arange(max(16, round(along[-1]))) * along[-1] / max(16, round(along[-1]))
    return np.stack([np.interp(s, along, flat[:, k]) for k in (0, 1)], axis=1)
