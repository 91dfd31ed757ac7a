"""Balance marks on a new seam.

Off-centre, so that a panel cannot be turned end for end; equal on both sides by stitch-line length; none within two
allowances of a corner; long seams more than one, curved ones also where the curve turns (common practice, no source).
One mark for a front, two for a back (convention).
"""

from __future__ import annotations

import itertools

import numpy as np

from mockup.geometry.offset import Nodes, end_tangents, start_tangents, turn
from mockup.geometry.path import Floats, Path
from mockup.geometry.ruler import Ruler
from mockup.pattern.piece import Piece

EVERY_MM = 250.0  # our own choice: a seam longer than this has more than one notch
BARE_MM = 5.0  # length of a notch in a file, where its edge has no allowance to cross
_SHARE = 0.4  # of each stretch: off-centre
_APART_MM = 40.0
_LEAST_ROOM_MM = 10.0
_WAVE = 1 / 1000  # 1/mm: a seam turns where both sides of the place bend more than this
_BEND = 1 / 400  # 1/mm: a bend counts when it stands out from the curve beside it by this much
_MIDDLES = Nodes((np.arange(32) + 0.5) / 32)  # where a seam's bend is looked at
_CORNER = np.radians(15)
BACK_COUNT, FRONT_COUNT = 2, 1


def seam_notches(stitch: Path, allowance_mm: float) -> tuple[float, ...]:
    """Choose the places of the notches on a new seam.

    Args:
        stitch: its stitch line.
        allowance_mm: the larger allowance at the seam.

    Returns:
        Distances in mm from the first point, rising; empty where the seam is too short for one. A seam that closes on
        itself has two or more, at unequal distances.
    """
    ruler = Ruler(stitch)
    if stitch.closed:
        return _round_about(stitch, ruler, 2 * allowance_mm)
    first, last = 2 * allowance_mm, ruler.total - 2 * allowance_mm
    if last - first < _LEAST_ROOM_MM:
        return ()
    stretches = max(1, int(np.ceil(ruler.total / EVERY_MM)))
    chosen = [(k + _SHARE) / stretches * ruler.total for k in range(stretches)]
    chosen = [d for d in chosen if first <= d <= last] or [first + _SHARE * (last - first)]
    for d in _turning_points(stitch, ruler):
        if first <= d <= last and all(abs(d - c) >= _APART_MM for c in chosen):
            chosen.append(d)
    chosen.sort()
    if _same_reversed(chosen, ruler.total):
        chosen[0] += min(_LEAST_ROOM_MM, chosen[0] - first) or _LEAST_ROOM_MM / 2
    return tuple(chosen)


def notch_count(piece: Piece) -> int:
    """Give how many marks a notch has: two for a back, one for everything else (convention)."""
    return BACK_COUNT if (piece.view or piece.name).lower().startswith("back") else FRONT_COUNT


def _turning_points(stitch: Path, ruler: Ruler) -> list[float]:
    """Where a curved seam's bend changes side or is tightest: distances from its start."""
    bend = _MIDDLES.look(stitch.z)[2].ravel()
    size, t = np.abs(bend), _MIDDLES.t
    if size.max() < min(_WAVE, _BEND):
        return []
    signs = [0, *(np.flatnonzero(bend[1:] * bend[:-1] < 0) + 1).tolist(), len(bend)]
    depth = [size[a:b].max() for a, b in itertools.pairwise(signs)]
    found = [k for k, d, e in zip(signs[1:-1], depth[:-1], depth[1:], strict=True) if min(d, e) > _WAVE]
    tight = peaks(size, _BEND) if np.ptp(size) >= _BEND else []
    return [ruler.at((k // len(t), float(t[k % len(t)]))) for k in (*found, *tight)]


def peaks(values: Floats, prominence: float) -> list[int]:
    """Find the places of a row of values that stand out: inner maxima, of a flat top its middle, rising.

    Args:
        values: any number of values.
        prominence: the least height over the higher of the two lowest values that lie between the peak and a higher
            value, or the row's end, on either side; the values' unit.
    """
    begins = np.r_[0, np.flatnonzero(np.diff(values)) + 1]
    heights = values[begins]  # equal neighbours are one
    ends = np.r_[begins[1:], len(values)] - 1
    found = []
    for k in np.flatnonzero((heights[1:-1] > heights[:-2]) & (heights[1:-1] > heights[2:])) + 1:
        before, after = np.flatnonzero(heights[:k] > heights[k]), np.flatnonzero(heights[k:] > heights[k])
        left = heights[before[-1] if len(before) else 0 : k].min()
        right = heights[k : k + after[0] if len(after) else None].min()
        if heights[k] - max(left, right) >= prominence:
            found.append(int(begins[k] + ends[k]) // 2)
    return found


def _round_about(stitch: Path, ruler: Ruler, keep: float) -> tuple[float, ...]:
    """Notches on a closed seam: the last one out of step, so that no turn of the shape brings all together."""
    count = max(2, int(np.ceil(ruler.total / EVERY_MM)))
    if ruler.total < count * _APART_MM:
        return ()
    places = [(k + 0.2 + 0.35 * (k == count - 1)) / count * ruler.total for k in range(count)]
    bends = np.abs(turn(end_tangents(np.roll(stitch.cubics, 1, axis=0)), start_tangents(stitch.cubics)))
    corners = np.r_[0.0, ruler.ends][:-1][bends > _CORNER]
    return tuple(sorted(_off_corners(d, corners, keep, ruler.total) for d in places))


def _off_corners(distance: float, corners: Floats, keep: float, total: float) -> float:
    """Move a place on a closed seam along its side, off the corners at the side's ends as far as the side allows."""
    if not len(corners):
        return distance
    after = np.sort((corners - distance) % total)
    before, behind = total - float(after[-1]), float(after[0])
    room = min(keep, (before + behind) / 2)
    return (distance + max(0.0, room - before) - max(0.0, room - behind)) % total


def _same_reversed(distances: list[float], total: float) -> bool:
    """Whether a panel turned end for end would match as well."""
    other = sorted(total - d for d in distances)
    return all(abs(a - b) < _LEAST_ROOM_MM / 2 for a, b in zip(distances, other, strict=True))
