"""A phone photo of a swatch on the reference sheet, rendered: table, sheet, cloth, light, lens and sensor.

Everything lies in one plane and is painted there in linear light at :data:`PLANE_MM_PER_PX`; a pinhole camera with a
little barrel distortion then looks at it, tilted and turned, as a hand would hold a phone.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import hex_to_linear, srgb_to_linear
from swatches.reference import PAPER_REFLECTANCE, field, paper_size, sheet_picture
from swatches.samples.camera import Camera, daylight, developed, shadow_of, through_lens
from swatches.samples.cloths import CLOTHS
from swatches.samples.grain import Plane, blur, noise, random, rough
from swatches.samples.weave import Linear

PLANE_MM_PER_PX = 0.125
PHOTO_PX = (1200, 1600)
_BORDER_MM = 90.0  # table shown around the sheet


@dataclass(frozen=True, slots=True)
class Shot:
    """How one swatch was photographed.

    Attributes:
        cloth: id in :data:`swatches.samples.cloths.CLOTHS`.
        size_mm: width and length of the swatch.
        turn_deg: how far the swatch lies off square, counter-clockwise as seen.
        cut: 'frayed' or 'pinked' edge.
        tilt_deg: the camera's tilt about the level and the upright axis.
        roll_deg: the camera's turn.
        far_mm: distance of the camera.
        light_deg: where the window is, from the right, counter-clockwise.
        warmth: white balance: red gain; blue gets the inverse.
        seed: of everything random.
    """

    cloth: str
    size_mm: tuple[float, float]
    turn_deg: float
    cut: str
    tilt_deg: tuple[float, float]
    roll_deg: float
    far_mm: float
    light_deg: float
    warmth: float
    seed: int


SHOTS: tuple[Shot, ...] = (
    Shot("spruce", (148, 172), 1.8, "frayed", (5.0, -3.0), 1.5, 455, 150, 1.04, 101),
    Shot("ochre", (140, 176), -2.2, "frayed", (-3.5, 4.0), -2.0, 460, 120, 1.02, 102),
    Shot("oat", (150, 160), 3.0, "pinked", (4.0, 3.0), 2.4, 452, 35, 0.98, 103),
    Shot("ticking", (152, 180), -1.4, "pinked", (6.0, 2.0), -1.2, 458, 140, 1.05, 104),
    Shot("check", (156, 182), 2.4, "pinked", (-4.0, -4.5), 2.8, 462, 60, 1.00, 105),
    Shot("stars", (146, 168), -2.8, "pinked", (3.0, 5.0), -2.6, 450, 160, 0.97, 106),
    Shot("sprig", (158, 186), 1.2, "pinked", (-5.0, 2.5), 1.0, 456, 45, 1.03, 107),
    Shot("cord", (144, 178), -1.8, "frayed", (4.5, -4.0), -1.6, 454, 130, 1.04, 108),
)


def photograph(shot: Shot) -> NDArray[np.uint8]:
    """Render one photo, sRGB uint8, shape (1600, 1200, 3); the same shot gives the same picture."""
    rng = random(shot.seed)
    plane, lift = _plane(shot, rng)
    plane *= daylight(plane.shape[:2], shot.light_deg, rng)[..., None]
    plane *= lift[..., None]
    seen = through_lens(plane, camera(shot), _BORDER_MM, PLANE_MM_PER_PX)
    return developed(seen, shot.warmth, rng)


def camera(shot: Shot) -> Camera:
    """Where the camera was, in mm of the sheet."""
    width, height = paper_size("A4")
    return Camera(PHOTO_PX, (width / 2, height / 2), shot.far_mm, shot.tilt_deg, shot.roll_deg)


def _plane(shot: Shot, rng: np.random.Generator) -> tuple[Linear, Plane]:
    """Reflectance of the plane, and the share of light that shadows leave, both at the plane's scale."""
    s = PLANE_MM_PER_PX
    paper_w, paper_h = paper_size("A4")
    shape = (round((paper_h + 2 * _BORDER_MM) / s), round((paper_w + 2 * _BORDER_MM) / s))
    plane = _table(shape, rng)
    shadow = np.ones(shape, np.float32)
    away = np.array([-np.cos(np.deg2rad(shot.light_deg)), np.sin(np.deg2rad(shot.light_deg))])

    sheet = np.zeros(shape, np.float32)
    top = left = round(_BORDER_MM / s)
    drawn = sheet_picture("A4", s)
    rows, columns = drawn.shape
    box = (slice(top, top + rows), slice(left, left + columns))
    sheet[box] = 1
    shadow *= 1 - 0.38 * shadow_of(sheet, away * 1.1 / s, 1.2 / s) * (1 - sheet)
    paper = srgb_to_linear(drawn).astype(np.float32) * np.float32(PAPER_REFLECTANCE)
    paper *= 1 + 0.006 * rough((rows, columns), 0.25 / s, 4, rng)
    plane[box] = paper[..., None] * np.array([1.0, 0.998, 0.985], np.float32)

    cloth, cover, relief = _swatch(shot, shape, rng)
    shadow *= 1 - 0.50 * shadow_of(cover, away * 1.5 / s, 0.9 / s) * (1 - cover)
    shadow *= 1 - 0.22 * shadow_of(cover, away * 3.0 / s, 5.0 / s) * (1 - cover)
    plane += (cloth - plane) * cover[..., None]
    shadow *= 1 + relief * cover
    return plane, shadow


