"""A phone photo of two remnants on a pale blue sheet between four loose marker cards, rendered."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import hex_to_linear, srgb_to_linear
from swatches.fabric import XY, Remnant
from swatches.reference import CARD_IDS, PAPER_REFLECTANCE, card_picture
from swatches.samples.camera import Camera, daylight, developed, shadow_of, through_lens
from swatches.samples.cloths import CLOTHS
from swatches.samples.cupboard import REMNANTS
from swatches.samples.grain import Plane, blur, noise, random, rough
from swatches.samples.weave import Linear

PLANE_MM_PER_PX = 0.4
PHOTO_PX = (1600, 1200)
TABLE_MM = (1240.0, 900.0)
_BORDER_MM = 130.0
_CARD_MM = 80.0
_LIGHT_DEG = 132.0

CARDS: tuple[tuple[XY, float], ...] = (
    ((56.0, 76.0), 6.0), ((1140.0, 84.0), -4.0), ((1150.0, 812.0), 9.0), ((46.0, 826.0), -7.0),
)  # fmt: skip
"""Middle (mm, y down) and turn (degrees, counter-clockwise) of each card by id; the first two are 1084.0 mm apart."""
PLACED: tuple[tuple[str, Remnant, XY, float], ...] = (
    ("cord", REMNANTS["cord"][0], (304.0, 458.0), 3.0),
    ("check", REMNANTS["check"][0], (846.0, 452.0), -5.0),
)
"""Cloth, remnant, where its box's middle lies (mm, y down), and its turn (degrees, counter-clockwise)."""


def photograph_remnants() -> NDArray[np.uint8]:
    """Render the photo, sRGB uint8, shape (1200, 1600, 3); the same call gives the same picture."""
    rng = random(120)
    s = PLANE_MM_PER_PX
    shape = (round((TABLE_MM[1] + 2 * _BORDER_MM) / s), round((TABLE_MM[0] + 2 * _BORDER_MM) / s))
    plane, light = _ground(shape, rng)
    away = np.array([-np.cos(np.deg2rad(_LIGHT_DEG)), np.sin(np.deg2rad(_LIGHT_DEG))]) / s
    for marker, (middle, turn) in zip(CARD_IDS, CARDS, strict=True):
        drawn = srgb_to_linear(card_picture(marker, s)).astype(np.float32) * np.float32(PAPER_REFLECTANCE)
        half = _CARD_MM / 2
        card, cover = _laid(
            drawn[..., None].repeat(3, axis=2), np.ones(drawn.shape, np.float32), (half, half), middle, turn, shape
        )
        light *= 1 - 0.35 * shadow_of(cover, away * 0.9, 1.2 / s) * (1 - cover)
        plane += (card - plane) * cover[..., None]
        light += (1 - light) * cover * 0.7
    for name, remnant, middle, turn in PLACED:
        cloth, cover, relief = _cloth(name, remnant, middle, turn, shape, rng)
        light *= 1 - 0.42 * shadow_of(cover, away * 1.6, 1.6 / s) * (1 - cover)
        plane += (cloth - plane) * cover[..., None]
        light *= 1 + relief * cover
    plane *= (light * daylight(shape, _LIGHT_DEG, rng))[..., None]
    held = Camera(PHOTO_PX, (TABLE_MM[0] / 2, TABLE_MM[1] / 2), 1770.0, (4.0, -3.0), 1.2)
    return developed(through_lens(plane, held, _BORDER_MM, s), 1.03, rng)


def _ground(shape: tuple[int, int], rng: np.random.Generator) -> tuple[Linear, Plane]:
    """A pale blue bed sheet with soft creases: reflectance, and light."""
    s = PLANE_MM_PER_PX
    tone = 1 + 0.010 * rough(shape, 0.5 / s, 3, rng) + 0.012 * noise(shape, 60 / s, rng)
    height = 1.4 * noise(shape, 90 / s, rng) + 0.35 * noise(shape, 30 / s, rng)
    slope = np.gradient(height, axis=1) / s - 0.7 * np.gradient(height, axis=0) / s
    light = 1 + 1.3 * slope
    colour = hex_to_linear("#b7c6da").astype(np.float32)
    return np.asarray(colour * tone[..., None], dtype=np.float32), np.asarray(light, dtype=np.float32)


def _cloth(
    name: str, remnant: Remnant, middle: XY, turn: float, shape: tuple[int, int], rng: np.random.Generator
) -> tuple[Linear, Plane, Plane]:
    """The remnant in the plane, its cover, and its relief as a change of light."""
    s = PLANE_MM_PER_PX
    outline = np.array(remnant.outline)
    low, high = outline.min(axis=0), outline.max(axis=0)
    room = 12.0
    size = (round((high[1] - low[1] + 2 * room) / s), round((high[0] - low[0] + 2 * room) / s))

    def px(points: NDArray[np.float64]) -> NDArray[np.int32]:
        at = np.stack([points[:, 0] - low[0] + room, high[1] - points[:, 1] + room], axis=1) / s
        return np.round(at * 16).astype(np.int32)

    plane = np.zeros(size, np.uint8)
    cv2.fillPoly(plane, [px(outline), *(px(np.array(hole)) for hole in remnant.holes)], 255, cv2.LINE_AA, 4)
    cover = blur(plane.astype(np.float32) / np.float32(255), 0.6)
    edge = np.clip(blur(cover, 3 / s), 0, 1)
    height = 0.9 * noise(size, 60 / s, rng) + 0.35 * noise(size, 22 / s, rng) - 0.5 * edge
    slope = np.gradient(height, axis=1) / s - 0.7 * np.gradient(height, axis=0) / s
    relief = np.clip(1.2 * slope, -0.5, 0.5).astype(np.float32)
    centre = (size[1] * s / 2, size[0] * s / 2)
    cloth, laid = _laid(CLOTHS[name](size, s), cover, centre, middle, turn, shape)
    lifted, _ = _laid(relief[..., None].repeat(3, axis=2), cover, centre, middle, turn, shape)
    return cloth, laid, np.ascontiguousarray(lifted[..., 0])


def _laid(
    picture: Linear, cover: Plane, centre: XY, middle: XY, turn: float, shape: tuple[int, int]
) -> tuple[Linear, Plane]:
    """Lay a picture in the plane: its point ``centre`` (mm) at ``middle`` (mm), turned counter-clockwise as seen."""
    s = PLANE_MM_PER_PX
    c, n = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
    to_plane = np.array([[c, n, 0.0], [-n, c, 0.0]])
    target = (np.array(middle) + _BORDER_MM) / s
    to_plane[:, 2] = target - to_plane[:, :2] @ (np.array(centre) / s)
    size = shape[::-1]
    laid = cv2.warpAffine(picture, to_plane, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(laid, dtype=np.float32), np.asarray(cv2.warpAffine(cover, to_plane, size), dtype=np.float32)
