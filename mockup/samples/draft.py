"""The demo garment, drafted in mm: a boxy pull-on tunic that a village choir sews for its winter concert.

The choir, the tunic and its cloth are invented. The draft is a plain one of our own: finished chest 1208 mm for a body
chest of 1040 mm (168 mm of ease), shoulders dropped by about 40 mm, side seams flared a little, a low sleeve cap that
fits the armhole without ease, and a neck wide enough for a head (:data:`HEAD_MM`).

Each half lies at x ≥ 0 with its fold on x = 0 and the hem at y = 0, y up. Front and back share the side seam and the
shoulder, so these are equal by construction; the sleeve's width is solved for, so the cap equals the armholes.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.optimize import brentq

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from mockup.pattern.piece import Corner, Edge, EdgeKind, HowToCut, Mark, Notch, Piece

BODY_CHEST_MM = 1040.0
EASE_MM = 168.0
HEAD_MM = 620.0
"""Least length round the stitched neck so that an adult's head goes through (common practice, no source)."""
SIZE = "chest 104 cm"

SEAM_MM, HEM_MM, NECK_MM = 15.0, 30.0, 10.0

LENGTH_MM = 760.0  # hem to the shoulder at the neck
NECK_HALF_MM = 119.0
FRONT_NECK_DROP_MM, BACK_NECK_DROP_MM = 124.0, 36.0
SHOULDER_TIP: XY = (241.0, 716.0)
UNDERARM: XY = (302.0, 492.0)
HEM_SIDE: XY = (328.0, 9.0)
CAP_HEIGHT_MM, SLEEVE_MM, SLEEVE_TAPER_MM = 104.0, 440.0, 66.0
FACING_MM, BACK_FACING_MM = 60.0, 96.0  # the back one is deep enough to be all that shows inside the neck
POCKET_WIDTH_MM, POCKET_DEPTH_MM, POCKET_CORNER_MM = 158.0, 172.0, 26.0
POCKET_CENTRE: XY = (154.0, 312.0)  # middle of the pocket's mouth on the wearer's left half of the front

_NECK_POINT = np.array([NECK_HALF_MM, LENGTH_MM])


def _cubic(*points: XY | Floats) -> Path:
    return Path(np.array([[np.asarray(p, dtype=np.float64) for p in points]]))


def _line(a: XY | Floats, b: XY | Floats) -> Path:
    return paths.polyline(np.array([a, b], dtype=np.float64))


def _shoulder_square() -> Floats:
    """Unit vector square to the shoulder, pointing down into the garment: neck and armhole start along it."""
    along = np.asarray(SHOULDER_TIP) - _NECK_POINT
    along = along / np.linalg.norm(along)
    return np.array([along[1], -along[0]])


def side_seam() -> Path:
    """Side seam from hem to underarm, one cubic, the same for front and back."""
    hem, underarm = np.asarray(HEM_SIDE), np.asarray(UNDERARM)
    return _cubic(hem, hem + 150 * np.array([-0.0828, 0.99657]), underarm + np.array([4.0, -160.0]), underarm)


def hem() -> Path:
    """Hem from the fold to the side, square to both."""
    side = np.asarray(HEM_SIDE)
    return _cubic((0, 0), (140, 0), side - 105 * np.array([0.99657, 0.0828]), side)


def armhole(front: bool) -> Path:
    """Armhole from underarm to shoulder, square to the shoulder; the front is hollowed a little more."""
    tip, underarm = np.asarray(SHOULDER_TIP), np.asarray(UNDERARM)
    hollow, drop = (52.0, 122.0) if front else (42.0, 112.0)
    return _cubic(underarm, underarm + np.array([-hollow, 0.6]), tip + drop * _shoulder_square(), tip)


def neck(front: bool) -> Path:
    """Neck line from the shoulder to the fold, square to both."""
    if front:
        drop, reach, flat = FRONT_NECK_DROP_MM, 84.0, 74.0
    else:
        drop, reach, flat = BACK_NECK_DROP_MM, 24.0, 80.0
    centre = np.array([0.0, LENGTH_MM - drop])
    return _cubic(_NECK_POINT, _NECK_POINT + reach * _shoulder_square(), centre + np.array([flat, 0.0]), centre)


