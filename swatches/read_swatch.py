"""The whole way from a photo of cloth to a fabric: reference, light, cloth, colour, pattern, tile."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.calibrate import expected_difference
from swatches.cloth_place import find_cloth
from swatches.cloth_shape import ClothPlace
from swatches.colour import colour_word, linear_to_lab, linear_to_srgb8
from swatches.errors import PictureError
from swatches.fabric import Colour, Fabric, Kind, Lab, Texture
from swatches.find_chart import corrected
from swatches.job import QUIET, Job, check
from swatches.kind import SIDE_PX, Look, look
from swatches.naming import plain_id
from swatches.outline import Outline, trace_outlines
from swatches.palette import palette
from swatches.photo import Photo, Picture
from swatches.plane import Plane
from swatches.repeat import LEAST_REPEATS
from swatches.setting import Setting, set_up, with_scale
from swatches.tile import Tile, make_tile, tile_vectors
from swatches.units import PxPoints

Floats = NDArray[np.float64]
Linear = NDArray[np.float32]
Mask = NDArray[np.bool_]

Area = tuple[float, float, float, float]
Repeat = tuple[float | None, float | None]
"""Typed repeat across and along the cloth, mm: 0 for none, None for what is found."""
MAX_WORK_MEGAPIXELS = 1.6
LEAST_SIDE_PX = 24
GUESSED_SIDE_MM = 150.0
"""How wide a marked piece of cloth is taken to be when nothing tells its scale."""
EDGE_MM = 3.5
"""How much is left out along the cut edge: pinking, fray and shadow."""


@dataclass(frozen=True, slots=True, eq=False)
class SwatchReading:
    """What one photo of cloth tells.

    Attributes:
        fabric: the record; its texture names no file until it is written.
        tile: seamless tile, sRGB, shape (h, w, 3), read-only; None when the cloth is too small in the photo.
        mm_per_px: scale of the photo at the cloth; None when unknown.
        scale_error_percent: expected error of lengths; None when the scale is a guess.
        outlines: of the cloth's pieces in mm; empty when they cannot be told.
        repeats: how many repeats are in view; 0 for none.
        cloth_px: corners of what was read, as a polygon in the photo, px.
        sheet_px: corners of the sheet in the photo, px, or None.
        warnings: one sentence each.
        plane: photo px ↔ mm (photo px ↔ px when the scale is unknown).
        seen: the cloth from straight above, upright, evenly lit, linear light, shape (h, w, 3), read-only.
        seen_mm_per_px: scale of that, as far as it is known or guessed.
        vectors_mm: repeat vectors on it, y down, shape (n, 2).
    """

    fabric: Fabric
    tile: Picture | None
    mm_per_px: float | None
    scale_error_percent: float | None
    outlines: tuple[Outline, ...] = ()
    repeats: float = 0.0
    cloth_px: PxPoints | None = None
    sheet_px: PxPoints | None = None
    warnings: tuple[str, ...] = ()
    plane: Plane | None = None
    seen: Linear | None = None
    seen_mm_per_px: float = 1.0
    vectors_mm: Floats | None = None

    @property
    def outline(self) -> Outline | None:
        """The largest outline, or None."""
        return max(self.outlines, key=lambda o: o.area_mm2, default=None)

    def to_json(self) -> dict[str, Any]:
        """What ``mockup swatch --json`` prints."""
        texture = self.fabric.texture
        known = self.mm_per_px is not None
        return {
            "colour_lab": [round(v, 2) for v in self.fabric.colour.lab],
            "expected_delta_e": self.fabric.colour.expected_delta_e,
            "mm_per_px": round(self.mm_per_px, 5) if self.mm_per_px is not None else None,
            "scale_error_percent": self.scale_error_percent,
            "kind": str(self.fabric.kind),
            "repeat_mm": [round(v, 2) for v in texture.repeat_mm] if known and texture and texture.repeat_mm else None,
            "outline_area_mm2": round(sum(o.area_mm2 for o in self.outlines), 1) if self.outlines else None,
            "safe_outline_area_mm2": round(sum(o.safe_area_mm2 for o in self.outlines), 1) if self.outlines else None,
            "warnings": list(self.warnings),
        }


def read_swatch(
    photo: Photo,
    *,
    reference: str | float = "sheet",
    area: Area | None = None,
    outline_px: Floats | None = None,
    name: str | None = None,
    bar_mm: float | None = None,
    distance_mm: float | None = None,
    paper_mm: tuple[float, float] | None = None,
    corners_px: Floats | None = None,
    kind: Kind | None = None,
    repeat_mm: Repeat | None = None,
    job: Job = QUIET,
) -> SwatchReading:
    """Read a cloth from its photo.

    Args:
        photo: the photo.
        reference: 'sheet', 'a4', 'letter', 'card', 'cards', 'chart', 'none', or typed mm per px of the photo.
        area: where the cloth is, px: left, top, width, height; found by itself where it can be.
        outline_px: what the person drew round the cloth, px, shape (n, 2); it counts before the area, and it is the
            outline of the piece.
        name: the person's word for the cloth; else its colour and kind.
        bar_mm: what the person measured of the sheet's 100 mm bar.
        distance_mm: for 'cards': typed tape distance between the middles of cards 1 and 2.
        paper_mm: for 'a4' and 'letter': measured width and height of the paper.
        corners_px: corners of the paper, card or chart as the person dragged them, clockwise from the top left.
        kind: the person's word for the surface, over what is found.
        repeat_mm: typed repeat across and along the cloth, over what is found; where nothing else tells the scale, it
            follows from the typed repeat and the one that is found.
        job: progress and cancelling.

    Raises:
        PictureError: no such reference in the photo, two of them, blur, glare, or no cloth to be told from the ground.
        Cancelled: the person stopped the job.
    """
    job.step("Finding the reference", 0.05)
    setting = set_up(photo, reference, bar_mm=bar_mm, distance_mm=distance_mm, paper_mm=paper_mm, corners_px=corners_px)
    check(job)
    job.step("Finding the cloth", 0.2)
    cloth = find_cloth(photo, setting, area, outline_px)
    seen, mask, step = _from_above(photo, setting, cloth)
    if min(mask.shape) < LEAST_SIDE_PX or int(mask.sum()) < LEAST_SIDE_PX**2:
        raise PictureError(
            "cloth in the photo",
            expected=f"at least {LEAST_SIDE_PX} px of it both ways",
            got=f"{mask.shape[1]}×{mask.shape[0]} px",
            next_step="Go nearer and take the photo again",
        )
    check(job)
    job.step("Reading colour and pattern", 0.4)
    scale = step if setting.scale_known else GUESSED_SIDE_MM / max(mask.shape)
    lab, small_mask, small_scale, stretch = _small(seen, mask, scale)
    found = look(lab, small_mask, small_scale)
    found = replace(found, vectors=found.vectors * [1.0, stretch])
    grows = None if setting.scale_known or repeat_mm is None else _growth(found, repeat_mm)
    if grows is not None:
        setting = with_scale(setting, scale * grows / step)
        cloth = find_cloth(photo, setting, area, outline_px)
        seen, mask, scale = _from_above(photo, setting, cloth)
        lab, small_mask, *_ = _small(seen, mask, scale)
        found = replace(found, vectors=found.vectors * grows)
    found = _overridden(found, kind, repeat_mm)
    colour = _colour(seen, mask, lab[small_mask], setting, found.kind in (Kind.SOLID, Kind.MELANGE))
    check(job)
    job.step("Making the tile", 0.6)
    tile = make_tile(seen, mask, found, scale)
    check(job)
    seen.flags.writeable = False
    job.step("Tracing the outline", 0.9)
    outlines = trace_outlines(cloth) if setting.scale_known and cloth.edge_seen else ()
    warnings = (*photo.notes, *setting.warnings, *cloth.warnings, *_warnings(found, setting, tile, seen, mask))
    fabric = _fabric(name, colour, found, tile, scale, setting, warnings)
    coded = None if tile is None else linear_to_srgb8(tile.linear)
    if coded is not None:
        coded.flags.writeable = False
    job.step("Done", 1.0)
    return SwatchReading(
        fabric=fabric,
        tile=coded,
        mm_per_px=setting.plane.mm_per_px(cloth.middle_mm) if setting.scale_known else None,
        scale_error_percent=setting.scale_error_percent,
        outlines=outlines,
        repeats=found.repeats,
        cloth_px=setting.plane.to_px(cloth.polygon_mm),
        sheet_px=None if setting.corners_mm is None else setting.plane.to_px(setting.corners_mm),
        warnings=warnings,
        plane=setting.plane,
        seen=seen,
        seen_mm_per_px=scale,
        vectors_mm=found.vectors,
    )


def _from_above(photo: Photo, setting: Setting, cloth: ClothPlace) -> tuple[Linear, Mask, float]:
    """The cloth upright, evenly lit, with its mask, and the scale (mm per px)."""
    angle = cloth.angle_deg
    turned = setting.plane.turned(angle)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    turn = np.array([[c, s], [-s, c]])
    corners = cloth.polygon_mm @ turn.T
    left, top = corners.min(axis=0)
    right, bottom = corners.max(axis=0)
    native = setting.plane.mm_per_px(cloth.middle_mm)
    step = max(native, float(np.sqrt((right - left) * (bottom - top) / (MAX_WORK_MEGAPIXELS * 1e6))))
    box = (float(left), float(top), float(right), float(bottom))
    linear = turned.rectified(photo.rgb, box, step)
    frame = np.array([[left, top], [right, top], [left, bottom]]) @ turn
    if setting.light is not None:
        linear = setting.light.even(linear, frame)
    if setting.correction is not None:
        linear = np.maximum(corrected(linear, setting.correction), 0).astype(np.float32)
    mask = cloth.mask_in(frame, linear.shape[:2], EDGE_MM if cloth.edge_seen else 0.0)
    return linear, mask, step


def _small(seen: Linear, mask: Mask, scale: float) -> tuple[NDArray[np.float32], Mask, float, float]:
    """The cloth in Lab at most :data:`SIDE_PX` wide or high, its mask, mm per px across, and by how much more along.

    Whole px both ways are not exactly of one shape: without the last figure repeats along were off by up to 0.1 %.
    """
    zoom = min(1.0, SIDE_PX / max(mask.shape))
    if zoom == 1.0:
        return linear_to_lab(np.clip(seen, 0, 1.2)).astype(np.float32), mask, scale, 1.0
    size = (max(8, round(mask.shape[1] * zoom)), max(8, round(mask.shape[0] * zoom)))
    picture = cv2.resize(seen, size, interpolation=cv2.INTER_AREA)
    inside = cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.999
    lab = linear_to_lab(np.clip(np.asarray(picture, np.float32), 0, 1.2)).astype(np.float32)
    across, along = mask.shape[1] / size[0], mask.shape[0] / size[1]
    return lab, np.asarray(inside, np.bool_), scale * across, along / across


def _growth(found: Look, typed: Repeat) -> float | None:
    """How many times longer the cloth is than guessed, by its repeat; None where no typed repeat was found on it.

    Where both were typed, what differs between them is shared out: the geometric mean.
    """
    factors = [t / f for t, f in zip(typed, _repeat(found) or (0.0, 0.0), strict=True) if t and f]
    return float(np.prod(factors) ** (1 / len(factors))) if factors else None


def _overridden(found: Look, kind: Kind | None, typed: Repeat | None) -> Look:
    if typed is not None:
        seen = _repeat(found) or (0.0, 0.0)
        across, along = (f if t is None else t for t, f in zip(typed, seen, strict=True))
        # What is typed as it was found leaves the pattern as it is: a repeat need not stand square.
        if not np.allclose((across, along), seen, rtol=1e-6):
            found = replace(found, vectors=_square(across, along))
        found = replace(found, asks=())
    if kind is not None:
        keep = kind not in (Kind.SOLID, Kind.MELANGE)
        found = replace(found, kind=kind, vectors=found.vectors if keep else np.zeros((0, 2)), asks=())
    return found


def _square(across: float, along: float) -> Floats:
    vectors = [v for v in ([across, 0.0], [0.0, along]) if max(v) > 0]
    return np.array(vectors, np.float64).reshape(-1, 2)


def _colour(seen: Linear, mask: Mask, lab: NDArray[np.float32], setting: Setting, plain_looking: bool) -> Colour:
    mean = np.clip(np.array(cv2.mean(seen, mask.astype(np.uint8))[:3]), 0, 1)
    value = linear_to_lab(mean)
    own: Lab = (float(value[0]), float(value[1]), float(value[2]))
    expected, reason = expected_difference(setting.reference, setting.sheet_light)
    colours = palette(lab)
    return Colour(own, expected, reason, colours, colour_word(value) if plain_looking else _words(colours))


def _words(colours: tuple[tuple[Lab, float], ...]) -> str:
    """The one or two words for most of a patterned cloth: 'beige and dark blue'."""
    shares: dict[str, float] = {}
    for lab, share in colours:
        word = colour_word(lab)
        shares[word] = shares.get(word, 0.0) + share
    words = sorted((w for w in shares if shares[w] >= 0.15), key=lambda w: -shares[w])
    return " and ".join(words[:2]) or colour_word(colours[0][0])


def _warnings(found: Look, setting: Setting, tile: Tile | None, seen: Linear, mask: Mask) -> tuple[str, ...]:
    said = list(found.asks)
    if len(found.vectors) and 0 < found.repeats < LEAST_REPEATS:
        said.append(f"Only {found.repeats:.1f} repeats are in view: take more of the cloth, or type its repeat.")
    if not setting.scale_known:
        said.append("Nothing in the picture tells its size: the scale is a guess until you type it.")
    if tile is None:
        said.append("The cloth is too small in the photo for a tile: it is painted in its plain colour.")
    some = seen[::5, ::5][mask[::5, ::5]]
    shine = float((some.min(axis=1) > 0.97).mean()) if len(some) else 0.0
    if shine > 0.01 and float(np.median(some)) < 0.6:
        said.append("Parts of the cloth are burnt out by glare: turn away from the lamp or window.")
    return tuple(said)


def _fabric(
    name: str | None, colour: Colour, found: Look, tile: Tile | None, scale: float, setting: Setting,
    warnings: tuple[str, ...],
) -> Fabric:  # fmt: skip
    called = name or (colour.word if found.kind is Kind.SOLID else f"{colour.word} {found.kind}")
    texture = None
    if tile is not None:
        texture = Texture(
            file="",
            mm_per_px=tile.mm_per_px,
            scale_error_percent=setting.scale_error_percent,
            repeat_mm=_repeat(found),
            one_way=found.one_way,
        )
    return Fabric(
        id=plain_id(called, "cloth"),
        name=called,
        colour=colour,
        kind=found.kind,
        texture=texture,
        warnings=warnings,
    )


def _repeat(found: Look) -> tuple[float, float] | None:
    if len(found.vectors) == 0:
        return None
    across, along = tile_vectors(found.vectors)
    wide = 0.0 if across is None else float(np.linalg.norm(across))
    high = 0.0 if along is None else float(np.linalg.norm(along))
    return wide, high