def _table(shape: tuple[int, int], rng: np.random.Generator) -> Linear:
    """A scrubbed wooden table: boards with long grain, a few knots of darker growth, joints between the boards."""
    h, w = shape
    step = 2
    small = (h // step + 1, w // step + 1)
    y, x = np.mgrid[0 : small[0], 0 : small[1]].astype(np.float32) * (PLANE_MM_PER_PX * step)
    warp = 3.2 * noise(small, 150, rng) + 0.5 * noise(small, 40, rng)
    board = np.floor((x + 20) / 112)
    shift = board * 37.7
    rings = np.sin((x + warp * 1.2 + shift) * 0.55 + 0.9 * np.sin((x + shift) * 0.07 + y * 0.004))
    fibre = cv2.GaussianBlur(rng.standard_normal(small, dtype=np.float32), (0, 0), sigmaX=0.7, sigmaY=26)
    fibre /= max(float(fibre.std()), 1e-6)
    tone = 1 + 0.055 * rings + 0.060 * fibre + 0.06 * np.sin(board * 2.4) + 0.04 * noise(small, 90, rng)
    joint = np.abs(np.mod(x + 20, 112) - 0.5)
    tone *= 1 - 0.62 * np.exp(-((joint / 0.45) ** 2))
    tone = cv2.resize(tone.astype(np.float32), (w, h), interpolation=cv2.INTER_LINEAR)
    light, dark = hex_to_linear("#9a8468").astype(np.float32), hex_to_linear("#54432f").astype(np.float32)
    share = np.clip(tone - 0.45, 0, 1.1)[..., None]
    return np.asarray(dark + (light - dark) * share, dtype=np.float32)


def _swatch(shot: Shot, shape: tuple[int, int], rng: np.random.Generator) -> tuple[Linear, Plane, Plane]:
    """The cloth in the plane, its cover, and its relief as a change of light."""
    s = PLANE_MM_PER_PX
    wide, long = (round(v / s) for v in shot.size_mm)
    room = round(9 / s)
    patch = (long + 2 * room, wide + 2 * room)
    cloth = CLOTHS[shot.cloth](patch, s)
    cover = _edge(patch, room, shot.cut, rng)
    y, x = np.mgrid[0 : patch[0], 0 : patch[1]].astype(np.float32)
    inside = np.minimum.reduce([x - room, patch[1] - room - x, y - room, patch[0] - room - y])
    edge_turn = np.exp(-np.clip(inside, 0, None) / (2.2 / s))  # the cut edge curls up a little
    height = 0.42 * noise(patch, 22 / s, rng) + 0.16 * noise(patch, 8 / s, rng) + 0.25 * edge_turn
    pressed = 0.5 * np.exp(-(((x - 0.52 * patch[1] - 0.02 * y) * s) ** 2) / 2.2)  # where it lay folded
    height = (height + 0.45 * pressed).astype(np.float32)
    angle = np.deg2rad(shot.light_deg - shot.turn_deg)
    gx, gy = np.gradient(height, axis=1) / s, np.gradient(height, axis=0) / s
    relief = np.clip(-(gx * np.cos(angle) - gy * np.sin(angle)), -0.6, 0.6).astype(np.float32) * np.float32(0.75)
    turn = np.deg2rad(shot.turn_deg)
    left, top, right, bottom = field("A4")
    cx = (_BORDER_MM + (left + right) / 2) / s + rng.uniform(-3, 3) / s
    cy = (_BORDER_MM + (top + bottom) / 2) / s + rng.uniform(-3, 3) / s
    c, n = np.cos(turn), np.sin(turn)
    to_plane = np.array([[c, n, 0.0], [-n, c, 0.0]])
    to_plane[:, 2] = np.array([cx, cy]) - to_plane[:, :2] @ np.array([patch[1] / 2, patch[0] / 2])

    def lay(picture: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.asarray(cv2.warpAffine(picture, to_plane, shape[::-1], flags=cv2.INTER_LINEAR), dtype=np.float32)

    return lay(cloth), lay(cover), lay(relief)


def _edge(patch: tuple[int, int], room: int, cut: str, rng: np.random.Generator) -> Plane:
    """Cover of the swatch: pinked to a zigzag, or cut straight and a little frayed."""
    s = PLANE_MM_PER_PX
    h, w = patch
    cover = np.zeros(patch, np.uint8)
    corners = np.array([[room, room], [w - room, room], [w - room, h - room], [room, h - room]], dtype=np.float64)
    corners += rng.uniform(-1.6, 1.6, (4, 2)) / s
    outline: list[NDArray[np.float64]] = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        along = b - a
        size = float(np.linalg.norm(along))
        along /= size
        out = np.array([along[1], -along[0]])
        step = (2.4 if cut == "pinked" else 0.9) / s
        at = np.arange(0, size, step)
        drift = np.interp(at, np.linspace(0, size, 9), rng.normal(0, 0.35 / s, 9))
        zigzag = (
            np.where(np.arange(len(at)) % 2, 1.0, -1.0) * 1.15 / s
            if cut == "pinked"
            else rng.normal(0, 0.13 / s, len(at))
        )
        outline.append(a + at[:, None] * along + (drift + zigzag)[:, None] * out)
        if cut == "frayed":
            _fray(cover, a, along, out, size, rng)
    cv2.fillPoly(cover, [np.round(np.concatenate(outline) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    return blur(cover.astype(np.float32) / np.float32(255), 0.7)


def _fray(
    cover: NDArray[np.uint8],
    a: NDArray[np.float64],
    along: NDArray[np.float64],
    out: NDArray[np.float64],
    size: float,
    rng: np.random.Generator,
) -> None:
    """Loose threads that stand out of a cut edge."""
    s = PLANE_MM_PER_PX
    for at in np.arange(0, size, 0.62 / s):
        long = abs(rng.normal(0.5, 0.7)) + (rng.random() < 0.03) * rng.uniform(1.5, 4.0)
        lean = rng.normal(0, 0.25, 3).cumsum()
        t = np.linspace(0, 1, 4)
        side = np.r_[0, lean] * long * 0.7 / s
        points = a + (at + side)[:, None] * along + (t * long / s - 0.4 / s)[:, None] * out
        cv2.polylines(
            cover, [np.round(points * 16).astype(np.int32)], False, int(rng.integers(130, 235)), 2, cv2.LINE_AA, 4
        )