def pocket_outline() -> Path:
    """Pocket from its mouth's right end round to the left end and closed along the mouth; mouth's middle at (0, 0)."""
    w, d, r = POCKET_WIDTH_MM / 2, POCKET_DEPTH_MM, POCKET_CORNER_MM
    k = 0.5522847498 * r
    narrow = w - 3.0
    left = [(-w, 0.0), (-narrow, r - d)]
    mouth_to_corner = paths.polyline(np.array(left))
    corner_left = _cubic((-narrow, r - d), (-narrow, r - d - k), (-narrow + r - k, -d), (-narrow + r, -d))
    bottom = _line((-narrow + r, -d), (narrow - r, -d))
    corner_right = _cubic((narrow - r, -d), (narrow - r + k, -d), (narrow, r - d - k), (narrow, r - d))
    up = _line((narrow, r - d), (w, 0.0))
    return paths.joined([mouth_to_corner, corner_left, bottom, corner_right, up])


def pocket_on_front() -> Path:
    """The pocket's sewn-on outline as it lies on the wearer's left half of the front, mouth open."""
    return paths.transformed(pocket_outline(), [[1, 0, POCKET_CENTRE[0]], [0, 1, POCKET_CENTRE[1]]])


def _cap(width: float, height: float) -> Path:
    """Half a sleeve cap from the underarm (width, 0) to the shoulder (0, height)."""
    return _cubic((width, 0), (0.60 * width, 0.03 * height), (0.47 * width, height), (0, height))


@lru_cache(maxsize=1)
def sleeve_widths() -> tuple[float, float]:
    """Half widths of the sleeve, front and back, at which the cap is as long as the armholes, mm."""

    def solve(front: bool) -> float:
        target = paths.length(armhole(front))
        return float(brentq(lambda w: paths.length(_cap(w, CAP_HEIGHT_MM)) - target, 150.0, 300.0, xtol=1e-12))

    return solve(True), solve(False)


def _body(front: bool) -> Piece:
    name, other = ("front", "back") if front else ("back", "front")
    centre = f"centre-{name}"
    neck_line = neck(front)
    edges = (
        Edge("hem", hem(), EdgeKind.HEM, HEM_MM, start_name="hem", end_name="hem"),
        Edge(
            "side", side_seam(), EdgeKind.SEAM, SEAM_MM, mate=f"{other}:side", start_name="hem", end_name="underarm",
            corner=Corner.MIRRORED,
        ),
        Edge(
            "armhole", armhole(front), EdgeKind.SEAM, SEAM_MM, mate=f"sleeve:cap-{name}",
            start_name="underarm", end_name="shoulder",
        ),
        Edge(
            "shoulder", _line(SHOULDER_TIP, _NECK_POINT), EdgeKind.SEAM, SEAM_MM, mate=f"{other}:shoulder",
            start_name="shoulder", end_name="neck",
        ),
        Edge(
            "neck", neck_line, EdgeKind.SEAM, NECK_MM, mate=f"{name} neck facing:neck",
            start_name="neck", end_name="neck",
        ),
        Edge(centre, _line(neck_line.end, (0, 0)), EdgeKind.FOLD, start_name="neck", end_name="hem"),
    )  # fmt: skip
    notches = (
        Notch("side", paths.length(side_seam()) - 200.0),
        Notch("armhole", 95.0, 1 if front else 2),
        Notch("neck", paths.length(neck_line) / 2),
    )
    marks = (Mark("pocket", pocket_on_front(), "placing"),) if front else ()
    grain = ((34.0, 330.0), (34.0, 590.0))
    return Piece(
        name, edges, view=name, area="body", grainline=grain, notches=notches, marks=marks,
        how=HowToCut.ON_FOLD, size=SIZE,
    )  # fmt: skip


