"""Choices side by side on one sheet: the same crop for all, a letter on each, and what cloth each is made of."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from mockup.files.given import clean
from mockup.sheets.raster_pen import RGB, Colour, RasterPen, fitted, resized, wrapped
from swatches.errors import InputError

FEWEST, MOST = 2, 6
CHIP_MM = 40.0
"""Length of real cloth that a swatch chip shows along its side."""
PAPER: Colour = (247, 244, 238)
WHITE: Colour = (255, 255, 255)
INK: Colour = (26, 30, 40)
SOFT: Colour = (92, 98, 112)
HAIR: Colour = (208, 204, 195)
_MARGIN, _GUTTER = 0.055, 0.05  # shares of the sheet's width
_PAPER_NOISE = 40  # of 255: paper is uneven, ink and cloth are not paper
_SMALLEST_MM = 2.55  # lettering on paper: 7.2 points, since smaller than 7 is not read on a table
_ROUNDS = 5  # a taller sheet is printed smaller, and larger lettering makes it taller still
_ROOMS = ((277.0, 190.0), (190.0, 277.0))  # A4 lying and upright, inside margins of 10 mm
_PAD = 0.045  # white round a garment, share of its longer side


@dataclass(frozen=True, slots=True, eq=False)
class ClothShare:
    """One cloth of a choice.

    Attributes:
        name: the person's name of it.
        share: share of the garment's visible area, 0 to 1.
        colour: sRGB 0–255; used where there is no tile.
        tile: seamless tile of the cloth, sRGB, or None.
        mm_per_px: scale of the tile.
        note: what it takes: 'uses 0.9 of 3.1 m² left', 'to buy: 1.2 m²'; or empty.
    """

    name: str
    share: float
    colour: Colour
    tile: RGB | None = None
    mm_per_px: float = 0.0
    note: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """One colourway as it is shown.

    Attributes:
        letter: 'A', 'B', …; burned in.
        name: the person's word, or empty.
        pictures: view name → painted picture, in the order in which they stand: front, back.
        fabrics: its cloths.
    """

    letter: str
    name: str
    pictures: Mapping[str, RGB]
    fabrics: Sequence[ClothShare] = ()


def compare_sheet(choices: Sequence[Choice], *, title: str, width_px: int = 2000, note: str = "") -> RGB:
    """Compose the comparison sheet.

    Args:
        choices: two to six, with the same views, each view of one size in all of them.
        title: the project's name.
        width_px: width of the sheet, 600 to 6000.
        note: small line at the foot, such as that the garment is an invented example.

    Returns:
        uint8 (h, w, 3) sRGB. The same choices give the same pixels.

    Raises:
        InputError: too few or too many choices, an odd width, or views that differ.
    """
    _checked(choices, width_px)
    least = _SMALLEST_MM * width_px / _ROOMS[0][0]
    for _ in range(_ROUNDS):
        sheet = _laid_out(choices, title, width_px, note, least)
        needed = _SMALLEST_MM / printed_mm_per_px(sheet)
        if needed <= least * 1.02:
            break
        least = needed
    return sheet


def printed_mm_per_px(sheet: RGB) -> float:
    """How large a sheet is on A4, as it fits better: lying or upright."""
    h, w = sheet.shape[:2]
    return float(max(min(across / w, down / h) for across, down in _ROOMS))


def _laid_out(choices: Sequence[Choice], title: str, width_px: int, note: str, least: float) -> RGB:
    """The sheet with no lettering below ``least`` px."""
    columns = 3 if len(choices) in (3, 5, 6) else 2
    unit = width_px / 100
    margin, gutter = round(_MARGIN * width_px), round(_GUTTER * width_px)
    card = (width_px - 2 * margin - (columns - 1) * gutter) // columns
    crops = {view: common_crop([c.pictures[view] for c in choices]) for view in choices[0].pictures}
    shown = _sizes(crops, card, gap=round(0.9 * unit))
    picture_height = max(h for _, h in shown.values())
    small = 1.0 if columns == 2 else 0.82
    text_size = max(round(1.5 * unit * small), math.ceil(least))
    chip = max(round(3.0 * unit * small), round(2.3 * least))
    rows = [choices[i : i + columns] for i in range(0, len(choices), columns)]
    list_heights = [max(len(c.fabrics) for c in row) * (chip + 0.7 * unit) for row in rows]
    heights = [round(picture_height + 5.6 * unit * small + listed) for listed in list_heights]
    head = round(margin * 0.9 + 7.6 * unit)
    note_size = max(round(1.25 * unit), math.ceil(least))
    notes = wrapped(clean(note, limit=400), width_px - 2 * margin, note_size)
    foot = round(margin + len(notes) * 1.5 * note_size)
    pen = RasterPen(width_px, head + sum(heights) + (len(rows) - 1) * gutter + foot, PAPER)
    base, size = margin * 0.9 + 2.6 * unit, round(3.6 * unit)
    pen.words(fitted(clean(title), width_px - 2 * margin, size, bold=True), margin, base, size, INK, bold=True)
    says = (
        f"{_count(len(choices))} choices, {' and '.join(crops)}. Every swatch shows {CHIP_MM / 10:g} cm of the cloth."
    )
    pen.words(fitted(says, width_px - 2 * margin, text_size), margin, base + 2.3 * unit, text_size, SOFT)
    y = head
    for row, height in zip(rows, heights, strict=True):
        for k, choice in enumerate(row):
            x = margin + k * (card + gutter)
            _card(pen, choice, crops, shown, (x, y, card, picture_height), unit * small, text_size, chip, least)
        y += height + gutter
    for k, text in enumerate(reversed(notes)):
        pen.words(text, margin, pen.height - margin * 0.62 - k * 1.4 * note_size, note_size, SOFT)
    return pen.rgb


def _card(
    pen: RasterPen,
    choice: Choice,
    crops: Mapping[str, tuple[slice, slice]],
    shown: Mapping[str, tuple[int, int]],
    place: tuple[int, int, int, int],
    unit: float,
    text_size: int,
    chip: int,
    least: float,
) -> None:
    x, y, width, picture_height = place
    pen.box(x, y, x + width - 1, y + picture_height - 1, ground_of(choice.pictures.values()))
    gap = (width - sum(w for w, _ in shown.values())) / (len(shown) + 1)
    left = x + gap
    for view, (w, h) in shown.items():
        rows, columns = crops[view]
        pen.picture(resized(choice.pictures[view][rows, columns], w, h), left, y + (picture_height - h) / 2)
        left += w + gap
    radius = 1.9 * unit
    pen.disc(x + radius * 0.55, y + radius * 0.55, radius, INK)
    pen.words(choice.letter, x + radius * 0.55, y + radius * 0.55, round(2.7 * unit), WHITE, bold=True, anchor="mm")
    base = y + picture_height + 2.5 * unit
    name = clean(choice.name) or f"Choice {choice.letter}"
    pen.words(fitted(name, width, round(2.0 * unit), bold=True), x, base, round(2.0 * unit), INK, bold=True)
    bar_top, bar_height = round(base + 1.1 * unit), round(1.0 * unit)
    cloths = sorted(choice.fabrics, key=lambda f: (-f.share, f.name))
    _bar(pen, cloths, (x, bar_top, width, bar_height), chip)
    top = bar_top + bar_height + 1.0 * unit
    small = max(round(0.8 * text_size), math.ceil(least))
    for cloth, percent in zip(cloths, whole_percents([c.share for c in cloths]), strict=True):
        pen.picture(cloth_chip(cloth, chip), x, top)
        pen.box(x, top, x + chip - 1, top + chip - 1, None, HAIR)
        middle = top + chip / 2
        end = pen.words(f"{percent} %", x + width, middle, text_size, SOFT, anchor="rm")
        room = width - chip - end - 3 * unit
        up = 0.27 * chip if cloth.note else 0.0
        name = fitted(clean(cloth.name), room, text_size)
        pen.words(name, x + chip + unit, middle - up, text_size, INK, anchor="lm")
        if cloth.note:
            note = fitted(clean(cloth.note, limit=120), room, small)
            pen.words(note, x + chip + unit, middle + up, small, SOFT, anchor="lm")
        top += chip + 0.7 * unit


def _bar(pen: RasterPen, cloths: Sequence[ClothShare], place: tuple[int, int, int, int], chip: int) -> None:
    """The shares of the cloths as one bar, at the scale of the chips; nothing is drawn where there is no cloth."""
    x, y, width, height = place
    total = sum(c.share for c in cloths)
    if total <= 0:
        return
    left = float(x)
    for i, cloth in enumerate(cloths):
        right = x + width * sum(c.share for c in cloths[: i + 1]) / total
        size = round(right) - round(left)
        if size > 0:
            pen.picture(cloth_area(cloth, size, height, chip / CHIP_MM), left, y)
            if i:
                pen.rule(left, y, left, y + height - 1, PAPER, max(2, height // 10))
        left = right
    pen.box(x, y, x + width - 1, y + height - 1, None, HAIR)


def whole_percents(shares: Sequence[float], parts: int = 100) -> list[int]:
    """Shares as whole percents of their sum, which add up to 100 (largest remainder, the first of equal ones first).

    With other ``parts`` they add up to those, as tenths of a percent do to 1000. Nothing where the shares are nothing.
    """
    total = float(sum(shares))
    if total <= 0:
        return [0] * len(shares)
    exact = [parts * s / total for s in shares]
    whole = [int(e) for e in exact]
    order = sorted(range(len(shares)), key=lambda k: (whole[k] - exact[k], k))
    for k in order[: parts - sum(whole)]:
        whole[k] += 1
    return whole


def cloth_chip(cloth: ClothShare, size: int) -> RGB:
    """A square of the cloth, ``size`` px, that shows 40 mm of it."""
    return cloth_area(cloth, size, size, size / CHIP_MM)


def cloth_area(cloth: ClothShare, width: int, height: int, px_per_mm: float) -> RGB:
    """A rectangle of the cloth at a scale, px; a plain colour where there is no tile."""
    if cloth.tile is None or cloth.mm_per_px <= 0:
        return np.full((height, width, 3), cloth.colour, dtype=np.uint8)
    factor = cloth.mm_per_px * px_per_mm
    across, down = max(1, round(width / factor)), max(1, round(height / factor))
    h, w = cloth.tile.shape[:2]
    repeated = np.tile(cloth.tile, (-(-down // h), -(-across // w), 1))[:down, :across]
    return resized(repeated, width, height)


def common_crop(pictures: Sequence[RGB]) -> tuple[slice, slice]:
    """One crop for all choices: round everything that is not paper in any of them; the whole where nothing is.

    What touches the edge of the picture, such as the shadow at the edge of a scan, is no garment.
    """
    height, width = pictures[0].shape[:2]
    drawn = np.zeros((height, width), dtype=np.uint8)
    for rgb in pictures:
        away = np.abs(rgb.astype(np.int16) - np.array(ground_of([rgb]), dtype=np.int16))
        drawn |= (away > _PAPER_NOISE).any(axis=2).astype(np.uint8)
    _, _, boxes, _ = cv2.connectedComponentsWithStats(drawn, connectivity=8)
    x, y, w, h, size = boxes.T
    inner = (x > 0) & (y > 0) & (x + w < width) & (y + h < height) & (size > 30) & (np.arange(len(boxes)) > 0)
    if not inner.any():
        return slice(0, height), slice(0, width)
    left, top = int(x[inner].min()), int(y[inner].min())
    right, bottom = int((x + w)[inner].max()), int((y + h)[inner].max())
    pad = round(_PAD * max(bottom - top, right - left)) + 1
    rows = slice(max(0, top - pad), min(height, bottom + pad))
    return rows, slice(max(0, left - pad), min(width, right + pad))


def ground_of(pictures: Iterable[RGB]) -> Colour:
    """The colour of the paper that the pictures stand on: the median of their edges."""
    edges = [np.concatenate([rgb[0], rgb[-1], rgb[:, 0], rgb[:, -1]]) for rgb in pictures]
    r, g, b = (int(v) for v in np.median(np.concatenate(edges), axis=0))
    return r, g, b


def _sizes(crops: Mapping[str, tuple[slice, slice]], width: int, *, gap: int) -> dict[str, tuple[int, int]]:
    """Sizes (w, h) in px of the views in a card: equal heights, together as wide as the card allows."""
    ratios = {v: (c.stop - c.start) / (r.stop - r.start) for v, (r, c) in crops.items()}
    height = (width - gap * (len(crops) + 1)) / sum(ratios.values())
    height = min(height, 1.15 * width)
    return {v: (max(1, round(ratio * height)), max(1, round(height))) for v, ratio in ratios.items()}


def _count(n: int) -> str:
    return ("Two", "Three", "Four", "Five", "Six")[n - 2]


def _checked(choices: Sequence[Choice], width_px: int) -> None:
    if not FEWEST <= len(choices) <= MOST:
        next_step = "Make another choice, or compare fewer at once"
        if not choices:
            next_step = "Give a panel a cloth: that is choice A; then make another"
        raise InputError(
            "choices",
            expected=f"{FEWEST} to {MOST} on one sheet",
            got=str(len(choices)) if choices else "none yet",
            next_step=next_step,
        )
    if not 600 <= width_px <= 6000:
        raise InputError("width", expected="600 to 6000 px", got=f"{width_px} px", next_step="Choose another width")
    first = choices[0].pictures
    for choice in choices:
        sizes = {v: p.shape for v, p in choice.pictures.items()}
        if not sizes or sizes != {v: p.shape for v, p in first.items()}:
            raise InputError(
                f"choice {choice.letter}",
                expected="the same views, equally large, in every choice",
                got=", ".join(f"{v} {s[1]}×{s[0]}" for v, s in sizes.items()) or "no picture",
                next_step="Paint every choice from the same pictures",
            )
