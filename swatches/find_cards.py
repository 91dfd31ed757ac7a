"""Loose marker cards around a large piece: where each card lies is found together with the camera."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from swatches import reference as ref
from swatches.errors import Failure
from swatches.find_sheet import Marker, find_markers
from swatches.photo import Photo
from swatches.plane import Plane, homography, project, undistorted

Floats = NDArray[np.float64]

LEAST_CARDS = 3
GOOD_FIT_MM = 0.06
"""Mean distance of the cards' edges from where a fit puts them, below which no other start is tried."""


def find_cards(photo: Photo, distance_mm: float | None) -> tuple[Plane, Floats] | Failure:
    """Find the plane of three or four loose cards.

    Every card is a square of known size that lies anywhere, turned anyhow. Unknown are the homography, the lens's k1
    and each card's place and turn; known are all points on all sides, so that the squareness of every card pulls the
    same way. The tape distance then sets the size of everything.

    Args:
        photo: the photo.
        distance_mm: from the middle of card 1 to the middle of card 2; None: the printed cards alone give the size.

    Returns:
        the plane, its axes along the photo's, and the cards' middles in mm, shape (n, 2); or a failure with advice.
    """
    seen = find_markers(photo.rgb8, list(ref.CARD_IDS))
    counts = Counter(m.id for m in seen)
    if counts and max(counts.values()) > 1:
        return Failure("The same card is in the photo twice", "Take one of them away and take the photo again")
    if len(seen) < LEAST_CARDS:
        return Failure(
            f"Only {len(seen)} of the four cards can be seen", "Lay the cards flat around the cloth, all in the photo"
        )
    if distance_mm is not None and not {ref.CARD_IDS[0], ref.CARD_IDS[1]} <= set(counts):
        return Failure("Card 1 or 2 cannot be seen, but the tape distance runs between them", "Show both cards")
    plane, middles = _fit(seen, photo.size)
    if distance_mm is not None:
        at = {m.id: middle for m, middle in zip(seen, middles, strict=True)}
        measured = float(np.linalg.norm(at[ref.CARD_IDS[1]] - at[ref.CARD_IDS[0]]))
        factor = distance_mm / measured
        if not 0.85 < factor < 1.18:
            return Failure(
                f"The typed distance of {distance_mm:g} mm does not fit the photo, which shows about {measured:.0f} mm",
                "Measure from the middle of card 1 to the middle of card 2 again",
            )
        return plane.scaled(factor), middles * factor
    return plane, middles


def _fit(seen: list[Marker], size: tuple[int, int]) -> tuple[Plane, Floats]:
    """Fit everything at once. The first card is held at the origin: the homography takes up its place and turn."""
    half = ref.CARD_MARKER_MM / 2
    square = ref.square((-half, -half), ref.CARD_MARKER_MM)
    starts = [_flat_start(seen, size), homography(undistorted(seen[0].corners, 0.0, size), square)]
    px = [[s.points for s in m.sides] for m in seen]
    flat_px = np.concatenate([p for sides in px for p in sides])
    counts = [[len(p) for p in sides] for sides in px]
    axis = np.concatenate([np.repeat([1, 0, 1, 0], c) for c in counts])
    line = np.concatenate([np.repeat([-half, half, half, -half], c) for c in counts])
    card = np.concatenate([np.full(sum(c), i) for i, c in enumerate(counts)])

    def error(p: Floats) -> Floats:
        mm = project(np.append(p[:8], 1.0).reshape(3, 3), undistorted(flat_px, p[8], size))
        placed = np.concatenate([np.zeros((1, 3)), p[9:].reshape(-1, 3)])[card]
        c, s = np.cos(placed[:, 2]), np.sin(placed[:, 2])
        dx, dy = mm[:, 0] - placed[:, 0], mm[:, 1] - placed[:, 1]
        own = np.where(axis == 0, c * dx + s * dy, c * dy - s * dx)
        return np.append(own - line, p[8] * 0.2)

    best: Any = None
    for first in starts:  # from straight above, then as the first card alone looks, which says little of tilt
        poses = [_pose(project(first, undistorted(m.corners, 0.0, size))) for m in seen[1:]]
        start = np.concatenate([(first / first[2, 2]).ravel()[:8], [0.0], np.array(poses).ravel()])
        fit = least_squares(error, start, x_scale="jac", ftol=1e-7, max_nfev=60)
        best = fit if best is None or fit.cost < best.cost else best
        if np.sqrt(2 * best.cost / len(line)) < GOOD_FIT_MM:
            break
    # plain squares lead there in a few steps; what counts outliers less only starts from there
    fit = least_squares(error, best.x, x_scale="jac", loss="soft_l1", f_scale=0.1, ftol=1e-7, max_nfev=60)
    plane = Plane(np.append(fit.x[:8], 1.0).reshape(3, 3), float(fit.x[8]), size)
    middles = np.concatenate([np.zeros((1, 2)), fit.x[9:].reshape(-1, 3)[:, :2]])
    return _upright(plane, middles)


def _flat_start(seen: list[Marker], size: tuple[int, int]) -> Floats:
    """A homography without tilt: the first card's place and turn, and the mean size of all cards."""
    shown = [undistorted(m.corners, 0.0, size) for m in seen]
    sides = [float(np.linalg.norm(np.roll(c, -1, axis=0) - c, axis=1).mean()) for c in shown]
    x, y, turn = _pose(shown[0])
    scale = ref.CARD_MARKER_MM / float(np.mean(sides))
    c, s = np.cos(turn) * scale, np.sin(turn) * scale
    return np.array([[c, s, -c * x - s * y], [-s, c, s * x - c * y], [0.0, 0.0, 1.0]])


def _upright(plane: Plane, middles: Floats) -> tuple[Plane, Floats]:
    """Turn the plane so that its x runs along the photo's, and put its origin at the photo's top left corner."""
    width, height = plane.size
    centre = np.array([[width / 2, height / 2], [width / 2 + 10, height / 2]])
    a, b = plane.to_mm(centre)
    angle = float(np.degrees(np.arctan2(b[1] - a[1], b[0] - a[0])))
    turned = plane.turned(angle)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    middles = middles @ np.array([[c, s], [-s, c]]).T
    corner = turned.to_mm(np.array([[0.0, 0.0]]))[0]
    move = np.array([[1, 0, -corner[0]], [0, 1, -corner[1]], [0, 0, 1]])
    return Plane(move @ turned.matrix, plane.k1, plane.size), middles - corner


def _pose(corners: Floats) -> Floats:
    """Place and turn of a roughly square card from its corners, clockwise from its own top left (y down)."""
    middle = corners.mean(axis=0)
    along = corners[1] - corners[0] + corners[2] - corners[3]
    return np.array([middle[0], middle[1], np.arctan2(along[1], along[0])])