def _sleeve() -> Piece:
    front, back = sleeve_widths()
    top, length = CAP_HEIGHT_MM, SLEEVE_MM
    foot = top - length
    cap_front, cap_back = (
        _cap(front, top),
        paths.reversed_path(paths.transformed(_cap(back, top), [[-1, 0, 0], [0, 1, 0]])),
    )
    hem_front, hem_back = front - SLEEVE_TAPER_MM, back - SLEEVE_TAPER_MM

    def seam(width: float, hem_width: float, sign: float) -> Path:
        """Underarm seam from hem to underarm; the same curve on both sides."""
        return _cubic(
            (sign * hem_width, foot),
            (sign * (hem_width + 10), foot + 110),
            (sign * (width - 26), -104),
            (sign * width, 0),
        )

    edges = (
        Edge(
            "hem", _line((-hem_back, foot), (hem_front, foot)), EdgeKind.HEM, HEM_MM, start_name="hem", end_name="hem",
            corner=Corner.MIRRORED,
        ),
        Edge(
            "underarm-front", seam(front, hem_front, 1), EdgeKind.SEAM, SEAM_MM, mate="sleeve:underarm-back",
            start_name="hem", end_name="underarm", corner=Corner.MIRRORED,
        ),
        Edge(
            "cap-front", cap_front, EdgeKind.SEAM, SEAM_MM, mate="front:armhole",
            start_name="underarm", end_name="shoulder",
        ),
        Edge(
            "cap-back", cap_back, EdgeKind.SEAM, SEAM_MM, mate="back:armhole",
            start_name="shoulder", end_name="underarm",
        ),
        Edge(
            "underarm-back", paths.reversed_path(seam(back, hem_back, -1)), EdgeKind.SEAM, SEAM_MM,
            mate="sleeve:underarm-front", start_name="underarm", end_name="hem",
        ),
    )  # fmt: skip
    back_length = paths.length(cap_back)
    seam_length = paths.length(edges[1].path)
    notches = (
        Notch("cap-front", 95.0),
        Notch("cap-back", 0.0),
        Notch("cap-back", back_length - 95.0, 2),
        Notch("underarm-front", seam_length - 150.0),
        Notch("underarm-back", 150.0),
    )
    return Piece(
        "sleeve", edges, view="front", area="sleeve", grainline=((0.0, foot + 60), (0.0, 30.0)), notches=notches,
        how=HowToCut.PAIR, size=SIZE,
    )  # fmt: skip


def _pocket() -> Piece:
    outline = pocket_outline()
    w = POCKET_WIDTH_MM / 2
    edges = (
        Edge("outer", outline, EdgeKind.SEAM, SEAM_MM, start_name="mouth", end_name="mouth"),
        Edge("mouth", _line((w, 0.0), (-w, 0.0)), EdgeKind.HEM, HEM_MM, start_name="mouth", end_name="mouth"),
    )
    return Piece(
        "pocket", edges, view="front", area="pocket",
        grainline=((0.0, -POCKET_DEPTH_MM + 30), (0.0, -30.0)), how=HowToCut.PAIR, size=SIZE,
    )  # fmt: skip


def _facing(front: bool) -> Piece:
    name, other = ("front", "back") if front else ("back", "front")
    neck_line = neck(front)
    square = _shoulder_square()
    along = np.array([-square[1], square[0]])
    outer_point = _NECK_POINT + FACING_MM * along
    centre_y = float(neck_line.end[1]) - (FACING_MM if front else BACK_FACING_MM)
    reach, flat = (112.0, 108.0) if front else (84.0, 118.0)
    outer = _cubic((0.0, centre_y), (flat, centre_y), outer_point + reach * square, outer_point)
    edges = (
        Edge("outer", outer, EdgeKind.CUT, start_name="centre", end_name="shoulder"),
        Edge(
            "shoulder", _line(outer_point, _NECK_POINT), EdgeKind.SEAM, SEAM_MM, mate=f"{other} neck facing:shoulder",
            start_name="shoulder", end_name="neck",
        ),
        Edge("neck", neck_line, EdgeKind.SEAM, NECK_MM, mate=f"{name}:neck", start_name="neck", end_name="neck"),
        Edge(
            f"centre-{name}", _line(neck_line.end, (0.0, centre_y)), EdgeKind.FOLD, start_name="neck", end_name="centre"
        ),
    )  # fmt: skip
    x = 14.0
    grain = ((x, centre_y + 8), (x, float(neck_line.end[1]) - 8))
    return Piece(
        f"{name} neck facing", edges, view=name, area="neck-facing", grainline=grain,
        notches=(Notch("neck", paths.length(neck_line) / 2),), how=HowToCut.ON_FOLD, layer="facing", size=SIZE,
    )  # fmt: skip


def pieces() -> tuple[Piece, ...]:
    """Draft all pieces: front, back, sleeve, pocket, front and back neck facing."""
    return (_body(True), _body(False), _sleeve(), _pocket(), _facing(True), _facing(False))
